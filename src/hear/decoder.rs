//! The recogniser as belief sees it: listening streams, and decodes of kept sound.

use std::sync::Arc;

use super::DigitCount;

/// Stands for whatever is not in the grammar.
pub const UNKNOWN: &str = "[unk]";

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

/// Which form of the sound a listening stream is fed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// As it was captured.
    Plain,
    /// With steady noise suppressed.
    Suppressed,
    /// With what is not a voice taken out.
    Denoised,
}

impl Form {
    /// How many there are.
    pub const COUNT: usize = 3;
    pub const ALL: [Form; Form::COUNT] = [Form::Plain, Form::Suppressed, Form::Denoised];
}

/// The recogniser, as far as belief needs it.
pub trait Decoder {
    type Kept: Kept;

    /// Throws the listening stream of `form` away and begins a new one with `grammar`.
    fn restart(&mut self, form: Form, grammar: &[String]);

    /// Gives `samples` to the listening stream of `form`.
    fn hear(&mut self, form: Form, samples: &[i16]) -> Shown;

    /// Has `work` done with kept sound while listening goes on, after what was asked for before it.
    fn beside<T: Send + 'static>(
        &mut self,
        work: impl FnOnce(&mut Self::Kept) -> T + Send + 'static,
    ) -> Awaited<T>;

    /// Gets ready for opinions on which of `phrases` was said; tells whether there is another network to have one.
    fn expect(&mut self, phrases: &Arc<[String]>) -> bool;

    /// Returns which of `phrases` was said in `sound` by the other network.
    fn opinion(&mut self, sound: Vec<i16>, phrases: &Arc<[String]>) -> Awaited<Option<Opinion>>;

    /// Returns how well each of `phrases` fits `sound` by the other network, and how many words the likeliest free text has,
    /// where that is wanted by the first: it takes longer.
    fn gains_and_words(
        &mut self,
        sound: Vec<i16>,
        phrases: &Arc<[String]>,
        is_wanted: impl FnOnce(&Gains) -> bool + Send + 'static,
    ) -> Awaited<Option<(Gains, Option<usize>)>>;

    /// Returns which reading of `count` digits was said in `sound` by the other network, in words; those of `also` are
    /// looked at in any case.
    fn reading_opinion(
        &mut self,
        sound: Vec<i16>,
        count: DigitCount,
        also: Vec<String>,
    ) -> Awaited<Option<Opinion>>;
}

/// What decodes kept sound.
pub trait Kept {
    /// Decodes `samples` by themselves; the best of at most `count` alternatives first.
    fn decode(&mut self, graph: Graph<'_>, samples: &[i16], count: u16) -> Vec<Alternative>;

    /// Begins to decode `samples`, the first part of some sound, with a closed grammar; tells what comes out
    /// of them by themselves, too: the library knows no words of what is only begun.
    fn begin_and_look(&mut self, grammar: &[String], samples: &[i16]) -> (Begun, Vec<Alternative>);

    /// Begins to decode `samples` with a closed grammar and with the model's own graph, at the same time where
    /// that can be done.
    fn begin_both(&mut self, grammar: &[String], samples: &[i16]) -> [Begun; 2];

    /// Decodes the `rest` of what was begun; gives the best alternative, or none where it was given up
    /// for something else.
    fn end(&mut self, begun: Begun, rest: &[i16]) -> Vec<Alternative>;

    /// Decodes the `rest` of two things that were begun, at the same time where that can be done.
    fn end_both(&mut self, both: [Begun; 2], rest: &[i16]) -> [Vec<Alternative>; 2] {
        both.map(|begun| self.end(begun, rest))
    }
}

/// How much likelier another network holds each phrase in some sound than in noise alone, as natural logarithms.
#[derive(Debug, Clone, PartialEq)]
pub struct Gains(pub Vec<(String, f32)>);

impl Gains {
    /// Returns the mean of both, for the phrases that both have.
    pub fn mean(&self, other: &Gains) -> Gains {
        let of = |phrase: &str| other.0.iter().find(|(one, _)| one == phrase);
        let both = self.0.iter().filter_map(|(phrase, gain)| {
            let (_, other) = of(phrase)?;
            Some((phrase.clone(), (gain + other) / 2.0))
        });
        Gains(both.collect())
    }

    /// Returns which phrase fits best.
    pub fn best(&self) -> Option<Opinion> {
        let mut gains: Vec<_> = self.0.iter().collect();
        gains.sort_by(|(_, a), (_, b)| b.total_cmp(a));
        let (phrase, gain) = gains.first()?;
        let next = gains.get(1).map_or(f32::MIN, |(_, next)| *next);
        Some(Opinion {
            phrase: phrase.clone(),
            gain: *gain,
            lead: gain - next,
        })
    }
}

/// What another network makes of something said.
#[derive(Debug, Clone, PartialEq)]
pub struct Opinion {
    /// The phrase that fits best.
    pub phrase: String,
    /// How much likelier it is than in noise alone, as a natural logarithm.
    pub gain: f32,
    /// By how much that is more than of the next best one.
    pub lead: f32,
}

/// Sound of which a first part is decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Begun(pub u64);

/// What is being made beside listening. Dropped, it need not be made any more.
pub struct Awaited<T>(Box<dyn FnOnce() -> Option<T> + Send>);

impl<T> Awaited<T> {
    /// Makes one of what waits for the result; that gives nothing where there will be none.
    pub fn new(wait: impl FnOnce() -> Option<T> + Send + 'static) -> Awaited<T> {
        Awaited(Box::new(wait))
    }

    /// Waits for it.
    pub fn get(self) -> Option<T> {
        (self.0)()
    }
}

impl<T> std::fmt::Debug for Awaited<T> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Awaited")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gains(all: &[(&str, f32)]) -> Gains {
        Gains(
            all.iter()
                .map(|(one, gain)| ((*one).into(), *gain))
                .collect(),
        )
    }

    #[test]
    fn the_mean_of_two_hearings_names_what_fits_both() {
        let one = gains(&[
            ("say again", 6.0),
            ("work complete", 5.0),
            ("voice note", 1.0),
        ]);
        let other = gains(&[
            ("voice note", 0.0),
            ("work complete", 9.0),
            ("say again", -2.0),
        ]);
        let best = one.mean(&other).best().unwrap();
        assert_eq!(
            (best.phrase.as_str(), best.gain, best.lead),
            ("work complete", 7.0, 5.0)
        );
        // What only one knows is left out.
        let few = gains(&[("say again", 0.0)]);
        assert_eq!(one.mean(&few), gains(&[("say again", 3.0)]));
        assert_eq!(few.mean(&one), gains(&[("say again", 3.0)]));
        assert_eq!(gains(&[]).best(), None);
    }
}
