//! A sum with its working: what it comes to, how, from where, and what to beware of.

use std::fmt;

/// A result with the working that led to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Worked<T> {
    pub result: T,
    /// The formula with the numbers in it, units included.
    pub formula: String,
    /// The standard, handbook or manual the formula stands in, or `common practice, no source`.
    pub source: &'static str,
    /// What can hurt someone or spoil the part; empty where nothing can.
    pub cautions: Vec<String>,
}

impl<T> Worked<T> {
    /// Makes a worked result without cautions.
    pub fn new(result: T, formula: impl Into<String>, source: &'static str) -> Worked<T> {
        Worked {
            result,
            formula: formula.into(),
            source,
            cautions: Vec::new(),
        }
    }

    /// Adds a caution: one whole sentence.
    pub fn caution(mut self, caution: impl Into<String>) -> Worked<T> {
        self.cautions.push(caution.into());
        self
    }

    /// Returns the same working with the result put in another shape.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Worked<U> {
        Worked {
            result: change(self.result),
            formula: self.formula,
            source: self.source,
            cautions: self.cautions,
        }
    }
}

/// What a gate says; the worst of several counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Nothing speaks against it.
    Go,
    /// It may be done, with the caution said first.
    Warn,
    /// It must not be done.
    Refuse,
}

impl Verdict {
    /// Returns the word shown and spoken.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Go => "go",
            Verdict::Warn => "warn",
            Verdict::Refuse => "refuse",
        }
    }
}

/// A result in the shape the command line and the record show.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// A number with its unit; the unit is empty for a plain number.
    Figure {
        value: f64,
        unit: &'static str,
    },
    Words(String),
    /// Several results, each under its name.
    Named(Vec<(&'static str, Answer)>),
    /// Several results in order.
    List(Vec<Answer>),
}

impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let joined =
            |f: &mut fmt::Formatter<'_>, parts: Vec<String>| f.write_str(&parts.join(", "));
        match self {
            Answer::Figure { value, unit: "" } => f.write_str(&neat(*value)),
            Answer::Figure {
                value,
                unit: unit @ ("°" | ":1"),
            } => write!(f, "{}{unit}", neat(*value)),
            Answer::Figure { value, unit } => write!(f, "{} {unit}", neat(*value)),
            Answer::Words(words) => f.write_str(words),
            Answer::Named(parts) => joined(
                f,
                parts
                    .iter()
                    .map(|(name, part)| format!("{name} {part}"))
                    .collect(),
            ),
            Answer::List(parts) => joined(f, parts.iter().map(Answer::to_string).collect()),
        }
    }
}

impl From<Verdict> for Answer {
    fn from(verdict: Verdict) -> Answer {
        Answer::Words(verdict.word().into())
    }
}

macro_rules! figures {
    ($($quantity:ident),* $(,)?) => {
        $(impl From<super::quantity::$quantity> for Answer {
            fn from(quantity: super::quantity::$quantity) -> Answer {
                Answer::Figure {
                    value: quantity.value_in(quantity.unit()),
                    unit: quantity.unit().symbol(),
                }
            }
        })*
    };
}

figures!(
    ActivationEnergy,
    Angle,
    Area,
    Coverage,
    Force,
    Humidity,
    Length,
    LengthDifference,
    Mass,
    Share,
    SoundLevel,
    Stress,
    Temperature,
    TemperatureDifference,
    TimeSpan,
    Volume,
);

/// Writes a number for a worked line: four figures, no trailing zeros, whole numbers in full.
pub fn neat(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return format!("{value}").replace("-0", "0");
    }
    let whole_places = value.abs().log10().floor() as i32 + 1;
    let places = (4 - whole_places).clamp(0, 12) as usize;
    let text = format!("{value:.places$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".into()
    } else {
        text.into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_neatly() {
        for (value, text) in [
            (0.0, "0"),
            (-0.0, "0"),
            (47.0, "47"),
            (117.391_3, "117.4"),
            (0.044_444, "0.04444"),
            (12_345.6, "12346"),
            (-3.10, "-3.1"),
            (9.999_96, "10"),
        ] {
            assert_eq!(neat(value), text);
        }
    }
}
