//! Temperatures, which have a zero of their own, and the differences between them.

use std::cmp::Ordering;
use std::fmt;
use std::ops::{Add, Sub};
use std::str::FromStr;

use super::{Kind, QuantityError, quantity, read, units};

units! {
    /// A unit of temperature difference; the base is the kelvin.
    TemperatureDifferenceUnit {
        DegreeCelsius = 1.0, "°C", "degree", "degrees",
            ["°c", "c", "deg c", "degree c", "degrees c", "celsius", "degrees celsius", "° c"];
        DegreeFahrenheit = 5.0 / 9.0, "°F", "degree Fahrenheit", "degrees Fahrenheit",
            ["°f", "f", "deg f", "degree f", "degrees f", "fahrenheit", "degrees fahrenheit", "° f"];
        Kelvin = 1.0, "K", "kelvin", "kelvin", ["k", "kelvin", "kelvins"];
    }
    doubtful {
        "°" => "write °C or °F";
        "deg" => "write °C or °F";
        "degrees" => "write °C or °F";
    }
}

quantity! {
    /// How much warmer one thing is than another, written from −2000 °C to 2000 °C.
    TemperatureDifference in TemperatureDifferenceUnit, called "A temperature difference",
    such as "3 °C", from -2000.0 to 2000.0 {
        DegreeCelsius: degrees_celsius, in_degrees_celsius;
        DegreeFahrenheit: degrees_fahrenheit, in_degrees_fahrenheit;
        Kelvin: kelvin, in_kelvin;
    }
}

/// A scale of temperature: the units of a difference, each with its zero.
pub type TemperatureUnit = TemperatureDifferenceUnit;

/// A temperature, written from absolute zero to 2000 °C.
#[derive(Debug, Clone, Copy, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Temperature {
    value: f64,
    unit: TemperatureUnit,
}

/// For reading number and unit only: the range is held after the zero is taken in.
const WRITTEN: Kind = Kind {
    what: "A temperature",
    example: "21 °C",
    least: f64::NEG_INFINITY,
    most: f64::INFINITY,
};

const ABSOLUTE_ZERO_CELSIUS: f64 = -273.15;
const MOST_CELSIUS: f64 = 2000.0;

impl Temperature {
    /// Makes a temperature of `value` degrees Celsius.
    pub const fn celsius(value: f64) -> Temperature {
        let unit = TemperatureUnit::DegreeCelsius;
        Temperature { value, unit }
    }

    /// Makes a temperature of `value` degrees Fahrenheit.
    pub const fn fahrenheit(value: f64) -> Temperature {
        let unit = TemperatureUnit::DegreeFahrenheit;
        Temperature { value, unit }
    }

    /// Makes a temperature of `value` kelvin.
    pub const fn kelvin(value: f64) -> Temperature {
        let unit = TemperatureUnit::Kelvin;
        Temperature { value, unit }
    }

    /// Returns the temperature in degrees Celsius.
    pub fn in_celsius(self) -> f64 {
        match self.unit {
            TemperatureUnit::DegreeCelsius => self.value,
            TemperatureUnit::DegreeFahrenheit => (self.value - 32.0) * 5.0 / 9.0,
            TemperatureUnit::Kelvin => self.value + ABSOLUTE_ZERO_CELSIUS,
        }
    }

    /// Returns the temperature in degrees Fahrenheit.
    pub fn in_fahrenheit(self) -> f64 {
        match self.unit {
            TemperatureUnit::DegreeFahrenheit => self.value,
            _ => self.in_celsius() * 9.0 / 5.0 + 32.0,
        }
    }

    /// Returns the temperature in kelvin.
    pub fn in_kelvin(self) -> f64 {
        match self.unit {
            TemperatureUnit::Kelvin => self.value,
            _ => self.in_celsius() - ABSOLUTE_ZERO_CELSIUS,
        }
    }

    /// Returns the value on the scale of `unit`, from the value as written.
    pub fn value_in(self, unit: TemperatureUnit) -> f64 {
        match unit {
            TemperatureUnit::DegreeCelsius => self.in_celsius(),
            TemperatureUnit::DegreeFahrenheit => self.in_fahrenheit(),
            TemperatureUnit::Kelvin => self.in_kelvin(),
        }
    }

    /// Returns the temperature put on the scale of `unit`, for showing.
    pub fn shown_in(self, unit: TemperatureUnit) -> Temperature {
        let value = self.value_in(unit);
        Temperature { value, unit }
    }

    /// Returns the unit as written.
    pub fn unit(self) -> TemperatureUnit {
        self.unit
    }

    /// Returns the temperature in words for the voice.
    pub fn spoken(self) -> String {
        let (one, many) = self.unit.spoken();
        let unit = if self.value == 1.0 { one } else { many };
        format!("{} {unit}", self.value)
    }
}

impl PartialEq for Temperature {
    fn eq(&self, other: &Temperature) -> bool {
        self.in_celsius() == other.in_celsius()
    }
}

impl PartialOrd for Temperature {
    fn partial_cmp(&self, other: &Temperature) -> Option<Ordering> {
        self.in_celsius().partial_cmp(&other.in_celsius())
    }
}

impl Sub for Temperature {
    type Output = TemperatureDifference;

    /// Returns how much warmer the first is, in the unit of the first.
    fn sub(self, other: Temperature) -> TemperatureDifference {
        let value = self.value - other.value_in(self.unit);
        match self.unit {
            TemperatureUnit::DegreeCelsius => TemperatureDifference::degrees_celsius(value),
            TemperatureUnit::DegreeFahrenheit => TemperatureDifference::degrees_fahrenheit(value),
            TemperatureUnit::Kelvin => TemperatureDifference::kelvin(value),
        }
    }
}

impl Add<TemperatureDifference> for Temperature {
    type Output = Temperature;

    fn add(self, warmer: TemperatureDifference) -> Temperature {
        let value = self.value + warmer.value_in(self.unit);
        Temperature { value, ..self }
    }
}

impl Sub<TemperatureDifference> for Temperature {
    type Output = Temperature;

    fn sub(self, warmer: TemperatureDifference) -> Temperature {
        let value = self.value - warmer.value_in(self.unit);
        Temperature { value, ..self }
    }
}

/// Shows value and unit as written; a precision (`{:.1}`) rounds.
impl fmt::Display for Temperature {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.value, f)?;
        write!(f, " {}", self.unit.symbol())
    }
}

impl FromStr for Temperature {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Temperature, QuantityError> {
        let (value, unit) = read(&WRITTEN, text)?;
        let temperature = Temperature { value, unit };
        let least = Temperature::celsius(ABSOLUTE_ZERO_CELSIUS);
        let most = Temperature::celsius(MOST_CELSIUS);
        if temperature >= least && temperature <= most {
            return Ok(temperature);
        }
        let nearest = if temperature < least { least } else { most };
        Err(QuantityError::OutOfRange {
            what: WRITTEN.what,
            least: least.shown_in(unit).to_string(),
            most: most.shown_in(unit).to_string(),
            written: text.trim().into(),
            nearest: nearest.shown_in(unit).to_string(),
        })
    }
}

impl TryFrom<String> for Temperature {
    type Error = QuantityError;

    fn try_from(text: String) -> Result<Temperature, QuantityError> {
        text.parse()
    }
}

impl From<Temperature> for String {
    fn from(temperature: Temperature) -> String {
        temperature.to_string()
    }
}
