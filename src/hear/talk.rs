//! Whether somebody talks for much of the time, whoever it is and whatever is said: a radio, or
//! several people at work. Pure.
//!
//! Words make the level of speech rise and fall 2 to 8 times a second, at no steady beat; machines
//! keep their level, or beat time.

use std::collections::VecDeque;
use std::sync::Arc;

use realfft::{RealFftPlanner, RealToComplex};

use super::bands::{HOP, raised_cosine};

/// The level is looked at over 4 s, in frames: four bins to each Hz.
const OVER: usize = 200;
const BINS_A_HERTZ: usize = 4;
/// A look every second, in frames.
const LOOK_EVERY: usize = (1.0 / HOP) as usize;
/// What syllables do, and what lies above them, in bins.
const SYLLABLES: std::ops::Range<usize> = 2 * BINS_A_HERTZ..8 * BINS_A_HERTZ;
const ABOVE: std::ops::Range<usize> = 8 * BINS_A_HERTZ..24 * BINS_A_HERTZ;
/// The least share of the movement above 2 Hz that is as slow as syllables.
const SYLLABIC: f32 = 0.55;
/// The least share of all movement that is syllables: a swell has less.
const OF_ALL: f32 = 0.12;
/// A movement that is so like itself up to 1.5 s later, after it was unlike itself in between, beats
/// time; both as correlations, the time in frames.
const LIKE: f32 = 0.75;
const UNLIKE: f32 = 0.4;
const BEAT_WITHIN: usize = 75;
/// How far the level moves, as standard deviation in dB.
const MOVES: f32 = 2.5;
/// The share of moments that stand out of the room.
const ACTIVE: f32 = 0.25;
/// The share of time is taken over the last 3 minutes, in looks.
const SHARE_OVER: usize = 180;
/// Nothing is said about it before there were so many looks.
const KNOWN_AFTER: usize = 60;
/// Much talk begins above the one and ends below the other.
const MUCH: (f32, f32) = (0.40, 0.25);

/// Tells how much of the time somebody talks.
pub struct Talk {
    levels: VecDeque<f32>,
    active: VecDeque<bool>,
    since_look: usize,
    looks: VecDeque<bool>,
    is_much: bool,
    transform: Arc<dyn RealToComplex<f32>>,
}

impl Default for Talk {
    fn default() -> Talk {
        Talk {
            levels: VecDeque::new(),
            active: VecDeque::new(),
            since_look: 0,
            looks: VecDeque::new(),
            is_much: false,
            transform: RealFftPlanner::new().plan_fft_forward(OVER),
        }
    }
}

impl Talk {
    /// Takes the level of the next frame of [`HOP`] seconds, in dB, and whether it stands out of the
    /// room.
    pub fn take(&mut self, level: f32, active: bool) {
        if self.levels.len() == OVER {
            self.levels.pop_front();
            self.active.pop_front();
        }
        self.levels.push_back(level);
        self.active.push_back(active);
        self.since_look += 1;
        if self.since_look >= LOOK_EVERY && self.levels.len() == OVER {
            self.since_look = 0;
            self.look();
        }
    }

    /// Returns the share of the last 3 minutes in which somebody talked, 0 to 1; none in the first
    /// minute.
    pub fn share(&self) -> Option<f32> {
        let count = self.looks.len();
        let talked = self.looks.iter().filter(|talks| **talks).count();
        (count >= KNOWN_AFTER).then(|| talked as f32 / count as f32)
    }

    /// Tells whether somebody talks for much of the time.
    pub fn is_much(&self) -> bool {
        self.is_much
    }

    fn look(&mut self) {
        if self.looks.len() == SHARE_OVER {
            self.looks.pop_front();
        }
        self.looks.push_back(self.somebody_talks());
        if let Some(share) = self.share() {
            self.is_much = share > if self.is_much { MUCH.1 } else { MUCH.0 };
        }
    }

