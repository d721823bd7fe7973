//! How large letters must be to be read from a distance.

use super::quantity::{Angle, Length, Share};
use super::range::{OutOfRange, hold};
use super::worked::{Answer, Worked, neat};

const SOURCE: &str =
    "height = 2·distance·tan(angle/2), angles of NUREG-0700 1.3.1-4 (ISO 9241-3 has the same)";

const NEAREST: Length = Length::millimetres(100.0);
const FARTHEST: Length = Length::metres(100.0);

/// How large a letter looks, as the angle its capital fills.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Apparent {
    /// 16 minutes of arc, the least that may be: NUREG-0700, ISO 9241-3.
    Least,
    /// 20 minutes, preferred: NUREG-0700, ISO 9241-3.
    Preferred,
    /// 22 minutes, the upper end of what is preferred.
    Large,
    /// 30 minutes, for bad light or without reading glasses (from memory).
    BadLight,
}

impl Apparent {
    /// Returns the angle that a capital fills.
    pub fn angle(self) -> Angle {
        Angle::degrees(match self {
            Apparent::Least => 16.0 / 60.0,
            Apparent::Preferred => 20.0 / 60.0,
            Apparent::Large => 22.0 / 60.0,
            Apparent::BadLight => 30.0 / 60.0,
        })
    }
}

/// Returns the height of capitals that look so large from `distance`.
///
/// Range: 100 mm to 100 m. It is the height of a capital, not the size a font is called by.
///
/// # Errors
/// [`OutOfRange`] outside it.
pub fn letter_height(distance: Length, apparent: Apparent) -> Result<Worked<Length>, OutOfRange> {
    hold("The reading distance", distance, NEAREST, FARTHEST)?;
    let angle = apparent.angle();
    let height =
        Length::millimetres(2.0 * distance.in_millimetres() * (angle.in_radians() / 2.0).tan());
    let formula = format!(
        "2·{} mm·tan({}′/2) = {} mm",
        neat(distance.in_millimetres()),
        neat(angle.in_degrees() * 60.0),
        neat(height.in_millimetres()),
    );
    Ok(Worked::new(height, formula, SOURCE))
}

/// A screen: how many pixels stand side by side in which width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screen {
    across: u32,
    width: Length,
}

/// A size on the screen, in whole pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Pixels(pub u32);

impl From<Pixels> for Answer {
    fn from(pixels: Pixels) -> Answer {
        Answer::Figure {
            value: pixels.0.into(),
            unit: "px",
        }
    }
}

/// Of a font's size, the part its capitals are high; 70 % is usual (common practice, no source).
pub const CAPITALS_OF_FONT: Share = Share::percent(70.0);

/// The smallest type to be read from a distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SmallestType {
    pub capitals: Pixels,
    /// What to call for as the font's size.
    pub font: Pixels,
}

impl From<SmallestType> for Answer {
    fn from(smallest: SmallestType) -> Answer {
        Answer::Named(vec![
            ("capitals", smallest.capitals.into()),
            ("font", smallest.font.into()),
        ])
    }
}

impl Screen {
    /// Makes a screen of `across` pixels in `width`.
    ///
    /// # Errors
    /// [`OutOfRange`] unless it is 100 to 100 000 pixels in 20 mm to 20 m.
    pub fn new(across: u32, width: Length) -> Result<Screen, OutOfRange> {
        hold("The pixels across", across, 100, 100_000)?;
        let (least, most) = (Length::millimetres(20.0), Length::metres(20.0));
        hold("The width of the screen", width, least, most)?;
        Ok(Screen { across, width })
    }

    /// Makes a screen from its diagonal and its pixels both ways, which are square.
    ///
    /// # Errors
    /// As [`Screen::new`].
    pub fn by_diagonal(across: u32, down: u32, diagonal: Length) -> Result<Screen, OutOfRange> {
        hold("The pixels down", down, 100, 100_000)?;
        hold("The pixels across", across, 100, 100_000)?;
        let (across_f, down_f) = (f64::from(across), f64::from(down));
        Screen::new(across, diagonal * (across_f / across_f.hypot(down_f)))
    }

    /// Returns the smallest type that can be read from `distance`, rounded up to whole pixels.
    ///
    /// `capitals` is the part of the font's size that its capitals are high, see [`CAPITALS_OF_FONT`].
    ///
    /// # Errors
    /// [`OutOfRange`] for a distance outside 100 mm to 100 m or capitals outside 30 % to 100 %.
    pub fn smallest_type(
        &self,
        distance: Length,
        apparent: Apparent,
        capitals: Share,
    ) -> Result<Worked<SmallestType>, OutOfRange> {
        let (least, most) = (Share::percent(30.0), Share::percent(100.0));
        hold("The height of capitals", capitals, least, most)?;
        let height = letter_height(distance, apparent)?;
        let exact = height.result / self.width * f64::from(self.across);
        // Both ends are held above, so the pixels lie far inside the range of the integer.
        let whole = |pixels: f64| Pixels((pixels - 1e-9).ceil() as u32);
        let smallest = SmallestType {
            capitals: whole(exact),
            font: whole(exact / capitals.in_ones()),
        };
        let formula = format!(
            "{}; {} mm·{} px/{} mm = {} px of capital, {} px of font",
            height.formula,
            neat(height.result.in_millimetres()),
            self.across,
            neat(self.width.in_millimetres()),
            neat(exact),
            neat(exact / capitals.in_ones()),
        );
        Ok(Worked::new(smallest, formula, SOURCE))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Derived: a screen of 24 in with 1920 by 1080 has 91.79 pixels to the inch; 22′ at 3 m are 19.20
    /// mm, 69.4 pixels, and a font of 99.1.
    #[test]
    fn the_smallest_type_for_a_screen_across_the_shop() {
        let screen = Screen::by_diagonal(1920, 1080, Length::inches(24.0)).unwrap();
        let smallest = screen
            .smallest_type(Length::metres(3.0), Apparent::Large, CAPITALS_OF_FONT)
            .unwrap();
        assert_eq!(smallest.result.capitals, Pixels(70));
        assert_eq!(smallest.result.font, Pixels(100));
    }

    #[test]
    fn screens_that_cannot_be_are_refused() {
        assert!(Screen::new(10, Length::millimetres(300.0)).is_err());
        assert!(Screen::new(1920, Length::millimetres(f64::NAN)).is_err());
        assert!(Screen::by_diagonal(1920, 0, Length::inches(24.0)).is_err());
    }

    proptest! {
        #[test]
        fn farther_is_never_smaller(near in 0.1..50.0, more in 0.0..50.0) {
            let height = |metres| {
                letter_height(Length::metres(metres), Apparent::Least).unwrap().result
            };
            prop_assert!(height(near + more) >= height(near));
        }

        #[test]
        fn no_number_panics(distance: f64, width: f64, capitals: f64, across: u32, down: u32) {
            let distance = Length::metres(distance);
            let _ = letter_height(distance, Apparent::BadLight);
            if let Ok(screen) = Screen::by_diagonal(across, down, Length::metres(width)) {
                let _ = screen.smallest_type(distance, Apparent::Least, Share::percent(capitals));
            }
        }
    }
}
