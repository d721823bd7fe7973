//! Orders and passes against published tables.
//!
//! Two ways of drawing one table: the positions in the order they are tightened, and the turns met going
//! clockwise. Both are checked as printed.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

use benchcall::trade::Torque;
use benchcall::trade::bolt_circle::{MOST_BOLTS, star};
use benchcall::trade::bolt_pattern::{BoltPattern, Place};
use benchcall::trade::passes::{GASKET, Goal, LARGE_GASKET, PassOrder, passes};
use benchcall::trade::quantity::{Length, Share};
use proptest::prelude::*;

const WORKSHEET: &str = "a gasket maker's public bolt-tightening worksheet";
const MEMORY: &str = "from memory: ASME PCC-1 legacy cross-pattern; not confirmed";
const WHEELS: &str = "tyre-shop guidance";

/// Positions in the order they are tightened.
const ORDERS: &[(&[u32], &str)] = &[
    (&[1, 3, 2, 4], WORKSHEET),
    (&[1, 3, 5, 2, 4], WHEELS),
    (&[1, 4, 2, 5, 3, 6], WHEELS),
    (&[1, 5, 3, 7, 2, 6, 4, 8], WORKSHEET),
    (&[1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12], WORKSHEET),
    (
        &[1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16],
        WORKSHEET,
    ),
    (
        &[
            1, 11, 6, 16, 3, 13, 8, 18, 5, 15, 10, 20, 2, 12, 7, 17, 4, 14, 9, 19,
        ],
        WORKSHEET,
    ),
    (
        &[
            1, 13, 7, 19, 4, 16, 10, 22, 2, 14, 8, 20, 5, 17, 11, 23, 3, 15, 9, 21, 6, 18, 12, 24,
        ],
        WORKSHEET,
    ),
    (
        &[
            1, 15, 8, 22, 4, 18, 11, 25, 6, 20, 13, 27, 2, 16, 9, 23, 5, 19, 12, 26, 7, 21, 14, 28,
            3, 17, 10, 24,
        ],
        MEMORY,
    ),
    (
        &[
            1, 17, 9, 25, 5, 21, 13, 29, 3, 19, 11, 27, 7, 23, 15, 31, 2, 18, 10, 26, 6, 22, 14,
            30, 4, 20, 12, 28, 8, 24, 16, 32,
        ],
        MEMORY,
    ),
];

/// Turns met going clockwise.
const RINGS: &[(&[u32], &str)] = &[
    (
        &[1, 5, 3, 7, 2, 6, 4, 8],
        "a robot maker's maintenance manual, crosswise fastening",
    ),
    (&[1, 5, 3, 7, 2, 6, 4, 8], WORKSHEET),
    (&[1, 5, 9, 3, 7, 11, 2, 6, 10, 4, 8, 12], WORKSHEET),
    (
        &[1, 9, 5, 13, 3, 11, 7, 15, 2, 10, 6, 14, 4, 12, 8, 16],
        WORKSHEET,
    ),
    (
        &[
            1, 13, 5, 17, 9, 3, 15, 7, 19, 11, 2, 14, 6, 18, 10, 4, 16, 8, 20, 12,
        ],
        WORKSHEET,
    ),
    (
        &[
            1, 9, 17, 5, 13, 21, 3, 11, 19, 7, 15, 23, 2, 10, 18, 6, 14, 22, 4, 12, 20, 8, 16, 24,
        ],
        WORKSHEET,
    ),
];

#[test]
fn one_rule_gives_every_published_order() {
    for (order, source) in ORDERS {
        let pattern = BoltPattern::Circle {
            bolts: order.len() as u32,
        };
        assert_eq!(pattern.order().unwrap(), *order, "{source}");
    }
    for (ring, source) in RINGS {
        let order = star(ring.len() as u32);
        let turn = |bolt: u32| order.iter().position(|&b| b == bolt).unwrap() as u32 + 1;
        let ours: Vec<_> = (1..=ring.len() as u32).map(turn).collect();
        assert_eq!(ours, *ring, "{source}");
    }
    println!("{} published orders agree", ORDERS.len() + RINGS.len());
}

/// A contractor's guide: 48 bolts as 12 groups of 4; "tighten 1, 2, 3 and 4 before moving on to group 7".
#[test]
fn large_flanges_go_in_groups() {
    let order = BoltPattern::Groups {
        bolts: 48,
        together: 4,
    }
    .order()
    .unwrap();
    assert_eq!(order[..4], [1, 2, 3, 4]);
    let group_7 = 6 * 4 + 1;
    assert_eq!(
        order[4..8],
        [group_7, group_7 + 1, group_7 + 2, group_7 + 3]
    );
    let groups: Vec<_> = order.chunks(4).map(|four| four[0].div_ceil(4)).collect();
    assert_eq!(groups, star(12));
}

/// Makers' manuals: cover and head bolts "from the inside toward the outside"; a calibration procedure
/// slackens 2-3-1-4 as 4-1-3-2, the reverse.
#[test]
fn covers_go_outwards_and_slackening_is_the_reverse() {
    let by_hand = BoltPattern::ByHand {
        bolts: 4,
        order: vec![2, 3, 1, 4],
    };
    assert_eq!(by_hand.slackening().unwrap(), [4, 1, 3, 2]);
    for (rows, columns) in [(2, 5), (3, 4), (1, 7), (2, 10), (5, 5)] {
        let out = |bolt: u32| {
            let (row, column) = ((bolt - 1) / columns, (bolt - 1) % columns);
            let across = 2.0 * f64::from(column) - f64::from(columns - 1);
            let up = 2.0 * f64::from(row) - f64::from(rows - 1);
            across.hypot(up)
        };
        let order = BoltPattern::Grid { rows, columns }.order().unwrap();
        assert!(
            order
                .windows(2)
                .all(|pair| out(pair[0]) <= out(pair[1]) + 1e-9),
            "{rows} by {columns}: {order:?}"
        );
    }
}

