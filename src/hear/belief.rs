//! When to believe the recogniser: a state machine fed with sound, pure but for its [`Decoder`].
//!
//! Three listening streams are always on, two of them fed with less noise. A phrase is a candidate while
//! the whole text of the stream is exactly that phrase; when it has stood long enough, the sound kept of it
//! is decoded again by itself, and scored against the model's own graph (`verifying.rs`). A stream is never
//! finalised to decide (a long phrase shows whole before it has been said to its end) and its grammar is
//! never changed (the library would crash): a new stream begins instead.
//!
//! Time is counted in samples, so the same sound always gives the same answers.

mod alone;
mod figures;
mod opinion;
mod verifying;

use std::sync::Arc;

use super::decoder::{Decoder, Form, Shown};
use super::level::FaintNoise;
use super::phrase::{self, grammar};
use super::stream::{Kind, Standing, Stream};
use super::utterance::Utterances;
use super::{Expected, Heard, Vocabulary, Weight, reading};
use opinion::{Asked, Doubted, Known};

/// How long a text must stand, in seconds.
const LIGHT: f32 = 0.20;
const ORDINARY: f32 = 0.30;
const GRAVE: f32 = 0.50;
/// More digits may come.
const DIGITS: f32 = 0.50;
/// What belongs to no phrase and sticks would stand in front of the next phrase; the beginning of one
/// may still go on.
const STUCK: f32 = 0.50;
const BEGUN: f32 = 2.00;
/// A stream that shows nothing for this long begins anew: it has settled on the noise. Each form takes
/// its turn this much later than the one before.
const STALE: f32 = 3.0;
const TURN: f32 = 1.0;
/// What a fresh stream is given of the sound before it, in seconds.
const CARRIED: f32 = 0.40;
/// After a text was believed its last word would be heard once more.
const REST: f32 = 0.25;
/// A phrase that has stood so long begins to be decoded again, beside listening: when it has stood its
/// time only the rest is left to do.
const AHEAD_AFTER: f32 = 0.03;
/// That is begun so long before the phrase has stood its time, or this share of it, so as to be done by then.
const TO_VERIFY: f32 = 0.12;
const TO_VERIFY_SHARE: f32 = 0.4;
/// Between two looks at a text that stands, and at a reading.
const LOOK_AGAIN: f32 = 0.15;
const READ_AGAIN: f32 = 0.20;
/// A text that has not convinced by then is not said.
const MOST_LOOKS: u8 = 8;
/// The end of a phrase is asked about from this many letters on.
const SHORTEST_PART: usize = 7;
/// How much sound is kept: the longest reading, said slowly.
const KEPT: f32 = 12.0;

/// The state of belief.
#[derive(Debug)]
pub struct Belief {
    rate: u32,
    scored: bool,
    vocabulary: Vocabulary,
    grammar: Arc<[String]>,
    /// Samples heard since the start.
    now: u64,
    hearing: Hearing,
    streams: [Stream; Form::COUNT],
    noise: FaintNoise,
    /// What another network is asked about.
    utterances: Utterances,
    phrases: Arc<[String]>,
    has_opinions: bool,
    asked: Option<Asked>,
    known: Option<Known>,
    doubted: Option<Doubted>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Hearing {
    Open,
    /// Told not to listen.
    Deaf,
    /// Begins again at this sample.
    From(u64),
}

/// Returns how long what is shown must stand, in seconds.
fn stands(kind: Kind) -> f32 {
    match kind {
        Kind::Phrase(Weight::Light) => LIGHT,
        Kind::Phrase(Weight::Ordinary | Weight::Stop) => ORDINARY,
        Kind::Phrase(Weight::Grave) | Kind::After | Kind::Part => GRAVE,
        Kind::Begun => BEGUN,
        Kind::Reading => DIGITS,
        Kind::Stray => STUCK,
    }
}

impl Belief {
    /// Begins with nothing that may be said, for sound of `rate` Hz; `scored` says whether phrases are
    /// scored, which only a measurement does without.
    pub fn new(rate: u32, scored: bool, decoder: &mut impl Decoder) -> Belief {
        let mut belief = Belief {
            rate,
            scored,
            vocabulary: Vocabulary::default(),
            grammar: grammar(&Vocabulary::default()).into(),
            now: 0,
            hearing: Hearing::Open,
            streams: Form::ALL.map(Stream::new),
            noise: FaintNoise::default(),
            utterances: Utterances::new(rate),
            phrases: Arc::from([]),
            has_opinions: false,
            asked: None,
            known: None,
            doubted: None,
        };
        belief.restart(decoder);
        belief
    }

