//! The recogniser as belief sees it: listening streams, and decodes of kept sound.

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
    /// Throws the listening stream of `form` away and begins a new one with `grammar`.
    fn restart(&mut self, form: Form, grammar: &[String]);

    /// Gives `samples` to the listening stream of `form`.
    fn hear(&mut self, form: Form, samples: &[i16]) -> Shown;

    /// Decodes `samples` by themselves; the best of at most `count` alternatives first.
    fn decode(&mut self, graph: Graph<'_>, samples: &[i16], count: u16) -> Vec<Alternative>;
}
