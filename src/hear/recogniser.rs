//! The listening streams of the recogniser. With `kept.rs` the only file that touches the speech library.
//! It runs in the child process, because the library ends the whole process when something inside it goes
//! wrong.

use std::fs;
use std::path::Path;
use std::sync::{Arc, PoisonError, RwLock};
use std::thread;

use vosk::{CompleteResult, DecodingState, LogLevel, Model, Recognizer};

use super::DigitCount;
use super::decoder::{Awaited, Decoder, Form, Gains, Opinion, Shown};
use super::kept::{KeptSound, Worker};
use super::open::FreeSpeech;
use super::opinion::{self, SecondOpinion};

/// How the listening streams and readings are decoded. A stream's text may change after each chunk of so many
/// frames of 10 ms: three times as often as by default, for twice the work. Alternatives are kept far enough
/// apart to compare readings by.
const LISTENING: [&str; 2] = ["--frames-per-chunk=9", "--lattice-beam=8.0"];
/// How kept phrases are decoded. They are there as a whole, and larger chunks take half the time. A beam
/// narrower by 2 than by default takes more than a third off the time of the model's own graph in noise; of 161 scores of
/// the tuning part one came to the other side of a bar by it, the safe one.
const KEPT: [&str; 2] = ["--frames-per-chunk=30", "--beam=8.0"];

/// Sound of less than 16 kHz is allowed.
const UPSAMPLED: &str = "--allow-upsample=true";
/// No random noise is added, by which the same sound would give other answers; see `forms.rs`.
const NOT_RANDOM: &str = "--dither=0";

/// The loaded model and the listening streams.
pub struct Recogniser {
    /// Asked for a word, it is borrowed alone.
    model: Arc<RwLock<Model>>,
    rate: f32,
    streams: [Option<Recognizer>; Form::COUNT],
    writing: Option<Recognizer>,
    worker: Option<Worker<KeptSound>>,
    opinions: Option<Worker<Option<SecondOpinion>>>,
    /// Awaited by nobody, but wanted.
    preparing: Option<Awaited<()>>,
    expecting: Option<Awaited<Option<()>>>,
}

impl Recogniser {
    /// Loads the model in `folder` to know words and to write speech down.
    ///
    /// # Errors
    /// A message that names the folder.
    pub fn load(folder: &Path) -> Result<Recogniser, String> {
        Ok(Recogniser::of(load(folder, LISTENING, &[UPSAMPLED])?))
    }

    /// Loads the model in `folder` to listen; `looking` is called before each decode of kept sound.
    ///
    /// # Errors
    /// A message that names the folder.
    pub fn listening(
        folder: &Path,
        looking: impl FnMut() + Send + 'static,
    ) -> Result<Recogniser, String> {
        let sound = [UPSAMPLED, NOT_RANDOM];
        let (listening, kept) = thread::scope(|scope| {
            let kept = scope.spawn(|| load(folder, KEPT, &sound));
            let listening = load(folder, LISTENING, &sound);
            (listening, kept.join())
        });
        let kept = kept.unwrap_or_else(|panicked| std::panic::resume_unwind(panicked))?;
        let mut recogniser = Recogniser::of(listening?);
        let kept = KeptSound::new(kept, Arc::clone(&recogniser.model), Box::new(looking));
        recogniser.worker = Some(Worker::start(move || kept));
        Ok(recogniser)
    }

    /// Asks the network that lies beside the model in `folder` too, if there is one.
    pub fn ask_for_opinions(&mut self, folder: &Path) {
        if opinion::folder(folder).is_some() {
            let folder = folder.to_path_buf();
            self.opinions = Some(Worker::start(move || SecondOpinion::beside(&folder)));
        }
    }

