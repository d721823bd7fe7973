//! Mixing two-part paint: portions by ratio and thinner, and the marks to fill a cup to.

use std::fmt;
use std::str::FromStr;

use super::quantity::{Share, Volume};
use super::range::{OutOfRange, hold};
use super::worked::{Answer, Worked, neat};

const SOURCE: &str = "parts by volume: each part is the total over the sum of the parts";
const NEVER_ALTER: &str = "Never alter the ratio and never mix part of a kit by eye (UFGS-09971).";

/// How much thinner a sheet asks for, and of what: sheets differ, so it must be said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Thinner {
    None,
    /// A share of base and hardener together.
    OfMix(Share),
    /// A share of the base alone.
    OfBase(Share),
    /// So many parts beside those of base and hardener (`4:1:1`).
    Parts(u32),
}

/// A mixing ratio by volume: parts of base and hardener, and the thinner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MixRatio {
    base: f64,
    hardener: f64,
    thinner: Thinner,
}

/// Why a mix cannot be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MixError {
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error(
        "A mixing ratio is parts of base and hardener by volume, such as \"4:1\", \"4:1:1\" or \
         \"2:1 + 10 % of mix\", not {0:?}"
    )]
    NotARatio(String),
    #[error(
        "{0:?} does not say of what the thinner is a share: write \"% of mix\" for base and hardener \
         together, or \"% of base\""
    )]
    ShareOfWhat(String),
    #[error(
        "No mark up to {up_to:.0} keeps the ratio within {within}: use a cup with finer marks, or a scale \
         as the sheet says"
    )]
    CupTooCoarse { up_to: Volume, within: Share },
}

/// The parts a ratio may have: up to 100, and at least one hundredth.
const LEAST_PARTS: f64 = 0.01;
const MOST_PARTS: f64 = 100.0;
const MOST_THINNER: Share = Share::percent(100.0);
const LEAST_VOLUME: Volume = Volume::millilitres(1.0);
const MOST_VOLUME: Volume = Volume::litres(1000.0);

/// The most that rounding to marks may change the part of hardener (common practice, no source).
pub const MOST_RATIO_ERROR: Share = Share::percent(2.0);

/// How far the thinner may be off at a mark before it is measured by itself (common practice, no
/// source).
const MOST_THINNER_ERROR: Share = Share::percent(10.0);

impl MixRatio {
    /// Makes a ratio of whole parts.
    ///
    /// # Errors
    /// [`OutOfRange`] unless both parts are from 1 to 100 and the thinner is at most 100 % or 100 parts.
    pub fn new(base: u32, hardener: u32, thinner: Thinner) -> Result<MixRatio, OutOfRange> {
        hold("Parts of base", base, 1, 100)?;
        hold("Parts of hardener", hardener, 1, 100)?;
        MixRatio {
            base: base.into(),
            hardener: hardener.into(),
            thinner: Thinner::None,
        }
        .with_thinner(thinner)
    }

    /// Sets the thinner.
    ///
    /// # Errors
    /// [`OutOfRange`] for more than 100 % or 100 parts.
    pub fn with_thinner(self, thinner: Thinner) -> Result<MixRatio, OutOfRange> {
        match thinner {
            Thinner::None => {}
            Thinner::OfMix(share) | Thinner::OfBase(share) => {
                hold("Thinner", share, Share::percent(0.0), MOST_THINNER)?;
            }
            Thinner::Parts(parts) => {
                hold("Parts of thinner", parts, 0, 100)?;
            }
        }
        Ok(MixRatio { thinner, ..self })
    }

    fn thinner_parts(&self) -> f64 {
        match self.thinner {
            Thinner::None => 0.0,
            Thinner::OfMix(share) => (self.base + self.hardener) * share.in_ones(),
            Thinner::OfBase(share) => self.base * share.in_ones(),
            Thinner::Parts(parts) => parts.into(),
        }
    }

