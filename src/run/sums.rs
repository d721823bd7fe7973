//! The sums of the called step: what they come to now, and when that goes on the record.

use super::state::{Progress, TakenReading};
use super::{Event, Run, Time};
use crate::procedure::{Reckoned, Requirement, Step, Sum, Taken};
use crate::trade::Verdict;
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

    /// Returns when the readings of the called result are asked for again by themselves.
    pub fn asked_again_at(&self) -> Option<Time> {
        let calls = matches!(self.requirement(), Some(Requirement::Result(_)));
        let free = self.state().mode == super::Mode::Working && self.state().asking.is_none();
        self.progress().again.filter(|_| calls && free)
    }
}

/// Works out the sums of a step that read, or those that do not; the gravest first.
fn worked_out<'a>(step: &'a Step, progress: &Progress, reading: bool) -> Vec<(&'a Sum, Reckoned)> {
    let mut taken = Taken::default();
    for TakenReading { name, figure, .. } in &progress.taken {
        if let Some(reading) = step.readings.iter().find(|reading| reading.name == *name) {
            taken.add(reading, &figure.to_string());
        }
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

/// Returns when the readings of a refused result are asked for again.
fn again(result: &Reckoned, now: Time) -> Option<Time> {
    let after = result.again.filter(|_| result.verdict == Verdict::Refuse)?;
    Some(now + TimeDelta::seconds(after.seconds()))
}
