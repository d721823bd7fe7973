//! Preload, torque and lubrication against published worked examples and tables.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

#[path = "published/agree.rs"]
mod agree;

use agree::{rounds_to, within_percent};
use benchcall::trade::joint::{
    Friction, Head, Method, nut_factor, preload_at_yield_share, preload_by_friction,
    preload_for_torque, sanity, torque_by_friction, torque_for_preload,
};
use benchcall::trade::lubrication::{NutFactors, ThreadCondition, agree, preload_at_same_torque};
use benchcall::trade::quantity::{Force, Length, Share};
use benchcall::trade::strength::Strength;
use benchcall::trade::thread::Thread;
use benchcall::trade::torque::TorqueUnit;
use benchcall::trade::{Torque, Verdict};
use proptest::prelude::*;

fn thread(text: &str) -> Thread {
    text.parse().unwrap()
}

fn torque(text: &str) -> Torque {
    text.parse().unwrap()
}

fn factor(k: f64) -> NutFactors {
    NutFactors::exactly(k).unwrap()
}

fn mu(coefficient: f64) -> Friction {
    Friction::new(coefficient).unwrap()
}

#[test]
fn the_short_form_agrees_with_worked_examples() {
    let short = |preload, diameter, k, unit| {
        let torque: Torque = torque_for_preload(preload, diameter, factor(k), unit).result;
        torque.value_in(unit)
    };
    let inch = TorqueUnit::PoundForceInch;
    let mott = short(
        Force::pounds_force(4000.0),
        Length::inches(0.375),
        0.15,
        inch,
    );
    rounds_to("Mott, Machine Elements, example 19.1", mott, "225");
    let shigley = short(Force::kips(25.0), Length::inches(0.75), 0.2, inch);
    rounds_to(
        "Shigley, 9th ed., example 8-3(b): answer from memory",
        shigley,
        "3750",
    );
    // Shigley's solutions manual, 8-29: F = 0.9·245·600 = 132.3 kN, K 0.18, M20: T = 476 N·m.
    let proof = Strength::Class8_8.proof_load(thread("M20")).unwrap().result;
    let force = proof * 0.9;
    rounds_to("Shigley solutions 8-29, F", force.in_kilonewtons(), "132.3");
    let t = short(
        force,
        Length::millimetres(20.0),
        0.18,
        TorqueUnit::NewtonMetre,
    );
    rounds_to("Shigley solutions 8-29, T", t, "476");
    // Shigley's solutions manual, ch. 8: 0.75 × 561 mm² × 600 MPa = 252.45 kN (M30).
    let m30 = Strength::Class8_8.proof_load(thread("M30")).unwrap().result;
    rounds_to(
        "Shigley solutions ch. 8",
        (m30 * 0.75).in_kilonewtons(),
        "252.45",
    );
    println!("5 worked examples agree");
}

/// What the table prints for 5/16-18, though its own force and rule, 0.2 × 0.3125 in × 2162 lbf, come to 11.3.
const MISPRINT: f64 = 11.5;

/// Grade 2, 75 % of proof and K 0.20: a fastener supplier's table. Size, clamping force lbf, dry torque
/// lbf·ft, each to the figures it prints.
const GRADE_2: &[(&str, f64, f64)] = &[
    ("1/4-20", 1312.0, 5.4),
    ("5/16-18", 2162.0, MISPRINT),
    ("3/8-16", 3197.0, 20.0),
    ("7/16-14", 4385.0, 32.0),
    ("1/2-13", 5853.0, 48.8),
    ("9/16-12", 7508.0, 70.4),
    ("5/8-11", 9323.0, 97.1),
    ("3/4-10", 13_778.0, 172.0),
    ("7/8-9", 11_435.0, 167.0),
    ("1-8", 14_999.0, 250.0),
    ("1/4-28", 1502.0, 6.3),
    ("5/16-24", 2397.0, 12.5),
    ("3/8-24", 3622.0, 22.6),
    ("7/16-20", 4896.0, 35.7),
    ("1/2-20", 6600.0, 55.0),
    ("9/16-18", 8374.0, 78.5),
    ("5/8-18", 10_560.0, 110.0),
    ("3/4-16", 15_366.0, 192.0),
    ("7/8-14", 12_598.0, 184.0),
    ("1-12", 16_409.0, 273.0),
];

