//! The rules of a wait: its ends, and what moves them.

use super::check::Draft;
use super::finding::{Finding, Findings, clipped};
use super::model::{Cure, Wait};
use super::place::Place;
use crate::trade::quantity::Temperature;

/// Reports ends of a wait that contradict each other, and a cure that cannot be followed.
pub(super) fn check_wait(draft: &Draft, wait: &Wait, place: Place, findings: &mut Findings) {
    check_ends(wait, place, findings);
    if let Some(cure) = &wait.cure {
        check_cure(draft, cure, place.field("cure"), findings);
    }
}

fn check_ends(wait: &Wait, place: Place, findings: &mut Findings) {
    let name = clipped(wait.name.as_str());
    let Some(at_most) = wait.at_most else {
        let idle = [
            ("too_late", wait.too_late.is_some()),
            ("warn_before", wait.warn_before.is_some()),
        ];
        for (field, _) in idle.iter().filter(|(_, there)| *there) {
            let span = place.field(field).span();
            findings.error(span.start, |_| {
                Finding::error(
                    span,
                    format!("The wait \"{name}\" has `{field}`, but no latest end"),
                )
                .label("too late for what?")
                .help("write `at_most: \"…\"`, the latest end from the wait's start")
            });
        }
        return;
    };
    if at_most <= wait.lasts {
        let span = place.field("at_most").span();
        findings.error(span.start, |_| {
            let message = format!(
                "The wait \"{name}\" ends at the latest after {at_most}, but not before {}",
                wait.lasts
            );
            Finding::error(span, message)
                .label("no time lies between the two ends")
                .help("both count from the wait's start: write more in `at_most` than in `lasts`")
        });
        return;
    }
    if wait.too_late.is_none() {
        let span = place.field("at_most").span();
        findings.error(span.start, |_| {
            let message =
                format!("The wait \"{name}\" has a latest end, but not what to do after it");
            Finding::error(span, message)
                .label("and when that has passed?")
                .help("write `too_late: \"…\"`, such as \"Clean both faces, lay a new bead.\"")
        });
    }
    let between = at_most.seconds() - wait.lasts.seconds();
    if let Some(before) = wait.warn_before
        && before.seconds() > between
    {
        let span = place.field("warn_before").span();
        findings.error(span.start, |_| {
            let message =
                format!("The wait \"{name}\" would warn of its latest end before its earliest");
            Finding::error(span, message)
                .label(format!("{before} before {at_most}"))
                .help(format!("it ends after {}: warn later", wait.lasts))
        });
    }
}

/// Reports a sheet that contradicts itself, and a temperature that nobody reads.
fn check_cure(draft: &Draft, cure: &Cure, place: Place, findings: &mut Findings) {
    if let Err(why) = cure.sheet() {
        let span = place.span();
        findings.error(span.start, |_| {
            Finding::error(span, why.to_string())
                .help("write `least` ≤ `at` ≤ `most`, as the sheet says")
        });
    }
    let steps = &draft.procedure.steps;
    let mut readings = steps.iter().flat_map(|step| &step.readings);
    let span = place.field("reading").span();
    let name = clipped(cure.reading.as_str());
    match readings.find(|reading| reading.name == cure.reading) {
        Some(reading)
            if format!("0 {}", reading.unit)
                .parse::<Temperature>()
                .is_err() =>
        {
            findings.error(span.start, |_| {
                let message = format!("The reading \"{name}\" is no temperature");
                Finding::error(span, message)
                    .label(format!("it is read in {}", reading.unit))
                    .help("name a reading in °C or °F")
            });
        }
        None if draft.whole => findings.error(span.start, |suggester| {
            let names = steps.iter().flat_map(|step| &step.readings);
            let near = suggester.nearest(cure.reading.as_str(), names.map(|r| r.name.as_str()));
            Finding::error(span, format!("There is no reading \"{name}\""))
                .label("nobody reads this temperature")
                .help(match near {
                    Some(near) => format!("did you mean \"{near}\"?"),
                    None => "name a reading of a step, in °C".into(),
                })
        }),
        _ => {}
    }
}
