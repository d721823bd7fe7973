//! Where sound comes from: a microphone, a recording, or anything else that hands out samples.

/// Hands out sound piece by piece, mono, 16 bit.
pub trait Source: Send {
    /// Returns the rate of what [`Source::next`] hands out, in Hz: 8000 to 384 000. It may change
    /// between two calls.
    fn rate(&self) -> u32;

    /// Appends the next samples to `samples`, as many as the source likes (30 ms is a good piece).
    /// May wait for them; a source that waits long gives back [`SourceState::Nothing`] now and then,
    /// so that the ears can be stopped.
    fn next(&mut self, samples: &mut Vec<i16>) -> SourceState;

    /// Returns whether sound was lost before what the last [`Source::next`] appended: the machine was
    /// too busy to take it. Told once.
    fn has_missed(&mut self) -> bool {
        false
    }
}

/// What came of asking a source for sound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SourceState {
    /// Samples were appended.
    Sound,
    /// Nothing for now.
    Nothing,
    /// The source is gone for now, with the reason; it comes back by itself when it can.
    Lost(String),
    /// The source has no more to give.
    Ended,
}

/// How fast a source that has its sound at hand is heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pace {
    /// As it would sound.
    RealTime,
    /// As fast as it decodes, in lockstep: the source is asked for more only when everything before
    /// was heard and its news are out, so that time counted in samples is exact.
    Fast,
}
