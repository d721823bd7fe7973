//! What is to be planned: activities, the ties between them, and who and what they need.

use super::span::{Moment, Span};

/// The most activities of one plan: the usual effort takes some seconds for so many.
pub const MOST_ACTIVITIES: usize = 300;
/// The most ties of one plan.
pub const MOST_TIES: usize = 10_000;

/// The most units of one resource.
pub const MOST_UNITS: u32 = 1_000;

/// An activity of a [`Work`], by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ActivityId(pub usize);

/// A tie of a [`Work`], by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TieId(pub usize);

/// A choice of a [`Work`], by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ChoiceId(pub usize);

/// A resource of a [`Work`], by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ResourceId(pub usize);

/// What is to be planned.
///
/// An activity never stops in between. Resources have the same capacity at all times: nights, breaks
/// and people who come later are not known here.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Work {
    /// Nothing that has no fixed start can start before this.
    pub now: Moment,
    pub resources: Vec<Resource>,
    pub activities: Vec<Activity>,
    pub ties: Vec<Tie>,
    pub choices: Vec<Choice>,
}

/// People, a crane, a compressor: what several activities share.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resource {
    pub name: String,
    /// How many there are.
    pub capacity: u32,
}

/// Something that takes time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Activity {
    pub name: String,
    /// The job it belongs to; a row of the picture.
    pub job: String,
    pub kind: Kind,
    pub lasts: Span,
    /// What it occupies from start to end, and how many of it.
    pub uses: Vec<(ResourceId, u32)>,
    /// When it has really started, for what is done or running.
    pub started: Option<Moment>,
}

/// What kind of activity it is; the plan treats all alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Somebody does something.
    Step,
    /// Time passes: cure, settle, soak.
    Wait,
}

/// How the starts of two activities are tied.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tie {
    pub from: ActivityId,
    pub to: ActivityId,
    pub lag: Lag,
    /// What the tie is in the person's words: `recoat window of the primer`.
    pub name: String,
    pub gives: Gives,
}

/// Two ties of which one at least must be kept: one before the other, or after a third.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    pub either: [Tie; 2],
    /// What asks for it, in the person's words.
    pub name: String,
}

/// From the start of the one to the start of the other, or to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lag {
    AtLeast(Span),
    AtMost(Span),
    /// The other has ended by then.
    EndsWithin(Span),
}

/// Whether a tie may be loosened to cure a clash.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gives {
    Never,
    /// By a longer window; not with [`Lag::AtLeast`].
    Longer,
}

/// Why something cannot be planned as it is written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WorkError {
    #[error(
        "A plan holds at most {MOST_ACTIVITIES} activities, not {0}: plan fewer procedures at once"
    )]
    TooManyActivities(usize),
    #[error("A plan holds at most {MOST_TIES} ties, not {0}: plan fewer procedures at once")]
    TooManyTies(usize),
    #[error("The tie \"{0}\" names an activity that there is not")]
    NoSuchActivity(String),
    #[error("The activity \"{0}\" uses a resource that there is not")]
    NoSuchResource(String),
    #[error(
        "\"{0}\" has or uses more than {MOST_UNITS} of a resource, which is more than a plan holds"
    )]
    TooManyUnits(String),
}

impl Work {
    /// Adds a resource.
    pub fn resource(&mut self, name: impl Into<String>, capacity: u32) -> ResourceId {
        self.resources.push(Resource {
            name: name.into(),
            capacity,
        });
        ResourceId(self.resources.len() - 1)
    }

    /// Adds an activity.
    pub fn activity(&mut self, activity: Activity) -> ActivityId {
        self.activities.push(activity);
        ActivityId(self.activities.len() - 1)
    }

    /// Adds a tie.
    pub fn tie(&mut self, tie: Tie) -> TieId {
        self.ties.push(tie);
        TieId(self.ties.len() - 1)
    }

