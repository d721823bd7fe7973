//! The shape of a procedure file: which fields there are, which must be there, and what each takes.
//!
//! Every field is tried by itself with the same types that the whole file is read with, so that
//! one wrong value hides no other. What these tables and the types of `model` say about fields is
//! held to be the same by a test.

use std::ops::Range;

use serde::de::DeserializeOwned;

use super::finding::{Finding, Findings, clipped};
use super::outline::{Bracket, Group, Kind, Node};
use super::values::{BoltCount, Lasting, Phrase, Share, StepId, Text};
use crate::trade::Torque;

/// The most entries of a list of steps, and of any other list.
pub(super) const MOST_STEPS: usize = 500;
pub(super) const MOST_ENTRIES: usize = 200;

/// What a field takes.
#[derive(Debug, Clone, Copy)]
pub(super) enum Shape {
    /// A text in quotes with a rule of its own, and what it may be.
    Quoted(fn(&str) -> Result<(), Why>, &'static str),
    /// A number, and which.
    Number(fn(&str) -> Result<(), Why>, &'static str),
    /// One of a few words.
    OneOf(&'static [&'static str]),
    List(&'static Shape, usize),
    Fields(&'static Fields),
    /// A step, which is kept with what is right of it.
    Step,
    /// A share of the full torque, or a torque.
    Pass,
    /// A word, or `Given([…])`.
    Order,
}

/// Why a value is refused.
#[derive(Debug)]
pub(super) enum Why {
    /// It breaks the rule of its type.
    Rule(String),
    /// It is not written as such a value is.
    Form(String),
}

/// Fields in round brackets.
#[derive(Debug)]
pub(super) struct Fields {
    /// The name of the type in `model`, which may stand before the bracket.
    pub name: &'static str,
    /// What it is called in messages.
    pub called: &'static str,
    pub must: &'static [(&'static str, Shape)],
    pub may: &'static [(&'static str, Shape)],
}

const TEXT: Shape = Shape::Quoted(fits::<Text>, "a text such as \"Fit the wheel\"");
const TEXTS: Shape = Shape::List(&TEXT, MOST_ENTRIES);
const ID: Shape = Shape::Quoted(fits::<StepId>, "an id such as \"lower-axle\"");
const TORQUE: Shape = Shape::Quoted(
    fits::<Torque>,
    "a torque such as \"110 N·m\", its unit N·m, lbf·ft, lbf·in or kgf·m",
);
const SHARE: Shape = Shape::Number(fits::<Share>, PASSES);
const PASSES: &str = "a share such as 0.7, or (torque: \"20 N·m\")";
const SMALL: Shape = Shape::Number(fits::<u8>, "a whole number from 0 to 255");
const DECIMAL: Shape = Shape::Number(fits::<f64>, "a number such as 104.5");
const CAUTIONS: Shape = Shape::List(&Shape::Fields(&CAUTION), MOST_ENTRIES);

pub(super) static PROCEDURE: Fields = Fields {
    name: "Procedure",
    called: "procedure",
    must: &[
        ("title", TEXT),
        ("subject", TEXT),
        ("steps", Shape::List(&Shape::Step, MOST_STEPS)),
    ],
    may: &[
        ("conditions", TEXTS),
        ("cautions", CAUTIONS),
        ("gather", Shape::Fields(&GATHER)),
        (
            "follow_ups",
            Shape::List(&Shape::Fields(&FOLLOW_UP), MOST_ENTRIES),
        ),
    ],
};

static GATHER: Fields = Fields {
    name: "Gather",
    called: "gather",
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
    must: &[
        (
            "signal",
            Shape::OneOf(&["Danger", "Warning", "Caution", "Notice"]),
        ),
        ("say", TEXT),
    ],
    may: &[],
};

pub(super) static STEP: Fields = Fields {
    name: "Step",
    called: "step",
    must: &[("id", ID), ("say", TEXT)],
    may: &[
        ("more", TEXT),
        ("kind", Shape::OneOf(&["Work", "Know"])),
        ("cautions", CAUTIONS),
        ("after", Shape::List(&ID, MOST_ENTRIES)),
        ("needs", TEXTS),
        ("forbidden_while", TEXTS),
        ("sets", TEXTS),
        ("clears", TEXTS),
        ("fasten", Shape::Fields(&FASTEN)),
        (
            "readings",
            Shape::List(&Shape::Fields(&READING), MOST_ENTRIES),
        ),
        ("wait", Shape::Fields(&WAIT)),
        ("hold", Shape::Fields(&HOLD)),
    ],
};