    /// Returns the portions that make `total`, thinner included.
    ///
    /// Range: 1 ml to 1000 L.
    ///
    /// # Errors
    /// [`OutOfRange`] outside it.
    pub fn for_total(&self, total: Volume) -> Result<Worked<Portions>, OutOfRange> {
        hold("The volume to mix", total, LEAST_VOLUME, MOST_VOLUME)?;
        let parts = self.base + self.hardener + self.thinner_parts();
        let part = total / parts;
        let formula = format!(
            "one part = {} ml/({} + {} + {}) = {} ml",
            neat(total.in_millilitres()),
            neat(self.base),
            neat(self.hardener),
            neat(self.thinner_parts()),
            neat(part.in_millilitres()),
        );
        Ok(Worked::new(self.portions(part), formula, SOURCE).caution(NEVER_ALTER))
    }

    /// Returns the portions that go with `base` of base.
    ///
    /// Range: 1 ml to 1000 L.
    ///
    /// # Errors
    /// [`OutOfRange`] outside it.
    pub fn for_base(&self, base: Volume) -> Result<Worked<Portions>, OutOfRange> {
        hold("The volume of base", base, LEAST_VOLUME, MOST_VOLUME)?;
        let part = base / self.base;
        let formula = format!(
            "one part = {} ml/{} = {} ml",
            neat(base.in_millilitres()),
            neat(self.base),
            neat(part.in_millilitres()),
        );
        Ok(Worked::new(self.portions(part), formula, SOURCE).caution(NEVER_ALTER))
    }

    fn portions(&self, part: Volume) -> Portions {
        Portions {
            base: part * self.base,
            hardener: part * self.hardener,
            thinner: part * self.thinner_parts(),
        }
    }

    /// Returns the marks to fill one cup to, one after the other, for at least `total`.
    ///
    /// The smallest mix that reaches `total` and whose base and hardener both end on a mark, or near
    /// enough to one that the hardener's part is off by at most [`MOST_RATIO_ERROR`]. Range: `total`
    /// from 1 ml to 1000 L, at most 1000 marks; looks up to twice `total`.
    ///
    /// # Errors
    /// [`MixError::CupTooCoarse`] where no mark serves; [`MixError::OutOfRange`].
    pub fn cup_marks(&self, total: Volume, mark: Volume) -> Result<Worked<CupMarks>, MixError> {
        hold("The volume to mix", total, LEAST_VOLUME, MOST_VOLUME)?;
        hold("The step of the cup's marks", mark, total / 1000.0, total)?;
        let thinner_parts = self.thinner_parts();
        let whole = total / mark;
        let steps = (2.0 * whole).ceil().min(2000.0) as u32;
        // The cup fills as the base does, so the first mix that serves is the smallest.
        let best = (1..=steps).map(f64::from).find_map(|base| {
            let hardener = (base * self.hardener / self.base).round();
            let error = hardener * self.base / (base * self.hardener) - 1.0;
            let thinner = (base * thinner_parts / self.base).round();
            let filled = base + hardener + thinner;
            let serves = error.abs() <= MOST_RATIO_ERROR.in_ones() + 1e-9
                && filled >= whole - 1e-9
                && filled <= 2.0 * whole + 1e-9;
            serves.then_some((base, hardener, thinner, error))
        });
        let (base, hardener, thinner, error) = best.ok_or(MixError::CupTooCoarse {
            up_to: total * 2.0,
            within: MOST_RATIO_ERROR,
        })?;
        let marks = CupMarks {
            base_to: mark * base,
            hardener_to: mark * (base + hardener),
            thinner_to: mark * (base + hardener + thinner),
            ratio_error: Share::percent(error * 100.0),
        };
        let formula = format!(
            "{} + {} + {} marks of {} ml: hardener off by {} %",
            neat(base),
            neat(hardener),
            neat(thinner),
            neat(mark.in_millilitres()),
            neat(error * 100.0),
        );
        let worked = Worked::new(marks, formula, SOURCE).caution(NEVER_ALTER);
        let wanted = mark * (base * thinner_parts / self.base);
        let off = (marks.thinner_to - marks.hardener_to - wanted) / wanted;
        Ok(
            if wanted > mark * 0.0 && off.abs() > MOST_THINNER_ERROR.in_ones() {
                worked.caution(format!(
                    "The thinner falls between two marks: measure {wanted:.0} of it by itself."
                ))
            } else {
                worked
            },
        )
    }
}

/// What goes into a mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Portions {
    pub base: Volume,
    pub hardener: Volume,
    pub thinner: Volume,
}

