//! A WAV file as a source.

use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use hound::{SampleFormat, WavReader};

use super::source::{Source, SourceState};

/// Silence after the last sample, in seconds: the last words need time to be decided on.
const AFTER: f32 = 2.0;

/// A WAV file of any usual kind, mixed to mono.
pub struct Recording {
    path: PathBuf,
    reader: WavReader<BufReader<File>>,
    /// Samples of silence still to come at the end.
    after: usize,
    broken: bool,
}

impl Recording {
    /// Opens the WAV file at `path`.
    ///
    /// # Errors
    /// A message with the path where it cannot be read, is no WAV file or has a rate below 8 kHz.
    pub fn open(path: &Path) -> Result<Recording, String> {
        let reader = WavReader::open(path)
            .map_err(|error| format!("Cannot read the recording {}: {error}", path.display()))?;
        let rate = reader.spec().sample_rate;
        if !(8_000..=384_000).contains(&rate) {
            return Err(format!(
                "Cannot hear the recording {}: its rate is {rate} Hz, not 8000 to 384 000",
                path.display()
            ));
        }
        Ok(Recording {
            path: path.to_path_buf(),
            reader,
            after: (AFTER * rate as f32) as usize,
            broken: false,
        })
    }

    fn frames(&mut self, most: usize, mono: &mut Vec<i16>) -> Result<(), hound::Error> {
        let spec = self.reader.spec();
        let channels = usize::from(spec.channels.max(1));
        let count = most * channels;
        let samples: Vec<f32> = match spec.sample_format {
            SampleFormat::Float => self
                .reader
                .samples::<f32>()
                .take(count)
                .collect::<Result<_, _>>()?,
            SampleFormat::Int => {
                let full = (1_i64 << (spec.bits_per_sample - 1)) as f32;
                self.reader
                    .samples::<i32>()
                    .take(count)
                    .map(|sample| sample.map(|s| s as f32 / full))
                    .collect::<Result<_, _>>()?
            }
        };
        mono.extend(samples.chunks(channels).map(|frame| {
            let mean = frame.iter().sum::<f32>() / frame.len() as f32;
            (mean * 32_768.0) as i16
        }));
        Ok(())
    }
}

impl Source for Recording {
    fn rate(&self) -> u32 {
        self.reader.spec().sample_rate
    }

    fn next(&mut self, samples: &mut Vec<i16>) -> SourceState {
        if self.broken {
            return SourceState::Ended;
        }
        let piece = self.rate() as usize * 3 / 100;
        let before = samples.len();
        if let Err(error) = self.frames(piece, samples) {
            let path = self.path.display();
            self.broken = true;
            return SourceState::Lost(format!("Cannot read on in the recording {path}: {error}"));
        }
        if samples.len() > before {
            return SourceState::Sound;
        }
        let silence = self.after.min(piece);
        if silence == 0 {
            return SourceState::Ended;
        }
        self.after -= silence;
        samples.resize(before + silence, 0);
        SourceState::Sound
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all_of(
        spec: hound::WavSpec,
        write: impl Fn(&mut hound::WavWriter<std::io::BufWriter<File>>),
    ) -> Vec<i16> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("sound.wav");
        let mut writer = hound::WavWriter::create(&path, spec).unwrap();
        write(&mut writer);
        writer.finalize().unwrap();
        let mut recording = Recording::open(&path).unwrap();
        let mut samples = Vec::new();
        while recording.next(&mut samples) == SourceState::Sound {}
        let silence = (AFTER * spec.sample_rate as f32) as usize;
        samples.truncate(samples.len() - silence);
        samples
    }

    #[test]
    fn every_usual_kind_becomes_the_same_mono_sound() {
        let spec = |channels, bits_per_sample, sample_format| hound::WavSpec {
            channels,
            sample_rate: 8_000,
            bits_per_sample,
            sample_format,
        };
        let eight = all_of(spec(1, 8, SampleFormat::Int), |w| {
            w.write_sample(64_i8).unwrap()
        });
        let sixteen = all_of(spec(2, 16, SampleFormat::Int), |w| {
            w.write_sample(32_000_i16).unwrap();
            w.write_sample(768_i16).unwrap();
        });
        let more = all_of(spec(1, 24, SampleFormat::Int), |w| {
            w.write_sample(1 << 22).unwrap()
        });
        let float = all_of(spec(1, 32, SampleFormat::Float), |w| {
            w.write_sample(0.5_f32).unwrap()
        });
        for (kind, samples) in [
            ("8", eight),
            ("16", sixteen),
            ("24", more),
            ("float", float),
        ] {
            assert_eq!(samples, [16_384], "{kind}");
        }
    }

    #[test]
    fn what_is_no_recording_says_which() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("words.wav");
        std::fs::write(&path, "no sound").unwrap();
        let why = Recording::open(&path).err().unwrap();
        assert!(why.contains("words.wav"), "{why}");
    }
}
