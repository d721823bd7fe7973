//! Speech, noise and a room become one recording.

use std::ops::Range;
use std::ops::RangeInclusive;

use benchcall::rehearse::room::BED_RMS;
use benchcall::rehearse::room::Decibel;
use benchcall::rehearse::room::RATE;
use benchcall::rehearse::room::SPEECH_LEVEL;
use benchcall::rehearse::room::brought_to_level;
use benchcall::rehearse::room::gaussian;
use benchcall::speak::sound::power;
use benchcall::speak::sound::to_sample;

use crate::corpus_file::NoiseBegins;
use crate::corpus_file::Said;
use crate::echo;

/// Quiet at the beginning, before any noise; seconds.
const QUIET_BEFORE: f64 = 0.5;
/// From then to the first word; steady noise runs that long before it; seconds.
const NOISE_BEFORE: f64 = 2.0;
/// Noise that begins with speech ends this long after it; seconds.
const NOISE_AFTER: f64 = 0.3;
/// How long the recording goes on after the last word, so that everything can be believed; seconds.
const QUIET_AFTER: f64 = 2.5;
/// The length of the pieces in which speech is looked for; seconds.
const PIECE: f64 = 0.01;
/// A piece is speech where its power is above this share of the loudest one's (−40 dB) …
const SPEECH_BELOW_LOUDEST: f64 = 1e-4;
/// … and this many times that of the clip's own noise (9 dB), unless that were above …
const SPEECH_ABOVE_NOISE: f64 = 8.0;
/// … this share of the loudest one's (−18 dB).
const MOST_BELOW_LOUDEST: f64 = 0.016;

/// Seconds as a count of samples.
pub fn samples_in(seconds: f64) -> usize {
    (seconds * f64::from(RATE)).round() as usize
}

/// A clip of speech at [`SPEECH_LEVEL`], and where in it the speech lies.
#[derive(Debug, Clone)]
pub struct Utterance {
    pub words: String,
    pub sound: Vec<i16>,
    pub speech: Range<usize>,
}

impl Utterance {
    /// Brings a clip to its level and finds its speech.
    pub fn new(words: &str, sound: Vec<i16>) -> Self {
        let sound = brought_to_level(sound, SPEECH_LEVEL);
        Self {
            words: String::from(words),
            speech: speech_in(&sound),
            sound,
        }
    }
}

/// Where a clip is louder than its own noise: from the first such piece of 10 ms to the last.
pub fn speech_in(sound: &[i16]) -> Range<usize> {
    let piece = samples_in(PIECE);
    let powers: Vec<f64> = sound.chunks(piece).map(power).collect();
    let mut sorted = powers.clone();
    sorted.sort_by(f64::total_cmp);
    let Some(&loudest) = sorted.last() else {
        return 0..0;
    };
    let floor = sorted[sorted.len() / 10];
    let least = (floor * SPEECH_ABOVE_NOISE)
        .min(loudest * MOST_BELOW_LOUDEST)
        .max(loudest * SPEECH_BELOW_LOUDEST);
    let first = powers.iter().position(|&p| p >= least).unwrap_or(0);
    let last = powers.iter().rposition(|&p| p >= least).unwrap_or(0);
    first * piece..((last + 1) * piece).min(sound.len())
}

/// Noise to be repeated without end; its root mean square is 1.
#[derive(Debug, Clone)]
pub struct Track {
    pub name: String,
    samples: Vec<f32>,
}

impl Track {
    /// Brings samples to the level 1; they must not all be 0.
    pub fn new(name: &str, mut samples: Vec<f32>) -> Self {
        let sum: f64 = samples.iter().map(|&s| f64::from(s).powi(2)).sum();
        let rms = (sum / samples.len().max(1) as f64).sqrt();
        if rms > 0.0 {
            samples.iter_mut().for_each(|s| *s /= rms as f32);
        }
        Self {
            name: String::from(name),
            samples,
        }
    }

    fn add_to(&self, place: &mut [f32], gain: f32, random: &mut fastrand::Rng) {
        let from = random.usize(..self.samples.len().max(1));
        let endless = self.samples.iter().cycle().skip(from);
        for (sum, sample) in place.iter_mut().zip(endless) {
            *sum += sample * gain;
        }
    }
}

/// Where something is said.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// A noise and how many decibels the speech is above it.
    pub noise: Option<(&'a Track, f64)>,
    pub begins: NoiseBegins,
    /// The response of the room, in a room that reverberates.
    pub room: Option<&'a [f32]>,
}