    /// Sets what may be said from now on; new streams begin unless it is what it was.
    pub fn listen_for(&mut self, vocabulary: Vocabulary, decoder: &mut impl Decoder) {
        if vocabulary != self.vocabulary {
            self.grammar = grammar(&vocabulary).into();
            self.vocabulary = vocabulary;
            self.expect(decoder);
            self.restart(decoder);
        }
    }

    /// Lets sound pass unheard, or hears again a moment after it is told to.
    pub fn set_deaf(&mut self, deaf: bool) {
        match (deaf, self.hearing) {
            (true, _) => self.hearing = Hearing::Deaf,
            (false, Hearing::Deaf) => self.rest(),
            (false, _) => {}
        }
    }

    /// Takes the next samples in every form, in the order of [`Form::ALL`] (as many of each, or none);
    /// returns what is believed by them.
    pub fn hear(
        &mut self,
        forms: [&[i16]; Form::COUNT],
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        self.now += forms[0].len() as u64;
        match self.hearing {
            Hearing::Deaf => return None,
            Hearing::From(start) if self.now < start => return None,
            Hearing::From(_) => {
                self.hearing = Hearing::Open;
                self.restart(decoder);
            }
            Hearing::Open => {}
        }
        let most = self.samples(KEPT) as usize;
        let said = self.hear_utterance(forms);
        let mut believed: Option<Heard> = None;
        for (which, samples) in forms.into_iter().enumerate() {
            if samples.is_empty() {
                continue;
            }
            self.streams[which].keep(samples, most);
            if believed.as_ref().is_some_and(|known| known.sure) {
                // All streams begin anew after it, and each further look would only delay it.
                break;
            }
            let shown = decoder.hear(self.streams[which].form, samples);
            believed = self.show(which, &shown, decoder).or(believed);
        }
        let believed = self.with_opinion(believed, said, decoder);
        if believed.is_some() {
            self.rest();
        }
        believed
    }

    fn show(&mut self, which: usize, shown: &Shown, decoder: &mut impl Decoder) -> Option<Heard> {
        match shown {
            Shown::Partial(text) => {
                self.follow(which, text);
                self.look(which, decoder)
            }
            Shown::Ended(text) => {
                // The end can come before the text has stood its time: silence stood in its place.
                self.follow(which, text);
                self.fall_empty(which);
                let mut standing = self.streams[which].standing.take()?;
                self.judge_ended(which, &mut standing, decoder)
            }
        }
    }

    fn judge_ended(
        &mut self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        if matches!(standing.kind, Kind::Stray | Kind::Begun) || standing.looks >= MOST_LOOKS {
            return None;
        }
        self.verify(which, standing, decoder)
            .or_else(|| standing.doubt.clone())
    }

