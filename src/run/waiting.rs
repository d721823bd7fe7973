//! Waits: their ends, what is called of them and when, and how the temperature moves them. Pure.

use chrono::TimeDelta;

use super::event::{Event, Moved};
use super::state::{Asking, Mark, Mode, Run};
use super::{Figure, Time};
use crate::procedure::{Cure, Reading, Requirement, StepId, Text, Wait};
use crate::trade::quantity::Temperature;

/// A wait that was begun.
#[derive(Debug, Clone, PartialEq)]
pub struct RunningWait {
    pub step: StepId,
    pub name: Text,
    pub from: Time,
    /// Its earliest end.
    pub due: Time,
    /// Its latest end: what comes after it must have been done by then.
    pub latest: Option<Time>,
    pub ended: Option<Time>,
    /// What is called of it until the person answers.
    pub call: Option<WaitCall>,
    /// The person was called before the latest end.
    pub warned: bool,
    /// The latest end has passed.
    pub late: bool,
    /// What is left of it by its sheet while it is too cold for it to go on.
    pub standing: Option<TimeDelta>,
    /// The temperature that it goes by, in degrees Celsius; none where it was not read: that of the sheet.
    pub celsius: Option<f64>,
    /// How far the wall clock went on against the time that has passed, while the wait ran.
    pub clock_off: TimeDelta,
}

/// A call about a wait that nobody has answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WaitCall {
    pub of: CallOf,
    pub since: Time,
}

/// What is called of a wait, the least pressing first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CallOf {
    /// It is over.
    Over,
    /// Its latest end comes near.
    Soon,
    /// Its latest end has passed.
    Late,
}

/// The gaps after the calls of one end, in seconds: it grows more pressing. The last goes on for
/// [`PRESSING`]; after that whoever was near has heard it, and it is called once in [`RARELY`]
/// (no source for the figures).
const GAPS: [i64; 4] = [30, 20, 15, 10];
const PRESSING: i64 = 300;
const RARELY: i64 = 60;

/// Returns how many times an end has been called by `now` that was called first at `since`: at once,
/// after 30 s, 20 s more, 15 s more, then every 10 s up to five minutes, then every minute.
pub fn times_called(since: Time, now: Time) -> u32 {
    let passed = (now - since).num_seconds();
    let mut at = 0;
    let mut calls = 0;
    let mut gaps = GAPS.into_iter();
    let mut gap = 0;
    while at <= passed {
        calls += 1;
        gap = gaps.next().unwrap_or(gap);
        if at + gap > PRESSING {
            return calls + u32::try_from((passed - at) / RARELY).unwrap_or(u32::MAX - calls);
        }
        at += gap;
    }
    calls
}

impl RunningWait {
    /// Begins the wait of a step at `from`.
    pub(super) fn new(step: StepId, name: Text, from: Time, due: Time) -> RunningWait {
        RunningWait {
            step,
            name,
            from,
            due,
            latest: None,
            ended: None,
            call: None,
            warned: false,
            late: false,
            standing: None,
            celsius: None,
            clock_off: TimeDelta::zero(),
        }
    }

    /// Tells whether it goes on.
    pub fn is_running(&self) -> bool {
        self.ended.is_none()
    }

    /// Calls something of it, unless something more pressing is called.
    pub(super) fn calls(&mut self, of: CallOf, since: Time) {
        if self.call.is_none_or(|call| call.of <= of) {
            self.call = Some(WaitCall { of, since });
        }
    }

    /// Takes over what has happened to the same wait since it was remembered like this.
    pub(super) fn keep_what_happened(&mut self, since: &RunningWait) {
        let ends = |wait: &RunningWait| (wait.ended, wait.warned, wait.late);
        if ends(self) != ends(since) {
            (self.ended, self.warned, self.late) = ends(since);
            self.call = since.call;
        }
        self.clock_off = since.clock_off;
    }
}

/// A wait of an open job: the job, what the procedure says of it, and how it goes.
#[derive(Debug, Clone, Copy)]
pub struct OfJob<'a> {
    pub job: usize,
    pub wait: &'a RunningWait,
}

