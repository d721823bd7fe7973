//! One listening stream: the sound it was fed, and what it shows.

use super::decoder::{Awaited, Form, Opinion};
use super::phrase::{Ahead, Scored};
use super::{Heard, Weight};

/// What is known of one listening stream.
#[derive(Debug)]
pub(super) struct Stream {
    pub(super) form: Form,
    /// The last of the sound it was fed.
    pub(super) kept: Vec<i16>,
    /// Since when its text begins with its present first word.
    pub(super) begun: Option<(String, u64)>,
    pub(super) standing: Option<Standing>,
    /// Since when it shows nothing.
    pub(super) empty: u64,
    /// What may be a reading, or the first part of one, and is shown no more.
    pub(super) ended: Option<Ended>,
}

/// Something that was shown until the library took this for its end, it vanished, or it stuck.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ended {
    /// Since when its first word was shown.
    pub(super) begun: u64,
    pub(super) at: u64,
    /// How often it was looked at since.
    pub(super) looks: u8,
}

/// What stands in a stream.
#[derive(Debug)]
pub(super) struct Standing {
    pub(super) text: String,
    /// What of it is the phrase, the reading, or the end of a phrase.
    pub(super) words: String,
    pub(super) kind: Kind,
    pub(super) since: u64,
    pub(super) begun: u64,
    pub(super) next_look: u64,
    /// When it begins to be decoded ahead of that, and is not yet.
    pub(super) early_look: Option<u64>,
    /// Whether it may be believed before that look, and was not verified for that.
    pub(super) may_be_sooner: bool,
    /// When it begins to be verified for that look.
    pub(super) verify_from: u64,
    /// What is decoded of it ahead.
    pub(super) ahead: Option<Awaited<Option<Ahead>>>,
    /// What comes of verifying it.
    pub(super) verifying: Option<Awaited<Option<Scored>>>,
    /// What another network makes of it, where that was asked for before its look.
    pub(super) opinion: Option<Awaited<Option<Opinion>>>,
    pub(super) looks: u8,
    /// What an earlier look would have asked back.
    pub(super) doubt: Option<Heard>,
    /// What an earlier look made of it.
    pub(super) scored: Option<Scored>,
    /// What would be believed, were it seen that nothing more is said.
    pub(super) held: Option<Heard>,
}

/// What the text of a stream may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Phrase(Weight),
    /// A phrase after other things in the same stream: a bang, or other talk.
    After,
    /// The end of a phrase whose first word was lost.
    Part,
    /// The beginning of a phrase.
    Begun,
    Reading,
    /// What belongs to no phrase.
    Stray,
}

impl Stream {
    pub(super) fn new(form: Form) -> Stream {
        Stream {
            form,
            kept: Vec::new(),
            begun: None,
            standing: None,
            empty: 0,
            ended: None,
        }
    }

    pub(super) fn clear(&mut self, now: u64) {
        self.kept.clear();
        self.empty = now;
        self.begun = None;
        self.standing = None;
        self.ended = None;
    }

    pub(super) fn keep(&mut self, samples: &[i16], most: usize) {
        self.kept.extend_from_slice(samples);
        // Cutting in large pieces keeps the moving of what stays cheap.
        if self.kept.len() > most + most / 4 {
            self.kept.drain(..self.kept.len() - most);
        }
    }

    /// Returns the last `count` samples, or all there are.
    pub(super) fn last(&self, count: u64) -> &[i16] {
        let count = usize::try_from(count).unwrap_or(usize::MAX);
        &self.kept[self.kept.len() - count.min(self.kept.len())..]
    }
}
