//! Sound cut into short frames, each as powers in bands that grow with frequency as an ear's do. Pure.

use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

/// How many bands a frame has.
pub const BANDS: usize = 16;
/// Between the beginnings of two frames, in seconds; a frame is twice as long.
pub const HOP: f32 = 0.02;
/// What the bands span, in Hz: below it is hum and rumble, which hide no words; above it the
/// recogniser does not listen.
const SPAN: (f32, f32) = (100.0, 7_000.0);

/// Mean squares of the bands, where a full square wave is 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    pub bands: [f32; BANDS],
}

impl Frame {
    /// Returns the mean square of all bands together.
    pub fn power(&self) -> f32 {
        self.bands.iter().sum()
    }
}

/// Cuts sound into frames.
pub struct Cutter {
    rate: u32,
    transform: Arc<dyn RealToComplex<f32>>,
    /// The raised cosine that each frame is weighted with.
    window: Vec<f32>,
    /// The first bin of each band, and the one after the last.
    edges: [usize; BANDS + 1],
    scale: f32,
    waiting: Vec<f32>,
    weighted: Vec<f32>,
    spectrum: Vec<Complex<f32>>,
}

impl Cutter {
    /// Makes a cutter for sound of `rate` Hz, 8000 or more.
    pub fn new(rate: u32) -> Cutter {
        let length = 2 * hop(rate);
        let transform = RealFftPlanner::new().plan_fft_forward(length);
        let window = raised_cosine(length);
        let energy: f32 = window.iter().map(|w| w * w).sum();
        Cutter {
            rate,
            edges: edges(rate, length),
            scale: 2.0 / (length as f32 * energy),
            waiting: Vec::new(),
            weighted: transform.make_input_vec(),
            spectrum: transform.make_output_vec(),
            transform,
            window,
        }
    }

    /// Returns the rate of the sound, in Hz.
    pub fn rate(&self) -> u32 {
        self.rate
    }

    /// Takes the next samples; hands out every frame that they complete.
    pub fn take(&mut self, samples: &[i16], mut with: impl FnMut(Frame)) {
        self.waiting
            .extend(samples.iter().map(|&s| f32::from(s) / 32_768.0));
        let (length, hop) = (self.window.len(), hop(self.rate));
        let mut from = 0;
        while self.waiting.len() - from >= length {
            if let Some(frame) = self.frame(from) {
                with(frame);
            }
            from += hop;
        }
        self.waiting.drain(..from);
    }

    fn frame(&mut self, from: usize) -> Option<Frame> {
        let sound = self.waiting[from..].iter().zip(&self.window);
        for (weighted, (sample, weight)) in self.weighted.iter_mut().zip(sound) {
            *weighted = sample * weight;
        }
        // It fails only where lengths differ, and all are of the transform's own making.
        self.transform
            .process(&mut self.weighted, &mut self.spectrum)
            .ok()?;
        let mut bands = [0.0; BANDS];
        for (band, edges) in bands.iter_mut().zip(self.edges.windows(2)) {
            let bins = &self.spectrum[edges[0]..edges[1]];
            *band = self.scale * bins.iter().map(|bin| bin.norm_sqr()).sum::<f32>();
        }
        Some(Frame { bands })
    }
}

/// Returns `length` weights that rise and fall as a raised cosine.
pub fn raised_cosine(length: usize) -> Vec<f32> {
    let turn = std::f32::consts::TAU / length as f32;
    (0..length)
        .map(|i| 0.5 - 0.5 * (turn * i as f32).cos())
        .collect()
}

fn hop(rate: u32) -> usize {
    ((rate as f32 * HOP) as usize).max(1)
}

fn edges(rate: u32, length: usize) -> [usize; BANDS + 1] {
    let mel = |hertz: f32| (1.0 + hertz / 700.0).ln();
    let top = SPAN.1.min(0.45 * rate as f32);
    let (low, high) = (mel(SPAN.0), mel(top));
    let mut edges = [0; BANDS + 1];
    for (i, edge) in edges.iter_mut().enumerate() {
        let at = low + (high - low) * i as f32 / BANDS as f32;
        let hertz = 700.0 * (at.exp() - 1.0);
        *edge = ((hertz * length as f32 / rate as f32).round() as usize).min(length / 2);
    }
    edges
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tone_has_its_power_at_every_rate_and_in_one_band() {
        for rate in [8_000, 16_000, 44_100, 48_000] {
            let turn = std::f32::consts::TAU * 1_000.0 / rate as f32;
            let tone: Vec<i16> = (0..rate)
                .map(|i| (16_384.0 * (turn * i as f32).sin()) as i16)
                .collect();
            let mut frames = Vec::new();
            let mut cutter = Cutter::new(rate);
            for piece in tone.chunks(481) {
                cutter.take(piece, |frame| frames.push(frame));
            }
            assert_eq!(frames.len(), 49, "{rate} Hz");
            let decibels = 10.0 * frames[20].power().log10();
            assert!((decibels + 9.03).abs() < 0.2, "{rate} Hz: {decibels}");
            let strongest = frames[20].bands.iter().copied().fold(0.0, f32::max);
            assert!(strongest > 0.9 * frames[20].power(), "{rate} Hz");
        }
    }

    #[test]
    fn hum_below_the_span_is_left_out() {
        let turn = std::f32::consts::TAU * 50.0 / 16_000.0;
        let hum: Vec<i16> = (0..16_000)
            .map(|i| (16_384.0 * (turn * i as f32).sin()) as i16)
            .collect();
        let mut worst: f32 = 0.0;
        Cutter::new(16_000).take(&hum, |frame| worst = worst.max(frame.power()));
        assert!(10.0 * worst.log10() < -20.0, "{worst}");
    }
}
