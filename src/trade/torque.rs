//! Torque, kept as it was written.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::Answer;
use super::quantity::{QuantityError, leading_number, normal};

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
    KilogramForceCentimetre,
}

impl TorqueUnit {
    /// Returns how many newton metres one of this unit is.
    pub fn newton_metres(self) -> f64 {
        match self {
            TorqueUnit::NewtonMetre => 1.0,
            TorqueUnit::PoundForceFoot => 1.355_817_948_331_400_4,
            TorqueUnit::PoundForceInch => 0.112_984_829_027_616_7,
            TorqueUnit::KilogramForceMetre => 9.806_65,
            TorqueUnit::KilogramForceCentimetre => 0.098_066_5,
        }
    }

    /// Returns the unit's symbol, as shown.
    pub fn symbol(self) -> &'static str {
        match self {
            TorqueUnit::NewtonMetre => "N·m",
            TorqueUnit::PoundForceFoot => "lbf·ft",
            TorqueUnit::PoundForceInch => "lbf·in",
            TorqueUnit::KilogramForceMetre => "kgf·m",
            TorqueUnit::KilogramForceCentimetre => "kgf·cm",
        }
    }

    /// Returns the unit in words, as spoken.
    pub fn spoken(self) -> &'static str {
        match self {
            TorqueUnit::NewtonMetre => "newton metres",
            TorqueUnit::PoundForceFoot => "pound feet",
            TorqueUnit::PoundForceInch => "pound inches",
            TorqueUnit::KilogramForceMetre => "kilogram metres",
            TorqueUnit::KilogramForceCentimetre => "kilogram centimetres",
        }
    }

    /// Returns the unit people mean by `text`: "foot pounds" and "lb-ft" are the same thing, and the
    /// kilograms of old sheets (`mkg`, `m·kp`) are kilograms of force.
    pub(in crate::trade) fn from_written(text: &str) -> Option<TorqueUnit> {
        let words = normal(text);
        let shape: String = words.split_whitespace().collect();
        match shape.as_str() {
            "nm" | "newtonmetre" | "newtonmetres" | "newtonmeter" | "newtonmeters" => {
                Some(TorqueUnit::NewtonMetre)
            }
            "lbfft" | "ftlbf" | "lbft" | "lbsft" | "ftlb" | "ftlbs" | "poundfoot" | "poundfeet"
            | "poundsfeet" | "poundsfoot" | "footpound" | "footpounds" | "lbffoot"
            | "lbforceft" => Some(TorqueUnit::PoundForceFoot),
            "lbfin" | "inlbf" | "lbin" | "lbsin" | "inlb" | "inlbs" | "poundinch"
            | "poundinches" | "inchpound" | "inchpounds" | "poundsinch" => {
                Some(TorqueUnit::PoundForceInch)
            }
            "kgfm" | "mkgf" | "kgm" | "mkg" | "kpm" | "mkp" | "kilogrammetre"
            | "kilogrammetres" | "kilogrammeter" | "kilogrammeters" | "metrekilogram"
            | "metrekilograms" => Some(TorqueUnit::KilogramForceMetre),
            "kgfcm"
            | "cmkgf"
            | "kgcm"
            | "cmkg"
            | "kpcm"
            | "cmkp"
            | "kilogramcentimetre"
            | "kilogramcentimetres"
            | "kilogramcentimeter"
            | "kilogramcentimeters" => Some(TorqueUnit::KilogramForceCentimetre),
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
    #[error("A torque is a number and a unit, such as \"110 N·m\", not {0:?}")]
    NoNumber(String),
    #[error(transparent)]
    Unclear(#[from] QuantityError),
    #[error("Unknown torque unit {0:?}: write N·m, lbf·ft, lbf·in or kgf·m")]
    UnknownUnit(String),
    #[error("A torque must be above 0 and at most 2000 N·m, not {given}: type {nearest}")]
    OutOfRange { given: String, nearest: String },
    #[error("{written} is below the first mark of a scale in steps of {step}: take a finer wrench")]
    BelowScale { written: Torque, step: Torque },
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
            let symbol = unit.symbol();
            let most = (LARGEST_NEWTON_METRES / unit.newton_metres()).floor();
            Err(TorqueError::OutOfRange {
                given: format!("{value} {symbol}"),
                nearest: if newton_metres > 0.0 {
                    format!("{most} {symbol}")
                } else {
                    "more than 0".into()
                },
            })
        }
    }

    /// Returns the torque in newton metres.
    pub fn newton_metres(self) -> f64 {
        self.value * self.unit.newton_metres()
    }

    /// Returns the value in `unit`, from the value as written.
    pub fn value_in(self, unit: TorqueUnit) -> f64 {
        if unit == self.unit {
            self.value
        } else {
            self.newton_metres() / unit.newton_metres()
        }
    }

    /// Returns the torque as it reads in `unit`, for showing beside what was written.
    pub fn shown_in(self, unit: TorqueUnit) -> ShownTorque {
        ShownTorque {
            written: self,
            unit,
        }
    }

    /// Returns the unit as written.
    pub fn unit(self) -> TorqueUnit {
        self.unit
    }

    /// Returns the largest mark of a scale that is not above this torque, in the unit of the scale
    /// whose marks are `step` apart; none when this torque is below the first mark.
    pub fn down_to_mark(self, step: Torque) -> Option<Torque> {
        let marks = self.value_in(step.unit) / step.value;
        // The small excess keeps a torque that is on a mark from falling to the one below.
        let marks = (marks + 1e-9).floor();
        (marks >= 1.0).then(|| Torque {
            // A step such as 0.1 has no exact double: the mark is written as its step is.
            value: rounded_like(marks * step.value, step.value),
            unit: step.unit,
        })
    }

    /// Makes a torque that a sum came to, which may be beyond what a procedure may ask for.
    pub(in crate::trade) fn computed(value: f64, unit: TorqueUnit) -> Torque {
        Torque { value, unit }
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

/// Rounds away what is below a millionth of `step`.
fn rounded_like(value: f64, step: f64) -> f64 {
    let grain = step * 1e-6;
    let places = (-grain.log10()).ceil().clamp(0.0, 12.0) as i32;
    let tens = 10_f64.powi(places);
    (value * tens).round() / tens
}

/// Shows value and unit as written; a precision (`{:.1}`) rounds.
impl fmt::Display for Torque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.value, f)?;
        write!(f, " {}", self.unit.symbol())
    }
}

