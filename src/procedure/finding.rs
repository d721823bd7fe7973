//! What is wrong with a procedure file, where, and what to write instead; and how that is drawn.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Element, Level, Origin, Renderer, Snippet};

/// The most findings that are shown of one file; how many more there are is said in one line.
pub const MOST_FINDINGS: usize = 200;

/// How many findings get a nearest word: comparing words is the one dear thing in a file that is
/// wrong everywhere, and fifty suggestions are more than anybody reads.
const MOST_SUGGESTIONS: usize = 50;

/// The longest word that a nearest word is looked for, in bytes.
const LONGEST_SUGGESTION: usize = 40;

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// The procedure is refused.
    Error,
    /// The procedure can be run; a careful author would look at it.
    Advice,
}

/// One thing that is wrong in a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    pub severity: Severity,
    /// What is wrong: begins with a capital, has no final period.
    pub message: String,
    /// The place, in bytes of the file; may be empty (a point between two bytes).
    pub span: Range<usize>,
    /// What stands at the place, in a few words; may be empty.
    pub label: String,
    /// What to write instead.
    pub help: Option<String>,
}

impl Finding {
    /// Makes an error at `span`.
    pub fn error(span: Range<usize>, message: impl Into<String>) -> Finding {
        Finding {
            severity: Severity::Error,
            message: message.into(),
            span,
            label: String::new(),
            help: None,
        }
    }

    /// Makes an advice at `span`.
    pub fn advice(span: Range<usize>, message: impl Into<String>) -> Finding {
        Finding {
            severity: Severity::Advice,
            ..Finding::error(span, message)
        }
    }

    /// Returns the finding with `label` at its place.
    #[must_use]
    pub fn label(mut self, label: impl Into<String>) -> Finding {
        self.label = label.into();
        self
    }

    /// Returns the finding with the cure `help`.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Finding {
        self.help = Some(help.into());
        self
    }
}

/// Findings as they come together, at most [`MOST_FINDINGS`] and then only counted.
#[derive(Debug, Default)]
pub(crate) struct Findings {
    all: Vec<Finding>,
    errors: usize,
    /// How many came after the list was full, and where the first of them is.
    more: usize,
    next: Option<usize>,
    suggester: Suggester,
}

impl Findings {
    /// Adds an error found at byte `at`; its text is only worked out while there is room for it.
    pub(crate) fn error(&mut self, at: usize, make: impl FnOnce(&mut Suggester) -> Finding) {
        self.errors += 1;
        self.add(at, make);
    }

    /// Adds an advice, as [`Findings::error`] does an error.
    pub(crate) fn advice(&mut self, at: usize, make: impl FnOnce(&mut Suggester) -> Finding) {
        self.add(at, make);
    }

    /// Returns how many errors there are, those not shown too.
    pub(crate) fn errors(&self) -> usize {
        self.errors
    }

    fn add(&mut self, at: usize, make: impl FnOnce(&mut Suggester) -> Finding) {
        if self.all.len() < MOST_FINDINGS {
            self.all.push(make(&mut self.suggester));
        } else {
            self.more += 1;
            self.next.get_or_insert(at);
        }
    }

    /// Returns the findings in the order of the file.
    pub(crate) fn into_sorted(mut self) -> Vec<Finding> {
        self.all.sort_by_key(|finding| finding.span.start);
        if let Some(at) = self.next {
            let finding =
                Finding::error(at..at, format!("{} more findings are not shown", self.more))
                    .label("the first of them is here")
                    .help("set right what is shown, then check again");
            // The line is as grave as the gravest of those it stands for.
            let shown = self.all.iter().filter(|f| f.severity == Severity::Error);
            let severity = if self.errors > shown.count() {
                Severity::Error
            } else {
                Severity::Advice
            };
            self.all.push(Finding {
                severity,
                ..finding
            });
        }
        self.all
    }
}

/// Finds the right word that is nearest to a wrong one.
#[derive(Debug)]
pub(crate) struct Suggester {
    left: usize,
}

impl Default for Suggester {
    fn default() -> Suggester {
        Suggester {
            left: MOST_SUGGESTIONS,
        }
    }
}

