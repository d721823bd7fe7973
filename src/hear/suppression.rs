//! The sound with steady noise suppressed.
//!
//! Suppression helps the recogniser where a machine runs and harms it a little elsewhere, so it never
//! stands alone: the sound as it came is always heard beside it.
//!
//! The gain of each frequency is the log-spectral amplitude estimator of Ephraim and Malah (IEEE
//! Transactions on Acoustics, Speech, and Signal Processing 33, 1985) over a noise level tracked by
//! the probability that speech is present (Gerkmann and Hendriks, IEEE Transactions on Audio, Speech,
//! and Language Processing 20, 2012). It never falls below a floor: what is left of the noise masks
//! the artefacts.

use std::collections::VecDeque;
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

/// A frame is about this long, in seconds.
const FRAME: f32 = 0.032;
/// The least gain: −12 dB.
const FLOOR: f32 = 0.251;
/// Share of the last frame in the estimated ratio of speech to noise.
const SMOOTH: f32 = 0.96;
/// The least estimated ratio: −25 dB.
const LEAST_RATIO: f32 = 0.003_16;
/// The ratio that speech is taken to have where it is present: 15 dB.
const PRESENT: f32 = 31.6;
/// How slowly the noise level moves, from frame to frame.
const NOISE_SLOW: f32 = 0.84;
/// The first frames are taken for noise.
const FIRST: u32 = 6;
/// Added to every power, so that none is zero.
const TINY: f32 = 1e-3;

/// Suppresses steady noise in a stream of samples; what comes out is one frame late.
pub struct Suppression {
    forward: Arc<dyn RealToComplex<f32>>,
    back: Arc<dyn ComplexToReal<f32>>,
    window: Vec<f32>,
    /// The last frame's worth of what came in.
    frame: Vec<f32>,
    /// What came in and does not fill half a frame yet.
    waiting: Vec<f32>,
    /// The second half of the last frame that went out.
    overlap: Vec<f32>,
    /// What went out and was not asked for yet.
    ready: VecDeque<i16>,
    spectrum: Vec<Complex<f32>>,
    work: Vec<f32>,
    bands: Vec<Band>,
    seen: u32,
}

/// What is known of one frequency.
#[derive(Debug, Clone, Copy, Default)]
struct Band {
    noise: f32,
    /// Smoothed probability of speech.
    presence: f32,
    /// Power of the speech estimated in the last frame.
    speech: f32,
}

impl Suppression {
    /// Begins for sound of `rate` Hz.
    pub fn new(rate: u32) -> Suppression {
        let length = ((rate as f32 * FRAME) as usize).next_power_of_two().max(64);
        let mut planner = RealFftPlanner::new();
        let forward = planner.plan_fft_forward(length);
        let back = planner.plan_fft_inverse(length);
        // The root of the Hann window, used before and after: halves that overlap add up to one.
        let window = (0..length)
            .map(|i| (std::f32::consts::PI * i as f32 / length as f32).sin())
            .collect();
        Suppression {
            spectrum: forward.make_output_vec(),
            bands: vec![Band::default(); length / 2 + 1],
            forward,
            back,
            window,
            frame: vec![0.0; length],
            waiting: Vec::new(),
            overlap: vec![0.0; length / 2],
            ready: VecDeque::from(vec![0; length / 2]),
            work: vec![0.0; length],
            seen: 0,
        }
    }

    /// Takes the next samples; returns as many, one frame late.
    pub fn suppress(&mut self, samples: &[i16]) -> Vec<i16> {
        self.waiting.extend(samples.iter().map(|&s| f32::from(s)));
        let half = self.frame.len() / 2;
        while self.waiting.len() >= half {
            self.frame.copy_within(half.., 0);
            self.frame[half..].copy_from_slice(&self.waiting[..half]);
            self.waiting.drain(..half);
            self.next_half();
        }
        let count = samples.len().min(self.ready.len());
        self.ready.drain(..count).collect()
    }

    fn next_half(&mut self) {
        let half = self.frame.len() / 2;
        for ((work, sample), window) in self.work.iter_mut().zip(&self.frame).zip(&self.window) {
            *work = sample * window;
        }
        // Both transforms fail only on buffers of another length, and these were made for them.
        if (self.forward.process(&mut self.work, &mut self.spectrum)).is_err() {
            return;
        }
        self.seen = self.seen.saturating_add(1);
        let seen = self.seen;
        for (bin, band) in self.spectrum.iter_mut().zip(&mut self.bands) {
            *bin *= band.gain(bin.norm_sqr() + TINY, seen);
        }
        if (self.back.process(&mut self.spectrum, &mut self.work)).is_err() {
            return;
        }
        let scale = 1.0 / self.frame.len() as f32;
        for i in 0..half {
            let sum = self.overlap[i] + self.work[i] * self.window[i] * scale;
            let sum = sum.clamp(f32::from(i16::MIN), f32::from(i16::MAX));
            self.ready.push_back(sum as i16);
            self.overlap[i] = self.work[half + i] * self.window[half + i] * scale;
        }
    }
}

