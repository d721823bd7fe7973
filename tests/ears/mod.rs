//! What the tests of hearing share: voices made on the spot, and a room that plays them.

#![allow(dead_code)] // Each test program uses a part of it.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use benchcall::hear::{
    EarNews, Ears, EarsOptions, Expected, Heard, Pace, Source, SourceKind, SourceState, Vocabulary,
    Weight,
};

/// Every standard phrase.
pub const PHRASES: [&str; 17] = [
    "work complete",
    "next instruction",
    "previous instruction",
    "say again",
    "standing by",
    "resume procedure",
    "override skip",
    "begin countdown",
    "time remaining",
    "read torque",
    "confirm reading",
    "disregard",
    "parts list",
    "assistance required",
    "voice note",
    "stop stop",
    "wheel on the ground",
];

pub fn program() -> PathBuf {
    env!("CARGO_BIN_EXE_benchcall").into()
}

/// Returns whether every one of `tools` is there; says by name what is left untested where not, and
/// fails where everything has to be tested.
pub fn at_hand(what: &str, tools: &[&str]) -> bool {
    let missing: Vec<&&str> = tools.iter().filter(|tool| !is_there(tool)).collect();
    if !missing.is_empty() {
        println!("UNTESTED: {what}, for want of {missing:?}");
        assert!(
            std::env::var_os("BENCHCALL_ALL_TESTS").is_none(),
            "{what} must be tested, but {missing:?} is missing"
        );
    }
    missing.is_empty()
}

pub fn is_there(tool: &str) -> bool {
    match tool {
        "ears" => benchcall::hear::why_deaf().is_none(),
        path if path.starts_with('/') => Path::new(path).exists(),
        command => std::env::var_os("PATH").is_some_and(|path| {
            std::env::split_paths(&path).any(|folder| folder.join(command).is_file())
        }),
    }
}

pub fn vocabulary(phrases: &[&str]) -> Vocabulary {
    Vocabulary {
        phrases: phrases
            .iter()
            .map(|words| Expected {
                words: words.to_string(),
                weight: Weight::Ordinary,
            })
            .collect(),
        digits: None,
    }
}

