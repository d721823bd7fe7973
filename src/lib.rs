//! benchcall calls workshop steps aloud and in big type; the person at the bench answers by voice,
//! pedal or key.
//!
//! The way of the data is one way: hear → understand → decide → record → show and say.
//! `procedure`, `trade`, `run`, `plan` and the view (`show::view`) are pure: they know no clock, file,
//! thread, sound, window or database (held by `tests/layering.rs`).

#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

pub mod bench;
mod checking;
pub mod clock;
pub mod command_line;
pub mod complaint;
pub mod dictionary;
mod files;
pub mod hear;
pub mod launch;
pub mod measure;
pub mod microphone;
pub mod phrases;
pub mod plan;
pub mod planning;
pub mod procedure;
pub mod prove;
pub mod read_from;
pub mod reckon;
pub mod record;
pub mod rehearse;
pub mod run;
pub mod settings;
mod shelf;
pub mod show;
pub mod speak;
pub mod tools;
pub mod trace;
pub mod trade;
pub mod understand;
pub mod wording;
