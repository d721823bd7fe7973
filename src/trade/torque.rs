//! Torque, kept as it was written.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A unit of torque.
///
/// Factors are exact: 1 lb = 0.453 592 37 kg, 1 ft = 0.3048 m, 1 in = 25.4 mm (international yard
/// and pound agreement of 1959), standard gravity 9.806 65 m/s² (SI Brochure, 9th edition).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TorqueUnit {
    NewtonMetre,
    PoundForceFoot,
    PoundForceInch,
    KilogramForceMetre,
}

impl TorqueUnit {
    /// Returns how many newton metres one of this unit is.
    pub fn newton_metres(self) -> f64 {
        match self {
            TorqueUnit::NewtonMetre => 1.0,
            TorqueUnit::PoundForceFoot => 1.355_817_948_331_400_4,
            TorqueUnit::PoundForceInch => 0.112_984_829_027_616_7,
            TorqueUnit::KilogramForceMetre => 9.806_65,
        }
    }

    /// Returns the unit's symbol, as shown.
    pub fn symbol(self) -> &'static str {
        match self {
            TorqueUnit::NewtonMetre => "N·m",
            TorqueUnit::PoundForceFoot => "lbf·ft",
            TorqueUnit::PoundForceInch => "lbf·in",
            TorqueUnit::KilogramForceMetre => "kgf·m",
        }
    }

    /// Returns the unit in words, as spoken.
    pub fn spoken(self) -> &'static str {
        match self {
            TorqueUnit::NewtonMetre => "newton metres",
            TorqueUnit::PoundForceFoot => "pound feet",
            TorqueUnit::PoundForceInch => "pound inches",
            TorqueUnit::KilogramForceMetre => "kilogram metres",
        }
    }

    fn from_written(text: &str) -> Option<TorqueUnit> {
        match text {
            "N·m" | "N m" | "Nm" | "N.m" => Some(TorqueUnit::NewtonMetre),
            "lbf·ft" | "lbf ft" | "lbf.ft" => Some(TorqueUnit::PoundForceFoot),
            "lbf·in" | "lbf in" | "lbf.in" => Some(TorqueUnit::PoundForceInch),
            "kgf·m" | "kgf m" | "kgf.m" => Some(TorqueUnit::KilogramForceMetre),
            _ => None,
        }
    }
}

/// A torque above 0 and up to 2000 N·m, with value and unit kept as written.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Torque {
    value: f64,
    unit: TorqueUnit,
}

/// The largest torque a procedure may ask for, in N·m: beyond it a figure is more likely a slip of
/// the pen than a fastener of a road vehicle (common practice, no source).
pub const LARGEST_NEWTON_METRES: f64 = 2000.0;

/// Why a text is no torque.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TorqueError {
    #[error("a torque is a number and a unit, such as \"110 N·m\", not {0:?}")]
    NoNumber(String),
    #[error("unknown torque unit {0:?}: write N·m, lbf·ft, lbf·in or kgf·m")]
    UnknownUnit(String),
    #[error("a torque must be above 0 and at most 2000 N·m, not {0}")]
    OutOfRange(String),
}

impl Torque {
    /// Makes a torque of `value` in `unit`.
    ///
    /// # Errors
    /// [`TorqueError::OutOfRange`] unless it is above 0 and at most 2000 N·m.
    pub fn new(value: f64, unit: TorqueUnit) -> Result<Torque, TorqueError> {
        let newton_metres = value * unit.newton_metres();
        if newton_metres > 0.0 && newton_metres <= LARGEST_NEWTON_METRES {
            Ok(Torque { value, unit })
        } else {
            Err(TorqueError::OutOfRange(format!(
                "{value} {}",
                unit.symbol()
            )))
        }
    }

    /// Returns the torque in newton metres.
    pub fn newton_metres(self) -> f64 {
        self.value * self.unit.newton_metres()
    }

    /// Returns the unit as written.
    pub fn unit(self) -> TorqueUnit {
        self.unit
    }

    /// Returns the share `share` of this torque, rounded down to a whole unit of the scale (never
    /// above the target), or the unrounded share where that would be nothing.
    pub fn share(self, share: f64) -> Torque {
        // The small excess keeps 0.7 × 110 from becoming 76.999… and so 76.
        let exact = self.value * share;
        let whole = (exact + 1e-9).floor();
        let value = if whole >= 1.0 { whole } else { exact };
        Torque {
            value,
            unit: self.unit,
        }
    }

    /// Returns the torque in words for the voice: `77 newton metres`.
    pub fn spoken(self) -> String {
        format!("{} {}", self.value, self.unit.spoken())
    }
}

impl fmt::Display for Torque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.value, self.unit.symbol())
    }
}

impl FromStr for Torque {
    type Err = TorqueError;

    fn from_str(text: &str) -> Result<Torque, TorqueError> {
        let text = text.trim();
        let split = text
            .find(|c: char| !c.is_ascii_digit() && c != '.')
            .ok_or_else(|| TorqueError::NoNumber(text.into()))?;
        let (number, unit) = text.split_at(split);
        let value: f64 = number
            .parse()
            .map_err(|_| TorqueError::NoNumber(text.into()))?;
        let unit = unit.trim();
        let unit =
            TorqueUnit::from_written(unit).ok_or_else(|| TorqueError::UnknownUnit(unit.into()))?;
        Torque::new(value, unit)
    }
}

impl TryFrom<String> for Torque {
    type Error = TorqueError;

    fn try_from(text: String) -> Result<Torque, TorqueError> {
        text.parse()
    }
}

impl From<Torque> for String {
    fn from(torque: Torque) -> String {
        torque.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Check values: torque conversion factors of NIST SP 811 (2008), Appendix B.8, rounded there to
    /// seven figures (1 lbf·ft = 1.355 818 N·m, 1 lbf·in = 0.112 984 8 N·m, 1 kgf·m = 9.806 65 N·m).
    #[test]
    fn factors_agree_with_sp_811() {
        let published = [
            (TorqueUnit::PoundForceFoot, 1.355_818, 5e-7),
            (TorqueUnit::PoundForceInch, 0.112_984_8, 5e-8),
            (TorqueUnit::KilogramForceMetre, 9.806_65, 1e-12),
        ];
        for (unit, factor, half_a_digit) in published {
            assert!(
                (unit.newton_metres() - factor).abs() <= half_a_digit,
                "{unit:?}"
            );
        }
    }

    #[test]
    fn a_torque_keeps_what_was_written() {
        let torque: Torque = "80 lbf·ft".parse().unwrap();
        assert_eq!(torque.to_string(), "80 lbf·ft");
        assert!((torque.newton_metres() - 108.47).abs() < 0.005);
    }

    #[test]
    fn a_share_is_rounded_down_to_the_scale() {
        let torque: Torque = "110 N·m".parse().unwrap();
        assert_eq!(torque.share(0.4).to_string(), "44 N·m");
        assert_eq!(torque.share(0.7).to_string(), "77 N·m");
        assert_eq!(torque.share(0.5).to_string(), "55 N·m");
        assert_eq!(torque.share(1.0).to_string(), "110 N·m");
        let odd: Torque = "47 N·m".parse().unwrap();
        assert_eq!(odd.share(0.7).to_string(), "32 N·m");
    }

    #[test]
    fn what_is_no_torque_says_why() {
        for text in [
            "",
            "N·m",
            "110",
            "110 newton",
            "-4 N·m",
            "0 N·m",
            "9000 N·m",
            "1.2.3 N·m",
        ] {
            assert!(text.parse::<Torque>().is_err(), "{text:?}");
        }
    }
}
