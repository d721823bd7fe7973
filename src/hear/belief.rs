//! When to believe the recogniser: a state machine fed with sound, pure but for its [`Decoder`].
//!
//! One listening stream is always on. A phrase is a candidate while the whole text of the stream is
//! exactly that phrase; when it has stood long enough, the sound kept of it is decoded again by
//! itself, and scored against the model's own graph. The stream is never finalised to decide (a long
//! phrase shows whole before it has been said to its end) and its grammar is never changed (the
//! library would crash): a new stream begins instead.
//!
//! Time is counted in samples, so the same sound always gives the same answers.

use super::level::FaintNoise;
use super::{Heard, Vocabulary, Weight, reading};

/// Stands for whatever is not in the grammar.
pub const UNKNOWN: &str = "[unk]";

/// How long a text must stand, in seconds.
const ORDINARY: f32 = 0.30;
const GRAVE: f32 = 0.50;
/// More digits may come.
const DIGITS: f32 = 0.50;
/// A lone unknown that sticks would stand in front of the next phrase.
const STUCK: f32 = 0.50;
/// What a fresh stream is given of the sound before it, in seconds.
const CARRIED: f32 = 0.40;
/// After a text was believed its last word would be heard once more.
const REST: f32 = 0.25;
/// Between two looks at a text that stands.
const LOOK_AGAIN: f32 = 0.20;
/// A text that has not convinced by then is not said.
const MOST_LOOKS: u8 = 6;
/// What is decoded again begins this long before the text was first seen.
const BEFORE: f32 = 0.90;
/// How much sound is kept: the longest reading, said slowly.
const KEPT: f32 = 12.0;
/// The score below which a phrase is asked back, and the one below which it was not said.
const SURE: f32 = -0.10;
const DOUBTFUL: f32 = -0.25;
/// The scored window reaches this far beyond the words, in seconds.
const WINDOW: f32 = 0.03;
/// The recogniser's frame, in seconds.
const FRAME: f32 = 0.03;

/// What a decode is made with.
#[derive(Debug, Clone, Copy)]
pub enum Graph<'a> {
    /// Only these phrases and words.
    Closed(&'a [String]),
    /// The model's own graph: free speech.
    Open,
}

/// One way to read a piece of sound.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Alternative {
    pub text: String,
    /// Log likelihood.
    pub confidence: f32,
    /// Start and end of each word, in seconds.
    pub words: Vec<(f32, f32)>,
}

/// What the listening stream shows after some sound.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// The text so far.
    Partial(String),
    /// The library took this for the end of an utterance.
    Ended(String),
}

/// The recogniser, as far as belief needs it.
pub trait Decoder {
    /// Throws the listening stream away and begins a new one with `grammar`.
    fn restart(&mut self, grammar: &[String]);

    /// Gives `samples` to the listening stream.
    fn hear(&mut self, samples: &[i16]) -> Shown;

    /// Decodes `samples` by themselves; the best of at most `count` alternatives first.
    fn decode(&mut self, graph: Graph<'_>, samples: &[i16], count: u16) -> Vec<Alternative>;
}

/// The state of belief.
#[derive(Debug)]
pub struct Belief {
    rate: u32,
    vocabulary: Vocabulary,
    grammar: Vec<String>,
    kept: Vec<i16>,
    /// Samples heard since the start, the kept ones being the last of them.
    now: u64,
    hearing: Hearing,
    /// Since when the stream's text begins with its present first word.
    begun: Option<(String, u64)>,
    standing: Option<Standing>,
    noise: FaintNoise,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Hearing {
    Open,
    /// Told not to listen.
    Deaf,
    /// Begins again at this sample.
    From(u64),
}

#[derive(Debug, Clone)]
struct Standing {
    text: String,
    kind: Kind,
    since: u64,
    begun: u64,
    next_look: u64,
    looks: u8,
    /// What an earlier look would have asked back.
    doubt: Option<Heard>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Phrase(Weight),
    Reading,
    Unknown,
}

impl Kind {
    fn stands(self) -> f32 {
        match self {
            Kind::Phrase(Weight::Ordinary) => ORDINARY,
            Kind::Phrase(Weight::Grave) => GRAVE,
            Kind::Reading => DIGITS,
            Kind::Unknown => STUCK,
        }
    }
}

impl Belief {
    /// Begins with nothing that may be said, for sound of `rate` Hz.
    pub fn new(rate: u32, decoder: &mut impl Decoder) -> Belief {
        let mut belief = Belief {
            rate,
            vocabulary: Vocabulary::default(),
            grammar: grammar(&Vocabulary::default()),
            kept: Vec::new(),
            now: 0,
            hearing: Hearing::Open,
            begun: None,
            standing: None,
            noise: FaintNoise::default(),
        };
        belief.restart(decoder);
        belief
    }

