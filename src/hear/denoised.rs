//! The sound with what is not a voice taken out by a neural network: DeepFilterNet 3 where its
//! library is found (`deep_filter.rs`), otherwise RNNoise's small one, which is built in.
//!
//! It helps where a machine runs and takes a little of the words elsewhere, so what it gives
//! never stands alone: the sound as captured is always heard beside it. A little of that sound is left
//! in on purpose: the recogniser hears words over a faint noise better than over the artefacts.

use std::collections::VecDeque;

use nnnoiseless::DenoiseState;
use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Resampler};

/// The networks' own rate, in Hz.
const INNER: usize = 48_000;
/// One piece, 10 ms, at that rate.
pub const INNER_PIECE: usize = DenoiseState::FRAME_SIZE;
/// The share of the sound that is left as it was: −20 dB.
const LEFT: f32 = 0.1;

/// A network that takes out of the sound what is not a voice.
pub trait Network {
    /// How many pieces late it gives what was put in.
    fn late(&self) -> usize;

    /// Takes the next piece, [`INNER_PIECE`] samples at 48 kHz in the steps of 16-bit sound; fills
    /// `voice` with as many.
    fn next(&mut self, piece: &[f32; INNER_PIECE], voice: &mut [f32; INNER_PIECE]);
}

/// The small network, which is always there.
impl Network for Box<DenoiseState<'static>> {
    fn late(&self) -> usize {
        1
    }

    fn next(&mut self, piece: &[f32; INNER_PIECE], voice: &mut [f32; INNER_PIECE]) {
        self.process_frame(voice, piece);
    }
}

/// Takes noise out of a stream of sound.
pub struct Denoised {
    network: Box<dyn Network>,
    up: Fft<f32>,
    down: Fft<f32>,
    /// Samples of one piece, 10 ms, of what comes in.
    piece: usize,
    waiting: Vec<f32>,
    /// The pieces, at the inner rate, that the network has not given back yet.
    before: VecDeque<[f32; INNER_PIECE]>,
    ready: VecDeque<i16>,
}

impl Denoised {
    /// Begins for sound of `rate` Hz with `network`, or the small one, or returns nothing where that
    /// rate cannot be brought to the network's.
    pub fn new(rate: u32, network: Option<Box<dyn Network>>) -> Option<Denoised> {
        let rate = rate as usize;
        let piece = rate / 100;
        let fit = |from, to, piece| Fft::new(from, to, piece, 1, FixedSync::Both).ok();
        let (up, down) = (fit(rate, INNER, piece)?, fit(INNER, rate, INNER_PIECE)?);
        // A hundredth of a second has to be whole samples at both rates: at 22,050 Hz it is not.
        let lengths = [up.input_frames_next(), up.output_frames_next()];
        let back = [down.output_frames_next(), down.input_frames_next()];
        if lengths != [piece, INNER_PIECE] || back != lengths {
            return None;
        }
        let network = network.unwrap_or_else(|| Box::new(DenoiseState::new()));
        Some(Denoised {
            before: vec![[0.0; INNER_PIECE]; network.late()].into(),
            network,
            up,
            down,
            piece,
            waiting: Vec::new(),
            ready: VecDeque::from(vec![0; piece]),
        })
    }

    /// Takes the next samples; returns as many, a few hundredths of a second late.
    pub fn denoise(&mut self, samples: &[i16]) -> Vec<i16> {
        self.waiting.extend(samples.iter().map(|&s| f32::from(s)));
        while self.waiting.len() >= self.piece {
            let piece: Vec<f32> = self.waiting.drain(..self.piece).collect();
            self.next_piece(&piece);
        }
        let count = samples.len().min(self.ready.len());
        self.ready.drain(..count).collect()
    }

    fn next_piece(&mut self, piece: &[f32]) {
        let mut loud = [0.0; INNER_PIECE];
        let mut voice = [0.0; INNER_PIECE];
        let mut out = vec![0.0; piece.len()];
        change_rate(&mut self.up, piece, &mut loud);
        self.network.next(&loud, &mut voice);
        self.before.push_back(loud);
        if let Some(before) = self.before.pop_front() {
            for (voice, before) in voice.iter_mut().zip(before) {
                *voice = *voice * (1.0 - LEFT) + before * LEFT;
            }
        }
        change_rate(&mut self.down, &voice, &mut out);
        let sample = |s: f32| s.clamp(f32::from(i16::MIN), f32::from(i16::MAX)) as i16;
        self.ready.extend(out.into_iter().map(sample));
    }
}

/// Fills `to` with `from` at the other rate; leaves it silent where that fails, which lengths that fit
/// never do.
fn change_rate(resampler: &mut Fft<f32>, from: &[f32], to: &mut [f32]) {
    let frames = to.len();
    if let (Ok(from), Ok(mut to)) = (
        InterleavedSlice::new(from, 1, from.len()),
        InterleavedSlice::new_mut(to, 1, frames),
    ) {
        let _ = resampler.process_into_buffer(&from, &mut to, None);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hear::level::dbfs;
    use crate::rehearse::room::{Decibel, Room};

    #[test]
    fn as_much_comes_out_as_goes_in() {
        for rate in [8_000, 16_000, 44_100, 48_000] {
            let mut denoised = Denoised::new(rate, None).unwrap();
            for length in [480, 160, 1, 159, 1_000, 0, 7] {
                assert_eq!(denoised.denoise(&vec![100; length]).len(), length);
            }
        }
    }

    #[test]
    fn what_comes_out_is_not_silent_at_any_rate_that_it_is_made_at() {
        let mut dice = fastrand::Rng::with_seed(1);
        let noise: Vec<i16> = (0..9_600).map(|_| dice.i16(-5_000..5_000)).collect();
        for rate in [8_000, 16_000, 44_100, 48_000] {
            let mut denoised = Denoised::new(rate, None).unwrap();
            denoised.denoise(&noise[..4_800]);
            let level = dbfs(&denoised.denoise(&noise[4_800..]));
            assert!(level > -50.0, "{level} dBFS at {rate} Hz");
        }
        assert!(Denoised::new(22_050, None).is_none());
    }

    #[test]
    fn the_noise_of_a_machine_is_suppressed() {
        let mut room = Room::new(Some(Decibel(10.0)), 1);
        let mut denoised = Denoised::new(16_000, None).unwrap();
        let (mut noise, mut quiet) = (Vec::new(), Vec::new());
        let mut chunk = Vec::new();
        for _ in 0..40 {
            room.next_chunk(&mut chunk);
            noise = chunk.clone();
            quiet = denoised.denoise(&chunk);
        }
        let less = dbfs(&noise) - dbfs(&quiet);
        assert!(less > 3.0, "{less} dB less");
    }
}