    /// Judges the last 4 s.
    fn somebody_talks(&self) -> bool {
        let active = self.active.iter().filter(|active| **active).count();
        if (active as f32) < ACTIVE * OVER as f32 {
            return false;
        }
        let middle = self.levels.iter().sum::<f32>() / OVER as f32;
        let moved = self.levels.iter().map(|level| level - middle);
        let variance = moved.clone().map(|by| by * by).sum::<f32>() / OVER as f32;
        if variance.sqrt() < MOVES {
            return false;
        }
        let moved: Vec<f32> = moved.collect();
        if beats_time(&moved, variance) {
            return false;
        }
        let mut weighted: Vec<f32> = moved
            .iter()
            .zip(raised_cosine(OVER))
            .map(|(by, weight)| by * weight)
            .collect();
        let mut spectrum = self.transform.make_output_vec();
        // It fails only where lengths differ, and all are of the transform's own making.
        if self
            .transform
            .process(&mut weighted, &mut spectrum)
            .is_err()
        {
            return false;
        }
        let energies: Vec<f32> = spectrum.iter().map(|bin| bin.norm_sqr()).collect();
        let in_them: f32 = energies[SYLLABLES].iter().sum();
        let above: f32 = energies[ABOVE].iter().sum();
        let all: f32 = energies.iter().sum();
        in_them > SYLLABIC * (in_them + above) && in_them > OF_ALL * all
    }
}

/// Tells whether a movement, of the mean 0, repeats itself as a machine's does.
fn beats_time(moved: &[f32], variance: f32) -> bool {
    let likeness = |later: usize| {
        let pairs = moved.iter().zip(&moved[later..]);
        let count = moved.len() - later;
        pairs.map(|(a, b)| a * b).sum::<f32>() / count as f32 / variance
    };
    (1..BEAT_WITHIN)
        .map(likeness)
        .skip_while(|&like| like > UNLIKE)
        .any(|like| like > LIKE)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three minutes of levels at 50 a second.
    fn is_taken_for_talk(level: impl Fn(f32) -> f32) -> bool {
        let mut talk = Talk::default();
        for i in 0..9_000 {
            let level = level(i as f32 * HOP);
            talk.take(level, level > -50.0);
        }
        talk.is_much()
    }

    /// A level that wanders through random values, `a_second` of them, joined smoothly.
    fn wandering(a_second: f32, depth: f32) -> impl Fn(f32) -> f32 {
        let mut dice = fastrand::Rng::with_seed(3);
        let values: Vec<f32> = (0..9_000).map(|_| dice.f32()).collect();
        move |time| {
            let at = time * a_second;
            let (from, share) = (at as usize, at.fract());
            let share = 0.5 - 0.5 * (std::f32::consts::PI * share).cos();
            -20.0 - depth * (values[from] * (1.0 - share) + values[from + 1] * share)
        }
    }

    #[test]
    fn words_in_a_row_are_talk() {
        let syllables = wandering(9.0, 25.0);
        assert!(is_taken_for_talk(&syllables));
        let with_pauses = |time: f32| {
            if time % 5.0 < 4.0 {
                syllables(time)
            } else {
                -60.0
            }
        };
        assert!(is_taken_for_talk(with_pauses));
    }

    #[test]
    fn a_command_now_and_then_is_no_talk() {
        let syllables = wandering(9.0, 25.0);
        let now_and_then = |time: f32| {
            if time % 20.0 < 1.2 {
                syllables(time)
            } else {
                -60.0
            }
        };
        assert!(!is_taken_for_talk(now_and_then));
    }

    #[test]
    fn machines_are_no_talk() {
        let turn = std::f32::consts::TAU;
        assert!(!is_taken_for_talk(|_| -20.0), "a steady machine");
        assert!(!is_taken_for_talk(wandering(45.0, 6.0)), "a rough machine");
        assert!(!is_taken_for_talk(wandering(0.8, 25.0)), "a slow swell");
        let piston = |time: f32| -30.0 + 10.0 * (turn * 5.0 * time).sin();
        assert!(
            !is_taken_for_talk(piston),
            "a compressor of 300 strokes a minute"
        );
        let blows = |time: f32| {
            if (time * 3.0).fract() < 0.15 {
                -15.0
            } else {
                -45.0
            }
        };
        assert!(!is_taken_for_talk(blows), "a hammer three times a second");
    }

    #[test]
    fn nothing_is_said_in_the_first_minute_and_it_ends_when_the_talk_does() {
        let syllables = wandering(9.0, 25.0);
        let mut talk = Talk::default();
        let mut said = Vec::new();
        for i in 0..15_000 {
            let time = i as f32 * HOP;
            let level = if time < 120.0 { syllables(time) } else { -60.0 };
            talk.take(level, level > -50.0);
            said.push(talk.is_much());
        }
        assert!(!said[..3_000].contains(&true));
        assert!(said[5_900]);
        assert!(!said[14_999], "{:?}", talk.share());
    }
}
