//! The recogniser as its makers ship it: free speech, cut by its own end of speech. The program never
//! acts on it; it is what the measuring bench holds the program's own hearing against.

#[cfg(ears)]
use std::io::Read;
use std::io::{self, Write};
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::model::ask;
use super::source::{Source, SourceState};
use super::wire::Order;

/// The words of an utterance, each with its end in seconds of sound.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FreeSpeech {
    pub words: Vec<(String, f32)>,
}

/// An utterance and where it was decided.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Utterance {
    /// In samples from the beginning of the sound.
    pub position: u64,
    pub speech: FreeSpeech,
}

/// Writes down everything in `source`, in a child of `program` (benchcall itself) with the model in
/// `model`.
///
/// # Errors
/// A message where the source or the child fails.
pub fn free_speech(
    program: &Path,
    model: &Path,
    source: &mut dyn Source,
) -> Result<Vec<Utterance>, String> {
    let cannot = |error: io::Error| format!("Cannot have free speech written down: {error}");
    let mut orders = Vec::new();
    Order::Rate(source.rate())
        .write(&mut orders)
        .map_err(cannot)?;
    loop {
        let mut samples = Vec::new();
        match source.next(&mut samples) {
            SourceState::Sound => Order::Sound(samples).write(&mut orders).map_err(cannot)?,
            SourceState::Nothing => {}
            SourceState::Lost(why) => return Err(why),
            SourceState::Ended => break,
        }
    }
    let lines = ask(program, model, "--open", orders)
        .map_err(|why| format!("Cannot have free speech written down: {why}"))?;
    lines
        .lines()
        .map(|line| serde_json::from_str(line).map_err(|error| cannot(error.into())))
        .collect()
}

/// The child's side: sound in, a line of JSON for each utterance out.
#[cfg(ears)]
pub(super) fn write_down(
    mut recogniser: super::recogniser::Recogniser,
    mut input: impl Read,
    mut out: impl Write,
) -> io::Result<()> {
    let mut levelling = super::level::Levelling::default();
    let mut rate = 16_000;
    let mut position = 0;
    let mut tell = |position, speech: Option<FreeSpeech>| -> io::Result<()> {
        if let Some(speech) = speech {
            let line = serde_json::to_string(&Utterance { position, speech })?;
            writeln!(out, "{line}")?;
        }
        Ok(())
    };
    while let Some(order) = Order::read(&mut input)? {
        match order {
            Order::Rate(new) => {
                rate = new.clamp(8_000, 384_000);
                recogniser.set_rate(rate);
            }
            Order::Sound(mut samples) => {
                position += samples.len() as u64;
                levelling.level(&mut samples, rate);
                tell(position, recogniser.write_down(&samples))?;
            }
            Order::Listen(_)
            | Order::Deaf(_)
            | Order::Speaking(_)
            | Order::Begins
            | Order::Played(..)
            | Order::Missed => {}
        }
    }
    tell(position, recogniser.write_down_rest())
}