    /// Notes what the stream shows now, and since when.
    fn follow(&mut self, which: usize, text: &str) {
        let now = self.now;
        let stream = &mut self.streams[which];
        let first = text.split_whitespace().next();
        match (first, &stream.begun) {
            (None, None) => {}
            (None, Some(_)) => self.fall_empty(which),
            (Some(first), Some((known, _))) if first == known => {}
            (Some(first), _) => stream.begun = Some((first.to_string(), now)),
        }
        let known = self.streams[which].standing.as_ref();
        if known.is_some_and(|standing| standing.text == text) {
            return;
        }
        let stream = &self.streams[which];
        let begun = stream.begun.as_ref().map_or(now, |(_, since)| *since);
        // A reading is believed by margins that were found on sound as it came.
        let is_plain = stream.form == Form::Plain;
        let taken = self.taken_for(text);
        let taken = taken.filter(|(kind, _)| *kind != Kind::Reading || is_plain);
        self.streams[which].standing = taken.map(|(kind, words)| {
            let (next_look, verify_from) = self.next_look(stands(kind));
            let is_from_its_first_word = kind == Kind::Part || words == text;
            Standing {
                text: text.to_string(),
                words,
                kind,
                since: now,
                // What went before is not the beginning of the phrase.
                begun: if is_from_its_first_word { begun } else { now },
                next_look,
                verify_from,
                may_be_sooner: kind == Kind::Phrase(Weight::Ordinary),
                early_look: Some(now + self.samples(AHEAD_AFTER)),
                ahead: None,
                verifying: None,
                opinion: None,
                looks: 0,
                doubt: None,
                scored: None,
                held: None,
            }
        });
    }

    /// Notes that the stream shows nothing from now on.
    fn fall_empty(&mut self, which: usize) {
        self.streams[which].empty = self.now;
        if let Some((_, begun)) = self.streams[which].begun.take() {
            self.note_end(which, begun);
        }
    }

    /// Returns what the text of a stream is taken for, and the words of it that are.
    fn taken_for(&self, text: &str) -> Option<(Kind, String)> {
        let taken = |kind, words: &str| Some((kind, words.to_string()));
        if let Some(weight) = self.weight_of(text) {
            return taken(Kind::Phrase(weight), text);
        }
        let after = self.phrase_after(text);
        if let Some(phrase) = after.filter(|_| self.hears_only_stops()) {
            return taken(Kind::Phrase(phrase.weight), &phrase.words);
        }
        let digits = self.vocabulary.digits;
        if digits.is_some_and(|count| reading::may_be(count, text)) {
            return taken(Kind::Reading, text);
        }
        let end = phrase::without_unknown(text);
        if self.is_end_of_phrase(end) {
            return taken(Kind::Part, end);
        }
        if text.is_empty() {
            return None;
        }
        let mut phrases = self.vocabulary.phrases.iter();
        if phrases.any(|phrase| phrase.words.starts_with(text)) {
            return taken(Kind::Begun, text);
        }
        match after {
            Some(phrase) => taken(Kind::After, &phrase.words),
            None => taken(Kind::Stray, text),
        }
    }

    fn is_reading_wanted(&self) -> bool {
        self.vocabulary.digits.is_some()
    }

    /// Whether only a stop may be said: over the program's own voice, of which something is left before it.
    fn hears_only_stops(&self) -> bool {
        let mut phrases = self.vocabulary.phrases.iter();
        !self.is_reading_wanted() && phrases.all(|phrase| phrase.weight == Weight::Stop)
    }

    /// Whether `text` is a phrase without its first word, and long enough not to be in all talk.
    fn is_end_of_phrase(&self, text: &str) -> bool {
        phrase::letters(text) >= SHORTEST_PART
            && self.vocabulary.phrases.iter().any(|phrase| {
                let rest = phrase.words.split_once(' ');
                rest.is_some_and(|(_, rest)| rest == text)
            })
    }

    /// Returns the phrase that ends `text` after other words.
    fn phrase_after(&self, text: &str) -> Option<&Expected> {
        let mut phrases = self.vocabulary.phrases.iter();
        phrases.find(|phrase| phrase::is_after_others(text, &phrase.words))
    }

