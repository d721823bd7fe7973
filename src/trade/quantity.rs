//! Quantities: a number never goes about without its unit.
//!
//! Every quantity keeps the value and the unit it was made or written with, and is read by naming a
//! unit (`length.in_millimetres()`). A conversion always starts from what was written, so a converted
//! value is never converted again. Two quantities compare by what they are, not by how they were
//! written: 1 in equals 25.4 mm.
//!
//! The constructors (`Length::millimetres(12.0)`) take any number, because they hold what sums come
//! to. What a person writes is read with `parse`, which holds it to the range of the quantity.

mod kinds;
mod number;
mod temperature;

pub use kinds::{
    ActivationEnergy, ActivationEnergyUnit, Angle, AngleUnit, Area, AreaUnit, Coverage,
    CoverageUnit, Force, ForceUnit, Humidity, HumidityUnit, Length, LengthDifference, LengthUnit,
    Mass, MassUnit, Share, ShareUnit, SoundLevel, SoundLevelUnit, Stress, StressUnit, TimeSpan,
    TimeSpanUnit, Volume, VolumeUnit,
};
pub use temperature::{
    Temperature, TemperatureDifference, TemperatureDifferenceUnit, TemperatureUnit,
};

pub(in crate::trade) use number::{leading_number, normal};

/// Why a text is not the quantity that was asked for; each says what to type instead.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QuantityError {
    #[error("{what} is a number and a unit, such as \"{example}\", not {written:?}")]
    NoNumber {
        what: &'static str,
        example: &'static str,
        written: String,
    },
    #[error("{number:?} has no unit: write {units}, such as \"{example}\"")]
    NoUnit {
        number: String,
        units: String,
        example: &'static str,
    },
    #[error("{what} has no unit {unit:?}: write {units}, such as \"{example}\"")]
    UnknownUnit {
        what: &'static str,
        unit: String,
        units: String,
        example: &'static str,
    },
    #[error("{unit:?} can be read in more than one way: {instead}")]
    ManyMeanings { unit: String, instead: &'static str },
    #[error("{0:?} can be read in two ways: write thousands without a comma, and a decimal point")]
    Comma(String),
    #[error("{what} goes from {least} to {most}, not {written}: type {nearest}")]
    OutOfRange {
        what: &'static str,
        least: String,
        most: String,
        written: String,
        nearest: String,
    },
}

/// What the reading of a text needs to know of a unit.
pub(in crate::trade) trait Unit: Copy + PartialEq + 'static {
    const ALL: &'static [Self];
    /// Returns how many of the base unit one of this unit is.
    fn factor(self) -> f64;
    fn symbol(self) -> &'static str;
    /// Returns the ways people write it, in the shape that [`normal`] gives.
    fn forms(self) -> &'static [&'static str];
    /// Returns unit texts that must not be guessed, each with what to write instead.
    fn doubtful() -> &'static [(&'static str, &'static str)];
}

/// How messages speak of a kind of quantity, and which values a person may write.
pub(in crate::trade) struct Kind {
    pub what: &'static str,
    pub example: &'static str,
    /// In the base unit.
    pub least: f64,
    pub most: f64,
}

fn unit_list<U: Unit>() -> String {
    let symbols: Vec<_> = U::ALL.iter().map(|unit| unit.symbol()).collect();
    match symbols.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => symbols.concat(),
    }
}

/// Reads a number and a unit, or several of falling size (`1 h 30 min`), which add up to a value in
/// the last unit.
pub(in crate::trade) fn read<U: Unit>(kind: &Kind, text: &str) -> Result<(f64, U), QuantityError> {
    let (value, unit) = parts::<U>(kind, text.trim(), f64::INFINITY)?;
    within(kind, value, unit, text.trim())?;
    Ok((value, unit))
}

