//! What came of it all: as a table, and as JSON with everything said and heard.

use std::fmt::Write;
use std::io::{IsTerminal, stderr};
use std::path::Path;
use std::time::Duration;

use serde::Serialize;

use super::corpus::{self, Clip};
use super::cost::Cost;
use super::hearing::Hearing;
use super::rows::{self, By, Measured, SoundRow, SpokenRow};
use super::score::{Scored, score};
use super::table::{self, Column};
use super::transcript::{About, Made, Words};
use crate::complaint::Complaint;
use crate::run::sayable;

/// What one listener made of the recordings, in their order.
pub struct Listener {
    pub name: &'static str,
    pub hearings: Vec<Hearing>,
    pub cost: Cost,
}

/// All that was measured.
pub struct Report<'a> {
    folder: &'a Path,
    clips: &'a [Clip],
    listeners: Vec<(Listener, Vec<Vec<Scored>>)>,
    left_out: Vec<String>,
}

#[derive(Serialize)]
struct ReportForm<'a> {
    program: &'static str,
    folder: &'a Path,
    recordings: Vec<RecordingForm<'a>>,
    listeners: Vec<ListenerForm<'a>>,
    left_out: &'a [String],
}

#[derive(Serialize)]
struct RecordingForm<'a> {
    file: &'a str,
    seconds: f64,
    /// Seconds in which no line could have been answered.
    outside: f64,
    #[serde(flatten)]
    about: &'a About,
}

#[derive(Serialize)]
struct ListenerForm<'a> {
    name: &'a str,
    spoken: Vec<SpokenRow>,
    sound: Vec<SoundRow>,
    events: Vec<EventForm<'a>>,
    lost: Vec<&'a str>,
    cost: &'a Cost,
}

#[derive(Serialize)]
struct EventForm<'a> {
    file: &'a str,
    #[serde(flatten)]
    scored: &'a Scored,
}

impl<'a> Report<'a> {
    /// Begins a report on `clips` of `folder`.
    pub fn of(folder: &'a Path, clips: &'a [Clip]) -> Report<'a> {
        Report {
            folder,
            clips,
            listeners: Vec::new(),
            left_out: Vec::new(),
        }
    }

    /// Adds what a listener heard, and scores it.
    pub fn add(&mut self, listener: Listener) {
        let hearings = self.clips.iter().zip(&listener.hearings);
        let scored = hearings.map(|(clip, hearing)| scored(clip, hearing));
        let scored = scored.collect();
        self.listeners.push((listener, scored));
    }

    /// Notes a listener that could not be had.
    pub fn leave_out(&mut self, why: String) {
        self.left_out.push(why);
    }

    /// Returns the table.
    pub fn text(&self, by: &[By]) -> String {
        let rows: Vec<_> = self
            .listeners
            .iter()
            .map(|(listener, scored)| {
                let (spoken, sound) = self.rows(scored, by);
                (listener.name, spoken, sound)
            })
            .collect();
        let columns: Vec<Column<'_>> = rows
            .iter()
            .map(|(name, spoken, sound)| Column {
                name,
                spoken,
                sound,
            })
            .collect();
        let mut text = table::table(&columns);
        text.push('\n');
        for (listener, _) in &self.listeners {
            text += &cost_line(listener);
        }
        let made: Vec<Made> = self.clips.iter().map(|c| c.transcript.about.made).collect();
        let notes = [
            table::standing(&made).to_string(),
            corpus::rule(),
            "In brackets: 95 % intervals (Wilson's for shares, Byar's for rates). Hold: would have \
             opened one. Twice: would have acted again."
                .to_string(),
        ];
        for note in notes.iter().chain(&self.left_out) {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{note}");
        }
        text
    }

    /// Returns everything as JSON.
    ///
    /// # Errors
    /// Where it cannot be written down, which is an error in the program.
    pub fn json(&self, by: &[By]) -> Result<String, Complaint> {
        let recordings = self.clips.iter().map(|clip| RecordingForm {
            file: &clip.name,
            seconds: clip.seconds,
            outside: corpus::outside(clip),
            about: &clip.transcript.about,
        });
        let listeners = self.listeners.iter().map(|(listener, scored)| {
            let (spoken, sound) = self.rows(scored, by);
            let events = self.clips.iter().zip(scored).flat_map(|(clip, scored)| {
                scored.iter().map(|scored| EventForm {
                    file: &clip.name,
                    scored,
                })
            });
            let lost = listener.hearings.iter().flat_map(|hearing| &hearing.lost);
            ListenerForm {
                name: listener.name,
                spoken,
                sound,
                events: events.collect(),
                lost: lost.map(String::as_str).collect(),
                cost: &listener.cost,
            }
        });
        let form = ReportForm {
            program: concat!("benchcall ", env!("CARGO_PKG_VERSION")),
            folder: self.folder,
            recordings: recordings.collect(),
            listeners: listeners.collect(),
            left_out: &self.left_out,
        };
        serde_json::to_string_pretty(&form)
            .map_err(|error| Complaint::machine("Cannot write JSON").because(error.to_string()))
    }

    fn rows(&self, scored: &[Vec<Scored>], by: &[By]) -> (Vec<SpokenRow>, Vec<SoundRow>) {
        let results: Vec<Measured<'_>> = self
            .clips
            .iter()
            .zip(scored)
            .map(|(clip, scored)| Measured {
                about: &clip.transcript.about,
                outside: corpus::outside(clip) / 3600.0,
                scored,
            })
            .collect();
        (rows::spoken(&results, by), rows::sound(&results, by))
    }
}

