//! Readings: what stands of one is decoded again with all that was said of it, and looked at once more when nothing
//! follows.

use super::Belief;
use super::verifying::BEFORE;
use crate::hear::decoder::{Decoder, Form};
use crate::hear::reading::{self, Said};
use crate::hear::stream::{Ended, Standing};
use crate::hear::{DigitCount, Heard, numbers};

/// A reading takes at most so long for each of its words, in seconds; what lasts longer is talk.
const EACH_DIGIT: f32 = 1.5;
/// When what ended is looked at again, in seconds: its last digit was still being said, and then nothing followed.
const LOOK_BACK: [f32; 2] = [0.25, 0.60];
/// The least lead with which it confirms a reading that is in doubt, and with which it is rather another that is asked
/// back. Of 261 readings of people (tuning part, clean to 5 dB) two wrong ones that were in doubt it named too, with 0.1
/// and 1.8, and of 54 right ones nine with less than 3.0; another one was right 22 times of 23.
const AGREES: f32 = 3.0;
const RATHER: f32 = 1.0;
/// How far a reading has to stand before the next for both networks together, where the recogniser's margin alone does not
/// make it sure. Of 1,444 readings of the tuning part, 1,044 of them people's, one was wrong that both gave, "496"
/// as "492" in rain, with a margin of 1.0 and a lead of 3.5; of 180 right ones 43 are asked back by it (20 with 5.0).
const TOGETHER: f32 = 6.0;
/// The least lead with which it is asked back whether a reading was said that the recogniser lost digits of. On the same
/// readings it named 20 of them right and one wrong; in 21 minutes of talk and noise two that nobody said (with 1.0 it
/// is 22, three and seven).
const LIKELY: f32 = 1.5;

impl Belief {
    /// Verifies a reading, with what of it ended before, or else without.
    pub(super) fn verify_reading(
        &mut self,
        which: usize,
        standing: &Standing,
        decoder: &mut impl Decoder,
    ) -> Option<Heard> {
        let first_part = self.first_part(which, standing.begun);
        let joined = first_part.and_then(|begun| self.reading_since(which, begun, "", decoder));
        joined.or_else(|| self.reading_since(which, standing.begun, &standing.text, decoder))
    }

    /// Returns since when the first part of what was first shown at `begun` was shown, where that ended in a pause.
    fn first_part(&self, which: usize, begun: u64) -> Option<u64> {
        let words = numbers::by_place(self.vocabulary.digits?).count();
        let ended = self.streams[which].ended?;
        // The library takes 0.5 s of quiet for an end of speech, and people pause for longer between digits.
        let goes_on = begun <= ended.at + self.samples(reading::LONGEST_PAUSE);
        let fits = begun <= ended.begun + self.samples(EACH_DIGIT * words as f32);
        (goes_on && fits).then_some(ended.begun)
    }

    /// Notes that what the stream `which` showed since `begun` is shown no more; while a reading is wanted, it may be one.
    pub(super) fn note_end(&mut self, which: usize, begun: u64) {
        if self.is_reading_wanted() && self.streams[which].form == Form::Plain {
            self.streams[which].ended = Some(Ended {
                begun: self.first_part(which, begun).unwrap_or(begun),
                at: self.now,
                looks: 0,
            });
        }
    }

    /// Looks at what ended, where it is time to and nothing was shown since.
    pub(super) fn look_back(&mut self, which: usize, decoder: &mut impl Decoder) -> Option<Heard> {
        let ended = self.streams[which].ended?;
        let wait = *LOOK_BACK.get(usize::from(ended.looks))?;
        if self.now < ended.at + self.samples(wait) {
            return None;
        }
        let looks = ended.looks + 1;
        self.streams[which].ended = Some(Ended { looks, ..ended });
        let heard = self.reading_since(which, ended.begun, "", decoder);
        if heard.is_some() || usize::from(looks) < LOOK_BACK.len() {
            return heard;
        }
        self.likely_reading(which, ended.begun, decoder)
    }

