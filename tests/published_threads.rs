//! Thread tables, stress areas, proof loads and engagement against published figures.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

#[path = "published/agree.rs"]
mod agree;

use agree::{rounds_to, within_percent};
use benchcall::trade::engagement::{Into, least_engagement, nut_turns, usual_engagement};
use benchcall::trade::quantity::{Angle, Area, Length};
use benchcall::trade::strength::Strength;
use benchcall::trade::thread::Thread;

fn thread(text: &str) -> Thread {
    text.parse().unwrap()
}

/// Coarse: Bickford, *Introduction to the Design and Behavior of Bolted Joints*, 4th ed. (a web copy). Fine:
/// a copy of ASME B1.13M and a supplier's thread table.
const EXACT_AREAS: &[(&str, &str)] = &[
    ("M6", "20.123"),
    ("M8", "36.609"),
    ("M10", "57.990"),
    ("M12", "84.267"),
    ("M14", "115.44"),
    ("M16", "156.67"),
    ("M20", "244.79"),
    ("M22", "303.40"),
    ("M24", "352.50"),
    ("M8x1", "39.17"),
    ("M10x1.25", "61.20"),
    ("M12x1.25", "92.07"),
    ("M12x1.5", "88.13"),
    ("M14x1.5", "124.5"),
    ("M16x1.5", "167.2"),
    ("M20x1.5", "271.5"),
    ("M24x2", "384.4"),
];

/// Stress areas in in²: Mott, *Machine Elements*, table 19-4(B); SAE J429.
const UNIFIED_AREAS: &[(&str, &str)] = &[
    ("1/4-20", "0.0318"),
    ("1/4-28", "0.0364"),
    ("5/16-18", "0.0524"),
    ("5/16-24", "0.0580"),
    ("3/8-16", "0.0775"),
    ("3/8-24", "0.0878"),
    ("7/16-14", "0.1063"),
    ("7/16-20", "0.1187"),
    ("1/2-13", "0.1419"),
    ("1/2-20", "0.1599"),
    ("9/16-12", "0.182"),
    ("9/16-18", "0.203"),
    ("5/8-11", "0.226"),
    ("5/8-18", "0.256"),
    ("3/4-10", "0.334"),
    ("3/4-16", "0.373"),
    ("7/8-9", "0.462"),
    ("7/8-14", "0.509"),
    ("1-8", "0.606"),
    ("1-12", "0.663"),
];

#[test]
fn stress_areas_by_formula_agree_with_the_tables() {
    for (size, printed) in EXACT_AREAS {
        rounds_to(
            size,
            thread(size).stress_area().in_square_millimetres(),
            printed,
        );
    }
    for (size, printed) in UNIFIED_AREAS {
        let ours = thread(size).stress_area().in_square_inches();
        // Two rows are cut off rather than rounded: 0.0580 for 0.05807 and 0.1599 for 0.15995.
        if ["5/16-24", "1/2-20"].contains(size) {
            let cut = (ours * 1e4).floor() / 1e4;
            rounds_to(size, cut, printed);
        } else {
            rounds_to(size, ours, printed);
        }
        let nominal: f64 = printed.parse().unwrap();
        assert_eq!(
            thread(size).nominal_stress_area(),
            Area::square_inches(nominal)
        );
    }
    // One does not: M18×1.5 prints 216.24, reckoned from diameters rounded to 0.001 mm, for 216.234.
    let off = thread("M18x1.5").stress_area().in_square_millimetres() - 216.24;
    assert!((0.005..0.01).contains(&off.abs()), "{off}");
    println!(
        "{} stress areas agree",
        EXACT_AREAS.len() + UNIFIED_AREAS.len()
    );
}

/// Nominal areas are the formula's to three figures, so a slip in the table would show.
#[test]
fn every_nominal_area_is_near_its_formula() {
    for thread in Thread::all() {
        let nominal = thread.nominal_stress_area().in_square_millimetres();
        let exact = thread.stress_area().in_square_millimetres();
        within_percent(&thread.to_string(), exact, nominal, 0.5);
    }
}

