//! The running meter: how loud speech is, how loud the room is, and whether words can be heard in it.
//! Pure.
//!
//! A moment is active where many bands stand above their own floor of the last seconds. What was
//! active is speech only where its level moved as words move it: a grinder that starts is loud, but
//! it stays at one level, and soon it is the floor itself. The ratio is of speech alone to the room,
//! over 100 to 7000 Hz.

use std::collections::VecDeque;

use super::bands::{BANDS, Cutter, Frame};
use super::level::{SILENCE, dbfs};
use super::talk::Talk;

/// What the meter reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Level of the last moment, over everything that the microphone gives, in dBFS.
    pub dbfs: f32,
    /// Level of the room without speech, in dBFS; [`SILENCE`] before anything is known.
    pub noise: f32,
    /// Speech above the room, in dB, for the speech heard last; none before there was any.
    pub ratio: Option<f32>,
    pub loudness: Loudness,
    /// Somebody has been speaking for much of the last minutes, whoever it was.
    pub talk: bool,
}

/// What can be heard in the noise that there is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Loudness {
    /// Nobody has spoken yet.
    #[default]
    Unknown,
    Good,
    /// Commands are heard, readings get lost.
    TooLoudForReadings,
    TooLoud,
}

impl Loudness {
    /// Returns what a face says about it; nothing where all is well.
    pub fn words(self) -> &'static str {
        match self {
            Loudness::Unknown | Loudness::Good => "",
            Loudness::TooLoudForReadings => "too loud for readings: use the keys",
            Loudness::TooLoud => "too loud to hear: pedal or keys",
        }
    }
}

/// Below this ratio spoken readings are no longer to be relied on, in dB.
const READINGS: f32 = 14.0;
/// Below this ratio commands are no longer to be relied on, in dB.
const COMMANDS: f32 = 8.0;
/// How far the ratio must pass a bound to come back from the worse side, in dB.
const BACK: f32 = 2.0;
/// How long the ratio must be on the other side of a bound before it counts, in frames.
const LASTING: u32 = 75;

/// A floor is taken from the last 3 s, in frames.
const FLOOR_OVER: usize = 150;
/// The share of moments that lie below the floor of a band.
const FLOOR_SHARE: f32 = 0.15;
/// Restlessness of the room is judged over the last 8 s, in frames.
const REST_OVER: usize = 400;
/// The room's own restlessness is at most this, in dB: continuous talk is not the room.
const REST_MOST: f32 = 5.0;
/// How far bands must stand over their floors, more than the room itself, on average, in dB.
const ACTIVE: f32 = 2.0;
/// Nothing is active before there are so many frames.
const KNOWN_AFTER: usize = 25;
/// Between two looks at floors, in frames.
const LOOK_EVERY: u32 = 5;
/// So many quiet frames end what was active.
const PAUSE: usize = 13;
/// The quiet frames before something active that belong to it.
const BEFORE: usize = 3;
/// How long the level takes to rise and fall at the ends, in frames: that is no movement of words.
const EDGE: usize = 3;
/// Words are no shorter than this, in frames; what is, is a knock.
const SHORTEST: usize = 12;
/// After so many frames what is active is judged while it goes on.
const LONGEST: usize = 300;
/// The level of the room is the mean over the last 2 s of it, in frames.
const NOISE_OVER: usize = 100;
/// How many utterances the level of speech rests on.
const UTTERANCES: usize = 8;
/// How far the level moves in speech, as standard deviation in dB, and how many times as far as
/// the room's: in noise, and clear of it.
const MOVES: f32 = 1.2;
const MOVES_MORE: (f32, f32) = (1.1, 1.25);
/// Speech with so many times the room's power moves clearly more than the room.
const CLEAR: f32 = 4.0;
/// Movement is looked for within 20 dB of the loudest: a machine that starts is one step below it.
const LOUD: f32 = 0.01;
/// Fainter than this share of the room's power nothing is taken for speech: the room stirs by itself.
const LEAST_OVER: f32 = 0.5;
/// The longest stretch of a word within 8 dB of its loudest is no shorter than this, in frames; a
/// knock's or a tick's is.
const VOWEL: usize = 5;
/// So many utterances are wanted before anything is said about the noise: one may be a door.
const UTTERANCES_WANTED: usize = 2;
/// A band is never taken to be quieter than this mean square.
const LEAST: f32 = 1e-10;

