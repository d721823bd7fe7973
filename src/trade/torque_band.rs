//! A torque with its allowance, and whether a wrench can prove that it was met.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::quantity::{QuantityError, Share, leading_number};
use super::range::{OutOfRange, hold};
use super::torque::{TorqueError, TorqueUnit};
use super::worked::neat;
use super::{Answer, Torque, Worked};

/// A torque that must come to lie between two ends, such as `47 ± 5 N·m` or `42 to 52 N·m`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct TorqueBand {
    target: Torque,
    least: Torque,
    most: Torque,
}

/// Why a text is no band of torque.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum BandError {
    #[error("A band is written \"47 ± 5 N·m\", \"47 N·m ± 10 %\" or \"42 to 52 N·m\", not {0:?}")]
    NoBand(String),
    #[error(transparent)]
    Torque(#[from] TorqueError),
    #[error("An allowance must be smaller than the torque itself, not {0}")]
    AllowanceTooLarge(String),
    #[error("A band goes from the smaller torque to the larger, not from {0} to {1}")]
    Backwards(Torque, Torque),
}

impl From<QuantityError> for BandError {
    fn from(error: QuantityError) -> BandError {
        BandError::Torque(TorqueError::Unclear(error))
    }
}

impl TorqueBand {
    /// Makes a band from `least` to `most` around the middle of both, in the unit of `least`.
    ///
    /// # Errors
    /// [`BandError::Backwards`] unless `least` is below `most`.
    pub fn between(least: Torque, most: Torque) -> Result<TorqueBand, BandError> {
        let unit = least.unit();
        if least.newton_metres() >= most.newton_metres() {
            return Err(BandError::Backwards(least, most));
        }
        let middle = (least.value_in(unit) + most.value_in(unit)) / 2.0;
        let target = Torque::computed(middle, unit);
        Ok(TorqueBand {
            target,
            least,
            most,
        })
    }

    /// Makes the band of `target` with `allowance` to either side.
    ///
    /// # Errors
    /// [`BandError::AllowanceTooLarge`] when the allowance is 100 % or more.
    pub fn around(target: Torque, allowance: Share) -> Result<TorqueBand, BandError> {
        let apart = allowance.in_ones();
        if !(0.0..1.0).contains(&apart) {
            return Err(BandError::AllowanceTooLarge(allowance.to_string()));
        }
        let unit = target.unit();
        let at = |factor: f64| Torque::computed(target.value_in(unit) * factor, unit);
        Ok(TorqueBand {
            target,
            least: at(1.0 - apart),
            most: at(1.0 + apart),
        })
    }

    /// Returns the torque aimed at.
    pub fn target(self) -> Torque {
        self.target
    }

    /// Returns the least torque allowed.
    pub fn least(self) -> Torque {
        self.least
    }

    /// Returns the largest torque allowed.
    pub fn most(self) -> Torque {
        self.most
    }

