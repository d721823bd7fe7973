//! From procedures to a work that can be planned.
//!
//! A step is an activity that people do, a wait one that nobody does and that begins when its step's
//! work is done. What a condition forbids or needs becomes an order: within a procedure that of its
//! file, between procedures a choice of before or after. What a procedure leaves open is assumed, and
//! said to be.

use super::draft_conditions as conditions;
use super::span::{Moment, Span};
use super::words::PEOPLE;
use super::work::{Activity, ActivityId, Gives, Lag, ResourceId, Tie, Work};
use crate::procedure::{Lasting, Procedure, Step};
use crate::run::{Mark, Run, Time};

/// How long a step takes that does not say.
pub const USUAL: Span = Span::minutes(5);

/// A work that can be planned, and where its parts come from.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    pub work: Work,
    /// One for each activity.
    pub places: Vec<Place>,
    /// What the procedures leave open and was taken so, in whole sentences.
    pub assumed: Vec<String>,
    /// When the plan's zero is, where it is of a run.
    pub begins: Option<Time>,
}

/// Where an activity comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// The number of the procedure.
    pub job: usize,
    /// The number of the step.
    pub step: usize,
    /// Whether the step does not say how long it takes.
    pub assumed: bool,
}

/// A procedure as it stands.
pub(super) struct Job<'a> {
    pub procedure: &'a Procedure,
    /// Its name, told from those of the others.
    pub name: String,
    /// For each step, whether it is still to be done.
    pub open: Vec<bool>,
    /// The step that is being done, and since when.
    pub begun: Option<(usize, Moment)>,
    pub waits: Vec<BegunWait>,
    /// What each step became.
    pub parts: Vec<Parts>,
}

impl Job<'_> {
    /// Tells whether that step is being done.
    pub fn is_begun(&self, step: usize) -> bool {
        self.begun.is_some_and(|(begun, _)| begun == step)
    }
}

/// A wait that was begun.
pub(super) struct BegunWait {
    step: usize,
    from: Moment,
    lasts: Span,
    /// From its start to its latest end.
    at_most: Option<Span>,
}

/// The activities of a step, as far as they are still of interest.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Parts {
    pub work: Option<ActivityId>,
    pub wait: Option<ActivityId>,
}

impl Draft {
    /// Drafts procedures that are open together and not yet begun.
    ///
    /// `people` is how many there are; none takes as many as the most demanding step.
    pub fn of(procedures: &[&Procedure], people: Option<u32>) -> Draft {
        let jobs = procedures.iter().map(|procedure| Job {
            procedure,
            name: procedure.title.as_str().to_string(),
            open: vec![true; procedure.steps.len()],
            begun: None,
            waits: Vec::new(),
            parts: Vec::new(),
        });
        draft(jobs.collect(), people, Moment::ZERO)
    }

    /// Drafts what is left of a run, from what has really happened.
    ///
    /// A step that is begun takes what is left of its usual time; one that has taken longer is taken as
    /// done now.
    pub fn of_run(run: &Run, people: Option<u32>, now: Time) -> Draft {
        let worked = |job: usize| {
            let begun = run.state().jobs[job].is_begun();
            begun.then(|| run.worked_on(job, now))
        };
        let waits = run.waits().map(|wait| wait.from);
        let begun = (0..run.state().jobs.len()).filter_map(worked);
        let begins = waits.chain(begun.map(|worked| now - worked));
        let begins = begins.fold(now, Time::min);
        let since = |at: Time| Moment::held((at - begins).num_seconds());
        let jobs = run.procedures().zip(&run.state().jobs).enumerate();
        let jobs = jobs.map(|(job, (procedure, progress))| {
            let number = |wait: &crate::run::RunningWait| {
                procedure.steps.iter().position(|step| step.id == wait.step)
            };
            Job {
                procedure,
                name: procedure.title.as_str().to_string(),
                open: progress
                    .marks
                    .iter()
                    .map(|mark| *mark == Mark::Open)
                    .collect(),
                begun: worked(job).map(|worked| (progress.step, since(now - worked))),
                waits: progress
                    .waits
                    .iter()
                    .filter_map(|wait| {
                        // One that stands still goes on from now at the earliest.
                        let standing = wait.standing.map(|left| now + left);
                        let until = wait.ended.or(standing).unwrap_or(wait.due);
                        let span = |to: Time| Span::held((to - wait.from).num_seconds());
                        Some(BegunWait {
                            step: number(wait)?,
                            from: since(wait.from),
                            lasts: span(until),
                            at_most: wait.latest.map(span),
                        })
                    })
                    .collect(),
                parts: Vec::new(),
            }
        });
        let mut draft = draft(jobs.collect(), people, since(now));
        draft.begins = Some(begins);
        draft
    }
}

