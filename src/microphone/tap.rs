//! A source that is heard and measured at once.

use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::hear::capture::Microphone;
use crate::hear::{Recording, Source, SourceState};

/// What came in so far.
#[derive(Debug, Default)]
pub struct Taken {
    pub samples: Vec<i16>,
    /// In Hz; 0 before any sound.
    pub rate: u32,
    /// Set while the program itself speaks: that sound is not kept.
    pub passes: bool,
    /// Why the source went away.
    pub lost: Option<String>,
    pub ended: bool,
}

/// A handle to what comes in.
pub type Shared = Arc<Mutex<Taken>>;

/// Returns what came in so far; it is whole even where a holder panicked.
pub fn lock(shared: &Shared) -> MutexGuard<'_, Taken> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Hands its source's sound on and keeps a copy. It ends with the first loss of the device.
pub struct Tap {
    source: Box<dyn Source>,
    taken: Shared,
}

impl Tap {
    /// Taps a recording, or the microphone of that name, or the system's.
    ///
    /// # Errors
    /// A message where the recording cannot be read.
    pub fn open(from: Option<&Path>, microphone: Option<&str>) -> Result<(Tap, Shared), String> {
        let source: Box<dyn Source> = match from {
            Some(path) => Box::new(Recording::open(path)?),
            None => Box::new(Microphone::new(microphone.map(String::from))),
        };
        let taken = Shared::default();
        let tap = Tap {
            source,
            taken: Arc::clone(&taken),
        };
        Ok((tap, taken))
    }
}

impl Source for Tap {
    fn rate(&self) -> u32 {
        self.source.rate()
    }

    fn next(&mut self, samples: &mut Vec<i16>) -> SourceState {
        let before = samples.len();
        let state = self.source.next(samples);
        let mut taken = lock(&self.taken);
        let rate = self.source.rate();
        if taken.rate != rate && samples.len() > before {
            // Sound of two rates cannot be measured as one.
            taken.samples.clear();
            taken.rate = rate;
        }
        if !taken.passes {
            taken.samples.extend_from_slice(&samples[before..]);
        }
        match state {
            SourceState::Lost(why) => {
                taken.lost = Some(why);
                taken.ended = true;
                SourceState::Ended
            }
            SourceState::Ended => {
                taken.ended = true;
                SourceState::Ended
            }
            state => state,
        }
    }
}