const CLASSES: [Strength; 9] = [
    Strength::Class4_6,
    Strength::Class4_8,
    Strength::Class5_6,
    Strength::Class5_8,
    Strength::Class6_8,
    Strength::Class8_8,
    Strength::Class9_8,
    Strength::Class10_9,
    Strength::Class12_9,
];

/// Proof loads in N, coarse threads, ISO 898-1 as a fastener supplier prints it; 0 where the class ends.
const PROOF_N: &[(&str, [u32; 9])] = &[
    ("M3", [1130, 1560, 1410, 1910, 2210, 2920, 3270, 4180, 4880]),
    ("M4", [1980, 2720, 2460, 3340, 3860, 5100, 5710, 7290, 8520]),
    (
        "M5",
        [3200, 4400, 3980, 5400, 6250, 8230, 9230, 11800, 13800],
    ),
    (
        "M6",
        [4520, 6230, 5630, 7640, 8840, 11600, 13100, 16700, 19500],
    ),
    (
        "M7",
        [6500, 8960, 8090, 11000, 12700, 16800, 18800, 24000, 28000],
    ),
    (
        "M8",
        [8240, 11400, 10200, 13900, 16100, 21200, 23800, 30400, 35500],
    ),
    (
        "M10",
        [
            13000, 18000, 16200, 22000, 25500, 33700, 37700, 48100, 56300,
        ],
    ),
    (
        "M12",
        [
            19000, 26100, 23600, 32000, 37100, 48900, 54800, 70000, 81800,
        ],
    ),
    (
        "M14",
        [
            25900, 35600, 32200, 43700, 50600, 66700, 74800, 95500, 112000,
        ],
    ),
    (
        "M16",
        [
            35300, 48700, 44000, 59700, 69100, 91000, 102000, 130000, 152000,
        ],
    ),
    (
        "M18",
        [43200, 59500, 53800, 73000, 84500, 115000, 0, 159000, 186000],
    ),
    (
        "M20",
        [
            55100, 76000, 68600, 93100, 108000, 147000, 0, 203000, 238000,
        ],
    ),
    (
        "M22",
        [
            68200, 93900, 84800, 115000, 133000, 182000, 0, 252000, 294000,
        ],
    ),
    (
        "M24",
        [
            79400, 109000, 98800, 134000, 155000, 212000, 0, 293000, 342000,
        ],
    ),
];

/// The standard rounds its loads unevenly (M6 8.8 prints 11 600 for 20.1 × 580 = 11 658).
const UNEVEN_PERCENT: f64 = 0.6;

#[test]
fn proof_loads_agree_with_iso_898_1() {
    let mut checked = 0;
    for (size, loads) in PROOF_N {
        for (class, printed) in CLASSES.into_iter().zip(loads) {
            let what = format!("{size} {class}");
            if *printed == 0 {
                assert!(class.proof_load(thread(size)).is_err(), "{what}");
                continue;
            }
            let ours = class.proof_load(thread(size)).unwrap().result.in_newtons();
            within_percent(&what, ours, f64::from(*printed), UNEVEN_PERCENT);
            checked += 1;
        }
    }
    println!("{checked} metric proof loads agree");
}

/// Fine threads, class 8.8, N. From memory: ISO 898-1's fine table was not seen.
const PROOF_FINE_N: &[(&str, u32)] = &[
    ("M8x1", 22_700),
    ("M10x1", 37_400),
    ("M10x1.25", 35_500),
    ("M12x1.25", 53_400),
    ("M12x1.5", 51_100),
    ("M14x1.5", 72_500),
    ("M16x1.5", 96_900),
    ("M18x1.5", 130_000),
    ("M20x1.5", 163_000),
    ("M22x1.5", 200_000),
    ("M24x2", 230_000),
];