fn draft(mut jobs: Vec<Job>, people: Option<u32>, now: Moment) -> Draft {
    tell_apart(&mut jobs);
    let steps = || jobs.iter().flat_map(|job| &job.procedure.steps);
    let fewest = steps().map(|step| u32::from(step.takes_people())).max();
    let crew = people.unwrap_or(fewest.unwrap_or(1));
    let mut draft = Draft {
        work: Work {
            now,
            ..Work::default()
        },
        places: Vec::new(),
        assumed: Vec::new(),
        begins: None,
    };
    let crew_id = draft.work.resource(PEOPLE, crew);
    if people.is_none() {
        let noun = if crew == 1 {
            "person works"
        } else {
            "people work"
        };
        draft.assumed.push(format!(
            "{crew} {noun}, the fewest that every step can be done with"
        ));
    }
    for (number, job) in jobs.iter_mut().enumerate() {
        job.parts = vec![Parts::default(); job.procedure.steps.len()];
        for (place, step) in job.procedure.steps.iter().enumerate() {
            job.parts[place] = draft.step(number, job, place, step, crew_id);
        }
    }
    for job in &jobs {
        draft.order(job);
    }
    conditions::tie(&mut draft, &jobs);
    draft.say_what_is_assumed(&jobs);
    draft
}

/// Gives jobs of the same title numbers.
fn tell_apart(jobs: &mut [Job]) {
    for at in 0..jobs.len() {
        let title = jobs[at].procedure.title.as_str();
        let same = |job: &&Job| job.procedure.title.as_str() == title;
        let before = jobs[..at].iter().filter(same).count();
        if before > 0 {
            jobs[at].name = format!("{title} ({})", before + 1);
        }
    }
}

impl Draft {
    /// Adds what is left of a step.
    fn step(
        &mut self,
        number: usize,
        job: &Job,
        place: usize,
        step: &Step,
        crew: ResourceId,
    ) -> Parts {
        let mut parts = Parts::default();
        let begun = job.waits.iter().rfind(|wait| wait.step == place);
        let resources: Vec<ResourceId> = (step.uses.iter())
            .map(|name| self.resource(name.as_str()))
            .collect();
        let using = |activity: Activity| {
            let used = resources.iter();
            used.fold(activity, |activity, &used| activity.using(used, 1))
        };
        let here = Place {
            job: number,
            step: place,
            assumed: step.usual.is_none(),
        };
        if job.open[place] && begun.is_none() {
            let usual = step.usual.map_or(USUAL, span);
            let begun = job.begun.filter(|(begun, _)| *begun == place);
            let started = begun.map(|(_, since)| since);
            let passed = started.map_or(Span::ZERO, |since| self.work.now.since(since));
            let activity = Activity {
                started,
                ..Activity::step(step.say.as_str(), &job.name, usual.max(passed))
            };
            let activity = using(activity).using(crew, u32::from(step.takes_people()));
            parts.work = Some(self.add(activity, here));
        }
        let Some(wait) = &step.wait else {
            return parts;
        };
        let here = Place {
            assumed: false,
            ..here
        };
        if let Some(begun) = begun {
            let activity = Activity {
                started: Some(begun.from),
                ..Activity::wait(wait.name.as_str(), &job.name, begun.lasts)
            };
            parts.wait = Some(self.add(using(activity), here));
        } else if let Some(work) = parts.work {
            let activity = Activity::wait(wait.name.as_str(), &job.name, span(wait.lasts));
            let added = self.add(using(activity), here);
            let lasts = self.work.activities[work.0].lasts;
            for lag in [Lag::AtLeast(lasts), Lag::AtMost(lasts)] {
                self.work.tie(Tie {
                    from: work,
                    to: added,
                    lag,
                    name: format!(
                        "the wait \"{}\" begins when \"{}\" is done",
                        wait.name, step.say
                    ),
                    gives: Gives::Never,
                });
            }
            parts.wait = Some(added);
        }
        parts
    }

