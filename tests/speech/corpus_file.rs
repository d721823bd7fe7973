//! The files of the corpus: a recording and the transcript beside it.

use std::fs;
use std::path::Path;
use std::path::PathBuf;

use benchcall::rehearse::room::RATE;

use crate::mixing::Track;
use crate::split::Part;

/// Something said, in seconds from the recording's first sample, without the silence around it.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    pub start: f64,
    pub end: f64,
    pub words: String,
}

/// What the head of a transcript tells.
#[derive(Debug, Clone)]
pub struct Head {
    pub real: bool,
    /// `commands`, `readings`, `talk` or `people`.
    pub kind: &'static str,
    pub part: Part,
    /// `flite:slt@1.0`, a speaker's name, `people`, or `none`.
    pub voice: String,
    /// `none` or the noise's name.
    pub noise: String,
    /// Decibels; nothing where there is no noise.
    pub ratio: Option<f64>,
    pub noise_begins: NoiseBegins,
    pub in_workshop: bool,
    /// What may be said; empty for the program's standard phrases.
    pub phrases: Vec<String>,
    /// Those of them which open a hold.
    pub grave: Vec<String>,
    /// `3` or `1.2`, where a reading of that many digits is wanted.
    pub digits: Option<String>,
}

impl Head {
    /// Of something synthetic that nobody says, dry and without noise, where the program's standard
    /// phrases may be said.
    pub fn new(kind: &'static str, part: Part) -> Self {
        Self {
            real: false,
            kind,
            part,
            voice: String::from("none"),
            noise: String::from("none"),
            ratio: None,
            noise_begins: NoiseBegins::Before,
            in_workshop: false,
            phrases: Vec::new(),
            grave: Vec::new(),
            digits: None,
        }
    }

    /// With a noise at a ratio.
    pub fn in_noise(mut self, noise: Option<(&Track, f64)>) -> Self {
        self.noise = noise.map_or_else(|| String::from("none"), |(track, _)| track.name.clone());
        self.ratio = noise.map(|(_, ratio)| ratio);
        self
    }

    /// Voice, noise and ratio, for a file's name.
    pub fn short(&self) -> String {
        match self.ratio {
            Some(ratio) => format!("{}-{}-{ratio}dB", self.voice, self.noise),
            None => format!("{}-clean", self.voice),
        }
    }
}

/// When noise begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoiseBegins {
    /// 2 s before the first word, and it goes on to the end.
    Before,
    /// With every utterance anew, until shortly after its end.
    WithSpeech,
}

/// The transcript's text. No words are the line `nothing`.
pub fn transcript(head: &Head, said: &[Said]) -> String {
    let mut text = String::new();
    let mut line = |key: &str, value: &str| text += &format!("{key}: {value}\n");
    line("made", if head.real { "real" } else { "synthetic" });
    line("kind", head.kind);
    line("part", &head.part.to_string());
    line("voice", &head.voice);
    line("noise", &head.noise);
    if let Some(ratio) = head.ratio {
        line("ratio", &ratio.to_string());
    }
    line(
        "onset",
        match head.noise_begins {
            NoiseBegins::Before => "steady",
            NoiseBegins::WithSpeech => "with speech",
        },
    );
    line("room", if head.in_workshop { "workshop" } else { "dry" });
    if !head.phrases.is_empty() {
        line("phrases", &head.phrases.join("; "));
    }
    if !head.grave.is_empty() {
        line("grave", &head.grave.join("; "));
    }
    if let Some(digits) = &head.digits {
        line("digits", digits);
    }
    text.push('\n');
    for one in said {
        text += &format!("{:.3}\t{:.3}\t{}\n", one.start, one.end, one.words);
    }
    if said.is_empty() {
        text += "nothing\n";
    }
    text
}

/// The folder that the corpus is written to.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    written: usize,
    seconds: f64,
    said: usize,
}

impl Folder {
    /// Makes the folder where it is missing.
    ///
    /// # Errors
    ///
    /// One line where it cannot be made.
    pub fn new(path: &Path) -> Result<Self, String> {
        fs::create_dir_all(path).map_err(|e| format!("Cannot make {}: {e}", path.display()))?;
        Ok(Self {
            path: path.to_path_buf(),
            written: 0,
            seconds: 0.0,
            said: 0,
        })
    }

    /// Writes one recording and its transcript. The name gets the part and the kind before it.
    ///
    /// # Errors
    ///
    /// One line where a file cannot be written.
    pub fn keep(
        &mut self,
        name: &str,
        head: &Head,
        samples: &[i16],
        said: &[Said],
    ) -> Result<(), String> {
        let plain = |c: char| {
            if c.is_alphanumeric() || ".+@".contains(c) {
                c
            } else {
                '-'
            }
        };
        let name: String = format!("{}-{}-{name}", head.part, head.kind)
            .chars()
            .map(plain)
            .collect();
        let wav = self.path.join(format!("{name}.wav"));
        let cannot = |path: &Path, e: &dyn std::fmt::Display| {
            format!("Cannot write {}: {e}", path.display())
        };
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: RATE,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut writer = hound::WavWriter::create(&wav, spec).map_err(|e| cannot(&wav, &e))?;
        let mut samples_to = writer.get_i16_writer(samples.len() as u32);
        for &sample in samples {
            samples_to.write_sample(sample);
        }
        samples_to.flush().map_err(|e| cannot(&wav, &e))?;
        writer.finalize().map_err(|e| cannot(&wav, &e))?;
        let txt = self.path.join(format!("{name}.txt"));
        fs::write(&txt, transcript(head, said)).map_err(|e| cannot(&txt, &e))?;
        self.written += 1;
        self.seconds += samples.len() as f64 / f64::from(RATE);
        self.said += said.len();
        Ok(())
    }

    /// `12 recordings, 0.3 h, 400 utterances` since this was asked last.
    pub fn account(&mut self) -> String {
        let account = format!(
            "{} recordings, {:.2} h, {} utterances",
            self.written,
            self.seconds / 3600.0,
            self.said
        );
        (self.written, self.seconds, self.said) = (0, 0.0, 0);
        account
    }
}
