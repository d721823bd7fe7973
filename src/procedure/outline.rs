//! The outline of a procedure file: brackets, field names and the places of values.
//!
//! RON's own reader stops at the first slip. This one goes on over missing commas, missing quotes
//! and unclosed brackets, so that every slip of a file is reported at once, and it remembers where
//! each value stands, so that a rule between values can point at them. It decides about layout
//! only; what a value means is RON's to say (`shape`, `read`).

use std::ops::Range;

use super::fields::Fields;
use super::finding::{Finding, Findings, clipped};
use super::token::{Mark, Token, Tokens};

/// The deepest nesting; a procedure needs seven levels. It keeps every later walk shallow.
const DEEPEST: usize = 24;

/// A value and its place in the file.
#[derive(Debug)]
pub(crate) struct Node {
    pub span: Range<usize>,
    pub kind: Kind,
}

/// What kind of value it is.
#[derive(Debug)]
pub(crate) enum Kind {
    /// A text in quotes.
    Text,
    /// A number or a bare word.
    Bare,
    /// Something in brackets.
    Group(Box<Group>),
    /// A value that a finding has been made of already.
    Wrong,
}

/// What stands in brackets.
#[derive(Debug)]
pub(crate) struct Group {
    pub bracket: Bracket,
    /// The word before the bracket: `Given` in `Given([1, 2])`.
    pub name: Option<Range<usize>>,
    /// The opening bracket.
    pub open: Range<usize>,
    pub entries: Vec<Entry>,
    /// Its closing bracket is missing, so that it may hold what belongs elsewhere.
    pub unclosed: bool,
}

/// One entry of a group: a value, with a field's name or without.
#[derive(Debug)]
pub(crate) struct Entry {
    pub key: Option<Range<usize>>,
    pub value: Node,
}

impl Entry {
    fn is_nameless_group(&self) -> bool {
        self.key.is_none() && matches!(self.value.kind, Kind::Group(_))
    }
}

/// The kinds of brackets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Bracket {
    Round,
    Square,
    Curly,
}

impl Bracket {
    pub(crate) fn open(self) -> char {
        match self {
            Bracket::Round => '(',
            Bracket::Square => '[',
            Bracket::Curly => '{',
        }
    }

    pub(crate) fn close(self) -> char {
        match self {
            Bracket::Round => ')',
            Bracket::Square => ']',
            Bracket::Curly => '}',
        }
    }
}

/// Reads the outline of `source`, which holds the fields `whole`. `None` where it does not begin as
/// such a file does; then the reason is among the findings.
pub(crate) fn outline(source: &str, whole: &Fields, findings: &mut Findings) -> Option<Node> {
    let mut tokens = Tokens::new(source);
    let first = tokens.next(findings)?;
    let (open, name, bracket) = match first.mark {
        Mark::Open(bracket) => (first.span.clone(), None, bracket),
        Mark::Bare if tokens.follows('(') => {
            let open = tokens.next(findings)?;
            (open.span, Some(first.span.clone()), Bracket::Round)
        }
        _ => {
            findings.error(first.span.start, |_| {
                let found = clipped(&source[first.span.clone()]);
                Finding::error(
                    first.span.clone(),
                    format!("No {} begins with `{found}`", whole.called),
                )
                .label("the first thing in the file")
                .help(format!(
                    "begin the file with `(` and a field: {}",
                    whole.begins
                ))
            });
            return None;
        }
    };
    let mut reader = Reader {
        source,
        tokens,
        findings,
        stack: vec![Frame::new(open, name, bracket)],
        last_end: 0,
    };
    let root = reader.read_root();
    if root.is_some() {
        reader.refuse_what_follows(whole.called);
    }
    root
}

/// A group that is being read.
struct Frame {
    open: Range<usize>,
    name: Option<Range<usize>>,
    bracket: Bracket,
    entries: Vec<Entry>,
    /// A field's name that still waits for its value.
    key: Option<Range<usize>>,
    /// A value has been read, so that a comma or the end comes next.
    complete: bool,
    unclosed: bool,
}

impl Frame {
    fn new(open: Range<usize>, name: Option<Range<usize>>, bracket: Bracket) -> Frame {
        Frame {
            open,
            name,
            bracket,
            entries: Vec::new(),
            key: None,
            complete: false,
            unclosed: false,
        }
    }

    fn into_node(self, end: usize) -> Node {
        let start = self
            .name
            .as_ref()
            .map_or(self.open.start, |name| name.start);
        Node {
            span: start..end,
            kind: Kind::Group(Box::new(Group {
                bracket: self.bracket,
                name: self.name,
                open: self.open,
                entries: self.entries,
                unclosed: self.unclosed,
            })),
        }
    }
}

