//! The workshop crane: what it may lift at its boom's place, and where its hook goes.

use super::lifting::{LEAST_LOAD, MOST_LOAD};
use super::quantity::{Angle, Length, Mass, Share};
use super::range::{OutOfRange, hold};
use super::rigging::gate;
use super::worked::{Answer, Verdict, Worked, neat};

const ARC_SOURCE: &str = "height = pivot + boom·sin φ − hook drop, reach = boom·cos φ (geometry)";
const PLATE_SOURCE: &str = "the crane's plate for the boom's hole";
const MOMENT_SOURCE: &str =
    "limit·reach stays the same (a crane maker's moment rating): an estimate that may only refuse";

const LEAST_LENGTH: Length = Length::millimetres(1.0);
const MOST_LENGTH: Length = Length::metres(20.0);
/// The boom angles taken, from level; below zero the boom points down.
const LOWEST: Angle = Angle::degrees(-60.0);
const HIGHEST: Angle = Angle::degrees(80.0);

/// Why the crane cannot be reckoned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CraneError {
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error("The plate has no hole {hole:?}: it has {holes}")]
    NoSuchHole { hole: String, holes: String },
    #[error(
        "The hook cannot come to {wanted:.2}: with this boom it goes from {lowest:.2} to {highest:.2}"
    )]
    OutOfReach {
        wanted: Length,
        lowest: Length,
        highest: Length,
    },
}

/// A boom, measured from its pivot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boom {
    /// Of the pivot over the floor.
    pub pivot_height: Length,
    /// From the pivot to the hook's pin, at the hole in use.
    pub length: Length,
    /// From the hook's pin down to the hook.
    pub hook_drop: Length,
}

/// Where the hook is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HookPlace {
    /// Over the floor.
    pub height: Length,
    /// Level from the boom's pivot.
    pub reach: Length,
}

impl From<HookPlace> for Answer {
    fn from(place: HookPlace) -> Answer {
        Answer::Named(vec![
            ("height", place.height.into()),
            ("reach", place.reach.into()),
        ])
    }
}

impl Boom {
    fn held(&self) -> Result<(), OutOfRange> {
        hold(
            "The pivot's height",
            self.pivot_height,
            LEAST_LENGTH,
            MOST_LENGTH,
        )?;
        hold("The boom", self.length, LEAST_LENGTH, MOST_LENGTH)?;
        hold(
            "The hook's drop",
            self.hook_drop,
            Length::millimetres(0.0),
            MOST_LENGTH,
        )?;
        Ok(())
    }

    /// Returns where the hook is with the boom at `angle` from level.
    ///
    /// Range: boom and pivot 1 mm to 20 m, `angle` −60° to 80°. Result in metres.
    ///
    /// # Errors
    /// [`CraneError::OutOfRange`].
    pub fn hook(&self, angle: Angle) -> Result<Worked<HookPlace>, CraneError> {
        self.held()?;
        hold("The boom's angle from level", angle, LOWEST, HIGHEST)?;
        let (pivot, boom, drop) = self.in_metres();
        let place = self.place(angle);
        let formula = format!(
            "height {} + {}·sin {}° − {} = {} m; reach {}·cos {}° = {} m",
            neat(pivot),
            neat(boom),
            neat(angle.in_degrees()),
            neat(drop),
            neat(place.height.in_metres()),
            neat(boom),
            neat(angle.in_degrees()),
            neat(place.reach.in_metres()),
        );
        Ok(Worked::new(place, formula, ARC_SOURCE))
    }

    fn place(&self, angle: Angle) -> HookPlace {
        let (pivot, boom, drop) = self.in_metres();
        let (sine, cosine) = angle.in_radians().sin_cos();
        HookPlace {
            height: Length::metres(pivot + boom * sine - drop),
            reach: Length::metres(boom * cosine),
        }
    }

    fn in_metres(&self) -> (f64, f64, f64) {
        (
            self.pivot_height.in_metres(),
            self.length.in_metres(),
            self.hook_drop.in_metres(),
        )
    }

    /// Returns the boom's angle from level that brings the hook to `height` over the floor.
    ///
    /// # Errors
    /// [`CraneError::OutOfReach`] where no angle from −60° to 80° does; [`CraneError::OutOfRange`].
    pub fn angle_for(&self, height: Length) -> Result<Worked<Angle>, CraneError> {
        self.held()?;
        let lowest = self.place(LOWEST).height;
        let highest = self.place(HIGHEST).height;
        if !(lowest..=highest).contains(&height) {
            return Err(CraneError::OutOfReach {
                wanted: height.shown_in(lowest.unit()),
                lowest,
                highest,
            });
        }
        let (pivot, boom, drop) = self.in_metres();
        let sine = (height.in_metres() + drop - pivot) / boom;
        let angle = Angle::degrees(sine.clamp(-1.0, 1.0).asin().to_degrees());
        let formula = format!(
            "asin(({} + {} − {})/{}) = {}°",
            neat(height.in_metres()),
            neat(drop),
            neat(pivot),
            neat(boom),
            neat(angle.in_degrees()),
        );
        Ok(Worked::new(angle, formula, ARC_SOURCE))
    }

