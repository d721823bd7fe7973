//! The tables of a procedure file: which fields there are, which must be there, and what each takes.
//!
//! Every value is tried by itself with the same types that the whole file is read with. That these
//! tables name the fields that those types have is held by a test.

use serde::de::DeserializeOwned;

use super::sums::Sum;
use super::values::{BoltCount, Lasting, Phrase, Share, StepId, Text};
use crate::trade::Torque;
use crate::trade::quantity::{ActivationEnergy, Temperature};
use crate::trade::torque_band::TorqueBand;

/// The most entries of a list of steps, and of any other list.
pub(crate) const MOST_STEPS: usize = 500;
pub(crate) const MOST_ENTRIES: usize = 200;

/// What a field takes.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Shape {
    /// A text in quotes with a rule of its own, what it may be, and the units that it may have.
    Quoted(
        fn(&str) -> Result<(), Why>,
        &'static str,
        &'static [&'static str],
    ),
    /// A number, and which.
    Number(fn(&str) -> Result<(), Why>, &'static str),
    /// One of a few words.
    OneOf(&'static [&'static str]),
    List(&'static Shape, usize),
    Fields(&'static Fields),
    /// A step, which is kept with what is right of it.
    Step,
    /// A sum: its name, and its fields in ( ).
    Sum,
    /// A share of the full torque, or a torque.
    Pass,
    /// A word, or `Together(…)`, `Rows(…)`, `Given([…])`.
    Order,
    /// The name of a condition, or its fields.
    Condition,
    /// Phrases in curly brackets: which standard phrase is said in which other words.
    OwnWords,
}

/// Why a value is refused.
#[derive(Debug)]
pub(crate) enum Why {
    /// It breaks the rule of its type.
    Rule(String),
    /// It is not written as such a value is.
    Form(String),
}

/// Fields in round brackets.
#[derive(Debug)]
pub(crate) struct Fields {
    /// The name of the type in `model`, which may stand before the bracket.
    pub name: &'static str,
    /// What it is called in messages.
    pub called: &'static str,
    /// How a file of these fields begins; empty where they are no file.
    pub begins: &'static str,
    pub must: &'static [(&'static str, Shape)],
    pub may: &'static [(&'static str, Shape)],
}

const TEXT: Shape = Shape::Quoted(
    fits::<Text>,
    "a text of 1 to 240 characters, such as \"Fit the wheel\"",
    &[],
);
const TEXTS: Shape = Shape::List(&TEXT, MOST_ENTRIES);
pub(crate) const ID: Shape = Shape::Quoted(fits::<StepId>, "an id such as \"lower-axle\"", &[]);
const TORQUE: Shape = Shape::Quoted(
    fits::<Torque>,
    "a torque such as \"110 N·m\" or \"80 lbf·ft\"",
    &["N·m", "lbf·ft", "lbf·in", "kgf·m"],
);
pub(crate) const SHARE: Shape = Shape::Number(fits::<Share>, PASSES);
const PASSES: &str = "a share such as 0.7, or (torque: \"20 N·m\")";
const ANSWER: Shape = Shape::Quoted(fits::<Phrase>, "words such as \"wheel on ground\"", &[]);
pub(crate) const WORDS: Shape =
    Shape::Quoted(fits::<Phrase>, "words such as \"job is finished\"", &[]);
const OWN_WORDS: &str = "phrases in { }, such as {\"work complete\": \"job is finished\"}";
pub(crate) const LASTING: Shape = Shape::Quoted(
    fits::<Lasting>,
    "a duration such as \"1 h 30 min\", its units d, h, min and s",
    &["d", "h", "min", "s"],
);
const TEMPERATURE: Shape = Shape::Quoted(
    fits::<Temperature>,
    "a temperature such as \"20 °C\"",
    &["°C", "°F", "K"],
);
const ENERGY: Shape = Shape::Quoted(
    fits::<ActivationEnergy>,
    "an activation energy such as \"50 kJ/mol\"",
    &["kJ/mol"],
);
const TRUTH: Shape = Shape::OneOf(&["true", "false"]);
const SMALL: Shape = Shape::Number(fits::<u8>, "a whole number from 0 to 255");
const DECIMAL: Shape = Shape::Number(fits::<f64>, "a number such as 104.5");
const CAUTIONS: Shape = Shape::List(&Shape::Fields(&CAUTION), MOST_ENTRIES);

