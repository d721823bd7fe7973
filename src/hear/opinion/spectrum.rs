//! Sound as the second opinion's network sees it: powers in bands of the mel scale, as logarithms.

use ndarray::Array2;
use realfft::RealFftPlanner;

use crate::hear::bands::raised_cosine;

/// The network's own rate, in Hz.
pub const RATE: u32 = 16_000;
/// A frame and the step to the next, in samples: 25 and 10 ms.
const FRAME: usize = 400;
const STEP: usize = 160;
/// Bands of the mel scale, up to half the rate.
const BANDS: usize = 80;
/// What is softer than the loudest by more than this power of ten is as good as this.
const RANGE: f32 = 8.0;

/// Returns the bands' powers of `sound` at [`RATE`], a row for each step.
pub fn mel(sound: &[f32]) -> Array2<f32> {
    let forward = RealFftPlanner::new().plan_fft_forward(FRAME);
    let window = raised_cosine(FRAME);
    let bands = bands();
    let mut piece = forward.make_input_vec();
    let mut spectrum = forward.make_output_vec();
    let steps = sound.len() / STEP;
    let mut powers = Array2::zeros((steps, BANDS));
    for (step, mut row) in powers.rows_mut().into_iter().enumerate() {
        // A frame lies around its time; at both ends the sound is mirrored.
        for (n, value) in piece.iter_mut().enumerate() {
            let at = (step * STEP + n).abs_diff(FRAME / 2);
            let last = sound.len().saturating_sub(1);
            let at = if at > last {
                (2 * last).saturating_sub(at)
            } else {
                at
            };
            *value = sound.get(at).copied().unwrap_or(0.0) * window[n];
        }
        // Lengths always fit, so it does not fail.
        let _ = forward.process(&mut piece, &mut spectrum);
        for (band, value) in bands.iter().zip(row.iter_mut()) {
            let power = band
                .iter()
                .map(|(at, weight)| spectrum[*at].norm_sqr() * weight);
            *value = power.sum::<f32>().max(1e-10).log10();
        }
    }
    let loudest = powers.iter().copied().fold(f32::MIN, f32::max);
    powers.mapv_into(|power| (power.max(loudest - RANGE) + 4.0) / 4.0)
}

/// Returns the weights of each band at the frequencies that it reaches over: triangles of the same area, evenly
/// spaced on the mel scale of Slaney's Auditory Toolbox (1998), linear below 1 kHz and logarithmic above.
fn bands() -> Vec<Vec<(usize, f32)>> {
    let step = 6.4f32.ln() / 27.0;
    let to_mel = |hertz: f32| match hertz {
        low if low < 1_000.0 => low * 3.0 / 200.0,
        high => 15.0 + (high / 1_000.0).ln() / step,
    };
    let to_hertz = |mel: f32| match mel {
        low if low < 15.0 => low * 200.0 / 3.0,
        high => 1_000.0 * ((high - 15.0) * step).exp(),
    };
    let top = to_mel(RATE as f32 / 2.0);
    let edge = |n: usize| to_hertz(top * n as f32 / (BANDS + 1) as f32);
    (0..BANDS)
        .map(|band| {
            let [from, middle, to] = [0, 1, 2].map(|n| edge(band + n));
            let weight = |at: usize| {
                let hertz = at as f32 * RATE as f32 / FRAME as f32;
                let height = ((hertz - from) / (middle - from)).min((to - hertz) / (to - middle));
                (at, height.max(0.0) * 2.0 / (to - from))
            };
            let all = (0..=FRAME / 2).map(weight);
            all.filter(|(_, weight)| *weight > 0.0).collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hear::level::floats;
    use crate::hear::opinion::tests::human;

    /// By the feature extractor of the package faster-whisper, version 1.2.1, for the same 30 s.
    #[test]
    fn bands_of_what_somebody_said_are_those_of_the_reference() {
        let Some(mut sound) = human("goforward.raw") else {
            return;
        };
        sound.resize(30 * RATE as usize, 0);
        let mel = mel(&floats(&sound));
        assert_eq!(mel.dim(), (3_000, BANDS));
        for (band, step, expected) in [
            (0, 50, 0.0017),
            (10, 100, 0.6389),
            (40, 100, -0.0406),
            (79, 150, -0.8862),
            (20, 2_000, -0.8862),
        ] {
            let value = mel[[step, band]];
            assert!((value - expected).abs() < 1e-3, "{band}, {step}: {value}");
        }
        let mean = mel.mean().unwrap();
        assert!((mean + 0.8306).abs() < 1e-3, "{mean}");
    }
}