fn parts<U: Unit>(kind: &Kind, text: &str, below: f64) -> Result<(f64, U), QuantityError> {
    let no_number = || QuantityError::NoNumber {
        what: kind.what,
        example: kind.example,
        written: text.into(),
    };
    let (value, rest) = leading_number(text)?.ok_or_else(no_number)?;
    if rest.is_empty() {
        return Err(QuantityError::NoUnit {
            number: text.into(),
            units: unit_list::<U>(),
            example: kind.example,
        });
    }
    if let Some(unit) = unit_of::<U>(rest)? {
        return if unit.factor() < below {
            Ok((value, unit))
        } else {
            Err(no_number())
        };
    }
    for cut in cuts(rest) {
        let (head, tail) = rest.split_at(cut);
        if let Some(unit) = unit_of::<U>(head)?
            && unit.factor() < below
        {
            let (less, last) = parts::<U>(kind, tail.trim_start(), unit.factor())?;
            let more = value * unit.factor() / last.factor();
            return Ok((
                if value < 0.0 {
                    more - less
                } else {
                    more + less
                },
                last,
            ));
        }
    }
    Err(QuantityError::UnknownUnit {
        what: kind.what,
        unit: rest.into(),
        units: unit_list::<U>(),
        example: kind.example,
    })
}

/// Returns where a unit may end and a smaller part begin: before each digit.
fn cuts(rest: &str) -> impl Iterator<Item = usize> {
    rest.char_indices()
        .filter(|&(at, c)| at > 0 && c.is_ascii_digit())
        .map(|(at, _)| at)
}

fn unit_of<U: Unit>(text: &str) -> Result<Option<U>, QuantityError> {
    let shape = normal(text);
    if let Some((_, instead)) = U::doubtful().iter().find(|(form, _)| *form == shape) {
        return Err(QuantityError::ManyMeanings {
            unit: text.trim().into(),
            instead,
        });
    }
    let known = |unit: &&U| unit.forms().contains(&shape.as_str());
    Ok(U::ALL.iter().find(known).copied())
}

/// Refuses a written value outside the range of its kind, naming the nearest one inside.
pub(in crate::trade) fn within<U: Unit>(
    kind: &Kind,
    value: f64,
    unit: U,
    written: &str,
) -> Result<(), QuantityError> {
    let base = value * unit.factor();
    // A range holds to its ends as written in another unit: 6.561679… ft is 2 m.
    let slack = 1e-12 * base.abs();
    if base >= kind.least - slack && base <= kind.most + slack {
        return Ok(());
    }
    let said = |base: f64| format!("{} {}", base / unit.factor(), unit.symbol());
    Err(QuantityError::OutOfRange {
        what: kind.what,
        least: said(kind.least),
        most: said(kind.most),
        written: written.into(),
        nearest: said(if base < kind.least {
            kind.least
        } else {
            kind.most
        }),
    })
}

/// Makes the enum of a quantity's units.
macro_rules! units {
    (
        $(#[$doc:meta])*
        $name:ident {
            $($(#[$note:meta])* $variant:ident = $factor:expr, $symbol:literal,
                $one:literal, $many:literal, [$($form:literal),* $(,)?];)+
        }
        doubtful { $($doubt:literal => $instead:literal;)* }
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $name {
            $($(#[$note])* $variant,)+
        }

        impl $name {
            /// Returns the symbol, as shown.
            pub fn symbol(self) -> &'static str {
                match self {
                    $($name::$variant => $symbol,)+
                }
            }

            /// Returns the unit in words for the voice, for one and for several.
            pub fn spoken(self) -> (&'static str, &'static str) {
                match self {
                    $($name::$variant => ($one, $many),)+
                }
            }
        }

        impl $crate::trade::quantity::Unit for $name {
            const ALL: &'static [$name] = &[$($name::$variant,)+];

            fn factor(self) -> f64 {
                match self {
                    $($name::$variant => $factor,)+
                }
            }

            fn symbol(self) -> &'static str {
                $name::symbol(self)
            }

            fn forms(self) -> &'static [&'static str] {
                match self {
                    $($name::$variant => &[$($form),*],)+
                }
            }

            fn doubtful() -> &'static [(&'static str, &'static str)] {
                &[$(($doubt, $instead),)*]
            }
        }
    };
}