impl Run {
    /// Returns the waits of all jobs with their jobs.
    pub fn waits_of_jobs(&self) -> impl Iterator<Item = OfJob<'_>> {
        let jobs = self.state.jobs.iter().enumerate();
        jobs.flat_map(|(job, progress)| progress.waits.iter().map(move |wait| OfJob { job, wait }))
    }

    /// Returns what the procedure says of a wait.
    pub fn wait_of(&self, job: usize, step: &StepId) -> Option<&Wait> {
        self.procedures().nth(job)?.step(step)?.wait.as_ref()
    }

    /// Returns the call about a wait that takes the face: the most pressing, the oldest first. While a
    /// hold or another question stands, or the work is stopped, none does.
    pub fn called_wait(&self) -> Option<OfJob<'_>> {
        let state = &self.state;
        let holds = matches!(self.requirement(), Some(Requirement::Hold(_)))
            && self.blocked().is_none()
            && state.mode == Mode::Working;
        if state.mode == Mode::Stopped || state.asking.is_some() || holds || !state.begun {
            return None;
        }
        self.unanswered()
    }

    /// Returns the most pressing call that nobody has answered, whatever else stands.
    pub fn unanswered(&self) -> Option<OfJob<'_>> {
        let pressing = |one: &OfJob| one.wait.call.map(|c| (std::cmp::Reverse(c.of), c.since));
        let called = self.waits_of_jobs().filter(|one| one.wait.call.is_some());
        called.min_by_key(pressing)
    }

    /// Tells whether the call that takes the face is the end of the called step's own wait, which goes
    /// on like any work.
    pub(super) fn calls_own_end(&self) -> bool {
        let own = self.own_wait().filter(|wait| wait.ended.is_some());
        let waiting = matches!(self.requirement(), Some(Requirement::Wait(_)));
        self.called_wait().is_some_and(|called| {
            let late = called.wait.call.is_some_and(|call| call.of == CallOf::Late);
            let is_own = called.job == self.state.job && Some(called.wait) == own;
            waiting
                && is_own
                && !late
                && self.state.mode == Mode::Working
                && self.blocked().is_none()
        })
    }

    /// Returns the wait that a command about "the" wait means: the one that was asked about last, the
    /// one that is called, the called step's own, or the one that is due next.
    pub fn wait_meant(&self) -> Option<OfJob<'_>> {
        let open = |one: &OfJob| one.wait.is_running() || one.wait.call.is_some();
        let asked = match self.state.showing {
            Some(super::Topic::Wait { job, step }) => {
                let id = self.procedures().nth(job).and_then(|p| p.steps.get(step));
                let mut waits = self.waits_of_jobs().filter(open);
                waits.find(|one| one.job == job && id.is_some_and(|s| s.id == one.wait.step))
            }
            _ => None,
        };
        let own = || {
            let own = self.own_wait()?;
            let mut waits = self.waits_of_jobs();
            waits.find(|one| one.job == self.state.job && one.wait == own && own.is_running())
        };
        let next = || {
            let running = self.waits_of_jobs().filter(|one| one.wait.is_running());
            running.min_by_key(|one| (one.wait.standing.is_some(), one.wait.due))
        };
        let called = || self.called_wait().filter(open);
        asked.or_else(called).or_else(own).or_else(next)
    }

    /// Returns the running wait whose temperature can be told, and the reading that tells it.
    pub fn curing(&self) -> Option<(OfJob<'_>, &Reading)> {
        let of_cure = |one: OfJob<'_>| -> Option<&Reading> {
            let cure = self.wait_of(one.job, &one.wait.step)?.cure.as_ref()?;
            self.reading_named(one.job, &cure.reading)
        };
        let meant = self.wait_meant().filter(|one| one.wait.is_running());
        let all = meant.into_iter().chain(self.waits_of_jobs());
        let mut running = all.filter(|one| one.wait.is_running());
        running.find_map(|one| of_cure(one).map(|reading| (one, reading)))
    }

    pub(super) fn reading_named(&self, job: usize, name: &Text) -> Option<&Reading> {
        let steps = &self.procedures().nth(job)?.steps;
        let mut readings = steps.iter().flat_map(|step| &step.readings);
        readings.find(|reading| reading.name == *name)
    }

    /// Tells whether all that comes after a wait has been begun, done or left, so that its latest end is kept.
    /// Where nothing comes after it, its answered end is enough.
    pub fn is_served(&self, one: OfJob<'_>) -> bool {
        let mut later = self.later_than(one).peekable();
        if later.peek().is_none() {
            return one.wait.ended.is_some() && one.wait.call.is_none();
        }
        later.all(|step| self.has_begun(one.job, step))
    }

    /// Tells whether a wait can be made longer: it goes on, or nothing that comes after it has been begun,
    /// done or left, and no other step has what it uses. What was begun because it was over would come before
    /// its end, or use the same thing at the same time.
    pub(super) fn can_last_longer(&self, one: OfJob<'_>) -> bool {
        let begun = |step| self.has_begun(one.job, step);
        one.wait.is_running()
            || !(self.later_than(one).any(begun) || self.lost_resource(one).is_some())
    }

    /// Returns a resource of a wait's step that another step has.
    pub(super) fn lost_resource(&self, one: OfJob<'_>) -> Option<Text> {
        let step = self.number_of_step(one.job, &one.wait.step)?;
        Some(self.taken(one.job, step)?.0.clone())
    }

    /// Returns the steps that come after a wait; what goes on beside it does not.
    fn later_than(&self, one: OfJob<'_>) -> impl Iterator<Item = usize> {
        let open = self.job(one.job);
        let at = self.number_of_step(one.job, &one.wait.step);
        let wait = self.wait_of(one.job, &one.wait.step);
        let beside = wait.is_some_and(|wait| wait.meanwhile);
        (0..open.rules.len()).filter(move |&step| {
            let mut earlier = open.rules[step].earlier.iter();
            earlier.any(|earlier| Some(earlier.step) == at && (earlier.over || !beside))
        })
    }

    fn has_begun(&self, job: usize, step: usize) -> bool {
        let progress = &self.state.jobs[job];
        progress.marks[step] != Mark::Open || (progress.step == step && progress.is_begun())
    }

    /// Returns the first open step that comes after a wait.
    pub fn comes_after(&self, one: OfJob<'_>) -> Option<&crate::procedure::Step> {
        let marks = &self.state.jobs[one.job].marks;
        let later = self.later_than(one).find(|&step| marks[step] == Mark::Open);
        self.job(one.job).procedure.steps.get(later?)
    }

    /// Returns when the person is called before the latest end.
    fn warned_at(&self, one: OfJob<'_>) -> Option<Time> {
        let before = self.wait_of(one.job, &one.wait.step)?.warning();
        Some(one.wait.latest? - TimeDelta::seconds(before))
    }

    /// Returns when something next happens by itself: what is due ([`Run::next_due`]), or the call before and
    /// after a latest end.
    pub fn next_wake(&self) -> Option<Time> {
        let latest = self.waits_of_jobs().flat_map(|one| {
            let wait = one.wait;
            let open = !wait.late && wait.latest.is_some() && !self.is_served(one);
            let latest = wait.latest.filter(|_| open);
            let warned = self.warned_at(one).filter(|_| open && !wait.warned);
            [latest, warned].into_iter().flatten()
        });
        latest.chain(self.next_due()).min()
    }

    /// Returns what has happened to the waits by `now`, in the order in which it did.
    pub(super) fn ends_by(&self, now: Time) -> Vec<Event> {
        let mut all: Vec<(Time, Event)> = Vec::new();
        for one in self.waits_of_jobs() {
            let OfJob { job, wait } = one;
            let (step, name) = (wait.step.clone(), wait.name.clone());
            if wait.is_running() && wait.standing.is_none() && wait.due <= now {
                let (step, name, at) = (step.clone(), name.clone(), wait.due);
                all.push((
                    at,
                    Event::WaitEnded {
                        job,
                        step,
                        name,
                        at,
                    },
                ));
            }
            let Some(latest) = wait.latest.filter(|_| !wait.late && !self.is_served(one)) else {
                continue;
            };
            if latest <= now {
                let at = latest;
                all.push((
                    at,
                    Event::WaitTooLate {
                        job,
                        step,
                        name,
                        at,
                    },
                ));
            } else if let Some(at) = self.warned_at(one).filter(|at| !wait.warned && *at <= now) {
                all.push((
                    at,
                    Event::WaitWarned {
                        job,
                        step,
                        name,
                        at,
                    },
                ));
            }
        }
        all.sort_by_key(|(at, _)| *at);
        all.into_iter().map(|(_, event)| event).collect()
    }

    /// Returns the moves of all waits that go by the reading `name`, which is now `figure`.
    pub(super) fn moves_by(&self, name: &Text, figure: &Figure, now: Time) -> Vec<Event> {
        let moved = |one: OfJob<'_>| {
            let cure = self.wait_of(one.job, &one.wait.step)?.cure.as_ref()?;
            let unit = &self.reading_named(one.job, &cure.reading)?.unit;
            if cure.reading != *name {
                return None;
            }
            let at = format!("{figure} {unit}").parse::<Temperature>().ok()?;
            moved_by(one, cure, at, now)
        };
        self.waits_of_jobs().filter_map(moved).collect()
    }

    /// Returns the move of a wait that begins when the temperature it goes by was read before.
    pub(super) fn moved_from_start(&self, job: usize, step: &StepId, now: Time) -> Option<Event> {
        let cure = self.wait_of(job, step)?.cure.as_ref()?;
        let mut known = self.state.temperatures.iter();
        let (_, figure) = known.find(|(name, _)| *name == cure.reading)?;
        let unit = &self.reading_named(job, &cure.reading)?.unit;
        let at = format!("{figure} {unit}").parse::<Temperature>().ok()?;
        let mut waits = self.waits_of_jobs();
        let one = waits.find(|one| one.job == job && one.wait.step == *step)?;
        moved_by(one, cure, at, now)
    }

    /// Returns what becomes of a reading if it is one that a wait goes by.
    pub(super) fn is_temperature(&self, name: &Text) -> bool {
        let mut steps = self.procedures().flat_map(|procedure| &procedure.steps);
        steps.any(|step| {
            let cure = step.wait.as_ref().and_then(|wait| wait.cure.as_ref());
            cure.is_some_and(|cure| cure.reading == *name)
        })
    }
}

