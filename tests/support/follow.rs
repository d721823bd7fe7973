//! Follows a file of JSON lines while a program writes it, such as a trace.
//!
//! Use it from a test with `#[path = "support/follow.rs"] mod follow;`.

#![allow(dead_code, reason = "every test file uses a part of it")]

use std::fs::File;
use std::io::ErrorKind;
use std::io::Read;
use std::path::PathBuf;
use std::thread;
use std::time::Duration;
use std::time::Instant;

use serde_json::Value;

/// How often the file is looked at.
const LOOK_EVERY: Duration = Duration::from_millis(10);

/// A reader of a file that grows.
#[derive(Debug)]
pub struct Follower {
    path: PathBuf,
    file: Option<File>,
    /// The beginning of a line that has not been written to its end.
    started: Vec<u8>,
    lines: Vec<Value>,
    /// How many of the lines a wait has already gone past.
    seen: usize,
}

impl Follower {
    /// Follows the file from its beginning; it need not be there yet.
    pub fn new(path: impl Into<PathBuf>) -> Self {
        Self {
            path: path.into(),
            file: None,
            started: Vec::new(),
            lines: Vec::new(),
            seen: 0,
        }
    }

    /// Waits for the next line for which `is_it` holds, after the one found last, and returns it
    /// with its number from 0.
    ///
    /// Fails the test with the last lines where it has not come by then.
    #[track_caller]
    pub fn wait_for(
        &mut self,
        what: &str,
        patience: Duration,
        mut is_it: impl FnMut(&Value) -> bool,
    ) -> (usize, Value) {
        let deadline = Instant::now() + patience;
        loop {
            self.read();
            while let Some(line) = self.lines.get(self.seen) {
                self.seen += 1;
                if is_it(line) {
                    return (self.seen - 1, line.clone());
                }
            }
            if Instant::now() >= deadline {
                let from = self.lines.len().saturating_sub(12);
                let last: Vec<_> = self.lines[from..].iter().map(Value::to_string).collect();
                panic!(
                    "{what} was not in {} after {patience:?}; the last of {} lines:\n{}",
                    self.path.display(),
                    self.lines.len(),
                    last.join("\n")
                );
            }
            thread::sleep(LOOK_EVERY);
        }
    }

    /// The lines that no wait has gone past yet; they count as seen now.
    #[track_caller]
    pub fn unseen(&mut self) -> Vec<Value> {
        self.read();
        let unseen = self.lines[self.seen..].to_vec();
        self.seen = self.lines.len();
        unseen
    }

    /// Every line so far.
    #[track_caller]
    pub fn lines(&mut self) -> &[Value] {
        self.read();
        &self.lines
    }

    /// The newest line so far.
    #[track_caller]
    pub fn last(&mut self) -> Option<&Value> {
        self.read();
        self.lines.last()
    }

    #[track_caller]
    fn read(&mut self) {
        if self.file.is_none() {
            match File::open(&self.path) {
                Ok(file) => self.file = Some(file),
                Err(e) if e.kind() == ErrorKind::NotFound => return,
                Err(e) => panic!("cannot open {}: {e}", self.path.display()),
            }
        }
        let Some(file) = &mut self.file else { return };
        if let Err(e) = file.read_to_end(&mut self.started) {
            panic!("cannot read {}: {e}", self.path.display());
        }
        while let Some(end) = self.started.iter().position(|&byte| byte == b'\n') {
            let line: Vec<u8> = self.started.drain(..=end).collect();
            let number = self.lines.len() + 1;
            match serde_json::from_slice(&line) {
                Ok(value) => self.lines.push(value),
                Err(e) => panic!("line {number} of {} is no JSON: {e}", self.path.display()),
            }
        }
    }
}