pub(crate) static PROCEDURE: Fields = Fields {
    name: "Procedure",
    called: "procedure",
    begins: "`(title: \"…\", …`",
    must: &[
        ("title", TEXT),
        ("subject", TEXT),
        ("steps", Shape::List(&Shape::Step, MOST_STEPS)),
    ],
    may: &[
        ("called", ANSWER),
        ("conditions", Shape::List(&Shape::Condition, MOST_ENTRIES)),
        ("resources", TEXTS),
        ("cautions", CAUTIONS),
        ("gather", Shape::Fields(&GATHER)),
        (
            "follow_ups",
            Shape::List(&Shape::Fields(&FOLLOW_UP), MOST_ENTRIES),
        ),
        ("call_sign", TRUTH),
    ],
};

/// A person's settings, a file of their own.
pub(crate) static SETTINGS: Fields = Fields {
    name: "Settings",
    called: "settings file",
    begins: "`(call_sign: \"bench\", …`",
    must: &[],
    may: &[
        ("phrases", Shape::OwnWords),
        (
            "call_sign",
            Shape::Quoted(fits::<Phrase>, "a word such as \"bench\"", &[]),
        ),
        ("cardinals", TRUTH),
    ],
};

static GATHER: Fields = Fields {
    name: "Gather",
    called: "gather",
    begins: "",
    must: &[],
    may: &[
        ("tools", TEXTS),
        ("parts", TEXTS),
        ("consumables", TEXTS),
        ("people", SMALL),
    ],
};

static CAUTION: Fields = Fields {
    name: "Caution",
    called: "caution",
    begins: "",
    must: &[
        (
            "signal",
            Shape::OneOf(&["Danger", "Warning", "Caution", "Notice"]),
        ),
        ("say", TEXT),
    ],
    may: &[],
};

pub(crate) const NAME: Shape = TEXT;

pub(crate) static CONDITION: Fields = Fields {
    name: "Condition",
    called: "condition",
    begins: "",
    must: &[("name", TEXT)],
    may: &[
        ("cautions", CAUTIONS),
        ("if_set", ANSWER),
        ("if_clear", ANSWER),
    ],
};

pub(crate) static STEP: Fields = Fields {
    name: "Step",
    called: "step",
    begins: "",
    must: &[("id", ID), ("say", TEXT)],
    may: &[
        ("more", TEXT),
        ("kind", Shape::OneOf(&["Work", "Know"])),
        ("cautions", CAUTIONS),
        ("after", Shape::List(&ID, MOST_ENTRIES)),
        ("before", Shape::List(&ID, MOST_ENTRIES)),
        ("needs", TEXTS),
        ("forbidden_while", TEXTS),
        ("sets", TEXTS),
        ("clears", TEXTS),
        ("uses", TEXTS),
        ("people", SMALL),
        ("usual", LASTING),
        ("fasten", Shape::Fields(&FASTEN)),
        (
            "readings",
            Shape::List(&Shape::Fields(&READING), MOST_ENTRIES),
        ),
        ("sums", Shape::List(&Shape::Sum, MOST_ENTRIES)),
        (
            "applies",
            Shape::List(&Shape::Fields(&APPLIED), MOST_ENTRIES),
        ),
        ("wait", Shape::Fields(&WAIT)),
        ("hold", Shape::Fields(&HOLD)),
        ("second", Shape::Fields(&HOLD)),
    ],
};

static FASTEN: Fields = Fields {
    name: "Fasten",
    called: "fasten",
    begins: "",
    must: &[(
        "bolts",
        Shape::Number(fits::<BoltCount>, "a whole number from 1 to 64"),
    )],
    may: &[
        ("order", Shape::Order),
        ("torque", TORQUE),
        ("passes", Shape::List(&Shape::Pass, MOST_ENTRIES)),
        (
            "threads",
            Shape::OneOf(&[
                "Dry",
                "Oiled",
                "AntiSeize",
                "LockingCompound",
                "AsDocumented",
            ]),
        ),
        ("called", Shape::OneOf(&["Bolt", "Nut", "Screw"])),
        ("name", TEXT),
        (
            "band",
            Shape::Quoted(
                fits::<TorqueBand>,
                "a band such as \"77 ± 6 N·m\"",
                &["N·m", "lbf·ft", "lbf·in", "kgf·m"],
            ),
        ),
        ("turning", Shape::OneOf(&["Clockwise", "Anticlockwise"])),
        ("slackens", TRUTH),
        ("check_round", TRUTH),
    ],
};

