//! Loads whose centre is not in the middle: the nearer leg takes more.

use super::lifting::{LEAST_LOAD, LegAngle, MOST_LOAD, SlingError};
use super::quantity::{Length, Mass};
use super::range::hold;
use super::worked::{Answer, Worked, neat};

const SOURCE: &str = "\
    moments about the hook: T = load·far across·leg/(height·(near across + far across)) (a \
    shipyard's training page, whose own numbers cannot be true)";
const SHARE_SOURCE: &str = "\
    moments: the share of a point is the other point's distance over the sum (a sling maker's \
    worksheet)";

const LEAST_LENGTH: Length = Length::millimetres(1.0);
const MOST_LENGTH: Length = Length::metres(100.0);

/// How far a leg's measured length may be from the length its run makes it (common practice, no source:
/// what a tape on a hanging chain is worth).
const LENGTH_ERROR: f64 = 0.01;

/// The run of a leg from its lifting point to the hook.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LegRun {
    /// Level distance from the plumb line of the hook to the lifting point.
    pub across: Length,
    /// The length as measured, if it was: it must agree with the run.
    pub measured: Option<Length>,
}

/// What the two legs of an off-centre load bear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OffCentre {
    pub first: Mass,
    pub second: Mass,
    /// How hard the legs pull the lifting points together.
    pub inward: Mass,
    pub first_length: Length,
    pub second_length: Length,
}

impl From<OffCentre> for Answer {
    fn from(legs: OffCentre) -> Answer {
        Answer::Named(vec![
            ("first", legs.first.into()),
            ("second", legs.second.into()),
            ("inward", legs.inward.into()),
            ("first length", legs.first_length.into()),
            ("second length", legs.second_length.into()),
        ])
    }
}

/// Returns what two legs bear whose hook hangs plumb over the load's centre, `height` over both lifting
/// points.
///
/// Range: `load` 1 g to 100 t; `height` and each `across` 1 mm to 100 m; each leg at least 30° from
/// horizontal. Result in the unit of `load`.
///
/// # Errors
/// [`SlingError::Impossible`] where a measured length is more than 1 % off what the run makes it;
/// [`SlingError::TooFlat`]; [`SlingError::OutOfRange`].
pub fn off_centre(
    load: Mass,
    height: Length,
    first: LegRun,
    second: LegRun,
) -> Result<Worked<OffCentre>, SlingError> {
    hold("The load", load, LEAST_LOAD, MOST_LOAD)?;
    hold("The height", height, LEAST_LENGTH, MOST_LENGTH)?;
    let first_length = true_length(height, first)?;
    let second_length = true_length(height, second)?;
    for length in [first_length, second_length] {
        LegAngle::of_lengths(length, height)?.allowed()?;
    }
    let span = first.across + second.across;
    let borne = |other: Length, length: Length| load * ((other / span) * (length / height));
    let result = OffCentre {
        first: borne(second.across, first_length),
        second: borne(first.across, second_length),
        inward: load * ((first.across / span) * (second.across / height)),
        first_length,
        second_length,
    };
    let unit = load.unit();
    let leg = |other: Length, length: Length, borne: Mass| {
        format!(
            "{} {}·{}·{}/({}·{}) = {} {}",
            neat(load.value_in(unit)),
            unit.symbol(),
            neat(other.in_metres()),
            neat(length.in_metres()),
            neat(height.in_metres()),
            neat(span.in_metres()),
            neat(borne.value_in(unit)),
            unit.symbol(),
        )
    };
    let formula = format!(
        "first {}; second {} (lengths in m)",
        leg(second.across, first_length, result.first),
        leg(first.across, second_length, result.second),
    );
    Ok(Worked::new(result, formula, SOURCE).caution(
        "If the hook is not over the centre the load swings until it is: lift 20 to 50 mm and stop.",
    ))
}