impl From<Portions> for Answer {
    fn from(mix: Portions) -> Answer {
        Answer::Named(vec![
            ("base", mix.base.into()),
            ("hardener", mix.hardener.into()),
            ("thinner", mix.thinner.into()),
        ])
    }
}

/// Where to fill a cup to, in this order: base, hardener, thinner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CupMarks {
    pub base_to: Volume,
    pub hardener_to: Volume,
    pub thinner_to: Volume,
    /// How much more or less hardener than the ratio asks for.
    pub ratio_error: Share,
}

impl From<CupMarks> for Answer {
    fn from(marks: CupMarks) -> Answer {
        Answer::Named(vec![
            ("base to", marks.base_to.into()),
            ("hardener to", marks.hardener_to.into()),
            ("thinner to", marks.thinner_to.into()),
            ("hardener off by", marks.ratio_error.into()),
        ])
    }
}

impl fmt::Display for MixRatio {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.base, self.hardener)?;
        match self.thinner {
            Thinner::None => Ok(()),
            Thinner::OfMix(share) => write!(f, " + {share} of mix"),
            Thinner::OfBase(share) => write!(f, " + {share} of base"),
            Thinner::Parts(parts) => write!(f, ":{parts}"),
        }
    }
}

impl FromStr for MixRatio {
    type Err = MixError;

    fn from_str(text: &str) -> Result<MixRatio, MixError> {
        let not_a_ratio = || MixError::NotARatio(text.trim().into());
        let (ratio, thinner) = match text.split_once('+') {
            Some((ratio, thinner)) => (ratio, Some(thinner)),
            None => (text, None),
        };
        let mut parts = ratio.split(':').map(str::trim);
        let mut part = || -> Result<f64, MixError> {
            let part: f64 = parts
                .next()
                .and_then(|part| part.parse().ok())
                .ok_or_else(not_a_ratio)?;
            Ok(hold("A part of the mix", part, LEAST_PARTS, MOST_PARTS)?)
        };
        let (base, hardener) = (part()?, part()?);
        let third = parts.next();
        if parts.next().is_some() || (third.is_some() && thinner.is_some()) {
            return Err(not_a_ratio());
        }
        let thinner = match (third, thinner) {
            (Some(third), _) if third.ends_with('%') => {
                return Err(MixError::ShareOfWhat(text.trim().into()));
            }
            (Some(third), _) => Thinner::Parts(third.parse().map_err(|_| not_a_ratio())?),
            (None, Some(share)) => read_thinner(share.trim(), text.trim())?,
            (None, None) => Thinner::None,
        };
        let ratio = MixRatio {
            base,
            hardener,
            thinner: Thinner::None,
        };
        Ok(ratio.with_thinner(thinner)?)
    }
}