static APPLIED: Fields = Fields {
    name: "Applied",
    called: "what is applied",
    begins: "",
    must: &[
        (
            "what",
            Shape::OneOf(&["Oil", "Grease", "AntiSeize", "LockingCompound", "Nothing"]),
        ),
        ("to", TEXT),
    ],
    may: &[],
};

pub(crate) static PASS: Fields = Fields {
    name: "Pass",
    called: "pass",
    begins: "",
    must: &[("torque", TORQUE)],
    may: &[],
};

static READING: Fields = Fields {
    name: "Reading",
    called: "reading",
    begins: "",
    must: &[
        ("name", TEXT),
        ("unit", TEXT),
        ("low", DECIMAL),
        ("high", DECIMAL),
        ("digits", SMALL),
    ],
    may: &[("decimals", SMALL)],
};

static WAIT: Fields = Fields {
    name: "Wait",
    called: "wait",
    begins: "",
    must: &[("name", TEXT), ("lasts", LASTING)],
    may: &[
        ("called", ANSWER),
        ("meanwhile", TRUTH),
        ("at_most", LASTING),
        ("too_late", TEXT),
        ("warn_before", LASTING),
        ("cure", Shape::Fields(&CURE)),
    ],
};

static CURE: Fields = Fields {
    name: "Cure",
    called: "cure",
    begins: "",
    must: &[
        ("reading", TEXT),
        ("at", TEMPERATURE),
        ("least", TEMPERATURE),
        ("most", TEMPERATURE),
    ],
    may: &[("energy", ENERGY)],
};

static HOLD: Fields = Fields {
    name: "Hold",
    called: "hold",
    begins: "",
    must: &[("ask", TEXT), ("answer", ANSWER)],
    may: &[],
};

static FOLLOW_UP: Fields = Fields {
    name: "FollowUp",
    called: "follow-up",
    begins: "",
    must: &[("say", TEXT), ("after", TEXT)],
    may: &[],
};

impl Shape {
    /// Returns what kind of value it is, in a few words.
    pub(crate) fn kind(self) -> String {
        match self {
            Shape::Quoted(..) => "a text".into(),
            Shape::Number(..) => "a number".into(),
            Shape::List(..) => "a list".into(),
            Shape::Fields(_) | Shape::Step => "fields in ( )".into(),
            Shape::OneOf(_) | Shape::Pass | Shape::Order | Shape::OwnWords | Shape::Condition => {
                self.takes()
            }
            Shape::Sum => "a sum such as `Mix(…)`".into(),
        }
    }

    pub(crate) fn takes(self) -> String {
        match self {
            Shape::Quoted(_, takes, _) | Shape::Number(_, takes) => takes.into(),
            Shape::OneOf(words) => listed(words, "or"),
            Shape::List(..) => "a list: `[ … ]`".into(),
            Shape::Fields(fields) => format!("`( … )` with the fields {}", fields.listed()),
            Shape::Step => Shape::Fields(&STEP).takes(),
            Shape::Sum => format!(
                "a sum: {}, with its fields in ( )",
                listed(Sum::NAMES, "or")
            ),
            Shape::Pass => PASSES.into(),
            Shape::Condition => {
                "a name such as \"wheel off the ground\", or (name: \"…\", if_set: \"…\", if_clear: \"…\")".into()
            }
            Shape::OwnWords => OWN_WORDS.into(),
            Shape::Order => "Star, Around, Together(3), Rows(2) or Given([1, 2, …])".into(),
        }
    }
}

impl Fields {
    pub(crate) fn find(&self, name: &str) -> Option<(&'static str, Shape)> {
        let mut all = self.must.iter().chain(self.may);
        all.find(|(field, _)| *field == name).copied()
    }

    pub(crate) fn names(&self) -> impl Iterator<Item = &'static str> {
        self.must.iter().chain(self.may).map(|(field, _)| *field)
    }

    pub(crate) fn listed(&self) -> String {
        listed(&self.names().collect::<Vec<_>>(), "and")
    }
}

