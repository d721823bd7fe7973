//! Recordings through the real path: ears, recogniser child, belief; as fast as it decodes, with
//! time counted in sound.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, Receiver};
use std::time::Duration;

use super::corpus::Clip;
use super::cost;
use super::score::Event;
use super::transcript::Words;
use crate::hear::{
    Aid, EarNews, Ears, EarsOptions, Pace, Recording, Source, SourceKind, SourceState,
};

/// How often a recogniser may be lost in one recording before it is given up.
const LOSSES: usize = 3;
/// How long the ears may say nothing at all; they tell the level while they hear.
const SILENCE: Duration = Duration::from_secs(120);

/// What this machine hears with.
#[derive(Debug, Clone)]
pub struct Machine {
    /// The benchcall program itself.
    pub program: PathBuf,
    /// The folder of the speech model.
    pub model: PathBuf,
}

/// What a listener made of one recording.
#[derive(Debug, Clone, Default)]
pub struct Hearing {
    pub events: Vec<Event>,
    /// Why the recogniser was lost on the way, each time.
    pub lost: Vec<String>,
    /// The most memory that the recogniser used, in bytes, where the machine tells.
    pub memory: Option<u64>,
}

/// Hears `clip` as the program would.
///
/// # Errors
/// Where it cannot be heard to its end.
pub fn hear(clip: &Clip, machine: &Machine, without: &[Aid]) -> Result<Hearing, String> {
    let recording = Recording::open(&clip.path)?;
    let rate = f64::from(recording.rate());
    let taken = Arc::new(AtomicU64::new(0));
    let (open, gate) = mpsc::channel();
    let source = Counted {
        recording,
        gate: Some(gate),
        taken: Arc::clone(&taken),
    };
    let (send, news) = mpsc::channel();
    let ears = Ears::start(
        EarsOptions {
            program: machine.program.clone(),
            model: machine.model.clone(),
            without: without.to_vec(),
            source: SourceKind::Fed {
                source: Box::new(source),
                pace: Pace::Fast,
            },
        },
        move |what| {
            let memory = match what {
                EarNews::SourceEnded => cost::children_memory(),
                _ => None,
            };
            // Where nobody waits any more, the measurement was given up.
            let _ = send.send((taken.load(Ordering::Relaxed), memory, what));
        },
    );
    ears.listen_for(clip.vocabulary());
    // Fails only where the ears are gone, which the news tell.
    let _ = open.send(());
    let mut hearing = Hearing::default();
    loop {
        let Ok((taken, memory, what)) = news.recv_timeout(SILENCE) else {
            return Err(format!("Nothing comes of hearing {}", clip.path.display()));
        };
        match what {
            EarNews::Heard(heard) => hearing.events.push(Event {
                accepted: Some(taken as f64 / rate),
                ended: None,
                words: Words {
                    text: heard.text,
                    is_reading: heard.is_reading,
                },
                score: Some(heard.score),
                sure: heard.sure,
            }),
            EarNews::Lost { why } => {
                hearing.lost.push(format!("{}: {why}", clip.name));
                if hearing.lost.len() > LOSSES {
                    return Err(format!("Cannot hear {}: {why}", clip.path.display()));
                }
            }
            EarNews::SourceEnded => {
                hearing.memory = memory;
                return Ok(hearing);
            }
            _ => {}
        }
    }
}

/// A recording that counts what was taken of it, and gives nothing before the gate is opened: what
/// may be said has to be known from the first sample on.
struct Counted {
    recording: Recording,
    gate: Option<Receiver<()>>,
    taken: Arc<AtomicU64>,
}

impl Source for Counted {
    fn rate(&self) -> u32 {
        self.recording.rate()
    }

    fn next(&mut self, samples: &mut Vec<i16>) -> SourceState {
        if let Some(gate) = self.gate.take() {
            // A gate that nobody will open any more is as good as open: the ears are being stopped.
            let _ = gate.recv();
        }
        let before = samples.len();
        let state = self.recording.next(samples);
        let count = (samples.len() - before) as u64;
        self.taken.fetch_add(count, Ordering::Relaxed);
        state
    }
}
