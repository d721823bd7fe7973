//! What stands is decoded again: ahead, a little before it has stood its time, and when it has.

use std::sync::Arc;

use super::opinion::Bar;
use super::{Belief, MOST_LOOKS, TO_VERIFY};
use crate::hear::decoder::{Awaited, Decoder, Form, Opinion, UNKNOWN};
use crate::hear::phrase::{self, Before, PRECEDING, Said, Scored};
use crate::hear::stream::{Kind, Standing};
use crate::hear::{Heard, Weight};

/// What is decoded again begins this long before the text was first seen.
pub(super) const BEFORE: f32 = 0.90;
/// Where that gives other words, it begins so long before, but where the stream last showed something:
/// beside a machine the recogniser loses the first word of sound that begins just before it.
const QUIET: f32 = 2.50;
/// From this score on a phrase that acts is believed whatever the other streams show. Of 882 phrases of the tuning
/// part at 5 dB three were taken for another, at -0.02 to 0.00, each while another stream showed other words; of
/// 15 right ones below 0.05 another stream did for none.
const UNCONTRADICTED: f32 = 0.05;
/// Below this score another network has to hear the phrase too. Of the tuning part's phrases that the streams took for
/// another, each scored less.
const THIN: f32 = 0.15;
/// It is given so much sound before the phrase, in seconds.
const OPINION_BEFORE: f32 = 1.0;
/// What another stream shows too stands for this long where its score is clear.
const SHARED: f32 = 0.20;
/// From this score on an ordinary phrase that another stream shows too is believed sooner: with 0.10 a longer one
/// was taken for it before it had been said to its end.
const SOONER: f32 = 0.20;

impl Belief {
    /// Begins to decode a phrase when the time has come, unless that is done for another stream: what is
    /// believed in the end is mostly what was shown first.
    pub(super) fn begin_ahead(
        &self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) {
        let due = standing.early_look.take_if(|at| *at <= self.now);
        let known = self.is_elsewhere(&standing.words, |other| other.ahead.is_some());
        if due.is_some() && !known && self.scored {
            let said = self.said(which, standing);
            standing.ahead = Some(decoder.beside(move |kept| said.begin(kept)));
        }
    }

    /// Begins to verify a phrase a little before it is looked at, unless another stream's is being verified.
    pub(super) fn begin_verifying(
        &self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) {
        let is_due = self.now >= standing.verify_from || self.is_soon(standing, SHARED - TO_VERIFY);
        let known = self.is_elsewhere(&standing.words, |other| other.verifying.is_some());
        if is_due && !known && standing.verifying.is_none() && standing.looks < MOST_LOOKS {
            standing.verifying = Some(self.verifying(which, standing, decoder));
        }
    }

    /// Whether such a thing stands with the same words in another stream.
    pub(super) fn is_elsewhere(&self, words: &str, such: impl Fn(&Standing) -> bool) -> bool {
        self.elsewhere()
            .any(|other| other.words == words && such(other))
    }

    /// Returns what stands in the other streams: its own does not hold what is looked at.
    fn elsewhere(&self) -> impl Iterator<Item = &Standing> {
        let streams = self.streams.iter();
        streams.filter_map(|stream| stream.standing.as_ref())
    }

    /// Returns the weight of what stands; nothing where it is only the end of a phrase.
    fn weight_in(&self, standing: &Standing) -> Option<Weight> {
        let weight = self.weight_of(&standing.words);
        weight.filter(|_| standing.kind != Kind::Part)
    }

    /// Returns what comes of decoding again what stands, the whole of a phrase or only its end.
    fn verifying(
        &self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) -> Awaited<Option<Scored>> {
        let said = self.said(which, standing);
        let (known, scored) = (standing.scored, self.scored);
        let ahead = standing.ahead.take();
        decoder.beside(move |kept| {
            // It was asked for earlier, and is done.
            let ahead = ahead.and_then(|ahead| ahead.get()?);
            said.verify(ahead, known, scored, kept)
        })
    }

