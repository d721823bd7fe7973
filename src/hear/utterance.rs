//! Where something was said: from pause to pause, by the level of the sound with what is not a voice taken out.

use std::collections::VecDeque;

use super::level::{SILENCE, dbfs};

/// A frame, in seconds.
const FRAME: f32 = 0.03;
/// So many quiet frames are a pause; a stop inside a word is shorter.
const PAUSE: usize = 9;
/// What is softer than the loudest by this is quiet, and what is not this much above the softest, in dB.
const BELOW_LOUDEST: f32 = 16.0;
const ABOVE_SOFTEST: f32 = 6.0;
/// The loudest is looked for so far back, and the softest, in frames.
const LOUDEST_OF: usize = 60;
const SOFTEST_OF: usize = 130;
/// How long something said is that may be a phrase, in frames.
const LENGTHS: std::ops::RangeInclusive<usize> = 8..=80;
/// So much sound before it is taken along, in frames, and with only a voice left up to so much, where nothing else was said
/// there: the first syllable is often lost in noise.
const LEAD: usize = 15;
const MOST_LEAD: usize = 35;
/// How much sound is kept, in seconds.
const KEPT: f32 = 4.0;

/// Something said.
#[derive(Debug, PartialEq)]
pub(super) struct Utterance {
    /// Its sound as captured, with a little before it and the pause after.
    pub(super) sound: Vec<i16>,
    /// The same with only a voice left, where there is that form, and with more before it.
    pub(super) voice: Vec<i16>,
    /// How long it is itself, in seconds.
    pub(super) seconds: f32,
}

/// Something said that just ended, in frames.
struct Ended {
    /// So many ago it began.
    begun: usize,
    /// So many before that nothing else was said.
    alone: usize,
}

/// Follows the sound.
#[derive(Debug)]
pub(super) struct Utterances {
    rate: u32,
    /// The sound as captured, and with only a voice left.
    kept: [VecDeque<i16>; 2],
    /// What does not fill a frame yet.
    waiting: Vec<i16>,
    /// The levels of the last frames, in dBFS.
    levels: VecDeque<f32>,
    /// So many of them belong to what was told already.
    told: usize,
    /// So many of them came until the last that was as long as a phrase, or longer, ended.
    spoken: usize,
    /// So many came since what sounded was known.
    fresh: usize,
}

impl Utterances {
    pub(super) fn new(rate: u32) -> Utterances {
        Utterances {
            rate,
            kept: [VecDeque::new(), VecDeque::new()],
            waiting: Vec::new(),
            levels: VecDeque::new(),
            told: 0,
            spoken: 0,
            fresh: 0,
        }
    }

    /// What sounded until now is known.
    pub(super) fn forget(&mut self) {
        self.told = self.levels.len();
        self.fresh = 0;
        self.kept.iter_mut().for_each(VecDeque::clear);
    }

    /// Returns the level of the voice between two moments, in samples ago, in dBFS: [`SILENCE`] where nothing is known of it.
    pub(super) fn level(&self, from: u64, to: u64) -> f32 {
        let frame = self.frame() as u64;
        let back = |samples: u64| {
            let whole = samples.saturating_sub(self.waiting.len() as u64) + frame / 2;
            ((whole / frame) as usize).min(self.fresh)
        };
        let (from, to) = (back(from), back(to));
        let levels = self.levels.iter().rev().take(from).skip(to);
        let powers = levels.map(|level| 10_f32.powf(level / 10.0));
        let sum: f32 = powers.sum();
        match from.saturating_sub(to) {
            0 => SILENCE,
            count => (10.0 * (sum / count as f32).log10()).max(SILENCE),
        }
    }

    /// Returns how long what was said last is so far, in seconds, as far back as the levels are known.
    pub(super) fn spoken_for(&self) -> f32 {
        let bar = self.bar();
        let quiet = self.quiet(0, bar);
        (self.begun(quiet, bar) - quiet) as f32 * FRAME
    }

