//! The forms of the captured sound that the listening streams are fed.

use super::Aid;
use super::decoder::Form;
use super::denoised::{Denoised, Network};
use super::level::{FaintNoise, Levelling};
use super::suppression::Suppression;

/// The least noise in a form of the sound, as root mean square in steps of 16-bit sound at 16 kHz:
/// the recogniser misses the word after digital silence.
const LEAST_NOISE: f32 = 1.0;

/// Makes every form of a stream of sound.
pub struct Forms {
    levelling: Option<Levelling>,
    suppression: Option<Suppression>,
    denoised: Option<Denoised>,
    noise: FaintNoise,
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
            noise: FaintNoise::default(),
            scored: has(Aid::Score),
        }
    }

    /// Whether phrases are scored.
    pub fn scored(&self) -> bool {
        self.scored
    }

    /// Takes the next samples, captured at `rate` Hz, `over_own_voice` where the program's was taken out of
    /// them; returns them in every form, in the order of [`Form::ALL`], empty where there is none.
    pub fn of(
        &mut self,
        mut samples: Vec<i16>,
        rate: u32,
        over_own_voice: bool,
    ) -> [Vec<i16>; Form::COUNT] {
        // The recogniser's own rate is 16 kHz: of noise at a higher one it hears that much less.
        let least = LEAST_NOISE * (rate as f32 / 16_000.0).sqrt();
        match &mut self.levelling {
            Some(levelling) if over_own_voice => levelling.apply(&mut samples),
            Some(levelling) => levelling.level(&mut samples, rate),
            None => self.noise.add_to(&mut samples, least),
        }
        let suppressed = self.suppression.as_mut().map(|s| s.suppress(&samples));
        let denoised = self.denoised.as_mut().map(|d| d.denoise(&samples));
        let [suppressed, denoised] = [suppressed, denoised].map(|form| {
            let mut form = form.unwrap_or_default();
            self.noise.add_to(&mut form, least);
            form
        });
        [samples, suppressed, denoised]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hear::level::dbfs;

    #[test]
    fn no_form_falls_silent_and_the_same_sound_gives_the_same_forms() {
        for rate in [16_000, 48_000] {
            for without in [&[] as &[Aid], &[Aid::Gain]] {
                let mut forms = [(); 2].map(|()| Forms::new(rate, without, None));
                for _ in 0..100 {
                    let sound = vec![0; rate as usize * 3 / 100];
                    let [one, other] = forms
                        .each_mut()
                        .map(|forms| forms.of(sound.clone(), rate, false));
                    assert_eq!(one, other);
                    for form in one {
                        assert!(dbfs(&form) > -93.0, "{} dBFS at {rate} Hz", dbfs(&form));
                    }
                }
            }
        }
    }
}
