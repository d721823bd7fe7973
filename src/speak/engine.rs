//! The speech engine: where it is, what it is given, what comes back.

use std::env;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;
use std::time::Duration;

use super::Silent;
use super::VoiceOptions;
use super::child;
use super::sound::Sound;

/// The engine that is looked for where none is named.
const USUAL_ENGINE: &str = "espeak-ng";
/// An engine that has not rendered a text by then is stopped.
pub(super) const PATIENCE: Duration = Duration::from_secs(10);
/// No call is longer than this many characters; a minute of speech has about 900.
const LONGEST_TEXT: usize = 4_000;

/// A speech engine with the voice it speaks in.
#[derive(Debug, Clone)]
pub(super) struct Engine {
    program: PathBuf,
    voice: String,
    words_per_minute: u16,
    pitch: u8,
}

impl Engine {
    /// Finds the engine.
    ///
    /// # Errors
    ///
    /// [`Silent`] with the cure where there is none.
    pub(super) fn find(options: &VoiceOptions) -> Result<Self, Silent> {
        let name = options.engine.as_deref().unwrap_or(USUAL_ENGINE);
        let program = find_program(name).ok_or_else(|| {
            let cure = match options.engine {
                Some(_) => String::from("give the name or path of one that is installed"),
                None => format!("install it (Debian: apt-get install {USUAL_ENGINE})"),
            };
            Silent(format!(
                "No speech: no speech engine {name} found in PATH; {cure}"
            ))
        })?;
        Ok(Self {
            program,
            voice: options.voice.clone(),
            words_per_minute: options.words_per_minute.clamp(80, 450),
            pitch: options.pitch.min(99),
        })
    }

    /// Renders a text that went through [`speakable`], trimmed and at `rate`.
    ///
    /// # Errors
    ///
    /// One line: why there is no sound.
    pub(super) fn render(&self, text: &str, rate: u32) -> Result<Sound, String> {
        let mut command = Command::new(&self.program);
        command
            .args(["--stdout", "--stdin", "-b", "1", "-z"])
            .args(["-v", &self.voice])
            .args(["-s", &self.words_per_minute.to_string()])
            .args(["-p", &self.pitch.to_string()]);
        let wav = child::answer_of(&mut command, text.as_bytes(), PATIENCE)?;
        let sound = Sound::from_wav(&wav)
            .map_err(|why| format!("{} gave no sound: {why}", self.program.display()))?
            .trimmed();
        if sound.samples.is_empty() {
            return Err(format!("{} gave silence", self.program.display()));
        }
        sound.at_rate(rate)
    }
}

/// A text as an engine may be given it: one line without control characters and without the
/// brackets by which espeak-ng is told phonemes, at most 4,000 characters; empty where nothing in
/// it can be spoken.
pub(super) fn speakable(text: &str) -> String {
    let plain = text.chars().take(LONGEST_TEXT).map(|c| {
        let unspoken = c.is_control()
            || matches!(c, '[' | ']' | '\u{200b}'..='\u{200f}'
            | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{e000}'..='\u{f8ff}'
            | '\u{feff}' | '\u{fffd}');
        if unspoken { ' ' } else { c }
    });
    let plain: String = plain.collect();
    if !plain.chars().any(char::is_alphanumeric) {
        return String::new();
    }
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A program by its path, or by its name looked for in `PATH`.
pub(crate) fn find_program(name: &str) -> Option<PathBuf> {
    if name.contains('/') {
        return Some(PathBuf::from(name)).filter(|path| is_program(path));
    }
    let path = env::var_os("PATH")?;
    env::split_paths(&path)
        .map(|directory| directory.join(name))
        .find(|candidate| is_program(candidate))
}

#[cfg(unix)]
fn is_program(path: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    path.metadata()
        .is_ok_and(|found| found.is_file() && found.permissions().mode() & 0o111 != 0)
}

#[cfg(not(unix))]
fn is_program(path: &Path) -> bool {
    path.is_file()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_speech_is_taken_out() {
        for (text, expected) in [
            (
                "Tighten nut 3 to 110 newton metres.",
                "Tighten nut 3 to 110 newton metres.",
            ),
            (" two\nlines\tand\u{0}\u{7}a bell ", "two lines and a bell"),
            ("-v whisper is only text", "-v whisper is only text"),
            ("[[h@'loU]] there", "h@'loU there"),
            ("zero\u{200b}width\u{feff}", "zero width"),
            ("… — \u{1b}[2J", "… — 2J"),
            ("…", ""),
            ("", ""),
        ] {
            assert_eq!(speakable(text), expected, "{text:?}");
        }
        assert!(speakable(&"nut ".repeat(9_000)).len() <= LONGEST_TEXT);
    }

    #[test]
    fn a_missing_engine_is_named_with_its_cure() {
        let options = VoiceOptions {
            engine: Some(String::from("no-such-engine")),
            ..VoiceOptions::default()
        };
        assert_eq!(
            Engine::find(&options).unwrap_err().to_string(),
            "No speech: no speech engine no-such-engine found in PATH; \
             give the name or path of one that is installed"
        );
        assert_eq!(find_program("/etc/passwd"), None);
        assert_eq!(
            find_program("sh").map(|found| found.ends_with("sh")),
            Some(true)
        );
    }
}