    /// Returns what stands, the whole of a phrase or only its end, with the sound in which it does.
    fn said(&self, which: usize, standing: &Standing) -> Said {
        // A phrase of many words was seen growing: its beginning lies before its first word was seen.
        let earliest = standing.since.saturating_sub(self.samples(BEFORE));
        let grown = standing.begun.saturating_sub(self.samples(BEFORE * 0.75));
        let stream = &self.streams[which];
        let from = earliest.min(grown);
        let length = self.now - from;
        let quiet = match standing.kind {
            // Other things stand before it.
            Kind::After => from,
            _ => standing.begun.saturating_sub(self.samples(QUIET)),
        };
        let quiet = self.now - quiet.max(stream.empty).min(from);
        let kept = stream.last(quiet.max(length + self.samples(PRECEDING)));
        let weight = self.weight_in(standing);
        Said {
            text: standing.words.clone(),
            weight,
            before: match weight {
                None => Before::Unknown,
                Some(_) if self.hears_only_stops() => Before::Anything,
                Some(_) => Before::Nothing,
            },
            grammar: Arc::clone(&self.grammar),
            kept: kept.to_vec(),
            lead: kept.len() - stream.last(length).len(),
            quiet: kept.len() - stream.last(quiet).len(),
            now: self.now,
            rate: self.rate,
        }
    }

    /// Decodes the kept sound of what stands again; returns it where it is believed, or nearly.
    pub(super) fn verify(
        &mut self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        match standing.kind {
            Kind::Phrase(_) | Kind::Part => self.verify_phrase(which, standing, decoder),
            Kind::Reading => self.verify_reading(which, standing, decoder),
            Kind::After => self.verify_after(which, standing, decoder),
            Kind::Stray | Kind::Begun => None,
        }
    }

    /// Verifies an ordinary phrase before it has stood its time, once, where another stream shows it too; returns
    /// it where its score is clear. Where that is thin another network is asked, for the look to come.
    pub(super) fn verify_sooner(
        &mut self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        if !self.is_soon(standing, SHARED) {
            return None;
        }
        standing.may_be_sooner = false;
        let heard = self.scored_phrase(which, standing, decoder);
        let heard = heard.filter(|heard| heard.sure);
        let wants_opinion = |heard: &Heard| self.wants_opinion(heard, standing);
        let wants_opinion = heard.as_ref().is_some_and(wants_opinion);
        let is_clear = |heard: &Heard| !wants_opinion && heard.score >= SOONER;
        let clear = heard.filter(is_clear);
        if clear.is_some() {
            return clear;
        }
        // It is looked at before the other streams: what was begun for those would come too late.
        self.begin_verifying(which, standing, decoder);
        if wants_opinion {
            standing.opinion = Some(self.ask_about(standing, decoder));
        }
        None
    }

    /// Whether what may be believed sooner has stood so long, in seconds, and another stream shows it too, none of which
    /// was verified for that: what one makes of it the others mostly do, and each would take its time.
    fn is_soon(&self, standing: &Standing, stood: f32) -> bool {
        let others = self.elsewhere();
        let mut others = others.filter(|other| other.text == standing.words);
        standing.may_be_sooner
            && self.now >= standing.since + self.samples(stood)
            && others.next().is_some_and(|other| other.may_be_sooner)
            && others.all(|other| other.may_be_sooner)
    }

    /// Verifies a phrase that other things went before: where those were words, it may be a part of
    /// other talk, and is only asked about.
    fn verify_after(
        &self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        let heard = self.verify_phrase(which, standing, decoder)?;
        let back = self.now - standing.since + self.samples(BEFORE);
        let until = self.streams[which].last(back).len();
        let sound = self.streams[which].last(back + self.samples(PRECEDING));
        let before = sound[..sound.len() - until].to_vec();
        let holds_words = decoder.beside(move |kept| phrase::holds_words(&before, kept));
        let only_noise = holds_words.get() == Some(false);
        Some(Heard {
            sure: heard.sure && only_noise,
            ..heard
        })
    }