impl Scene<'_> {
    /// Puts utterances one after another with pauses of that many seconds.
    ///
    /// The ratio is that of the speech (in the room: with its reverberation) while it is active to
    /// the noise over its whole track, as in [`benchcall::rehearse::room`]. Peaks above full scale
    /// are cut off as a microphone's would be.
    pub fn record(
        &self,
        utterances: &[Utterance],
        pauses: RangeInclusive<f64>,
        random: &mut fastrand::Rng,
    ) -> (Vec<i16>, Vec<Said>) {
        let mut sum = vec![0.0; samples_in(QUIET_BEFORE + NOISE_BEFORE)];
        let mut places = Vec::new();
        for utterance in utterances {
            let (speech, delay) = self.at_the_microphone(&utterance.sound);
            let begin = sum.len();
            // What still rings of a room goes on into the pause.
            let pause = pauses.start() + random.f64() * (pauses.end() - pauses.start());
            let end = begin + utterance.speech.end + delay;
            let next = end + samples_in(pause);
            sum.resize(next.max(begin + speech.len()), 0.0);
            for (sum, sample) in sum[begin..].iter_mut().zip(&speech) {
                *sum += f32::from(*sample);
            }
            sum.truncate(next);
            places.push(begin + utterance.speech.start + delay..end);
        }
        let last = places.last().map_or(sum.len(), |place| place.end);
        sum.resize(last + samples_in(QUIET_AFTER), 0.0);
        self.add_noise(&mut sum, &places, random);
        let seconds = |sample: usize| sample as f64 / f64::from(RATE);
        let said = utterances
            .iter()
            .zip(&places)
            .map(|(utterance, place)| Said {
                start: seconds(place.start),
                end: seconds(place.end),
                words: utterance.words.clone(),
            });
        (with_bed(sum, random), said.collect())
    }

    /// The same place while nobody speaks; steady noise runs from the first sample on.
    pub fn record_nothing(&self, length: usize, random: &mut fastrand::Rng) -> Vec<i16> {
        let mut sum = vec![0.0; length];
        if let Some((track, ratio)) = self.noise {
            track.add_to(&mut sum, noise_rms(ratio) as f32, random);
        }
        with_bed(sum, random)
    }

    /// Speech as the microphone gets it, and by how many samples it comes later.
    fn at_the_microphone(&self, sound: &[i16]) -> (Vec<i16>, usize) {
        let Some(response) = self.room else {
            return (sound.to_vec(), 0);
        };
        let heard = echo::through(response, sound);
        let loudest = heard.iter().fold(1.0_f32, |most, s| most.max(s.abs()));
        let fitting = heard.iter().map(|s| to_sample(s * 16_000.0 / loudest));
        let heard = brought_to_level(fitting.collect(), SPEECH_LEVEL);
        (heard, echo::delay_of(response))
    }

    fn add_noise(&self, sum: &mut [f32], places: &[Range<usize>], random: &mut fastrand::Rng) {
        let Some((track, ratio)) = self.noise else {
            return;
        };
        let gain = noise_rms(ratio) as f32;
        match self.begins {
            NoiseBegins::Before => {
                track.add_to(&mut sum[samples_in(QUIET_BEFORE)..], gain, random);
            }
            NoiseBegins::WithSpeech => {
                for place in places {
                    let end = (place.end + samples_in(NOISE_AFTER)).min(sum.len());
                    track.add_to(&mut sum[place.start..end], gain, random);
                }
            }
        }
    }
}

/// Root mean square, in steps of the 16-bit scale, of noise that speech is so many decibels above.
fn noise_rms(ratio: f64) -> f64 {
    SPEECH_LEVEL.factor() / Decibel(ratio).factor() * f64::from(i16::MAX)
}

