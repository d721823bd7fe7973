//! The sums of the steps: the readings they name, and whether they add up.

use std::collections::BTreeSet;

use super::check::Draft;
use super::finding::{Finding, Findings, clipped};
use super::model::{Reading, Step};
use super::place::Place;
use super::sums::{Need, Part, Reckoned, Sum, Taken, Trail};
use crate::trade::Verdict;

/// Reports sums whose readings are not there or of another kind, and those that do not add up.
pub(super) fn check_sums(draft: &Draft, findings: &mut Findings) {
    for (number, step) in draft.procedure.steps.iter().enumerate() {
        if step.sums.is_empty() {
            continue;
        }
        doubled(step, draft.places.step(number), findings);
        for (i, sum) in step.sums.iter().enumerate() {
            let place = draft.places.step(number).field("sums").entry(i);
            check_sum(step, sum, place, findings);
        }
    }
}

/// Reports readings of the same name in a step with sums: a sum could not tell them apart.
fn doubled(step: &Step, place: Place, findings: &mut Findings) {
    let mut seen = BTreeSet::new();
    for (i, reading) in step.readings.iter().enumerate() {
        if seen.insert(reading.name.as_str()) {
            continue;
        }
        let span = place.field("readings").entry(i).field("name").span();
        findings.error(span.start, |_| {
            let name = clipped(reading.name.as_str());
            let message = format!("Two readings of this step have the name \"{name}\"");
            Finding::error(span, message)
                .label("the second one")
                .help("a sum takes readings by their names: give this one a name of its own")
        });
    }
}

fn check_sum(step: &Step, sum: &Sum, place: Place, findings: &mut Findings) {
    let needs = sum.needs();
    let mut right = true;
    for need in &needs {
        right &= check_need(step, need, part(place, &need.at), findings);
    }
    if !right {
        return;
    }
    if needs.is_empty() {
        check_result(sum, place, findings);
    } else {
        check_workable(step, sum, place, findings);
    }
}

/// Returns the place of a part of a sum.
fn part<'a>(place: Place<'a>, at: &Trail) -> Place<'a> {
    at.0.iter().fold(place, |place, part| match part {
        Part::Field(name) => place.field(name),
        Part::Entry(number) => place.entry(*number),
    })
}

/// Reports a reading that the step does not have, or that gives something else; returns whether it is
/// right.
fn check_need(step: &Step, need: &Need, place: Place, findings: &mut Findings) -> bool {
    let span = place.span();
    let name = need.name.as_str();
    let Some(reading) = step
        .readings
        .iter()
        .find(|reading| reading.name == *need.name)
    else {
        findings.error(span.start, |suggester| {
            let message = format!("Step `{}` has no reading \"{}\"", step.id, clipped(name));
            let finding = Finding::error(span, message);
            let names = step.readings.iter().map(|reading| reading.name.as_str());
            match suggester.nearest(name, names) {
                Some(near) => finding.help(format!("did you mean \"{near}\"?")),
                None => finding.help("write the name of one of its `readings`, or add it there"),
            }
        });
        return false;
    };
    match fits(need, reading) {
        Ok(()) => highest_fits(need, reading, place, findings),
        Err(why) => {
            findings.error(span.start, |_| {
                let message = format!(
                    "The reading \"{}\" is in {}, which does not fit here",
                    clipped(name),
                    clipped(reading.unit.as_str())
                );
                Finding::error(span, message)
                    .label("takes another kind of figure")
                    .help(format!("set its `unit` right: {}", clipped_help(&why)))
            });
            false
        }
    }
}

/// Reports a reading whose highest figure is more than the sum can take; returns whether it is right.
fn highest_fits(need: &Need, reading: &Reading, place: Place, findings: &mut Findings) -> bool {
    let Err(why) = (need.fits)(&format!("{} {}", reading.high, reading.unit)) else {
        return true;
    };
    let span = place.span();
    findings.error(span.start, |_| {
        let name = clipped(need.name.as_str());
        let message = format!(
            "The reading \"{name}\" goes up to {} {}, which cannot be reckoned with",
            reading.high,
            clipped(reading.unit.as_str())
        );
        Finding::error(span, message).help(format!("lower its `high`: {}", clipped_help(&why)))
    });
    false
}

/// Returns whether a figure of `reading` is what a sum asks for; if not, why not. A figure that is merely
/// out of range is none here.
fn fits(need: &Need, reading: &Reading) -> Result<(), String> {
    let written = |figure: f64| format!("{figure} {}", reading.unit);
    let [one, others @ ..] = [1.0, reading.low, reading.high];
    (need.fits)(&written(one)).or_else(|why| {
        let other = others
            .iter()
            .any(|figure| (need.fits)(&written(*figure)).is_ok());
        if other { Ok(()) } else { Err(why) }
    })
}

/// Works out a sum without readings, and reports what does not add up.
fn check_result(sum: &Sum, place: Place, findings: &mut Findings) {
    let span = place.span();
    let called = sum.called();
    match sum.try_reckon(&Taken::default()) {
        Err(why) => findings.error(span.start, |_| {
            Finding::error(span, format!("The sum \"{called}\" cannot be worked out"))
                .label("with these figures")
                .help(clipped_help(&why))
        }),
        Ok(reckoned) => match reckoned.verdict {
            Verdict::Go => {}
            Verdict::Refuse => findings.error(span.start, |_| {
                let message = format!(
                    "The sum \"{called}\" does not add up: {}",
                    result(&reckoned)
                );
                cured(Finding::error(span, message), &reckoned)
            }),
            Verdict::Warn => findings.advice(span.start, |_| {
                let message = format!(
                    "The sum \"{called}\" is near its limit: {}",
                    result(&reckoned)
                );
                cured(Finding::advice(span, message), &reckoned)
            }),
        },
    }
}

/// Reports a sum that no reading within the limits can make work: then its own figures are wrong.
fn check_workable(step: &Step, sum: &Sum, place: Place, findings: &mut Findings) {
    type Pick = fn(&Reading) -> f64;
    let picks: [Pick; 3] = [
        |reading| (reading.low + reading.high) / 2.0,
        |reading| reading.low,
        |reading| reading.high,
    ];
    let mut why = None;
    for pick in picks {
        let mut taken = Taken::default();
        for reading in &step.readings {
            let decimals = usize::from(reading.decimals.min(3));
            taken.add(reading, &format!("{:.*}", decimals, pick(reading)));
        }
        match sum.try_reckon(&taken) {
            Ok(_) => return,
            Err(error) => why = why.or(Some(error)),
        }
    }
    let span = place.span();
    findings.error(span.start, |_| {
        let message = format!(
            "The sum \"{}\" cannot be worked out, whether its readings are low, middling or high",
            sum.called()
        );
        Finding::error(span, message).help(clipped_help(&why.unwrap_or_default()))
    });
}

fn result(reckoned: &Reckoned) -> String {
    clipped_help(&reckoned.result)
}

fn cured(finding: Finding, reckoned: &Reckoned) -> Finding {
    match reckoned.more.first() {
        Some(more) => finding.help(clipped_help(more)),
        None => finding.help("set its figures right"),
    }
}

/// Returns a sentence of the trade, short enough for a finding.
fn clipped_help(text: &str) -> String {
    const LONGEST: usize = 240;
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}
