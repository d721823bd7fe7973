//! Jacking: what stands may bear, which wheels to chock, and the order of a wheels-off job.

use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::quantity::{Mass, QuantityError, Share};
use super::range::{OutOfRange, hold};
use super::worked::{Answer, Verdict, Worked, neat};

const STAND_SOURCE: &str = "\
    HSE INDG434: do not exceed the rated capacity of the stand; half the vehicle's mass on each \
    stand preferred (from memory)";

const LEAST_MASS: Mass = Mass::kilograms(1.0);
const MOST_MASS: Mass = Mass::tonnes(100.0);

/// What is stamped on a stand. Some stands are marked for one (the Australian mandatory standard asks
/// for it), others for the pair; the figure alone does not say which, so there is no default: ask.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StandRating {
    PerStand(Mass),
    PerPair(Mass),
}

impl StandRating {
    /// Returns what one stand may bear.
    pub fn per_stand(self) -> Mass {
        match self {
            StandRating::PerStand(mass) => mass,
            StandRating::PerPair(mass) => mass / 2.0,
        }
    }
}

/// Why a text is no stand's rating.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StandRatingError {
    #[error(
        "Is {0} for one stand or for the pair? Read the stand's plate and write \"{0} per stand\" or \"{0} \
         per pair\""
    )]
    OneOrPair(String),
    #[error(transparent)]
    Mass(#[from] QuantityError),
}

/// Reads `1500 kg per stand`, `3 t per pair`, `1500 kg each`.
impl FromStr for StandRating {
    type Err = StandRatingError;

    fn from_str(text: &str) -> Result<StandRating, StandRatingError> {
        let text = text.trim();
        let ends = [
            (
                " per stand",
                StandRating::PerStand as fn(Mass) -> StandRating,
            ),
            (" each", StandRating::PerStand),
            (" per pair", StandRating::PerPair),
            (" the pair", StandRating::PerPair),
        ];
        for (end, rating) in ends {
            if let Some(mass) = text.strip_suffix(end) {
                return Ok(rating(mass.parse()?));
            }
        }
        let mass: Mass = text.parse()?;
        Err(StandRatingError::OneOrPair(mass.to_string()))
    }
}

/// What one stand bears, and what the gate says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandCheck {
    /// What one of the two stands under the axle bears.
    pub bears: Mass,
    /// What one stand may bear.
    pub limit: Mass,
    pub used: Share,
    pub verdict: Verdict,
}

impl From<StandCheck> for Answer {
    fn from(check: StandCheck) -> Answer {
        Answer::Named(vec![
            ("verdict", check.verdict.into()),
            ("each stand bears", check.bears.into()),
            ("of", check.limit.into()),
            ("used", check.used.into()),
        ])
    }
}

/// Returns what the gate says to two stands under an axle.
///
/// Refuses over the rating, warns where a stand could not bear half the vehicle. Range: masses 1 kg to
/// 100 t, the axle's load at most the vehicle's mass.
///
/// # Errors
/// [`OutOfRange`] outside it.
pub fn stands_under_axle(
    rating: StandRating,
    axle_load: Mass,
    vehicle: Mass,
) -> Result<Worked<StandCheck>, OutOfRange> {
    hold(
        "The stand's rating",
        rating.per_stand(),
        LEAST_MASS,
        MOST_MASS,
    )?;
    hold("The vehicle's mass", vehicle, LEAST_MASS, MOST_MASS)?;
    hold("The axle's load", axle_load, LEAST_MASS, vehicle)?;
    let limit = rating.per_stand();
    let bears = axle_load / 2.0;
    let half = vehicle / 2.0;
    let verdict = if bears > limit {
        Verdict::Refuse
    } else if half > limit {
        Verdict::Warn
    } else {
        Verdict::Go
    };
    let check = StandCheck {
        bears,
        limit,
        used: Share::of_one(bears / limit),
        verdict,
    };
    let formula = format!(
        "{} kg/2 = {} kg on each stand, of {} kg",
        neat(axle_load.in_kilograms()),
        neat(bears.in_kilograms()),
        neat(limit.in_kilograms()),
    );
    let worked = Worked::new(check, formula, STAND_SOURCE);
    Ok(match verdict {
        Verdict::Refuse => worked.caution("More than a stand may bear: use stronger stands."),
        Verdict::Warn => worked.caution(format!(
            "One stand may bear less than half the vehicle, {:.0}: if the other slips it will not hold.",
            half
        )),
        Verdict::Go => worked,
    }
    .caution("Never go under what only a jack holds up."))
}

