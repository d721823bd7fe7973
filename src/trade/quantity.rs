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
mod reading;
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
use reading::{Kind, Unit, read};

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
            const KIND: $crate::trade::quantity::Kind =
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