struct Reader<'a, 'f> {
    source: &'a str,
    tokens: Tokens<'a>,
    findings: &'f mut Findings,
    /// The groups that are open, the outermost first; never empty until the outermost is closed.
    stack: Vec<Frame>,
    /// Where the last token ended: a missing comma belongs there.
    last_end: usize,
}

impl Reader<'_, '_> {
    /// Reads up to the end of the outermost group.
    fn read_root(&mut self) -> Option<Node> {
        while let Some(token) = self.tokens.next(self.findings) {
            let end = token.span.end;
            match token.mark {
                Mark::Open(bracket) => self.open(token.span, None, bracket)?,
                Mark::Close(bracket) => {
                    if let Some(root) = self.close(token.span, bracket) {
                        return Some(root);
                    }
                }
                Mark::Comma => self.comma(token.span),
                Mark::Colon => self.findings.error(token.span.start, |_| {
                    Finding::error(token.span.clone(), "This `:` belongs to no field")
                        .help("write a field as `name: value`")
                }),
                Mark::Text => self.text(token.span),
                Mark::Bare => self.bare(token)?,
                Mark::Wrong => self.value(token.span, Kind::Wrong),
            }
            self.last_end = end;
        }
        let end = self.source.len();
        while self.stack.len() > 1 {
            self.close_unclosed(end, "the end of the file");
        }
        let root = self.stack.pop()?;
        self.report_unclosed(&root, "the end of the file");
        Some(
            Frame {
                unclosed: true,
                ..root
            }
            .into_node(end),
        )
    }

    /// Opens a group; `None` where it lies too deep to go on.
    fn open(
        &mut self,
        open: Range<usize>,
        name: Option<Range<usize>>,
        bracket: Bracket,
    ) -> Option<()> {
        self.expect_comma();
        if self.stack.len() >= DEEPEST {
            self.findings.error(open.start, |_| {
                Finding::error(open.clone(), format!("Brackets stand more than {DEEPEST} deep"))
                    .label("reading ends here")
                    .help("a procedure needs no more than seven levels: look for brackets that are never closed")
            });
            return None;
        }
        self.stack.push(Frame::new(open, name, bracket));
        Some(())
    }

    /// Closes the group that `close` belongs to; returns the outermost when that is the one.
    fn close(&mut self, close: Range<usize>, bracket: Bracket) -> Option<Node> {
        if !self.stack.iter().any(|frame| frame.bracket == bracket) {
            self.findings.error(close.start, |_| {
                let sign = bracket.close();
                Finding::error(close.clone(), format!("This `{sign}` closes nothing"))
                    .help("take it out, or write the opening bracket that it belongs to")
            });
            return None;
        }
        while self
            .stack
            .last()
            .is_some_and(|frame| frame.bracket != bracket)
        {
            self.close_unclosed(close.start, &format!("this `{}`", bracket.close()));
        }
        self.expect_value();
        let frame = self.stack.pop()?;
        let node = frame.into_node(close.end);
        if self.stack.is_empty() {
            return Some(node);
        }
        self.push(node);
        None
    }

    /// Closes the innermost group, whose bracket is missing, at `end`.
    fn close_unclosed(&mut self, end: usize, before: &str) {
        self.expect_value();
        if let Some(frame) = self.stack.pop() {
            self.report_unclosed(&frame, before);
            let mut frame = Frame {
                unclosed: true,
                ..frame
            };
            let mut swallowed = Vec::new();
            if frame.bracket == Bracket::Round {
                // A step that is not closed has swallowed the steps after it: they are given back.
                let first = frame.entries.iter().position(Entry::is_nameless_group);
                swallowed = frame
                    .entries
                    .split_off(first.unwrap_or(frame.entries.len()));
            }
            self.push(frame.into_node(end));
            for entry in swallowed.into_iter().filter(Entry::is_nameless_group) {
                self.push(entry.value);
            }
        }
    }

    fn report_unclosed(&mut self, frame: &Frame, before: &str) {
        let (open, close) = (frame.bracket.open(), frame.bracket.close());
        let span = frame.open.clone();
        self.findings.error(span.start, |_| {
            Finding::error(span, format!("This `{open}` is not closed before {before}"))
                .label("opened here")
                .help(format!("write the missing `{close}` where this part ends"))
        });
    }