/// An end of the vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum End {
    Front,
    Rear,
}

impl End {
    /// Returns its wheels in words.
    pub fn wheels(self) -> &'static str {
        match self {
            End::Front => "the front wheels",
            End::Rear => "the rear wheels",
        }
    }

    fn other(self) -> End {
        match self {
            End::Front => End::Rear,
            End::Rear => End::Front,
        }
    }
}

/// How the wheels that stay on the ground are kept from rolling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Chocking {
    /// The end whose wheels are chocked, before and behind, on both sides.
    pub chock: End,
    /// Whether the parking brake still holds once the other end is up.
    pub brake_holds: bool,
}

impl From<Chocking> for Answer {
    fn from(chocking: Chocking) -> Answer {
        let brake = if chocking.brake_holds {
            "holds"
        } else {
            "does not hold"
        };
        Answer::Named(vec![
            ("chock", Answer::Words(chocking.chock.wheels().into())),
            ("parking brake", Answer::Words(brake.into())),
        ])
    }
}

/// Returns how to chock when `raised` goes up and the parking brake acts on `brake_on`; no brake at all
/// where it is not known to hold.
///
/// Source: HSE INDG434, chock the wheels left on the ground.
pub fn chocking(raised: End, brake_on: Option<End>) -> Worked<Chocking> {
    let chock = raised.other();
    let chocking = Chocking {
        chock,
        brake_holds: brake_on == Some(chock),
    };
    let worked = Worked::new(
        chocking,
        "chock the wheels that stay on the ground, before and behind, on both sides",
        "HSE INDG434 (as quoted by a trade body); both sides: common practice, no source",
    );
    if chocking.brake_holds {
        worked
    } else {
        worked.caution("The parking brake does not hold while this end is up: only the chocks do.")
    }
}

/// A stage of a job with the wheels off, in the order they must come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Stage {
    FirmLevelGround,
    ParkingBrakeAndGear,
    Chocks,
    SlackenNuts,
    Jack,
    Stands,
    LowerOntoStands,
    ShoveTest,
    WheelsOff,
    Work,
    WheelsOnByHand,
    SnugInStar,
    LowerToGround,
    FullTorque,
    RetorqueAfterRunning,
}

/// The stages in order.
pub const ORDER: [Stage; 15] = [
    Stage::FirmLevelGround,
    Stage::ParkingBrakeAndGear,
    Stage::Chocks,
    Stage::SlackenNuts,
    Stage::Jack,
    Stage::Stands,
    Stage::LowerOntoStands,
    Stage::ShoveTest,
    Stage::WheelsOff,
    Stage::Work,
    Stage::WheelsOnByHand,
    Stage::SnugInStar,
    Stage::LowerToGround,
    Stage::FullTorque,
    Stage::RetorqueAfterRunning,
];

impl Stage {
    /// Returns the stage as it is called.
    pub fn called(self) -> &'static str {
        match self {
            Stage::FirmLevelGround => "the vehicle on firm, level ground",
            Stage::ParkingBrakeAndGear => "parking brake on and a gear in",
            Stage::Chocks => "the wheels that stay down chocked",
            Stage::SlackenNuts => "the wheel nuts slackened a quarter turn",
            Stage::Jack => "jacked up at the point in the manual",
            Stage::Stands => "stands under strong points",
            Stage::LowerOntoStands => "lowered onto the stands",
            Stage::ShoveTest => "shoved, and it stood firm",
            Stage::WheelsOff => "wheels off, one laid under the sill",
            Stage::Work => "the work done",
            Stage::WheelsOnByHand => "faces clean, wheels on, nuts by hand",
            Stage::SnugInStar => "nuts snug in star order",
            Stage::LowerToGround => "lowered onto its tyres",
            Stage::FullTorque => "full torque in star order",
            Stage::RetorqueAfterRunning => "torque checked after 50 km",
        }
    }

    /// Returns why the stage must not be left out.
    pub fn why(self) -> &'static str {
        match self {
            Stage::FirmLevelGround => "a stand sinks or tips on soft or sloping ground",
            Stage::ParkingBrakeAndGear | Stage::Chocks => "the vehicle rolls off the jack",
            Stage::SlackenNuts => "pulling on tight nuts rocks a vehicle off its stands",
            Stage::Jack => "stands go under what has been raised",
            Stage::Stands | Stage::LowerOntoStands => "a jack alone lets go",
            Stage::ShoveTest => "a stand that slips must slip while nobody is under it",
            Stage::WheelsOff => "the wheel under the sill is the last support",
            Stage::Work | Stage::WheelsOnByHand => "a nut that does not run on by hand is crossed",
            Stage::SnugInStar => "a wheel that is not seated works loose",
            Stage::LowerToGround => "full torque in the air rocks the vehicle off its stands",
            Stage::FullTorque => "a snug wheel comes off",
            Stage::RetorqueAfterRunning => "a wheel settles in its first kilometres",
        }
    }
}

