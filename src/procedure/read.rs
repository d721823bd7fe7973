//! From the bytes of a file to a procedure, or to everything that is wrong with it.

use super::check::{Draft, check};
use super::check_order::{Broken, place_broken};
use super::fields::{PROCEDURE, ron_options};
use super::finding::{Finding, Findings, Severity};
use super::model::{Procedure, Step};
use super::outline::{Kind, Node, outline};
use super::phrases::Speech;
use super::place::Places;
use super::shape::{Right, Shaper};

/// The largest file that is read, in bytes (1 MiB); a procedure of a hundred steps has about 30 kB.
pub const LARGEST_FILE: usize = 1024 * 1024;

/// Reads a procedure from the bytes of the file `name`.
///
/// # Errors
/// Everything that is wrong with the file, in its order, advice among it; at least one finding is
/// an error.
pub fn read(name: &str, bytes: &[u8], speech: &Speech) -> Result<Procedure, Vec<Finding>> {
    match check_file(name, bytes, speech) {
        (Some(procedure), _) => Ok(procedure),
        (None, findings) => Err(findings),
    }
}

/// Reads a procedure and returns all that is to be said about it: errors, and then there is no
/// procedure, and advice. Places are bytes of the file. What comes of its order is not judged.
pub fn check_file(name: &str, bytes: &[u8], speech: &Speech) -> (Option<Procedure>, Vec<Finding>) {
    check_judged(name, bytes, speech, &|_| Vec::new())
}

/// Says what is wrong with what comes of a procedure.
pub type Judge<'a> = dyn Fn(&Procedure) -> Vec<Broken> + 'a;

/// The same, with `judge` asked what comes of a procedure that has no other error.
pub fn check_judged(
    name: &str,
    bytes: &[u8],
    speech: &Speech,
    judge: &Judge,
) -> (Option<Procedure>, Vec<Finding>) {
    let source = match text_of(name, bytes, "procedure file") {
        Ok(source) => source,
        Err(finding) => return (None, vec![finding]),
    };
    let mut findings = Findings::default();
    let procedure = read_text(source, speech, judge, &mut findings);
    let errors = findings.errors();
    (procedure.filter(|_| errors == 0), findings.into_sorted())
}

/// Returns the text of the file `name`, a `called`, or why it is none that is read.
pub(crate) fn text_of<'a>(name: &str, bytes: &'a [u8], called: &str) -> Result<&'a str, Finding> {
    if bytes.len() > LARGEST_FILE {
        let size = bytes.len() as f64 / LARGEST_FILE as f64;
        let message = format!("A {called} has at most 1 MiB, but {name} has {size:.1} MiB");
        let help = format!("name a {called}, or split it");
        return Err(Finding::error(0..0, message).help(help));
    }
    std::str::from_utf8(bytes).map_err(|error| {
        let at = error.valid_up_to();
        let message = format!("Byte {} of {name} is no UTF-8 text", at + 1);
        Finding::error(at..at, message)
            .label("can be read up to here")
            .help("save the file as UTF-8")
    })
}

fn read_text(
    source: &str,
    speech: &Speech,
    judge: &Judge,
    findings: &mut Findings,
) -> Option<Procedure> {
    let root = outline(source, &PROCEDURE, findings);
    let Some(root) = root else {
        if findings.errors() == 0 {
            findings.error(0, |_| {
                Finding::error(0..0, "The file is empty")
                    .help("begin with `(title: \"…\", subject: \"…\", steps: [ … ])`")
            });
        }
        return None;
    };
    let Kind::Group(group) = &root.kind else {
        return None;
    };
    let mut shaper = Shaper {
        source,
        findings,
        steps: Vec::new(),
    };
    let right = shaper.fields(group, &PROCEDURE);
    let steps = shaper.steps;
    let whole = findings.errors() == 0;
    let (procedure, nodes) = if whole {
        let procedure = whole_procedure(source, findings)?;
        (procedure, steps.iter().map(|(node, _)| *node).collect())
    } else {
        what_is_right(source, &right, &steps)?
    };
    let places = Places {
        source,
        root: &root,
        steps: nodes,
    };
    let draft = Draft {
        procedure: &procedure,
        places: &places,
        whole,
    };
    check(&draft, speech, findings);
    // What comes of a procedure with other errors follows from them.
    if findings.errors() == 0 {
        place_broken(&draft, judge(&procedure), findings);
    }
    Some(procedure)
}

