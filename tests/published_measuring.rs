//! Discs, bearings, valves and brake fluid against published figures.
//!
//! Limits are always a step's own; where one is used here it is the source's.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

#[path = "published/agree.rs"]
mod agree;

use agree::rounds_to;
use benchcall::trade::Verdict;
use benchcall::trade::bearing::{end_float, nut_travel};
use benchcall::trade::brake::{
    BrakeFluid, ReadingError, best_place, best_position, disc_thickness, pour, run_out,
};
use benchcall::trade::quantity::{Angle, Length, LengthDifference};
use benchcall::trade::valve::{Clearance, ShimError, choose_shim, sizes};
use proptest::prelude::*;

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

fn lengths(values: &[f64]) -> Vec<Length> {
    values.iter().map(|value| mm(*value)).collect()
}

fn dial(values: &[f64]) -> Vec<LengthDifference> {
    values
        .iter()
        .map(|value| LengthDifference::millimetres(*value))
        .collect()
}

/// N = T + (A − V) as a workshop manual prints it, 17 sizes from 2.50 to 3.30 mm in steps of 0.05; a maker's
/// chart: present shim 2.95, measured 0.47, fit 3.15 (its wanted gap is 0.22 to 0.32).
#[test]
fn the_valve_shim_agrees_with_a_makers_chart() {
    let sizes = sizes(mm(2.50), mm(3.30), mm(0.05)).unwrap();
    assert_eq!(sizes.len(), 17);
    let wanted = Clearance::between(mm(0.22), mm(0.32)).unwrap();
    let shim = choose_shim(mm(2.95), mm(0.47), wanted, &sizes)
        .unwrap()
        .result;
    rounds_to("maker's chart", shim.size.in_millimetres(), "3.15");
    rounds_to("N = T + (A − V)", shim.needed.in_millimetres(), "3.15");
    rounds_to("N = T + (A − V)", shim.gap.in_millimetres(), "0.27");
}

/// A maker's manual, thrust shim: reading 1.93, less the middle of 0.11 to 0.17, is 1.79; "the 1.80 mm shim
/// is best". With no old shim in place the reading is the whole stack: T + A.
#[test]
fn the_nearest_shim_agrees_with_a_makers_example() {
    let sizes = sizes(mm(1.20), mm(2.40), mm(0.05)).unwrap();
    let wanted = Clearance::between(mm(0.11), mm(0.17)).unwrap();
    rounds_to("maker's manual", wanted.middle().in_millimetres(), "0.14");
    let shim = choose_shim(mm(1.00), mm(0.93), wanted, &sizes)
        .unwrap()
        .result;
    rounds_to("maker's manual", shim.needed.in_millimetres(), "1.79");
    rounds_to("maker's manual", shim.size.in_millimetres(), "1.80");
}

#[test]
fn shims_that_cannot_serve_are_refused() {
    let made = sizes(mm(2.50), mm(3.30), mm(0.05)).unwrap();
    let wanted = Clearance::between(mm(0.22), mm(0.32)).unwrap();
    let thick = choose_shim(mm(3.25), mm(0.60), wanted, &made);
    assert!(
        matches!(thick, Err(ShimError::OutOfSizes { .. })),
        "{thick:?}"
    );
    let inches_read_as_mm = choose_shim(mm(2.95), mm(18.5), wanted, &made);
    assert!(matches!(inches_read_as_mm, Err(ShimError::Reading { .. })));
    let narrow = Clearance::between(mm(0.255), mm(0.265)).unwrap();
    let coarse = choose_shim(mm(2.95), mm(0.48), narrow, &made);
    assert!(
        matches!(coarse, Err(ShimError::TooCoarse { .. })),
        "{coarse:?}"
    );
    assert!(choose_shim(mm(2.95), mm(0.47), wanted, &[]).is_err());
    assert!(sizes(mm(3.30), mm(2.50), mm(0.05)).is_err());
}