/// Reads `10 % of mix`.
fn read_thinner(share: &str, whole: &str) -> Result<Thinner, MixError> {
    let Some((share, of)) = share.split_once("of") else {
        return Err(MixError::ShareOfWhat(whole.into()));
    };
    let share: Share = share
        .trim()
        .parse()
        .map_err(|_| MixError::NotARatio(whole.into()))?;
    match of.trim().trim_start_matches("the ") {
        "mix" => Ok(Thinner::OfMix(share)),
        "base" => Ok(Thinner::OfBase(share)),
        _ => Err(MixError::ShareOfWhat(whole.into())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ratio(text: &str) -> MixRatio {
        text.parse().unwrap()
    }

    /// Derived: one part is 750/(3·1.1) = 227.27 ml.
    #[test]
    fn thinner_is_a_share_of_what_the_sheet_says() {
        let mix = ratio("2:1 + 10 % of mix")
            .for_total(Volume::millilitres(750.0))
            .unwrap();
        assert!((mix.result.base.in_millilitres() - 454.5).abs() < 0.05);
        assert!((mix.result.hardener.in_millilitres() - 227.3).abs() < 0.05);
        assert!((mix.result.thinner.in_millilitres() - 68.2).abs() < 0.05);
        let of_base = ratio("2:1 + 10 % of base")
            .for_base(Volume::millilitres(200.0))
            .unwrap();
        assert!((of_base.result.thinner.in_millilitres() - 20.0).abs() < 1e-9);
    }

    #[test]
    fn ratios_are_read_as_painters_write_them() {
        for (text, shown) in [
            ("4:1", "4:1"),
            (" 2.5 : 1 ", "2.5:1"),
            ("4:1:1", "4:1:1"),
            ("2:1 + 10 % of mix", "2:1 + 10 % of mix"),
            ("2:1+5% of the base", "2:1 + 5 % of base"),
        ] {
            assert_eq!(ratio(text).to_string(), shown);
        }
        for text in ["2:1:10%", "2:1 + 10 %", "2:1 + 10 % of water"] {
            assert!(
                matches!(text.parse::<MixRatio>(), Err(MixError::ShareOfWhat(_))),
                "{text}"
            );
        }
        for text in [
            "",
            "4",
            "4:",
            "4:x",
            "4:1:1:1",
            "4:1:1 + 10 % of mix",
            "inf:1",
            "0:1",
            "1:NaN",
        ] {
            assert!(text.parse::<MixRatio>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_cup_is_filled_to_its_marks() {
        let marks = ratio("4:1:1").cup_marks(Volume::millilitres(600.0), Volume::millilitres(50.0));
        let marks = marks.unwrap().result;
        assert_eq!(marks.base_to, Volume::millilitres(400.0));
        assert_eq!(marks.hardener_to, Volume::millilitres(500.0));
        assert_eq!(marks.thinner_to, Volume::millilitres(600.0));
        assert_eq!(marks.ratio_error.in_percent(), 0.0);
        // 3:1 on a cup of 100 ml marks reaches 500 ml only as 600 and 200.
        let marks = ratio("3:1").cup_marks(Volume::millilitres(500.0), Volume::millilitres(100.0));
        assert_eq!(
            marks.unwrap().result.hardener_to,
            Volume::millilitres(800.0)
        );
        let thin = ratio("2:1 + 5 % of mix");
        let marks = thin
            .cup_marks(Volume::millilitres(300.0), Volume::millilitres(50.0))
            .unwrap();
        assert!(
            marks.cautions[1].contains("measure 15 ml of it by itself"),
            "{:?}",
            marks.cautions
        );
        let coarse = ratio("7:1").cup_marks(Volume::millilitres(300.0), Volume::millilitres(100.0));
        assert!(matches!(coarse, Err(MixError::CupTooCoarse { .. })));
    }

    proptest! {
        #[test]
        fn portions_make_the_total_in_the_ratio(
            base in 1u32..20, hardener in 1u32..20, thinner in 0.0..50.0, total in 1.0..5000.0
        ) {
            let thinner = Thinner::OfMix(Share::percent(thinner));
            let ratio = MixRatio::new(base, hardener, thinner).unwrap();
            let mix = ratio.for_total(Volume::millilitres(total)).unwrap().result;
            let sum = mix.base + mix.hardener + mix.thinner;
            prop_assert!((sum.in_millilitres() - total).abs() < 1e-6);
            let found = mix.base / mix.hardener;
            prop_assert!((found - f64::from(base) / f64::from(hardener)).abs() < 1e-9);
        }

        #[test]
        fn marks_are_enough_and_keep_the_ratio(
            base in 1u32..10, hardener in 1u32..10, total in 50.0..2000.0, step in 5.0..50.0
        ) {
            let ratio = MixRatio::new(base, hardener, Thinner::None).unwrap();
            let marks = ratio.cup_marks(Volume::millilitres(total), Volume::millilitres(step));
            if let Ok(marks) = marks {
                let marks = marks.result;
                let filled = marks.thinner_to.in_millilitres();
                prop_assert!(filled >= total - 1e-6 && filled <= 2.0 * total + 1e-6);
                let hardener_part = marks.hardener_to - marks.base_to;
                let wanted = marks.base_to * (f64::from(hardener) / f64::from(base));
                prop_assert!((hardener_part / wanted - 1.0).abs() <= 0.02 + 1e-9);
            }
        }

        #[test]
        fn no_text_and_no_number_panics(text in "[0-9:+%. a-z]{0,20}", total: f64, mark: f64) {
            if let Ok(ratio) = text.parse::<MixRatio>() {
                let (total, mark) = (Volume::millilitres(total), Volume::millilitres(mark));
                let _ = ratio.for_total(total);
                let _ = ratio.cup_marks(total, mark);
            }
        }
    }
}
