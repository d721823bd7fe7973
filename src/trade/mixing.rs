//! Mixing two-part paint: portions by ratio and thinner, and the marks to fill a cup to.

use std::fmt;
use std::str::FromStr;

use super::quantity::{Share, Volume};
use super::range::{OutOfRange, hold};
use super::worked::{Worked, neat};

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
    /// enough to one that the hardener's part is off by at most [`MOST_RATIO_ERROR`]. Range: `total` from
    /// 1 ml to 1000 L, at most 1000 marks; looks up to twice `total`.
    ///
    /// # Errors
    /// [`MixError::CupTooCoarse`] where no mark serves; [`MixError::OutOfRange`].
    pub fn cup_marks(&self, total: Volume, mark: Volume) -> Result<Worked<CupMarks>, MixError> {
        hold("The volume to mix", total, LEAST_VOLUME, MOST_VOLUME)?;
        hold("The step of the cup's marks", mark, total / 1000.0, total)?;
        let thinner_parts = self.thinner_parts();
        let whole = total / mark;
        let steps = (2.0 * whole).ceil().min(2000.0) as u32;
        let mixes = (1..=steps).map(f64::from).filter_map(|base| {
            let hardener = (base * self.hardener / self.base).round();
            let error = hardener * self.base / (base * self.hardener) - 1.0;
            let thinner = (base * thinner_parts / self.base).round();
            let filled = base + hardener + thinner;
            let serves = error.abs() <= MOST_RATIO_ERROR.in_ones() + 1e-9
                && filled >= whole - 1e-9
                && filled <= 2.0 * whole + 1e-9;
            serves.then_some((base, hardener, thinner, error))
        });
        let best = mixes.min_by(|a, b| {
            let filled = |mix: &(f64, f64, f64, f64)| mix.0 + mix.1 + mix.2;
            filled(a).total_cmp(&filled(b))
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
        Ok(Worked::new(marks, formula, SOURCE).caution(NEVER_ALTER))
    }
}

/// What goes into a mix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Portions {
    pub base: Volume,
    pub hardener: Volume,
    pub thinner: Volume,
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