#[test]
fn a_suppliers_table_of_forces_and_torques_is_reproduced() {
    for (size, force, foot_pounds) in GRADE_2 {
        let thread = thread(size);
        let clamp = Strength::Grade2.proof_load(thread).unwrap().result * 0.75;
        // Its areas differ from the standard's in the last figure: 0.0581 for 0.0580, 0.3725 for 0.373.
        within_percent(size, clamp.in_pounds_force(), *force, 0.2);
        let t = torque_for_preload(
            Force::pounds_force(*force),
            thread.diameter(),
            factor(0.2),
            TorqueUnit::PoundForceFoot,
        );
        let ours = t.result.value_in(TorqueUnit::PoundForceFoot);
        if *foot_pounds == MISPRINT {
            rounds_to(size, ours, "11.3");
            continue;
        }
        // Some torques are rounded and some cut off: within one of the last figure printed.
        let one = if *foot_pounds < 100.0 { 0.1 } else { 1.0 };
        assert!((ours - foot_pounds).abs() < one, "{size}: {ours}");
    }
    println!("{} forces and torques agree", 2 * GRADE_2.len() - 1);
}

/// An engineering guide, 2020: grade 5, 3/8-16 at 75 % of proof is 4940 lbf; 30 lbf·ft at K 0.20 and 23 at
/// K 0.15. It cuts decimals off.
#[test]
fn an_engineering_guide_agrees() {
    let proof = Strength::Grade5
        .proof_load(thread("3/8-16"))
        .unwrap()
        .result;
    let clamp = proof * 0.75;
    assert_eq!((clamp.in_pounds_force() / 10.0).floor() * 10.0, 4940.0);
    for (k, printed) in [(0.20, 30.0), (0.15, 23.0)] {
        let unit = TorqueUnit::PoundForceFoot;
        let t = torque_for_preload(clamp, Length::inches(0.375), factor(k), unit);
        assert_eq!(t.result.value_in(unit).floor(), printed);
    }
}

/// Shigley, 9th ed., eq. 8-26 and example 8-3(c): 3/4-16, 25 kip, both frictions 0.15: K 0.1894 and 3551
/// lbf·in (the answer from memory, the inputs confirmed). And p. 438: "K ≈ 0.20 for f = f_c = 0.15 whatever
/// the size or pitch".
#[test]
fn the_long_form_agrees_with_shigley() {
    let k = nut_factor(thread("3/4-16"), mu(0.15), mu(0.15));
    rounds_to("Shigley 8-3(c), K", k.middle(), "0.1894");
    let t = torque_for_preload(
        Force::kips(25.0),
        Length::inches(0.75),
        k,
        TorqueUnit::PoundForceInch,
    );
    let unit = TorqueUnit::PoundForceInch;
    rounds_to("Shigley 8-3(c), T", t.result.value_in(unit), "3551");
    for thread in Thread::all() {
        let k = nut_factor(thread, mu(0.15), mu(0.15)).middle();
        assert!((0.185..0.215).contains(&k), "{thread}: {k}");
    }
}

