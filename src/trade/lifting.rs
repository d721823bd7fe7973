//! Slings: what each leg carries, by the lengths or by an angle whose reference is named.
//!
//! Loads and tensions are masses, as the plates of lifting gear give them: a leg that carries "180 kg"
//! is pulled as by a hanging mass of 180 kg.

use serde::{Deserialize, Serialize};

use super::quantity::{Angle, Length, Mass, Share};
use super::range::{OutOfRange, hold};
use super::worked::{Answer, Worked, neat};

const SOURCE: &str = "\
    tension = share of the load/sin of the angle from horizontal = share·length/height (sling \
    makers' angle tables; United States Navy NAVEDTRA 14080)";
const BAND_SOURCE: &str = "EN 818-4, uniform load method (as quoted by chain makers)";

/// The flattest leg allowed, from horizontal: ASME B30.9, EN 818-4 (60° from vertical).
pub const FLATTEST: Angle = Angle::degrees(30.0);
const UPRIGHT: Angle = Angle::degrees(90.0);
pub const LEAST_LOAD: Mass = Mass::grams(1.0);
pub const MOST_LOAD: Mass = Mass::tonnes(100.0);
const LEAST_LENGTH: Length = Length::millimetres(1.0);
const MOST_LENGTH: Length = Length::metres(100.0);

/// Why a sling cannot be reckoned, or must not be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SlingError {
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error(
        "A leg at {from_horizontal:.0} from horizontal ({from_vertical:.0} from vertical) is too flat, the \
         least is {FLATTEST} from horizontal: use longer slings or a spreader"
    )]
    TooFlat {
        from_horizontal: Angle,
        from_vertical: Angle,
    },
    #[error(
        "A leg of {length:.3} cannot reach straight up {height:.3}: measure the height from the lifting \
         points to the hook, and the leg from end to end"
    )]
    ShorterThanHigh { length: Length, height: Length },
    #[error(
        "A leg of {given:.3} cannot be true where it runs {across:.3} across and {height:.3} up: it would \
         be {true_length:.3} long; measure again"
    )]
    Impossible {
        given: Length,
        across: Length,
        height: Length,
        true_length: Length,
    },
}

/// The direction of a leg, with the line it is measured from: tables in America measure from horizontal,
/// European ones (β) from vertical, and the two must never be taken for each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LegAngle {
    FromHorizontal(Angle),
    FromVertical(Angle),
}

impl LegAngle {
    /// Returns the angle measured from horizontal.
    pub fn from_horizontal(self) -> Angle {
        match self {
            LegAngle::FromHorizontal(angle) => angle,
            LegAngle::FromVertical(angle) => UPRIGHT - angle,
        }
    }

    /// Returns the angle measured from vertical.
    pub fn from_vertical(self) -> Angle {
        match self {
            LegAngle::FromHorizontal(angle) => UPRIGHT - angle,
            LegAngle::FromVertical(angle) => angle,
        }
    }

    /// Returns the direction of a leg of `length` whose hook stands `height` over the lifting points.
    ///
    /// Range: both 1 mm to 100 m.
    ///
    /// # Errors
    /// [`SlingError::ShorterThanHigh`], [`SlingError::OutOfRange`].
    pub fn of_lengths(length: Length, height: Length) -> Result<LegAngle, SlingError> {
        hold("The leg", length, LEAST_LENGTH, MOST_LENGTH)?;
        hold("The height", height, LEAST_LENGTH, MOST_LENGTH)?;
        if height > length {
            return Err(SlingError::ShorterThanHigh { length, height });
        }
        let angle = Angle::degrees((height / length).asin().to_degrees());
        Ok(LegAngle::FromHorizontal(angle))
    }

    /// Returns the angle from horizontal, held to what may be used.
    pub(in crate::trade) fn allowed(self) -> Result<Angle, SlingError> {
        let angle = Angle::degrees(self.from_horizontal().in_degrees());
        // A leg measured as exactly 30° must not fall to a rounding of the sine.
        let flattest = FLATTEST.in_degrees() - 1e-9;
        if angle.in_degrees() < flattest {
            return Err(SlingError::TooFlat {
                from_horizontal: angle,
                from_vertical: UPRIGHT - angle,
            });
        }
        let (what, given) = match self {
            LegAngle::FromHorizontal(given) => ("The angle from horizontal", given),
            LegAngle::FromVertical(given) => ("The angle from vertical", given),
        };
        hold(what, given, Angle::degrees(0.0), UPRIGHT)?;
        Ok(angle)
    }
}

/// The legs of a sling, all at the same angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Legs {
    One,
    Two,
    Three,
    /// Two legs carry and two only balance: so unless somebody who can judge it says otherwise (NAVEDTRA
    /// 14081, of rigid loads).
    Four,
    /// Stated by somebody who can judge it: the load is shared. Counts as three legs, the fourth never
    /// counts (EN 818-4).
    FourShared,
}

impl Legs {
    /// Returns how many legs are taken to carry.
    pub fn carrying(self) -> u8 {
        match self {
            Legs::One => 1,
            Legs::Two | Legs::Four => 2,
            Legs::Three | Legs::FourShared => 3,
        }
    }
}

