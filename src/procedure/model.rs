//! The types of a procedure.

use serde::{Deserialize, Serialize};

use super::fasten::{Applied, Fasten};
use super::sums::Sum;
use super::values::{Lasting, Phrase, StepId, Text};
use crate::trade::cure::{CureSheet, SpeedLaw};
use crate::trade::quantity::{ActivationEnergy, Temperature};
use crate::trade::range::OutOfRange;

/// One procedure.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Procedure {
    pub title: Text,
    /// The piece of work: vehicle, axle, where the figures come from.
    pub subject: Text,
    /// What the job is called when it is asked for by voice; without it, only "different work" leads there.
    #[serde(default)]
    pub called: Option<Phrase>,
    /// Every condition that a step names.
    #[serde(default)]
    pub conditions: Vec<Condition>,
    /// Every resource that a step uses: the crane, the compressor. There is one of each.
    #[serde(default)]
    pub resources: Vec<Text>,
    /// Cautions that hold for the whole job.
    #[serde(default)]
    pub cautions: Vec<Caution>,
    #[serde(default)]
    pub gather: Gather,
    pub steps: Vec<Step>,
    #[serde(default)]
    pub follow_ups: Vec<FollowUp>,
    /// Every command is said with the call sign before it: for work where much is talked.
    #[serde(default)]
    pub call_sign: bool,
}

/// A fact of the work that steps set and clear. It belongs to the piece of work: all jobs that are open
/// on it share the conditions of the same name.
///
/// Written as its name alone, or with the fields.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    pub name: Text,
    /// Said and shown when the condition begins to hold, and on coming back to the work.
    pub cautions: Vec<Caution>,
    /// What the person says when nobody knows any more and it does hold.
    pub if_set: Option<Phrase>,
    /// What the person says when it does not.
    pub if_clear: Option<Phrase>,
}

/// What to have at hand before the job begins.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Gather {
    pub tools: Vec<Text>,
    pub parts: Vec<Text>,
    pub consumables: Vec<Text>,
    /// How many people the job needs; 0 where the procedure does not say.
    pub people: u8,
}

/// A caution, with its signal word in the meaning of ANSI Z535.4.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    pub signal: Signal,
    pub say: Text,
}

/// Signal words of ANSI Z535.4, the gravest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Signal {
    /// Will kill or gravely injure if not avoided.
    Danger,
    /// Could kill or gravely injure.
    Warning,
    /// Could injure slightly or moderately.
    Caution,
    /// Not about injury: damage to the work.
    Notice,
}

/// One thing to do or to know.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    pub id: StepId,
    /// The call, in big type and aloud.
    pub say: Text,
    /// Smaller print below the call, not spoken.
    #[serde(default)]
    pub more: Option<Text>,
    /// Whether there is something to do, or only something to know.
    #[serde(default)]
    pub kind: StepKind,
    #[serde(default)]
    pub cautions: Vec<Caution>,
    /// Steps that must be done, and their waits over, before this one. None: the step before it in the
    /// file; an empty list: no step at all.
    #[serde(default)]
    pub after: Option<Vec<StepId>>,
    /// Steps that this one must be done before.
    #[serde(default)]
    pub before: Vec<StepId>,
    /// Conditions that must be set for this step.
    #[serde(default)]
    pub needs: Vec<Text>,
    /// Conditions that forbid this step while they are set or uncertain.
    #[serde(default)]
    pub forbidden_while: Vec<Text>,
    #[serde(default)]
    pub sets: Vec<Text>,
    #[serde(default)]
    pub clears: Vec<Text>,
    /// Resources that nobody else can use meanwhile, the step's wait included.
    #[serde(default)]
    pub uses: Vec<Text>,
    /// How many people it takes; 0 where the step does not say: one.
    #[serde(default)]
    pub people: u8,
    /// How long the work usually takes, without its wait: for the plan alone.
    #[serde(default)]
    pub usual: Option<Lasting>,
    #[serde(default)]
    pub fasten: Option<Fasten>,
    #[serde(default)]
    pub readings: Vec<Reading>,
    /// The trade's sums that belong to this step: those with readings are worked out when the last of
    /// them is taken, the others are part of the call.
    #[serde(default)]
    pub sums: Vec<Sum>,
    /// What the step puts on threads that a torque step tightens later.
    #[serde(default)]
    pub applies: Vec<Applied>,
    #[serde(default)]
    pub wait: Option<Wait>,
    #[serde(default)]
    pub hold: Option<Hold>,
    /// What the second person does, who answers with words of their own.
    #[serde(default)]
    pub second: Option<Hold>,
}

/// What kind of step it is when it has no bolts, readings, wait or hold.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum StepKind {
    /// Something to do: its way forward is "work complete".
    #[default]
    Work,
    /// Something to know: its way forward is "next instruction".
    Know,
}