impl Band {
    /// Takes the power of the next frame; returns its gain, from [`FLOOR`] to 1.
    fn gain(&mut self, power: f32, seen: u32) -> f32 {
        if seen <= FIRST {
            self.noise += (power - self.noise) / seen as f32;
        } else {
            self.track(power);
        }
        let noise = self.noise.max(TINY);
        let after = (power / noise).min(1000.0);
        let now = (after - 1.0).max(0.0);
        let before = (SMOOTH * self.speech / noise + (1.0 - SMOOTH) * now).max(LEAST_RATIO);
        let share = before / (1.0 + before);
        let gain = (share * (0.5 * exponential_integral(share * after)).exp()).min(1.0);
        self.speech = gain * gain * power;
        gain.max(FLOOR)
    }

    fn track(&mut self, power: f32) {
        let ratio = (power / self.noise.max(TINY) * PRESENT / (1.0 + PRESENT)).min(50.0);
        let mut present = 1.0 / (1.0 + (1.0 + PRESENT) * (-ratio).exp());
        self.presence = 0.9 * self.presence + 0.1 * present;
        // Speech that never ends is noise that grew.
        if self.presence > 0.99 {
            present = present.min(0.99);
        }
        let estimate = (1.0 - present) * power + present * self.noise;
        self.noise = NOISE_SLOW * self.noise + (1.0 - NOISE_SLOW) * estimate;
    }
}

/// E₁(x) for x > 0: the approximations 5.1.53 and 5.1.56 of Abramowitz and Stegun, Handbook of
/// Mathematical Functions (the coefficients from memory, held by a test against the tables' values).
fn exponential_integral(x: f32) -> f32 {
    let x = x.max(1e-6);
    if x <= 1.0 {
        let row = [
            0.001_078_57,
            -0.009_760_04,
            0.055_199_68,
            -0.249_910_55,
            0.999_991_9,
            -0.577_215_7,
        ];
        row.iter().fold(0.0, |sum, a| sum * x + a) - x.ln()
    } else {
        let above = (((x + 8.573_329) * x + 18.059_017) * x + 8.634_761) * x + 0.267_773_7;
        let below = (((x + 9.573_322) * x + 25.632_956) * x + 21.099_65) * x + 3.958_497;
        (-x).exp() / x * above / below
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hear::level::dbfs;

    /// Table 5.1 of the same handbook (values from memory).
    #[test]
    fn the_integral_is_that_of_the_tables() {
        for (x, value) in [
            (0.1, 1.822_924),
            (0.5, 0.559_774),
            (1.0, 0.219_384),
            (2.0, 0.048_900_5),
        ] {
            assert!((exponential_integral(x) - value).abs() < 1e-4, "{x}");
        }
    }

    #[test]
    fn as_much_comes_out_as_goes_in() {
        let mut suppression = Suppression::new(16_000);
        for length in [480, 256, 1, 255, 1_000, 0, 7] {
            assert_eq!(suppression.suppress(&vec![100; length]).len(), length);
        }
    }

    #[test]
    fn what_is_loud_comes_through_and_steady_noise_falls_to_the_floor() {
        let mut random = fastrand::Rng::with_seed(1);
        let mut suppression = Suppression::new(16_000);
        let mut noise = |n: usize| -> Vec<i16> { (0..n).map(|_| random.i16(-300..=300)).collect() };
        let quiet = suppression.suppress(&noise(64_000));
        let fall = dbfs(&noise(16_000)) - dbfs(&quiet[48_000..]);
        assert!((9.0..=12.5).contains(&fall), "{fall} dB");
        let tone = |i: usize| (8_000.0 * (i as f32 * 0.4).sin()) as i16;
        let loud: Vec<i16> = (0..8_000).map(tone).collect();
        let through = suppression.suppress(&loud);
        let loss = dbfs(&loud) - dbfs(&through[2_000..]);
        assert!(loss.abs() < 1.0, "{loss} dB");
    }
}
