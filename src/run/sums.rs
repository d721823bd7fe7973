//! The sums of the called step: what they come to now, and when that goes on the record.

use super::state::{Mark, Mode, Progress, TakenReading};
use super::{Event, Run, Time};
use crate::procedure::{Reckoned, Requirement, Step, StepId, Sum, Taken, Text};
use crate::trade::Verdict;
use crate::trade::quantity::TimeSpan;
use chrono::TimeDelta;

impl Run {
    /// Returns what the sums on the readings of the called step come to, the gravest first; empty until
    /// the last of them is taken.
    pub fn results(&self) -> Vec<(&Sum, Reckoned)> {
        match (self.step(), self.requirement()) {
            (Some(step), Some(Requirement::Result(_))) => worked_out(step, self.progress(), true),
            _ => Vec::new(),
        }
    }

    /// Returns what the sums without readings of the called step come to: they belong to its call.
    pub fn results_of_call(&self) -> Vec<(&Sum, Reckoned)> {
        let step = self.step().filter(|step| !step.sums.is_empty());
        step.map_or_else(Vec::new, |step| worked_out(step, self.progress(), false))
    }

    /// Returns the gravest of the results that are called now; `Go` where none is.
    pub fn verdict(&self) -> Verdict {
        let results = self.results();
        results
            .first()
            .map_or(Verdict::Go, |(_, result)| result.verdict)
    }

    /// Returns the steps that are passed over because the called result does not lead to them.
    pub(super) fn not_wanted(&self) -> Vec<Event> {
        let results = self.results();
        let reckoned = results.iter().filter_map(|(sum, result)| {
            let to = sum.leads_to().filter(|_| result.leads_to.is_none())?;
            Some(Event::PassedOver { step: to.clone() })
        });
        reckoned.collect()
    }

    /// Returns when the readings of the called result are asked for again by themselves.
    pub fn asked_again_at(&self) -> Option<Time> {
        let calls = matches!(self.requirement(), Some(Requirement::Result(_)));
        let free = self.state().mode == Mode::Working && self.state().asking.is_none();
        self.progress().again.filter(|_| calls && free)
    }
}

impl Run {
    /// Returns the number of a step of a job.
    pub(crate) fn number_of_step(&self, job: usize, step: &StepId) -> Option<usize> {
        let steps = &self.procedures().nth(job)?.steps;
        steps.iter().position(|other| other.id == *step)
    }

    /// Returns the readings that have become too old by `now` for what relies on them, each with its
    /// job and step.
    pub(super) fn aged_by(&self, now: Time) -> impl Iterator<Item = ((usize, usize), Event)> {
        self.aging()
            .filter(move |(_, _, until)| *until <= now)
            .filter_map(|(job, step, at)| {
                let id = self.procedures().nth(job)?.steps.get(step)?.id.clone();
                let aged = Event::ReadingsAged { job, step: id, at };
                Some(((job, step), aged))
            })
    }

    /// Returns those of them that the called step relies on: nothing of it may begin on them.
    pub(super) fn aged_under_call(&self, now: Time) -> Vec<Event> {
        let (called, at) = (self.state().job, self.progress().step);
        let aged = self.aged_by(now);
        aged.filter(|((job, step), _)| {
            *job == called && self.job(called).relying[*step].contains(&at)
        })
        .map(|(_, event)| event)
        .collect()
    }

    /// Returns when readings next become too old.
    pub(super) fn next_aged_at(&self) -> Option<Time> {
        self.aging().map(|(_, _, until)| until).min()
    }

    /// Returns the steps on whose readings something still relies, with their jobs and until when they
    /// hold. While a question stands or nobody works nothing grows old, nor while a step that relies on
    /// it is begun: that one is finished first.
    fn aging(&self) -> impl Iterator<Item = (usize, usize, Time)> {
        let state = self.state();
        let free = state.begun && state.mode == Mode::Working && state.asking.is_none();
        let jobs = state.jobs.iter().enumerate().filter(move |_| free);
        jobs.flat_map(move |(job, progress)| {
            let relies = move |step: usize| self.job(job).relying[step].iter();
            let open =
                move |step: usize| relies(step).any(|&later| progress.marks[later] == Mark::Open);
            let begun = move |step: usize| {
                progress.is_begun() && relies(step).any(|&later| later == progress.step)
            };
            let hold = progress.hold.iter().copied();
            hold.filter(move |&(step, _)| open(step) && !begun(step))
                .map(move |(step, until)| (job, step, until))
        })
    }

    /// Tells whether the called step was done before and is called again because its readings were too
    /// old.
    pub fn is_read_anew(&self) -> bool {
        let progress = self.progress();
        progress.aged.contains(&progress.step)
    }

    /// Tells whether the clock gives what a reading of the called step would.
    pub(super) fn is_by_clock(&self, reading: &Text) -> bool {
        self.clocks().any(|(name, _)| name == reading)
    }

