//! The program's own voice, taken out of what the microphone captures while it speaks.
//!
//! What the loudspeaker really plays comes in beside what was captured at that time. The first of what
//! was played, or what was played last before captured sound was lost, is set against what is captured
//! then, and the rest follows sample by sample. What lies between, 10 to 500 ms, is the filter's to
//! learn; from one text to the next it may differ by what the loudspeaker's buffers hold, which is
//! measured on each text's first half second and put right; until then nothing is handed on, for the
//! beginning of a text at a wrong place is heard as a word.

use std::collections::VecDeque;

use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{
    Async, FixedAsync, Resampler, SincInterpolationParameters, SincInterpolationType,
    WindowFunction,
};

use super::echo_filter::{BLOCK, EchoFilter, PAST, RATE, lag};
use super::level::floats;

/// What is captured waits this long, in samples, for what was played to arrive: 30 ms.
const HELD: usize = 480;
/// It waits longer, up to 150 ms, where what belongs beside it has not yet been played: a text's place
/// may have been put right by so much.
const HELD_LONGER: usize = 2_400;
/// More than this does not wait; nothing was played then.
const MOST_HELD: usize = RATE as usize;
/// Blocks that are compared before a text's place is settled: half a second of speech.
const COMPARED: usize = 32;
/// Blocks that wait for that at most: 1 s.
const MOST_COMPARED: usize = 64;
/// The greatest difference between two texts' places, in samples: 100 ms.
const MOST_SHIFT: usize = 1_600;
/// Blocks of speech from which the room is known well enough to compare with: 1 s.
const TRAINED: usize = 64;
/// Blocks of which the loudest are compared, 2 s: a phrase, and the time until it is believed.
const LATELY: usize = 125;
/// Blocks taken together as loud: 0.2 s.
const LOUD: usize = 12;
/// A block of what is played below this mean square is a pause.
const PAUSE: f32 = 1e-6;

/// Takes the program's own voice out of captured sound.
pub struct Echo {
    rate: u32,
    down: Rerate,
    up: Rerate,
    /// From the loudspeaker's rate.
    played: Option<Rerate>,
    filter: EchoFilter,
    /// All that was played of this text.
    text: Vec<f32>,
    captured: Vec<f32>,
    /// Where in the text the first captured sample stands, once something was played.
    place: Option<i64>,
    learnt: usize,
    /// Mean squares of the last blocks, as captured and as left.
    lately: VecDeque<(f32, f32)>,
    /// Until the place is settled.
    comparing: Option<Comparing>,
}

/// What is kept until a text's place is settled.
#[derive(Default)]
struct Comparing {
    /// All blocks captured since the text began.
    blocks: Vec<Vec<f32>>,
    /// What was expected and captured while the text sounded.
    expected: Vec<f32>,
    heard: Vec<f32>,
}

impl Echo {
    /// Makes one for sound captured at `rate` Hz; none where that rate cannot be brought to another.
    pub fn new(rate: u32) -> Option<Echo> {
        Some(Echo {
            rate,
            down: Rerate::new(rate, RATE)?,
            up: Rerate::new(RATE, rate)?,
            played: None,
            filter: EchoFilter::default(),
            text: Vec::new(),
            captured: Vec::new(),
            place: None,
            learnt: 0,
            lately: VecDeque::new(),
            comparing: None,
        })
    }

    /// Goes on with sound captured at another rate, or by another microphone: the text that is being played is
    /// known, its place beside what is captured begins anew.
    pub fn at_rate(self, rate: u32) -> Option<Echo> {
        let mut echo = Echo {
            played: self.played,
            text: self.text,
            ..Echo::new(rate)?
        };
        echo.place_anew();
        Some(echo)
    }

    /// Begins a new text: what is played from now on has no fixed place beside what was before.
    pub fn begin(&mut self) {
        self.text.clear();
        self.place_anew();
    }

    /// Takes what the loudspeaker has just played, at `rate` Hz.
    pub fn play(&mut self, rate: u32, samples: &[i16]) {
        if self
            .played
            .as_ref()
            .is_none_or(|played| played.from != rate)
        {
            self.played = Rerate::new(rate, RATE);
        }
        let Some(played) = &mut self.played else {
            return;
        };
        self.text.extend(played.bring(&floats(samples)));
        if self.place.is_none() && !self.text.is_empty() {
            self.place = Some(self.text.len() as i64 - self.captured.len() as i64);
        }
    }