static FASTEN: Fields = Fields {
    name: "Fasten",
    called: "fasten",
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
    ],
};

static PASS: Fields = Fields {
    name: "Pass",
    called: "pass",
    must: &[("torque", TORQUE)],
    may: &[],
};

static READING: Fields = Fields {
    name: "Reading",
    called: "reading",
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
    must: &[
        ("name", TEXT),
        (
            "lasts",
            Shape::Quoted(
                fits::<Lasting>,
                "a duration such as \"1 h 30 min\", its units d, h, min and s",
            ),
        ),
    ],
    may: &[("meanwhile", Shape::OneOf(&["true", "false"]))],
};

static HOLD: Fields = Fields {
    name: "Hold",
    called: "hold",
    must: &[
        ("ask", TEXT),
        (
            "answer",
            Shape::Quoted(fits::<Phrase>, "words such as \"wheel on ground\""),
        ),
    ],
    may: &[],
};

static FOLLOW_UP: Fields = Fields {
    name: "FollowUp",
    called: "follow-up",
    must: &[("say", TEXT), ("after", TEXT)],
    may: &[],
};

/// Looks at the shape of values and reports what is wrong with each.
pub(super) struct Shaper<'a, 'f> {
    pub source: &'a str,
    pub findings: &'f mut Findings,
    /// The steps met so far, each with its fields that are right.
    pub steps: Vec<(&'a Node, Vec<Right>)>,
}

/// A field whose value is right: from the beginning of its name to the end of its value.
pub(super) type Right = Range<usize>;

impl<'a> Shaper<'a, '_> {
    /// Reports what is wrong with `node` as a value of `field`; returns whether it is right.
    pub(super) fn value(&mut self, field: &str, node: &'a Node, shape: Shape) -> bool {
        let before = self.findings.errors();
        match (shape, &node.kind) {
            (_, Kind::Wrong) => return false,
            (Shape::Quoted(fits, takes), Kind::Text) => {
                if let Err(Why::Rule(why) | Why::Form(why)) = fits(self.text(node)) {
                    self.wrong(node, why, takes);
                }
            }
            (Shape::Quoted(_, takes), Kind::Bare) => {
                let written = clipped(self.text(node));
                self.wrong(
                    node,
                    format!("`{field}` takes a text in quotes, not `{written}`"),
                    takes,
                );
            }
            (Shape::Number(fits, takes), Kind::Bare) => match fits(self.text(node)) {
                Ok(()) => {}
                Err(Why::Rule(why)) => self.wrong(node, why, takes),
                Err(Why::Form(_)) => {
                    let written = clipped(self.text(node));
                    self.wrong(
                        node,
                        format!("`{field}` takes {takes}, not `{written}`"),
                        takes,
                    );
                }
            },
            (Shape::Number(_, takes), Kind::Text) => self.wrong(
                node,
                format!("`{field}` takes a number, not a text"),
                &format!("{takes}, without quotes"),
            ),
            (Shape::OneOf(words), _) => self.word(field, node, words),
            (Shape::List(shape, most), Kind::Group(group)) if group.bracket == Bracket::Square => {
                self.list(field, group, *shape, most);
            }
            (Shape::Fields(fields), Kind::Group(group)) => {
                self.fields(group, fields);
            }
            (Shape::Pass, Kind::Group(group)) => {
                self.fields(group, &PASS);
            }
            (Shape::Step, Kind::Group(group)) => {
                let right = self.fields(group, &STEP);
                self.steps.push((node, right));
            }
            (Shape::Pass, Kind::Bare) => {
                self.value(field, node, SHARE);
            }
            (Shape::Order, _) => self.order(node),
            (shape, _) => {
                let takes = shape.takes();
                self.wrong(node, format!("`{field}` takes {takes}"), &takes);
            }
        }
        self.findings.errors() == before
    }

