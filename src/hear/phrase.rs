//! When to believe a phrase: its sound, decoded again by itself, has to give the same words, and has to
//! be nearly as likely by the closed grammar as by the model's own graph, to which every word is free.

use std::ops::Range;
use std::sync::Arc;

use super::decoder::{Alternative, Begun, Graph, Kept, UNKNOWN};
use super::level::{SILENCE, dbfs};
use super::{Heard, Vocabulary, Weight, reading};

/// The score from which a phrase is asked back.
const DOUBTFUL: f32 = -0.25;
/// The score from which the end of a phrase is asked about.
const PART: f32 = -0.10;
/// A first word is lost under a noise that sounds this long before the rest, in seconds, and is no
/// softer than the rest by more than this, in dB: after a pause no word was lost.
const LOST: std::ops::Range<f32> = 0.03..0.35;
const SOFTER: f32 = 3.0;
/// How far before a phrase is listened for words, in seconds, and how close to it no longer.
pub(super) const PRECEDING: f32 = 1.0;
const CLOSE: f32 = 0.05;
/// How far before a phrase its sentence is, where it has one: the word before it.
const JUST_BEFORE: f32 = 0.35;
/// A phrase is amid other talk where words went before it and were no softer than it by this, in dB:
/// whoever gives a command pauses first, and a radio beside is softer.
const AS_LOUD: f32 = 7.0;
/// The scored window reaches this far beyond the words, in seconds.
const WINDOW: f32 = 0.03;
/// A score counts where the words still end within this of where they ended then, in seconds.
const SAME_END: f32 = 0.06;
/// The recogniser's frame, in seconds.
const FRAME: f32 = 0.03;

/// Returns the score from which a phrase of this weight is sure.
fn sure_from(weight: Weight) -> f32 {
    match weight {
        Weight::Light => -0.15,
        Weight::Ordinary | Weight::Stop => -0.10,
        Weight::Grave => -0.05,
    }
}

/// Returns the grammar that hears `vocabulary`. Phrases hold only `a-z`, `'` and spaces: the library
/// crashes on anything else.
pub(super) fn grammar(vocabulary: &Vocabulary) -> Vec<String> {
    let spelled = |words: &&str| {
        !words.trim().is_empty()
            && words
                .chars()
                .all(|c| c.is_ascii_lowercase() || c == '\'' || c == ' ')
    };
    let phrases = vocabulary.phrases.iter().map(|e| e.words.as_str());
    let mut grammar: Vec<String> = phrases.filter(spelled).map(str::to_string).collect();
    if let Some(count) = vocabulary.digits {
        grammar.extend(reading::words(count));
    }
    grammar.push(UNKNOWN.to_string());
    grammar
}

/// A phrase as a stream shows it, or the end of one, with the sound in which it was shown.
#[derive(Debug)]
pub(super) struct Said {
    pub text: String,
    /// The weight of a whole phrase; nothing where only the end of one was shown.
    pub weight: Option<Weight>,
    pub before: Before,
    pub grammar: Arc<[String]>,
    /// What was kept, from [`PRECEDING`] before the sound in which the phrase is looked for, or earlier.
    pub kept: Vec<i16>,
    /// Where in it that sound begins.
    pub lead: usize,
    /// From where on in it the stream showed nothing before the phrase; no later than `lead`.
    pub quiet: usize,
    /// Where it ends, in samples heard since the start.
    pub now: u64,
    /// Rate of the sound, in Hz.
    pub rate: u32,
}

/// What may stand before a phrase where it is decoded again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Before {
    Nothing,
    /// What belongs to no phrase.
    Unknown,
    /// What is left of the program's own voice, whatever it sounds like.
    Anything,
}

/// What is known of a phrase once it was decoded again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scored {
    /// Where its words began and ended, in samples heard since the start.
    pub start: u64,
    pub end: u64,
    pub score: f32,
    /// Whether what sounds just before it is about as loud.
    pub is_loud_before: bool,
    /// Whether it may be a part of other talk.
    pub amid_talk: bool,
}

/// A phrase decoded as far as it was said when it was first shown.
#[derive(Debug)]
pub(super) struct Ahead {
    /// Where the sound began and how far it is decoded, in samples heard since the start.
    from: u64,
    until: u64,
    again: Begun,
    /// Where its words begin, in samples of that sound, and the sound from there on by both graphs.
    start: usize,
    both: [Begun; 2],
}

impl Said {
    fn sound(&self) -> &[i16] {
        &self.kept[self.lead..]
    }

    /// Where the sound begins, in samples heard since the start.
    fn from(&self) -> u64 {
        self.now - self.sound().len() as u64
    }

    /// Returns where so many seconds of the sound are over, or before it began, in samples heard since the start.
    fn sample(&self, seconds: f32) -> u64 {
        let at = (seconds * self.rate as f32) as i64;
        self.from().saturating_add_signed(at)
    }

