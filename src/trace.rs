//! The trace: one JSON line per event, flushed as it happens, so that tests and other programs can
//! follow the run and answer it. The README documents the fields.

use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::complaint::Complaint;
use crate::run::Run;
use crate::wording::Wording;

/// The version of the lines; raised when a field changes its meaning.
pub const VERSION: u32 = 1;

/// One line of the trace.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    pub v: u32,
    /// RFC 3339, to the millisecond.
    pub at: String,
    pub job: i64,
    /// The step called after the event; none when all are done.
    pub step: Option<String>,
    pub event: String,
    pub by: &'static str,
    pub heard: Option<String>,
    pub score: Option<f32>,
    pub may_say: Vec<MaySay>,
    pub wants: Option<Wants>,
    pub done: bool,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MaySay {
    pub say: String,
    pub does: String,
}

/// The reading that is wanted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Wants {
    pub reading: String,
    pub unit: String,
    pub low: f64,
    pub high: f64,
    pub digits: u8,
    pub decimals: u8,
}

/// What of the run stands in every line.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    pub step: Option<String>,
    pub may_say: Vec<MaySay>,
    pub wants: Option<Wants>,
    pub done: bool,
}

impl Standing {
    /// Returns where the run stands.
    pub fn of(run: &Run, wording: &Wording) -> Standing {
        let may_say = wording.may_say(run);
        Standing {
            step: run.step().map(|step| step.id.to_string()),
            may_say: may_say
                .into_iter()
                .map(|s| MaySay {
                    say: s.say,
                    does: s.does,
                })
                .collect(),
            wants: run.wants().map(|wanted| Wants {
                reading: wanted.name.to_string(),
                unit: wanted.unit.to_string(),
                low: wanted.low,
                high: wanted.high,
                digits: wanted.digits,
                decimals: wanted.decimals,
            }),
            done: run.state().finished,
        }
    }
}

/// A trace file, open for appending.
pub struct TraceFile {
    file: File,
    path: PathBuf,
}

impl TraceFile {
    /// Opens or makes the file.
    ///
    /// # Errors
    /// It cannot be opened for appending.
    pub fn open(path: &Path) -> Result<TraceFile, Complaint> {
        let file = OpenOptions::new()
            .create(true)
            .append(true)
            .open(path)
            .map_err(|error| Complaint::file("Cannot write the trace", path, &error))?;
        Ok(TraceFile {
            file,
            path: path.into(),
        })
    }

    /// Appends one line and hands it to the system at once.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn append(&mut self, line: &Line) -> Result<(), Complaint> {
        let mut text = serde_json::to_string(line).map_err(|error| {
            Complaint::machine("Cannot write a trace line").because(error.to_string())
        })?;
        text.push('\n');
        self.file
            .write_all(text.as_bytes())
            .map_err(|error| Complaint::file("Cannot write the trace", &self.path, &error))
    }
}
