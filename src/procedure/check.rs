//! The rules between the values of a procedure: pure, each with a finding of its own.

use std::collections::{BTreeMap, BTreeSet};

use super::check_again::check_again;
use super::check_fasten::check_fasten;
use super::check_order::check_order;
use super::check_sums::check_sums;
use super::check_threads::check_threads;
use super::check_wait::check_wait;
use super::finding::{Finding, Findings, clipped};
use super::model::{Procedure, Reading, Step, StepKind};
use super::phrases::{Speech, check_phrases};
use super::place::{Place, Places};

/// A procedure as far as it could be read, and where its values stand.
pub(super) struct Draft<'a> {
    pub procedure: &'a Procedure,
    pub places: &'a Places<'a>,
    /// Nothing of the file is missing here; rules about what is *not* there hold only then.
    pub whole: bool,
}

/// Reports every broken rule of `draft`.
pub(super) fn check(draft: &Draft, speech: &Speech, findings: &mut Findings) {
    let procedure = draft.procedure;
    if procedure.steps.is_empty() && draft.whole {
        let place = draft.places.root().field("steps").span();
        findings.error(place.start, |_| {
            Finding::error(place, "The procedure has no steps")
                .help("write at least one: `(id: \"…\", say: \"…\")`")
        });
    }
    doubled(draft, findings);
    for (number, step) in procedure.steps.iter().enumerate() {
        let place = draft.places.step(number);
        check_kind(step, place, findings);
        check_people(procedure, step, place, findings);
        if let Some(fasten) = &step.fasten {
            check_fasten(fasten, place.field("fasten"), findings);
        }
        if let Some(wait) = &step.wait {
            check_wait(draft, wait, place.field("wait"), findings);
        }
        for (i, reading) in step.readings.iter().enumerate() {
            check_reading(reading, place.field("readings").entry(i), findings);
        }
    }
    check_sums(draft, findings);
    check_again(draft, findings);
    check_threads(draft, findings);
    check_order(draft, findings);
    check_phrases(draft, speech, findings);
}

/// Reports step ids, names of waits and conditions that stand twice.
fn doubled(draft: &Draft, findings: &mut Findings) {
    let procedure = draft.procedure;
    let mut lines: BTreeMap<&str, usize> = BTreeMap::new();
    let mut waits: BTreeMap<&str, usize> = BTreeMap::new();
    for (number, step) in procedure.steps.iter().enumerate() {
        let place = draft.places.step(number);
        if let Some(first) = lines.insert(step.id.as_str(), number) {
            let span = place.field("id").span();
            findings.error(span.start, |_| {
                let line = draft.places.line_of_step(first);
                Finding::error(span, format!("Two steps have the id `{}`", step.id))
                    .label("the second one")
                    .help(format!(
                        "the first stands at line {line}: give this step an id of its own"
                    ))
            });
        }
        let Some(wait) = &step.wait else { continue };
        if let Some(first) = waits.insert(wait.name.as_str(), number) {
            let span = place.field("wait").field("name").span();
            findings.error(span.start, |_| {
                let other = &procedure.steps[first].id;
                let name = clipped(wait.name.as_str());
                Finding::error(span, format!("Two waits have the name \"{name}\""))
                    .label("the second one")
                    .help(format!(
                        "step `{other}` has the first: give this wait a name that tells them apart"
                    ))
            });
        }
    }
    let mut seen = BTreeSet::new();
    for (number, condition) in procedure.conditions.iter().enumerate() {
        if !seen.insert(condition.name.as_str()) {
            let span = draft.places.root().field("conditions").entry(number).span();
            findings.error(span.start, |_| {
                let name = clipped(condition.name.as_str());
                Finding::error(span, format!("The condition \"{name}\" is declared twice"))
                    .label("the second time")
                    .help("take it out here")
            });
        }
    }
}

