//! The program's end of the recogniser child: starting it, talking to it, noticing that it is gone
//! or stuck.

use std::io::{BufRead, BufReader, BufWriter, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use super::wire::{Order, Word};
use super::{Aid, Heard};

/// How long the model may take to load, on a slow machine.
const LOADING: Duration = Duration::from_secs(30);

/// Why a child is of no use any more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Gone {
    /// It ended or is stuck, with what to tell the person.
    Lost(String),
    /// The ears are being stopped.
    Stopped,
}

/// A running child.
pub struct Link {
    child: Child,
    input: BufWriter<ChildStdin>,
    shared: Arc<Shared>,
    /// Samples sent since its start.
    sent: u64,
    stop: Arc<AtomicBool>,
    patience: Duration,
}

#[derive(Default)]
struct Shared {
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Debug, Default)]
struct State {
    ready: bool,
    position: u64,
    /// How many words it has said.
    words: u64,
    gone: Option<String>,
}

impl Shared {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn change(&self, change: impl FnOnce(&mut State)) {
        change(&mut self.state());
        self.changed.notify_all();
    }
}

impl Link {
    /// Starts a child of `program` with `model`, without some aids, and waits until it hears. A child that then says
    /// nothing for `patience` while sound waits is stuck.
    ///
    /// # Errors
    /// [`Gone`] with the reason where it does not come up.
    pub fn start(
        program: &Path,
        (model, without): (&Path, &[Aid]),
        stop: Arc<AtomicBool>,
        patience: Duration,
        heard: impl Fn(Heard) + Send + 'static,
    ) -> Result<Link, Gone> {
        let mut child = Command::new(program)
            .arg("ears")
            .arg(model)
            .args(without.iter().map(|aid| aid.name()))
            .env("OMP_NUM_THREADS", "1")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| {
                Gone::Lost(format!(
                    "Cannot start the recogniser {}: {error}",
                    program.display()
                ))
            })?;
        let (Some(input), Some(output)) = (child.stdin.take(), child.stdout.take()) else {
            return Err(Gone::Lost("Cannot talk to the recogniser".into()));
        };
        let shared = Arc::new(Shared::default());
        let for_reader = Arc::clone(&shared);
        thread::spawn(move || read(output, &for_reader, heard));
        let mut link = Link {
            child,
            input: BufWriter::new(input),
            shared,
            sent: 0,
            stop,
            patience,
        };
        link.wait(LOADING, |state| state.ready)?;
        Ok(link)
    }

    /// Sends an order.
    ///
    /// # Errors
    /// [`Gone`] where the child is.
    pub fn send(&mut self, order: &Order) -> Result<(), Gone> {
        if let Order::Sound(samples) | Order::Played(_, samples) = order {
            self.sent += samples.len() as u64;
        }
        let written = order
            .write(&mut self.input)
            .and_then(|()| self.input.flush());
        // The reader knows the reason better than the broken pipe does.
        written.or_else(|_| self.wait(self.patience, |_| false))
    }

    /// Waits until at most `ahead` samples are sent and not yet heard.
    ///
    /// # Errors
    /// [`Gone`] where the child ended, or said nothing for longer than it is given.
    pub fn keep_within(&mut self, ahead: u64) -> Result<(), Gone> {
        let sent = self.sent;
        self.wait(self.patience, |state| sent - state.position <= ahead)
    }

    fn wait(&mut self, patience: Duration, done: impl Fn(&State) -> bool) -> Result<(), Gone> {
        let mut state = self.shared.state();
        let mut words = state.words;
        let mut since = Instant::now();
        loop {
            if done(&state) {
                return Ok(());
            }
            if let Some(why) = &state.gone {
                return Err(Gone::Lost(why.clone()));
            }
            if self.stop.load(Ordering::Relaxed) {
                return Err(Gone::Stopped);
            }
            if state.words != words {
                words = state.words;
                since = Instant::now();
            }
            if since.elapsed() > patience {
                return Err(Gone::Lost(
                    "The recogniser is stuck and was ended".to_string(),
                ));
            }
            state = self
                .shared
                .changed
                .wait_timeout(state, Duration::from_millis(50))
                .unwrap_or_else(PoisonError::into_inner)
                .0;
        }
    }
}

impl Drop for Link {
    fn drop(&mut self) {
        // It may be stuck, so it is not asked. Both fail only where it has ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn read(output: ChildStdout, shared: &Shared, heard: impl Fn(Heard)) {
    let mut why = "The recogniser ended by itself".to_string();
    for line in BufReader::new(output).lines() {
        let word = line.ok().and_then(|line| serde_json::from_str(&line).ok());
        let Some(word) = word else { break };
        shared.change(|state| {
            state.words += 1;
            match &word {
                Word::Ready => state.ready = true,
                Word::Position(position) => state.position = *position,
                Word::Looking | Word::Heard(_) | Word::Failed(_) => {}
            }
        });
        match word {
            Word::Heard(said) => heard(said),
            Word::Failed(reason) => why = reason,
            _ => {}
        }
    }
    shared.change(|state| state.gone = Some(why));
}
