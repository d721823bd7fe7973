//! The gate for what is said: whether a phrase can be heard at all, and told from everything else that
//! can be said with it.
//!
//! The same gate holds for the standard phrases (a test), for a person's own words, and for the answers
//! of holds. What a procedure names but nobody says (waits, conditions) does not pass through it.

use super::check::Draft;
use super::finding::{Finding, Findings};
use super::model::Procedure;
use super::sound::{NEAR, Pronouncing, Sounds};
use super::values::Phrase;
use std::ops::Range;

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
    "planned finish",
    "read torque",
    "assistance required",
    "parts list",
    "voice note",
    "remain silent",
    "speak aloud",
    STOP,
    STOP_MORE,
    "already done",
    "component missing",
    "tool missing",
    "not required",
    "measure again",
    "accept deviation",
    "begin afresh",
    "different work",
    "condition remains",
    "condition cleared",
    "cancel countdown",
    "add five minutes",
    "add one hour",
    "new temperature",
];

/// The phrase that anybody may call: it is understood whatever else is set.
pub const STOP: &str = "stop stop";
/// The same, said once more.
pub const STOP_MORE: &str = "stop stop stop";

/// The call sign where none was chosen.
pub const CALL_SIGN: &str = "bench";

/// Words too weak to tell phrases apart by: they soak up noise.
const LITTLE_WORDS: &[&str] = &[
    "a", "an", "and", "at", "by", "for", "in", "is", "it", "my", "now", "of", "on", "please",
    "the", "to",
];

/// What a single word must have to be a phrase, in syllables: shorter ones are heard in any talk
/// (common practice of radio phraseology, no source for the figure).
const LEAST_SYLLABLES: usize = 3;

/// What a call sign must have, in sounds (no source for the figure).
const LEAST_SIGN: usize = 4;

/// What readings are said with: the digits from zero on, then the point. No call sign may sound like one
/// of them. "oh" is left out on purpose: with it in the grammar one "four" in five becomes "oh".
pub const FIGURES: [&str; 11] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "point",
];

/// The words that the speech model knows.
pub trait Words {
    /// Returns those of `words` that the model does not know, in the order given.
    fn unknown(&self, words: &[&str]) -> Vec<String>;

    /// Returns whether there is a model to ask; without one no word is unknown.
    fn can_tell(&self) -> bool {
        true
    }
}

/// No speech model.
pub struct NoModel;

impl Words for NoModel {
    fn unknown(&self, _: &[&str]) -> Vec<String> {
        Vec::new()
    }

    fn can_tell(&self) -> bool {
        false
    }
}

/// What phrases are judged by, and among which.
pub struct Speech<'a> {
    pub words: &'a dyn Words,
    pub dictionary: &'a dyn Pronouncing,
    /// Everything that can be said whatever the step.
    pub commands: Vec<Said>,
    /// The word before every command, where one is set.
    pub call_sign: Option<String>,
}

/// Something that can be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    pub words: String,
    /// The standard phrase that means the same.
    pub means: &'static str,
}

impl<'a> Speech<'a> {
    /// Judges among the standard phrases alone.
    pub fn standard(words: &'a dyn Words, dictionary: &'a dyn Pronouncing) -> Speech<'a> {
        let said = |words: &&'static str| Said {
            words: (*words).to_owned(),
            means: meaning(words),
        };
        Speech {
            words,
            dictionary,
            commands: STANDARD_PHRASES.iter().map(said).collect(),
            call_sign: None,
        }
    }
}