    /// Returns the likeliest reading since `begun`, of those that have as many digits as are wanted, where it
    /// stands out; never a sure one.
    fn likely_reading<D: Decoder>(
        &mut self,
        which: usize,
        begun: u64,
        decoder: &mut D,
    ) -> Option<Heard> {
        let count = self.vocabulary.digits.filter(|count| !count.cardinals)?;
        if !self.has_opinions {
            return None;
        }
        let likely = move |said: Said<'_>, padding: &[i16], kept: &mut D::Kept| {
            reading::likely(count, said, padding, kept)
        };
        let (likely, sound) = self.decoded(which, begun, "", decoder, likely)?;
        let opinion = decoder.reading_opinion(sound, count, likely.clone());
        let opinion = opinion.get()??;
        let is_it = likely.contains(&opinion.phrase) && opinion.lead >= LIKELY;
        is_it.then_some(Heard {
            text: numbers::digits(&opinion.phrase)?,
            is_reading: true,
            score: opinion.lead,
            sure: false,
            is_part: false,
        })
    }

    /// Decodes the reading that was first shown at `begun`, of which the stream `which` shows `shown`.
    fn reading_since<D: Decoder>(
        &mut self,
        which: usize,
        begun: u64,
        shown: &str,
        decoder: &mut D,
    ) -> Option<Heard> {
        let count = self.vocabulary.digits?;
        let judge = move |said: Said<'_>, padding: &[i16], kept: &mut D::Kept| {
            reading::judge(count, said, padding, kept)
        };
        let (heard, sound) = self.decoded(which, begun, shown, decoder, judge)?;
        Some(self.reading_with_opinion(heard, count, sound, decoder))
    }

    /// Has `decode` done with the sound of what was first shown at `begun`, with padding, and of which the stream `which`
    /// shows `shown`; returns what comes of it and the sound.
    fn decoded<D: Decoder, T: Send + 'static>(
        &mut self,
        which: usize,
        begun: u64,
        shown: &str,
        decoder: &mut D,
        decode: impl FnOnce(Said<'_>, &[i16], &mut D::Kept) -> Option<T> + Send + 'static,
    ) -> Option<(T, Vec<i16>)> {
        // The first word of a reading often changes while it is said, and then counts as begun anew.
        let from = begun.saturating_sub(self.samples(BEFORE * 1.5));
        let sound = self.streams[which].last(self.now - from).to_vec();
        let (shown, rate) = (shown.to_string(), self.rate);
        let padding = reading::padding(&mut self.noise, rate);
        let decoded = decoder.beside(move |kept| {
            let said = Said {
                shown: &shown,
                sound: &sound,
                rate,
            };
            Some((decode(said, &padding, kept)?, sound))
        });
        decoded.get()?
    }

    /// Returns a reading of `count` digits with what the other network makes of its `sound`.
    fn reading_with_opinion(
        &self,
        heard: Heard,
        count: DigitCount,
        sound: Vec<i16>,
        decoder: &mut impl Decoder,
    ) -> Heard {
        // It looks for figures one by one.
        if !self.has_opinions || count.cardinals {
            return heard;
        }
        let also = numbers::words(&heard.text).into_iter().collect();
        // It takes a "six" without its s for an "eight" too: of people's readings of the tuning part one with a lead of 7.7,
        // where the recogniser knew of nothing else. Of what is sure that is known.
        let may_be_sure = heard.sure || !reading::may_be_a_six(&heard.text, &sound, self.rate);
        let opinion = decoder.reading_opinion(sound, count, also).get().flatten();
        let named = opinion.and_then(|it| Some((numbers::digits(&it.phrase)?, it.lead)));
        match named {
            None => heard,
            Some((digits, lead)) if digits == heard.text => Heard {
                sure: may_be_sure && (heard.sure || makes_sure(heard.score, lead)),
                ..heard
            },
            Some((digits, lead)) => Heard {
                sure: false,
                text: if lead >= RATHER { digits } else { heard.text },
                ..heard
            },
        }
    }
}

/// Tells whether a reading that the recogniser gives with too thin a margin is sure by the other network's lead. No lead
/// makes sure what it reads in two ways, without any margin: of a sentence with figures in it the network, which is asked
/// about readings alone, makes one too.
fn makes_sure(margin: f32, lead: f32) -> bool {
    margin > 0.0 && lead >= AGREES && margin + lead >= TOGETHER
}