/// Adds the faint noise that every microphone gives, and brings the sum to whole samples.
pub fn with_bed(sum: Vec<f32>, random: &mut fastrand::Rng) -> Vec<i16> {
    sum.into_iter()
        .map(|sample| to_sample(sample + gaussian(random) * BED_RMS))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::echo::Workshop;
    use benchcall::speak::sound::active_rms;

    /// Half a second of noise with a pause in it, and silence around.
    fn utterance() -> Utterance {
        let mut random = fastrand::Rng::with_seed(7);
        let loud = |n: usize| (800..8_800).contains(&n) && !(4_000..5_000).contains(&n);
        let sound = (0..10_000)
            .map(|n| {
                if loud(n) {
                    to_sample(gaussian(&mut random) * 900.0)
                } else {
                    0
                }
            })
            .collect();
        Utterance::new("say again", sound)
    }

    fn track() -> Track {
        let mut random = fastrand::Rng::with_seed(8);
        Track::new("hiss", (0..90_000).map(|_| gaussian(&mut random)).collect())
    }

    fn record(scene: Scene<'_>) -> (Vec<i16>, Vec<Said>) {
        let utterances = [utterance(), utterance(), utterance()];
        scene.record(&utterances, 1.2..=2.5, &mut fastrand::Rng::with_seed(1))
    }

    /// The same recording's speech alone and noise alone, at a ratio.
    #[track_caller]
    fn check_ratio(ratio: f64, begins: NoiseBegins, room: Option<&[f32]>) {
        let track = track();
        let scene = Scene {
            noise: Some((&track, ratio)),
            begins,
            room,
        };
        let (both, said) = record(scene);
        let quiet = Scene {
            noise: None,
            begins,
            room,
        };
        let (speech, same) = record(quiet);
        assert_eq!(said, same);
        for one in &said {
            let span = samples_in(one.start)..samples_in(one.end);
            let noise: Vec<i16> = both[span.clone()]
                .iter()
                .zip(&speech[span.clone()])
                .map(|(b, s)| b - s)
                .collect();
            // What rings on in the room is part of the speech.
            let rung = span.start..span.end + samples_in(0.6);
            let measured = active_rms(&speech[rung], RATE) / power(&noise).sqrt();
            let measured = 20.0 * measured.log10();
            assert!((measured - ratio).abs() < 0.8, "{measured} for {ratio}");
        }
    }

    #[test]
    fn speech_stands_above_noise_by_what_was_asked_for() {
        let room = Workshop::usual().response(0.6);
        for ratio in [20.0, 10.0, 5.0, 0.0] {
            for begins in [NoiseBegins::Before, NoiseBegins::WithSpeech] {
                check_ratio(ratio, begins, None);
                check_ratio(ratio, begins, Some(&room));
            }
        }
    }

    #[test]
    fn times_are_those_of_the_speech() {
        let room = Workshop::usual().response(0.6);
        for room in [None, Some(&room[..])] {
            let scene = Scene {
                noise: None,
                begins: NoiseBegins::Before,
                room,
            };
            let (sound, said) = record(scene);
            assert_eq!(said.len(), 3);
            for one in &said {
                let (start, end) = (samples_in(one.start), samples_in(one.end));
                let level = |from: usize, to: usize| power(&sound[from..to]).sqrt() * 32_767.0;
                // An echo may ring on after the end, but nothing comes before the start.
                assert!(level(start - 800, start) < 10.0);
                assert!(level(start, start + 400) > 500.0);
                assert!(level(end - 400, end) > 500.0);
                if room.is_none() {
                    assert!(level(end, end + 800) < 10.0);
                }
                assert!((one.end - one.start - 0.5).abs() < 0.021);
            }
        }
    }

    #[test]
    fn noise_comes_before_the_first_word_or_with_each() {
        let track = track();
        let of = |begins| {
            record(Scene {
                noise: Some((&track, 10.0)),
                begins,
                room: None,
            })
        };
        let level = |sound: &[i16], from: f64, to: f64| {
            power(&sound[samples_in(from)..samples_in(to)]).sqrt() * 32_767.0
        };
        let (sound, said) = of(NoiseBegins::Before);
        let first = said[0].start;
        assert!(level(&sound, first - 2.5, first - 2.06) < 6.0);
        assert!(level(&sound, first - 2.04, first) > 500.0);
        let (sound, said) = of(NoiseBegins::WithSpeech);
        let (end, next) = (said[0].end, said[1].start);
        assert!(level(&sound, 0.0, said[0].start) < 6.0);
        assert!(level(&sound, end + 0.02, end + 0.29) > 500.0);
        assert!(level(&sound, end + 0.31, next) < 6.0);
    }

    #[test]
    fn speech_is_found_in_a_clip_with_noise_of_its_own() {
        let mut random = fastrand::Rng::with_seed(3);
        let clip: Vec<i16> = (0..32_000)
            .map(|n| {
                let level = if (9_600..22_400).contains(&n) {
                    2_000.0
                } else {
                    100.0
                };
                to_sample(gaussian(&mut random) * level)
            })
            .collect();
        assert_eq!(speech_in(&clip), 9_600..22_400);
        assert_eq!(speech_in(&[]), 0..0);
    }
}