    /// Returns the readings of the called step that the clock gives, and from when it counts.
    fn clocks(&self) -> impl Iterator<Item = (&Text, Time)> {
        let steps = &self.procedure().steps;
        let all = self.step().into_iter().flat_map(Step::by_clock);
        all.filter_map(|clock| {
            let since = steps.iter().position(|step| step.id == *clock.since)?;
            let mut known = self.progress().clocks.iter();
            let (_, from) = known.find(|(step, _)| *step == since)?;
            Some((clock.reading, *from))
        })
    }
}

/// Adds to `events` what the clock brings: that it began, where a step was done from which a later one
/// counts, and what it reads, where all other readings of the called step are taken.
pub(super) fn with_clocks(run: &Run, mut events: Vec<Event>, now: Time) -> Vec<Event> {
    let counts = (0..run.state().jobs.len()).any(|job| !run.job(job).clocked.is_empty());
    if events.is_empty() || !counts {
        return events;
    }
    let mut after = run.clone();
    let mut began: Vec<Event> = Vec::new();
    for event in &events {
        after.apply(event);
    }
    for (job, (progress, before)) in after.state().jobs.iter().zip(&run.state().jobs).enumerate() {
        for &step in &after.job(job).clocked {
            let id = &after.job(job).procedure.steps[step].id;
            let wait = |event: &Event| match event {
                Event::WaitBegan { step, from, .. } if step == id && job == run.state().job => {
                    Some(*from)
                }
                _ => None,
            };
            let waits = events.iter().find_map(wait);
            let known = progress.clocks.iter().any(|(other, _)| *other == step);
            let done = |progress: &Progress| progress.marks[step] == Mark::Done;
            let done = !known && done(progress) && !done(before);
            if let Some(at) = waits.or(done.then_some(now)) {
                let step = id.clone();
                began.push(Event::ClockBegan { job, step, at });
            }
        }
    }
    began.iter().for_each(|event| after.apply(event));
    events.extend(began);
    if let (Some(Requirement::Result(_)), Some(step)) = (after.requirement(), after.step()) {
        let known = |name: &Text| {
            after
                .progress()
                .passed
                .iter()
                .any(|(other, _)| other == name)
        };
        let read = after.clocks().filter(|(name, _)| !known(name));
        events.extend(read.map(|(name, from)| Event::ClockRead {
            step: step.id.clone(),
            name: name.clone(),
            seconds: (now - from).num_seconds().max(0),
        }));
    }
    events
}

/// Works out the sums of a step that read, or those that do not; the gravest first.
fn worked_out<'a>(step: &'a Step, progress: &Progress, reading: bool) -> Vec<(&'a Sum, Reckoned)> {
    let mut taken = Taken::default();
    for TakenReading { name, figure, .. } in &progress.taken {
        if let Some(reading) = step.readings.iter().find(|reading| reading.name == *name) {
            taken.add(reading, &figure.to_string());
        }
    }
    for (name, passed) in &progress.passed {
        taken.add_passed(name, TimeSpan::seconds(passed.num_seconds() as f64));
    }
    let sums = step.sums.iter().filter(|sum| sum.reads() == reading);
    let mut results: Vec<_> = sums.map(|sum| (sum, sum.reckon(&taken))).collect();
    results.sort_by_key(|(_, result)| std::cmp::Reverse(result.verdict));
    results
}

/// Adds to `events` the results that they bring about: those on readings when the last one was taken, those
/// of a call when the step is called.
pub(super) fn with_results(run: &Run, mut events: Vec<Event>, now: Time) -> Vec<Event> {
    let opens = events.iter().any(|event| matches!(event, Event::Opened(_)));
    if events.is_empty() || !(opens || run.has_sums()) {
        return events;
    }
    let mut after = run.clone();
    events.iter().for_each(|event| after.apply(event));
    let Some(step) = after.step() else {
        return events;
    };
    let read = events.iter().any(|event| {
        matches!(
            event,
            Event::ReadingTaken { .. } | Event::DeviationAccepted { .. }
        )
    });
    let place = |run: &Run| (run.state().begun, run.state().job, run.progress().step);
    let called = place(&after).0 && place(run) != place(&after);
    let mut results = Vec::new();
    if read {
        results.extend(after.results());
    }
    if called && !after.progress().is_begun() {
        results.extend(after.results_of_call());
    }
    let recorded = results.into_iter().map(|(sum, result)| Event::Reckoned {
        step: step.id.clone(),
        name: sum.called().into(),
        verdict: result.verdict,
        again: again(&result, now),
        result: result.result,
        formula: result.formula,
        source: result.source,
    });
    events.extend(recorded);
    events
}

/// Returns until when the readings of a result hold.
fn again(result: &Reckoned, now: Time) -> Option<Time> {
    Some(now + TimeDelta::seconds(result.again?.seconds()))
}