impl Suggester {
    /// Returns that of `words` which is most like `wrong`, if one is like it at all.
    pub(crate) fn nearest<'a>(
        &mut self,
        wrong: &str,
        words: impl IntoIterator<Item = &'a str>,
    ) -> Option<&'a str> {
        if self.left == 0 || wrong.len() > LONGEST_SUGGESTION {
            return None;
        }
        self.left -= 1;
        words
            .into_iter()
            .filter(|word| word.len() <= LONGEST_SUGGESTION)
            .map(|word| (word, strsim::normalized_levenshtein(wrong, word)))
            .filter(|(_, likeness)| *likeness >= 0.5)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(word, _)| word)
    }
}

/// Returns `text` for use in a message: its first 60 characters, `…` for the rest.
pub(crate) fn clipped(text: &str) -> String {
    const LONGEST: usize = 60;
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

/// Whether a drawing has colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    Plain,
    Coloured,
}

/// Draws `findings` of the file `name` with the text `source`: each with its line and column, the
/// line itself, and the cure. Empty where there is nothing to draw.
pub fn draw(name: &str, source: &str, findings: &[Finding], look: Look) -> String {
    let lines = Lines::of(source);
    let renderer = match look {
        Look::Plain => Renderer::plain(),
        Look::Coloured => Renderer::styled(),
    };
    let mut drawn = String::new();
    for finding in findings {
        let level = match finding.severity {
            Severity::Error => Level::ERROR,
            Severity::Advice => Level::WARNING.with_name("advice"),
        };
        let spot = lines.spot(source, finding.span.clone());
        let label = (!finding.label.is_empty()).then_some(finding.label.as_str());
        let snippet = Snippet::source(spot.text)
            .line_start(spot.line)
            .annotation(AnnotationKind::Primary.span(spot.marked).label(label));
        let title = level.primary_title(finding.message.as_str());
        let mut group = match spot.column_if_cut {
            None => title.element(snippet.path(name)),
            Some(column) => {
                let origin = Origin::path(name).line(spot.line).char_column(column);
                title.element(Element::Origin(origin)).element(snippet)
            }
        };
        if let Some(help) = &finding.help {
            group = group.element(Level::HELP.message(help.as_str()));
        }
        drawn.push_str(&renderer.render(&[group]));
        drawn.push_str("\n\n");
    }
    drawn
}

/// A line of the source as drawn.
struct Spot<'a> {
    text: &'a str,
    /// From 1.
    line: usize,
    /// Where `text` is only part of its line: the column in the whole line, from 1, in characters.
    column_if_cut: Option<usize>,
    /// Bytes of `text`.
    marked: Range<usize>,
}

/// Where each line begins.
struct Lines {
    starts: Vec<usize>,
}

impl Lines {
    fn of(source: &str) -> Lines {
        let ends = source.match_indices('\n').map(|(end, _)| end + 1);
        Lines {
            starts: std::iter::once(0).chain(ends).collect(),
        }
    }

    /// Returns the line in which `span` begins; of a very long line only what is round the place.
    fn spot<'a>(&self, source: &'a str, span: Range<usize>) -> Spot<'a> {
        const MOST_BESIDE: usize = 100;
        let from = source.floor_char_boundary(span.start.min(source.len()));
        let line = self.starts.partition_point(|start| *start <= from);
        let start = self.starts[line.saturating_sub(1)];
        let whole_end = source[from..].find('\n').map_or(source.len(), |n| from + n);
        let end = source[start..whole_end].trim_end_matches('\r').len() + start;
        let from = from.min(end);
        let to = source.floor_char_boundary(span.end.clamp(from, end));
        let first = if from - start > 2 * MOST_BESIDE {
            source.ceil_char_boundary(from - MOST_BESIDE)
        } else {
            start
        };
        let last = if end - from > 2 * MOST_BESIDE {
            source.floor_char_boundary(from + 2 * MOST_BESIDE)
        } else {
            end
        };
        Spot {
            text: &source[first..last],
            line,
            column_if_cut: (first > start).then(|| source[start..from].chars().count() + 1),
            marked: from - first..to.clamp(from, last) - first,
        }
    }
}