/// Reads a file of which the outline and every single value are right. Should RON see what they do
/// not, its word counts.
fn whole_procedure(source: &str, findings: &mut Findings) -> Option<Procedure> {
    let text = source.strip_prefix('\u{feff}').unwrap_or(source);
    match ron_options().from_str(text) {
        Ok(procedure) => Some(procedure),
        Err(error) => {
            let mark = source.len() - text.len();
            let at = mark + byte_at(text, error.span.start.line, error.span.start.col);
            findings.error(at, |_| {
                Finding::error(at..at, error.code.to_string())
                    .help("see the RON notation for this place")
            });
            None
        }
    }
}

/// Puts together the parts of a faulty file that are right, so that the rules between them can be
/// looked at too. What must be there and is not gets a stand-in that breaks no rule.
fn what_is_right<'a>(
    source: &str,
    right: &[Right],
    steps: &[(&'a Node, Vec<Right>)],
) -> Option<(Procedure, Vec<&'a Node>)> {
    let fields: Vec<_> = written(source, right)
        .filter(|(name, _)| *name != "steps")
        .chain([("steps", "[]")])
        .collect();
    let stand_ins = [("title", NOT_READ), ("subject", NOT_READ)];
    let mut procedure: Procedure = assemble(fields, &stand_ins)?;
    let mut nodes = Vec::new();
    for (number, (node, right)) in steps.iter().enumerate() {
        let id = format!("\"not-read-{number}\"");
        let stand_ins = [("id", id.as_str()), ("say", NOT_READ)];
        let step: Option<Step> = assemble(written(source, right).collect(), &stand_ins);
        if let Some(step) = step {
            procedure.steps.push(step);
            nodes.push(*node);
        }
    }
    Some((procedure, nodes))
}

const NOT_READ: &str = "\"not read\"";

/// Returns the names and values of fields as they are written.
fn written<'a>(source: &'a str, fields: &'a [Right]) -> impl Iterator<Item = (&'a str, &'a str)> {
    fields
        .iter()
        .map(|(name, value)| (&source[name.clone()], &source[value.clone()]))
}

fn assemble<'a, T: serde::de::DeserializeOwned>(
    mut fields: Vec<(&'a str, &'a str)>,
    stand_ins: &[(&'a str, &'a str)],
) -> Option<T> {
    for stand_in in stand_ins {
        if !fields.iter().any(|(name, _)| *name == stand_in.0) {
            fields.push(*stand_in);
        }
    }
    let lines = fields
        .iter()
        .map(|(name, value)| format!("{name}: {value},\n"));
    ron_options()
        .from_str(&format!("({})", lines.collect::<String>()))
        .ok()
}

/// Returns the byte of a line and column as RON counts them: from 1, columns in characters.
fn byte_at(source: &str, line: usize, column: usize) -> usize {
    let start = match line.checked_sub(2) {
        Some(before) => source
            .match_indices('\n')
            .nth(before)
            .map_or(source.len(), |(at, _)| at + 1),
        None => 0,
    };
    let rest = &source[start..];
    let offset = rest.char_indices().nth(column.saturating_sub(1));
    start + offset.map_or(rest.len(), |(at, _)| at)
}

/// Returns whether there is an error among `findings`.
pub fn refused(findings: &[Finding]) -> bool {
    findings
        .iter()
        .any(|finding| finding.severity == Severity::Error)
}
