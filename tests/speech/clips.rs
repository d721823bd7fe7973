//! Real sound: the clips of a folder, unpacked by sox.

use std::fs;
use std::path::Path;
use std::path::PathBuf;
use std::process::Command;

use benchcall::rehearse::room::RATE;
use benchcall::speak::sound::Sound;

/// A file of sound.
#[derive(Debug, Clone)]
pub struct Clip {
    path: PathBuf,
}

impl Clip {
    /// What stands before `__` in the file's name, `-` as a space; the whole name where there is none.
    pub fn group(&self) -> String {
        let name = self.name();
        let group = name.split_once("__").map_or(name, |(group, _)| group);
        group.replace('-', " ")
    }

    /// The file's name without its ending.
    pub fn name(&self) -> &str {
        self.path
            .file_stem()
            .and_then(|stem| stem.to_str())
            .unwrap_or_default()
    }

    /// Its sound at 16 kHz.
    ///
    /// # Errors
    ///
    /// One line where sox is missing or cannot read the file.
    pub fn samples(&self) -> Result<Vec<i16>, String> {
        let output = Command::new("sox")
            // Without dither, so that the same file always gives the same samples.
            .arg("-D")
            .arg(&self.path)
            .args([
                "-t",
                "wav",
                "-b",
                "16",
                "-c",
                "1",
                "-r",
                &RATE.to_string(),
                "-",
            ])
            .output()
            .map_err(|e| format!("Cannot start sox, which unpacks sound: {e}"))?;
        if !output.status.success() {
            let why = String::from_utf8_lossy(&output.stderr);
            let why = why.lines().last().unwrap_or("it did not say why");
            return Err(format!("sox cannot read {}: {why}", self.path.display()));
        }
        Sound::from_wav(&output.stdout)?
            .at_rate(RATE)
            .map(|sound| sound.samples)
    }
}

/// The clips of a folder, sorted by name.
///
/// # Errors
///
/// One line where it cannot be read or holds none.
pub fn of_folder(folder: &Path) -> Result<Vec<Clip>, String> {
    let cannot = |e: std::io::Error| format!("Cannot read {}: {e}", folder.display());
    let mut clips = Vec::new();
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let path = entry.map_err(cannot)?.path();
        if path.extension().is_some_and(|e| e == "ogg" || e == "wav") {
            clips.push(Clip { path });
        }
    }
    if clips.is_empty() {
        return Err(format!("{} holds no clips", folder.display()));
    }
    clips.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(clips)
}
