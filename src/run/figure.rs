//! A figure the person reports: exact decimal digits, as they were spoken or typed.

use std::fmt;
use std::str::FromStr;

use crate::procedure::{FIGURES, Reading};

/// A decimal number of up to nine digits, kept digit by digit: `110`, `0.35`, `095`.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Figure {
    digits: String,
}

/// Why a text is no figure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a figure is up to nine digits with at most one point, such as 110 or 0.35, not {0:?}")]
pub struct NoFigure(String);

impl Figure {
    /// Returns the figure that `reading` would be given for `value`, with all of its digits; none for one
    /// that it has no digits for.
    pub fn of(reading: &Reading, value: f64) -> Option<Figure> {
        let (whole, decimals) = reading.places();
        let width = whole + decimals + usize::from(decimals > 0);
        format!("{value:0width$.decimals$}").parse().ok()
    }

    /// Returns the value, for comparison with limits.
    pub fn value(&self) -> f64 {
        self.digits.parse().unwrap_or(f64::NAN)
    }

    /// Returns how many digits stand before and after the point.
    pub fn places(&self) -> (usize, usize) {
        match self.digits.split_once('.') {
            Some((whole, decimals)) => (whole.len(), decimals.len()),
            None => (self.digits.len(), 0),
        }
    }

    /// Returns words as an example of a figure with so many digits before and after the point.
    pub fn spoken_example((whole, decimals): (usize, usize)) -> String {
        let digits = ["one", "two", "zero", "five"];
        let mut words: Vec<&str> = digits.iter().cycle().take(whole).copied().collect();
        if decimals > 0 {
            words.push("point");
            words.extend(digits.iter().cycle().skip(1).take(decimals));
        }
        words.join(" ")
    }

    /// Returns the figure digit by digit, for the voice: `one one zero`, `zero point three five`.
    pub fn spoken(&self) -> String {
        let word = |c: char| {
            c.to_digit(10)
                .map_or("point", |digit| FIGURES[digit as usize])
        };
        let spoken: Vec<&str> = self.digits.chars().map(word).collect();
        spoken.join(" ")
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.digits)
    }
}

impl FromStr for Figure {
    type Err = NoFigure;

    fn from_str(text: &str) -> Result<Figure, NoFigure> {
        let digits = text.chars().filter(char::is_ascii_digit).count();
        let points = text.chars().filter(|&c| c == '.').count();
        let fits = digits + points == text.chars().count()
            && (1..=9).contains(&digits)
            && points <= 1
            && !text.starts_with('.')
            && !text.ends_with('.');
        if fits {
            Ok(Figure {
                digits: text.into(),
            })
        } else {
            Err(NoFigure(text.into()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_keeps_its_digits() {
        let figure: Figure = "095".parse().unwrap();
        assert_eq!(figure.to_string(), "095");
        assert_eq!(figure.value(), 95.0);
        assert_eq!(figure.places(), (3, 0));
        let figure: Figure = "0.35".parse().unwrap();
        assert_eq!(figure.spoken(), "zero point three five");
        assert_eq!(figure.places(), (1, 2));
    }

    #[test]
    fn what_is_no_figure_is_refused() {
        for text in [
            "",
            ".",
            "1.",
            ".5",
            "1.2.3",
            "-4",
            "1e3",
            "inf",
            "1234567890",
            "１",
        ] {
            assert!(text.parse::<Figure>().is_err(), "{text:?}");
        }
    }
}