/// Shares of the passes and the last round, by source.
#[test]
fn passes_are_those_of_published_procedures() {
    let full: Torque = "200 N·m".parse().unwrap();
    let share = |percent| Goal::Share(Share::percent(percent));
    let published: [(&[Goal], &[&str], &str); 4] = [
        (
            &GASKET,
            &["60 N·m", "120 N·m", "200 N·m", "200 N·m"],
            "a piping handbook's procedure for 4 and 8 bolts: 30, 60, 100 %, then round",
        ),
        (
            &LARGE_GASKET,
            &["40 N·m", "80 N·m", "160 N·m", "200 N·m", "200 N·m"],
            "the same handbook for 12 bolts and more: 20, 40, 80, 100 %, then round",
        ),
        (
            &[share(25.0), share(50.0), share(100.0), Goal::Check],
            &["50 N·m", "100 N·m", "200 N·m", "200 N·m"],
            "a gasket maker's worksheet: 25, 50, 100 %, then a rotational round at 100 %",
        ),
        (
            &[share(30.0), share(70.0), share(100.0), Goal::Check],
            &["60 N·m", "140 N·m", "200 N·m", "200 N·m"],
            "an isolation kit's instructions, after ASME PCC-1-2010: 30, 70, 100 %, then clockwise",
        ),
    ];
    for (goals, torques, source) in published {
        let made = passes(full, goals, None).unwrap();
        let shown: Vec<_> = made.iter().map(|pass| pass.torque.to_string()).collect();
        assert_eq!(shown, torques, "{source}");
        assert_eq!(made.last().unwrap().order, PassOrder::Round, "{source}");
    }
    // A nuclear station's gauge procedure with torques: 160, 213 and 266 lbf·ft, the last in full.
    let steps = ["160 lbf·ft", "213 lbf·ft", "266 lbf·ft"].map(|t| t.parse::<Torque>().unwrap());
    let made = passes(steps[2], &steps.map(Goal::Torque), None).unwrap();
    assert_eq!(made.len(), 3);
}

#[test]
fn every_count_is_a_whole_order_with_the_moves_its_kind_has() {
    for bolts in 1..=MOST_BOLTS {
        let order = star(bolts);
        let mut sorted = order.clone();
        sorted.sort_unstable();
        assert_eq!(sorted, (1..=bolts).collect::<Vec<_>>());
        let apart = |a: u32, b: u32| a.abs_diff(b).min(bolts - a.abs_diff(b));
        if bolts > 3 && bolts.is_multiple_of(2) {
            assert!(
                order
                    .chunks(2)
                    .all(|pair| apart(pair[0], pair[1]) == bolts / 2),
                "{bolts}: every second move is straight across"
            );
        } else if bolts > 3 {
            assert!(
                order
                    .windows(2)
                    .all(|pair| apart(pair[0], pair[1]) == (bolts - 1) / 2),
                "{bolts}: every move is just under half the circle"
            );
        }
    }
    assert!(BoltPattern::Circle { bolts: 0 }.order().is_err());
    assert!(BoltPattern::Circle { bolts: 65 }.order().is_err());
}

proptest! {
    #[test]
    fn any_cover_is_called_whole_and_outwards(
        places in prop::collection::vec((-300_i32..300, -300_i32..300), 1..30),
    ) {
        let cover = BoltPattern::Cover {
            places: places
                .iter()
                .map(|&(x, y)| Place {
                    across: Length::millimetres(x.into()),
                    up: Length::millimetres(y.into()),
                })
                .collect(),
        };
        let order = cover.order().unwrap();
        let mut sorted = order.clone();
        sorted.sort_unstable();
        prop_assert_eq!(sorted, (1..=places.len() as u32).collect::<Vec<_>>());
        let mut back = cover.slackening().unwrap();
        back.reverse();
        prop_assert_eq!(back, order.clone());
        let middle = |of: fn(&(i32, i32)) -> i32| {
            let all = || places.iter().map(of);
            f64::from(all().min().unwrap() + all().max().unwrap()) / 2.0
        };
        let (x, y) = (middle(|p| p.0), middle(|p| p.1));
        let out = |bolt: u32| {
            let (px, py) = places[bolt as usize - 1];
            (f64::from(px) - x).hypot(f64::from(py) - y)
        };
        prop_assert!(order.windows(2).all(|pair| out(pair[0]) <= out(pair[1]) + 1e-5));
    }

    #[test]
    fn passes_never_fall_and_end_in_full(full in 20.0_f64..300.0, step in 1_u32..4) {
        let full: Torque = format!("{full} N·m").parse().unwrap();
        let step: Torque = format!("{step} N·m").parse().unwrap();
        for goals in [&GASKET[..], &LARGE_GASKET[..]] {
            let made = passes(full, goals, Some(step)).unwrap();
            let rising = made
                .windows(2)
                .all(|pair| pair[0].torque.newton_metres() <= pair[1].torque.newton_metres());
            prop_assert!(rising);
            prop_assert_eq!(made.last().unwrap().torque, full);
        }
    }
}
