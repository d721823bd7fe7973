//! The trial of phrases: each is asked for twice, and the real ears tell what became of it.

use std::sync::mpsc::{Receiver, RecvTimeoutError};
use std::time::{Duration, Instant};

use crate::hear::{EarNews, Ears, Expected, Vocabulary, Weight};
use crate::run::sayable;
use crate::speak::{Voice, VoiceNews};

use super::tap::{Shared, lock};
use super::{Interrupted, is_interrupted};

/// How often each phrase is asked for.
const TIMES: usize = 2;
/// How long a phrase may take from being asked for to being heard.
const PATIENCE: Duration = Duration::from_secs(6);
/// How long the voice may take to say one phrase.
const SPEAKING: Duration = Duration::from_secs(6);

/// What became of a phrase that was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Came {
    AtOnce,
    AskedBack,
    /// Another phrase was heard.
    Other(String),
    NotHeard,
}

/// A phrase and what became of it each time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tried {
    pub phrase: String,
    pub came: Vec<Came>,
}

impl Tried {
    /// Tells whether the phrase will be trouble here.
    pub fn is_trouble(&self) -> bool {
        self.came.iter().any(|came| *came != Came::AtOnce)
    }

    /// Returns it as a line of the report.
    pub fn line(&self) -> String {
        let came: Vec<String> = self
            .came
            .iter()
            .map(|came| match came {
                Came::AtOnce => "heard at once".into(),
                Came::AskedBack => "asked back".into(),
                Came::Other(other) => format!("taken for \"{other}\""),
                Came::NotHeard => "not heard".into(),
            })
            .collect();
        let mark = if self.is_trouble() { "!" } else { " " };
        format!("{mark} {:<22} {}", self.phrase, came.join(", "))
    }
}

/// Returns everything that can be said in every procedure.
pub fn vocabulary() -> Vocabulary {
    let standard = sayable::standard().into_iter();
    let phrases = standard.map(|(words, _)| words.to_string());
    Vocabulary {
        phrases: Expected::each(phrases, Weight::Ordinary).collect(),
        digits: None,
    }
}

/// The program's voice, with its news.
pub type Speaking = (Voice, Receiver<VoiceNews>);

/// Asks for every phrase; ends early where the person stops it or the microphone is lost.
pub fn every_phrase(
    ears: &Ears,
    news: &Receiver<EarNews>,
    voice: Option<&Speaking>,
    taken: &Shared,
    interrupted: &Interrupted,
) -> Vec<Tried> {
    let mut all = Vec::new();
    // A third "stop" is said after two at the most.
    let phrases = vocabulary().phrases.into_iter().map(|p| p.words);
    for phrase in phrases.filter(|words| words != "stop stop stop") {
        let mut came = Vec::new();
        for time in 1..=TIMES {
            println!("Say ({time} of {TIMES}): \"{phrase}\"");
            if let Some(voice) = voice.filter(|_| time == 1) {
                speak(&phrase, ears, voice, taken);
            }
            match wait(&phrase, news, taken, interrupted) {
                Some(one) => came.push(one),
                None => {
                    if !came.is_empty() {
                        all.push(Tried { phrase, came });
                    }
                    return all;
                }
            }
        }
        let tried = Tried { phrase, came };
        println!("{}", tried.line());
        all.push(tried);
    }
    all
}

/// Says a phrase while neither ears nor measurement listen.
fn speak(phrase: &str, ears: &Ears, (voice, news): &Speaking, taken: &Shared) {
    ears.deaf(true);
    lock(taken).passes = true;
    voice.say(phrase);
    let since = Instant::now();
    while since.elapsed() < SPEAKING {
        match news.recv_timeout(Duration::from_millis(100)) {
            Ok(VoiceNews::Ended) | Err(RecvTimeoutError::Disconnected) => break,
            _ => {}
        }
    }
    lock(taken).passes = false;
    ears.deaf(false);
}

/// Waits for what comes of a phrase; nothing where it is over.
fn wait(
    phrase: &str,
    news: &Receiver<EarNews>,
    taken: &Shared,
    interrupted: &Interrupted,
) -> Option<Came> {
    // What was heard before it was asked for is no answer.
    for _ in news.try_iter() {}
    let since = Instant::now();
    while since.elapsed() < PATIENCE {
        if is_interrupted(interrupted) || lock(taken).ended {
            return None;
        }
        match news.recv_timeout(Duration::from_millis(100)) {
            Ok(EarNews::Heard(heard)) if heard.text != phrase => {
                return Some(Came::Other(heard.text));
            }
            Ok(EarNews::Heard(heard)) => {
                return Some(if heard.sure {
                    Came::AtOnce
                } else {
                    Came::AskedBack
                });
            }
            Err(RecvTimeoutError::Disconnected) => return None,
            _ => {}
        }
    }
    Some(Came::NotHeard)
}
