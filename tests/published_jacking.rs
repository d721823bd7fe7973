//! Stands, chocks and the order of a wheels-off job against published rules.
#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

use benchcall::trade::Verdict;
use benchcall::trade::jacking::{
    End, ORDER, Stage, StandRating, StandRatingError, chocking, may_follow, stands_under_axle,
};
use benchcall::trade::quantity::Mass;

/// Source: the Australian mandatory standard for vehicle support stands (2017): the capacity is per
/// stand, 750 to 1500 kg; in shops a rating per pair is common (a trade body and tool pages). The same
/// figure is half as much per pair, and without the words it is a question.
#[test]
fn the_rating_says_whether_it_is_for_one_or_for_the_pair() {
    let one: StandRating = "1500 kg per stand".parse().unwrap();
    let pair: StandRating = "1500 kg per pair".parse().unwrap();
    assert_eq!(one.per_stand(), Mass::kilograms(1500.0));
    assert_eq!(pair.per_stand(), Mass::kilograms(750.0));
    let asked = "1500 kg".parse::<StandRating>();
    assert!(matches!(asked, Err(StandRatingError::OneOrPair(_))));
}

/// Source: HSE (INDG434 and its notice of 2022): do not exceed the rated capacity of the stand.
#[test]
fn a_stand_is_never_loaded_over_its_rating() {
    let verdict = |rating: StandRating, axle: f64| {
        let (axle, vehicle) = (Mass::kilograms(axle), Mass::kilograms(3000.0));
        stands_under_axle(rating, axle, vehicle)
            .unwrap()
            .result
            .verdict
    };
    let per_stand = StandRating::PerStand(Mass::kilograms(750.0));
    assert_eq!(verdict(per_stand, 1500.0), Verdict::Warn);
    assert_eq!(verdict(per_stand, 1501.0), Verdict::Refuse);
    let per_pair = StandRating::PerPair(Mass::kilograms(750.0));
    assert_eq!(verdict(per_pair, 751.0), Verdict::Refuse);
    let strong = StandRating::PerStand(Mass::kilograms(1500.0));
    assert_eq!(verdict(strong, 1800.0), Verdict::Go);
}

/// Source: HSE INDG434: chock the wheels left on the ground; firm, level ground; never beneath a
/// vehicle on jacks only; a trade page for full torque only with the tyre on the ground.
#[test]
fn the_order_keeps_the_published_rules() {
    assert_eq!(
        chocking(End::Rear, Some(End::Rear)).result.chock,
        End::Front
    );
    assert!(!chocking(End::Rear, Some(End::Rear)).result.brake_holds);
    assert!(chocking(End::Front, Some(End::Rear)).result.brake_holds);
    let before = |stage: Stage| {
        let at = ORDER.iter().position(|&s| s == stage).unwrap();
        &ORDER[..at]
    };
    let without = |missing: Stage, stage: Stage| -> Stage {
        let done: Vec<_> = before(stage)
            .iter()
            .copied()
            .filter(|&s| s != missing)
            .collect();
        may_follow(&done, stage).unwrap_err().missing
    };
    assert_eq!(without(Stage::Chocks, Stage::Jack), Stage::Chocks);
    assert_eq!(
        without(Stage::FirmLevelGround, Stage::Stands),
        Stage::FirmLevelGround
    );
    assert_eq!(
        without(Stage::LowerOntoStands, Stage::Work),
        Stage::LowerOntoStands
    );
    assert_eq!(
        without(Stage::LowerToGround, Stage::FullTorque),
        Stage::LowerToGround
    );
    for stage in ORDER {
        assert_eq!(may_follow(before(stage), stage), Ok(()));
    }
}