/// Reads level, room and speech from a running sound.
pub struct Meter {
    cutter: Cutter,
    dbfs: f32,
    recent: VecDeque<Frame>,
    smooth: VecDeque<Frame>,
    floor: [f32; BANDS],
    excess: VecDeque<f32>,
    rest: f32,
    count: u32,
    utterance: Option<Utterance>,
    noise: VecDeque<f32>,
    speech: VecDeque<f32>,
    loudness: Loudness,
    other_for: u32,
    talk: Talk,
}

/// Something active, as it goes on.
struct Utterance {
    powers: Vec<f32>,
    quiet: usize,
}

impl Default for Meter {
    /// Makes a meter for 48 kHz; it takes any other rate all the same.
    fn default() -> Meter {
        Meter::new(48_000)
    }
}

impl Meter {
    /// Makes a meter for sound of `rate` Hz, 8000 or more.
    pub fn new(rate: u32) -> Meter {
        Meter {
            cutter: Cutter::new(rate),
            dbfs: SILENCE,
            recent: VecDeque::new(),
            smooth: VecDeque::new(),
            floor: [LEAST; BANDS],
            excess: VecDeque::new(),
            rest: 0.0,
            count: 0,
            utterance: None,
            noise: VecDeque::new(),
            speech: VecDeque::new(),
            loudness: Loudness::Unknown,
            other_for: 0,
            talk: Talk::default(),
        }
    }

    /// Takes the next sound of the room, at `rate` Hz; the program's own voice is not to be given.
    pub fn take(&mut self, samples: &[i16], rate: u32) {
        if samples.is_empty() {
            return;
        }
        self.dbfs = dbfs(samples);
        if rate != self.cutter.rate() {
            self.cutter = Cutter::new(rate);
        }
        let mut frames = Vec::new();
        self.cutter.take(samples, |frame| frames.push(frame));
        for frame in frames {
            self.frame(frame);
        }
    }

    /// Returns what the meter reads now.
    pub fn reading(&self) -> Measured {
        Measured {
            dbfs: self.dbfs,
            noise: self.noise_power().map_or(SILENCE, decibels),
            ratio: self.ratio(),
            loudness: self.loudness,
            talk: self.talk.is_much(),
        }
    }

    /// Returns the level of the speech heard last, in dBFS over 100 to 7000 Hz; none before there was
    /// any.
    pub fn speech(&self) -> Option<f32> {
        // Who gives the commands is nearest to the microphone: the louder utterances count.
        let mut powers: Vec<f32> = self.speech.iter().copied().collect();
        powers.sort_by(f32::total_cmp);
        let upper = &powers[powers.len() / 2..];
        mean(upper.iter().copied()).map(decibels)
    }

    fn ratio(&self) -> Option<f32> {
        let noise = decibels(self.noise_power()?);
        Some((self.speech()? - noise).clamp(-20.0, 60.0))
    }

    fn noise_power(&self) -> Option<f32> {
        mean(self.noise.iter().copied())
    }

    fn frame(&mut self, frame: Frame) {
        push(&mut self.recent, frame, 3);
        let smooth = mean_frame(&self.recent);
        push(&mut self.smooth, smooth, FLOOR_OVER);
        if self.count.is_multiple_of(LOOK_EVERY) {
            self.look();
        }
        self.count = self.count.wrapping_add(1);
        let excess = self.over_floor(&smooth);
        push(&mut self.excess, excess, REST_OVER);
        let active = self.smooth.len() >= KNOWN_AFTER && excess > self.rest + ACTIVE;
        self.talk.take(decibels(frame.power()), active);
        self.follow(frame.power(), active);
        self.judge_loudness();
    }

    /// Takes floors and restlessness anew.
    fn look(&mut self) {
        for band in 0..BANDS {
            let powers = self.smooth.iter().map(|frame| frame.bands[band]);
            self.floor[band] = quantile(powers, FLOOR_SHARE).max(LEAST);
        }
        self.rest = quantile(self.excess.iter().copied(), 0.3).min(REST_MOST);
    }

    /// Returns how far the bands stand over their floors, on average, in dB.
    fn over_floor(&self, frame: &Frame) -> f32 {
        let over = frame.bands.iter().zip(&self.floor);
        decibels(over.map(|(power, floor)| power / floor).sum::<f32>() / BANDS as f32)
    }

    fn follow(&mut self, power: f32, active: bool) {
        let Some(utterance) = &mut self.utterance else {
            if active {
                let before = self.noise.iter().rev().take(BEFORE).rev().copied();
                let mut powers: Vec<f32> = before.collect();
                powers.push(power);
                self.utterance = Some(Utterance { powers, quiet: 0 });
            } else if self.smooth.len() >= KNOWN_AFTER {
                push(&mut self.noise, power, NOISE_OVER);
            }
            return;
        };
        utterance.powers.push(power);
        utterance.quiet = if active { 0 } else { utterance.quiet + 1 };
        if utterance.quiet >= PAUSE || utterance.powers.len() >= LONGEST {
            let mut powers = std::mem::take(&mut utterance.powers);
            powers.truncate(powers.len() - utterance.quiet);
            self.utterance = None;
            self.judge(&powers);
        }
    }