/// A value that the person reports, digit by digit.
///
/// A range is two readings, "lowest" and "highest". A fraction is a count of its parts with the part as
/// unit (`1/16 in`): words for fractions would be heard worse than digits are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What is read: `nut one, torque`.
    pub name: Text,
    /// The unit as shown: `N·m`, `mm`, `°C`.
    pub unit: Text,
    pub low: f64,
    pub high: f64,
    /// Digits before the point, all of them spoken; 1 to 4.
    pub digits: u8,
    /// Digits after the point; 0 to 3.
    #[serde(default)]
    pub decimals: u8,
}

/// A time that must pass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wait {
    pub name: Text,
    /// What it is called by voice; without it, the wait that is due next is meant.
    #[serde(default)]
    pub called: Option<Phrase>,
    /// From its start to its earliest end.
    pub lasts: Lasting,
    /// The work goes on meanwhile; a later step that names this one in `after` is held until the
    /// end.
    #[serde(default)]
    pub meanwhile: bool,
    /// From its start to its latest end: what comes after it must have been done by then (a recoat
    /// window, a pot life).
    #[serde(default)]
    pub at_most: Option<Lasting>,
    /// What to do when the latest end has passed.
    #[serde(default)]
    pub too_late: Option<Text>,
    /// How long before the latest end the person is called; see [`Wait::warning`].
    #[serde(default)]
    pub warn_before: Option<Lasting>,
    /// How the temperature moves its ends.
    #[serde(default)]
    pub cure: Option<Cure>,
}

/// How a wait's ends move with the temperature, as the sheet of what cures says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cure {
    /// The name of the reading that gives the temperature of the work.
    pub reading: Text,
    /// The temperature that the wait's times hold at.
    pub at: Temperature,
    /// The lowest temperature the sheet speaks of: below it the wait stands still.
    pub least: Temperature,
    /// The highest temperature the sheet speaks of.
    pub most: Temperature,
    /// Of the Arrhenius equation; without it, twice as fast for every 10 °C.
    #[serde(default)]
    pub energy: Option<ActivationEnergy>,
}

/// A point that opens only by its own words.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hold {
    pub ask: Text,
    pub answer: Phrase,
}

/// What must happen after the job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FollowUp {
    pub say: Text,
    pub after: Text,
}

