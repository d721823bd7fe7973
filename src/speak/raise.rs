//! Saying something louder than usual, without clipping.
//!
//! The whole sound is raised, and where it would come above the ceiling it is turned down around that
//! place: five milliseconds ahead and after, so that the form of the wave stays (a look-ahead limiter).

use std::collections::VecDeque;
use std::time::Duration;

use super::sound::{Sound, samples_in, to_sample};

/// How far above the voice's own level something is said, in whole decibels up to [`Raise::MOST`].
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Raise(u8);

/// No sample comes above this: 1 dB under full scale.
const CEILING: f32 = 29_204.0;
/// How far around a peak the sound is turned down.
const AROUND: Duration = Duration::from_millis(5);

impl Raise {
    /// The voice's own level.
    pub const NONE: Raise = Raise(0);
    /// What the ceiling leaves of it depends on the sound: of speech whose peaks are near full scale, as
    /// espeak-ng's are, 5 to 6 dB.
    pub const MOST: Raise = Raise(9);
    const STEP: u8 = 3;

    /// Returns how loud a call is made that was made `times` before: 3 dB louder each time, up to
    /// [`Raise::MOST`].
    pub fn after_calls(times: u32) -> Raise {
        let steps = u8::try_from(times).unwrap_or(u8::MAX);
        Raise(steps.saturating_mul(Raise::STEP).min(Raise::MOST.0))
    }

    /// Returns it in decibels.
    pub fn in_decibels(self) -> u8 {
        self.0
    }

    fn factor(self) -> f32 {
        10.0_f32.powf(f32::from(self.0) / 20.0)
    }
}

impl Sound {
    /// Returns the sound raised, with no sample above the ceiling.
    #[must_use]
    pub fn raised(&self, raise: Raise) -> Sound {
        let factor = raise.factor();
        let wanted: Vec<f32> = self
            .samples
            .iter()
            .map(|&s| f32::from(s) * factor)
            .collect();
        let allowed: Vec<f32> = wanted
            .iter()
            .map(|s| (CEILING / s.abs().max(1.0)).min(1.0))
            .collect();
        let around = samples_in(AROUND, self.rate);
        let gains = averaged(&least(&allowed, around), around);
        let samples = wanted.iter().zip(gains);
        Sound {
            rate: self.rate,
            samples: samples
                .map(|(sample, gain)| to_sample(sample * gain))
                .collect(),
        }
    }
}

/// Returns for each value the least of those up to `around` before and after it.
fn least(values: &[f32], around: usize) -> Vec<f32> {
    let mut out = Vec::with_capacity(values.len());
    // Places with rising values: the first is the least of the window.
    let mut kept: VecDeque<usize> = VecDeque::new();
    let mut next = 0;
    for at in 0..values.len() {
        while next < values.len() && next <= at + around {
            while kept
                .back()
                .is_some_and(|&last| values[last] >= values[next])
            {
                kept.pop_back();
            }
            kept.push_back(next);
            next += 1;
        }
        while kept.front().is_some_and(|&first| first + around < at) {
            kept.pop_front();
        }
        out.push(kept.front().map_or(1.0, |&first| values[first]));
    }
    out
}

/// Returns for each value the mean of those up to `around` before and after it; beyond the ends the last
/// one goes on. Of the least of a window it is never above what the place itself allows.
fn averaged(values: &[f32], around: usize) -> Vec<f32> {
    let last = values.len().saturating_sub(1);
    let at = |place: usize| {
        let place = place.saturating_sub(around).min(last);
        f64::from(values.get(place).copied().unwrap_or(1.0))
    };
    let wide = 2 * around + 1;
    let mut sum: f64 = (0..wide).map(at).sum();
    let mut out = Vec::with_capacity(values.len());
    for place in 0..values.len() {
        out.push((sum / wide as f64) as f32);
        sum += at(place + wide) - at(place);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::speak::sound::active_rms;

    const RATE: u32 = 22_050;

    /// Short bursts, like syllables: a decaying tone of 200 Hz every 150 ms with a peak of `peak`.
    fn speech_like(peak: f64) -> Sound {
        let samples = (0..RATE * 2).map(|n| {
            let time = f64::from(n) / f64::from(RATE);
            let since = time % 0.15;
            let tone = (time * 200.0 * std::f64::consts::TAU).sin();
            (peak * tone * (-since * 25.0).exp()) as i16
        });
        Sound {
            rate: RATE,
            samples: samples.collect(),
        }
    }

    fn raised_by(before: &Sound, after: &Sound) -> f64 {
        let level = |sound: &Sound| active_rms(&sound.samples, sound.rate);
        20.0 * (level(after) / level(before)).log10()
    }

    fn peak(sound: &Sound) -> f32 {
        let samples = sound.samples.iter().map(|s| f32::from(*s).abs());
        samples.fold(0.0, f32::max)
    }

    #[test]
    fn calls_get_louder_up_to_a_limit() {
        let calls: Vec<u8> = [0, 1, 2, 3, 4, 500_000]
            .map(|times| Raise::after_calls(times).in_decibels())
            .to_vec();
        assert_eq!(calls, [0, 3, 6, 9, 9, 9]);
    }

    #[test]
    fn what_has_room_is_raised_by_just_that_much() {
        let quiet = speech_like(5_000.0);
        for times in 0..4 {
            let raise = Raise::after_calls(times);
            let louder = quiet.raised(raise);
            let by = raised_by(&quiet, &louder);
            assert!(
                (by - f64::from(raise.in_decibels())).abs() < 0.05,
                "{by} dB"
            );
        }
        assert_eq!(quiet.raised(Raise::NONE), quiet);
    }

    #[test]
    fn each_call_is_louder_than_the_one_before_and_none_clips() {
        let loud = speech_like(20_000.0);
        let mut before = loud.clone();
        for times in 1..4 {
            let louder = loud.raised(Raise::after_calls(times));
            let step = raised_by(&before, &louder);
            assert!(step > 0.5, "call {times}: {step} dB more");
            assert!(peak(&louder) <= CEILING + 0.5, "{}", peak(&louder));
            before = louder;
        }
    }

    /// A limiter bends the wave slowly: beside a clipper's its products are small.
    #[test]
    fn a_tone_that_is_turned_down_stays_a_tone() {
        let count = RATE as usize;
        let step = 400.0 * std::f64::consts::TAU / f64::from(RATE);
        let wave = |n: usize| (n as f64 * step).sin();
        let tone = Sound {
            rate: RATE,
            samples: (0..count).map(|n| (wave(n) * 25_000.0) as i16).collect(),
        };
        let raised = tone.raised(Raise::MOST);
        let middle = count / 4..count * 3 / 4;
        let of_tone: f64 = middle
            .clone()
            .map(|n| wave(n) * f64::from(raised.samples[n]))
            .sum();
        let amplitude = 2.0 * of_tone / middle.len() as f64;
        let rest = middle.map(|n| (f64::from(raised.samples[n]) - amplitude * wave(n)).abs());
        assert!(amplitude > 28_000.0, "{amplitude}");
        assert!(rest.fold(0.0, f64::max) < amplitude * 0.01);
    }

    #[test]
    fn nothing_and_very_short_sounds_are_no_trouble() {
        for count in [0, 1, 5] {
            let sound = Sound {
                rate: RATE,
                samples: vec![i16::MIN; count],
            };
            let raised = sound.raised(Raise::MOST);
            assert_eq!(raised.samples.len(), count);
            assert!(peak(&raised) <= CEILING + 0.5);
        }
    }
}