/// A speech engine with a voice.
#[derive(Debug, Clone, Copy)]
pub enum Voice {
    Espeak(&'static str),
    Flite(&'static str),
    Festival(&'static str),
}

impl Voice {
    /// Speaks every one of `texts`; returns the rate and the sound of each.
    pub fn speak(self, texts: &[&str]) -> (u32, Vec<Vec<i16>>) {
        let folder = tempfile::tempdir().unwrap();
        let paths: Vec<PathBuf> = (0..texts.len())
            .map(|i| folder.path().join(format!("{i}.wav")))
            .collect();
        match self {
            Voice::Espeak(voice) => {
                for (text, path) in texts.iter().zip(&paths) {
                    run(Command::new("espeak-ng")
                        .args(["-v", voice, "-w"])
                        .arg(path)
                        .arg(text));
                }
            }
            Voice::Flite(voice) => {
                for (text, path) in texts.iter().zip(&paths) {
                    run(Command::new("flite")
                        .args(["-voice", voice, "-t", text, "-o"])
                        .arg(path));
                }
            }
            Voice::Festival(voice) => {
                let mut script = format!("({voice})\n");
                for (text, path) in texts.iter().zip(&paths) {
                    script += &format!(
                        "(utt.save.wave (utt.synth (Utterance Text \"{text}\")) \"{}\" 'riff)\n",
                        path.display()
                    );
                }
                let file = folder.path().join("say.scm");
                std::fs::write(&file, script).unwrap();
                run(Command::new("festival").arg("-b").arg(&file));
            }
        }
        let sounds: Vec<(u32, Vec<i16>)> = paths.iter().map(|path| wav(path)).collect();
        (
            sounds[0].0,
            sounds.into_iter().map(|(_, sound)| sound).collect(),
        )
    }
}

fn run(command: &mut Command) {
    let status = command
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status()
        .unwrap();
    assert!(status.success(), "{command:?}: {status}");
}

pub fn wav(path: &Path) -> (u32, Vec<i16>) {
    let mut reader = hound::WavReader::open(path).unwrap();
    let rate = reader.spec().sample_rate;
    (rate, reader.samples::<i16>().map(|s| s.unwrap()).collect())
}

/// Sound of 16 bit without a header.
pub fn raw(path: &Path) -> Vec<i16> {
    let bytes = std::fs::read(path).unwrap();
    bytes
        .chunks_exact(2)
        .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
        .collect()
}

/// One thing heard, and how long after the clip's last loud sample, in seconds of sound.
#[derive(Debug, Clone)]
pub struct After {
    pub clip: usize,
    pub seconds: f32,
    pub heard: Heard,
}

struct Room {
    rate: u32,
    sound: Vec<i16>,
    position: Arc<Mutex<usize>>,
}

impl Source for Room {
    fn rate(&self) -> u32 {
        self.rate
    }

    fn next(&mut self, samples: &mut Vec<i16>) -> SourceState {
        let mut position = self.position.lock().unwrap();
        let end = (*position + self.rate as usize * 3 / 100).min(self.sound.len());
        if *position == end {
            return SourceState::Ended;
        }
        samples.extend_from_slice(&self.sound[*position..end]);
        *position = end;
        SourceState::Sound
    }
}

/// Plays `clips` one after another, each followed by 2 s of silence, as fast as they decode; returns
/// everything heard.
pub fn hear(rate: u32, clips: &[Vec<i16>], vocabulary: Vocabulary) -> Vec<After> {
    let mut sound = vec![0; rate as usize / 2];
    let mut ends = Vec::new();
    for clip in clips {
        let last = clip.iter().rposition(|s| s.abs() > 500).unwrap_or(0);
        ends.push(sound.len() + last);
        sound.extend_from_slice(clip);
        sound.resize(sound.len() + 2 * rate as usize, 0);
    }
    let position = Arc::new(Mutex::new(0));
    let at = Arc::clone(&position);
    let room = Room {
        rate,
        sound,
        position,
    };
    let (send, news) = mpsc::channel();
    let ears = Ears::start(
        EarsOptions {
            program: program(),
            model: benchcall::hear::model_place().unwrap(),
            without: Vec::new(),
            source: SourceKind::Fed {
                source: Box::new(room),
                pace: Pace::Fast,
            },
        },
        move |what| {
            let position = *at.lock().unwrap();
            let _ = send.send((position, what));
        },
    );
    ears.listen_for(vocabulary);
    let mut all = Vec::new();
    loop {
        let (position, what) = news.recv_timeout(Duration::from_secs(120)).unwrap();
        match what {
            EarNews::Heard(heard) => {
                // What is heard before a clip's end belongs to it still, so only its start counts.
                let begins = |i: usize| ends[i].saturating_sub(clips[i].len());
                let clip = (0..ends.len()).rev().find(|&i| begins(i) <= position);
                let clip = clip.unwrap_or(0);
                all.push(After {
                    clip,
                    seconds: (position as f32 - ends[clip] as f32) / rate as f32,
                    heard,
                });
            }
            EarNews::Lost { why } => panic!("{why}"),
            EarNews::SourceEnded => return all,
            _ => {}
        }
    }
}

/// Waits for news that `wanted` picks, for at most 20 s; all before it is passed over.
pub fn wait_for<T>(news: &Receiver<EarNews>, wanted: impl Fn(&EarNews) -> Option<T>) -> T {
    let since = Instant::now();
    while since.elapsed() < Duration::from_secs(20) {
        if let Ok(what) = news.recv_timeout(Duration::from_millis(100))
            && let Some(found) = wanted(&what)
        {
            return found;
        }
    }
    panic!("nothing of the kind in 20 s");
}