    fn comma(&mut self, comma: Range<usize>) {
        self.expect_value();
        let Some(frame) = self.stack.last_mut() else {
            return;
        };
        if !frame.complete {
            self.findings.error(comma.start, |_| {
                Finding::error(comma.clone(), "A value is missing before this comma")
                    .help("one comma stands between two values: take this one out")
            });
        }
        frame.complete = false;
    }

    fn text(&mut self, span: Range<usize>) {
        let in_map = self
            .stack
            .last()
            .is_some_and(|frame| frame.bracket == Bracket::Curly);
        if self.tokens.follows(':') && in_map {
            self.tokens.skip(':');
            self.key(span);
        } else if self.tokens.follows(':') {
            self.tokens.skip(':');
            self.findings.error(span.start, |_| {
                let name = clipped(self.source[span.clone()].trim_matches('"'));
                Finding::error(span.clone(), "A field's name stands in quotes")
                    .help(format!("write it without: `{name}: …`"))
            });
            self.key(span.start + 1..(span.end - 1).max(span.start + 1));
        } else {
            self.value(span, Kind::Text);
        }
    }

    /// Reads a number or word: a field's name, the name of a group, or a value.
    fn bare(&mut self, token: Token) -> Option<()> {
        let span = token.span;
        let text = &self.source[span.clone()];
        let is_word = text.starts_with(|c: char| c.is_alphabetic() || c == '_');
        let in_round = self
            .stack
            .last()
            .is_some_and(|f| f.bracket == Bracket::Round && f.key.is_none());
        if self.tokens.follows(':') {
            self.tokens.skip(':');
            self.key(span);
        } else if is_word && self.tokens.follows('(') {
            let open = self.tokens.next(self.findings)?;
            self.open(open.span, Some(span), Bracket::Round)?;
        } else if is_word && in_round && (self.tokens.follows('"') || self.tokens.follows('[')) {
            self.findings.error(span.end, |_| {
                Finding::error(
                    span.end..span.end,
                    format!("A `:` is missing after `{}`", clipped(text)),
                )
                .help(format!("write `{}: …`", clipped(text)))
            });
            self.key(span);
        } else if !is_word && self.tokens.unit_follows() {
            // 110 N·m without quotes: number and unit are meant as one value.
            let unit = self.tokens.next(self.findings)?;
            let both = span.start..unit.span.end;
            self.findings.error(both.start, |_| {
                let written = clipped(&self.source[both.clone()]);
                Finding::error(both.clone(), "A value with its unit is a text")
                    .help(format!("write it in quotes: `\"{written}\"`"))
            });
            self.value(both, Kind::Wrong);
        } else {
            self.value(span, Kind::Bare);
        }
        Some(())
    }

    fn key(&mut self, span: Range<usize>) {
        self.expect_comma();
        self.expect_value();
        if let Some(frame) = self.stack.last_mut() {
            frame.key = Some(span);
            frame.complete = false;
        }
    }

    fn value(&mut self, span: Range<usize>, kind: Kind) {
        self.expect_comma();
        self.push(Node { span, kind });
    }

    fn push(&mut self, value: Node) {
        if let Some(frame) = self.stack.last_mut() {
            let key = frame.key.take();
            frame.entries.push(Entry { key, value });
            frame.complete = true;
        }
    }

    /// Reports a comma that is missing before what comes now.
    fn expect_comma(&mut self) {
        let at = self.last_end;
        if let Some(frame) = self.stack.last_mut()
            && frame.complete
        {
            frame.complete = false;
            self.findings.error(at, |_| {
                Finding::error(at..at, "A comma is missing here")
                    .help("write `,` between two values")
            });
        }
    }

    /// Reports a field's name whose value is missing.
    fn expect_value(&mut self) {
        if let Some(frame) = self.stack.last_mut()
            && let Some(key) = frame.key.take()
        {
            frame.complete = true;
            self.findings.error(key.start, |_| {
                let name = clipped(&self.source[key.clone()]);
                Finding::error(key.clone(), format!("`{name}` has no value"))
                    .help("write its value after the `:`, or take the field out")
            });
            frame.entries.push(Entry {
                value: Node {
                    span: key.clone(),
                    kind: Kind::Wrong,
                },
                key: Some(key),
            });
        }
    }

    fn refuse_what_follows(&mut self, called: &str) {
        if let Some(token) = self.tokens.next(self.findings) {
            self.findings.error(token.span.start, |_| {
                Finding::error(token.span.clone(), format!("The {called} has ended before this"))
                    .label("left over")
                    .help("nothing comes after the last bracket: take this out, or a closing bracket before it that is one too many")
            });
        }
    }
}
