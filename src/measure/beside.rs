//! What hears the same beside the program: the recogniser's own open vocabulary with keyword
//! matching, and pocketsphinx with a grammar of the same phrases. Neither doubts: all is sure.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::corpus::Clip;
use super::hearing::{Hearing, Machine};
use super::score::Event;
use super::spot::spot;
use crate::hear::{DigitCount, Recording, Source, SourceState, numbers, open};
use crate::speak::sound::Sound;

/// The rate that pocketsphinx and its model want, in Hz.
const RATE: u32 = 16_000;
const POCKETSPHINX: &str = "pocketsphinx_continuous";
/// Where Debian's `pocketsphinx-en-us` puts the model.
const MODEL: &str = "/usr/share/pocketsphinx/model/en-us";

/// Hears `clip` by the model's own graph, in utterances cut by the library; a phrase counts where its
/// words stand together in an utterance.
///
/// # Errors
/// Where the child fails.
pub fn open_vocabulary(clip: &Clip, machine: &Machine) -> Result<Hearing, String> {
    let mut recording = Recording::open(&clip.path)?;
    let rate = f64::from(recording.rate());
    let utterances = open::free_speech(&machine.program, &machine.model, &mut recording)?;
    let phrases = clip.phrases();
    let mut hearing = Hearing::default();
    for utterance in utterances {
        let words = &utterance.speech.words;
        let words: Vec<(&str, f64)> = words
            .iter()
            .map(|(word, end)| (word.as_str(), f64::from(*end)))
            .collect();
        let accepted = Some(utterance.position as f64 / rate);
        let events = events(&words, accepted, &phrases, clip.transcript.digits);
        hearing.events.extend(events);
    }
    Ok(hearing)
}

/// Pocketsphinx as it is installed here.
#[derive(Debug, Clone)]
pub struct Pocketsphinx {
    model: PathBuf,
    /// Every word that its dictionary has.
    dictionary: std::collections::HashSet<String>,
}

impl Pocketsphinx {
    /// Returns it.
    ///
    /// # Errors
    /// What is missing, and how to get it.
    pub fn here() -> Result<Pocketsphinx, String> {
        let found = Command::new(POCKETSPHINX)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
        if found.is_err() {
            return Err(format!(
                "there is no `{POCKETSPHINX}`: install the packages pocketsphinx and pocketsphinx-en-us"
            ));
        }
        let model = PathBuf::from(MODEL);
        let dictionary = fs::read_to_string(model.join("cmudict-en-us.dict")).map_err(|error| {
            format!("its model in {MODEL} cannot be read ({error}): install pocketsphinx-en-us")
        })?;
        let words = dictionary.lines().filter_map(|line| line.split(' ').next());
        Ok(Pocketsphinx {
            model,
            dictionary: words.map(str::to_string).collect(),
        })
    }

    /// Hears `clip` with a grammar of what may be said in it, in utterances cut by its own end of
    /// speech. It tells when words were spoken, not when it decided.
    ///
    /// # Errors
    /// Where it fails.
    pub fn hear(&self, clip: &Clip) -> Result<Hearing, String> {
        let cannot = |error: &dyn std::fmt::Display| {
            format!(
                "Cannot let pocketsphinx hear {}: {error}",
                clip.path.display()
            )
        };
        let folder = tempfile::tempdir().map_err(|e| cannot(&e))?;
        let (sound, grammar) = (
            folder.path().join("sound.wav"),
            folder.path().join("said.gram"),
        );
        write_sound(&clip.path, &sound).map_err(|e| cannot(&e))?;
        let phrases: Vec<String> = clip
            .phrases()
            .into_iter()
            .filter(|phrase| phrase.split(' ').all(|word| self.dictionary.contains(word)))
            .collect();
        fs::write(&grammar, jsgf(&phrases, clip.transcript.digits)).map_err(|e| cannot(&e))?;
        let output = Command::new(POCKETSPHINX)
            .arg("-infile")
            .arg(&sound)
            .arg("-jsgf")
            .arg(&grammar)
            .arg("-hmm")
            .arg(self.model.join("en-us"))
            .arg("-dict")
            .arg(self.model.join("cmudict-en-us.dict"))
            .args(["-time", "yes", "-logfn"])
            .arg(folder.path().join("log"))
            .stdin(Stdio::null())
            .output()
            .map_err(|e| cannot(&e))?;
        if !output.status.success() {
            let log = fs::read_to_string(folder.path().join("log")).unwrap_or_default();
            let why = log
                .lines()
                .rfind(|line| line.contains("ERROR") || line.contains("FATAL"));
            return Err(cannot(&why.unwrap_or("it ended without a word")));
        }
        let text = String::from_utf8_lossy(&output.stdout);
        let mut hearing = Hearing::default();
        for utterance in utterances(&text) {
            let events = events(&utterance, None, &phrases, clip.transcript.digits);
            hearing.events.extend(events);
        }
        Ok(hearing)
    }
}