/// Moves the ends of a wait that goes on at another temperature from `now`. What has passed counts as it
/// was. Warmth does not bring the earliest end nearer than the sheet, nor cold the latest end later.
fn moved_by(one: OfJob<'_>, cure: &Cure, at: Temperature, now: Time) -> Option<Event> {
    let wait = one.wait;
    let late = wait.latest.is_none_or(|latest| latest <= now);
    if !wait.is_running() && late {
        return None;
    }
    let sheet = cure.sheet().ok()?;
    let before = wait.celsius.map_or(cure.at, Temperature::celsius);
    let scaled = |left: TimeDelta, by: f64| {
        TimeDelta::milliseconds((left.num_milliseconds() as f64 * by).round() as i64)
    };
    let on_sheet = wait
        .standing
        .unwrap_or_else(|| scaled(wait.due - now, sheet.pace_to_wait_by(before)));
    let pace = sheet.pace_to_wait_by(at);
    let (due, standing) = if !wait.is_running() {
        (wait.due, None)
    } else if pace > 0.0 {
        (now + scaled(on_sheet, 1.0 / pace), None)
    } else {
        (wait.due, Some(on_sheet))
    };
    let latest = wait.latest.map(|latest| {
        let faster = sheet.pace_to_use_by(before) / sheet.pace_to_use_by(at);
        if latest <= now {
            latest
        } else {
            now + scaled(latest - now, faster)
        }
    });
    Some(Event::WaitMoved {
        job: one.job,
        step: wait.step.clone(),
        name: wait.name.clone(),
        due,
        latest,
        standing,
        why: Moved::Temperature {
            celsius: at.in_celsius(),
            by: sheet.source().into(),
        },
    })
}

