//! The room in which a synthetic person speaks: what a microphone there would give, piece by
//! piece.
//!
//! The room is never digitally silent: there is always a faint bed of noise. On wish a machine
//! runs in it. It is an invented compressor, not the recording of one, made to sit where speech
//! is: a motor's hum (25 Hz and its harmonics, a tenth of the power), a valve that claps 8 times
//! a second (decaying bursts around 900 Hz, a quarter of the power), and broadband air noise that
//! falls off above 1.3 kHz (the rest).
//!
//! **The signal-to-noise ratio** is that of the root mean square of the speech while it is active
//! (pauses within it don't count, see [`active_rms`]) to the root mean square of the machine's
//! noise over many of its cycles, both over the whole band of 0 to 8 kHz. Every utterance is
//! brought to [`SPEECH_LEVEL`], so the noise never changes its own level.
//!
//! The same seed and the same calls always give the same samples.

use std::collections::VecDeque;
use std::f32::consts::TAU;
use std::fmt;
use std::str::FromStr;

use crate::speak::sound::active_rms;
use crate::speak::sound::to_sample;

/// Samples a second of everything in the room.
pub const RATE: u32 = 16_000;
/// Samples of one piece: 100 ms.
pub const CHUNK: usize = RATE as usize / 10;
/// The level of active speech against full scale, well within what the recogniser likes.
pub const SPEECH_LEVEL: Decibel = Decibel(-20.0);
/// No sample of speech is louder than this, so that noise finds room above it.
const LOUDEST_PEAK: Decibel = Decibel(-1.0);
/// The bed of noise, in steps of the 16-bit scale, root mean square (about −76 dBFS).
pub const BED_RMS: f32 = 5.0;
/// The machine is listened to for this many samples to learn its level: 5 s.
const LEVEL_CYCLE: usize = 5 * RATE as usize;

/// A ratio of levels in decibels.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Decibel(pub f64);

impl Decibel {
    /// As a factor on amplitude.
    #[must_use]
    pub fn factor(self) -> f64 {
        10_f64.powf(self.0 / 20.0)
    }
}

impl fmt::Display for Decibel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} dB", self.0)
    }
}

/// Reads a signal-to-noise ratio such as `10dB`, `10 dB` or `7.5 dB`: −5 to 60 dB, for below that
/// the mixture no longer fits into 16 bits.
impl FromStr for Decibel {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let figure = text.trim().strip_suffix("dB").map(str::trim_end);
        let figure = figure.and_then(|figure| figure.parse::<f64>().ok());
        figure
            .filter(|figure| (-5.0..=60.0).contains(figure))
            .map(Self)
            .ok_or_else(|| {
                format!("No signal-to-noise ratio: \"{text}\"; write -5dB to 60dB, such as 10dB")
            })
    }
}

/// A room with one person and perhaps a machine in it.
#[derive(Debug, Clone)]
pub struct Room {
    bed: fastrand::Rng,
    machine: Option<(Compressor, f32)>,
    /// What is still to be said; the first is being said from `said` on.
    speech: VecDeque<Vec<i16>>,
    said: usize,
    position: u64,
}

impl Room {
    /// A room in which nobody speaks yet; with `noise`, a machine runs at that signal-to-noise
    /// ratio.
    #[must_use]
    pub fn new(noise: Option<Decibel>, seed: u64) -> Self {
        let machine = noise.map(|ratio| {
            let mut machine = Compressor::new(seed.wrapping_add(1));
            let sum: f64 = (0..LEVEL_CYCLE)
                .map(|_| f64::from(machine.next_sample()).powi(2))
                .sum();
            let own = (sum / LEVEL_CYCLE as f64).sqrt();
            let wanted = SPEECH_LEVEL.factor() / ratio.factor() * f64::from(i16::MAX);
            (machine, (wanted / own) as f32)
        });
        Self {
            bed: fastrand::Rng::with_seed(seed),
            machine,
            speech: VecDeque::new(),
            said: 0,
            position: 0,
        }
    }

    /// Has 16 kHz mono speech said, brought to [`SPEECH_LEVEL`]: with the next sample, or right
    /// after what is being said.
    pub fn queue(&mut self, samples: Vec<i16>) {
        if !samples.is_empty() {
            self.speech
                .push_back(brought_to_level(samples, SPEECH_LEVEL));
        }
    }

    /// Whether something is being said or still to be said.
    #[must_use]
    pub fn busy(&self) -> bool {
        !self.speech.is_empty()
    }

    /// How many samples the room has given since it began.
    #[must_use]
    pub fn position(&self) -> u64 {
        self.position
    }