/// A stage was asked for before one that must come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "Before \"{}\" comes \"{}\", because {}: do that first",
    .asked.called(), .missing.called(), .missing.why()
)]
pub struct OutOfOrder {
    pub asked: Stage,
    pub missing: Stage,
}

/// Checks that `next` may follow what is `done`: every stage before it must be.
///
/// Source: HSE INDG434 for brake, chocks, stands and ground; the rest common practice, no source.
///
/// # Errors
/// [`OutOfOrder`] with the first stage that is missing.
pub fn may_follow(done: &[Stage], next: Stage) -> Result<(), OutOfOrder> {
    let missing = ORDER
        .into_iter()
        .take_while(|&stage| stage < next)
        .find(|stage| !done.contains(stage));
    match missing {
        Some(missing) => Err(OutOfOrder {
            asked: next,
            missing,
        }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_bare_figure_is_a_question() {
        let said = "3 t".parse::<StandRating>().unwrap_err().to_string();
        assert!(
            said.starts_with("Is 3 t for one stand or for the pair?"),
            "{said}"
        );
        let rating: StandRating = "3 t the pair".parse().unwrap();
        assert_eq!(rating.per_stand(), Mass::kilograms(1500.0));
        assert!("per stand".parse::<StandRating>().is_err());
        assert!("-3 t each".parse::<StandRating>().is_err());
    }

    #[test]
    fn what_is_missing_is_named_with_its_reason() {
        let done = [Stage::FirmLevelGround, Stage::ParkingBrakeAndGear];
        let said = may_follow(&done, Stage::Jack).unwrap_err().to_string();
        assert_eq!(
            said,
            "Before \"jacked up at the point in the manual\" comes \"the wheels that stay down chocked\", \
             because the vehicle rolls off the jack: do that first"
        );
    }

    #[test]
    fn without_a_known_brake_only_chocks_hold() {
        let worked = chocking(End::Front, None);
        assert_eq!(worked.result.chock, End::Rear);
        assert!(worked.cautions[0].contains("only the chocks do"));
        assert!(chocking(End::Front, Some(End::Rear)).cautions.is_empty());
    }

    #[test]
    fn the_order_holds_every_stage_once_and_rises() {
        assert!(ORDER.windows(2).all(|pair| pair[0] < pair[1]));
    }

    proptest! {
        #[test]
        fn a_stand_over_its_rating_is_always_refused(rating in 1.0..5000.0, axle in 1.0..5000.0) {
            let vehicle = Mass::kilograms(axle * 1.5);
            for (rating, limit) in [
                (StandRating::PerStand(Mass::kilograms(rating)), rating),
                (StandRating::PerPair(Mass::kilograms(rating)), rating / 2.0),
            ] {
                if let Ok(check) = stands_under_axle(rating, Mass::kilograms(axle), vehicle) {
                    let refused = check.result.verdict == Verdict::Refuse;
                    prop_assert_eq!(refused, axle / 2.0 > limit);
                }
            }
        }

        #[test]
        fn no_number_and_no_text_panics(a: f64, b: f64, c: f64, text: String) {
            let rating = StandRating::PerPair(Mass::kilograms(a));
            let _ = stands_under_axle(rating, Mass::kilograms(b), Mass::kilograms(c));
            let _ = text.parse::<StandRating>();
        }
    }
}