    /// Sets what may be said from now on; a new stream begins unless it is what it was.
    pub fn listen_for(&mut self, vocabulary: Vocabulary, decoder: &mut impl Decoder) {
        if vocabulary != self.vocabulary {
            self.grammar = grammar(&vocabulary);
            self.vocabulary = vocabulary;
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

    /// Takes the next samples; returns what is believed by them.
    pub fn hear(&mut self, samples: &[i16], decoder: &mut impl Decoder) -> Option<Heard> {
        self.now += samples.len() as u64;
        match self.hearing {
            Hearing::Deaf => return None,
            Hearing::From(start) if self.now < start => return None,
            Hearing::From(_) => {
                self.hearing = Hearing::Open;
                self.restart(decoder);
            }
            Hearing::Open => {}
        }
        self.keep(samples);
        match decoder.hear(samples) {
            Shown::Partial(text) => {
                self.follow(&text);
                self.look(decoder)
            }
            Shown::Ended(text) => {
                // The end can come before the text has stood its time: silence stood in its place.
                self.follow(&text);
                let standing = self.standing.take();
                self.begun = None;
                let heard = standing.and_then(|standing| self.judge_ended(&standing, decoder))?;
                self.rest();
                Some(heard)
            }
        }
    }

    fn judge_ended(&mut self, standing: &Standing, decoder: &mut impl Decoder) -> Option<Heard> {
        if standing.kind == Kind::Unknown || standing.looks >= MOST_LOOKS {
            return None;
        }
        self.verify(standing, decoder)
            .or_else(|| standing.doubt.clone())
    }

    /// Notes what the stream shows now, and since when.
    fn follow(&mut self, text: &str) {
        let first = text.split_whitespace().next();
        match (first, &self.begun) {
            (None, _) => self.begun = None,
            (Some(first), Some((known, _))) if first == known => {}
            (Some(first), _) => self.begun = Some((first.to_string(), self.now)),
        }
        if self
            .standing
            .as_ref()
            .is_some_and(|standing| standing.text == text)
        {
            return;
        }
        let begun = self.begun.as_ref().map_or(self.now, |(_, since)| *since);
        self.standing = self.kind_of(text).map(|kind| Standing {
            text: text.to_string(),
            kind,
            since: self.now,
            begun,
            next_look: self.now + self.samples(kind.stands()),
            looks: 0,
            doubt: None,
        });
    }

    fn kind_of(&self, text: &str) -> Option<Kind> {
        if let Some(expected) = self.vocabulary.phrases.iter().find(|e| e.words == text) {
            return Some(Kind::Phrase(expected.weight));
        }
        let digits = self.vocabulary.digits;
        if digits.is_some_and(|count| reading::may_be(count, text)) {
            return Some(Kind::Reading);
        }
        let lone = !text.is_empty() && text.split_whitespace().all(|word| word == UNKNOWN);
        lone.then_some(Kind::Unknown)
    }

    /// Looks at what stands, where it is time to.
    fn look(&mut self, decoder: &mut impl Decoder) -> Option<Heard> {
        let mut standing = self.standing.take()?;
        if self.now < standing.next_look || standing.looks >= MOST_LOOKS {
            self.standing = Some(standing);
            return None;
        }
        if standing.kind == Kind::Unknown {
            self.start_afresh(decoder);
            return None;
        }
        standing.looks += 1;
        standing.next_look = self.now + self.samples(LOOK_AGAIN);
        let heard = match self.verify(&standing, decoder) {
            // A word may still have been cut short: what is in doubt is looked at twice.
            Some(heard) if !heard.sure && standing.doubt.is_none() => {
                standing.doubt = Some(heard);
                None
            }
            heard => heard,
        };
        match heard {
            Some(heard) => {
                self.rest();
                Some(heard)
            }
            None => {
                self.standing = Some(standing);
                None
            }
        }
    }

    /// Decodes the kept sound of what stands again; returns it where it is believed, or nearly.
    fn verify(&mut self, standing: &Standing, decoder: &mut impl Decoder) -> Option<Heard> {
        match standing.kind {
            Kind::Phrase(_) => self.verify_phrase(standing, decoder),
            Kind::Reading => self.verify_reading(standing, decoder),
            Kind::Unknown => None,
        }
    }

    fn verify_phrase(&self, standing: &Standing, decoder: &mut impl Decoder) -> Option<Heard> {
        // A phrase of many words was seen growing: its beginning lies before its first word was seen.
        let earliest = standing.since.saturating_sub(self.samples(BEFORE));
        let grown = standing.begun.saturating_sub(self.samples(BEFORE * 0.75));
        let sound = self.kept_since(earliest.min(grown));
        let again = decoder.decode(Graph::Closed(&self.grammar), sound, 1);
        let again = again.first().filter(|best| best.text == standing.text)?;
        let (start, _) = again.words.first()?;
        let (_, end) = again.words.last()?;
        let window = self.window(sound, *start, *end);
        let closed = decoder.decode(Graph::Closed(&self.grammar), window, 1);
        let open = decoder.decode(Graph::Open, window, 1);
        let frames = window.len() as f32 / self.rate as f32 / FRAME;
        let score = (closed.first()?.confidence - open.first()?.confidence) / frames.max(1.0);
        (score >= DOUBTFUL).then(|| Heard {
            text: standing.text.clone(),
            is_reading: false,
            score,
            sure: score >= SURE,
        })
    }

    fn verify_reading(&mut self, standing: &Standing, decoder: &mut impl Decoder) -> Option<Heard> {
        let count = self.vocabulary.digits?;
        // The first word of a reading often changes while it is said, and then counts as begun anew.
        let from = standing.begun.saturating_sub(self.samples(BEFORE * 1.5));
        let sound = self.kept_since(from).to_vec();
        let said = reading::Said {
            shown: &standing.text,
            sound: &sound,
            rate: self.rate,
        };
        reading::judge(count, said, &mut self.noise, decoder)
    }

    fn window<'a>(&self, sound: &'a [i16], start: f32, end: f32) -> &'a [i16] {
        let at = |seconds: f32| (self.samples(seconds.max(0.0)) as usize).min(sound.len());
        let (start, end) = (at(start - WINDOW), at(end + WINDOW));
        &sound[start..end.max(start)]
    }