    fn add(&mut self, activity: Activity, place: Place) -> ActivityId {
        self.places.push(place);
        self.work.activity(activity)
    }

    /// Returns the resource of that name; there is one of each.
    fn resource(&mut self, name: &str) -> ResourceId {
        // The first one is the people, whatever a procedure calls its resources.
        let known = self
            .work
            .resources
            .iter()
            .skip(1)
            .position(|one| one.name == name);
        match known {
            Some(at) => ResourceId(at + 1),
            None => self.work.resource(name, 1),
        }
    }

    /// Ties each open step of a job to what it comes after.
    fn order(&mut self, job: &Job) {
        let steps = &job.procedure.steps;
        for (place, earlier) in job.procedure.earlier().into_iter().enumerate() {
            let Some(later) = job.parts[place].work.filter(|_| !job.is_begun(place)) else {
                continue;
            };
            for earlier in earlier {
                let parts = job.parts[earlier.step];
                let step = &steps[earlier.step];
                if let Some(work) = parts.work {
                    self.after(
                        work,
                        later,
                        format!("\"{}\" comes after \"{}\"", steps[place].say, step.say),
                    );
                }
                let Some((wait, activity)) = step.wait.as_ref().zip(parts.wait) else {
                    continue;
                };
                if !earlier.over && wait.meanwhile {
                    continue;
                }
                let name = format!(
                    "\"{}\" comes after the wait \"{}\"",
                    steps[place].say, wait.name
                );
                self.after(activity, later, name);
                // The latest end of one that runs may have moved with the temperature.
                let begun = job.waits.iter().rfind(|wait| wait.step == earlier.step);
                let at_most = match begun {
                    Some(begun) => begun.at_most,
                    None => wait.at_most.map(span),
                };
                if let Some(at_most) = at_most {
                    self.work.tie(Tie {
                        from: activity,
                        to: later,
                        lag: Lag::EndsWithin(at_most),
                        name: format!(
                            "\"{}\" is done within {at_most} from the start of the wait \"{}\"",
                            steps[place].say, wait.name
                        ),
                        gives: Gives::Longer,
                    });
                }
            }
        }
    }

    /// Ties `later` to start once `earlier` has ended.
    pub(super) fn after(&mut self, earlier: ActivityId, later: ActivityId, name: String) {
        let tie = self.tied(earlier, later, name);
        self.work.tie(tie);
    }

    /// Returns the tie that has `later` start once `earlier` has ended.
    pub(super) fn tied(&self, earlier: ActivityId, later: ActivityId, name: String) -> Tie {
        Tie {
            from: earlier,
            to: later,
            lag: Lag::AtLeast(self.work.activities[earlier.0].lasts),
            name,
            gives: Gives::Never,
        }
    }

    fn say_what_is_assumed(&mut self, jobs: &[Job]) {
        for (number, job) in jobs.iter().enumerate() {
            let silent = self
                .places
                .iter()
                .filter(|place| place.job == number && place.assumed);
            let ids: Vec<String> = silent
                .map(|place| format!("`{}`", job.procedure.steps[place.step].id))
                .collect();
            if ids.is_empty() {
                continue;
            }
            let (steps, say) = match ids.len() {
                1 => ("step", "does"),
                _ => ("steps", "do"),
            };
            self.assumed.push(format!(
                "{USUAL} for {} {steps} of \"{}\" that {say} not say how long they usually take \
                 (`usual: \"10 min\"`): {}",
                ids.len(),
                job.name,
                enough(&ids)
            ));
        }
    }
}

/// Returns the first few of a list in words.
fn enough(ids: &[String]) -> String {
    const FEW: usize = 6;
    let named = ids.iter().take(FEW).map(String::as_str).collect::<Vec<_>>();
    match ids.len().saturating_sub(FEW) {
        0 => named.join(", "),
        more => format!("{} and {more} more", named.join(", ")),
    }
}

/// A duration of a procedure is at most 60 days, so it fits.
pub(super) fn span(lasting: Lasting) -> Span {
    Span::held(lasting.seconds())
}
