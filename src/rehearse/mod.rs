//! Rehearsal: a synthetic person speaks every answer.

pub mod room;
pub mod voices;
