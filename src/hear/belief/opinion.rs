//! What another network makes of what was said where the streams do not convince.

use super::Belief;
use crate::hear::decoder::{Awaited, Decoder, Form, Gains, Opinion};
use crate::hear::utterance::Utterance;
use crate::hear::{Heard, Weight, phrase};

/// How long an opinion may take, in seconds of sound; it is waited for then.
const TAKES: f32 = 0.24;
/// How long what is in doubt waits for the other judge, in seconds.
const WAITS: f32 = 0.45;
/// What was said is more than a phrase where it is longer than so many seconds and so many for each letter of it, in
/// synthetic voices' speech of all speeds; the second where the likeliest free text has at least two words more.
const LONGEST: f32 = 0.30;
const LETTER: (f32, f32) = (0.080, 0.065);
/// A phrase of fewer letters is short.
const SHORT: usize = 10;

/// An opinion that was asked for.
#[derive(Debug)]
pub(super) struct Asked {
    /// It, and how many words the likeliest free text has, where that matters.
    opinion: Awaited<Option<(Gains, Option<usize>)>>,
    /// What it made of the sound as captured, where it was asked about the other form.
    of_plain: Option<Gains>,
    /// The other form, where it is still to be asked about.
    voice: Vec<i16>,
    /// How long what was said is, in seconds.
    seconds: f32,
    due: u64,
}

/// What came of an opinion; it is kept a while for what the streams doubt later.
#[derive(Debug)]
pub(super) struct Known {
    opinion: Opinion,
    /// Whether its phrase is all that was said.
    is_all: bool,
    /// Whether it is the mean of both forms.
    of_both: bool,
    until: u64,
}

/// What would be asked back.
#[derive(Debug)]
pub(super) struct Doubted {
    heard: Heard,
    by: By,
    until: u64,
}

/// Who doubts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum By {
    Streams,
    Opinion,
}

/// The least gain and lead of an opinion.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bar {
    gain: f32,
    lead: f32,
}

impl Bar {
    /// From where on an opinion alone is believed. A short phrase fits many a single word, and where the sound as captured
    /// alone did not convince, both forms of a single word may fit a phrase.
    fn to_believe(weight: Weight, letters: usize, of_both: bool) -> Bar {
        let (gain, lead) = if of_both || weight == Weight::Grave {
            (8.0, 8.0)
        } else if letters < SHORT {
            (6.0, 7.0)
        } else {
            (6.0, 5.0)
        };
        Bar { gain, lead }
    }

    /// From where on it confirms what the streams doubt.
    fn to_confirm(weight: Weight) -> Bar {
        match weight {
            Weight::Grave => Bar {
                gain: 8.0,
                lead: 4.0,
            },
            _ => Bar::LEAST,
        }
    }

    /// From where on it names what the streams show with a thin score, or while a reading is wanted: of 68 with a thin one
    /// of the tuning part that were right, at 10, 5 and 0 dB, it named 66 with that gain; of one that was wrong, shown by three
    /// streams, none. Before any figures it has to lead too: of 126 commands of the tuning part at 5 dB and clean that were
    /// right it did by 2.4 and more, of 124 by 5.1; of "three two four" beside an impact wrench, held out, that was taken for "read
    /// torque", by 0.4.
    pub(super) fn to_name(is_reading_wanted: bool) -> Bar {
        Bar {
            gain: 5.0,
            lead: if is_reading_wanted { 2.0 } else { 0.0 },
        }
    }

    /// From where on it is asked back.
    const TO_ASK: Bar = Bar {
        gain: 5.0,
        lead: 4.0,
    };

    /// Below it an opinion changes nothing.
    const LEAST: Bar = Bar {
        gain: 4.0,
        lead: 2.0,
    };

    pub(super) fn is_reached_by(self, opinion: &Opinion) -> bool {
        opinion.gain >= self.gain && opinion.lead >= self.lead
    }
}

impl Belief {
    /// Gets ready to be told what was said of what may be said.
    pub(super) fn expect(&mut self, decoder: &mut impl Decoder) {
        let phrases = self.vocabulary.phrases.iter();
        // While a reading is wanted, nothing is asked about all of them.
        let phrases = phrases.filter(|_| !self.is_reading_wanted());
        self.phrases = phrases.map(|phrase| phrase.words.clone()).collect();
        // Over the program's own voice only a stop is heard.
        self.has_opinions = !self.hears_only_stops() && decoder.expect(&self.phrases);
        self.forget();
    }

    /// What sounded until now needs no opinion any more.
    pub(super) fn forget(&mut self) {
        self.utterances.forget();
        self.asked = None;
        self.known = None;
        self.doubted = None;
    }

    /// Takes what the streams make of the next samples, and what was `said` by then; returns what is believed, with an opinion
    /// where one was had by now.
    pub(super) fn with_opinion(
        &mut self,
        shown: Option<Heard>,
        said: Option<Utterance>,
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        // What the streams once doubted is not surer for being looked at again.
        let is_doubted = |heard: &Heard| {
            let doubted = self.doubted.as_ref();
            doubted.is_some_and(|known| known.by == By::Streams && known.heard.text == heard.text)
        };
        let is_sure = |heard: &Heard| heard.sure && !is_doubted(heard);
        // A reading is only looked at where the streams show one.
        if !self.has_opinions || self.is_reading_wanted() || shown.as_ref().is_some_and(is_sure) {
            return shown;
        }
        if let Some(said) = said {
            self.known = None;
            self.ask(said, None, decoder);
        }
        if let Some(heard) = shown {
            let known = self.known.as_ref();
            let known = known.filter(|known| self.now < known.until);
            let judged = known.and_then(|known| self.judge(known, Some(heard.clone())));
            let confirmed = judged.filter(|heard| heard.sure);
            if confirmed.is_some() {
                return confirmed;
            }
            self.doubt(heard, By::Streams, WAITS);
        }
        let asked = self.asked.take_if(|asked| asked.due <= self.now);
        if let Some(heard) = asked.and_then(|asked| self.of_opinion(asked, decoder)) {
            return Some(heard);
        }
        let is_over = |until| until <= self.now && self.asked.is_none();
        let over = self.doubted.take_if(|doubted| is_over(doubted.until));
        over.map(|doubted| doubted.heard)
    }