/// TMC RP 618 as a hub maker prints it: acceptable 0.001 to 0.005 in by dial, pulled and pushed; the same page
/// and others print 0.025 to 0.127 mm.
#[test]
fn end_float_keeps_the_published_limits() {
    let (least, most) = (Length::inches(0.001), Length::inches(0.005));
    rounds_to("TMC RP 618", least.in_millimetres(), "0.025");
    rounds_to("TMC RP 618", most.in_millimetres(), "0.127");
    let judge = |pulled: f64, pushed: f64| {
        let inches = LengthDifference::inches;
        end_float(inches(pulled), inches(pushed), least, most)
            .unwrap()
            .result
    };
    for (pulled, pushed, verdict) in [
        (0.003, 0.0, Verdict::Go),
        (0.002, -0.001, Verdict::Go),
        (-0.001, 0.002, Verdict::Go),
        (0.001, 0.0, Verdict::Go),
        (0.005, 0.0, Verdict::Go),
        (0.0005, 0.0, Verdict::Refuse),
        (0.004, -0.002, Verdict::Refuse),
        (0.0, 0.0, Verdict::Refuse),
    ] {
        assert_eq!(judge(pulled, pushed).verdict, verdict, "{pulled} {pushed}");
    }
    // A sixth of a turn at 12 threads to the inch is 0.0139 in: far more than the float allowed, which is why
    // it is measured.
    let travel = nut_travel(Angle::turns(1.0 / 6.0), Length::inches(1.0 / 12.0));
    rounds_to("arithmetic", travel.result.in_inches(), "0.0139");
    assert!(travel.result > most);
    assert!(end_float(dial(&[9.0])[0], dial(&[0.0])[0], least, most).is_err());
}

/// A light truck maker's manual: thickness taken at 8 places at least, variation at most 0.015 mm, minimum
/// thickness 26 mm, run-out at most 0.1 mm, the disc shifted hole by hole to its least run-out. Others:
/// variation 0.013, 0.02, 0.03 mm; run-out 0.03 mm. The readings are invented.
#[test]
fn a_disc_is_judged_by_its_makers_limits() {
    let sound = [
        26.410, 26.412, 26.415, 26.420, 26.424, 26.421, 26.416, 26.411,
    ];
    let judge = |readings: &[f64], limit: f64| {
        disc_thickness(&lengths(readings), mm(26.0), Some(mm(limit)))
            .unwrap()
            .result
    };
    let found = judge(&sound, 0.015);
    rounds_to(
        "largest less smallest",
        found.variation.in_millimetres(),
        "0.014",
    );
    assert_eq!(found.thinnest, mm(26.410));
    for (limit, verdict) in [
        (0.013, Verdict::Warn),
        (0.014, Verdict::Go),
        (0.015, Verdict::Go),
        (0.02, Verdict::Go),
        (0.03, Verdict::Go),
    ] {
        assert_eq!(judge(&sound, limit).verdict, verdict, "{limit}");
    }
    let worn = sound.map(|reading| reading - 0.42);
    assert_eq!(judge(&worn, 0.015).verdict, Verdict::Refuse);
    let few = disc_thickness(&lengths(&sound[..7]), mm(26.0), None);
    assert_eq!(few, Err(ReadingError::TooFewPlaces(7)));

    let readings = dial(&[0.0, 0.02, 0.05, 0.03, -0.01, -0.04]);
    let travel = run_out(&readings, mm(0.1)).unwrap().result;
    rounds_to(
        "total indicator reading",
        travel.run_out.in_millimetres(),
        "0.09",
    );
    assert_eq!(travel.verdict, Verdict::Go);
    assert_eq!(
        run_out(&readings, mm(0.03)).unwrap().result.verdict,
        Verdict::Refuse
    );
    let best = best_position(&lengths(&[0.09, 0.05, 0.07, 0.11, 0.06]))
        .unwrap()
        .result;
    assert_eq!(best, (1, mm(0.05)));
    for (limit, verdict) in [(0.05, Verdict::Go), (0.04, Verdict::Refuse)] {
        let found = best_place(&lengths(&[0.09, 0.05, 0.07]), mm(limit)).unwrap();
        let (place, found) = found.result;
        assert_eq!((place, found.run_out), (1, mm(0.05)));
        assert_eq!(found.verdict, verdict, "{limit} mm");
    }
}