    /// What comes has no place beside what was captured before, for sound was lost: what waits is let go, and
    /// what was played until now is the past of what comes. Its place is settled anew where the room is known
    /// well enough.
    pub fn place_anew(&mut self) {
        self.captured.clear();
        self.place = (!self.text.is_empty()).then_some(self.text.len() as i64);
        let past = self.played_at(self.text.len() as i64 - PAST as i64, PAST);
        self.filter.remember(&past);
        self.comparing = (self.learnt >= TRAINED).then(Default::default);
    }

    /// Takes what was captured; returns what is ready of it, without the echo. It comes 46 ms late.
    pub fn remove(&mut self, samples: &[i16]) -> Vec<i16> {
        self.captured.extend(self.down.bring(&floats(samples)));
        let Some(mut place) = self.place else {
            let late = self.captured.len().saturating_sub(MOST_HELD);
            self.captured.drain(..late);
            return Vec::new();
        };
        let mut left = Vec::new();
        while self.is_ready(place) {
            let captured: Vec<f32> = self.captured.drain(..BLOCK).collect();
            match self.comparing.take() {
                None => left.extend(self.without_echo(place, &captured)),
                Some(comparing) => match self.compare(comparing, place, captured) {
                    Compared::Open(comparing) => self.comparing = Some(comparing),
                    Compared::Settled(blocks, behind) => {
                        place -= behind;
                        let mut from = place - ((blocks.len() - 1) * BLOCK) as i64;
                        let past = self.played_at(from - PAST as i64, PAST);
                        self.filter.remember(&past);
                        for captured in &blocks {
                            left.extend(self.without_echo(from, captured));
                            from += BLOCK as i64;
                        }
                    }
                },
            }
            place += BLOCK as i64;
        }
        self.place = Some(place);
        let left = self.up.bring(&left);
        left.iter()
            .map(|s| (s * 32_768.0).round().clamp(-32_768.0, 32_767.0) as i16)
            .collect()
    }

    /// Takes the echo out of a block captured beside what was played from `place` on, and learns.
    fn without_echo(&mut self, place: i64, captured: &[f32]) -> Vec<f32> {
        let played = self.played_at(place, BLOCK);
        let echo = self.filter.echo(&played, captured, true);
        self.learnt += usize::from(!is_pause(&played));
        let left: Vec<f32> = captured.iter().zip(&echo).map(|(d, y)| d - y).collect();
        self.lately
            .push_back((mean_square(captured), mean_square(&left)));
        if self.lately.len() > LATELY {
            self.lately.pop_front();
        }
        left
    }

    /// Returns by how many decibels the loudest of what is left of the last 2 s is softer than the loudest of
    /// what was captured in them, 0 where nothing was.
    pub fn reduction(&self) -> f32 {
        let loudest = |of: fn(&(f32, f32)) -> f32| {
            let blocks: Vec<f32> = self.lately.iter().map(of).collect();
            let loud = blocks
                .windows(LOUD)
                .map(|blocks| blocks.iter().sum::<f32>());
            loud.fold(f32::MIN_POSITIVE, f32::max)
        };
        10.0 * (loudest(|block| block.0) / loudest(|block| block.1)).log10()
    }

    /// What was played in the last `seconds`, at the rate of what is captured.
    pub fn last_played(&self, seconds: f32) -> Vec<i16> {
        let count = (seconds * RATE as f32) as usize;
        let last = &self.text[self.text.len().saturating_sub(count)..];
        let Some(mut up) = Rerate::new(RATE, self.rate) else {
            return Vec::new();
        };
        let mut last = last.to_vec();
        // What the resampler keeps back is silence then.
        last.resize(last.len() + RATE as usize / 10, 0.0);
        up.bring(&last)
            .iter()
            .map(|s| (s * 32_767.0).clamp(-32_768.0, 32_767.0) as i16)
            .collect()
    }

    fn is_ready(&self, place: i64) -> bool {
        let waiting = self.captured.len();
        let played = place + BLOCK as i64 <= self.text.len() as i64;
        waiting >= BLOCK + HELD_LONGER || (played && waiting >= BLOCK + HELD)
    }

    fn played_at(&self, place: i64, count: usize) -> Vec<f32> {
        (place..place + count as i64)
            .map(|at| {
                let at = usize::try_from(at).ok();
                at.and_then(|at| self.text.get(at)).copied().unwrap_or(0.0)
            })
            .collect()
    }