    /// Takes the next samples as captured, and as many with only a voice left or none; returns something said where a
    /// pause after it shows.
    pub(super) fn hear(&mut self, plain: &[i16], voice: &[i16]) -> Option<Utterance> {
        let frame = self.frame();
        let most = (self.rate as f32 * KEPT) as usize;
        for (kept, samples) in self.kept.iter_mut().zip([plain, voice]) {
            kept.extend(samples);
            let over = kept.len().saturating_sub(most);
            kept.drain(..over);
        }
        let judged = if voice.is_empty() { plain } else { voice };
        self.waiting.extend(judged);
        let mut said = None;
        while self.waiting.len() >= frame {
            let level = dbfs(&self.waiting[..frame]);
            self.waiting.drain(..frame);
            said = self.next(level).or(said);
        }
        let said = said?;
        let with_lead = |kept: &VecDeque<i16>, lead| {
            let length = (said.begun + lead) * frame + self.waiting.len();
            let from = kept.len().saturating_sub(length);
            kept.range(from..).copied().collect()
        };
        let [plain, voice] = &self.kept;
        Some(Utterance {
            sound: with_lead(plain, LEAD),
            voice: with_lead(voice, said.alone.clamp(LEAD, MOST_LEAD)),
            seconds: (said.begun - PAUSE) as f32 * FRAME,
        })
    }

    fn frame(&self) -> usize {
        ((self.rate as f32 * FRAME) as usize).max(1)
    }

    /// Takes the level of the next frame; returns something said where it just ended.
    fn next(&mut self, level: f32) -> Option<Ended> {
        if self.levels.len() == SOFTEST_OF {
            self.levels.pop_front();
            self.told = self.told.saturating_sub(1);
            self.spoken = self.spoken.saturating_sub(1);
        }
        self.levels.push_back(level);
        self.fresh = (self.fresh + 1).min(self.levels.len());
        let bar = self.bar();
        if self.quiet(0, bar) != PAUSE {
            return None;
        }
        let begun = self.begun(PAUSE, bar);
        let length = begun - PAUSE;
        // After the program's own voice its last word still sounds in the room.
        let before = self.levels.len().saturating_sub(begun);
        let is_new = before >= self.told + PAUSE;
        let alone = before.saturating_sub(self.spoken);
        self.told = self.levels.len() - PAUSE;
        if length >= *LENGTHS.start() {
            self.spoken = self.told;
        }
        let ended = Ended { begun, alone };
        (LENGTHS.contains(&length) && is_new).then_some(ended)
    }

    /// Returns the level below which it is quiet, in dBFS.
    fn bar(&self) -> f32 {
        let mut last: Vec<f32> = self.levels.iter().rev().take(LOUDEST_OF).copied().collect();
        last.sort_by(f32::total_cmp);
        let mut all: Vec<f32> = self.levels.iter().copied().collect();
        all.sort_by(f32::total_cmp);
        // A click is not the loudest of a word.
        let loudest = last.get(last.len().saturating_sub(4));
        let softest = all.get(all.len() / 10);
        let of = |level: Option<&f32>| level.copied().unwrap_or(f32::NEG_INFINITY);
        (of(loudest) - BELOW_LOUDEST).max(of(softest) + ABOVE_SOFTEST)
    }

    fn is_quiet(&self, back: usize, bar: f32) -> bool {
        let at = self.levels.len().checked_sub(back + 1);
        at.is_none_or(|at| self.levels[at] < bar)
    }

    /// Returns for how many frames before so many it is quiet.
    fn quiet(&self, back: usize, bar: f32) -> usize {
        let before = back..SOFTEST_OF;
        before.take_while(|back| self.is_quiet(*back, bar)).count()
    }