/// Returns the phrase that `standard` is another form of, or itself.
pub fn meaning(standard: &'static str) -> &'static str {
    if standard == STOP_MORE {
        STOP
    } else {
        standard
    }
}

/// Why a phrase is refused.
#[derive(Debug, Clone, PartialEq)]
pub enum Objection {
    /// The model does not know these words.
    Unknown(Vec<String>),
    ShortWord,
    LittleWords,
    /// It holds all words of another one.
    Holds(String),
    /// All its words stand in another one.
    PartOf(String),
    /// The sounds of another one stand in it, in other words.
    HoldsSounds(String),
    /// Its sounds stand in another one, in other words.
    SoundsIn(String),
    /// It sounds like another one: how far apart they are.
    Near(String, f64),
    /// A call sign of more than one word.
    NotOneWord,
    /// A call sign with too few sounds.
    ShortSign,
}

impl Objection {
    /// Returns what is wrong with `phrase`, which is a `called`: "answer", "call sign".
    pub fn finding(&self, span: Range<usize>, called: &str, phrase: &str) -> Finding {
        let the = format!("The {called} \"{phrase}\"");
        let (message, label, help) = match self {
            Objection::Unknown(words) => {
                let words: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
                (
                    format!("The speech model does not know {}", words.join(", ")),
                    "could never be heard".into(),
                    "say it in other, common words".into(),
                )
            }
            Objection::ShortWord => (
                format!("{the} is a single short word"),
                "heard too easily in other talk".into(),
                TWO_STRONG.into(),
            ),
            Objection::LittleWords => (
                format!("{the} has only little words"),
                "nothing to tell it by".into(),
                TWO_STRONG.into(),
            ),
            Objection::Holds(other) => (
                format!("{the} holds the words \"{other}\""),
                "could be taken for it before it is said to its end".into(),
                format!("say it without the words of \"{other}\""),
            ),
            Objection::PartOf(other) => (
                format!("{the} is a part of \"{other}\""),
                "could be heard where that is said".into(),
                format!("say it with other words than those of \"{other}\""),
            ),
            Objection::HoldsSounds(other) => (
                format!("{the} holds the sounds of \"{other}\""),
                "could be taken for it before it is said to its end".into(),
                format!("say it with other words than \"{other}\" or forms of them"),
            ),
            Objection::SoundsIn(other) => (
                format!("{the} sounds like a part of \"{other}\""),
                "could be heard where that is said".into(),
                format!("say it with other words than those of \"{other}\" or forms of them"),
            ),
            Objection::Near(other, distance) => (
                format!("{the} sounds like \"{other}\""),
                format!("could be taken for it: {distance:.2} apart, {NEAR:.2} is the least"),
                format!("change a strong word of it for one that sounds like none in \"{other}\""),
            ),
            Objection::NotOneWord => (
                format!("{the} is more than one word"),
                String::new(),
                format!("one strong word is enough, such as \"{CALL_SIGN}\""),
            ),
            Objection::ShortSign => (
                format!("{the} is a very short word"),
                "heard too easily in other talk".into(),
                format!("choose a word of at least {LEAST_SIGN} sounds, such as \"{CALL_SIGN}\""),
            ),
        };
        Finding::error(span, message).label(label).help(help)
    }
}

const TWO_STRONG: &str =
    "use two or more strong words that say what is seen, such as \"wheel on ground\"";

/// The gate: knows the sounds of everything that can be said whatever the step.
pub struct Gate<'a> {
    speech: &'a Speech<'a>,
    commands: Vec<Judged>,
    call_sign: Option<&'a str>,
}

struct Judged {
    said: Said,
    full: Sounds,
    /// Without its little words.
    strong: Sounds,
}