    /// Compares what is captured with what was expected, until it is known by how much it lies behind.
    fn compare(&mut self, mut so_far: Comparing, place: i64, captured: Vec<f32>) -> Compared {
        let played = self.played_at(place, BLOCK);
        let echo = self.filter.echo(&played, &captured, false);
        if !is_pause(&played) {
            so_far.expected.extend_from_slice(&echo);
            so_far.heard.extend_from_slice(&captured);
        }
        so_far.blocks.push(captured);
        let enough = so_far.expected.len() >= COMPARED * BLOCK;
        if !enough && so_far.blocks.len() < MOST_COMPARED {
            return Compared::Open(so_far);
        }
        let behind = lag(&so_far.expected, &so_far.heard, MOST_SHIFT);
        Compared::Settled(so_far.blocks, behind.unwrap_or(0))
    }
}

/// What came of a comparison.
enum Compared {
    Open(Comparing),
    /// All blocks since the text began, and by how many samples they lie behind.
    Settled(Vec<Vec<f32>>, i64),
}

fn is_pause(played: &[f32]) -> bool {
    mean_square(played) <= PAUSE
}

fn mean_square(block: &[f32]) -> f32 {
    block.iter().map(|s| s * s).sum::<f32>() / block.len().max(1) as f32
}

/// Brings a stream of sound from one rate to another, a piece at a time.
struct Rerate {
    from: u32,
    resampler: Option<Async<f32>>,
    waiting: Vec<f32>,
}

impl Rerate {
    fn new(from: u32, to: u32) -> Option<Rerate> {
        let resampler = if from == to {
            None
        } else {
            let filter = SincInterpolationParameters::new(64, WindowFunction::BlackmanHarris2)
                .interpolation(SincInterpolationType::Linear);
            let ratio = f64::from(to) / f64::from(from);
            let piece = (from / 200) as usize;
            let made = Async::new_sinc(ratio, 1.0, &filter, piece, 1, FixedAsync::Input);
            Some(made.ok()?)
        };
        Some(Rerate {
            from,
            resampler,
            waiting: Vec::new(),
        })
    }