fn true_length(height: Length, run: LegRun) -> Result<Length, SlingError> {
    hold("The distance across", run.across, LEAST_LENGTH, MOST_LENGTH)?;
    let true_length = Length::metres(run.across.in_metres().hypot(height.in_metres()));
    if let Some(given) = run.measured {
        hold("The leg", given, LEAST_LENGTH, MOST_LENGTH * 2.0)?;
        if (given / true_length - 1.0).abs() > LENGTH_ERROR {
            return Err(SlingError::Impossible {
                given,
                across: run.across.shown_in(given.unit()),
                height: height.shown_in(given.unit()),
                true_length: true_length.shown_in(given.unit()),
            });
        }
    }
    Ok(true_length)
}

/// What two upright legs, or two hoists, bear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UprightShares {
    pub first: Mass,
    pub second: Mass,
}

impl From<UprightShares> for Answer {
    fn from(shares: UprightShares) -> Answer {
        Answer::Named(vec![
            ("first", shares.first.into()),
            ("second", shares.second.into()),
        ])
    }
}

/// Returns what two upright slings bear whose lifting points are so far from the load's centre.
///
/// Range: `load` 1 g to 100 t, distances 1 mm to 100 m. Result in the unit of `load`.
///
/// # Errors
/// [`SlingError::OutOfRange`].
pub fn upright_shares(
    load: Mass,
    first: Length,
    second: Length,
) -> Result<Worked<UprightShares>, SlingError> {
    hold("The load", load, LEAST_LOAD, MOST_LOAD)?;
    hold("The first distance", first, LEAST_LENGTH, MOST_LENGTH)?;
    hold("The second distance", second, LEAST_LENGTH, MOST_LENGTH)?;
    let span = first + second;
    let shares = UprightShares {
        first: load * (second / span),
        second: load * (first / span),
    };
    let formula = format!(
        "first {load:.1}·{}/{} = {:.1}; second the rest, {:.1}",
        neat(second.in_metres()),
        neat(span.in_metres()),
        shares.first,
        shares.second,
    );
    Ok(Worked::new(shares, formula, SHARE_SOURCE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn run(across: f64) -> LegRun {
        LegRun {
            across: Length::metres(across),
            measured: None,
        }
    }

    #[test]
    fn a_measured_length_may_be_a_hundredth_off() {
        let load = Mass::kilograms(500.0);
        let measured = |length| LegRun {
            across: Length::metres(0.6),
            measured: Some(Length::metres(length)),
        };
        let borne = |length| off_centre(load, Length::metres(0.8), measured(length), run(0.6));
        assert!(borne(1.009).is_ok());
        let said = borne(1.02).unwrap_err().to_string();
        assert!(said.contains("it would be 1.000 m long"), "{said}");
    }

    proptest! {
        #[test]
        fn the_legs_bear_the_load_and_pull_alike(
            load in 1.0..5000.0, height in 0.5..3.0, first in 0.01..2.0, second in 0.01..2.0
        ) {
            let legs = off_centre(
                Mass::kilograms(load),
                Length::metres(height),
                run(first),
                run(second),
            );
            if let Ok(legs) = legs {
                let legs = legs.result;
                let part = |tension: Mass, across: f64, length: Length| {
                    let tension = tension.in_kilograms() / length.in_metres();
                    (tension * height, tension * across)
                };
                let (up_1, in_1) = part(legs.first, first, legs.first_length);
                let (up_2, in_2) = part(legs.second, second, legs.second_length);
                prop_assert!(((up_1 + up_2) / load - 1.0).abs() < 1e-9);
                prop_assert!((in_1 - in_2).abs() < 1e-6 * load);
                prop_assert!((in_1 - legs.inward.in_kilograms()).abs() < 1e-6 * load);
                // The nearer leg bears more of the weight.
                prop_assert_eq!(up_1 >= up_2, first <= second);
            }
        }

        #[test]
        fn no_number_panics(load: f64, height: f64, across: f64, length: f64) {
            let run = LegRun {
                across: Length::metres(across),
                measured: Some(Length::metres(length)),
            };
            let _ = off_centre(Mass::kilograms(load), Length::metres(height), run, run);
            let _ = upright_shares(Mass::kilograms(load), run.across, Length::metres(length));
        }
    }
}