    /// Returns how far and which way to roll the crane while the hook goes from one height to another,
    /// so that the load stays plumb.
    ///
    /// # Errors
    /// As [`Boom::angle_for`].
    pub fn roll(&self, from: Length, to: Length) -> Result<Worked<Roll>, CraneError> {
        let before = self.place(self.angle_for(from)?.result).reach;
        let after = self.place(self.angle_for(to)?.result).reach;
        let nearer = before.in_metres() - after.in_metres();
        let roll = Roll {
            by: Length::metres(nearer.abs()),
            way: if nearer > 0.0 {
                RollWay::TowardsTheLoad
            } else {
                RollWay::AwayFromTheLoad
            },
        };
        let formula = format!(
            "reach {} m at {:.2}, {} m at {:.2}: {} m",
            neat(before.in_metres()),
            from,
            neat(after.in_metres()),
            to,
            neat(roll.by.in_metres()),
        );
        Ok(Worked::new(roll, formula, ARC_SOURCE)
            .caution("Roll little by little while the load hangs low, or it swings."))
    }
}

/// How far to roll the crane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Roll {
    pub by: Length,
    pub way: RollWay,
}

impl From<Roll> for Answer {
    fn from(roll: Roll) -> Answer {
        Answer::Named(vec![
            ("roll", roll.by.into()),
            ("way", Answer::Words(roll.way.words().into())),
        ])
    }
}

/// Which way to roll the crane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RollWay {
    TowardsTheLoad,
    AwayFromTheLoad,
}

impl RollWay {
    /// Returns the way in words.
    pub fn words(self) -> &'static str {
        match self {
            RollWay::TowardsTheLoad => "towards the load",
            RollWay::AwayFromTheLoad => "away from the load",
        }
    }
}

/// A hole of the boom, as the crane's plate names it, and what may hang there.
#[derive(Debug, Clone, PartialEq)]
pub struct BoomHole {
    pub name: String,
    pub limit: Mass,
}

/// Returns what the gate says to lifting `load` with its `rigging` at the boom's `hole`.
///
/// Range: limits and load 1 g to 100 t, rigging 0 to 100 t. Only the plate's figure for that very hole
/// counts: nothing is read between two holes.
///
/// # Errors
/// [`CraneError::NoSuchHole`] with the holes there are; [`CraneError::OutOfRange`].
pub fn at_hole(
    plate: &[BoomHole],
    hole: &str,
    load: Mass,
    rigging: Mass,
) -> Result<Worked<CraneGate>, CraneError> {
    let named = plate.iter().find(|place| place.name == hole);
    let limit = named.map(|place| place.limit).ok_or_else(|| {
        let names: Vec<_> = plate.iter().map(|place| place.name.as_str()).collect();
        CraneError::NoSuchHole {
            hole: hole.into(),
            holes: names.join(", "),
        }
    })?;
    hold("The crane's limit", limit, LEAST_LOAD, MOST_LOAD)?;
    hold("The load", load, LEAST_LOAD, MOST_LOAD)?;
    hold("The rigging", rigging, Mass::kilograms(0.0), MOST_LOAD)?;
    let hangs = load + rigging;
    let used = Share::of_one(hangs / limit);
    let gated = CraneGate {
        hangs,
        used,
        verdict: gate(used),
    };
    let formula = format!(
        "({} kg + {} kg)/{} kg = {} % at hole {hole}",
        neat(load.in_kilograms()),
        neat(rigging.in_kilograms()),
        neat(limit.in_kilograms()),
        neat(used.in_percent()),
    );
    let worked = Worked::new(gated, formula, PLATE_SOURCE);
    Ok(match gated.verdict {
        Verdict::Refuse => worked
            .caution("More than the plate allows at this hole: pull the boom in, or do not lift."),
        _ => worked.caution("Keep the load low and near, and nobody under it."),
    })
}

/// What hangs on the crane, and what the gate says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CraneGate {
    /// Load and rigging.
    pub hangs: Mass,
    pub used: Share,
    pub verdict: Verdict,
}

impl From<CraneGate> for Answer {
    fn from(gate: CraneGate) -> Answer {
        Answer::Named(vec![
            ("verdict", gate.verdict.into()),
            ("hangs", gate.hangs.into()),
            ("used", gate.used.into()),
        ])
    }
}

/// What an estimate by moment says; it never says go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MomentCheck {
    /// Certainly too much.
    Refused { at_most: Mass },
    /// Not certainly too much; only the plate can approve.
    AskThePlate { at_most: Mass },
}

impl From<MomentCheck> for Answer {
    fn from(check: MomentCheck) -> Answer {
        let (words, at_most) = match check {
            MomentCheck::Refused { at_most } => ("refuse", at_most),
            MomentCheck::AskThePlate { at_most } => ("ask the plate", at_most),
        };
        Answer::Named(vec![
            ("verdict", Answer::Words(words.into())),
            ("at most", at_most.into()),
        ])
    }
}

