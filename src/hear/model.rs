//! Where the speech model lies, what it knows, and what to say where there is none.

use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use crate::procedure::Words;

/// What a program says that was built without the speech library.
pub const NO_LIBRARY: &str =
    "Built without the speech library: run ./models-fetch.sh and build again to be heard";

/// Returns the folder of the speech model, where one is found: below `BENCHCALL_MODELS`, beside the
/// program or above it, in the working folder, or in the platform's place for data.
pub fn model_place() -> Option<PathBuf> {
    let mut places = Vec::new();
    if let Some(set) = std::env::var_os("BENCHCALL_MODELS") {
        places.push(PathBuf::from(set));
    } else {
        let program = std::env::current_exe().ok();
        let above = program.iter().flat_map(|p| p.ancestors().skip(1).take(4));
        places.extend(above.map(|folder| folder.join("models")));
        places.push(PathBuf::from("models"));
        if let Some(folders) = directories::ProjectDirs::from("", "", "benchcall") {
            places.push(folders.data_dir().join("models"));
        }
    }
    places
        .into_iter()
        .map(|place| place.join("en"))
        .find(|place| place.join("am/final.mdl").is_file())
}

/// Returns why this program cannot hear, and the cure, in one line; nothing where it can.
pub fn why_deaf() -> Option<String> {
    if !cfg!(ears) {
        Some(NO_LIBRARY.to_string())
    } else if model_place().is_none() {
        Some("No speech model found: run ./models-fetch.sh, or set BENCHCALL_MODELS".to_string())
    } else {
        None
    }
}

/// Returns what the recogniser child is started with: this program's own file and the model's folder.
///
/// # Errors
/// Why this program cannot hear, as [`why_deaf`] says it.
pub fn child_places() -> Result<(PathBuf, PathBuf), String> {
    if let Some(why) = why_deaf() {
        return Err(why);
    }
    let model = model_place().ok_or("No speech model found: run ./models-fetch.sh")?;
    let program = std::env::current_exe()
        .map_err(|error| format!("Cannot find the program's own file: {error}"))?;
    Ok((program, model))
}

/// Tells whether this program can hear: it was built with the library, and there is a model.
pub fn has_ears() -> bool {
    why_deaf().is_none()
}

/// What the speech model knows of the words of one text.
pub struct ModelWords {
    unknown: BTreeSet<String>,
}

impl ModelWords {
    /// Asks the model about every word of `text`, all at once; none where there is no model to ask.
    pub fn of(text: &str) -> Option<ModelWords> {
        let (program, model) = child_places().ok()?;
        let words: BTreeSet<&str> = text
            .split(|c: char| !c.is_ascii_lowercase() && c != '\'')
            .filter(|word| !word.is_empty())
            .collect();
        let words: Vec<&str> = words.into_iter().collect();
        let unknown = words_unknown(&program, &model, &words).ok()?;
        Some(ModelWords {
            unknown: unknown.into_iter().collect(),
        })
    }
}

impl Words for ModelWords {
    fn unknown(&self, words: &[&str]) -> Vec<String> {
        words
            .iter()
            .filter(|word| self.unknown.contains(**word))
            .map(|w| w.to_string())
            .collect()
    }
}

/// Returns those of `words` that the model in `model` does not know, asking a child of `program`
/// (benchcall itself).
///
/// # Errors
/// A message where the child cannot be asked.
pub fn words_unknown(program: &Path, model: &Path, words: &[&str]) -> Result<Vec<String>, String> {
    let lines: String = words.iter().map(|word| format!("{word}\n")).collect();
    let told = ask(program, model, "--words", lines.into_bytes())
        .map_err(|why| format!("Cannot ask the speech model for words: {why}"))?;
    Ok(told.lines().map(str::to_string).collect())
}

/// Gives a child of `program` (benchcall itself) all of `input` in one of its ways of being asked;
/// returns all that it answers.
///
/// # Errors
/// Why it cannot be asked, or the last line of what it complained of.
pub(super) fn ask(
    program: &Path,
    model: &Path,
    way: &str,
    input: Vec<u8>,
) -> Result<String, String> {
    let cannot = |error: std::io::Error| error.to_string();
    let mut child = Command::new(program)
        .arg("ears")
        .arg(model)
        .arg(way)
        .env("OMP_NUM_THREADS", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(cannot)?;
    if let Some(mut to_child) = child.stdin.take() {
        // On a thread of its own: the child answers while it is still being asked. One that ended
        // early is told by its exit code below.
        std::thread::spawn(move || to_child.write_all(&input));
    }
    let output = child.wait_with_output().map_err(cannot)?;
    if output.status.success() {
        Ok(String::from_utf8_lossy(&output.stdout).into_owned())
    } else {
        let why = String::from_utf8_lossy(&output.stderr);
        let why = why.lines().last().unwrap_or("it ended without a word");
        Err(why.to_string())
    }
}