    /// Reports what is wrong with the fields of `group`; returns those that are right.
    pub(super) fn fields(&mut self, group: &'a Group, fields: &Fields) -> Vec<Right> {
        self.brackets(group, fields);
        let mut right = Vec::new();
        let mut seen: Vec<&str> = Vec::new();
        for entry in &group.entries {
            let Some(key) = &entry.key else {
                if !group.unclosed {
                    self.nameless(&entry.value, fields);
                }
                continue;
            };
            let name = &self.source[key.clone()];
            let Some((field, shape)) = fields.find(name) else {
                self.unknown_field(key, name, fields);
                continue;
            };
            if seen.contains(&field) {
                self.findings.error(key.start, |_| {
                    Finding::error(
                        key.clone(),
                        format!("`{field}` stands twice in this {}", fields.called),
                    )
                    .label("the second one")
                    .help("keep one of the two")
                });
                continue;
            }
            seen.push(field);
            if self.value(field, &entry.value, shape) {
                right.push(key.start..entry.value.span.end);
            }
        }
        if !group.unclosed {
            for (field, shape) in fields
                .must
                .iter()
                .filter(|(field, _)| !seen.contains(field))
            {
                let span = group.open.clone();
                self.findings.error(span.start, |_| {
                    Finding::error(span, format!("This {} has no `{field}`", fields.called))
                        .label("begins here")
                        .help(format!("write `{field}: …`, {}", shape.takes()))
                });
            }
        }
        right
    }

    fn brackets(&mut self, group: &Group, fields: &Fields) {
        let open = group.open.clone();
        if group.bracket != Bracket::Round {
            self.findings.error(open.start, |_| {
                let (open_sign, close) = (group.bracket.open(), group.bracket.close());
                Finding::error(
                    open,
                    format!("The fields of a {} stand in ( )", fields.called),
                )
                .label(format!("in {open_sign} {close} here"))
                .help(format!("write `(` for `{open_sign}` and `)` for `{close}`"))
            });
        }
        if let Some(name) = &group.name
            && &self.source[name.clone()] != fields.name
        {
            self.findings.error(name.start, |_| {
                let found = clipped(&self.source[name.clone()]);
                Finding::error(
                    name.clone(),
                    format!("A {} is expected here, not `{found}`", fields.called),
                )
                .help(format!("write `{}(…)`, or the brackets alone", fields.name))
            });
        }
    }

    fn nameless(&mut self, value: &Node, fields: &Fields) {
        let span = value.span.clone();
        self.findings.error(span.start, |_| {
            Finding::error(
                span,
                format!(
                    "A value without a field's name stands in this {}",
                    fields.called
                ),
            )
            .help(format!(
                "write `name: value`; the fields are {}",
                fields.listed()
            ))
        });
    }

    fn unknown_field(&mut self, key: &Range<usize>, name: &str, fields: &Fields) {
        self.findings.error(key.start, |suggester| {
            let message = format!("A {} has no field `{}`", fields.called, clipped(name));
            Finding::error(key.clone(), message)
                .label("no field has this name")
                .help(match suggester.nearest(name, fields.names()) {
                    Some(near) => {
                        format!("did you mean `{near}`? the fields are {}", fields.listed())
                    }
                    None => format!("the fields are {}", fields.listed()),
                })
        });
    }

    fn list(&mut self, field: &str, group: &'a Group, shape: Shape, most: usize) {
        if group.entries.len() > most {
            let span = group.open.clone();
            let count = group.entries.len();
            self.findings.error(span.start, |_| {
                Finding::error(
                    span,
                    format!("`{field}` has {count} entries, at most {most} are allowed"),
                )
                .help("split the procedure")
            });
        }
        for entry in group.entries.iter().take(most) {
            if let Some(key) = &entry.key {
                self.findings.error(key.start, |_| {
                    Finding::error(key.clone(), format!("An entry of `{field}` has no name")).help(
                        "take the name and its `:` out, or close the list's last entry with `)`",
                    )
                });
            } else {
                self.value(field, &entry.value, shape);
            }
        }
    }