/// A fastener supplier's catalogue, p. 685, after VDI 2230 (2001): fine threads, friction, preload in kN
/// for 8.8, 10.9 and 12.9, torque in N·m for the same.
const VDI_FINE: &[(&str, f64, [f64; 3], [f64; 3])] = &[
    ("M8x1", 0.10, [20.7, 30.4, 35.6], [22.8, 33.5, 39.2]),
    ("M8x1", 0.12, [20.2, 29.7, 34.7], [26.1, 38.3, 44.9]),
    ("M8x1", 0.14, [19.7, 28.9, 33.9], [29.2, 42.8, 50.1]),
    ("M10x1.25", 0.10, [32.4, 47.5, 55.6], [44.0, 65.0, 76.0]),
    ("M10x1.25", 0.12, [31.6, 46.4, 54.3], [51.0, 75.0, 87.0]),
    ("M10x1.25", 0.14, [30.8, 45.2, 52.9], [57.0, 83.0, 98.0]),
    ("M12x1.25", 0.10, [49.1, 72.1, 84.4], [79.0, 116.0, 135.0]),
    ("M12x1.25", 0.12, [48.0, 70.5, 82.5], [90.0, 133.0, 155.0]),
    ("M12x1.25", 0.14, [46.8, 68.7, 80.4], [101.0, 149.0, 174.0]),
    ("M14x1.5", 0.10, [66.4, 97.5, 114.1], [124.0, 182.0, 213.0]),
    ("M14x1.5", 0.12, [64.8, 95.2, 111.4], [142.0, 209.0, 244.0]),
    ("M14x1.5", 0.14, [63.2, 92.9, 108.7], [159.0, 234.0, 274.0]),
    ("M16x1.5", 0.10, [89.6, 131.6, 154.0], [189.0, 278.0, 325.0]),
    ("M16x1.5", 0.12, [87.6, 128.7, 150.6], [218.0, 320.0, 374.0]),
    ("M16x1.5", 0.14, [85.5, 125.5, 146.9], [244.0, 359.0, 420.0]),
    (
        "M18x1.5",
        0.10,
        [120.0, 171.0, 200.0],
        [283.0, 403.0, 472.0],
    ),
    (
        "M18x1.5",
        0.12,
        [117.0, 167.0, 196.0],
        [327.0, 465.0, 544.0],
    ),
    (
        "M18x1.5",
        0.14,
        [115.0, 163.0, 191.0],
        [368.0, 523.0, 613.0],
    ),
    (
        "M20x1.5",
        0.10,
        [151.0, 215.0, 252.0],
        [392.0, 558.0, 653.0],
    ),
    (
        "M20x1.5",
        0.12,
        [148.0, 211.0, 246.0],
        [454.0, 646.0, 756.0],
    ),
    (
        "M20x1.5",
        0.14,
        [144.0, 206.0, 241.0],
        [511.0, 728.0, 852.0],
    ),
    (
        "M22x1.5",
        0.10,
        [186.0, 264.0, 309.0],
        [529.0, 754.0, 882.0],
    ),
    (
        "M22x1.5",
        0.12,
        [182.0, 259.0, 303.0],
        [613.0, 873.0, 1022.0],
    ),
    (
        "M22x1.5",
        0.14,
        [178.0, 253.0, 296.0],
        [692.0, 985.0, 1153.0],
    ),
    ("M24x2", 0.10, [213.0, 304.0, 355.0], [666.0, 949.0, 1110.0]),
    (
        "M24x2",
        0.12,
        [209.0, 297.0, 348.0],
        [769.0, 1095.0, 1282.0],
    ),
    (
        "M24x2",
        0.14,
        [204.0, 290.0, 339.0],
        [865.0, 1232.0, 1442.0],
    ),
];

/// The table rounds its forces to three figures, and its torques after reckoning with rounded diameters.
const VDI_FORCE_PERCENT: f64 = 0.4;
const VDI_TORQUE_PERCENT: f64 = 0.9;