    /// Decides what something active was.
    fn judge(&mut self, powers: &[f32]) {
        if powers.len() < SHORTEST + BEFORE {
            return;
        }
        let within = &powers[BEFORE + EDGE..powers.len() - EDGE];
        let loudest = within.iter().copied().fold(0.0, f32::max);
        let loud = within.iter().copied();
        let moved = movement(loud.filter(|&power| power > loudest * LOUD));
        let of_room = movement(self.noise.iter().copied());
        let noise = self.noise_power().unwrap_or(LEAST);
        let speech = mean(powers.iter().copied()).unwrap_or(0.0) - noise;
        let more = if speech > noise * CLEAR {
            MOVES_MORE.1
        } else {
            MOVES_MORE.0
        };
        let moves = moved >= MOVES.max(more * of_room);
        if moves && speech > noise * LEAST_OVER && has_vowel(powers) {
            push(&mut self.speech, speech, UTTERANCES);
        } else {
            for &power in powers {
                push(&mut self.noise, power, NOISE_OVER);
            }
        }
    }

    fn judge_loudness(&mut self) {
        let Some(ratio) = self.ratio() else {
            return;
        };
        if self.speech.len() < UTTERANCES_WANTED {
            return;
        }
        let wanted = loudness(ratio, self.loudness);
        self.other_for = if wanted == self.loudness {
            0
        } else {
            self.other_for + 1
        };
        if self.other_for > LASTING || self.loudness == Loudness::Unknown {
            self.loudness = wanted;
            self.other_for = 0;
        }
    }
}

/// Returns what `ratio` means, in dB, where it meant `before` until now.
fn loudness(ratio: f32, before: Loudness) -> Loudness {
    let bound = |bound: f32, worse: bool| if worse { bound + BACK } else { bound };
    let too_loud = before == Loudness::TooLoud;
    let no_readings = too_loud || before == Loudness::TooLoudForReadings;
    if ratio < bound(COMMANDS, too_loud) {
        Loudness::TooLoud
    } else if ratio < bound(READINGS, no_readings) {
        Loudness::TooLoudForReadings
    } else {
        Loudness::Good
    }
}

/// Tells whether there is a stretch as loud and long as a vowel.
fn has_vowel(powers: &[f32]) -> bool {
    let loudest = powers.iter().copied().fold(0.0, f32::max);
    let bound = loudest * 10f32.powf(-0.8);
    powers
        .split(|&power| power < bound)
        .any(|stretch| stretch.len() >= VOWEL)
}

/// Returns a mean square as a level, in dB; no less than [`SILENCE`].
fn decibels(power: f32) -> f32 {
    (10.0 * power.max(1e-12).log10()).max(SILENCE)
}

fn push<T>(queue: &mut VecDeque<T>, value: T, most: usize) {
    if queue.len() >= most {
        queue.pop_front();
    }
    queue.push_back(value);
}

fn mean(values: impl Iterator<Item = f32>) -> Option<f32> {
    let (sum, count) = values.fold((0.0, 0), |(sum, count), v| (sum + v, count + 1));
    (count > 0).then(|| sum / count as f32)
}

fn mean_frame(frames: &VecDeque<Frame>) -> Frame {
    let mut bands = [0.0; BANDS];
    for frame in frames {
        for (sum, power) in bands.iter_mut().zip(frame.bands) {
            *sum += power / frames.len() as f32;
        }
    }
    Frame { bands }
}

/// Returns the standard deviation of the level, in dB.
fn movement(powers: impl Iterator<Item = f32>) -> f32 {
    let levels: Vec<f32> = powers.map(decibels).collect();
    let middle = mean(levels.iter().copied()).unwrap_or(0.0);
    mean(levels.iter().map(|level| (level - middle).powi(2))).map_or(0.0, f32::sqrt)
}

/// Returns the value that `share` of all lie below; 0 where there are none.
fn quantile(values: impl Iterator<Item = f32>, share: f32) -> f32 {
    let mut values: Vec<f32> = values.collect();
    if values.is_empty() {
        return 0.0;
    }
    let at = ((values.len() - 1) as f32 * share) as usize;
    *values.select_nth_unstable_by(at, f32::total_cmp).1
}

#[cfg(test)]
mod tests;