/// What a step asks for before it counts as done, in the order asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Requirement<'a> {
    Know,
    Work,
    Fasten(&'a Fasten),
    Reading(&'a Reading),
    /// What the sums on the readings come to: taken notice of, or read again.
    Result(&'a [Sum]),
    Wait(&'a Wait),
    Hold(&'a Hold),
}

impl Procedure {
    /// Returns a procedure that has only what every one must have.
    pub fn new(title: Text, subject: Text, steps: Vec<Step>) -> Procedure {
        Procedure {
            title,
            subject,
            called: None,
            conditions: Vec::new(),
            resources: Vec::new(),
            cautions: Vec::new(),
            gather: Gather::default(),
            steps,
            follow_ups: Vec::new(),
            call_sign: false,
        }
    }

    /// Returns the step of that id.
    pub fn step(&self, id: &StepId) -> Option<&Step> {
        self.steps.iter().find(|step| step.id == *id)
    }

    /// Returns everything that a person says in this procedure alone: its name, words for conditions,
    /// answers.
    pub fn said(&self) -> impl Iterator<Item = &Phrase> {
        self.called.iter().chain(self.said_in_it())
    }

    /// Returns the same without its name.
    pub fn said_in_it(&self) -> impl Iterator<Item = &Phrase> {
        let conditions = self.conditions.iter();
        let conditions = conditions.flat_map(|c| c.if_set.iter().chain(&c.if_clear));
        conditions.chain(self.answers())
    }

    /// Returns the answers of holds, the second person's too.
    pub fn answers(&self) -> impl Iterator<Item = &Phrase> {
        let steps = self.steps.iter();
        let holds = steps.flat_map(|step| step.hold.iter().chain(&step.second));
        holds.map(|hold| &hold.answer)
    }

    /// Returns for each step the steps that it comes after: those that it names, those that name it in
    /// `before`, the one before it in the file where it does not say, and those on whose readings it
    /// relies. Sorted.
    pub fn earlier(&self) -> Vec<Vec<Earlier>> {
        let at = |id: &StepId| self.steps.iter().position(|step| step.id == *id);
        let after = |step| Earlier { step, over: true };
        let mut earlier: Vec<Vec<Earlier>> = self
            .steps
            .iter()
            .enumerate()
            .map(|(number, step)| match &step.after {
                Some(ids) => ids.iter().filter_map(at).map(after).collect(),
                None => number
                    .checked_sub(1)
                    .map(|step| Earlier { step, over: false })
                    .into_iter()
                    .collect(),
            })
            .collect();
        for (number, step) in self.steps.iter().enumerate() {
            for later in step.before.iter().filter_map(at) {
                earlier[later].push(after(number));
            }
        }
        for (number, relying) in self.relying(&earlier).into_iter().enumerate() {
            for later in relying {
                earlier[later].push(Earlier {
                    step: number,
                    over: false,
                });
            }
        }
        for list in &mut earlier {
            list.sort_unstable_by_key(|one| (one.step, !one.over));
            list.dedup_by_key(|one| one.step);
        }
        earlier
    }
}

/// A step that another comes after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Earlier {
    /// Its number.
    pub step: usize,
    /// Its wait must be over too. Where the order is that of the file alone, work goes on during a wait
    /// that allows it.
    pub over: bool,
}

impl Step {
    /// Returns a step that has only what every one must have: something to do, after the step before.
    pub fn new(id: StepId, say: Text) -> Step {
        Step {
            id,
            say,
            more: None,
            kind: StepKind::Work,
            cautions: Vec::new(),
            after: None,
            before: Vec::new(),
            needs: Vec::new(),
            forbidden_while: Vec::new(),
            sets: Vec::new(),
            clears: Vec::new(),
            uses: Vec::new(),
            people: 0,
            usual: None,
            fasten: None,
            readings: Vec::new(),
            sums: Vec::new(),
            applies: Vec::new(),
            wait: None,
            hold: None,
            second: None,
        }
    }

    /// Tells whether only an answer of its own leads past it: a hold's, or the second person's.
    pub fn is_held(&self) -> bool {
        self.hold.is_some() || self.second.is_some()
    }

    /// Returns how many people it takes.
    pub fn takes_people(&self) -> u8 {
        self.people.max(if self.second.is_some() { 2 } else { 1 })
    }

    /// Returns what this step asks for, in order: bolts, readings, their result, wait, hold; where it has none of
    /// these, its kind alone; last the second person's answer. Never empty.
    pub fn requirements(&self) -> Vec<Requirement<'_>> {
        let mut all: Vec<Requirement<'_>> = Vec::new();
        all.extend(self.fasten.as_ref().map(Requirement::Fasten));
        all.extend(self.readings.iter().map(Requirement::Reading));
        if self.sums.iter().any(Sum::reads) {
            all.push(Requirement::Result(&self.sums));
        }
        all.extend(self.wait.as_ref().map(Requirement::Wait));
        all.extend(self.hold.as_ref().map(Requirement::Hold));
        if all.is_empty() {
            all.push(match self.kind {
                StepKind::Know => Requirement::Know,
                StepKind::Work => Requirement::Work,
            });
        }
        all.extend(self.second.as_ref().map(Requirement::Hold));
        all
    }
}

impl Wait {
    /// Returns a wait that has only what every one must have.
    pub fn new(name: Text, lasts: Lasting) -> Wait {
        Wait {
            name,
            called: None,
            lasts,
            meanwhile: false,
            at_most: None,
            too_late: None,
            warn_before: None,
            cure: None,
        }
    }

    /// Returns how many seconds before the latest end the person is called: as the procedure says, else
    /// a quarter of the time between the ends, at most 15 min (no source); 0 without a latest end.
    pub fn warning(&self) -> i64 {
        const MOST: i64 = 15 * 60;
        let Some(at_most) = self.at_most else {
            return 0;
        };
        match self.warn_before {
            Some(before) => before.seconds(),
            None => ((at_most.seconds() - self.lasts.seconds()) / 4).clamp(0, MOST),
        }
    }
}

impl Cure {
    /// Returns the sheet that the wait's times follow.
    ///
    /// # Errors
    /// [`OutOfRange`] where no sheet can say that; see [`CureSheet::new`].
    pub fn sheet(&self) -> Result<CureSheet, OutOfRange> {
        let law = self
            .energy
            .map_or(SpeedLaw::TwicePerTenDegrees, SpeedLaw::Activation);
        CureSheet::new(self.at, law, self.least, self.most)
    }
}

impl Reading {
    /// Returns how many digits are spoken before and after the point.
    pub fn places(&self) -> (usize, usize) {
        (usize::from(self.digits), usize::from(self.decimals))
    }
}

impl Signal {
    /// Returns the signal word as ANSI Z535.4 writes it.
    pub fn word(self) -> &'static str {
        match self {
            Signal::Danger => "DANGER",
            Signal::Warning => "WARNING",
            Signal::Caution => "CAUTION",
            Signal::Notice => "NOTICE",
        }
    }
}