    /// Asks the other network beside listening, with the rate of the sound in Hz; nothing where there is none.
    fn ask_second<T: Send + 'static>(
        &self,
        ask: impl FnOnce(&mut SecondOpinion, u32) -> Option<T> + Send + 'static,
    ) -> Awaited<Option<T>> {
        let rate = self.rate as u32;
        match &self.opinions {
            Some(opinions) => opinions.work(move |second| ask(second.as_mut()?, rate)),
            None => Awaited::new(|| None),
        }
    }

    fn of(model: Model) -> Recogniser {
        Recogniser {
            model: Arc::new(RwLock::new(model)),
            rate: 16_000.0,
            streams: [None, None, None],
            writing: None,
            worker: None,
            opinions: None,
            preparing: None,
            expecting: None,
        }
    }

    /// Sets the rate of the sound to come, in Hz; a new stream has to begin.
    pub fn set_rate(&mut self, rate: u32) {
        self.rate = rate as f32;
        self.streams = [None, None, None];
        self.writing = None;
        let rate = self.rate;
        // What comes after it waits for it.
        let _ = self.beside(move |kept| kept.set_rate(rate)).get();
        self.preparing = Some(self.beside(KeptSound::prepare));
    }

    /// Gives `samples` to a stream of free speech that begins with the first of them; returns an
    /// utterance where the library took this for its end.
    pub fn write_down(&mut self, samples: &[i16]) -> Option<FreeSpeech> {
        if self.writing.is_none() {
            let model = self.model.read().unwrap_or_else(PoisonError::into_inner);
            self.writing = Recognizer::new(&model, self.rate);
            self.writing.as_mut()?.set_words(true);
        }
        let writing = self.writing.as_mut()?;
        match writing.accept_waveform(samples) {
            Ok(DecodingState::Finalized) => free_speech(writing.result()),
            _ => None,
        }
    }

    /// Returns what is left of free speech at the end of the sound.
    pub fn write_down_rest(&mut self) -> Option<FreeSpeech> {
        free_speech(self.writing.as_mut()?.final_result())
    }

    /// Returns whether the model knows `word`.
    pub fn knows(&mut self, word: &str) -> bool {
        let mut model = self.model.write().unwrap_or_else(PoisonError::into_inner);
        model.find_word(word).is_some()
    }
}

impl Decoder for Recogniser {
    type Kept = KeptSound;

    fn restart(&mut self, form: Form, grammar: &[String]) {
        let model = self.model.read().unwrap_or_else(PoisonError::into_inner);
        self.streams[form as usize] = Recognizer::new_with_grammar(&model, self.rate, grammar);
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

    fn beside<T: Send + 'static>(
        &mut self,
        work: impl FnOnce(&mut KeptSound) -> T + Send + 'static,
    ) -> Awaited<T> {
        match &self.worker {
            Some(worker) => worker.work(work),
            None => Awaited::new(|| None),
        }
    }

    fn expect(&mut self, phrases: &Arc<[String]>) -> bool {
        let phrases = Arc::clone(phrases);
        self.expecting = Some(self.ask_second(move |second, _| {
            second.prepare(&phrases);
            Some(())
        }));
        self.opinions.is_some()
    }

    fn opinion(&mut self, sound: Vec<i16>, phrases: &Arc<[String]>) -> Awaited<Option<Opinion>> {
        let phrases = Arc::clone(phrases);
        self.ask_second(move |second, rate| second.of(&sound, rate, &phrases))
    }

    fn gains_and_words(
        &mut self,
        sound: Vec<i16>,
        phrases: &Arc<[String]>,
        is_wanted: impl FnOnce(&Gains) -> bool + Send + 'static,
    ) -> Awaited<Option<(Gains, Option<usize>)>> {
        let phrases = Arc::clone(phrases);
        self.ask_second(move |second, rate| second.with_words(&sound, rate, &phrases, is_wanted))
    }

    fn reading_opinion(
        &mut self,
        sound: Vec<i16>,
        count: DigitCount,
        also: Vec<String>,
    ) -> Awaited<Option<Opinion>> {
        self.ask_second(move |second, rate| second.reading(&sound, rate, count, &also))
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

fn load(folder: &Path, decoding: [&str; 2], sound: &[&str]) -> Result<Model, String> {
    vosk::set_log_level(LogLevel::Error);
    let adapted = adapted(folder, &decoding, sound).map_err(|error| {
        format!(
            "Cannot read the speech model in {}: {error}",
            folder.display()
        )
    })?;
    Model::new(adapted.path().to_string_lossy())
        .ok_or_else(|| format!("Cannot load the speech model in {}", folder.display()))
}

/// Makes a folder of links to the model in `folder` with other settings, `decoding` and for the `sound`. It
/// may go as soon as the model is loaded.
fn adapted(folder: &Path, decoding: &[&str], sound: &[&str]) -> std::io::Result<tempfile::TempDir> {
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
    let changed = [("model.conf", decoding), ("mfcc.conf", sound)];
    for (name, options) in changed {
        let text = fs::read_to_string(folder.join("conf").join(name))?;
        let names: Vec<&str> = options.iter().filter_map(|o| o.split('=').next()).collect();
        let is_kept = |line: &&str| !names.iter().any(|name| line.starts_with(name));
        let lines: Vec<&str> = text
            .lines()
            .filter(is_kept)
            .chain(options.iter().copied())
            .collect();
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