    /// Puts the next [`CHUNK`] samples into `chunk`, in place of what is there.
    pub fn next_chunk(&mut self, chunk: &mut Vec<i16>) {
        chunk.clear();
        for _ in 0..CHUNK {
            let mut sum = gaussian(&mut self.bed) * BED_RMS + f32::from(self.next_of_speech());
            if let Some((machine, gain)) = &mut self.machine {
                sum += machine.next_sample() * *gain;
            }
            chunk.push(to_sample(sum));
        }
        self.position += CHUNK as u64;
    }

    fn next_of_speech(&mut self) -> i16 {
        let Some(utterance) = self.speech.front() else {
            return 0;
        };
        let sample = utterance.get(self.said).copied().unwrap_or(0);
        self.said += 1;
        if self.said >= utterance.len() {
            self.speech.pop_front();
            self.said = 0;
        }
        sample
    }
}

/// Speech brought to a level of its active parts, or as near as its peaks allow.
#[must_use]
pub fn brought_to_level(samples: Vec<i16>, level: Decibel) -> Vec<i16> {
    let peak = samples
        .iter()
        .map(|&s| i32::from(s).abs())
        .max()
        .unwrap_or(0);
    let rms = active_rms(&samples, RATE);
    if peak == 0 || rms == 0.0 {
        return samples;
    }
    let most = LOUDEST_PEAK.factor() * f64::from(i16::MAX) / f64::from(peak);
    let gain = (level.factor() / rms).min(most) as f32;
    let louder = samples.into_iter().map(|s| to_sample(f32::from(s) * gain));
    louder.collect()
}

/// The invented machine, at a level of its own.
#[derive(Debug, Clone)]
pub struct Compressor {
    random: fastrand::Rng,
    /// Shaft and valve, 0 to 1 of a turn.
    shaft: f32,
    valve: f32,
    /// What is left of the last clap.
    clap: f32,
    /// State of the two filters: air noise, and the clap's resonance.
    air: f32,
    ring: [f32; 2],
}

impl Compressor {
    const SHAFT_HZ: f32 = 25.0;
    const VALVE_HZ: f32 = 8.0;
    const CLAP_HZ: f32 = 900.0;
    /// A clap falls to a third in 25 ms.
    const CLAP_DECAY: f32 = 0.9975;
    /// The resonance's width: radius of its poles.
    const CLAP_RADIUS: f32 = 0.93;
    /// One-pole low-pass at 1.3 kHz.
    const AIR_SHARE: f32 = 0.4;
    /// Factors that give hum, clap and air a tenth, a quarter and the rest of the power (the
    /// shares are held by a test).
    const HUM_GAIN: f32 = 0.346;
    const CLAP_GAIN: f32 = 0.265;
    const AIR_GAIN: f32 = 1.6;

    /// A machine that has just been started; another seed claps otherwise.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self {
            random: fastrand::Rng::with_seed(seed),
            shaft: 0.0,
            valve: 0.0,
            clap: 0.0,
            air: 0.0,
            ring: [0.0; 2],
        }
    }

    /// What it gives next, at [`RATE`].
    pub fn next_sample(&mut self) -> f32 {
        let [hum, clap, air] = self.parts();
        hum + clap + air
    }

    fn parts(&mut self) -> [f32; 3] {
        self.shaft = (self.shaft + Self::SHAFT_HZ / RATE as f32).fract();
        let turn = TAU * self.shaft;
        let hum = (2.0 * turn).sin()
            + 0.6 * (4.0 * turn).sin()
            + 0.4 * (6.0 * turn).sin()
            + 0.3 * (turn).sin()
            + 0.2 * (12.0 * turn).sin();

        self.valve += Self::VALVE_HZ / RATE as f32;
        if self.valve >= 1.0 {
            self.valve -= 1.0;
            // No two claps are quite alike.
            self.clap = 0.7 + 0.6 * self.random.f32();
        }
        self.clap *= Self::CLAP_DECAY;
        let strike = self.clap * gaussian(&mut self.random);
        let around = 2.0 * Self::CLAP_RADIUS * (TAU * Self::CLAP_HZ / RATE as f32).cos();
        let rung = strike + around * self.ring[0] - Self::CLAP_RADIUS.powi(2) * self.ring[1];
        self.ring = [rung, self.ring[0]];

        self.air += Self::AIR_SHARE * (gaussian(&mut self.random) - self.air);
        [
            hum * Self::HUM_GAIN,
            rung * Self::CLAP_GAIN,
            self.air * Self::AIR_GAIN,
        ]
    }
}