/// FMVSS 116 as an oil supplier's page prints it in °C, and a rider's page in °F.
#[test]
fn brake_fluids_boil_as_fmvss_116_says() {
    for (fluid, dry_c, wet_c, dry_f, wet_f) in [
        (BrakeFluid::Dot3, "205", "140", "401", "284"),
        (BrakeFluid::Dot4, "230", "155", "446", "311"),
        (BrakeFluid::Dot5_1, "260", "180", "500", "356"),
        (BrakeFluid::Dot5, "260", "180", "500", "356"),
    ] {
        let (dry, wet) = fluid.boiling_points();
        rounds_to(fluid.name(), dry.in_celsius(), dry_c);
        rounds_to(fluid.name(), wet.in_celsius(), wet_c);
        rounds_to(fluid.name(), dry.in_fahrenheit(), dry_f);
        rounds_to(fluid.name(), wet.in_fahrenheit(), wet_f);
    }
}

/// Fluid makers' guidance: DOT 3, 4 and 5.1 may be mixed with each other; DOT 5 with none of them.
#[test]
fn silicone_is_never_mixed() {
    use BrakeFluid::{Dot3, Dot4, Dot5, Dot5_1};
    for (inside, poured, verdict) in [
        (Dot3, Dot3, Verdict::Go),
        (Dot3, Dot4, Verdict::Go),
        (Dot4, Dot5_1, Verdict::Go),
        (Dot4, Dot3, Verdict::Warn),
        (Dot5_1, Dot4, Verdict::Warn),
        (Dot5, Dot5, Verdict::Go),
        (Dot5, Dot3, Verdict::Refuse),
        (Dot5, Dot5_1, Verdict::Refuse),
        (Dot3, Dot5, Verdict::Refuse),
        (Dot5_1, Dot5, Verdict::Refuse),
    ] {
        assert_eq!(
            pour(Some(inside), poured).result,
            verdict,
            "{poured:?} onto {inside:?}"
        );
    }
    let unknown = pour(None, Dot4);
    assert_eq!(unknown.result, Verdict::Refuse);
    assert!(unknown.cautions[0].contains("seals"));
}

proptest! {
    #[test]
    fn the_shim_chosen_is_the_nearest_and_brings_the_gap_nearest(
        old in 2.5_f64..3.3,
        measured in 0.0_f64..0.8,
    ) {
        let made = sizes(mm(2.0), mm(4.0), mm(0.05)).unwrap();
        let wanted = Clearance::between(mm(0.22), mm(0.32)).unwrap();
        let shim = choose_shim(mm(old), mm(measured), wanted, &made).unwrap().result;
        prop_assert!((shim.size.in_millimetres() - shim.needed.in_millimetres()).abs() <= 0.025 + 1e-9);
        prop_assert!((shim.gap.in_millimetres() - 0.27).abs() <= 0.025 + 1e-9);
        // A gap too wide asks for a thicker shim, one too narrow for a thinner.
        let off = measured - 0.27;
        prop_assert!(off.abs() <= 0.05 || off.signum() == shim.thicker.in_millimetres().signum());
    }

    #[test]
    fn a_dial_says_the_same_whichever_way_it_counts(a in -1.0_f64..1.0, b in -1.0_f64..1.0) {
        let (a, b) = (dial(&[a])[0], dial(&[b])[0]);
        let judge = |a, b| end_float(a, b, mm(0.025), mm(0.127)).unwrap().result;
        prop_assert_eq!(judge(a, b), judge(b, a));
        let turned = run_out(&[a, b], mm(0.1)).unwrap().result.run_out;
        prop_assert!((turned.in_millimetres() - judge(a, b).float.in_millimetres()).abs() < 1e-12);
    }
}