/// Returns whether `hangs` at `reach` is more than a crane can bear that bears `limit` at `limit_reach`,
/// by equal moment.
///
/// Range: masses 1 g to 100 t, reaches 1 mm to 20 m. Nearer than `limit_reach` the limit itself holds.
///
/// # Errors
/// [`CraneError::OutOfRange`].
pub fn check_moment(
    limit: Mass,
    limit_reach: Length,
    hangs: Mass,
    reach: Length,
) -> Result<Worked<MomentCheck>, CraneError> {
    hold("The crane's limit", limit, LEAST_LOAD, MOST_LOAD)?;
    hold("What hangs", hangs, LEAST_LOAD, MOST_LOAD)?;
    hold(
        "The reach of the limit",
        limit_reach,
        LEAST_LENGTH,
        MOST_LENGTH,
    )?;
    hold("The reach", reach, LEAST_LENGTH, MOST_LENGTH)?;
    let at_most = limit * (limit_reach / reach).min(1.0);
    let check = if hangs > at_most {
        MomentCheck::Refused { at_most }
    } else {
        MomentCheck::AskThePlate { at_most }
    };
    let formula = format!(
        "{} kg·{} m/{} m = {} kg",
        neat(limit.in_kilograms()),
        neat(limit_reach.in_metres()),
        neat(reach.in_metres()),
        neat(at_most.in_kilograms()),
    );
    Ok(Worked::new(check, formula, MOMENT_SOURCE)
        .caution("An estimate approves nothing: only the plate's figure for the boom's hole does."))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn boom() -> Boom {
        Boom {
            pivot_height: Length::metres(1.45),
            length: Length::metres(1.5),
            hook_drop: Length::metres(0.0),
        }
    }

    /// Derived from the geometry: 1.45 + 1.5·sin φ and 1.5·cos φ.
    #[test]
    fn the_hook_moves_in_an_arc() {
        for (degrees, height, reach) in [
            (-10.0, 1.190, 1.477),
            (0.0, 1.450, 1.500),
            (15.0, 1.838, 1.449),
            (30.0, 2.200, 1.299),
            (45.0, 2.511, 1.061),
        ] {
            let hook = boom().hook(Angle::degrees(degrees)).unwrap().result;
            assert!(
                (hook.height.in_metres() - height).abs() <= 0.0005,
                "{degrees}°"
            );
            assert!(
                (hook.reach.in_metres() - reach).abs() <= 0.0005,
                "{degrees}°"
            );
        }
    }

    #[test]
    fn the_crane_is_rolled_towards_a_load_that_rises() {
        let roll = |from, to| {
            boom()
                .roll(Length::metres(from), Length::metres(to))
                .unwrap()
                .result
        };
        let up = roll(1.45, 2.510_66);
        assert!((up.by.in_metres() - 0.439).abs() <= 0.0005, "{up:?}");
        assert_eq!(up.way, RollWay::TowardsTheLoad);
        assert_eq!(roll(2.5, 1.45).way, RollWay::AwayFromTheLoad);
        // Below level the boom comes out as it rises.
        assert_eq!(roll(1.0, 1.45).way, RollWay::AwayFromTheLoad);
        let far = boom()
            .roll(Length::metres(1.45), Length::metres(3.5))
            .unwrap_err()
            .to_string();
        assert!(far.contains("it goes from 0.15 m to 2.93 m"), "{far}");
    }

    #[test]
    fn nearer_than_the_limits_reach_the_limit_holds() {
        let check = check_moment(
            Mass::kilograms(1000.0),
            Length::metres(1.2),
            Mass::kilograms(1001.0),
            Length::metres(0.6),
        );
        let at_most = Mass::kilograms(1000.0);
        assert_eq!(check.unwrap().result, MomentCheck::Refused { at_most });
    }

    #[test]
    fn a_hole_that_is_not_there_is_refused_by_name() {
        let plate = [BoomHole {
            name: "A".into(),
            limit: Mass::kilograms(500.0),
        }];
        let none = Mass::kilograms(0.0);
        let said = at_hole(&plate, "B", Mass::kilograms(1.0), none)
            .unwrap_err()
            .to_string();
        assert_eq!(said, "The plate has no hole \"B\": it has A");
    }

    proptest! {
        #[test]
        fn angle_and_height_undo_each_other(degrees in -60.0..80.0) {
            let hook = boom().hook(Angle::degrees(degrees)).unwrap().result;
            if let Ok(angle) = boom().angle_for(hook.height) {
                prop_assert!((angle.result.in_degrees() - degrees).abs() < 1e-6);
            }
        }

        #[test]
        fn no_number_panics(a: f64, b: f64, c: f64, d: f64) {
            let boom = Boom {
                pivot_height: Length::metres(a),
                length: Length::metres(b),
                hook_drop: Length::metres(c),
            };
            let _ = boom.hook(Angle::degrees(d));
            let _ = boom.roll(Length::metres(c), Length::metres(d));
            let _ = super::tests::boom().roll(Length::metres(a), Length::metres(b));
            let mass = Mass::kilograms;
            let _ = check_moment(mass(a), Length::metres(b), mass(c), Length::metres(d));
            let plate = [BoomHole { name: String::new(), limit: mass(a) }];
            let _ = at_hole(&plate, "", mass(b), mass(c));
        }
    }
}