/// What a leg bears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LegTension {
    /// Along the leg.
    pub tension: Mass,
    /// How hard the leg pulls its lifting point sideways.
    pub inward: Mass,
    pub from_horizontal: Angle,
    pub from_vertical: Angle,
}

impl From<LegTension> for Answer {
    fn from(leg: LegTension) -> Answer {
        Answer::Named(vec![
            ("tension", leg.tension.into()),
            ("inward", leg.inward.into()),
            ("from horizontal", leg.from_horizontal.into()),
            ("from vertical", leg.from_vertical.into()),
        ])
    }
}

/// Returns what each carrying leg bears of `load`, the hook being plumb over its centre.
///
/// Range: `load` 1 g to 100 t, legs 30° to 90° from horizontal. Result in the unit of `load`.
///
/// # Errors
/// [`SlingError::TooFlat`] under 30° from horizontal; [`SlingError::OutOfRange`].
pub fn leg_tension(
    load: Mass,
    legs: Legs,
    angle: LegAngle,
) -> Result<Worked<LegTension>, SlingError> {
    hold("The load", load, LEAST_LOAD, MOST_LOAD)?;
    let angle = angle.allowed()?;
    let share = load / f64::from(legs.carrying());
    let sine = angle.in_radians().sin();
    let tension = LegTension {
        tension: share / sine,
        inward: share * (angle.in_radians().cos().max(0.0) / sine),
        from_horizontal: angle,
        from_vertical: UPRIGHT - angle,
    };
    let unit = load.unit().symbol();
    let formula = format!(
        "{} {unit}/{}/sin {}° = {} {unit} a leg; {}° from horizontal is {}° from vertical",
        neat(load.value_in(load.unit())),
        legs.carrying(),
        neat(angle.in_degrees()),
        neat(tension.tension.value_in(load.unit())),
        neat(angle.in_degrees()),
        neat(tension.from_vertical.in_degrees()),
    );
    let worked = Worked::new(tension, formula, SOURCE);
    Ok(match legs {
        Legs::Four => worked.caution(
            "Two of four legs are taken to carry all: on a rigid load the other two only balance.",
        ),
        Legs::Three | Legs::FourShared => worked.caution(
            "Three legs are taken to share alike: true only for legs of one length around the centre.",
        ),
        Legs::One | Legs::Two => worked,
    })
}

/// What the hook and each carrying leg bear of a whole lift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiftBears {
    /// Load and rigging: what the hook and the crane bear.
    pub hook: Mass,
    pub leg: LegTension,
}

impl From<LiftBears> for Answer {
    fn from(bears: LiftBears) -> Answer {
        Answer::Named(vec![("hook", bears.hook.into()), ("leg", bears.leg.into())])
    }
}

/// Returns what the hook and each carrying leg bear of `load` with its `rigging`.
///
/// The legs are taken to bear the rigging too, part of which they are: the safe side. Range: `load` 1 g
/// to 100 t, `rigging` 0 to 100 t, together at most 100 t. Result in the unit of `load`.
///
/// # Errors
/// As [`leg_tension`].
pub fn lift(
    load: Mass,
    rigging: Mass,
    legs: Legs,
    angle: LegAngle,
) -> Result<Worked<LiftBears>, SlingError> {
    hold("The load", load, LEAST_LOAD, MOST_LOAD)?;
    hold("The rigging", rigging, Mass::kilograms(0.0), MOST_LOAD)?;
    let hook = load + rigging;
    let leg = leg_tension(hook, legs, angle)?;
    let formula = format!("{load:.1} + {rigging:.1} = {hook:.1}; {}", leg.formula);
    let mut worked = leg.map(|leg| LiftBears { hook, leg });
    worked.formula = formula;
    Ok(worked)
}

