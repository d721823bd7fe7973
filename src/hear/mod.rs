//! Hearing: capture, the recogniser in its child process, and when to believe it.
//!
//! The rest of the program sees this module only through [`Vocabulary`] (what may be said now) going
//! in and [`EarNews`] coming out. Nothing here knows the run.

mod aid;
mod asked;
mod bands;
pub mod belief;
pub mod capture;
pub mod cardinals;
mod child;
pub mod decoder;
#[cfg(ears)]
mod deep_filter;
pub mod denoised;
mod ears;
pub mod echo;
mod echo_filter;
#[cfg(ears)]
mod forms;
#[cfg(ears)]
mod kept;
pub mod level;
mod link;
pub mod meter;
mod model;
mod narrow;
mod note;
pub mod numbers;
pub mod open;
mod opinion;
pub mod over_noise;
#[cfg(ears)]
mod overhear;
mod phrase;
mod reading;
#[cfg(ears)]
mod recogniser;
mod recording;
mod source;
mod stream;
pub mod suppression;
pub mod talk;
mod utterance;
pub mod wire;

pub use aid::Aid;

pub use bands::raised_cosine;
pub use child::child_main;
pub use ears::{Ears, EarsOptions, SourceKind};
pub use model::{ModelWords, child_places, has_ears, model_place, why_deaf, words_unknown};
pub use recording::Recording;
pub use source::{Pace, Source, SourceState};

use serde::{Deserialize, Serialize};

/// What may be said now.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Vocabulary {
    pub phrases: Vec<Expected>,
    /// Set while a reading is wanted.
    pub digits: Option<DigitCount>,
}

/// A phrase that may be said now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Expected {
    pub words: String,
    /// What hangs on it decides how long it must stand and how sure it must be.
    pub weight: Weight,
}

impl Expected {
    /// Returns each of `phrases` as one on which `weight` hangs.
    pub fn each(
        phrases: impl IntoIterator<Item = String>,
        weight: Weight,
    ) -> impl Iterator<Item = Expected> {
        let phrases = phrases.into_iter();
        phrases.map(move |words| Expected { words, weight })
    }
}

/// What hangs on a phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Weight {
    /// Only says or shows something: believed sooner, and on less.
    Light,
    /// Stands for 0.30 s.
    Ordinary,
    /// Stops everything: as an ordinary one, and amid talk too, for it is obeyed from whoever gives it.
    Stop,
    /// Opens a hold or goes past something: stands for 0.50 s and has to be surer.
    Grave,
}

impl Weight {
    /// Tells whether such a phrase changes something and has to be meant: a stop is obeyed from whoever gives it.
    pub fn acts(self) -> bool {
        matches!(self, Weight::Ordinary | Weight::Grave)
    }
}

/// How many digits a reading has; they are spoken one by one, with "point" before the decimals.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct DigitCount {
    pub whole: u8,
    pub decimals: u8,
    /// Whether "one hundred ten" and the like are taken too; such a reading is never sure.
    #[serde(default)]
    pub cardinals: bool,
}

/// What the ears report.
#[derive(Debug, Clone, PartialEq)]
pub enum EarNews {
    /// The recogniser is up and hears with the vocabulary set last.
    Listening,
    /// A phrase or a reading was believed, or nearly.
    Heard(Heard),
    /// Level, room and what can be heard in it; at most 10 a second.
    Level(meter::Measured),
    /// Hearing is gone for now; it comes back by itself where it can.
    Lost { why: String },
    /// A recording played to its end (`--hear FILE.wav`).
    SourceEnded,
    /// A voice note is on disk.
    NoteKept {
        file: std::path::PathBuf,
        seconds: f32,
    },
    /// A voice note could not be kept.
    NoteLost { why: String },
}

/// One thing heard.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Heard {
    /// The phrase's words, or a reading as digits: `110`, `0.35`.
    pub text: String,
    /// Whether `text` is a reading.
    pub is_reading: bool,
    /// For a phrase: confidence against the model's own graph, per 30 ms frame; 0 is as good as free
    /// speech, sure from −0.15, −0.10 or −0.05 as its [`Weight`] is; for one that another network's opinion brought, its
    /// lead over the next best one, at least 2. For a reading: the margin before the next best one, sure from 4; 0
    /// where two ways of decoding it disagreed.
    pub score: f32,
    /// Whether the score was good enough to act on without asking back.
    pub sure: bool,
    /// Whether only the end of a phrase was heard, its first word lost: that leads to a question, never
    /// to an act.
    #[serde(default)]
    pub is_part: bool,
}

/// Tells that something could not be tested here; it fails where everything has to be tested.
#[cfg(test)]
fn untested<T>(what: &str) -> Option<T> {
    println!("UNTESTED: {what}");
    let all = std::env::var_os("BENCHCALL_ALL_TESTS").is_some();
    assert!(!all, "{what}");
    None
}