/// Makes a quantity on its units: constructors and readers, reading of text, showing and sums.
macro_rules! quantity {
    (
        $(#[$doc:meta])*
        $name:ident in $unit:ident, called $called:literal, such as $example:literal,
        from $least:literal to $most:literal {
            $($variant:ident: $make:ident, $read:ident;)+
        }
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, serde::Serialize, serde::Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name {
            value: f64,
            unit: $unit,
        }

        impl $name {
            pub(in crate::trade) const KIND: $crate::trade::quantity::Kind =
                $crate::trade::quantity::Kind {
                    what: $called,
                    example: $example,
                    least: $least,
                    most: $most,
                };

            $(
                #[doc = concat!("Makes a quantity of `value` ", stringify!($make), ".")]
                pub const fn $make(value: f64) -> $name {
                    $name { value, unit: $unit::$variant }
                }

                #[doc = concat!("Returns the quantity in ", stringify!($make), ".")]
                pub fn $read(self) -> f64 {
                    self.value_in($unit::$variant)
                }
            )+

            /// Returns the value in `unit`, from the value as written.
            pub fn value_in(self, unit: $unit) -> f64 {
                use $crate::trade::quantity::Unit;
                if unit == self.unit {
                    self.value
                } else {
                    self.value * self.unit.factor() / unit.factor()
                }
            }

            /// Returns the quantity put in `unit`, for showing.
            pub fn shown_in(self, unit: $unit) -> $name {
                $name { value: self.value_in(unit), unit }
            }

            /// Returns the unit as written.
            pub fn unit(self) -> $unit {
                self.unit
            }

            /// Returns the quantity in words for the voice.
            pub fn spoken(self) -> String {
                let (one, many) = self.unit.spoken();
                format!("{} {}", self.value, if self.value == 1.0 { one } else { many })
            }

            fn base(self) -> f64 {
                use $crate::trade::quantity::Unit;
                self.value * self.unit.factor()
            }
        }

        impl PartialEq for $name {
            fn eq(&self, other: &$name) -> bool {
                self.base() == other.base()
            }
        }

        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &$name) -> Option<std::cmp::Ordering> {
                self.base().partial_cmp(&other.base())
            }
        }

        impl std::ops::Add for $name {
            type Output = $name;
            /// Adds, in the unit of the first.
            fn add(self, other: $name) -> $name {
                $name { value: self.value + other.value_in(self.unit), unit: self.unit }
            }
        }

        impl std::ops::Sub for $name {
            type Output = $name;
            /// Subtracts, in the unit of the first.
            fn sub(self, other: $name) -> $name {
                $name { value: self.value - other.value_in(self.unit), unit: self.unit }
            }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = $name;
            fn mul(self, times: f64) -> $name {
                $name { value: self.value * times, unit: self.unit }
            }
        }

        impl std::ops::Div<f64> for $name {
            type Output = $name;
            fn div(self, by: f64) -> $name {
                $name { value: self.value / by, unit: self.unit }
            }
        }

        impl std::ops::Div for $name {
            type Output = f64;
            /// Returns how many times the second goes into the first.
            fn div(self, other: $name) -> f64 {
                self.base() / other.base()
            }
        }

        /// Shows value and unit as written; a precision (`{:.2}`) rounds.
        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                std::fmt::Display::fmt(&self.value, f)?;
                write!(f, " {}", self.unit.symbol())
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::trade::quantity::QuantityError;

            fn from_str(text: &str) -> Result<$name, Self::Err> {
                let (value, unit) = $crate::trade::quantity::read(&$name::KIND, text)?;
                Ok($name { value, unit })
            }
        }

        impl TryFrom<String> for $name {
            type Error = $crate::trade::quantity::QuantityError;

            fn try_from(text: String) -> Result<$name, Self::Error> {
                text.parse()
            }
        }

        impl From<$name> for String {
            fn from(quantity: $name) -> String {
                quantity.to_string()
            }
        }
    };
}

