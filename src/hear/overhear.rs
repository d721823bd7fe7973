//! Hearing while the program speaks: over its own voice, and only what may be said then.

use super::belief::Belief;
use super::decoder::{Decoder, Graph, Kept, UNKNOWN};
use super::echo::Echo;
use super::forms::Forms;
use super::{Heard, Vocabulary};

/// How far back the program's own words are looked for when it seems to have been told something, in
/// seconds: the phrase, the delay of its echo, and the time until it is believed.
const OWN_WORDS: f32 = 4.0;

/// Where what is left is softer than what was captured by so many decibels, nobody spoke; from the lower number on
/// only what scores [`CLEAR`] was somebody. In a modelled room persons up to 12 dB softer than the loudspeaker were
/// at most 14 dB below both together (161 stops, those up to 6 dB softer at most 9 dB). What is left of the
/// program's own voice was taken for a stop at more than 30 dB there; where loudspeaker and microphone drift, as
/// through a sound server, at 12 to 18 dB with scores of -0.09 to 0.26 (six times).
const NOBODY: std::ops::Range<f32> = 12.0..18.0;
const CLEAR: f32 = 0.30;

/// Belief, with its way of hearing changed while the program speaks.
pub struct Listener {
    belief: Belief,
    forms: Forms,
    rate: u32,
    vocabulary: Vocabulary,
    /// What is heard while the program speaks.
    speaking: Option<Vocabulary>,
    deaf: bool,
    echo: Option<Echo>,
    /// Whether a text has begun, and whether speaking has been told of since.
    playing: bool,
    told: bool,
}

impl Listener {
    /// Begins with nothing that may be said, for sound of `rate` Hz heard in `forms`.
    pub fn new(forms: Forms, rate: u32, decoder: &mut impl Decoder) -> Listener {
        Listener {
            belief: Belief::new(rate, forms.scored(), decoder),
            forms,
            rate,
            vocabulary: Vocabulary::default(),
            speaking: None,
            deaf: false,
            echo: Echo::new(rate),
            playing: false,
            told: false,
        }
    }

    /// Begins again with nothing that may be said, for sound of another rate. A text that the loudspeaker
    /// has begun goes on: what was played of it before the microphone opened sounds in the room yet.
    pub fn at_rate(self, forms: Forms, rate: u32, decoder: &mut impl Decoder) -> Listener {
        Listener {
            playing: self.playing,
            echo: self.echo.and_then(|echo| echo.at_rate(rate)),
            ..Listener::new(forms, rate, decoder)
        }
    }

    /// Sets what may be said while the program is silent.
    pub fn listen_for(&mut self, vocabulary: Vocabulary, decoder: &mut impl Decoder) {
        self.vocabulary = vocabulary;
        if self.speaking.is_none() {
            self.belief.listen_for(self.vocabulary.clone(), decoder);
        }
    }

    /// Hears nothing but `only` while the program speaks, and all that may be said a moment after.
    pub fn speaking(&mut self, only: Option<Vocabulary>, decoder: &mut impl Decoder) {
        if only.is_none() && self.speaking.is_some() {
            // The room still sounds of it.
            self.belief.set_deaf(true);
            // Where one text takes the place of another, the next may have begun already.
            self.playing &= !self.told;
        }
        self.told = only.is_some();
        self.speaking = only;
        let now = self.speaking.as_ref().unwrap_or(&self.vocabulary);
        self.belief.listen_for(now.clone(), decoder);
        self.set_deaf(self.deaf);
    }

    /// Lets sound pass unheard.
    pub fn set_deaf(&mut self, deaf: bool) {
        self.deaf = deaf;
        let nothing_to_hear = self.speaking.as_ref().is_some_and(|only| {
            self.echo.is_none() || (only.phrases.is_empty() && only.digits.is_none())
        });
        self.belief.set_deaf(deaf || nothing_to_hear);
    }

    /// The loudspeaker begins a text.
    pub fn begins(&mut self) {
        self.playing = true;
        self.told = false;
        if let Some(echo) = &mut self.echo {
            echo.begin();
        }
    }

    /// The loudspeaker has just played this.
    pub fn played(&mut self, rate: u32, samples: &[i16]) {
        if let Some(echo) = &mut self.echo {
            echo.play(rate, samples);
        }
    }

    /// Sound was lost before the next.
    pub fn missed(&mut self) {
        if let Some(echo) = &mut self.echo {
            echo.place_anew();
        }
    }

