//! Readings that grow old, clocks that begin with a step, and the stages of a job with the wheels off.

use super::check::Draft;
use super::finding::{Finding, Findings};
use super::model::Step;
use super::place::Place;
use super::relying::before;
use super::sums::Sum;
use super::values::StepId;
use crate::trade::jacking::{ORDER, Stage, may_follow};

/// Reports names of steps that no sum can go by, and stages that come too early.
pub(super) fn check_again(draft: &Draft, findings: &mut Findings) {
    let steps = &draft.procedure.steps;
    if steps.iter().all(|step| step.sums.is_empty()) {
        return;
    }
    let earlier = draft.procedure.earlier();
    for (number, step) in steps.iter().enumerate() {
        for (i, sum) in step.sums.iter().enumerate() {
            let place = draft.places.step(number).field("sums").entry(i);
            let timing = sum.timing();
            match timing.until {
                Some(until) => check_until(draft, (number, &earlier), until, place, findings),
                None if timing.asks_again && !step.only_reads() => {
                    stays_young(step, place, findings);
                }
                None => {}
            }
            if let Some(to) = timing.leads_to {
                check_leads_to(draft, (number, &earlier), to, place, findings);
            }
            if let Some(since) = timing.since {
                let known = before(number, &earlier);
                check_since(draft, &known, since, place, findings);
                check_clock(sum, place, findings);
            }
        }
    }
    check_stages(draft, &earlier, findings);
}

/// Reports a step that is named but not there, or not where it should be.
fn unknown(draft: &Draft, id: &StepId, place: Place, which: &str, findings: &mut Findings) {
    let span = place.span();
    findings.error(span.start, |suggester| {
        let ids = draft.procedure.steps.iter().map(|step| step.id.as_str());
        let finding = Finding::error(span, format!("No step has the id `{id}`"));
        match suggester.nearest(id.as_str(), ids) {
            Some(near) => finding.help(format!("did you mean `{near}`?")),
            None => finding.help(format!("write the id of {which}")),
        }
    });
}

/// How readings come to be taken anew.
const ON_ITS_OWN: &str = "give the readings a step of their own, with a hold at most, and put bolts, \
    wait, resources, conditions and what the second person does into the step after it";

/// Tells of readings on which the work goes on however old they are.
fn stays_young(step: &Step, place: Place, findings: &mut Findings) {
    let span = place.span();
    findings.advice(span.start, |_| {
        let message = format!(
            "Once step `{}` is done its readings are never too old: it does more than read",
            step.id
        );
        Finding::advice(span, message).help(ON_ITS_OWN)
    });
}

/// Reports an `until` that is not a step after this one, or in a step that cannot be called again by
/// itself.
fn check_until(
    draft: &Draft,
    (number, earlier): (usize, &[Vec<super::model::Earlier>]),
    until: &StepId,
    place: Place,
    findings: &mut Findings,
) {
    let steps = &draft.procedure.steps;
    let place = place.field("until");
    let Some(last) = steps.iter().position(|step| step.id == *until) else {
        return unknown(draft, until, place, "a later step", findings);
    };
    let span = place.span();
    let step = &steps[number];
    if !step.only_reads() {
        findings.error(span.start, |_| {
            let message = format!(
                "The readings of step `{}` cannot be taken anew by themselves: it does more than read",
                step.id
            );
            Finding::error(span, message).help(ON_ITS_OWN)
        });
    } else if draft.whole && !before(last, earlier).contains(&number) {
        findings.error(span.start, |_| {
            let message = format!("Step `{until}` does not come after step `{}`", step.id);
            Finding::error(span, message)
                .label("must be a later one")
                .help(format!("write the last step that relies on these readings, or let `{until}` come after them"))
        });
    }
}

/// Reports a `missed` that is not a step after this one, or one that cannot be passed over.
fn check_leads_to(
    draft: &Draft,
    (number, earlier): (usize, &[Vec<super::model::Earlier>]),
    to: &StepId,
    place: Place,
    findings: &mut Findings,
) {
    let steps = &draft.procedure.steps;
    let place = place.field("missed");
    let Some(at) = steps.iter().position(|step| step.id == *to) else {
        return unknown(draft, to, place, "the step to do then", findings);
    };
    let span = place.span();
    if !steps[at].touches_nothing() {
        findings.error(span.start, |_| {
            let message = format!("Step `{to}` cannot be passed over where the window is open");
            Finding::error(span, message).help(
                "let it be only work: no bolts, readings, wait, hold, resources or conditions, and put \
                 nothing on threads",
            )
        });
    } else if draft.whole && !before(at, earlier).contains(&number) {
        findings.error(span.start, |_| {
            let message = format!("Step `{to}` does not come after step `{}`", steps[number].id);
            Finding::error(span, message)
                .label("must be a later one")
                .help("write the step to do once the window has closed, and let the coat come after it")
        });
    }
}

/// Reports a `since` that is not a step before this one.
fn check_since(
    draft: &Draft,
    known: &std::collections::BTreeSet<usize>,
    since: &StepId,
    place: Place,
    findings: &mut Findings,
) {
    let steps = &draft.procedure.steps;
    let place = place.field("since");
    let Some(at) = steps.iter().position(|step| step.id == *since) else {
        return unknown(draft, since, place, "the step that lays the coat", findings);
    };
    if draft.whole && !known.contains(&at) {
        let span = place.span();
        findings.error(span.start, |_| {
            Finding::error(
                span,
                format!("Step `{since}` does not come before this one"),
            )
            .label("must be an earlier one")
            .help("write the id of the step that lays the coat")
        });
    }
}

/// Reports a clock that has no reading to stand for, or no temperature read beside it.
fn check_clock(sum: &Sum, place: Place, findings: &mut Findings) {
    let span = place.field("since").span();
    let reads = sum.needs().len();
    let why = match sum.timing().by_clock {
        None => {
            "let `lasted` of the last of `stood` be a reading: it is asked for where the step was not \
             done in this run"
        }
        Some(_) if reads < 2 => {
            "let `at` of the last of `stood` be a reading: the temperature is read when the clock is"
        }
        Some(_) => return,
    };
    findings.error(span.start, |_| {
        Finding::error(span, "The clock has no reading to stand for").help(why)
    });
}

/// Reports each stage that comes before one that must be done first. What comes before the first stage
/// that the procedure names was done before the job.
fn check_stages(draft: &Draft, earlier: &[Vec<super::model::Earlier>], findings: &mut Findings) {
    let steps = &draft.procedure.steps;
    let stages = |step: usize| steps[step].sums.iter().flat_map(Sum::stages).copied();
    let Some(first) = (0..steps.len()).flat_map(stages).min() else {
        return;
    };
    let assumed = ORDER.into_iter().filter(|stage| *stage < first);
    let assumed: Vec<Stage> = assumed.collect();
    for (number, step) in steps.iter().enumerate() {
        let mut done = assumed.clone();
        done.extend(before(number, earlier).into_iter().flat_map(stages));
        for (i, sum) in step.sums.iter().enumerate() {
            for (entry, stage) in sum.stages().iter().enumerate() {
                if let Err(why) = may_follow(&done, *stage)
                    && draft.whole
                {
                    let place = draft.places.step(number).field("sums").entry(i);
                    let span = place.field("stages").entry(entry).span();
                    let missing = why.missing;
                    findings.error(span.start, |_| {
                        Finding::error(span, format!("{why}"))
                            .label("comes too early")
                            .help(format!(
                                "let this step come `after` the one that has stage `{missing:?}`, or add that one"
                            ))
                    });
                }
                done.push(*stage);
            }
        }
    }
}