/// Returns the event that adds `more` to a wait from `now`. One that is over goes on again.
pub(super) fn added(one: OfJob<'_>, more: TimeDelta, now: Time) -> Event {
    let wait = one.wait;
    let from = if wait.is_running() { wait.due } else { now };
    Event::WaitMoved {
        job: one.job,
        step: wait.step.clone(),
        name: wait.name.clone(),
        due: if wait.standing.is_some() {
            wait.due
        } else {
            from + more
        },
        latest: wait.latest,
        standing: wait.standing.map(|left| left + more),
        why: Moved::Added {
            seconds: more.num_seconds(),
        },
    }
}

/// What the person is telling the temperature of.
#[derive(Debug, Clone, PartialEq)]
pub struct Giving {
    pub step: StepId,
    pub reading: Reading,
}

impl Run {
    /// Returns the reading that is asked for or read back: the called step's, or the temperature of a
    /// wait.
    pub fn reading(&self) -> Option<&Reading> {
        if let Some(giving) = &self.state.giving {
            return Some(&giving.reading);
        }
        match (self.requirement(), &self.state.asking) {
            (_, Some(Asking::Again(_) | Asking::Reason)) => None,
            (Some(Requirement::Reading(reading)), _) => Some(reading),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The gaps summed by hand: 0, 30, 50, 65, 75, 85 … 295, then 355.
    #[test]
    fn an_end_is_called_more_and_more_often() {
        let since = Time::UNIX_EPOCH;
        let calls = |seconds| times_called(since, since + TimeDelta::seconds(seconds));
        let expected = [
            (-1, 0),
            (0, 1),
            (29, 1),
            (30, 2),
            (49, 2),
            (50, 3),
            (64, 3),
            (65, 4),
            (75, 5),
            (295, 27),
            (354, 27),
            (355, 28),
            (3595, 82),
        ];
        for (seconds, number) in expected {
            assert_eq!(calls(seconds), number, "after {seconds} s");
        }
        assert!(calls(365 * 24 * 3600) > 500_000);
    }
}