#[test]
fn fine_proof_loads_agree_with_what_is_remembered() {
    for (size, printed) in PROOF_FINE_N {
        let ours = Strength::Class8_8.proof_load(thread(size)).unwrap().result;
        within_percent(size, ours.in_newtons(), f64::from(*printed), UNEVEN_PERCENT);
    }
    println!("{} fine proof loads from memory agree", PROOF_FINE_N.len());
}

const ODD_ONE: u32 = 4800;

/// SAE J429 as scanned in a city's records: grade 2, 5, 8 in lbf. 1 in grade 5 prints 51 300 there, an
/// unreadable digit: 51 500 elsewhere.
const PROOF_LBF: &[(&str, [u32; 3])] = &[
    ("1/4-20", [1750, 2700, 3800]),
    ("5/16-18", [2900, 4450, 6300]),
    ("3/8-16", [4250, 6600, 9300]),
    ("7/16-14", [5850, 9050, 12_800]),
    ("9/16-12", [10_000, 15_500, 21_800]),
    ("5/8-11", [12_400, 19_200, 27_100]),
    ("3/4-10", [18_400, 28_400, 40_100]),
    ("7/8-9", [15_200, 39_300, 55_400]),
    ("1-8", [20_000, 51_500, 72_700]),
    ("1/4-28", [2000, 3100, 4350]),
    // Grade 2 of this one prints 4 800, though 55 ksi × 0.0878 in² is 4 829 and so nearer to 4 850.
    ("3/8-24", [ODD_ONE, 7450, 10_500]),
];

#[test]
fn proof_loads_agree_with_sae_j429() {
    for (size, loads) in PROOF_LBF {
        let grades = [Strength::Grade2, Strength::Grade5, Strength::Grade8];
        for (grade, printed) in grades.into_iter().zip(loads) {
            let ours = grade.proof_load(thread(size)).unwrap().result;
            // The table rounds to 50 and 100 lbf.
            let half = match *printed {
                ODD_ONE => 30.0,
                ..10_000 => 25.0,
                _ => 50.0,
            };
            let off = (ours.in_pounds_force() - f64::from(*printed)).abs();
            assert!(
                off <= half + 0.5,
                "{size} {grade}: printed {printed}, ours {ours}"
            );
        }
    }
    println!("{} unified proof loads agree", 3 * PROOF_LBF.len() - 1);
}

/// FED-STD-H28/2B, also Machinery's Handbook, 24th ed.: A 0.1, D 0.5, P 0.1 gives 0.2927.
#[test]
fn engagement_agrees_with_the_handbook() {
    let area = Area::square_inches(0.1);
    let length = least_engagement(area, Length::inches(0.5), Length::inches(0.1)).result;
    rounds_to("FED-STD-H28/2B", length.in_inches(), "0.2927");
    // An engine maker's table: 1.25 diameters in steel and iron, 2 in aluminium.
    let steel = usual_engagement(thread("M8"), Into::SteelOrIron).result;
    rounds_to("engine maker", steel.in_millimetres(), "10");
    let aluminium = usual_engagement(thread("M8"), Into::Aluminium).result;
    rounds_to("engine maker", aluminium.in_millimetres(), "16");
}

/// A wheel supplier's page: M12×1.5 over one diameter is 8 turns; 18 mm of it is 12.
#[test]
fn nut_turns_agree_with_published_counts() {
    let turns = |depth, counted| nut_turns(thread("M12x1.5"), depth, counted).unwrap().result;
    rounds_to("wheel supplier", turns(None, None).needed.in_turns(), "8");
    let eighteen = turns(Some(Length::millimetres(18.0)), None);
    rounds_to("wheel supplier", eighteen.needed.in_turns(), "12");
    assert_eq!(turns(None, Some(Angle::turns(8.0))).holds, Some(true));
    assert_eq!(turns(None, Some(Angle::turns(7.5))).holds, Some(false));
    assert_eq!(turns(None, None).holds, None);
}
