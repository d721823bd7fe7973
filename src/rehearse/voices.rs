//! The synthetic person's voices: what the speech engines of this machine can sound like.
//!
//! Four engines are known, each with its own way of being asked; all are child processes that
//! are given the text in a file or on their standard input, never on a command line. What they
//! give is brought to one rate and one level, so that a room can mix it with noise.

use std::fmt;
use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;

use super::piper;
use super::room::RATE;
use super::room::SPEECH_LEVEL;
use super::room::brought_to_level;
use crate::speak::child;
use crate::speak::engine::find_program;
use crate::speak::sound::Sound;

/// An engine that has not answered by then is stopped; it gets a second more for each further text.
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
    Piper,
}

impl SpeechEngine {
    const ALL: [Self; 4] = [Self::EspeakNg, Self::Flite, Self::Festival, Self::Piper];

    /// The engine's own name, as it stands before the colon of a voice.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::EspeakNg => "espeak-ng",
            Self::Flite => "flite",
            Self::Festival => "festival",
            Self::Piper => "piper",
        }
    }

    fn is_here(self) -> bool {
        match self {
            Self::Piper => piper::program().is_some(),
            other => find_program(other.name()).is_some(),
        }
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
            Self::Piper => piper::voices().into_iter().map(|(name, _)| name).collect(),
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
        let mut spoken = self.render_all(&[text])?;
        Ok(spoken.pop().unwrap_or_default())
    }

    /// Speaks several texts as [`Self::render`] does, in their order. An engine that is slow to start
    /// is started once for all of them.
    ///
    /// # Errors
    ///
    /// One line: which voice could not say what, and why.
    pub fn render_all(&self, texts: &[&str]) -> Result<Vec<Vec<i16>>, String> {
        // An engine that is given lines must not find more of them than there are texts.
        let lines: Vec<String> = texts.iter().map(|text| in_one_line(text)).collect();
        let patience = PATIENCE + Duration::from_secs(1) * texts.len() as u32;
        let wavs = match self.engine {
            SpeechEngine::EspeakNg => lines.iter().map(|line| self.by_espeak(line)).collect(),
            SpeechEngine::Flite => lines.iter().map(|line| self.by_flite(line)).collect(),
            SpeechEngine::Festival => self.by_festival(&lines, patience),
            SpeechEngine::Piper => self.by_piper(&lines, patience),
        };
        let wavs: Vec<Vec<u8>> = wavs.map_err(|why| self.cannot_say(texts, &why))?;
        if wavs.len() != texts.len() {
            let why = format!("It gave {} sounds for {} texts", wavs.len(), texts.len());
            return Err(self.cannot_say(texts, &why));
        }
        let spoken = texts.iter().zip(wavs).map(|(text, wav)| {
            Sound::from_wav(&wav)
                .and_then(|sound| sound.trimmed().at_rate(RATE))
                .and_then(|sound| match sound.samples.is_empty() {
                    true => Err(String::from("It gave silence")),
                    false => Ok(brought_to_level(sound.samples, SPEECH_LEVEL)),
                })
                .map_err(|why| self.cannot_say(&[text], &why))
        });
        spoken.collect()
    }

    fn cannot_say(&self, texts: &[&str], why: &str) -> String {
        let first = texts.first().copied().unwrap_or_default();
        let more = match texts.len() {
            0 | 1 => String::new(),
            count => format!(" and {} more", count - 1),
        };
        format!("{self} cannot say \"{first}\"{more}: {why}")
    }

    fn by_espeak(&self, text: &str) -> Result<Vec<u8>, String> {
        let speed = (ESPEAK_WORDS_PER_MINUTE * self.speed).round();
        let mut command = Command::new("espeak-ng");
        command
            .args(["--stdout", "--stdin", "-b", "1", "-z", "-v", &self.name])
            .args(["-s", &speed.to_string()]);
        child::answer_of(&mut command, text.as_bytes(), PATIENCE)
    }

    // The others write WAV only to files, for they go back to its head at the end.

    fn by_flite(&self, text: &str) -> Result<Vec<u8>, String> {
        let place = new_place()?;
        let (spoken, wav) = (place.path().join("text"), place.path().join("speech.wav"));
        fs::write(&spoken, text).map_err(|e| cannot("write", &spoken, &e))?;
        let stretch = 1.0 / self.speed;
        let mut command = Command::new("flite");
        command
            .args(["-voice", &self.name])
            .args(["--setf", &format!("duration_stretch={stretch}")])
            .arg("-f")
            .arg(&spoken)
            .arg("-o")
            .arg(&wav);
        child::answer_of(&mut command, b"", PATIENCE)?;
        read_file(&wav)
    }

    fn by_festival(&self, texts: &[String], patience: Duration) -> Result<Vec<Vec<u8>>, String> {
        let place = new_place()?;
        let wavs: Vec<PathBuf> = (0..texts.len())
            .map(|n| place.path().join(format!("{n}.wav")))
            .collect();
        let pace = if self.name.ends_with("_hts") {
            let speed = self.speed;
            format!("(set! hts_engine_params (cons (list \"-r\" {speed}) hts_engine_params))")
        } else {
            format!("(Parameter.set 'Duration_Stretch {})", 1.0 / self.speed)
        };
        let mut script = format!("(voice_{})\n{pace}\n", self.name);
        for (text, wav) in texts.iter().zip(&wavs) {
            script += &format!(
                "(utt.save.wave (utt.synth (Utterance Text {})) {} 'riff)\n",
                quoted(text),
                quoted(&wav.to_string_lossy())
            );
        }
        let file = place.path().join("speak.scm");
        fs::write(&file, script).map_err(|e| cannot("write", &file, &e))?;
        let mut command = Command::new("festival");
        child::answer_of(command.arg("-b").arg(&file), b"", patience)?;
        wavs.iter().map(|wav| read_file(wav)).collect()
    }

    fn by_piper(&self, texts: &[String], patience: Duration) -> Result<Vec<Vec<u8>>, String> {
        let program = piper::program().ok_or("piper is not here any more")?;
        let model = piper::voices().into_iter().find(|v| v.0 == self.name);
        let (_, model) = model.ok_or("Its voice is not here any more")?;
        let place = new_place()?;
        let mut command = piper::command(&program, &model, self.speed, place.path());
        let lines = texts.join("\n") + "\n";
        child::answer_of(&mut command, lines.as_bytes(), patience)?;
        let wavs = piper::spoken_in(place.path())?;
        wavs.iter().map(|wav| read_file(wav)).collect()
    }
}

fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A string as festival's Scheme reads it.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

fn new_place() -> Result<tempfile::TempDir, String> {
    tempfile::tempdir().map_err(|e| format!("Cannot make a directory: {e}"))
}

fn read_file(path: &Path) -> Result<Vec<u8>, String> {
    fs::read(path).map_err(|e| cannot("read", path, &e))
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
    #[test]
    fn no_text_leaves_its_string() {
        assert_eq!(quoted(r#"a "b" \c"#), r#""a \"b\" \\c""#);
        assert_eq!(in_one_line(" a\nb\t c "), "a b c");
    }
}