    /// Returns how many frames ago something began that was still said so many frames ago.
    fn begun(&self, ended: usize, bar: f32) -> usize {
        let mut begun = ended;
        while begun < self.levels.len() {
            while !self.is_quiet(begun, bar) {
                begun += 1;
            }
            match self.quiet(begun, bar) {
                // Only a breath inside of it.
                short if short < PAUSE && begun + short < self.levels.len() => begun += short,
                _ => break,
            }
        }
        begun
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 kHz, so that a sample is a millisecond.
    const MILLI: u32 = 1_000;

    /// Lets sound of these lengths, in milliseconds, and levels come; returns when something said was told, and how
    /// much sound in both forms.
    fn told(parts: &[(usize, i16)]) -> Vec<(usize, usize, usize)> {
        let mut utterances = Utterances::new(MILLI);
        let sound = parts.iter().flat_map(|(length, level)| {
            (0..*length).map(move |n| if n % 2 == 0 { *level } else { -level })
        });
        let sound: Vec<i16> = sound.collect();
        let mut told = Vec::new();
        for (n, piece) in sound.chunks(10).enumerate() {
            if let Some(said) = utterances.hear(piece, piece) {
                assert!((said.seconds * 1_000.0 + 720.0 - said.sound.len() as f32).abs() < 30.0);
                told.push(((n + 1) * 10, said.sound.len(), said.voice.len()));
            }
        }
        told
    }

    #[test]
    fn what_is_said_is_told_when_a_pause_shows_with_a_little_before_it() {
        let said = told(&[(900, 30), (300, 3_000), (90, 20), (300, 2_000), (600, 30)]);
        assert_eq!(said, [(1_860, 690 + 270 + 450, 690 + 270 + 900)]);
        let late = told(&[(1_500, 30), (300, 3_000), (600, 30)]);
        assert_eq!(late, [(2_070, 300 + 270 + 450, 300 + 270 + 1_050)]);
    }

    #[test]
    fn a_word_after_a_short_pause_belongs_to_it_and_one_after_a_long_one_does_not() {
        let two = told(&[(900, 30), (300, 3_000), (300, 30), (300, 3_000), (600, 30)]);
        let (one, other) = (300 + 270 + 450, 300 + 270);
        assert_eq!(two, [(1_470, one, other + 900), (2_070, one, one)]);
        // A knock before it is nothing said.
        let knock = told(&[(600, 30), (60, 3_000), (600, 30), (300, 3_000), (600, 30)]);
        assert_eq!(knock, [(1_830, one, other + 1_050)]);
    }

    #[test]
    fn a_radio_much_softer_does_not_hide_the_pauses() {
        let said = told(&[(900, 300), (600, 3_000), (600, 300)]);
        assert_eq!(said, [(1_770, 600 + 270 + 450, 600 + 270 + 900)]);
        assert_eq!(told(&[(900, 2_000), (600, 3_000), (600, 2_000)]), []);
    }

    #[test]
    fn clicks_and_long_talk_are_no_phrase() {
        assert_eq!(told(&[(900, 30), (60, 3_000), (600, 30)]), []);
        assert_eq!(told(&[(900, 30), (3_000, 3_000), (600, 30)]), []);
    }

    #[test]
    fn the_level_is_known_as_far_back_as_it_was_heard_anew() {
        let mut utterances = Utterances::new(MILLI);
        let hear = |utterances: &mut Utterances, level: i16, length: usize| {
            let sound = vec![level; length];
            utterances.hear(&sound, &sound);
        };
        hear(&mut utterances, 3_277, 300);
        hear(&mut utterances, 328, 300);
        let near = |level: f32, expected: f32| assert!((level - expected).abs() < 0.1, "{level}");
        // A tenth of full scale, and a hundredth.
        near(utterances.level(600, 300), -20.0);
        near(utterances.level(300, 0), -40.0);
        near(utterances.level(90, 0), -40.0);
        near(utterances.level(600, 0), -23.0);
        utterances.forget();
        assert_eq!(utterances.level(600, 300), SILENCE);
        assert_eq!(utterances.level(300, 0), SILENCE);
        hear(&mut utterances, 3_277, 70);
        near(utterances.level(300, 0), -20.0);
    }

    #[test]
    fn what_was_understood_is_not_told_again() {
        let mut utterances = Utterances::new(MILLI);
        let sound = |level: i16, length: usize| vec![level; length];
        for piece in [sound(30, 900), sound(3_000, 600)] {
            assert_eq!(utterances.hear(&piece, &piece), None);
        }
        utterances.forget();
        // Nor what of it still sounds.
        for piece in [sound(30, 150), sound(3_000, 300), sound(30, 900)] {
            assert_eq!(utterances.hear(&piece, &piece), None);
        }
    }
}
