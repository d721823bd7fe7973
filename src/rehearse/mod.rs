//! Rehearsal: a synthetic person speaks every answer into the real recogniser and the real run.

pub mod person;
mod piper;
pub mod room;
pub mod voices;

pub use person::{Person, Summary};