    /// Returns whether a wrench that deviates by up to `deviation` and is set to `setting` leaves the
    /// fastener inside the band whatever it does: S·(1 − a) ≥ least and S·(1 + a) ≤ most.
    ///
    /// The settings with which it can are in the result too; none when the band is too narrow for
    /// this wrench.
    ///
    /// Source: first principles from the permissible deviation of ISO 6789-1:2017, which is a share of
    /// the set value (±4 % above 10 N·m, ±6 % up to 10 N·m for class A setting wrenches).
    pub fn proved_by(self, setting: Torque, deviation: Share) -> Worked<Proof> {
        let a = deviation.in_ones();
        let unit = self.target.unit();
        let set = setting.value_in(unit);
        let (low, high) = (set * (1.0 - a), set * (1.0 + a));
        let (least, most) = (self.least.value_in(unit), self.most.value_in(unit));
        // Ends met exactly count; what conversion leaves in the last digits does not.
        let slack = 1e-9 * most;
        let proved = low >= least - slack && high <= most + slack;
        let (from, to) = (least / (1.0 - a), most / (1.0 + a));
        let settings = (from <= to + slack)
            .then(|| (Torque::computed(from, unit), Torque::computed(to, unit)));
        let symbol = unit.symbol();
        let formula = format!(
            "{set} {symbol} × (1 ± {a}) = {low} to {high} {symbol}, wanted {least} to {most} {symbol}",
            set = neat(set),
            a = neat(a),
            low = neat(low),
            high = neat(high),
            least = neat(least),
            most = neat(most),
        );
        let proof = Proof {
            proved,
            delivered: (Torque::computed(low, unit), Torque::computed(high, unit)),
            settings,
        };
        let worked = Worked::new(proof, formula, "deviation by ISO 6789-1:2017; arithmetic");
        match (proved, settings) {
            (true, _) => worked,
            (false, Some((from, to))) => worked.caution(format!(
                "This setting does not prove the band: set from {} to {} {symbol}.",
                neat(from.value_in(unit)),
                neat(to.value_in(unit))
            )),
            (false, None) => worked
                .caution("No setting of this wrench proves the band: use one that deviates less."),
        }
    }
}

/// Returns by how much a wrench may deviate from its setting, if one can be made that does.
///
/// Range: 0.1 % to 25 % (no source); a class of ISO 6789-1:2017 has ±4 % or ±6 %.
///
/// # Errors
/// [`OutOfRange`] outside it: a wrench that never deviates would prove anything.
pub fn deviation(class: Share) -> Result<Share, OutOfRange> {
    let (least, most) = (Share::percent(0.1), Share::percent(25.0));
    hold("The wrench's deviation", class, least, most)
}

/// What a wrench at a setting leaves on the fastener, against a band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proof {
    pub proved: bool,
    /// The least and the largest torque the wrench may deliver.
    pub delivered: (Torque, Torque),
    /// The lowest and the highest setting that prove the band; none when no setting does.
    pub settings: Option<(Torque, Torque)>,
}

impl From<Proof> for Answer {
    fn from(proof: Proof) -> Answer {
        let word = if proof.proved { "proved" } else { "not proved" };
        Answer::Named(vec![
            ("band", Answer::Words(word.into())),
            ("least", proof.delivered.0.into()),
            ("most", proof.delivered.1.into()),
        ])
    }
}

/// Shows `47 N·m (42 to 52)`.
impl fmt::Display for TorqueBand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = self.target.unit();
        let value = |torque: Torque| neat(torque.value_in(unit));
        write!(
            f,
            "{} {} ({} to {})",
            value(self.target),
            unit.symbol(),
            value(self.least),
            value(self.most)
        )
    }
}

impl FromStr for TorqueBand {
    type Err = BandError;

    fn from_str(text: &str) -> Result<TorqueBand, BandError> {
        let no_band = || BandError::NoBand(text.trim().into());
        let plain = text.trim().replace("+/-", "±").replace("+-", "±");
        if let Some((target, allowance)) = plain.split_once('±') {
            return with_allowance(target, allowance)
                .map_err(|error| error.unwrap_or_else(no_band));
        }
        // The form in which a band shows itself: 47 N·m (42 to 52).
        if let Some((target, ends)) = plain.split_once('(') {
            let target: Torque = target.parse()?;
            let ends = ends.strip_suffix(')').ok_or_else(no_band)?;
            let ends = format!("{ends} {}", target.unit().symbol());
            let (least, most) = two_ends(&ends)?.ok_or_else(no_band)?;
            let inside = least.newton_metres() <= target.newton_metres()
                && target.newton_metres() <= most.newton_metres();
            return if inside {
                Ok(TorqueBand {
                    target,
                    least,
                    most,
                })
            } else {
                Err(no_band())
            };
        }
        let (least, most) = two_ends(&plain)?.ok_or_else(no_band)?;
        TorqueBand::between(least, most)
    }
}