    fn bring(&mut self, samples: &[f32]) -> Vec<f32> {
        let Some(resampler) = &mut self.resampler else {
            return samples.to_vec();
        };
        self.waiting.extend_from_slice(samples);
        let mut brought = Vec::new();
        loop {
            let piece = resampler.input_frames_next();
            if self.waiting.len() < piece {
                return brought;
            }
            let input: Vec<f32> = self.waiting.drain(..piece).collect();
            let output = InterleavedSlice::new(&input, 1, piece)
                .ok()
                .and_then(|input| resampler.process(&input, None).ok());
            brought.extend(output.map_or_else(Vec::new, |output| output.take_data()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(seed: u64, rate: u32, seconds: usize) -> Vec<i16> {
        let mut random = fastrand::Rng::with_seed(seed);
        let mut held = 0.0;
        (0..seconds * rate as usize)
            .map(|n| {
                held += 0.2 * (random.f32() - 0.5 - held);
                let swell = (n as f32 / rate as f32 * 10.0).sin().max(0.0);
                (held * swell * 20_000.0) as i16
            })
            .collect()
    }

    /// Plays a text whose echo comes `delay_ms` later at half its level; returns by how many
    /// decibels its last two seconds are reduced.
    fn reduction(echo: &mut Echo, played_rate: u32, text: &[i16], delay_ms: usize) -> f64 {
        reduction_with_loss(echo, played_rate, text, delay_ms, 0..0)
    }

    /// The same where what is captured in some hundredths of a second is lost.
    fn reduction_with_loss(
        echo: &mut Echo,
        played_rate: u32,
        text: &[i16],
        delay_ms: usize,
        lost: std::ops::Range<usize>,
    ) -> f64 {
        let rate = echo.rate as usize;
        let there = crate::speak::sound::Sound {
            rate: played_rate,
            samples: text.to_vec(),
        };
        let there = there.at_rate(echo.rate).unwrap().samples;
        let mut captured = vec![0_i16; delay_ms * rate / 1_000];
        captured.extend(there.iter().map(|s| s / 2));
        echo.begin();
        let mut left = Vec::new();
        let pieces = text.len() / (played_rate as usize / 100);
        for n in 0..pieces {
            let of =
                |sound: &[i16], rate: usize| sound[n * rate / 100..(n + 1) * rate / 100].to_vec();
            echo.play(played_rate, &of(text, played_rate as usize));
            if lost.contains(&n) {
                echo.place_anew();
            } else {
                left.extend(echo.remove(&of(&captured, rate)));
            }
        }
        reduced(echo.rate, &captured, &left)
    }

    /// Returns by how many decibels the last two seconds of what is `left` are softer than what was captured.
    fn reduced(rate: u32, captured: &[i16], left: &[i16]) -> f64 {
        let last = left.len() - 2 * rate as usize..left.len();
        let power = crate::speak::sound::power;
        10.0 * (power(&captured[last.clone()]) / power(&left[last])).log10()
    }

    #[test]
    fn rates_of_playing_and_capturing_may_differ() {
        for (played, captured) in [(48_000, 16_000), (44_100, 48_000), (16_000, 44_100)] {
            let mut echo = Echo::new(captured).unwrap();
            let reduced = reduction(&mut echo, played, &words(1, played, 5), 80);
            assert!(reduced > 15.0, "{played} to {captured}: {reduced} dB");
        }
    }

    #[test]
    fn a_place_that_differs_from_text_to_text_is_put_right() {
        let mut echo = Echo::new(16_000).unwrap();
        reduction(&mut echo, 16_000, &words(1, 16_000, 5), 80);
        for (seed, delay_ms) in [(2, 110), (3, 45), (4, 45)] {
            let reduced = reduction(&mut echo, 16_000, &words(seed, 16_000, 3), delay_ms);
            assert!(reduced > 20.0, "{delay_ms} ms: {reduced} dB");
        }
    }

    #[test]
    fn what_is_captured_after_a_gap_has_its_place() {
        let mut echo = Echo::new(16_000).unwrap();
        for (seed, lost) in [(1, 0..0), (2, 20..90), (3, 100..210)] {
            let text = words(seed, 16_000, 5);
            let reduced = reduction_with_loss(&mut echo, 16_000, &text, 80, lost.clone());
            assert!(reduced > 15.0, "{lost:?}: {reduced} dB");
        }
    }

    #[test]
    fn a_microphone_that_opens_while_a_text_is_played_finds_its_place() {
        let mut echo = Echo::new(16_000).unwrap();
        let text = words(1, 48_000, 6);
        let (before, while_open) = text.split_at(43_200);
        echo.begin();
        for piece in before.chunks(480) {
            echo.play(48_000, piece);
        }
        let mut echo = echo.at_rate(48_000).unwrap();
        // The echo comes 100 ms late.
        let heard = text[before.len() - 4_800..].chunks(480);
        let (mut captured, mut left) = (Vec::new(), Vec::new());
        for (played, heard) in while_open.chunks(480).zip(heard) {
            echo.play(48_000, played);
            left.extend(echo.remove(heard));
            captured.extend_from_slice(heard);
        }
        let reduced = reduced(echo.rate, &captured, &left);
        assert!(reduced > 15.0, "{reduced} dB");
    }

    #[test]
    fn what_is_left_is_much_softer_only_while_nobody_speaks() {
        let mut echo = Echo::new(16_000).unwrap();
        assert!(echo.reduction() == 0.0);
        let text = words(1, 16_000, 9);
        // 12 dB softer than the echo, from 6 s on.
        let person = [vec![0; 6 * 16_000], words(2, 16_000, 3)].concat();
        let late = [vec![0; 1_280], text.clone()].concat();
        let captured: Vec<i16> = (late.iter().zip(&person))
            .map(|(echo, person)| echo / 2 + person / 8)
            .collect();
        echo.begin();
        let mut alone = 0.0;
        for (n, (played, captured)) in text.chunks(160).zip(captured.chunks(160)).enumerate() {
            echo.play(16_000, played);
            echo.remove(captured);
            if n == 590 {
                alone = echo.reduction();
            }
        }
        let with_person = echo.reduction();
        assert!(alone > 20.0 && with_person < 16.0, "{alone} {with_person}");
    }

    #[test]
    fn nothing_is_ready_where_nothing_was_played() {
        let mut echo = Echo::new(16_000).unwrap();
        echo.begin();
        for _ in 0..100 {
            assert!(echo.remove(&words(1, 16_000, 1)).is_empty());
        }
    }
}