/// A torque as it reads in another unit. It holds what was written and cannot be converted again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShownTorque {
    written: Torque,
    unit: TorqueUnit,
}

impl ShownTorque {
    /// Returns the torque as written.
    pub fn written(self) -> Torque {
        self.written
    }
}

/// Shows one decimal unless told otherwise: what a wrench can be set to, no more.
impl fmt::Display for ShownTorque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let value = self.written.value_in(self.unit);
        let places = f.precision().unwrap_or(1);
        write!(f, "{value:.places$} {}", self.unit.symbol())
    }
}

impl From<Torque> for Answer {
    fn from(torque: Torque) -> Answer {
        Answer::Figure {
            value: torque.value,
            unit: torque.unit.symbol(),
        }
    }
}

impl FromStr for TorqueUnit {
    type Err = TorqueError;

    fn from_str(text: &str) -> Result<TorqueUnit, TorqueError> {
        TorqueUnit::from_written(text).ok_or_else(|| TorqueError::UnknownUnit(text.trim().into()))
    }
}

impl FromStr for Torque {
    type Err = TorqueError;

    fn from_str(text: &str) -> Result<Torque, TorqueError> {
        let text = text.trim();
        let no_number = || TorqueError::NoNumber(text.into());
        let (value, unit) = leading_number(text)?.ok_or_else(no_number)?;
        if unit.is_empty() {
            return Err(no_number());
        }
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