/// Reads `47` and `5 N·m`, `47 N·m` and `5`, or `47 N·m` and `10 %`. `Err(None)`: it is no band.
fn with_allowance(target: &str, allowance: &str) -> Result<TorqueBand, Option<BandError>> {
    let wrong = |error: QuantityError| Some(error.into());
    let (target, unit) = leading_number(target).map_err(wrong)?.ok_or(None)?;
    let (apart, apart_unit) = leading_number(allowance).map_err(wrong)?.ok_or(None)?;
    if apart_unit.trim() == "%" {
        let target = torque(target, unit)?;
        return TorqueBand::around(target, Share::percent(apart)).map_err(Some);
    }
    let unit = match (unit.trim(), apart_unit.trim()) {
        ("", unit) | (unit, "") => unit,
        (unit, other) if TorqueUnit::from_written(unit) == TorqueUnit::from_written(other) => unit,
        _ => return Err(None),
    };
    if !(0.0..target).contains(&apart) {
        return Err(Some(BandError::AllowanceTooLarge(allowance.trim().into())));
    }
    Ok(TorqueBand {
        target: torque(target, unit)?,
        least: torque(target - apart, unit)?,
        most: torque(target + apart, unit)?,
    })
}

fn torque(value: f64, unit: &str) -> Result<Torque, Option<BandError>> {
    let unit = TorqueUnit::from_written(unit)
        .ok_or_else(|| BandError::Torque(TorqueError::UnknownUnit(unit.trim().into())))?;
    Torque::new(value, unit).map_err(|error| Some(error.into()))
}

/// Reads `42 to 52 N·m`, `42–52 N·m`, `42...52 N·m` or `42 N·m to 52 N·m`.
fn two_ends(text: &str) -> Result<Option<(Torque, Torque)>, BandError> {
    let Some((least, rest)) = leading_number(text)? else {
        return Ok(None);
    };
    for between in [" to ", "to ", "...", "…", "–", "-"] {
        let Some((unit, most)) = rest.split_once(between) else {
            continue;
        };
        let most: Torque = most.parse()?;
        let unit = match unit.trim() {
            "" => most.unit(),
            unit => TorqueUnit::from_written(unit)
                .ok_or_else(|| TorqueError::UnknownUnit(unit.into()))?,
        };
        return Ok(Some((Torque::new(least, unit)?, most)));
    }
    Ok(None)
}

impl TryFrom<String> for TorqueBand {
    type Error = BandError;

    fn try_from(text: String) -> Result<TorqueBand, BandError> {
        text.parse()
    }
}

/// Writes every digit, so that it reads back as it was.
impl From<TorqueBand> for String {
    fn from(band: TorqueBand) -> String {
        let unit = band.target.unit();
        let value = |torque: Torque| torque.value_in(unit);
        format!(
            "{} {} ({} to {})",
            value(band.target),
            unit.symbol(),
            value(band.least),
            value(band.most)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_are_read_as_people_write_them() {
        for text in [
            "47 ± 5 N·m",
            "47 +/- 5 Nm",
            "47 N·m ± 5",
            "47 N·m ± 5 N·m",
            "42 to 52 N·m",
            "42–52 Nm",
            "42...52 N·m",
            "42 N·m to 52 N·m",
            "47 N·m (42 to 52)",
        ] {
            let band: TorqueBand = text.parse().unwrap();
            assert_eq!(band.to_string(), "47 N·m (42 to 52)", "{text}");
        }
        let share: TorqueBand = "50 lbf·ft ± 10 %".parse().unwrap();
        assert_eq!(share.to_string(), "50 lbf·ft (45 to 55)");
        for text in [
            "47",
            "47 N·m",
            "5 ± 9 N·m",
            "52 to 42 N·m",
            "47 N·m ± 5 lbf·ft",
            "a ± b",
        ] {
            assert!(text.parse::<TorqueBand>().is_err(), "{text}");
        }
    }
}