    fn restart(&mut self, decoder: &mut impl Decoder) {
        decoder.restart(&self.grammar);
        self.kept.clear();
        self.begun = None;
        self.standing = None;
    }

    fn start_afresh(&mut self, decoder: &mut impl Decoder) {
        let carried = self
            .kept_since(self.now.saturating_sub(self.samples(CARRIED)))
            .to_vec();
        self.restart(decoder);
        decoder.hear(&carried);
        self.kept = carried;
    }

    fn rest(&mut self) {
        self.hearing = Hearing::From(self.now + self.samples(REST));
        self.standing = None;
    }

    fn keep(&mut self, samples: &[i16]) {
        self.kept.extend_from_slice(samples);
        // Cutting in large pieces keeps the moving of what stays cheap.
        let most = self.samples(KEPT) as usize;
        if self.kept.len() > most + most / 4 {
            self.kept.drain(..self.kept.len() - most);
        }
    }

    fn kept_since(&self, position: u64) -> &[i16] {
        let back = usize::try_from(self.now.saturating_sub(position)).unwrap_or(usize::MAX);
        &self.kept[self.kept.len() - back.min(self.kept.len())..]
    }

    fn samples(&self, seconds: f32) -> u64 {
        (f64::from(seconds) * f64::from(self.rate)) as u64
    }
}

/// Returns the grammar that hears `vocabulary`. Phrases hold only `a-z`, `'` and spaces: the library
/// crashes on anything else.
fn grammar(vocabulary: &Vocabulary) -> Vec<String> {
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

#[cfg(test)]
mod tests;
