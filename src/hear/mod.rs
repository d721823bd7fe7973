//! Hearing: capture, the recogniser in its child process, and when to believe it.
//!
//! The rest of the program sees this module only through [`Vocabulary`] (what may be said now) going
//! in and [`EarNews`] coming out. Nothing here knows the run.

pub mod belief;
pub mod capture;
mod child;
mod ears;
pub mod echo;
mod echo_filter;
pub mod level;
mod link;
mod model;
mod note;
pub mod numbers;
#[cfg(ears)]
mod overhear;
mod reading;
#[cfg(ears)]
mod recogniser;
mod recording;
mod source;
pub mod wire;

pub use child::child_main;
pub use ears::{Ears, EarsOptions, SourceKind};
pub use model::{ModelWords, has_ears, model_place, why_deaf, words_unknown};
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

/// What hangs on a phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Weight {
    /// Stands for 0.30 s.
    Ordinary,
    /// Opens a hold or goes past something: stands for 0.50 s.
    Grave,
}

/// How many digits a reading has; they are spoken one by one, with "point" before the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct DigitCount {
    pub whole: u8,
    pub decimals: u8,
}

/// What the ears report.
#[derive(Debug, Clone, PartialEq)]
pub enum EarNews {
    /// The recogniser is up and hears with the vocabulary set last.
    Listening,
    /// A phrase or a reading was believed, or nearly.
    Heard(Heard),
    /// Level of the last moment, in dBFS; at most 10 a second.
    Level { dbfs: f32 },
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
    /// speech, sure from −0.10. For a reading: the margin before the next best one, sure from 4.
    pub score: f32,
    /// Whether the score was good enough to act on without asking back.
    pub sure: bool,
}