fn scored(clip: &Clip, hearing: &Hearing) -> Vec<Scored> {
    let grave = &clip.transcript.grave;
    let mut scored = score(&clip.lines(), &hearing.events, grave, means_the_same);
    let known = clip.vocabulary().phrases;
    for one in &mut scored {
        let words = one.said.as_ref().or(one.heard.as_ref());
        let found = known.iter().find(|phrase| Some(&phrase.words) == words);
        one.weight = found.map(|phrase| phrase.weight);
        one.delay = one.delay.filter(|_| clip.is_timed());
    }
    scored
}

/// Tells whether two things said are the same to the program.
fn means_the_same(one: &Words, other: &Words) -> bool {
    // The end of a phrase leads to a question about that phrase.
    if one.text.ends_with(&format!(" {}", other.text)) && !other.is_reading {
        return true;
    }
    let is_reading = one.is_reading || other.is_reading;
    one == other || (!is_reading && sayable::are_one_command(&one.text, &other.text))
}

fn cost_line(listener: &Listener) -> String {
    let Cost {
        sound,
        wall,
        processor,
        memory,
    } = listener.cost;
    let mut line = format!(
        "{}: {:.2} h of sound in {}, {:.0} times real time",
        listener.name,
        sound / 3600.0,
        lasting(wall),
        sound / wall.max(1e-3)
    );
    // Writing to a string cannot fail.
    if let Some(processor) = processor {
        let _ = write!(
            line,
            "; processor {:.3} of the sound",
            processor / sound.max(1e-3)
        );
    }
    if let Some(memory) = memory {
        let _ = write!(line, "; at most {} MB", memory / 1_000_000);
    }
    let lost: usize = listener.hearings.iter().map(|h| h.lost.len()).sum();
    if lost > 0 {
        let _ = write!(line, "; RECOGNISER LOST {lost} TIMES");
    }
    line.push('\n');
    line
}

fn lasting(seconds: f64) -> String {
    match seconds {
        0.0..100.0 => format!("{seconds:.0} s"),
        _ => format!("{:.0} min", seconds / 60.0),
    }
}

/// Tells how far a listener is, on standard error: a line that changes on a terminal, else one now and
/// then.
pub struct Progress {
    name: &'static str,
    files: usize,
    done: usize,
    /// In seconds of sound.
    sound: f64,
    heard: f64,
    told: Duration,
}

impl Progress {
    /// Begins with nothing heard of `clips`.
    pub fn of(name: &'static str, clips: &[Clip]) -> Progress {
        Progress {
            name,
            files: clips.len(),
            done: 0,
            sound: clips.iter().map(|clip| clip.seconds).sum(),
            heard: 0.0,
            told: Duration::ZERO,
        }
    }

    /// Notes that `clip` was heard, `passed` after the beginning.
    pub fn done(&mut self, clip: &Clip, passed: Duration) {
        self.done += 1;
        self.heard += clip.seconds;
        let left = passed.as_secs_f64() * (self.sound - self.heard) / self.heard.max(1e-3);
        let line = format!(
            "{}: {} of {} recordings, {} left",
            self.name,
            self.done,
            self.files,
            lasting(left)
        );
        if stderr().is_terminal() {
            eprint!("\r\x1b[K{line}");
        } else if passed.saturating_sub(self.told) >= Duration::from_secs(20) {
            self.told = passed;
            eprintln!("{line}");
        }
    }

    /// Leaves nothing of it on a terminal.
    pub fn end(&self) {
        if stderr().is_terminal() {
            eprint!("\r\x1b[K");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_phrases_of_one_command_mean_the_same() {
        let words = |text: &str, is_reading| Words {
            text: text.into(),
            is_reading,
        };
        let same = |one, other| means_the_same(&words(one, false), &words(other, false));
        assert!(same("stop stop", "stop stop stop"));
        assert!(!same("stop stop", "say again"));
        assert!(same("view glass", "view glass"));
        assert!(!same("view glass", "smart mirror"));
        assert!(!means_the_same(&words("110", true), &words("100", true)));
    }
}