    /// Where the words between two times begin and end in the sound, with a little around them.
    fn window(&self, (start, end): (f32, f32)) -> Range<usize> {
        let at = |seconds: f32| (seconds.max(0.0) * self.rate as f32) as usize;
        let end = at(end + WINDOW).min(self.sound().len());
        at(start - WINDOW).min(end)..end
    }

    /// Begins to decode the phrase, where its first words are decoded so far.
    pub fn begin(&self, kept: &mut impl Kept) -> Option<Ahead> {
        let (again, so_far) = kept.begin_and_look(&self.grammar, self.sound());
        let so_far = so_far.first()?;
        if !self.text.starts_with(&so_far.text) {
            return None;
        }
        let start = self.window(*so_far.words.first()?).start;
        let from_there = &self.sound()[start..];
        Some(Ahead {
            from: self.from(),
            until: self.now,
            again,
            start,
            both: kept.begin_both(&self.grammar, from_there),
        })
    }

    /// Decodes the phrase again, from where it is decoded `ahead`; returns its score, the one `known`
    /// where its words still end there, if the same words come out. Where it is not `scored`, any words
    /// that come out again are as good as they can be.
    pub fn verify(
        &self,
        ahead: Option<Ahead>,
        known: Option<Scored>,
        scored: bool,
        kept: &mut impl Kept,
    ) -> Option<Scored> {
        let ahead = ahead.filter(|ahead| ahead.from == self.from());
        let closed = Graph::Closed(&self.grammar);
        let again = ahead.as_ref().map_or_else(Vec::new, |ahead| {
            kept.end(ahead.again, self.sound_from(ahead.until))
        });
        let words = match again.as_slice() {
            [] => self.words(&kept.decode(closed, self.sound(), 1)),
            again => self.words(again),
        };
        let words = words.or_else(|| self.words_after_quiet(kept))?;
        if self.weight.is_none() && !may_have_lost(words, (self.sound(), self.rate)) {
            return None;
        }
        let [start, end] = [words.0, words.1].map(|seconds| self.sample(seconds));
        if !scored {
            return Some(Scored {
                start,
                end,
                score: 0.0,
                is_loud_before: false,
                amid_talk: false,
            });
        }
        let same_end = (SAME_END * self.rate as f32) as u64;
        if let Some(known) = known.filter(|known| known.end.abs_diff(end) < same_end) {
            return Some(Scored {
                start,
                end,
                ..known
            });
        }
        let score = self.score(words, ahead, kept)?;
        let may_act = believed(&self.text, self.weight, score).is_some_and(|heard| heard.sure)
            && self.weight.is_some_and(Weight::acts);
        let lead = self.lead as f32 / self.rate as f32;
        let words = (words.0 + lead, words.1 + lead);
        let kept_sound = (self.kept.as_slice(), self.rate);
        let amid_talk = may_act
            && is_loud_before(words, kept_sound, CLOSE..PRECEDING)
            && holds_words(
                between(kept_sound, words.0 - PRECEDING, words.0 - CLOSE),
                kept,
            );
        Some(Scored {
            start,
            end,
            score,
            is_loud_before: is_loud_before(words, kept_sound, CLOSE..JUST_BEFORE),
            amid_talk,
        })
    }

    /// Returns the score of the words between two times: the confidence of the closed grammar before that
    /// of the model's own graph, for each frame.
    fn score(&self, words: (f32, f32), ahead: Option<Ahead>, kept: &mut impl Kept) -> Option<f32> {
        let window = self.window(words);
        let frame = (FRAME * self.rate as f32) as usize;
        let ahead = ahead.filter(|ahead| {
            ahead.start.abs_diff(window.start) <= frame
                && ahead.until <= self.from() + window.end as u64
        });
        let confidences = |[closed, open]: [Vec<Alternative>; 2]| {
            Some((closed.first()?.confidence, open.first()?.confidence))
        };
        let from_ahead = ahead.and_then(|ahead| {
            let rest = &self.sound()[(ahead.until - self.from()) as usize..window.end];
            let both = confidences(kept.end_both(ahead.both, rest))?;
            Some((both, ahead.start))
        });
        let ((closed, open), start) = match from_ahead {
            Some(known) => known,
            None => {
                let both = kept.begin_both(&self.grammar, &[]);
                let sound = &self.sound()[window.clone()];
                (confidences(kept.end_both(both, sound))?, window.start)
            }
        };
        let frames = (window.end - start) as f32 / self.rate as f32 / FRAME;
        Some((closed - open) / frames.max(1.0))
    }

    fn sound_from(&self, sample: u64) -> &[i16] {
        let at = usize::try_from(sample.saturating_sub(self.from())).unwrap_or(usize::MAX);
        &self.sound()[at.min(self.sound().len())..]
    }

    /// Returns where the words begin and end, in seconds, if they are what was decoded.
    fn words(&self, decoded: &[Alternative]) -> Option<(f32, f32)> {
        let again = decoded.first()?;
        let before = again.text.strip_suffix(self.text.as_str())?;
        let may_stand = match self.before {
            Before::Nothing => before.is_empty(),
            Before::Unknown => without_unknown(before).is_empty(),
            Before::Anything => before.is_empty() || before.ends_with(' '),
        };
        if !may_stand {
            return None;
        }
        let (start, _) = again.words.get(before.split_whitespace().count())?;
        let (_, end) = again.words.last()?;
        Some((*start, *end))
    }

