//! Contrast between two colours of the screen.

use std::fmt;
use std::str::FromStr;

use super::worked::{Answer, Worked, neat};

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

impl From<Contrast> for Answer {
    fn from(contrast: Contrast) -> Answer {
        let level = match contrast.level() {
            ContrastLevel::Insufficient => "insufficient",
            ContrastLevel::LargeOnly => "large type only",
            ContrastLevel::Sufficient => "sufficient",
            ContrastLevel::Enhanced => "enhanced",
        };
        let ratio = Answer::Figure {
            value: contrast.0,
            unit: ":1",
        };
        Answer::Named(vec![
            ("ratio", ratio),
            ("level", Answer::Words(level.into())),
        ])
    }
}

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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn colours_are_read_and_shown() {
        assert_eq!("#ffa500".parse(), Ok(Colour::new(255, 165, 0)));
        assert_eq!("FFA500".parse(), Ok(Colour::new(255, 165, 0)));
        assert_eq!(Colour::new(255, 165, 0).to_string(), "#ffa500");
        for text in [
            "", "#fff", "#ggg000", "#ffa5000", "orange", "#+fa500", "#éé0",
        ] {
            assert!(text.parse::<Colour>().is_err(), "{text}");
        }
    }

    #[test]
    fn too_little_contrast_carries_a_caution() {
        let red_on_white = contrast(Colour::new(255, 0, 0), Colour::WHITE);
        assert_eq!(red_on_white.result.level(), ContrastLevel::LargeOnly);
        assert!(!red_on_white.cautions.is_empty());
        let yellow_on_black = contrast(Colour::new(255, 255, 0), Colour::BLACK);
        assert!(yellow_on_black.cautions.is_empty());
        assert_eq!(format!("{:.2}", yellow_on_black.result), "19.56:1");
    }

    proptest! {
        #[test]
        fn the_order_of_colours_does_not_matter(a: (u8, u8, u8), b: (u8, u8, u8)) {
            let (a, b) = (Colour::new(a.0, a.1, a.2), Colour::new(b.0, b.1, b.2));
            let ratio = contrast(a, b).result.to_one();
            prop_assert_eq!(ratio, contrast(b, a).result.to_one());
            prop_assert!((1.0..=21.0 + 1e-9).contains(&ratio));
        }

        #[test]
        fn no_text_panics(text: String) {
            let _ = text.parse::<Colour>();
        }
    }
}
