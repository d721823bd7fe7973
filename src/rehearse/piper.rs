//! The speech engine piper: where it and its voices lie, and how it is asked.
//!
//! `models-fetch.sh --voices` puts both below `models/voices`. A program of that name in `PATH` does
//! as well, but the voices (an `.onnx` file with its `.onnx.json` beside it) are looked for there
//! only.

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;

use crate::hear::model_place;
use crate::speak::engine::find_program;

/// The folder of the voices, whether it is there or not.
fn place() -> PathBuf {
    let models = model_place().and_then(|model| model.parent().map(Path::to_path_buf));
    models
        .unwrap_or_else(|| PathBuf::from("models"))
        .join("voices")
}

/// The program, from its own folder or from `PATH`.
pub(super) fn program() -> Option<PathBuf> {
    let own = place().join("venv/bin/piper");
    find_program(&own.to_string_lossy()).or_else(|| find_program("piper"))
}

/// The English voices in their folder by name, in the order of their files.
pub(super) fn voices() -> Vec<(String, PathBuf)> {
    let files = fs::read_dir(place()).into_iter().flatten().flatten();
    let mut models: Vec<PathBuf> = files
        .map(|file| file.path())
        .filter(|path| {
            path.extension().is_some_and(|e| e == "onnx")
                && path.with_extension("onnx.json").is_file()
        })
        .collect();
    models.sort();
    let mut voices: Vec<(String, PathBuf)> = Vec::new();
    for model in models {
        if let Some(name) = name_of(&model)
            && voices.iter().all(|(known, _)| *known != name)
        {
            voices.push((name, model));
        }
    }
    voices
}

/// `joe` of `en_US-joe-medium.onnx`: language, name, quality. Nothing for other languages.
fn name_of(model: &Path) -> Option<String> {
    let stem = model.file_stem()?.to_str()?;
    let mut parts = stem.split('-');
    parts.next().filter(|part| part.starts_with("en_"))?;
    parts.next().map(String::from)
}

/// The command that speaks each line of its standard input into a file of its own in `folder`.
///
/// Its random variation is switched off, so that the same text always gives the same sound.
pub(super) fn command(program: &Path, model: &Path, speed: f32, folder: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .arg("-m")
        .arg(model)
        .arg("-d")
        .arg(folder)
        .args(["--noise-scale", "0", "--noise-w-scale", "0"])
        .args(["--length-scale", &(1.0 / speed).to_string()]);
    command
}

/// The files that [`command`] wrote, in the order of its lines: their names are points in time.
///
/// # Errors
///
/// One line where the folder cannot be read.
pub(super) fn spoken_in(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let cannot = |e: std::io::Error| format!("Cannot read {}: {e}", folder.display());
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let path = entry.map_err(cannot)?.path();
        let time = path.file_stem().and_then(|stem| stem.to_str());
        if let Some(time) = time.and_then(|time| time.parse::<u64>().ok()) {
            files.push((time, path));
        }
    }
    files.sort();
    Ok(files.into_iter().map(|(_, path)| path).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_voice_is_named_by_the_middle_of_its_file() {
        for (file, name) in [
            ("en_US-joe-medium.onnx", Some("joe")),
            ("en_GB-alba-low.onnx", Some("alba")),
            ("de_DE-kerstin-low.onnx", None),
            ("joe.onnx", None),
        ] {
            assert_eq!(name_of(Path::new(file)).as_deref(), name, "{file}");
        }
    }

    #[test]
    fn files_come_in_the_order_they_were_spoken() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["1000.wav", "999.wav", "note.txt"] {
            fs::write(folder.path().join(name), b"").unwrap();
        }
        let names: Vec<_> = spoken_in(folder.path()).unwrap();
        let names: Vec<_> = names.iter().filter_map(|path| path.file_stem()).collect();
        assert_eq!(names, ["999", "1000"]);
    }
}
