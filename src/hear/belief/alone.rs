//! Whether a phrase was said by itself: whoever gives a command pauses before and after it. Words that run into it or
//! on from it, in the form of the sound with only voices left, make it a part of a sentence.

use std::ops::Range;

use super::opinion::longest;
use super::{Belief, TO_VERIFY};
use crate::hear::decoder::Form;
use crate::hear::level::SILENCE;
use crate::hear::phrase::Scored;
use crate::hear::stream::Standing;
use crate::hear::{Heard, Weight};

/// A voice that is no softer than a phrase by so many dB, so long before it in seconds, runs into it. Of 495 right ones of
/// the tuning part, clean to 5 dB, one was 6.6 dB softer there (a clock ticked), the others 12 dB and more; six
/// of 39 that were a part of a sentence less.
const SOFTER: f32 = 7.0;
const JUST_BEFORE: Range<f32> = 0.05..0.20;
/// Nothing more is said where it was so much softer for so long, in dB and seconds: the last syllables of a phrase are
/// softer than the rest of it.
const QUIETER: f32 = 15.0;
const PAUSE: f32 = 0.09;
/// Nor where it was not so much louder, in dB, than so long before it, in seconds: that is another voice, of a radio.
const LOUDER: f32 = 6.0;
const BEFORE: Range<f32> = 0.05..0.50;
/// Where a voice goes on for so long after a phrase ended, in seconds, it is decoded again, for its last word may be drawn
/// out; where it ended then all the same it is asked back.
const SPEAKS_ON: f32 = 0.35;
/// What opens a hold or goes past something is a part of more where somebody has spoken without a pause for longer than
/// it may take, and this, in seconds. Of 153 looks at right ones of the tuning part, clean to 5 dB, it was 0.16 s more at
/// most; in a made-up sentence, held out, that was taken for a hold's answer beside an impact wrench, 0.49 s.
const SLOWER: f32 = 0.25;

impl Belief {
    /// Whether `words` are a part of a longer breath, as far as that is known when they are scored.
    pub(super) fn is_in_a_sentence(
        &self,
        words: &str,
        weight: Option<Weight>,
        scored: &Scored,
    ) -> bool {
        match weight {
            Some(Weight::Stop) => false,
            Some(Weight::Grave) => self.runs_into(scored) || self.is_long(words),
            _ => self.runs_into(scored),
        }
    }

    fn is_long(&self, words: &str) -> bool {
        self.utterances.spoken_for() > longest(words, false) + SLOWER
    }

    /// Whether a voice runs into a phrase.
    fn runs_into(&self, scored: &Scored) -> bool {
        let before = self.voice_before(scored, JUST_BEFORE);
        before > SILENCE && before >= self.voice_of(scored) - SOFTER
    }

    /// Whether it has not been quiet for long enough after a phrase.
    fn is_spoken_on(&self, scored: &Scored) -> bool {
        let after = self.voice(self.now - self.samples(PAUSE), self.now);
        let before = self.voice_before(scored, BEFORE);
        after > (self.voice_of(scored) - QUIETER).max(before + LOUDER)
    }

    fn voice_of(&self, scored: &Scored) -> f32 {
        self.voice(scored.start, scored.end)
    }

    fn voice_before(&self, scored: &Scored, so_long: Range<f32>) -> f32 {
        let before = |seconds| scored.start.saturating_sub(self.samples(seconds));
        self.voice(before(so_long.end), before(so_long.start))
    }

    /// Returns the level of the voice between two samples, in dBFS; [`SILENCE`] where it is not known, as without the form
    /// of the sound that has only voices.
    fn voice(&self, from: u64, to: u64) -> f32 {
        if self.streams[Form::Denoised as usize].kept.is_empty() {
            return SILENCE;
        }
        let ago = |sample| self.now.saturating_sub(sample);
        self.utterances.level(ago(from), ago(to))
    }

    /// Holds what is sure until it is seen that nothing more is said; a stop waits for nothing.
    pub(super) fn unless_spoken_on(
        &self,
        standing: &mut Standing,
        heard: Option<Heard>,
    ) -> Option<Heard> {
        let heard = heard?;
        let is_stop = self.weight_of(&standing.words) == Some(Weight::Stop);
        let scored = standing.scored.filter(|_| heard.sure && !is_stop);
        let Some(scored) = scored.filter(|scored| self.is_spoken_on(scored)) else {
            return Some(heard);
        };
        let until = self.waited_until(&scored);
        if self.now >= until {
            return Some(Heard {
                sure: false,
                ..heard
            });
        }
        standing.verify_from = until.saturating_sub(self.samples(TO_VERIFY));
        standing.held = Some(heard);
        None
    }

    /// Returns until when a pause after a phrase is waited for.
    fn waited_until(&self, scored: &Scored) -> u64 {
        scored.end + self.samples(SPEAKS_ON)
    }

    /// Whether what stands, in this stream or another, is held already.
    pub(super) fn is_held(&self, standing: &Standing) -> bool {
        standing.held.is_some() || self.is_elsewhere(&standing.words, |other| other.held.is_some())
    }

    /// Returns what is held once a pause shows; where none did in time it is looked at again.
    pub(super) fn let_go(&self, standing: &mut Standing) -> Option<Heard> {
        let held = standing.held.take()?;
        let spoken_on = standing.scored.filter(|scored| self.is_spoken_on(scored));
        let Some(scored) = spoken_on else {
            return Some(held);
        };
        if self.now < self.waited_until(&scored) {
            standing.held = Some(held);
        } else {
            standing.next_look = self.now;
        }
        None
    }
}
