//! What helps hearing, each of which can be left out to measure what it is worth.

use clap::ValueEnum;

/// One of the aids.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Aid {
    /// The slow gain that brings speech to the level the recogniser hears best.
    Gain,
    /// The stream in which steady noise is suppressed.
    Suppression,
    /// The stream in which what is not a voice is taken out.
    Denoising,
    /// The score against the model's own graph.
    Score,
}

impl Aid {
    /// The name that the command line and the recogniser child know it by.
    pub fn name(self) -> &'static str {
        match self {
            Aid::Gain => "gain",
            Aid::Suppression => "suppression",
            Aid::Denoising => "denoising",
            Aid::Score => "score",
        }
    }

    /// The aid called `name`.
    pub fn named(name: &str) -> Option<Aid> {
        Aid::value_variants()
            .iter()
            .copied()
            .find(|aid| aid.name() == name)
    }
}
