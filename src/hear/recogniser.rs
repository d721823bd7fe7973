//! The recogniser: the only file that touches the speech library. It runs in the child process,
//! because the library ends the whole process when something inside it goes wrong.

use std::fs;
use std::path::Path;

use vosk::{CompleteResult, DecodingState, LogLevel, Model, Recognizer};

use super::decoder::{Alternative, Decoder, Form, Graph, Shown};
use super::open::FreeSpeech;

/// The loaded model and the listening streams.
pub struct Recogniser {
    model: Model,
    rate: f32,
    streams: [Option<Recognizer>; Form::COUNT],
    /// Kept, because what it has worked out of the model's own graph makes the next decode ten times
    /// faster.
    open: Option<Recognizer>,
    looking: Box<dyn FnMut()>,
}

impl Recogniser {
    /// Loads the model in `folder`.
    ///
    /// # Errors
    /// A message that names the folder.
    pub fn load(folder: &Path) -> Result<Recogniser, String> {
        vosk::set_log_level(LogLevel::Error);
        let adapted = adapted(folder).map_err(|error| {
            format!(
                "Cannot read the speech model in {}: {error}",
                folder.display()
            )
        })?;
        let model = Model::new(adapted.path().to_string_lossy())
            .ok_or_else(|| format!("Cannot load the speech model in {}", folder.display()))?;
        Ok(Recogniser {
            model,
            rate: 16_000.0,
            streams: [None, None, None],
            open: None,
            looking: Box::new(|| {}),
        })
    }

    /// Sets the rate of the sound to come, in Hz; a new stream has to begin.
    pub fn set_rate(&mut self, rate: u32) {
        self.rate = rate as f32;
        self.streams = [None, None, None];
        self.open = None;
    }

    /// Sets what is done before each decode of kept sound.
    pub fn on_looking(&mut self, looking: impl FnMut() + 'static) {
        self.looking = Box::new(looking);
    }

    /// Gives `samples` to a stream of free speech that begins with the first of them; returns an
    /// utterance where the library took this for its end.
    pub fn write_down(&mut self, samples: &[i16]) -> Option<FreeSpeech> {
        if self.open.is_none() {
            self.open = Recognizer::new(&self.model, self.rate);
            self.open.as_mut()?.set_words(true);
        }
        let open = self.open.as_mut()?;
        match open.accept_waveform(samples) {
            Ok(DecodingState::Finalized) => free_speech(open.result()),
            _ => None,
        }
    }

    /// Returns what is left of free speech at the end of the sound.
    pub fn write_down_rest(&mut self) -> Option<FreeSpeech> {
        free_speech(self.open.as_mut()?.final_result())
    }

    /// Returns whether the model knows `word`.
    pub fn knows(&mut self, word: &str) -> bool {
        self.model.find_word(word).is_some()
    }
}

impl Decoder for Recogniser {
    fn restart(&mut self, form: Form, grammar: &[String]) {
        self.streams[form as usize] = Recognizer::new_with_grammar(&self.model, self.rate, grammar);
    }

    fn hear(&mut self, form: Form, samples: &[i16]) -> Shown {
        let Some(stream) = &mut self.streams[form as usize] else {
            return Shown::Partial(String::new());
        };
        match stream.accept_waveform(samples) {
            Ok(DecodingState::Finalized) => {
                let text = stream.result().single().map(|one| one.text.to_string());
                Shown::Ended(text.unwrap_or_default())
            }
            _ => Shown::Partial(stream.partial_result().partial.to_string()),
        }
    }

    fn decode(&mut self, graph: Graph<'_>, samples: &[i16], count: u16) -> Vec<Alternative> {
        (self.looking)();
        match graph {
            Graph::Closed(grammar) => Recognizer::new_with_grammar(&self.model, self.rate, grammar)
                .map_or_else(Vec::new, |mut fresh| decode(&mut fresh, samples, count)),
            Graph::Open => {
                if self.open.is_none() {
                    self.open = Recognizer::new(&self.model, self.rate);
                }
                self.open
                    .as_mut()
                    .map_or_else(Vec::new, |open| decode(open, samples, count))
            }
        }
    }
}

fn free_speech(result: CompleteResult<'_>) -> Option<FreeSpeech> {
    let one = result.single()?;
    let words = one.result.iter();
    let speech = FreeSpeech {
        words: words.map(|w| (w.word.to_string(), w.end)).collect(),
    };
    (!speech.words.is_empty()).then_some(speech)
}

/// Decodes `samples` from the beginning: after a final result a recogniser starts anew.
fn decode(recogniser: &mut Recognizer, samples: &[i16], count: u16) -> Vec<Alternative> {
    recogniser.set_max_alternatives(count);
    recogniser.set_words(true);
    // All at once: the library looks for the end of an utterance after each call, and an end in the
    // middle would hide what came before it.
    if recogniser.accept_waveform(samples).is_err() {
        return Vec::new();
    }
    match recogniser.final_result() {
        CompleteResult::Multiple(many) => many
            .alternatives
            .iter()
            .map(|one| Alternative {
                text: one.text.trim().to_string(),
                confidence: one.confidence,
                words: one
                    .result
                    .iter()
                    .map(|word| (word.start, word.end))
                    .collect(),
            })
            .collect(),
        CompleteResult::Single(_) => Vec::new(),
    }
}

/// Makes a folder of links to the model in `folder` with three settings changed: alternatives far
/// enough apart to compare readings by, a text that changes sooner, and sound of less than 16 kHz
/// allowed. It may go as soon as the model is loaded.
fn adapted(folder: &Path) -> std::io::Result<tempfile::TempDir> {
    let folder = folder.canonicalize()?;
    let adapted = tempfile::Builder::new()
        .prefix("benchcall-model-")
        .tempdir()?;
    for entry in fs::read_dir(&folder)? {
        let name = entry?.file_name();
        if name != "conf" {
            link(&folder.join(&name), &adapted.path().join(&name))?;
        }
    }
    let conf = adapted.path().join("conf");
    fs::create_dir(&conf)?;
    // The stream's text changes after each chunk: three times as often as by default, for twice the
    // work.
    let changed = [
        (
            "model.conf",
            vec!["--lattice-beam=8.0", "--frames-per-chunk=9"],
        ),
        ("mfcc.conf", vec!["--allow-upsample=true"]),
    ];
    for (name, options) in changed {
        let text = fs::read_to_string(folder.join("conf").join(name))?;
        let names: Vec<&str> = options.iter().filter_map(|o| o.split('=').next()).collect();
        let is_kept = |line: &&str| !names.iter().any(|name| line.starts_with(name));
        let lines: Vec<&str> = text.lines().filter(is_kept).chain(options).collect();
        fs::write(conf.join(name), lines.join("\n") + "\n")?;
    }
    Ok(adapted)
}

#[cfg(unix)]
fn link(from: &Path, to: &Path) -> std::io::Result<()> {
    std::os::unix::fs::symlink(from, to)
}

#[cfg(not(unix))]
fn link(from: &Path, to: &Path) -> std::io::Result<()> {
    if from.is_dir() {
        std::os::windows::fs::symlink_dir(from, to)
    } else {
        std::os::windows::fs::symlink_file(from, to)
    }
}