    fn text(&self, node: &Node) -> &'a str {
        &self.source[node.span.clone()]
    }

    fn word(&mut self, field: &str, node: &Node, words: &[&str]) {
        let written = self.text(node).trim_matches('"');
        if matches!(node.kind, Kind::Bare) && words.contains(&written) {
            return;
        }
        let span = node.span.clone();
        self.findings.error(span.start, |suggester| {
            if words.contains(&written) {
                return Finding::error(span, format!("`{field}` takes a word without quotes"))
                    .help(format!("write `{written}`"));
            }
            let all = listed(words, "or");
            let message = format!("`{field}` takes {all}, not `{}`", clipped(written));
            let finding = Finding::error(span, message);
            match suggester.nearest(&capital(written), words.iter().copied()) {
                Some(near) => finding.help(format!("did you mean `{near}`?")),
                None => finding.help(format!("write {all}")),
            }
        });
    }

    fn order(&mut self, node: &'a Node) {
        const ORDERS: &[&str] = &["Star", "Around", "Given([1, 2, …])"];
        const PLACE: Shape = Shape::Number(fits::<u32>, "the number of a bolt, from 1");
        if let Kind::Group(group) = &node.kind
            && group.name.as_ref().map(|name| &self.source[name.clone()]) == Some("Given")
        {
            match group.entries.as_slice() {
                [entry] if entry.key.is_none() => {
                    self.value("Given", &entry.value, Shape::List(&PLACE, MOST_ENTRIES));
                }
                _ => self.wrong(
                    node,
                    "`Given` takes one list of bolt numbers".into(),
                    "the order as called, such as Given([1, 3, 2, 4])",
                ),
            }
        } else {
            self.word("order", node, ORDERS);
        }
    }

    fn wrong(&mut self, node: &Node, message: String, takes: &str) {
        let span = match &node.kind {
            Kind::Group(group) => group.open.clone(),
            _ => node.span.clone(),
        };
        self.findings.error(span.start, |_| {
            let message = sentence(&message);
            Finding::error(span, message).help(format!("write {takes}"))
        });
    }
}

impl Shape {
    fn takes(self) -> String {
        match self {
            Shape::Quoted(_, takes) | Shape::Number(_, takes) => takes.into(),
            Shape::OneOf(words) => listed(words, "or"),
            Shape::List(..) => "a list in [ ]".into(),
            Shape::Fields(fields) => format!("a {} in ( ) with {}", fields.called, fields.listed()),
            Shape::Step => Shape::Fields(&STEP).takes(),
            Shape::Pass => PASSES.into(),
            Shape::Order => "Star, Around or Given([1, 2, …])".into(),
        }
    }
}

impl Fields {
    fn find(&self, name: &str) -> Option<(&'static str, Shape)> {
        let mut all = self.must.iter().chain(self.may);
        all.find(|(field, _)| *field == name).copied()
    }

    fn names(&self) -> impl Iterator<Item = &'static str> {
        self.must.iter().chain(self.may).map(|(field, _)| *field)
    }

    fn listed(&self) -> String {
        listed(&self.names().collect::<Vec<_>>(), "and")
    }
}

/// Returns how RON is read everywhere: an optional value is written without `Some`.
pub(super) fn ron_options() -> ron::Options {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
}

/// Returns whether `written` is a `T`, and if not, why not.
fn fits<T: DeserializeOwned>(written: &str) -> Result<(), Why> {
    match ron_options().from_str::<T>(written) {
        Ok(_) => Ok(()),
        Err(error) => Err(match error.code {
            ron::Error::Message(why) => Why::Rule(why),
            other => Why::Form(other.to_string()),
        }),
    }
}

/// Returns `message` with a capital, and no longer than a message may be.
fn sentence(message: &str) -> String {
    const LONGEST: usize = 300;
    let message = match message.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &message[..end]),
        None => message.to_owned(),
    };
    capital(&message)
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|first| first.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}

/// Returns `words` as a list in a sentence: `a`, `b` and `c`, with `last` for "and".
fn listed(words: &[&str], and: &str) -> String {
    let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
    match quoted.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} {and} {last}", rest.join(", ")),
        _ => quoted.concat(),
    }
}