#[test]
fn the_friction_form_agrees_with_a_vdi_2230_table() {
    let classes = [Strength::Class8_8, Strength::Class10_9, Strength::Class12_9];
    let mut checked = 0;
    for (size, friction, forces, torques) in VDI_FINE {
        let thread = thread(size);
        let head = Head::hexagon(thread).unwrap();
        for (at, class) in classes.into_iter().enumerate() {
            let what = format!("{size} {class} at {friction}");
            let share = Share::percent(90.0);
            let force = preload_at_yield_share(thread, class, mu(*friction), share).unwrap();
            within_percent(
                &what,
                force.result.in_kilonewtons(),
                forces[at],
                VDI_FORCE_PERCENT,
            );
            let (m, f) = (mu(*friction), force.result);
            let torque = torque_by_friction(f, thread, head, m, m).result;
            within_percent(
                &what,
                torque.newton_metres(),
                torques[at],
                VDI_TORQUE_PERCENT,
            );
            checked += 2;
        }
    }
    println!("{checked} preloads and torques of VDI 2230 agree");
}

/// A web calculator: 82 N·m on M12 makes about 34 kN at K 0.2, 45 at 0.15, 23 at 0.30.
#[test]
fn preload_for_a_torque_agrees_with_a_calculator() {
    for (k, printed) in [(0.2, 34.0), (0.15, 45.0), (0.30, 23.0)] {
        let preload = preload_for_torque(
            torque("82 N·m"),
            thread("M12"),
            factor(k),
            Method::TorqueDry,
        )
        .result;
        assert!(
            (preload.middle.in_kilonewtons() - printed).abs() <= 0.6,
            "{k}"
        );
    }
}

/// NASA NSTS 08307: torque dry ±35 %, lubricated ±25 %; Machinery's Handbook: turn of nut ±15 %.
#[test]
fn scatter_is_as_published() {
    for (method, percent) in [
        (Method::ByFeel, 0.35),
        (Method::TorqueDry, 0.35),
        (Method::TorqueLubricated, 0.25),
        (Method::TurnOfNut, 0.15),
        (Method::Elongation, 0.05),
    ] {
        let preload =
            preload_for_torque(torque("82 N·m"), thread("M12"), factor(0.2), method).result;
        assert!((preload.least / preload.middle - (1.0 - percent)).abs() < 1e-9);
        assert!((preload.most / preload.middle - (1.0 + percent)).abs() < 1e-9);
    }
}

/// Published nut factors of each condition lie in the range the program shows: Shigley, 9th ed., table 8-15;
/// Bickford and Nassar, table 1 (quoted); a supplier's chart; trade figures.
#[test]
fn published_nut_factors_lie_in_the_ranges() {
    use ThreadCondition::{AntiSeize, Dry, Oiled};
    for (condition, published) in [
        (Dry, &[0.30, 0.20, 0.18, 0.27, 0.20][..]),
        (Oiled, &[0.18, 0.10, 0.26, 0.15]),
        (AntiSeize, &[0.12, 0.12, 0.16]),
    ] {
        let range = condition.nut_factors();
        for k in published {
            assert!(
                range.least() <= *k && *k <= range.most(),
                "{condition:?}: {k}"
            );
        }
    }
}

/// Shigley's factors, black to lubricated: 0.30 / 0.18; the ratios follow from T = K·d·F.
#[test]
fn preload_grows_as_the_factor_falls() {
    for (was, is, times) in [
        (0.20, 0.15, "1.33"),
        (0.30, 0.18, "1.67"),
        (0.20, 0.12, "1.67"),
        (0.30, 0.12, "2.50"),
    ] {
        let share = preload_at_same_torque(factor(was), factor(is)).result;
        rounds_to("T = K·d·F", share.in_ones(), times);
    }
}