    /// Takes the next samples; returns what is believed by them.
    pub fn hear(&mut self, samples: Vec<i16>, decoder: &mut impl Decoder) -> Option<Heard> {
        let cleaned = match &mut self.echo {
            Some(echo) if self.playing => echo.remove(&samples),
            _ => Vec::new(),
        };
        let samples = if self.speaking.is_some() {
            cleaned
        } else {
            samples
        };
        if samples.is_empty() {
            return None;
        }
        let forms = self.forms.of(samples, self.rate, self.speaking.is_some());
        let [plain, suppressed, denoised] = forms.each_ref().map(Vec::as_slice);
        // What is left of an echo passes for a word more often with less noise over it.
        let forms = match self.speaking {
            Some(_) => [plain, &[], &[]],
            None => [plain, suppressed, denoised],
        };
        let heard = self.belief.hear(forms, decoder)?;
        match &self.speaking {
            Some(_) if !heard.sure || self.nobody_spoke(heard.score) => None,
            Some(only) if !self.is_from(only, &heard) || self.is_own(only, decoder) => None,
            _ => Some(heard),
        }
    }

    fn nobody_spoke(&self, score: f32) -> bool {
        let softer = self.echo.as_ref().map_or(0.0, Echo::reduction);
        softer >= NOBODY.end || (softer >= NOBODY.start && score < CLEAR)
    }

    fn is_from(&self, only: &Vocabulary, heard: &Heard) -> bool {
        only.phrases.iter().any(|phrase| phrase.words == heard.text)
    }

    /// Whether the program has just said one of these phrases itself.
    fn is_own(&self, only: &Vocabulary, decoder: &mut impl Decoder) -> bool {
        let Some(echo) = &self.echo else {
            return true;
        };
        let phrases = only.phrases.iter().map(|phrase| phrase.words.clone());
        let grammar: Vec<String> = phrases.chain([UNKNOWN.to_string()]).collect();
        let own = echo.last_played(OWN_WORDS);
        let decoded = decoder.beside(move |kept| kept.decode(Graph::Closed(&grammar), &own, 1));
        let Some(said) = decoded.get() else {
            return true;
        };
        said.first().is_some_and(|said| {
            let text = format!(" {} ", said.text);
            let words = |phrase: &super::Expected| format!(" {} ", phrase.words);
            only.phrases
                .iter()
                .any(|phrase| text.contains(&words(phrase)))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hear::belief::tests::Scripted;
    use crate::hear::{Aid, Expected, Weight};

    #[test]
    fn who_answers_when_the_program_has_spoken_is_heard_at_their_own_level() {
        const RATE: u32 = 16_000;
        const PIECE: usize = 160;
        let mut random = fastrand::Rng::with_seed(1);
        let mut sound = |seconds: usize| -> Vec<i16> {
            let swell = |n: usize| (n as f32 / 1_600.0).sin().max(0.0);
            (0..seconds * RATE as usize)
                .map(|n| ((random.f32() - 0.5) * 32_000.0 * swell(n)) as i16)
                .collect()
        };
        let (text, answer) = (sound(9), sound(1));
        let loudest_after = |text: &[i16]| {
            let mut decoder = Scripted::default();
            let forms = Forms::new(RATE, &[Aid::Suppression, Aid::Denoising], None);
            let mut listener = Listener::new(forms, RATE, &mut decoder);
            let stops = Expected::each(["stop stop".to_string()], Weight::Stop);
            let stops = Vocabulary {
                phrases: stops.collect(),
                digits: None,
            };
            listener.begins();
            listener.speaking(Some(stops), &mut decoder);
            for piece in text.chunks(PIECE) {
                listener.played(RATE, piece);
                let echo = piece.iter().map(|s| s / 2).collect();
                listener.hear(echo, &mut decoder);
            }
            listener.speaking(None, &mut decoder);
            let silence = vec![0; RATE as usize / 2];
            for piece in silence.chunks(PIECE) {
                listener.hear(piece.to_vec(), &mut decoder);
            }
            decoder.loudest = 0;
            for piece in answer.chunks(PIECE) {
                listener.hear(piece.to_vec(), &mut decoder);
            }
            decoder.loudest
        };
        let (after_text, at_once) = (loudest_after(&text), loudest_after(&[]));
        // The faint noise differs.
        let differs = after_text.abs_diff(at_once);
        assert!(differs < 50, "{after_text} for {at_once}");
    }
}