impl<'a> Gate<'a> {
    /// Makes the gate for what `speech` says can be said.
    pub fn new(speech: &'a Speech<'a>) -> Gate<'a> {
        let judged = |said: &Said| Judged {
            said: said.clone(),
            full: Sounds::of(&said.words, speech.dictionary),
            strong: Sounds::of(&strong(&said.words), speech.dictionary),
        };
        Gate {
            speech,
            commands: speech.commands.iter().map(judged).collect(),
            call_sign: speech.call_sign.as_deref(),
        }
    }

    /// Returns everything that speaks against `phrase`. Where it is a command itself, `means` is the
    /// standard phrase that it stands for, which it is not compared with.
    pub fn objections(&self, phrase: &str, means: Option<&str>) -> Vec<Objection> {
        let mut objections = Vec::new();
        let words: Vec<&str> = phrase.split(' ').collect();
        let unknown = self.speech.words.unknown(&words);
        if !unknown.is_empty() {
            objections.push(Objection::Unknown(unknown));
        }
        let full = Sounds::of(phrase, self.speech.dictionary);
        let strong_words = strong(phrase);
        if strong_words.is_empty() {
            objections.push(Objection::LittleWords);
        } else if words.len() == 1 && full.syllables() < LEAST_SYLLABLES {
            objections.push(Objection::ShortWord);
        }
        if let Some(sign) = self.call_sign.filter(|sign| words.contains(sign)) {
            objections.push(Objection::Holds(sign.to_owned()));
        }
        let bare = Sounds::of(&strong_words, self.speech.dictionary);
        let others = self.commands.iter().filter(|c| Some(c.said.means) != means);
        let clashes = others.filter_map(|command| {
            let other = &command.said.words;
            let said: Vec<&str> = other.split(' ').collect();
            let distance = full
                .distance(&command.full)
                .min(bare.distance(&command.strong));
            let differ = said != words;
            if differ && contains(&words, &said) {
                Some((-2.0, Objection::Holds(other.clone())))
            } else if differ && contains(&said, &words) {
                Some((-1.0, Objection::PartOf(other.clone())))
            } else if distance < NEAR {
                Some((distance, Objection::Near(other.clone(), distance)))
            } else if full.hold(&command.full) {
                Some((NEAR, Objection::HoldsSounds(other.clone())))
            } else if command.full.hold(&full) {
                Some((NEAR, Objection::SoundsIn(other.clone())))
            } else {
                None
            }
        });
        // The gravest is enough: words that mend it are judged anew.
        let gravest = clashes.min_by(|one, other| one.0.total_cmp(&other.0));
        objections.extend(gravest.map(|(_, objection)| objection));
        objections
    }

    /// Returns everything that speaks against `sign` before every command.
    pub fn sign_objections(&self, sign: &str) -> Vec<Objection> {
        let mut objections = Vec::new();
        let unknown = self.speech.words.unknown(&[sign]);
        if sign.contains(' ') {
            return vec![Objection::NotOneWord];
        }
        if !unknown.is_empty() {
            objections.push(Objection::Unknown(unknown));
        }
        let sounds = Sounds::of(sign, self.speech.dictionary);
        if sounds.length() < LEAST_SIGN {
            objections.push(Objection::ShortSign);
        }
        let words = self
            .commands
            .iter()
            .flat_map(|command| command.said.words.split(' '))
            .filter(|word| !LITTLE_WORDS.contains(word));
        let near = words.chain(FIGURES).find_map(|word| {
            let distance = sounds.distance(&Sounds::of(word, self.speech.dictionary));
            (distance < NEAR).then(|| Objection::Near(word.to_owned(), distance))
        });
        objections.extend(near);
        objections
    }

    /// Returns the command of another meaning than `means` that sounds most like `phrase`, and how
    /// far apart they are.
    pub fn nearest(&self, phrase: &str, means: Option<&str>) -> Option<(&str, f64)> {
        let full = Sounds::of(phrase, self.speech.dictionary);
        self.commands
            .iter()
            .filter(|command| Some(command.said.means) != means)
            .map(|command| (command.said.words.as_str(), full.distance(&command.full)))
            .min_by(|one, other| one.1.total_cmp(&other.1))
    }

    /// Returns the words of `phrase` that the dictionary does not have.
    pub fn guessed(&self, phrase: &str) -> Vec<String> {
        Sounds::of(phrase, self.speech.dictionary).guessed
    }
}

/// Reports what speaks against a phrase, and where its sound is only guessed.
pub(crate) fn judge(
    gate: &Gate,
    (called, phrase): (&str, &str),
    objections: &[Objection],
    span: &Range<usize>,
    findings: &mut Findings,
) {
    for objection in objections {
        findings.error(span.start, |_| {
            objection.finding(span.clone(), called, phrase)
        });
    }
    let guessed = gate.guessed(phrase);
    if objections.is_empty() && !guessed.is_empty() {
        findings.advice(span.start, |_| {
            let words: Vec<String> = guessed.iter().map(|word| format!("`{word}`")).collect();
            let message = format!(
                "The pronouncing dictionary does not have {}",
                words.join(", ")
            );
            Finding::advice(span.clone(), message)
                .label("its sound is guessed by its letters")
                .help("say it in more common words, or rehearse it")
        });
    }
}