    /// Returns the same where the words come out only with the quiet before them.
    fn words_after_quiet(&self, kept: &mut impl Kept) -> Option<(f32, f32)> {
        if self.weight.is_none() || self.quiet >= self.lead {
            return None;
        }
        let sound = &self.kept[self.quiet..];
        let earlier = (self.lead - self.quiet) as f32 / self.rate as f32;
        let (start, end) = self.words(&kept.decode(Graph::Closed(&self.grammar), sound, 1))?;
        Some((start - earlier, end - earlier))
    }
}

/// Tells whether a first word may have been lost in `sound` before the words between two times, in
/// seconds: where something sounds there that is about as loud as they are.
fn may_have_lost(words: (f32, f32), sound: (&[i16], u32)) -> bool {
    let (before, own) = levels(words, sound, LOST);
    before >= own - SOFTER
}

/// Tells whether what sounds so long before the words between two times, all in seconds, of `sound` is about as loud:
/// it may be other talk, if it is words.
fn is_loud_before(words: (f32, f32), sound: (&[i16], u32), so_long: Range<f32>) -> bool {
    let (before, own) = levels(words, sound, so_long);
    before > SILENCE && before >= own - AS_LOUD
}

/// Returns the levels of what sounds so long before the words between two times, and of the words, in dBFS.
fn levels((start, end): (f32, f32), sound: (&[i16], u32), so_long: Range<f32>) -> (f32, f32) {
    let level = |from, to| dbfs(between(sound, from, to));
    (
        level(start - so_long.end, start - so_long.start),
        level(start, end),
    )
}

/// Tells whether `sound` holds words by the model's own graph: a bang is none.
pub(super) fn holds_words(sound: &[i16], kept: &mut impl Kept) -> bool {
    let heard = kept.decode(Graph::Open, sound, 1);
    heard.first().is_some_and(|best| !best.words.is_empty())
}

/// Returns what is believed by the score of `text`: the whole of a phrase of some weight, or, with none,
/// only the end of one, which is never sure.
pub(super) fn believed(text: &str, weight: Option<Weight>, score: f32) -> Option<Heard> {
    let least = weight.map_or(PART, |_| DOUBTFUL);
    (score >= least).then(|| Heard {
        text: text.to_string(),
        is_reading: false,
        score,
        sure: weight.is_some_and(|weight| score >= sure_from(weight)),
        is_part: weight.is_none(),
    })
}

/// Returns how many letters `text` has.
pub(super) fn letters(text: &str) -> usize {
    text.bytes().filter(u8::is_ascii_alphabetic).count()
}

/// Tells whether `text` ends with `words` after others.
pub(super) fn is_after_others(text: &str, words: &str) -> bool {
    let before = text.strip_suffix(words);
    before.is_some_and(|before| before.ends_with(' '))
}

/// Returns `text` without what stands before its first known word.
pub(super) fn without_unknown(text: &str) -> &str {
    let mut text = text;
    while let Some(rest) = text.strip_prefix(UNKNOWN) {
        text = rest.trim_start();
    }
    text
}

fn between((sound, rate): (&[i16], u32), start: f32, end: f32) -> &[i16] {
    let at = |seconds: f32| ((seconds.max(0.0) * rate as f32) as usize).min(sound.len());
    let (start, end) = (at(start), at(end));
    &sound[start..end.max(start)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_first_word_is_lost_under_a_noise_and_not_in_a_pause() {
        // 1 kHz: a tenth of a second is a hundred samples.
        let sound = |before: i16| -> Vec<i16> {
            let level = |n: i16| if n < 500 { before } else { 1_000 };
            (0..1_000).map(|n| level(n) * (1 - 2 * (n % 2))).collect()
        };
        let lost = |before| may_have_lost((0.5, 1.0), (&sound(before), 1_000));
        assert!(lost(2_000) && lost(800));
        assert!(!lost(600) && !lost(0));
    }

    #[test]
    fn the_more_hangs_on_a_phrase_the_surer_it_has_to_be() {
        let sure = |weight, score| believed("say again", Some(weight), score).unwrap().sure;
        for (score, of) in [
            (-0.04, [true, true, true]),
            (-0.08, [true, true, false]),
            (-0.12, [true, false, false]),
            (-0.20, [false, false, false]),
        ] {
            let weights = [Weight::Light, Weight::Ordinary, Weight::Grave];
            assert_eq!(weights.map(|weight| sure(weight, score)), of, "{score}");
        }
        assert!(believed("say again", Some(Weight::Light), -0.3).is_none());
        let part = believed("again", None, 0.5).unwrap();
        assert!(part.is_part && !part.sure);
        assert!(believed("again", None, -0.2).is_none());
    }
}