/// A published worked answer that is wrong: a homework page gives 5/16 in grade 5 bolts a preload of 8400
/// lbf and a torque of 1083.6 lbf·in (with a diameter of 0.645 in). The program refuses it: the proof load
/// is 4450 lbf.
#[test]
fn a_published_answer_beyond_the_proof_load_is_refused() {
    let size = thread("5/16-18");
    let printed = torque("1083.6 lbf·in");
    let preload = preload_for_torque(printed, size, factor(0.2), Method::TorqueDry).result;
    let judged = sanity(preload, size, Strength::Grade5).unwrap();
    assert_eq!(judged.result.verdict, Verdict::Refuse);
    assert!(judged.result.middle.in_percent() > 300.0);
    assert!(
        judged.cautions[0].contains("stretched for good"),
        "{:?}",
        judged.cautions
    );
    // What three quarters of proof would ask for is a tenth of it.
    let proof = Strength::Grade5.proof_load(size).unwrap().result;
    let unit = TorqueUnit::PoundForceInch;
    let right = torque_for_preload(proof * 0.75, size.diameter(), factor(0.2), unit).result;
    assert!(right.value_in(unit) < 0.25 * 1083.6);
}

/// The error that twelves a torque is caught: 17 lbf·ft is right for 5/16-18 grade 5, 204 lbf·in is the same,
/// 204 lbf·ft is refused.
#[test]
fn inches_taken_for_feet_are_refused() {
    let judge = |text: &str| {
        let size = thread("5/16-18");
        let preload = preload_for_torque(torque(text), size, factor(0.2), Method::TorqueDry).result;
        sanity(preload, size, Strength::Grade5)
            .unwrap()
            .result
            .verdict
    };
    assert_eq!(judge("17 lbf·ft"), Verdict::Go);
    assert_eq!(judge("204 lbf·in"), Verdict::Go);
    assert_eq!(judge("204 lbf·ft"), Verdict::Refuse);
}

/// US Army TB 9-2320-279-13&P: its torques are for clean dry threads; a supplier's and Shigley's factors
/// agree that oil lowers the torque needed. The program stops and asks; it offers no figure.
#[test]
fn a_dry_torque_on_oiled_threads_stops_and_asks() {
    for lubricated in [
        ThreadCondition::Oiled,
        ThreadCondition::Greased,
        ThreadCondition::AntiSeize,
        ThreadCondition::Locked,
    ] {
        let judged = agree(Some(ThreadCondition::Dry), lubricated);
        assert_eq!(judged.result.verdict, Verdict::Refuse);
        let question = judged.result.question.unwrap();
        assert!(
            question.ends_with("What does the document say?"),
            "{question}"
        );
    }
}

proptest! {
    #[test]
    fn torque_and_preload_are_each_others_inverse(
        kilonewtons in 1.0_f64..100.0,
        friction in 0.05_f64..0.4,
        at in 0_usize..27,
    ) {
        let thread = thread(VDI_FINE[at].0);
        let head = Head::hexagon(thread).unwrap();
        let force = Force::kilonewtons(kilonewtons);
        let made = torque_by_friction(force, thread, head, mu(friction), mu(friction)).result;
        let back = preload_by_friction(made, thread, head, mu(friction), mu(friction)).result;
        prop_assert!((back / force - 1.0).abs() < 1e-12);
    }

    #[test]
    fn more_torque_is_never_less_preload_nor_a_milder_word(
        newton_metres in 1.0_f64..200.0,
        more in 1.0_f64..2.0,
        least in 0.08_f64..0.2,
        wider in 0.0_f64..0.2,
    ) {
        let size = thread("M12");
        let factors = NutFactors::between(least, least + wider).unwrap();
        let of = |value: f64| {
            let torque = torque(&format!("{value} N·m"));
            let preload = preload_for_torque(torque, size, factors, Method::TorqueLubricated).result;
            (preload, sanity(preload, size, Strength::Class8_8).unwrap().result.verdict)
        };
        let (one, two) = (of(newton_metres), of(newton_metres * more));
        prop_assert!(one.0.least <= one.0.middle && one.0.middle <= one.0.most);
        prop_assert!(two.0.least >= one.0.least && two.0.most >= one.0.most);
        prop_assert!(two.1 >= one.1);
    }
}