    /// Ties `later` to start once `earlier` has ended.
    ///
    /// # Errors
    /// [`WorkError::NoSuchActivity`] where `earlier` is not of this work.
    pub fn after(
        &mut self,
        earlier: ActivityId,
        later: ActivityId,
        name: impl Into<String>,
    ) -> Result<TieId, WorkError> {
        let name = name.into();
        let Some(first) = self.activities.get(earlier.0) else {
            return Err(WorkError::NoSuchActivity(name));
        };
        let lag = Lag::AtLeast(first.lasts);
        Ok(self.tie(Tie {
            from: earlier,
            to: later,
            lag,
            name,
            gives: Gives::Never,
        }))
    }

    /// Checks the places that ties and uses name, and the sizes.
    ///
    /// # Errors
    /// Every [`WorkError`].
    pub fn check(&self) -> Result<(), WorkError> {
        let count = self.activities.len();
        if count > MOST_ACTIVITIES {
            return Err(WorkError::TooManyActivities(count));
        }
        let ties = self.ties.len() + 2 * self.choices.len();
        if ties > MOST_TIES {
            return Err(WorkError::TooManyTies(ties));
        }
        let choices = self.choices.iter().flat_map(|choice| &choice.either);
        for tie in self.ties.iter().chain(choices) {
            if tie.from.0 >= count || tie.to.0 >= count {
                return Err(WorkError::NoSuchActivity(tie.name.clone()));
            }
        }
        for activity in &self.activities {
            let known = |used: &(ResourceId, u32)| used.0.0 < self.resources.len();
            if !activity.uses.iter().all(known) {
                return Err(WorkError::NoSuchResource(activity.name.clone()));
            }
            let most = activity
                .uses
                .iter()
                .map(|&(used, _)| activity.units_of(used));
            if most.max() > Some(MOST_UNITS) {
                return Err(WorkError::TooManyUnits(activity.name.clone()));
            }
        }
        let large = self
            .resources
            .iter()
            .find(|each| each.capacity > MOST_UNITS);
        if let Some(resource) = large {
            return Err(WorkError::TooManyUnits(resource.name.clone()));
        }
        Ok(())
    }
}

impl Work {
    /// Returns (one, other, lag in seconds): `other` starts no earlier than `lag` after the start of
    /// `one`; a longest lag is a negative shortest one the other way.
    pub(super) fn arc(&self, tie: &Tie) -> (usize, usize, i64) {
        match tie.lag {
            Lag::AtLeast(span) => (tie.from.0, tie.to.0, span.whole()),
            Lag::AtMost(span) => (tie.to.0, tie.from.0, -span.whole()),
            Lag::EndsWithin(span) => {
                let lasts = self.activities[tie.to.0].lasts.whole();
                (tie.to.0, tie.from.0, lasts - span.whole())
            }
        }
    }

    /// Tells whether both ends of a tie have happened: then nobody can keep it or break it any more.
    pub(super) fn happened(&self, tie: &Tie) -> bool {
        let started = |of: ActivityId| self.activities[of.0].started.is_some();
        started(tie.from) && started(tie.to)
    }
}

impl Lag {
    /// Returns the longest lag, where there is one.
    pub(super) fn longest(self) -> Option<Span> {
        match self {
            Lag::AtLeast(_) => None,
            Lag::AtMost(span) | Lag::EndsWithin(span) => Some(span),
        }
    }
}

impl Activity {
    /// Returns how many of a resource it occupies.
    pub(super) fn units_of(&self, resource: ResourceId) -> u32 {
        let uses = self.uses.iter().filter(|(used, _)| *used == resource);
        uses.map(|(_, units)| *units).fold(0, u32::saturating_add)
    }
}

impl Activity {
    /// Makes a step of a job that uses nothing.
    pub fn step(name: impl Into<String>, job: impl Into<String>, lasts: Span) -> Activity {
        Activity {
            name: name.into(),
            job: job.into(),
            kind: Kind::Step,
            lasts,
            uses: Vec::new(),
            started: None,
        }
    }

    /// Makes a wait of a job.
    pub fn wait(name: impl Into<String>, job: impl Into<String>, lasts: Span) -> Activity {
        Activity {
            kind: Kind::Wait,
            ..Activity::step(name, job, lasts)
        }
    }

    /// Adds what it occupies.
    #[must_use]
    pub fn using(mut self, resource: ResourceId, units: u32) -> Activity {
        self.uses.push((resource, units));
        self
    }
}
