//! Whether a file has the shape of a procedure: looks at each field by itself, so that one wrong value
//! hides no other.

use std::ops::Range;

use super::fields::{
    CONDITION, Fields, MOST_ENTRIES, NAME, PASS, SHARE, STEP, Shape, WORDS, Why, fits, listed,
};
use super::finding::{Finding, Findings, Suggester, clipped};
use super::outline::{Bracket, Group, Kind, Node};
use super::phrases::{STANDARD_PHRASES, STOP_MORE};
use super::sums::Sum;
use super::values::BoltCount;

/// The longest value with a unit that is written out in a cure, in bytes.
const LONGEST_HELP: usize = 60;

/// Looks at the shape of values and reports what is wrong with each.
pub(crate) struct Shaper<'a, 'f> {
    pub source: &'a str,
    pub findings: &'f mut Findings,
    /// The steps met so far, each with its fields that are right.
    pub steps: Vec<(&'a Node, Vec<Right>)>,
}

/// A field whose value is right: the places of its name and its value.
pub(crate) type Right = (Range<usize>, Range<usize>);

impl<'a> Shaper<'a, '_> {
    /// Reports what is wrong with `node` as a value of `field`; returns whether it is right.
    pub(crate) fn value(&mut self, field: &str, node: &'a Node, shape: Shape) -> bool {
        let before = self.findings.errors();
        match (shape, &node.kind) {
            (_, Kind::Wrong) => return false,
            (Shape::Quoted(fits, takes, units), Kind::Text) => {
                if let Err(Why::Rule(why) | Why::Form(why)) = fits(self.text(node)) {
                    match self.nearest_unit(node, units) {
                        Some(near) => self.wrong(node, why, &format!("`{near}`, or {takes}")),
                        None => self.wrong(node, why, takes),
                    }
                }
            }
            (Shape::Quoted(_, takes, _), Kind::Bare) => {
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
            (Shape::Condition, Kind::Group(group)) if group.bracket == Bracket::Round => {
                self.fields(group, &CONDITION);
            }
            (Shape::Condition, Kind::Text | Kind::Bare) => {
                self.value(field, node, NAME);
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
            (Shape::Sum, Kind::Group(group)) if group.name.is_some() => self.sum(group),
            (Shape::Order, _) => self.order(node),
            (Shape::OwnWords, Kind::Group(group)) if group.bracket == Bracket::Curly => {
                self.own_words(field, group);
            }
            (shape, _) => {
                let found = self.found(node);
                let message = format!("`{field}` takes {}, not {found}", shape.kind());
                self.wrong(node, message, &shape.takes());
            }
        }
        self.findings.errors() == before
    }

    /// Reports what is wrong with a sum: its name says which fields it has.
    fn sum(&mut self, group: &'a Group) {
        let Some(name) = group.name.clone() else {
            return;
        };
        let written = &self.source[name.clone()];
        if let Some(fields) = Sum::fields(written) {
            self.fields(group, fields);
            return;
        }
        self.findings.error(name.start, |suggester| {
            let message = format!("There is no sum `{}`", clipped(written));
            let finding = Finding::error(name, message);
            match suggester.nearest(written, Sum::NAMES.iter().copied()) {
                Some(near) => finding.help(format!("did you mean `{near}`?")),
                None => finding.help(format!("write {}", listed(Sum::NAMES, "or"))),
            }
        });
    }

    /// Reports what is wrong with the fields of `group`; returns those that are right.
    pub(crate) fn fields(&mut self, group: &'a Group, fields: &Fields) -> Vec<Right> {
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
                seen.extend(self.unknown_field(key, fields));
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
                right.push((key.clone(), entry.value.span.clone()));
            }
        }
        // A text that is not closed may have swallowed the fields after it.
        let swallowed = group.entries.iter().any(|entry| {
            matches!(entry.value.kind, Kind::Wrong) && self.text(&entry.value).starts_with('"')
        });
        if !group.unclosed && !swallowed {
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

    /// Reports a field that does not exist; returns the one that was probably meant.
    fn unknown_field(&mut self, key: &Range<usize>, fields: &Fields) -> Option<&'static str> {
        let name = &self.source[key.clone()];
        let mut meant = None;
        self.findings.error(key.start, |suggester| {
            meant = suggester.nearest(name, fields.names());
            let message = format!("A {} has no field `{}`", fields.called, clipped(name));
            Finding::error(key.clone(), message)
                .label("no field has this name")
                .help(match meant {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("the fields are {}", fields.listed()),
                })
        });
        meant
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
                    Finding::error(key.clone(), format!("An entry of `{field}` has no name"))
                        .help("take the name and its `:` out")
                });
            } else {
                self.value(field, &entry.value, shape);
            }
        }
    }

    /// Reports what is wrong with a person's own words for standard phrases.
    fn own_words(&mut self, field: &str, group: &'a Group) {
        let mut seen: Vec<&str> = Vec::new();
        for entry in &group.entries {
            let Some(key) = entry.key.clone() else {
                let span = entry.value.span.clone();
                self.findings.error(span.start, |_| {
                    Finding::error(span, format!("An entry of `{field}` says not for what"))
                        .help("write `\"standard phrase\": \"own words\"`")
                });
                continue;
            };
            let standard = self.source[key.clone()].trim_matches('"');
            let mut phrases = STANDARD_PHRASES
                .iter()
                .copied()
                .filter(|known| *known != STOP_MORE);
            match phrases.clone().find(|known| *known == standard) {
                None => self.findings.error(key.start, |suggester| {
                    let message = format!("There is no phrase \"{}\"", clipped(standard));
                    let near = suggester.nearest(standard, phrases.by_ref());
                    Finding::error(key, message).help(match near {
                        Some(near) => format!("did you mean \"{near}\"?"),
                        None => "`benchcall phrases` lists them all".into(),
                    })
                }),
                Some(known) if seen.contains(&known) => self.findings.error(key.start, |_| {
                    Finding::error(key, format!("\"{known}\" has own words twice"))
                        .label("the second time")
                        .help("keep one of the two")
                }),
                Some(known) => {
                    seen.push(known);
                    self.value(standard, &entry.value, WORDS);
                }
            }
        }
    }

    /// Returns the text of `node` with its wrong unit set right, if that can be told.
    fn nearest_unit(&self, node: &Node, units: &[&str]) -> Option<String> {
        let text = self.text(node);
        let figures = |c: char| c.is_ascii_digit() || matches!(c, ' ' | '.' | '"');
        let mut words = text.split(figures).filter(|word| !word.is_empty());
        let wrong = words.find(|word| !units.contains(word))?;
        let right = Suggester::default().nearest(wrong, units.iter().copied())?;
        Some(text.replacen(wrong, right, 1)).filter(|right| right.len() <= LONGEST_HELP)
    }

    /// Returns what `node` is, in words.
    fn found(&self, node: &Node) -> String {
        match &node.kind {
            Kind::Text => "a text".into(),
            Kind::Group(group) if group.bracket == Bracket::Square => "a list".into(),
            Kind::Group(group) => {
                let (open, close) = (group.bracket.open(), group.bracket.close());
                format!("something in {open} {close}")
            }
            Kind::Bare | Kind::Wrong => format!("`{}`", clipped(self.text(node))),
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
        const ORDERS: &[&str] = &[
            "Star",
            "Around",
            "Together(3)",
            "Rows(2)",
            "Given([1, 2, …])",
        ];
        const PARTS: Shape = Shape::Number(fits::<BoltCount>, "a whole number from 1 to 64");
        const PLACE: Shape = Shape::Number(fits::<u32>, "the number of a bolt, from 1");
        let Kind::Group(group) = &node.kind else {
            return self.word("order", node, ORDERS);
        };
        let name = group.name.as_ref().map(|name| &self.source[name.clone()]);
        if let Some(name @ ("Together" | "Rows")) = name {
            match group.entries.as_slice() {
                [entry] if entry.key.is_none() => {
                    self.value(name, &entry.value, PARTS);
                }
                _ => self.wrong(
                    node,
                    format!("`{name}` takes one number"),
                    "how many, such as Together(3) or Rows(2)",
                ),
            }
        } else if name == Some("Given") {
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
