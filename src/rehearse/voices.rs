//! The synthetic person's voices: what the speech engines of this machine can sound like.
//!
//! Three engines are known, each with its own way of being asked; all are child processes that
//! are given the text in a file or on their standard input, never on a command line. What they
//! give is brought to one rate and one level, so that a room can mix it with noise.

use std::fmt;
use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use super::room::RATE;
use super::room::SPEECH_LEVEL;
use super::room::brought_to_level;
use crate::speak::child;
use crate::speak::engine::find_program;
use crate::speak::sound::Sound;

/// An engine that has not answered by then is stopped.
const PATIENCE: Duration = Duration::from_secs(20);
/// espeak-ng's usual speed, in words a minute.
const ESPEAK_WORDS_PER_MINUTE: f32 = 165.0;
/// Voices of espeak-ng that sound unlike each other, as language and variant.
const ESPEAK_VOICES: &[&str] = &[
    "en-us",
    "en-us+m3",
    "en-us+f2",
    "en-us+f4",
    "en-gb",
    "en-gb+m7",
    "en-gb+f3",
    "en-gb-x-rp",
    "en-gb-scotland",
    "en-029",
];

/// A program that speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SpeechEngine {
    EspeakNg,
    Flite,
    Festival,
}

impl SpeechEngine {
    const ALL: [Self; 3] = [Self::EspeakNg, Self::Flite, Self::Festival];

    /// The engine's own name, as it stands before the colon of a voice.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::EspeakNg => "espeak-ng",
            Self::Flite => "flite",
            Self::Festival => "festival",
        }
    }

    /// The programs it needs; all must be there.
    fn programs(self) -> &'static [&'static str] {
        match self {
            Self::EspeakNg => &["espeak-ng"],
            Self::Flite => &["flite"],
            Self::Festival => &["festival", "text2wave"],
        }
    }

    fn is_here(self) -> bool {
        self.programs()
            .iter()
            .all(|name| find_program(name).is_some())
    }

    /// The names of its English voices on this machine; none where it cannot tell.
    fn voices(self) -> Vec<String> {
        match self {
            Self::EspeakNg => {
                let known = lines_of("espeak-ng", &["--voices=en"]);
                let languages: Vec<&str> = known
                    .iter()
                    .filter_map(|line| line.split_whitespace().nth(1))
                    .collect();
                ESPEAK_VOICES
                    .iter()
                    .filter(|voice| {
                        let language = voice.split('+').next().unwrap_or(voice);
                        languages.contains(&language)
                    })
                    .map(|&voice| String::from(voice))
                    .collect()
            }
            // "Voices available: kal awb_time kal16 …"; one can only tell the time, and kal is kal16
            // as it sounds over a telephone.
            Self::Flite => lines_of("flite", &["-lv"])
                .iter()
                .filter_map(|line| line.strip_prefix("Voices available:"))
                .flat_map(str::split_whitespace)
                .filter(|voice| !voice.ends_with("_time") && *voice != "kal")
                .map(String::from)
                .collect(),
            // "(cmu_us_slt_arctic_hts ked_diphone kal_diphone)"
            Self::Festival => lines_of("festival", &["-b", "(print (voice.list))"])
                .iter()
                .filter_map(|line| line.strip_prefix('(')?.strip_suffix(')'))
                .flat_map(str::split_whitespace)
                .map(String::from)
                .collect(),
        }
    }
}

/// A voice of an engine, at a speed.
#[derive(Debug, Clone, PartialEq)]
pub struct SyntheticVoice {
    pub engine: SpeechEngine,
    /// The engine's own name for it.
    pub name: String,
    /// How fast it speaks: 1 is the engine's usual speed, 1.2 is a fifth faster.
    pub speed: f32,
}

/// Every voice of this machine at its usual speed: the engines in turn, so that the first few are
/// as unlike as can be.
#[must_use]
pub fn voices_here() -> Vec<SyntheticVoice> {
    let mut engines: Vec<_> = SpeechEngine::ALL
        .into_iter()
        .filter(|engine| engine.is_here())
        .map(|engine| engine.voices().into_iter().map(move |name| (engine, name)))
        .collect();
    let mut voices = Vec::new();
    loop {
        let round: Vec<_> = engines.iter_mut().filter_map(Iterator::next).collect();
        if round.is_empty() {
            return voices;
        }
        voices.extend(round.into_iter().map(|(engine, name)| SyntheticVoice {
            engine,
            name,
            speed: 1.0,
        }));
    }
}

/// The voice of that name, `flite:slt`; the start of a name will do where it is the only one, and
/// an engine alone is its first voice.
///
/// # Errors
///
/// One line that names the voices there are.
pub fn voice_named(name: &str) -> Result<SyntheticVoice, String> {
    choose(name, voices_here())
}

