//! The forms of the captured sound that the listening streams are fed.

use super::Aid;
use super::decoder::Form;
use super::denoised::{Denoised, Network};
use super::level::Levelling;
use super::suppression::Suppression;

/// Makes every form of a stream of sound.
pub struct Forms {
    levelling: Option<Levelling>,
    suppression: Option<Suppression>,
    denoised: Option<Denoised>,
    scored: bool,
}

impl Forms {
    /// Begins for sound of `rate` Hz, without some aids; `network` is what tells voices from the rest,
    /// where there is a better one than the one built in.
    pub fn new(rate: u32, without: &[Aid], network: Option<Box<dyn Network>>) -> Forms {
        let has = |aid| !without.contains(&aid);
        Forms {
            levelling: has(Aid::Gain).then(Levelling::default),
            suppression: has(Aid::Suppression).then(|| Suppression::new(rate)),
            denoised: has(Aid::Denoising)
                .then(|| Denoised::new(rate, network))
                .flatten(),
            scored: has(Aid::Score),
        }
    }

    /// Whether phrases are scored.
    pub fn scored(&self) -> bool {
        self.scored
    }

    /// Takes the next samples, captured at `rate` Hz; returns them in every form, in the order of
    /// [`Form::ALL`], empty where there is none.
    pub fn of(&mut self, mut samples: Vec<i16>, rate: u32) -> [Vec<i16>; Form::COUNT] {
        if let Some(levelling) = &mut self.levelling {
            levelling.level(&mut samples, rate);
        }
        let suppressed = self.suppression.as_mut().map(|s| s.suppress(&samples));
        let denoised = self.denoised.as_mut().map(|d| d.denoise(&samples));
        [
            samples,
            suppressed.unwrap_or_default(),
            denoised.unwrap_or_default(),
        ]
    }
}
