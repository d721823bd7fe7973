//! The rules of a circle of bolts: its order, its passes, its band.

use std::collections::BTreeSet;

use super::fasten::{BoltOrder, Fasten, Pass};
use super::finding::{Finding, Findings};
use super::place::Place;

/// Reports what does not go together in a circle.
pub(super) fn check_fasten(fasten: &Fasten, place: Place, findings: &mut Findings) {
    check_pattern(fasten, place, findings);
    check_band(fasten, place, findings);
    check_given_order(fasten, place, findings);
    if fasten.torque.is_none() {
        let share = fasten
            .passes
            .iter()
            .position(|pass| matches!(pass, Pass::Share(_)));
        if let Some(number) = share {
            let span = place.field("passes").entry(number).span();
            findings.error(span.start, |_| {
                Finding::error(span, "This pass is a share, but there is no full torque")
                    .label("a share of what?")
                    .help("write `torque: \"… N·m\"` beside `passes`, or (torque: \"… N·m\") for this pass")
            });
            return;
        }
    }
    check_passes(fasten, place, findings);
}

/// Reports a band that the full torque does not lie in.
fn check_band(fasten: &Fasten, place: Place, findings: &mut Findings) {
    let Some(band) = fasten.band else { return };
    let full = fasten.torques().last().copied().flatten();
    let inside = full.is_some_and(|torque| {
        let torque = torque.newton_metres();
        (band.least().newton_metres()..=band.most().newton_metres()).contains(&torque)
    });
    if inside {
        return;
    }
    let span = place.field("band").span();
    findings.error(span.start, |_| match full {
        Some(full) => Finding::error(
            span,
            format!("The full torque of {full} is not in the band {band}"),
        )
        .help("set right whichever is wrong"),
        None => Finding::error(span, "There is a band, but no full torque")
            .help("write `torque: \"… N·m\"` beside it"),
    });
}

/// Reports bolts that do not make whole groups or rows, and passes that slackening has none of.
fn check_pattern(fasten: &Fasten, place: Place, findings: &mut Findings) {
    let bolts = fasten.bolts.get();
    let whole = |parts: u32| parts > 0 && bolts.is_multiple_of(parts);
    let uneven = match fasten.order {
        BoltOrder::Together(parts) if !whole(parts) => {
            Some((parts, format!("whole groups of {parts}")))
        }
        BoltOrder::Rows(parts) if !whole(parts) => Some((parts, format!("{parts} whole rows"))),
        _ => None,
    };
    if let Some((parts, what)) = uneven {
        let span = place.field("order").entry(0).span();
        findings.error(span.start, |_| {
            let nearest = (1..=bolts)
                .filter(|size| whole(*size))
                .min_by_key(|size| size.abs_diff(parts));
            Finding::error(span, format!("{bolts} bolts do not make {what}"))
                .help(format!("write {}", nearest.unwrap_or(1)))
        });
    }
    let full = fasten.torques().last().copied().flatten();
    if fasten.check_round && full.is_none() {
        let span = place.field("check_round").span();
        findings.error(span.start, |_| {
            Finding::error(span, "A check all the way round needs the full torque")
                .help("write `torque: \"… N·m\"` beside it")
        });
    }
    if fasten.slackens && (full.is_some() || !fasten.passes.is_empty()) {
        let span = place.field("slackens").span();
        findings.error(span.start, |_| {
            Finding::error(span, "What is slackened has no torque and no passes")
                .help("take `torque` and `passes` out, or this")
        });
    }
}

/// Reports an order given by hand that does not call every bolt once.
fn check_given_order(fasten: &Fasten, place: Place, findings: &mut Findings) {
    let BoltOrder::Given(order) = &fasten.order else {
        return;
    };
    let bolts = fasten.bolts.get();
    let list = place.field("order").entry(0);
    let mut missing: BTreeSet<u32> = (1..=bolts).collect();
    for (i, bolt) in order.iter().enumerate() {
        if missing.remove(bolt) {
            continue;
        }
        let span = list.entry(i).span();
        let called = fasten.called.word();
        findings.error(span.start, |_| {
            if (1..=bolts).contains(bolt) {
                Finding::error(span, format!("The order calls {called} {bolt} twice"))
                    .label("the second time")
                    .help(format!("each of 1 to {bolts} stands once in an order"))
            } else {
                Finding::error(
                    span,
                    format!("The order calls {called} {bolt}, but there are only {bolts}"),
                )
                .help(format!("the numbers go from 1 to {bolts}"))
            }
        });
    }
    if !missing.is_empty() {
        let span = list.span();
        findings.error(span.start, |_| {
            let left_out: Vec<String> = missing.iter().map(u32::to_string).collect();
            let message = format!("The order leaves out {}", left_out.join(", "));
            Finding::error(span, message)
                .help(format!("each of 1 to {bolts} stands once in an order"))
        });
    }
}

/// Reports passes that fall, go beyond the full torque or do not reach it.
fn check_passes(fasten: &Fasten, place: Place, findings: &mut Findings) {
    // Torques that differ by less than this are the same figure in two units.
    const SAME: f64 = 1e-6;
    let torques = fasten.torques();
    let mut before = None;
    for (number, torque) in torques.iter().enumerate() {
        let Some(torque) = torque else { continue };
        let span = place.field("passes").entry(number).span();
        if let Some(full) = fasten.torque
            && torque.newton_metres() > full.newton_metres() + SAME
        {
            findings.error(span.start, |_| {
                let message =
                    format!("This pass goes to {torque}, beyond the full torque of {full}");
                Finding::error(span.clone(), message).help(format!(
                    "no pass is above {full}; if the figure here is right, correct `torque`"
                ))
            });
        }
        if let Some(earlier) = before.replace(*torque)
            && torque.newton_metres() < earlier.newton_metres() - SAME
        {
            findings.error(span.start, |_| {
                let message = format!("This pass falls to {torque}, after {earlier}");
                Finding::error(span, message).help(
                    "each pass is at least as tight as the one before: put them in rising order",
                )
            });
        }
    }
    if let (Some(full), Some(last)) = (fasten.torque, before)
        && last.newton_metres() < full.newton_metres() - SAME
    {
        let span = place.field("passes").entry(torques.len() - 1).span();
        findings.error(span.start, |_| {
            Finding::error(
                span,
                format!("The passes end at {last}, below the full torque of {full}"),
            )
            .label("the last pass")
            .help("end with a pass of 1.0")
        });
    }
}