fn choose(wanted: &str, mut voices: Vec<SyntheticVoice>) -> Result<SyntheticVoice, String> {
    let names: Vec<String> = voices.iter().map(ToString::to_string).collect();
    let exact = names.iter().position(|name| name == wanted);
    let of_engine = voices
        .iter()
        .position(|voice| voice.engine.name() == wanted);
    let mut starting = (0..names.len()).filter(|&n| names[n].starts_with(wanted));
    let only = match (starting.next(), starting.next()) {
        (Some(only), None) => Some(only),
        _ => None,
    };
    match exact.or(of_engine).or(only) {
        Some(place) => Ok(voices.swap_remove(place)),
        None if names.is_empty() => Err(String::from(
            "No voice to rehearse with: no speech engine found in PATH; install espeak-ng, flite \
             or festival",
        )),
        None => Err(format!("No voice {wanted}; there is {}", names.join(", "))),
    }
}

impl fmt::Display for SyntheticVoice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.engine.name(), self.name)
    }
}

impl SyntheticVoice {
    /// Speaks a text: 16 kHz mono, without silence before and after, at the level at which a
    /// person speaks in a [`super::room::Room`].
    ///
    /// # Errors
    ///
    /// One line: which voice could not say what, and why.
    pub fn render(&self, text: &str) -> Result<Vec<i16>, String> {
        let not_said = |why: String| format!("{self} cannot say \"{text}\": {why}");
        let sound = self
            .wav(text)
            .and_then(|wav| Sound::from_wav(&wav))
            .and_then(|sound| sound.trimmed().at_rate(RATE))
            .map_err(not_said)?;
        if sound.samples.is_empty() {
            return Err(not_said(String::from("It gave silence")));
        }
        Ok(brought_to_level(sound.samples, SPEECH_LEVEL))
    }

    fn wav(&self, text: &str) -> Result<Vec<u8>, String> {
        if self.engine == SpeechEngine::EspeakNg {
            let speed = (ESPEAK_WORDS_PER_MINUTE * self.speed).round();
            let mut command = Command::new("espeak-ng");
            command
                .args(["--stdout", "--stdin", "-b", "1", "-z", "-v", &self.name])
                .args(["-s", &speed.to_string()]);
            return child::answer_of(&mut command, text.as_bytes(), PATIENCE);
        }
        // The other two write WAV only to a file, for they go back to its head at the end.
        let place = tempfile::tempdir().map_err(|e| format!("Cannot make a directory: {e}"))?;
        let (spoken, wav) = (place.path().join("text"), place.path().join("speech.wav"));
        fs::write(&spoken, text).map_err(|e| cannot("write", &spoken, &e))?;
        child::answer_of(&mut self.file_command(&spoken, &wav), b"", PATIENCE)?;
        fs::read(&wav).map_err(|e| cannot("read", &wav, &e))
    }

    /// The command that speaks the text of one file into another.
    fn file_command(&self, spoken: &Path, wav: &Path) -> Command {
        let stretch = 1.0 / self.speed;
        if self.engine == SpeechEngine::Festival {
            let pace = if self.name.ends_with("_hts") {
                let speed = self.speed;
                format!("(set! hts_engine_params (cons (list \"-r\" {speed}) hts_engine_params))")
            } else {
                format!("(Parameter.set 'Duration_Stretch {stretch})")
            };
            let mut command = Command::new("text2wave");
            command
                .args(["-eval", &format!("(voice_{})", self.name)])
                .args(["-eval", &pace])
                .arg("-o")
                .args([wav, spoken]);
            return command;
        }
        let mut command = Command::new("flite");
        command
            .args(["-voice", &self.name])
            .args(["--setf", &format!("duration_stretch={stretch}")])
            .arg("-f")
            .arg(spoken)
            .arg("-o")
            .arg(wav);
        command
    }
}

fn cannot(what: &str, path: &Path, e: &std::io::Error) -> String {
    format!("Cannot {what} {}: {e}", path.display())
}

fn lines_of(program: &str, arguments: &[&str]) -> Vec<String> {
    child::answer_of(Command::new(program).args(arguments), b"", PATIENCE)
        .map(|bytes| {
            String::from_utf8_lossy(&bytes)
                .lines()
                .map(String::from)
                .collect()
        })
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn voices() -> Vec<SyntheticVoice> {
        [
            (SpeechEngine::EspeakNg, "en-us"),
            (SpeechEngine::Flite, "slt16"),
            (SpeechEngine::Flite, "slt"),
            (SpeechEngine::Festival, "kal_diphone"),
        ]
        .map(|(engine, name)| SyntheticVoice {
            engine,
            name: String::from(name),
            speed: 1.0,
        })
        .to_vec()
    }

    #[track_caller]
    fn check(wanted: &str, expected: &str) {
        let found = choose(wanted, voices()).map_or_else(|why| why, |voice| voice.to_string());
        assert_eq!(found, expected, "{wanted}");
    }

    #[test]
    fn a_voice_is_chosen_by_name() {
        check("flite:slt", "flite:slt");
        check("flite", "flite:slt16");
        check("festival:kal", "festival:kal_diphone");
        check("espeak", "espeak-ng:en-us");
        check(
            "f",
            "No voice f; there is espeak-ng:en-us, flite:slt16, flite:slt, festival:kal_diphone",
        );
    }
}