    /// Looks at what stands, where it is time to.
    fn look(&mut self, which: usize, decoder: &mut impl Decoder) -> Option<Heard> {
        if self.is_stale(which) {
            self.start_afresh(which, decoder);
            return None;
        }
        let Some(mut standing) = self.streams[which].standing.take() else {
            return self.look_back(which, decoder);
        };
        if self.is_held(&standing) {
            let heard = self.let_go(&mut standing);
            if standing.held.is_some() {
                // If it has to be looked at again that is ready.
                self.begin_verifying(which, &mut standing, decoder);
            }
            self.streams[which].standing = Some(standing);
            return heard;
        }
        if self.now < standing.next_look || standing.looks >= MOST_LOOKS {
            let mut heard = None;
            if matches!(standing.kind, Kind::Phrase(_)) {
                self.begin_ahead(which, &mut standing, decoder);
                self.begin_verifying(which, &mut standing, decoder);
                heard = self.verify_sooner(which, &mut standing, decoder);
                heard = self.unless_spoken_on(&mut standing, heard);
            }
            self.streams[which].standing = Some(standing);
            return heard;
        }
        if matches!(standing.kind, Kind::Stray | Kind::Begun) {
            self.start_after(which, decoder);
            return None;
        }
        standing.looks += 1;
        let again = match standing.kind {
            Kind::Reading => READ_AGAIN,
            _ => LOOK_AGAIN,
        };
        (standing.next_look, standing.verify_from) = self.next_look(again);
        let heard = match self.verify(which, &mut standing, decoder) {
            // A word may still have been cut short: what is in doubt is looked at twice.
            Some(heard) if !heard.sure && standing.doubt.is_none() => {
                standing.doubt = Some(heard);
                None
            }
            heard => self.unless_spoken_on(&mut standing, heard),
        };
        if standing.scored.is_none() && standing.looks < MOST_LOOKS {
            // Before the next look what was said until now is decoded ahead too.
            standing.early_look = Some(self.now);
        }
        self.streams[which].standing = Some(standing);
        heard
    }

    /// Returns when what has to stand for so many seconds is looked at, and when it begins to be verified for
    /// that.
    fn next_look(&self, stands: f32) -> (u64, u64) {
        let to_verify = TO_VERIFY.min(TO_VERIFY_SHARE * stands);
        let after = |seconds| self.now + self.samples(seconds);
        (after(stands), after(stands - to_verify))
    }

    /// Whether a stream has shown nothing for so long that it has to begin anew.
    fn is_stale(&self, which: usize) -> bool {
        let stream = &self.streams[which];
        let stale = STALE + TURN * which as f32;
        stream.begun.is_none() && self.now >= stream.empty + self.samples(stale)
    }

    fn weight_of(&self, text: &str) -> Option<Weight> {
        let mut phrases = self.vocabulary.phrases.iter();
        let found = phrases.find(|phrase| phrase.words == text);
        found.map(|phrase| phrase.weight)
    }

    fn restart(&mut self, decoder: &mut impl Decoder) {
        for stream in &mut self.streams {
            decoder.restart(stream.form, &self.grammar);
            stream.clear(self.now);
        }
    }

    fn start_afresh(&mut self, which: usize, decoder: &mut impl Decoder) {
        let count = self.samples(CARRIED);
        let stream = &mut self.streams[which];
        let carried = stream.last(count).to_vec();
        decoder.restart(stream.form, &self.grammar);
        decoder.hear(stream.form, &carried);
        stream.clear(self.now);
        stream.kept = carried;
    }

    /// Begins anew after something that sticks; where it may be a part of a reading, its sound stays.
    fn start_after(&mut self, which: usize, decoder: &mut impl Decoder) {
        self.fall_empty(which);
        let stream = &self.streams[which];
        let part = stream.ended.map(|ended| (ended, stream.kept.clone()));
        self.start_afresh(which, decoder);
        if let Some((ended, kept)) = part {
            self.streams[which].ended = Some(ended);
            self.streams[which].kept = kept;
        }
    }

    fn rest(&mut self) {
        self.hearing = Hearing::From(self.now + self.samples(REST));
        for stream in &mut self.streams {
            stream.standing = None;
        }
        self.forget();
    }

    fn samples(&self, seconds: f32) -> u64 {
        (f64::from(seconds) * f64::from(self.rate)) as u64
    }
}

#[cfg(test)]
pub(super) mod tests;