/// Reports a step that takes more people than the procedure gathers.
fn check_people(procedure: &Procedure, step: &Step, place: Place, findings: &mut Findings) {
    let (there, takes) = (procedure.gather.people, step.takes_people());
    if there == 0 || takes <= there {
        return;
    }
    let field = if step.people > 0 { "people" } else { "second" };
    let span = place.field(field).span();
    findings.error(span.start, |_| {
        let message = format!(
            "Step `{}` takes {takes} people, but the procedure gathers {there}",
            step.id
        );
        Finding::error(span, message).help(format!("write `people: {takes}` in `gather`"))
    });
}

/// Reports a step that is only to be known but asks for something to be done.
fn check_kind(step: &Step, place: Place, findings: &mut Findings) {
    let asks = [
        ("fasten", step.fasten.is_some()),
        ("readings", !step.readings.is_empty()),
        ("wait", step.wait.is_some()),
        ("hold", step.hold.is_some()),
        ("second", step.second.is_some()),
    ];
    let asked = asks.iter().find(|(_, there)| *there);
    if let (StepKind::Know, Some((what, _))) = (step.kind, asked) {
        let span = place.field("kind").span();
        findings.error(span.start, |_| {
            let message = format!("Step `{}` is only to be known, but has `{what}`", step.id);
            Finding::error(span, message)
                .label("says that nothing is to be done")
                .help(format!(
                    "leave `kind` out, or move `{what}` into a step of its own"
                ))
        });
    }
}

/// Reports a reading that cannot be spoken digit by digit or whose limits contradict each other.
fn check_reading(reading: &Reading, place: Place, findings: &mut Findings) {
    let mut error = |field: &str, message: String, help: String| {
        let span = place.field(field).span();
        findings.error(span.start, |_| Finding::error(span, message).help(help));
    };
    let (low, high) = (reading.low, reading.high);
    let digits_fit = (1..=4).contains(&reading.digits);
    let decimals_fit = reading.decimals <= 3;
    if !digits_fit {
        error(
            "digits",
            format!(
                "A reading has 1 to 4 digits before the point, not {}",
                reading.digits
            ),
            match reading.digits {
                0 => "a reading below one begins with a spoken zero: write 1".into(),
                _ => "more are not heard reliably: choose a unit that needs fewer".into(),
            },
        );
    }
    if !decimals_fit {
        error(
            "decimals",
            format!(
                "A reading has at most 3 digits after the point, not {}",
                reading.decimals
            ),
            "choose a unit that needs fewer".into(),
        );
    }
    for (field, limit) in [("low", low), ("high", high)] {
        if !limit.is_finite() {
            error(
                field,
                format!("The limit `{field}` is not a number that can be read"),
                "write a figure with digits".into(),
            );
        } else if limit.is_sign_negative() && limit != 0.0 {
            error(
                field,
                format!("The limit `{field}` is below zero, and a spoken reading has no sign"),
                "choose a scale that begins at zero".into(),
            );
        } else if digits_fit && limit >= 10_f64.powi(i32::from(reading.digits)) {
            error(
                field,
                format!(
                    "The limit {limit} needs more than {}",
                    count(reading.digits, "digit")
                ),
                "write how many digits stand before the point in `digits`".into(),
            );
        } else if decimals_fit && !has_decimals(limit, reading.decimals) {
            error(
                field,
                format!(
                    "The limit {limit} is finer than a reading with {}",
                    count(reading.decimals, "decimal")
                ),
                "write how many digits are read after the point in `decimals`".into(),
            );
        }
    }
    if low > high {
        error(
            "low",
            format!("The limit `low` of {low} is above `high` of {high}"),
            "write the smaller figure in `low`".into(),
        );
    }
}

/// Returns whether `value` can be written with `decimals` digits after the point.
fn has_decimals(value: f64, decimals: u8) -> bool {
    let written = format!("{value:.*}", usize::from(decimals));
    written.parse() == Ok(value)
}

fn count(number: u8, word: &str) -> String {
    match number {
        0 => format!("no {word}s"),
        1 => format!("1 {word}"),
        _ => format!("{number} {word}s"),
    }
}