    /// Verifies the whole of a phrase or only its end, and keeps its score; another network is asked about what is thin.
    fn verify_phrase(
        &self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        // By the next look more will have been said.
        let ahead = standing.opinion.take();
        let heard = self.scored_phrase(which, standing, decoder)?;
        let wants_opinion = self.wants_opinion(&heard, standing);
        Some(Heard {
            sure: heard.sure && (!wants_opinion || self.is_confirmed(standing, ahead, decoder)),
            ..heard
        })
    }

    /// Whether another network, where there is one, is asked about it too: while a reading is wanted about all but a stop,
    /// for spoken figures pass for phrases with a clear score as well.
    fn wants_opinion(&self, heard: &Heard, standing: &Standing) -> bool {
        let is_in_question = heard.score < THIN || self.is_reading_wanted();
        self.has_opinions && is_in_question && self.weight_in(standing) != Some(Weight::Stop)
    }

    /// Verifies the same by its score and by what the other streams show.
    fn scored_phrase(
        &self,
        which: usize,
        standing: &mut Standing,
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        let verifying = match standing.verifying.take() {
            Some(verifying) => verifying,
            None => self.verifying(which, standing, decoder),
        };
        let weight = self.weight_in(standing);
        let scored = verifying.get()??;
        standing.scored = Some(scored);
        let words = &standing.words;
        let heard = phrase::believed(words, weight, scored.score)?;
        let acts = weight.is_some_and(Weight::acts);
        let is_contradicted = acts && scored.score < UNCONTRADICTED && self.is_contradicted(words);
        let is_a_part = scored.is_loud_before && self.is_a_part_elsewhere(words, weight);
        let is_in_a_sentence = self.is_in_a_sentence(words, weight, &scored);
        let in_doubt = is_contradicted || is_a_part || is_in_a_sentence;
        Some(Heard {
            sure: heard.sure && !scored.amid_talk && !in_doubt,
            ..heard
        })
    }

    /// Whether another stream shows `text` at the end of more: where that is about as loud, it is other talk. A stop
    /// counts all the same.
    fn is_a_part_elsewhere(&self, text: &str, weight: Option<Weight>) -> bool {
        let mut others = self.elsewhere();
        weight != Some(Weight::Stop)
            && others.any(|other| phrase::is_after_others(&other.text, text))
    }

    /// Whether the other network hears this phrase in the sound in which it stands, and no other or, where one is wanted, a
    /// reading: by the opinion asked for `ahead`, or else by one of now.
    fn is_confirmed(
        &self,
        standing: &Standing,
        ahead: Option<Awaited<Option<Opinion>>>,
        decoder: &mut impl Decoder,
    ) -> bool {
        let bar = Bar::to_name(self.is_reading_wanted());
        let confirms = |asked: Awaited<Option<Opinion>>| {
            let opinion = asked.get().flatten();
            opinion.is_some_and(|named| named.phrase == standing.words && bar.is_reached_by(&named))
        };
        ahead.is_some_and(confirms) || confirms(self.ask_about(standing, decoder))
    }

    /// Asks the other network about the sound in which something stands.
    fn ask_about(
        &self,
        standing: &Standing,
        decoder: &mut impl Decoder,
    ) -> Awaited<Option<Opinion>> {
        let begun = standing.begun.min(standing.since);
        let from = begun.saturating_sub(self.samples(OPINION_BEFORE));
        let sound = self.streams[Form::Plain as usize]
            .last(self.now - from)
            .to_vec();
        match self.vocabulary.digits {
            // Figures are said far more often than anything else then.
            Some(count) => decoder.reading_opinion(sound, count, vec![standing.words.clone()]),
            None => decoder.opinion(sound, &self.phrases),
        }
    }

    /// Whether another stream shows words that are not in `text`.
    fn is_contradicted(&self, text: &str) -> bool {
        let is_in_it = |word| word == UNKNOWN || text.split_whitespace().any(|own| own == word);
        let mut others = self.elsewhere();
        others.any(|other| !other.text.split_whitespace().all(is_in_it))
    }
}