/// Returns how RON is read everywhere: an optional value is written without `Some`, a sum with one pair
/// of brackets.
pub(crate) fn ron_options() -> ron::Options {
    ron::Options::default()
        .with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
        .with_default_extension(ron::extensions::Extensions::UNWRAP_VARIANT_NEWTYPES)
}

/// Returns whether `written` is a `T`, and if not, why not.
pub(crate) fn fits<T: DeserializeOwned>(written: &str) -> Result<(), Why> {
    match ron_options().from_str::<T>(written) {
        Ok(_) => Ok(()),
        Err(error) => Err(match error.code {
            ron::Error::Message(why) => Why::Rule(why),
            other => Why::Form(other.to_string()),
        }),
    }
}

/// Returns `words` as a list in a sentence: `a`, `b` and `c`, with `last` for "and".
pub(crate) fn listed(words: &[&str], and: &str) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} {and} {last}", rest.join(", ")),
        _ => quoted.concat(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::fasten::{Applied, Fasten, Fastener, Put, Threads};
    use super::super::model::{
        Caution, Condition, Cure, FollowUp, Gather, Hold, Procedure, Reading, Signal, Step,
        StepKind, Wait,
    };
    use super::*;
    use crate::trade::wrench::Turning;

    /// Returns the names that `T` says it has when given one that it has not.
    fn names_of<T: DeserializeOwned>(written: &str) -> Vec<&'static str> {
        match ron_options()
            .from_str::<T>(written)
            .map(|_| ())
            .unwrap_err()
            .code
        {
            ron::Error::NoSuchStructField { expected, .. }
            | ron::Error::NoSuchEnumVariant { expected, .. } => expected.to_vec(),
            other => panic!("{other:?}"),
        }
    }

    #[track_caller]
    fn same_fields<T: DeserializeOwned>(fields: &Fields) {
        let mut tabled: Vec<&str> = fields.names().collect();
        let mut typed = names_of::<T>("(zzz: 0)");
        tabled.sort_unstable();
        typed.sort_unstable();
        assert_eq!(tabled, typed);
    }

    #[track_caller]
    fn same_words<T: DeserializeOwned>(fields: &Fields, field: &str) {
        let Some((_, Shape::OneOf(words))) = fields.find(field) else {
            panic!("{field} is no word");
        };
        assert_eq!(words, names_of::<T>("Zzz"));
    }

    #[test]
    fn tables_name_the_fields_of_the_types() {
        same_fields::<Procedure>(&PROCEDURE);
        same_fields::<Condition>(&CONDITION);
        same_fields::<Gather>(&GATHER);
        same_fields::<Caution>(&CAUTION);
        same_fields::<Step>(&STEP);
        same_fields::<Fasten>(&FASTEN);
        same_fields::<Reading>(&READING);
        same_fields::<Wait>(&WAIT);
        same_fields::<Cure>(&CURE);
        same_fields::<Hold>(&HOLD);
        same_fields::<Applied>(&APPLIED);
        same_fields::<FollowUp>(&FOLLOW_UP);
    }

    #[test]
    fn tables_name_the_words_of_the_types() {
        same_words::<Signal>(&CAUTION, "signal");
        same_words::<StepKind>(&STEP, "kind");
        same_words::<Threads>(&FASTEN, "threads");
        same_words::<Fastener>(&FASTEN, "called");
        same_words::<Put>(&APPLIED, "what");
        same_words::<Turning>(&FASTEN, "turning");
    }

    /// What the tables ask for is all that the types ask for.
    #[test]
    fn the_least_that_must_be_there_is_enough() {
        fn reads<T: DeserializeOwned>(written: &str) {
            if let Err(error) = ron_options().from_str::<T>(written) {
                panic!("{written}: {error}");
            }
        }
        reads::<Procedure>("(title: \"t\", subject: \"s\", steps: [])");
        reads::<Gather>("()");
        reads::<Step>("(id: \"i\", say: \"s\")");
        reads::<Fasten>("(bolts: 5)");
        reads::<Reading>("(name: \"n\", unit: \"mm\", low: 0, high: 1, digits: 1)");
        reads::<Wait>("(name: \"n\", lasts: \"1 s\")");
        reads::<Cure>("(reading: \"r\", at: \"20 °C\", least: \"10 °C\", most: \"30 °C\")");
    }
}
