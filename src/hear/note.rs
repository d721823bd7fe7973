//! A voice note: what is said, kept as a WAV file.

use std::fs::File;
use std::io::BufWriter;
use std::path::{Path, PathBuf};

use hound::{SampleFormat, WavSpec, WavWriter};

use super::EarNews;
use super::level::{Room, dbfs};

/// A note ends by itself after this much quiet, in seconds; twice as much where nothing was said yet.
const QUIET: f32 = 2.5;
/// The longest note, in seconds.
const LONGEST: f32 = 60.0;

/// A note being recorded.
pub struct Note {
    path: PathBuf,
    writer: WavWriter<BufWriter<File>>,
    rate: u32,
    samples: u64,
    room: Room,
    spoken: bool,
    /// Quiet samples since the last word.
    quiet: u64,
    flushed: u64,
}

impl Note {
    /// Begins a note of `rate` Hz at `path`.
    ///
    /// # Errors
    /// A message with the path where it cannot be written.
    pub fn begin(path: &Path, rate: u32) -> Result<Note, String> {
        let spec = WavSpec {
            channels: 1,
            sample_rate: rate,
            bits_per_sample: 16,
            sample_format: SampleFormat::Int,
        };
        let writer = WavWriter::create(path, spec).map_err(|error| cannot(path, &error))?;
        Ok(Note {
            path: path.to_path_buf(),
            writer,
            rate,
            samples: 0,
            room: Room::default(),
            spoken: false,
            quiet: 0,
            flushed: 0,
        })
    }

    /// Returns the rate it is recorded at, in Hz.
    pub fn rate(&self) -> u32 {
        self.rate
    }

    /// Takes the next samples; returns whether the note is at its end.
    ///
    /// What was taken more than a second ago survives the death of the program; the death of the
    /// whole machine may lose more.
    ///
    /// # Errors
    /// A message with the path where it cannot be written on.
    pub fn take(&mut self, samples: &[i16]) -> Result<bool, String> {
        let written = samples
            .iter()
            .try_for_each(|&s| self.writer.write_sample(s));
        self.samples += samples.len() as u64;
        let flushed = if self.samples - self.flushed >= u64::from(self.rate) {
            self.flushed = self.samples;
            self.writer.flush()
        } else {
            Ok(())
        };
        written
            .and(flushed)
            .map_err(|error| cannot(&self.path, &error))?;
        let seconds = samples.len() as f32 / self.rate as f32;
        if self.room.is_active(dbfs(samples), seconds) {
            self.spoken = true;
            self.quiet = 0;
        } else {
            self.quiet += samples.len() as u64;
        }
        let patience = if self.spoken { QUIET } else { 2.0 * QUIET };
        let quiet = self.quiet as f32 / self.rate as f32;
        Ok(quiet >= patience || self.seconds() >= LONGEST)
    }

    /// Closes the file; returns the news of it.
    pub fn end(self) -> EarNews {
        let seconds = self.seconds();
        match self.writer.finalize() {
            Ok(()) => EarNews::NoteKept {
                file: self.path,
                seconds,
            },
            Err(error) => EarNews::NoteLost {
                why: cannot(&self.path, &error),
            },
        }
    }

    fn seconds(&self) -> f32 {
        self.samples as f32 / self.rate as f32
    }
}

fn cannot(path: &Path, error: &hound::Error) -> String {
    format!("Cannot keep the voice note {}: {error}", path.display())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_ends_after_quiet_and_is_on_disk() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("note.wav");
        let mut note = Note::begin(&path, 8_000).unwrap();
        let words: Vec<i16> = (0..800)
            .map(|i| if i % 20 < 10 { 6_000 } else { -6_000 })
            .collect();
        let quiet = vec![3; 800];
        for _ in 0..10 {
            assert!(!note.take(&quiet).unwrap());
        }
        for _ in 0..10 {
            assert!(!note.take(&words).unwrap());
        }
        let more = (1..).find(|_| note.take(&quiet).unwrap());
        assert_eq!(more, Some(25));
        let news = note.end();
        let EarNews::NoteKept { file, seconds } = news else {
            panic!("{news:?}");
        };
        assert!((seconds - 4.5).abs() < 1e-3, "{seconds}");
        assert_eq!(hound::WavReader::open(file).unwrap().duration(), 36_000);
    }

    #[test]
    fn nothing_said_ends_it_after_five_seconds() {
        let folder = tempfile::tempdir().unwrap();
        let mut note = Note::begin(&folder.path().join("note.wav"), 8_000).unwrap();
        assert_eq!((1..).find(|_| note.take(&[0; 800]).unwrap()), Some(50));
    }

    #[test]
    fn a_place_that_cannot_be_written_is_named() {
        let why = Note::begin(Path::new("/nowhere/note.wav"), 8_000)
            .err()
            .unwrap();
        assert!(why.contains("/nowhere/note.wav"), "{why}");
    }
}