/// Reports phrases of the procedure (answers, the job's name, words for a condition) that the model
/// does not know or that sound like something else.
pub(super) fn check_phrases(draft: &Draft, speech: &Speech, findings: &mut Findings) {
    let said = said_in(draft);
    let Some((_, _, first)) = said.first() else {
        return;
    };
    if !speech.words.can_tell() {
        findings.advice(first.start, |_| no_model(first.clone()));
    }
    let usual = draft.procedure.call_sign.then_some(CALL_SIGN);
    let gate = Gate::new(speech);
    let gate = Gate {
        call_sign: gate.call_sign.or(usual),
        ..gate
    };
    for (called, phrase, span) in &said {
        let objections = gate.objections(phrase, None);
        judge(&gate, (called, phrase), &objections, span, findings);
    }
}

/// Returns everything that a person says only in this procedure: what it is, the words, their place.
fn said_in<'a>(draft: &Draft<'a>) -> Vec<(&'static str, &'a str, Range<usize>)> {
    let root = draft.places.root();
    let mut said = Vec::new();
    if let Some(called) = &draft.procedure.called {
        said.push(("name", called.as_str(), root.field("called").span()));
    }
    for (number, condition) in draft.procedure.conditions.iter().enumerate() {
        let fields = [
            ("if_set", &condition.if_set),
            ("if_clear", &condition.if_clear),
        ];
        for (field, words) in fields {
            if let Some(words) = words {
                let place = root.field("conditions").entry(number).field(field);
                said.push(("answer", words.as_str(), place.span()));
            }
        }
    }
    for (number, step) in draft.procedure.steps.iter().enumerate() {
        if let Some(called) = step.wait.as_ref().and_then(|wait| wait.called.as_ref()) {
            let place = draft.places.step(number).field("wait").field("called");
            said.push(("name", called.as_str(), place.span()));
        }
        for (field, hold) in [("hold", &step.hold), ("second", &step.second)] {
            if let Some(hold) = hold {
                let place = draft.places.step(number).field(field).field("answer");
                said.push(("answer", hold.answer.as_str(), place.span()));
            }
        }
    }
    said
}

/// Returns what is wrong with the names by which procedures, open together, are called: two that sound
/// alike, or one that sounds like what is said in another.
pub fn names_alike(procedures: &[Procedure], speech: &Speech) -> Vec<String> {
    let sounds = |phrase: &Phrase| Sounds::of(phrase.as_str(), speech.dictionary);
    let mut alike = Vec::new();
    for (number, procedure) in procedures.iter().enumerate() {
        let Some(called) = &procedure.called else {
            continue;
        };
        let own = sounds(called);
        for (other_number, other) in procedures.iter().enumerate() {
            let names = other.called.iter().filter(|_| other_number > number);
            for said in names.chain(other.said_in_it()) {
                let other_sounds = sounds(said);
                let distance = own.distance(&other_sounds);
                let how = if distance < NEAR {
                    format!(
                        "sounds like \"{said}\" of \"{}\" ({distance:.2} apart, {NEAR:.2} is the least)",
                        other.title
                    )
                } else if other_sounds.hold(&own) {
                    format!("sounds like a part of \"{said}\" of \"{}\"", other.title)
                } else if own.hold(&other_sounds) {
                    format!("holds the sounds of \"{said}\" of \"{}\"", other.title)
                } else {
                    continue;
                };
                alike.push(format!(
                    "The name \"{called}\" of \"{}\" {how}: give one another `called`",
                    procedure.title
                ));
            }
        }
    }
    alike
}

/// Advises that no word could be looked up.
pub(crate) fn no_model(span: Range<usize>) -> Finding {
    Finding::advice(
        span,
        "The words of phrases are not checked: there is no speech model",
    )
    .label("the first of them")
    .help("fetch the model with `./models-fetch.sh`, then check again")
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
fn contains(said: &[&str], phrase: &[&str]) -> bool {
    said.windows(phrase.len()).any(|window| window == phrase)
}
