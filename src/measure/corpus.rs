//! The recordings of a folder with their transcripts.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use super::score::GRACE;
use super::transcript::{Said, Spoken, Transcript};
use crate::complaint::Complaint;
use crate::hear::{Expected, Vocabulary, Weight};
use crate::procedure::CALL_SIGN;
use crate::understand::weight_of;
use crate::wording::Wording;

/// How far a line may reach beyond its recording, in seconds: times are written rounded.
const ROUNDING: f64 = 0.1;

/// One recording with its transcript.
#[derive(Debug, Clone)]
pub struct Clip {
    /// Its path below the folder, with `/` on every platform.
    pub name: String,
    pub path: PathBuf,
    pub transcript: Transcript,
    /// In seconds.
    pub seconds: f64,
}

impl Clip {
    /// Returns what is said, with times.
    pub fn lines(&self) -> Vec<Spoken> {
        match &self.transcript.said {
            Said::Nothing => Vec::new(),
            Said::Lines(lines) => lines.clone(),
            Said::Whole(words) => vec![Spoken {
                start: 0.0,
                // What is heard at its very end is answered in the silence after it.
                end: self.seconds,
                words: words.clone(),
            }],
        }
    }

    /// Tells whether the end of speech is known, so that a delay from it means something.
    pub fn is_timed(&self) -> bool {
        matches!(self.transcript.said, Said::Lines(_))
    }

    /// Returns what the program would listen for.
    pub fn vocabulary(&self) -> Vocabulary {
        // What is said weighs the same with the call sign before it.
        let signed = Wording::new(BTreeMap::new(), Some(CALL_SIGN.to_owned()));
        let standard = self.transcript.phrases.iter().map(|words| Expected {
            words: words.clone(),
            weight: weight_of(signed.without_call_sign(words).unwrap_or(words)),
        });
        let grave = Expected::each(self.transcript.grave.clone(), Weight::Grave);
        Vocabulary {
            phrases: standard.chain(grave).collect(),
            digits: self.transcript.digits,
        }
    }

    /// Returns every phrase that may be said.
    pub fn phrases(&self) -> Vec<String> {
        let Transcript { phrases, grave, .. } = &self.transcript;
        phrases.iter().chain(grave).cloned().collect()
    }
}

/// Reads all transcripts below `folder`, in the order of their names.
///
/// # Errors
/// Every mistake in them, each with file, line and what to write instead.
pub fn read(folder: &Path) -> Result<Vec<Clip>, Complaint> {
    let mut files = BTreeSet::new();
    find(folder, &mut files)?;
    let is = |path: &Path, end: &str| {
        path.extension()
            .is_some_and(|e| e.eq_ignore_ascii_case(end))
    };
    let mut clips = Vec::new();
    let mut mistakes = Vec::new();
    for path in &files {
        if is(path, "txt") && !path.with_extension("wav").is_file() {
            mistakes.push(format!(
                "{}: there is no {} to this transcript: add it, or name the text otherwise than `.txt`",
                path.display(),
                path.with_extension("wav").display()
            ));
        }
        if !is(path, "wav") {
            continue;
        }
        match clip(folder, path) {
            Ok(clip) => clips.push(clip),
            Err(more) => mistakes.extend(more),
        }
    }
    if !mistakes.is_empty() {
        let count = mistakes.len();
        let s = if count == 1 { "" } else { "s" };
        return Err(mistakes.into_iter().fold(
            Complaint::input(format!("{count} mistake{s} in the transcripts")),
            Complaint::because,
        ));
    }
    Ok(clips)
}

fn clip(folder: &Path, path: &Path) -> Result<Clip, Vec<String>> {
    let beside = path.with_extension("txt");
    let text = fs::read_to_string(&beside).map_err(|error| {
        let (path, beside) = (path.display(), beside.display());
        vec![format!(
            "{path}: cannot read {beside}: {error}: write there what is said, or `nothing`"
        )]
    })?;
    let at = |line: usize, what: &str, cure: &str| {
        format!("{}:{line}: {what}: {cure}", beside.display())
    };
    let transcript = Transcript::read(&text).map_err(|mistakes| {
        let told = mistakes.iter().map(|m| at(m.line, &m.what, &m.cure));
        told.collect::<Vec<String>>()
    })?;
    let seconds = length(path).map_err(|why| vec![why])?;
    if let Said::Lines(lines) = &transcript.said {
        let beyond: Vec<String> = lines
            .iter()
            .filter(|line| line.end > seconds + ROUNDING)
            .map(|line| {
                let number = text.lines().position(|l| is_line_of(l, line));
                at(
                    number.unwrap_or_default() + 1,
                    &format!(
                        "It ends at {} s, after the recording at {seconds:.2} s",
                        line.end
                    ),
                    "write times within it",
                )
            })
            .collect();
        if !beyond.is_empty() {
            return Err(beyond);
        }
    }
    let name = path.strip_prefix(folder).unwrap_or(path);
    let parts: Vec<_> = name.iter().map(|part| part.to_string_lossy()).collect();
    Ok(Clip {
        name: parts.join("/"),
        path: path.to_path_buf(),
        transcript,
        seconds,
    })
}

fn is_line_of(text: &str, line: &Spoken) -> bool {
    let mut fields = text.split('\t').map(|field| field.trim().parse::<f64>());
    matches!((fields.next(), fields.next()), (Some(Ok(start)), Some(Ok(end)))
        if start == line.start && end == line.end)
}

fn length(path: &Path) -> Result<f64, String> {
    let reader = hound::WavReader::open(path).map_err(|error| {
        format!(
            "{}: no recording ({error}): write it as a WAV file",
            path.display()
        )
    })?;
    Ok(f64::from(reader.duration()) / f64::from(reader.spec().sample_rate.max(1)))
}

fn find(folder: &Path, files: &mut BTreeSet<PathBuf>) -> Result<(), Complaint> {
    let cannot = |error| Complaint::file("Cannot read the folder", folder, &error);
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let path = entry.map_err(cannot)?.path();
        if path.is_dir() {
            find(&path, files)?;
        } else {
            files.insert(path);
        }
    }
    Ok(())
}

/// Returns how long nothing said in `clip` can be answered, in seconds.
pub fn outside(clip: &Clip) -> f64 {
    super::score::outside(&clip.lines(), clip.seconds)
}

/// Says how lines and what is heard belong together, for the table's foot.
pub fn rule() -> String {
    format!(
        "What is heard from a phrase's start to {GRACE} s after its end belongs to it; all else is false."
    )
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_command_weighs_the_same_with_the_call_sign() {
        let weights = |sign: &str| {
            let words = ["time remaining", "work complete", "override skip"];
            let words = words.map(|words| format!("{sign}{words}"));
            let text = format!(
                "phrases: {}; benchmark reached\n\nnothing",
                words.join("; ")
            );
            let clip = Clip {
                name: String::new(),
                path: PathBuf::new(),
                seconds: 1.0,
                transcript: Transcript::read(&text).unwrap(),
            };
            let phrases = clip.vocabulary().phrases.into_iter();
            phrases.map(|phrase| phrase.weight).collect::<Vec<_>>()
        };
        let plain = weights("");
        assert_eq!(weights("bench "), plain);
        assert_ne!(plain[0], plain[1]);
        assert_eq!(plain[3], Weight::Ordinary);
    }
}