    /// Returns what is believed by an opinion that is had by now; asks for another where it does not convince.
    fn of_opinion(&mut self, asked: Asked, decoder: &mut impl Decoder) -> Option<Heard> {
        let (gains, words) = asked.opinion.get()??;
        let gains = in_all(asked.of_plain.as_ref(), &gains);
        let opinion = gains.best()?;
        let doubted = self.doubted.as_ref();
        let doubted = doubted.filter(|doubted| doubted.by == By::Streams);
        let doubted = doubted.map(|doubted| doubted.heard.clone());
        let is_confirming = doubted.is_some();
        let known = Known {
            is_all: is_all(&opinion.phrase, words, asked.seconds),
            of_both: asked.of_plain.is_some(),
            opinion,
            until: self.now + self.samples(WAITS),
        };
        // The second time was time for the streams too.
        let waits = if known.of_both { WAITS - TAKES } else { WAITS };
        let heard = self.judge(&known, doubted);
        let is_sure = heard.as_ref().is_some_and(|heard| heard.sure);
        if !is_sure && !asked.voice.is_empty() {
            let said = Utterance {
                sound: asked.voice,
                voice: Vec::new(),
                seconds: asked.seconds,
            };
            self.ask(said, Some(gains), decoder);
            return None;
        }
        // The streams may still show it.
        self.known = Some(known);
        let heard = heard?;
        if is_sure || is_confirming {
            return Some(heard);
        }
        self.doubt(heard, By::Opinion, waits);
        None
    }

    /// Keeps what would be asked back for so many seconds, until the other judge had its time.
    fn doubt(&mut self, heard: Heard, by: By, waits: f32) {
        let until = self.doubted.as_ref().map(|doubted| doubted.until);
        self.doubted = Some(Doubted {
            heard: Heard {
                sure: false,
                ..heard
            },
            by,
            until: until.unwrap_or(self.now + self.samples(waits)),
        });
    }

    /// Returns what was said, where a pause after it shows.
    pub(super) fn hear_utterance(
        &mut self,
        [plain, _, denoised]: [&[i16]; Form::COUNT],
    ) -> Option<Utterance> {
        self.utterances.hear(plain, denoised)
    }

    /// Asks for an opinion on what was said, beside what came of it as it was captured.
    fn ask(&mut self, said: Utterance, of_plain: Option<Gains>, decoder: &mut impl Decoder) {
        let (before, seconds) = (of_plain.clone(), said.seconds);
        let hangs_on_words = move |gains: &Gains| {
            let opinion = in_all(before.as_ref(), gains).best();
            opinion.is_some_and(|opinion| {
                let is_all = |more| seconds <= longest(&opinion.phrase, more);
                Bar::LEAST.is_reached_by(&opinion) && is_all(false) && !is_all(true)
            })
        };
        self.asked = Some(Asked {
            opinion: decoder.gains_and_words(said.sound, &self.phrases, hangs_on_words),
            of_plain,
            voice: said.voice,
            seconds,
            due: self.now + self.samples(TAKES),
        });
    }

    /// Returns what is believed by what came of an opinion, beside what the streams doubt.
    fn judge(&self, known: &Known, doubted: Option<Heard>) -> Option<Heard> {
        let opinion = &known.opinion;
        let Some(weight) = self.weight_of(&opinion.phrase) else {
            return doubted;
        };
        let letters = phrase::letters(&opinion.phrase);
        let reaches = |bar: Bar| known.is_all && bar.is_reached_by(opinion);
        let to_believe = Bar::to_believe(weight, letters, known.of_both);
        let heard = |sure| Heard {
            text: opinion.phrase.clone(),
            is_reading: false,
            score: opinion.lead,
            sure,
            is_part: false,
        };
        match doubted {
            None if reaches(to_believe) => Some(heard(true)),
            None => reaches(Bar::TO_ASK).then(|| heard(false)),
            Some(doubted) => {
                let is_it = opinion.phrase.ends_with(&doubted.text);
                // The end of a phrase never acts: what does is the opinion alone.
                let bar = match doubted.is_part {
                    true => to_believe,
                    false => Bar::to_confirm(weight),
                };
                let confirms = is_it && reaches(bar);
                Some(if confirms { heard(true) } else { doubted })
            }
        }
    }
}

/// Returns what comes of both forms of the sound, where both were asked about.
fn in_all(of_plain: Option<&Gains>, gains: &Gains) -> Gains {
    of_plain.map_or_else(|| gains.clone(), |of_plain| of_plain.mean(gains))
}

/// Whether `phrase` is all that was said in so many seconds, and no part of a sentence, where the likeliest free text
/// has so many `words`, if that is known.
fn is_all(phrase: &str, words: Option<usize>, seconds: f32) -> bool {
    let is_more = words.is_some_and(|words| words > phrase.split_whitespace().count() + 1);
    seconds <= longest(phrase, is_more)
}

/// Returns how long `phrase` may be, in seconds, where the likeliest free text has clearly more words or not.
pub(super) fn longest(phrase: &str, has_more: bool) -> f32 {
    let (letter, with_more) = LETTER;
    let each = if has_more { with_more } else { letter };
    LONGEST + phrase::letters(phrase) as f32 * each
}