/// Returns what counts as heard in an utterance of words with their ends, in seconds.
fn events(
    words: &[(&str, f64)],
    accepted: Option<f64>,
    phrases: &[String],
    digits: Option<DigitCount>,
) -> Vec<Event> {
    let text: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
    let found = spot(&text, phrases, digits);
    let event = |found: super::spot::Found| Event {
        accepted,
        ended: words.get(found.last).map(|(_, end)| *end),
        words: found.words,
        score: None,
        sure: true,
    };
    found.into_iter().map(event).collect()
}

/// Returns the utterances in what pocketsphinx prints: a line of text, then `word start end
/// confidence` for each of its words.
fn utterances(printed: &str) -> Vec<Vec<(&str, f64)>> {
    let mut all: Vec<Vec<(&str, f64)>> = Vec::new();
    for line in printed.lines() {
        let fields: Vec<&str> = line.split_whitespace().collect();
        let timed = match fields.as_slice() {
            [word, start, end, _] if start.parse::<f64>().is_ok() => {
                end.parse().ok().map(|end: f64| (*word, end))
            }
            _ => None,
        };
        match (timed, all.last_mut()) {
            (Some((word, end)), Some(utterance)) => {
                // Silence and noise stand in angle or square brackets, other pronunciations in round.
                if !word.starts_with(['<', '[', '+']) {
                    let word = word.split('(').next().unwrap_or(word);
                    utterance.push((word, end));
                }
            }
            (Some(_), None) => {}
            (None, _) => all.push(Vec::new()),
        }
    }
    all
}

/// Returns a grammar of one or more `phrases` and of readings with `digits`. More than one, because in
/// noise its end of speech does not come between two.
fn jsgf(phrases: &[String], digits: Option<DigitCount>) -> String {
    let mut choices: Vec<String> = phrases.to_vec();
    if let Some(count) = digits {
        let digit = |count: u8| vec!["<digit>"; usize::from(count)].join(" ");
        choices.push(match count.decimals {
            0 => digit(count.whole),
            decimals => format!("{} point {}", digit(count.whole), digit(decimals)),
        });
    }
    let digits = numbers::WORDS[..10].join(" | ");
    format!(
        "#JSGF V1.0;\ngrammar said;\npublic <said> = ({})+;\n<digit> = {digits};\n",
        choices.join(" | ")
    )
}

/// Writes the recording at `from` as `to`, mono at the rate that is wanted.
fn write_sound(from: &Path, to: &Path) -> Result<(), String> {
    let mut recording = Recording::open(from)?;
    let rate = recording.rate();
    let mut samples = Vec::new();
    loop {
        match recording.next(&mut samples) {
            SourceState::Sound | SourceState::Nothing => {}
            SourceState::Lost(why) => return Err(why),
            SourceState::Ended => break,
        }
    }
    let sound = Sound { rate, samples }.at_rate(RATE)?;
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let written = hound::WavWriter::create(to, spec).and_then(|mut writer| {
        for sample in sound.samples {
            writer.write_sample(sample)?;
        }
        writer.finalize()
    });
    written.map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_pocketsphinx_prints_is_cut_into_utterances() {
        let printed = "work complete\n<sil> 0.880 1.180 1.000000\nwork 1.190 1.520 1.000000\n\
                       complete(2) 1.530 2.120 1.000000\n[NOISE] 2.2 2.4 1.0\n\
                       say again\nsay 4.0 4.4 1.0\nagain 4.4 4.9 1.0\n";
        assert_eq!(
            utterances(printed),
            [
                vec![("work", 1.52), ("complete", 2.12)],
                vec![("say", 4.4), ("again", 4.9)],
            ]
        );
    }

    #[test]
    fn the_grammar_holds_phrases_and_readings() {
        let phrases = ["say again".to_string(), "stop stop".to_string()];
        let count = |whole, decimals| {
            Some(DigitCount {
                whole,
                decimals,
                cardinals: false,
            })
        };
        let grammar = jsgf(&phrases, count(1, 2));
        assert!(
            grammar.contains("(say again | stop stop | <digit> point <digit> <digit>)+;"),
            "{grammar}"
        );
        assert!(jsgf(&phrases, count(3, 0)).contains("| <digit> <digit> <digit>)+;"));
        assert!(jsgf(&phrases, None).contains("(say again | stop stop)+;"));
    }

    #[test]
    fn what_stands_together_is_heard_where_it_ended() {
        let words = [("say", 1.0), ("again", 1.5), ("please", 2.0)];
        let events = events(&words, Some(2.8), &["say again".to_string()], None);
        assert_eq!(events.len(), 1);
        assert_eq!(
            (events[0].ended, events[0].accepted),
            (Some(1.5), Some(2.8))
        );
        assert!(events[0].sure);
    }
}
