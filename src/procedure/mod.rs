//! The procedure: what to gather, the steps, and the rules between them.
//!
//! The types of `model` are both the file format (RON) and what the run works on. A rule about one
//! value is kept by that value's own type; rules between values are in `check`. Only `read` makes a
//! procedure from text, and it makes none from text that breaks a rule.
//!
//! Reading goes: `token` → `outline` (brackets and places) → `shape` (fields and single values) →
//! RON itself → `check`. Each of these goes on after an error, so that all are reported at once.

mod check;
mod check_again;
mod check_fasten;
mod check_order;
mod check_sums;
mod check_threads;
mod check_wait;
mod fasten;
pub(crate) mod fields;
pub(crate) mod finding;
mod letters;
pub mod model;
pub(crate) mod outline;
pub(crate) mod phrases;
mod place;
pub(crate) mod read;
mod relying;
pub(crate) mod shape;
mod sound;
mod sums;
mod token;
pub mod values;

pub use check_order::Broken;
pub use fasten::*;
pub use finding::{Finding, Look, MOST_FINDINGS, Severity, draw};
pub use model::*;
pub use phrases::{
    CALL_SIGN, FIGURES, Gate, NoModel, Objection, STANDARD_PHRASES, STOP, STOP_MORE, Said, Speech,
    Words, meaning, names_alike,
};
pub use read::{Judge, LARGEST_FILE, check_file, check_judged, read, refused};
pub use relying::ByClock;
pub use sound::{NEAR, NoDictionary, Pronouncing, Pronunciation, Sounds};
pub use sums::{Reckoned, Sum, Taken};
pub use values::*;