/// Returns how much a sling may lift by EN 818-4, if one leg of it may lift `one_leg`.
///
/// The share is of the limit of one leg: two legs 140 % up to 45° from vertical and 100 % up to 60°,
/// three or four legs 210 % and 150 %. The plate of the sling holds where it says less.
///
/// # Errors
/// [`SlingError::TooFlat`] over 60° from vertical; [`SlingError::OutOfRange`].
pub fn limit_by_standard(
    one_leg: Mass,
    legs: Legs,
    angle: LegAngle,
) -> Result<Worked<Mass>, SlingError> {
    hold("The limit of one leg", one_leg, LEAST_LOAD, MOST_LOAD)?;
    let from_vertical = (UPRIGHT - angle.allowed()?).in_degrees();
    let steep = from_vertical <= 45.0 + 1e-9;
    let share = Share::percent(match (legs, steep) {
        (Legs::One, _) => 100.0 * from_vertical.to_radians().cos(),
        (Legs::Two | Legs::Four, true) => 140.0,
        (Legs::Two | Legs::Four, false) => 100.0,
        (Legs::Three | Legs::FourShared, true) => 210.0,
        (Legs::Three | Legs::FourShared, false) => 150.0,
    });
    let limit = one_leg * share.in_ones();
    let formula = format!(
        "{:.0} of {:.3} at {}° from vertical = {:.3}",
        share,
        one_leg,
        neat(from_vertical),
        limit
    );
    Ok(Worked::new(limit, formula, BAND_SOURCE)
        .caution("The sling's own plate holds where it says less."))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Derived: 180 kg on two legs is 90 kg a leg, over the sine; 60° 103.9, 45° 127.3, 30° 180.0.
    #[test]
    fn an_engine_on_two_legs() {
        for (degrees, tension, inward) in [
            (60.0, 103.9, 52.0),
            (45.0, 127.3, 90.0),
            (30.0, 180.0, 155.9),
        ] {
            let angle = LegAngle::FromHorizontal(Angle::degrees(degrees));
            let leg = leg_tension(Mass::kilograms(180.0), Legs::Two, angle)
                .unwrap()
                .result;
            assert!(
                (leg.tension.in_kilograms() - tension).abs() < 0.05,
                "{degrees}°"
            );
            assert!(
                (leg.inward.in_kilograms() - inward).abs() < 0.05,
                "{degrees}°"
            );
        }
    }

    #[test]
    fn the_rigging_hangs_on_the_hook_too() {
        let angle = LegAngle::FromHorizontal(Angle::degrees(30.0));
        let (load, rigging) = (Mass::kilograms(180.0), Mass::kilograms(20.0));
        let bears = lift(load, rigging, Legs::Two, angle).unwrap();
        assert_eq!(bears.result.hook, Mass::kilograms(200.0));
        assert!((bears.result.leg.tension.in_kilograms() - 200.0).abs() < 1e-9);
        assert!(
            bears.formula.starts_with("180.0 kg + 20.0 kg = 200.0 kg; "),
            "{}",
            bears.formula
        );
        assert!(lift(load, Mass::kilograms(-1.0), Legs::Two, angle).is_err());
    }

    #[test]
    fn the_worked_line_names_both_references() {
        let angle = LegAngle::FromVertical(Angle::degrees(30.0));
        let leg = leg_tension(Mass::kilograms(180.0), Legs::Four, angle).unwrap();
        assert!(
            leg.formula
                .ends_with("60° from horizontal is 30° from vertical"),
            "{}",
            leg.formula
        );
        assert!(leg.cautions[0].contains("Two of four legs"));
    }

    #[test]
    fn lengths_that_cannot_be_are_refused() {
        let lengths =
            |length, height| LegAngle::of_lengths(Length::metres(length), Length::metres(height));
        let said = lengths(1.0, 1.2).unwrap_err().to_string();
        assert!(said.contains("cannot reach straight up"), "{said}");
        assert!(lengths(0.0, 0.0).is_err());
        assert!(lengths(f64::NAN, 1.0).is_err());
        assert!((lengths(2.0, 1.0).unwrap().from_horizontal().in_degrees() - 30.0).abs() < 1e-9);
        // A leg of exactly twice the height lies at 30° and may be used.
        assert!(leg_tension(Mass::kilograms(10.0), Legs::Two, lengths(2.0, 1.0).unwrap()).is_ok());
    }

    #[test]
    fn angles_outside_the_quarter_are_refused() {
        let load = Mass::kilograms(10.0);
        for angle in [91.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let angle = Angle::degrees(angle);
            assert!(leg_tension(load, Legs::Two, LegAngle::FromHorizontal(angle)).is_err());
            assert!(leg_tension(load, Legs::Two, LegAngle::FromVertical(angle)).is_err());
        }
    }

    proptest! {
        #[test]
        fn the_legs_together_bear_the_load(load in 1.0..5000.0, degrees in 30.0..90.0) {
            for legs in [Legs::One, Legs::Two, Legs::Three, Legs::Four, Legs::FourShared] {
                let angle = LegAngle::FromHorizontal(Angle::degrees(degrees));
                let leg = leg_tension(Mass::kilograms(load), legs, angle).unwrap().result;
                let tension = leg.tension.in_kilograms();
                let up = tension * degrees.to_radians().sin() * f64::from(legs.carrying());
                prop_assert!((up / load - 1.0).abs() < 1e-9);
                let along = leg.inward.in_kilograms().hypot(load / f64::from(legs.carrying()));
                prop_assert!((along / tension - 1.0).abs() < 1e-9);
            }
        }

        #[test]
        fn no_number_panics(load: f64, a: f64, b: f64) {
            if let Ok(angle) = LegAngle::of_lengths(Length::metres(a), Length::metres(b)) {
                let _ = leg_tension(Mass::kilograms(load), Legs::Three, angle);
                let _ = limit_by_standard(Mass::kilograms(load), Legs::One, angle);
                let _ = lift(Mass::kilograms(a), Mass::kilograms(load), Legs::Two, angle);
            }
            let angle = LegAngle::FromVertical(Angle::degrees(a));
            let _ = leg_tension(Mass::kilograms(load), Legs::Four, angle);
        }
    }
}
