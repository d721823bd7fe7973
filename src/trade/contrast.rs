//! Contrast between two colours of the screen.

use std::fmt;
use std::str::FromStr;

use super::worked::{Worked, neat};

const SOURCE: &str = "WCAG 2.2, contrast ratio and relative luminance";

/// A colour of the screen (sRGB, eight bits a channel).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Colour {
    pub red: u8,
    pub green: u8,
    pub blue: u8,
}

impl Colour {
    pub const BLACK: Colour = Colour::new(0, 0, 0);
    pub const WHITE: Colour = Colour::new(255, 255, 255);

    /// Makes a colour.
    pub const fn new(red: u8, green: u8, blue: u8) -> Colour {
        Colour { red, green, blue }
    }

    /// Returns the relative luminance, 0 for black to 1 for white.
    fn luminance(self) -> f64 {
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            // WCAG 2.0 wrote 0.03928; no eight-bit value lies between the two.
            if c <= 0.040_45 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(self.red) + 0.7152 * linear(self.green) + 0.0722 * linear(self.blue)
    }
}

impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "#{:02x}{:02x}{:02x}", self.red, self.green, self.blue)
    }
}

/// A text is no colour.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("A colour is \"#\" and six figures from 0 to f, such as \"#ffa500\", not {0:?}")]
pub struct ColourError(pub String);

impl FromStr for Colour {
    type Err = ColourError;

    fn from_str(text: &str) -> Result<Colour, ColourError> {
        let refused = || ColourError(text.into());
        let digits = text.trim().trim_start_matches('#');
        if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
            return Err(refused());
        }
        let all = u32::from_str_radix(digits, 16).map_err(|_| refused())?;
        let [_, red, green, blue] = all.to_be_bytes();
        Ok(Colour { red, green, blue })
    }
}

/// A contrast ratio, from 1 (no difference) to 21 (black on white).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Contrast(f64);

/// What a contrast is good for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ContrastLevel {
    /// Under 3: for nothing that must be seen.
    Insufficient,
    /// From 3: large type and marks, WCAG level AA.
    LargeOnly,
    /// From 4.5: any type, level AA; large type, level AAA.
    Sufficient,
    /// From 7: any type, level AAA.
    Enhanced,
}

impl Contrast {
    /// Returns the ratio to 1.
    pub fn to_one(self) -> f64 {
        self.0
    }

    /// Returns what the contrast is good for. A ratio is never rounded up to a level: 4.478 is not 4.5.
    pub fn level(self) -> ContrastLevel {
        match self.0 {
            ratio if ratio >= 7.0 => ContrastLevel::Enhanced,
            ratio if ratio >= 4.5 => ContrastLevel::Sufficient,
            ratio if ratio >= 3.0 => ContrastLevel::LargeOnly,
            _ => ContrastLevel::Insufficient,
        }
    }
}

impl fmt::Display for Contrast {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)?;
        f.write_str(":1")
    }
}

/// Returns the contrast of two colours; their order does not matter.
///
/// Range: every colour. Source: WCAG 2.2.
pub fn contrast(one: Colour, other: Colour) -> Worked<Contrast> {
    let (a, b) = (one.luminance(), other.luminance());
    let (light, dark) = if a >= b { (a, b) } else { (b, a) };
    let ratio = (light + 0.05) / (dark + 0.05);
    let formula = format!(
        "({} + 0.05)/({} + 0.05) = {}",
        neat(light),
        neat(dark),
        neat(ratio)
    );
    let worked = Worked::new(Contrast(ratio), formula, SOURCE);
    if Contrast(ratio).level() < ContrastLevel::Sufficient {
        worked.caution("Too little contrast for type of ordinary size.")
    } else {
        worked
    }
}
