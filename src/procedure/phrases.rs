//! What can be said, and whether a procedure's own words can be told from it.

use super::check::Draft;
use super::finding::{Finding, Findings};
use super::sound::Sounds;

/// Every phrase with a meaning of its own whatever the step, with the reasons for a skip and the
/// answers to a reading out of limits.
pub const STANDARD_PHRASES: &[&str] = &[
    "next instruction",
    "previous instruction",
    "say again",
    "standing by",
    "resume procedure",
    "work complete",
    "override skip",
    "confirm reading",
    "disregard",
    "begin countdown",
    "time remaining",
    "read torque",
    "assistance required",
    "parts list",
    "voice note",
    "remain silent",
    "speak aloud",
    "stop stop",
    "stop stop stop",
    "already done",
    "part missing",
    "tool missing",
    "not required",
    "measure again",
    "accept deviation",
    "begin afresh",
];

/// Words too weak to tell phrases apart by: they soak up noise.
const LITTLE_WORDS: &[&str] = &[
    "a", "an", "and", "at", "by", "for", "in", "is", "it", "my", "now", "of", "on", "please",
    "the", "to",
];

/// The shortest single word that may open a hold, in letters; shorter ones are heard in any talk
/// (common practice of radio phraseology, no source for the figure).
const SHORTEST_SINGLE_WORD: usize = 7;

/// The words that the speech model knows.
pub trait Words {
    /// Returns those of `words` that the model does not know, in the order given.
    fn unknown(&self, words: &[&str]) -> Vec<String>;

    /// Returns whether there is a model to ask; without one no word is unknown.
    fn can_tell(&self) -> bool {
        true
    }
}

/// No speech model: nothing can be said about words.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoModel;

impl Words for NoModel {
    fn unknown(&self, _words: &[&str]) -> Vec<String> {
        Vec::new()
    }

    fn can_tell(&self) -> bool {
        false
    }
}

/// Reports answers of holds that the model does not know or that sound like something else.
pub(super) fn check_phrases(draft: &Draft, words: &dyn Words, findings: &mut Findings) {
    let standard: Vec<(&str, Sounds, Sounds)> = STANDARD_PHRASES
        .iter()
        .map(|phrase| (*phrase, Sounds::of(phrase), Sounds::of(&strong(phrase))))
        .collect();
    let mut advised = false;
    for (number, step) in draft.procedure.steps.iter().enumerate() {
        let Some(hold) = &step.hold else { continue };
        let span = draft
            .places
            .step(number)
            .field("hold")
            .field("answer")
            .span();
        let answer = hold.answer.as_str();
        let said: Vec<&str> = answer.split(' ').collect();
        if !words.can_tell() && !advised {
            advised = true;
            findings.advice(span.start, |_| {
                Finding::advice(
                    span.clone(),
                    "Phrases are not checked: there is no speech model",
                )
                .label("the first of them")
                .help("fetch the model with `./models-fetch.sh`, then check again")
            });
        }
        let unknown = words.unknown(&said);
        if !unknown.is_empty() {
            findings.error(span.start, |_| {
                let unknown: Vec<String> = unknown.iter().map(|word| format!("`{word}`")).collect();
                let message = format!("The speech model does not know {}", unknown.join(", "));
                Finding::error(span.clone(), message)
                    .label("could never be heard")
                    .help("say it in other, common words")
            });
        }
        let strong_answer = strong(answer);
        if said.len() == 1 && answer.len() < SHORTEST_SINGLE_WORD {
            findings.error(span.start, |_| {
                Finding::error(span.clone(), format!("The answer \"{answer}\" is a single short word"))
                    .label("heard too easily in other talk")
                    .help("use two or more strong words that say what is seen, such as \"wheel on ground\"")
            });
        } else if strong_answer.is_empty() {
            findings.error(span.start, |_| {
                Finding::error(span.clone(), format!("The answer \"{answer}\" has only little words"))
                    .label("nothing to tell it by")
                    .help("use two or more strong words that say what is seen, such as \"wheel on ground\"")
            });
        }
        let (full, bare) = (Sounds::of(answer), Sounds::of(&strong_answer));
        let clash = standard.iter().find_map(|(phrase, sounds, strong_sounds)| {
            if contains(&said, phrase) {
                Some((phrase, "holds the words"))
            } else if full.are_like(sounds) || bare.are_like(strong_sounds) {
                Some((phrase, "sounds like"))
            } else {
                None
            }
        });
        if let Some((phrase, how)) = clash {
            findings.error(span.start, |_| {
                Finding::error(
                    span.clone(),
                    format!("The answer \"{answer}\" {how} \"{phrase}\""),
                )
                .label("could be taken for it")
                .help("choose words that share no sound with what can be said in this step")
            });
        }
    }
}

/// Returns `phrase` without its little words.
fn strong(phrase: &str) -> String {
    let words: Vec<&str> = phrase
        .split(' ')
        .filter(|word| !LITTLE_WORDS.contains(word))
        .collect();
    words.join(" ")
}

/// Returns whether the words of `phrase` stand together in `said`.
fn contains(said: &[&str], phrase: &str) -> bool {
    let phrase: Vec<&str> = phrase.split(' ').collect();
    said.windows(phrase.len()).any(|window| window == phrase)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// All that can be said at once must be told apart by the same measure that holds are judged by;
    /// "stop stop" and "stop stop stop" mean the same.
    #[test]
    fn standard_phrases_are_unlike_each_other() {
        for (i, one) in STANDARD_PHRASES.iter().enumerate() {
            for other in &STANDARD_PHRASES[i + 1..] {
                let like = Sounds::of(one).are_like(&Sounds::of(other));
                let same = one.starts_with("stop") && other.starts_with("stop");
                assert!(same || !like, "{one} / {other}");
            }
        }
    }
}