/// Nearly normal noise of mean 0 and deviation 1: the sum of four even ones.
pub fn gaussian(random: &mut fastrand::Rng) -> f32 {
    let sum: f32 = (0..4).map(|_| random.f32()).sum();
    // Four even numbers of 0 to 1 have the mean 2 and the variance 1/3.
    (sum - 2.0) * 3_f32.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::speak::sound::power;

    /// Something with syllables and pauses in it, quiet.
    fn babble() -> Vec<i16> {
        let mut random = fastrand::Rng::with_seed(7);
        let syllable = |n: usize| {
            if n % 4_000 < 3_000 {
                (n % 4_000) as f32 / 6_000.0
            } else {
                0.0
            }
        };
        (0..24_000)
            .map(|n| to_sample(gaussian(&mut random) * 400.0 * syllable(n)))
            .collect()
    }

    fn listen(room: &mut Room, chunks: usize) -> Vec<i16> {
        let mut all = Vec::new();
        let mut chunk = Vec::new();
        for _ in 0..chunks {
            room.next_chunk(&mut chunk);
            assert_eq!(chunk.len(), CHUNK);
            all.append(&mut chunk);
        }
        all
    }

    #[test]
    fn the_ratio_of_speech_to_noise_is_what_was_asked_for() {
        for ratio in [0.0, 5.0, 10.0, 20.0] {
            let mut with = Room::new(Some(Decibel(ratio)), 3);
            let mut without = with.clone();
            with.queue(babble());
            let both = listen(&mut with, 15);
            let noise = listen(&mut without, 15);
            let speech: Vec<i16> = both.iter().zip(&noise).map(|(b, n)| b - n).collect();
            let measured = 20.0 * (active_rms(&speech, RATE) / power(&noise).sqrt()).log10();
            assert!(
                (measured - ratio).abs() < 0.5,
                "{ratio} dB wanted, {measured} dB measured"
            );
        }
    }

    #[test]
    fn without_a_machine_there_is_a_faint_bed_and_never_digital_silence() {
        let silence = listen(&mut Room::new(None, 1), 10);
        let rms = power(&silence).sqrt() * f64::from(i16::MAX);
        assert!((4.5..5.5).contains(&rms), "{rms}");
        let still = silence.windows(20).any(|w| w.iter().all(|s| *s == w[0]));
        assert!(!still);
    }

    #[test]
    fn speech_has_the_level_it_should_have() {
        let mut room = Room::new(None, 1);
        room.queue(babble());
        let level = 20.0 * active_rms(&listen(&mut room, 15), RATE).log10();
        assert!((level - SPEECH_LEVEL.0).abs() < 0.2, "{level}");
    }

    #[test]
    fn what_is_queued_follows_without_a_gap_and_the_position_counts() {
        let mut room = Room::new(None, 1);
        assert!(!room.busy());
        room.queue(vec![1_000; CHUNK + 10]);
        room.queue(vec![-1_000; 10]);
        room.queue(Vec::new());
        assert!(room.busy());
        let heard = listen(&mut room, 2);
        assert!(!room.busy());
        assert_eq!(room.position(), 2 * CHUNK as u64);
        assert!(heard[..CHUNK + 10].iter().all(|&s| s > 900));
        assert!(heard[CHUNK + 10..CHUNK + 20].iter().all(|&s| s < -900));
        assert!(heard[CHUNK + 20..].iter().all(|&s| s.abs() < 50));
    }

    #[test]
    fn the_same_seed_gives_the_same_room() {
        let room = |seed| listen(&mut Room::new(Some(Decibel(10.0)), seed), 3);
        assert_eq!(room(5), room(5));
        assert_ne!(room(5), room(6));
    }

    #[test]
    fn the_machine_is_made_of_what_the_description_says() {
        let mut machine = Compressor::new(2);
        let mut powers = [0.0_f64; 3];
        for _ in 0..LEVEL_CYCLE {
            for (sum, part) in powers.iter_mut().zip(machine.parts()) {
                *sum += f64::from(part).powi(2);
            }
        }
        let all: f64 = powers.iter().sum();
        let [hum, clap, air] = powers.map(|p| p / all);
        assert!((hum - 0.10).abs() < 0.01, "hum {hum}");
        assert!((clap - 0.25).abs() < 0.02, "clap {clap}");
        assert!((air - 0.65).abs() < 0.02, "air {air}");
    }

    #[test]
    fn ratios_are_read() {
        for (text, expected) in [
            ("10dB", 10.0),
            (" 10 dB ", 10.0),
            ("7.5 dB", 7.5),
            ("-5dB", -5.0),
        ] {
            assert_eq!(text.parse(), Ok(Decibel(expected)), "{text}");
        }
        for text in ["10", "dB", "ten dB", "61dB", "-6dB", "NaNdB", "10 dBA", ""] {
            let why = text.parse::<Decibel>().unwrap_err();
            assert_eq!(
                why,
                format!("No signal-to-noise ratio: \"{text}\"; write -5dB to 60dB, such as 10dB")
            );
        }
    }
}