use {quantity, units};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_units_are_read_as_people_write_them() {
        for (text, millimetres) in [
            ("12 mm", 12.0),
            ("12mm", 12.0),
            ("0,35 mm", 0.35),
            (".5 mm", 0.5),
            ("1 500 mm", 1500.0),
            ("1/2 in", 12.7),
            ("1 1/2 in", 38.1),
            ("1-1/2\"", 38.1),
            ("1½ inches", 38.1),
            ("¾ in", 19.05),
            ("10 thou", 0.254),
            ("60 µm", 0.06),
            ("5 ft 6 in", 1676.4),
            ("5'6\"", 1676.4),
            ("1.2 m", 1200.0),
        ] {
            let length: Length = text.parse().unwrap();
            assert!(
                (length.in_millimetres() - millimetres).abs() < 1e-9,
                "{text}: {length}"
            );
        }
        assert_eq!("1.5 t".parse::<Mass>().unwrap().in_kilograms(), 1500.0);
        assert_eq!("70 F".parse::<Temperature>().unwrap().to_string(), "70 °F");
        assert_eq!("60 %".parse::<Humidity>().unwrap().in_percent(), 60.0);
        assert_eq!("60% RH".parse::<Humidity>().unwrap().in_percent(), 60.0);
        assert_eq!("1 h 30 min".parse::<TimeSpan>().unwrap().in_minutes(), 90.0);
        let reading: LengthDifference = "−0.03 mm".parse().unwrap();
        assert_eq!(reading.in_millimetres(), -0.03);
    }

    #[test]
    fn what_cannot_be_read_says_what_to_type() {
        let complaint = |error: QuantityError| error.to_string();
        assert_eq!(
            complaint("twelve".parse::<Length>().unwrap_err()),
            "A length is a number and a unit, such as \"12 mm\", not \"twelve\""
        );
        assert_eq!(
            complaint("60".parse::<Humidity>().unwrap_err()),
            "\"60\" has no unit: write %, such as \"60 %\""
        );
        assert_eq!(
            complaint("3 ton".parse::<Mass>().unwrap_err()),
            "\"ton\" can be read in more than one way: write t for 1000 kg, \"long ton\" for 2240 lb \
             or \"short ton\" for 2000 lb"
        );
        assert_eq!(
            complaint("1,500 kg".parse::<Mass>().unwrap_err()),
            "\"1,500\" can be read in two ways: write thousands without a comma, and a decimal point"
        );
        assert_eq!(
            complaint("-4 mm".parse::<Length>().unwrap_err()),
            "A length goes from 0 mm to 1000000 mm, not -4 mm: type 0 mm"
        );
        assert_eq!(
            complaint("130 %".parse::<Humidity>().unwrap_err()),
            "Relative humidity goes from 0 % to 100 %, not 130 %: type 100 %"
        );
        assert_eq!(
            complaint("-300 °C".parse::<Temperature>().unwrap_err()),
            "A temperature goes from -273.15 °C to 2000 °C, not -300 °C: type -273.15 °C"
        );
        for text in [
            "",
            "mm",
            "12 12 mm",
            "6 in 5 ft",
            "1.2.3 mm",
            "12 kg",
            "1/0 in",
        ] {
            assert!(text.parse::<Length>().is_err(), "{text:?}");
        }
    }

    #[test]
    fn temperatures_differ_by_differences() {
        let surface: Temperature = "70 F".parse().unwrap();
        let dew = Temperature::celsius(18.0);
        let margin = surface - dew;
        assert!((margin.in_degrees_fahrenheit() - 5.6).abs() < 1e-9);
        assert!(((dew + margin).in_celsius() - surface.in_celsius()).abs() < 1e-9);
    }
}
