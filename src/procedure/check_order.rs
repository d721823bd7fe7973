//! The rules about order: what a step comes after, and the conditions that it names.
//!
//! What comes of the order is judged by whoever knows the rules of the run; here the judgement gets its
//! place in the file.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::check::Draft;
use super::finding::{Finding, Findings, clipped};
use super::model::Step;
use super::place::Place;
use super::values::Text;

/// Reports broken rules of order and conditions.
pub(super) fn check_order(draft: &Draft, findings: &mut Findings) {
    check_after(draft, findings);
    check_declared(draft, findings);
    for (number, step) in draft.procedure.steps.iter().enumerate() {
        check_contradiction(step, draft.places.step(number), findings);
    }
}

/// Something that is wrong with what comes of a procedure, and the value in which it can be mended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// The number of the step, from 0.
    pub step: usize,
    /// The field of the step, and the entry of its list; none is the step itself.
    pub field: Option<(&'static str, usize)>,
    pub message: String,
    /// May be empty.
    pub label: String,
    pub help: String,
}

/// Reports what was judged to be wrong, each at its place.
pub(super) fn place_broken(draft: &Draft, broken: Vec<Broken>, findings: &mut Findings) {
    for one in broken {
        let step = draft.places.step(one.step);
        let span = match one.field {
            Some((field, entry)) => step.field(field).entry(entry).span(),
            None => step.field("id").span(),
        };
        findings.error(span.start, |_| {
            let finding = Finding::error(span, one.message).help(one.help);
            if one.label.is_empty() {
                finding
            } else {
                finding.label(one.label)
            }
        });
    }
}

/// Reports each `after` that names no step, the step itself, or a later one.
fn check_after(draft: &Draft, findings: &mut Findings) {
    let steps = &draft.procedure.steps;
    let mut numbers: BTreeMap<&str, usize> = BTreeMap::new();
    for (number, step) in steps.iter().enumerate() {
        numbers.entry(step.id.as_str()).or_insert(number);
    }
    // The steps that each step waits for, by number.
    let awaited: Vec<Vec<usize>> = steps
        .iter()
        .map(|step| {
            let known = step.after.iter().flatten();
            let known = known.filter_map(|id| numbers.get(id.as_str()));
            known.copied().collect()
        })
        .collect();
    for (number, step) in steps.iter().enumerate() {
        check_before(draft, number, &numbers, findings);
        for (i, id) in step.after.iter().flatten().enumerate() {
            let span = draft.places.step(number).field("after").entry(i).span();
            match numbers.get(id.as_str()) {
                None => findings.error(span.start, |suggester| {
                    let earlier = steps[..number].iter().map(|step| step.id.as_str());
                    let finding = Finding::error(span, format!("No step has the id `{id}`"));
                    match suggester.nearest(id.as_str(), earlier) {
                        Some(near) => finding.help(format!("did you mean `{near}`?")),
                        None => finding.help("write the id of an earlier step"),
                    }
                }),
                Some(&other) if other == number => findings.error(span.start, |_| {
                    Finding::error(span, format!("Step `{id}` is a step that waits for itself"))
                        .label("its own id")
                        .help("write the id of an earlier step, or take this out")
                }),
                Some(&other) if other > number => findings.error(span.start, |_| {
                    let line = draft.places.line_of_step(other);
                    match circle(steps, &awaited, other, number) {
                        Some(circle) => {
                            let message = format!("Steps wait for each other in a circle: {circle}");
                            Finding::error(span, message)
                                .label("the circle closes here")
                                .help("take one of these out of `after`: none of the steps could ever begin")
                        }
                        None => {
                            let message = format!("Step `{}` comes before `{id}`, but waits for it", step.id);
                            Finding::error(span, message)
                                .label("a later step")
                                .help(format!("move step `{id}`, now at line {line}, before this one"))
                        }
                    }
                }),
                Some(_) => {}
            }
        }
    }
}

/// Reports each `before` that names no step, the step itself, or an earlier one.
fn check_before(
    draft: &Draft,
    number: usize,
    numbers: &BTreeMap<&str, usize>,
    findings: &mut Findings,
) {
    let steps = &draft.procedure.steps;
    for (i, id) in steps[number].before.iter().enumerate() {
        let span = draft.places.step(number).field("before").entry(i).span();
        match numbers.get(id.as_str()) {
            None => findings.error(span.start, |suggester| {
                let later = steps[number..].iter().skip(1).map(|step| step.id.as_str());
                let finding = Finding::error(span, format!("No step has the id `{id}`"));
                match suggester.nearest(id.as_str(), later) {
                    Some(near) => finding.help(format!("did you mean `{near}`?")),
                    None => finding.help("write the id of a later step"),
                }
            }),
            Some(&other) if other <= number => findings.error(span.start, |_| {
                let this = &steps[number].id;
                let message = format!("Step `{this}` does not come before `{id}` in the file");
                Finding::error(span, message)
                    .label("not a later step")
                    .help(format!(
                        "move step `{id}` to after this one, or take this out"
                    ))
            }),
            Some(_) => {}
        }
    }
}

/// Returns the way by which step `from` waits, over others, for step `to`, in words.
fn circle(steps: &[Step], awaited: &[Vec<usize>], from: usize, to: usize) -> Option<String> {
    // The step from which each was reached first.
    let mut before: Vec<Option<usize>> = vec![None; steps.len()];
    before[from] = Some(from);
    let mut queue = VecDeque::from([from]);
    while let Some(number) = queue.pop_front()
        && before[to].is_none()
    {
        for &next in &awaited[number] {
            if before[next].is_none() {
                before[next] = Some(number);
                queue.push_back(next);
            }
        }
    }
    let mut way = vec![to];
    let mut at = to;
    while at != from {
        at = before[at]?;
        way.push(at);
    }
    way.push(to);
    let way: Vec<String> = way
        .iter()
        .rev()
        .map(|&number| format!("`{}`", steps[number].id))
        .collect();
    Some(way.join(" after "))
}

/// Reports conditions that are used but not declared, or declared but not used.
fn check_declared(draft: &Draft, findings: &mut Findings) {
    let declared: BTreeSet<&str> = draft
        .procedure
        .conditions
        .iter()
        .map(|c| c.name.as_str())
        .collect();
    check_resources(draft, findings);
    let mut used = BTreeSet::new();
    for (number, step) in draft.procedure.steps.iter().enumerate() {
        let place = draft.places.step(number);
        for (field, conditions) in uses(step) {
            for (i, condition) in conditions.iter().enumerate() {
                used.insert(condition.as_str());
                if declared.contains(condition.as_str()) {
                    continue;
                }
                let span = place.field(field).entry(i).span();
                findings.error(span.start, |suggester| {
                    let name = clipped(condition.as_str());
                    let finding =
                        Finding::error(span, format!("The condition \"{name}\" is not declared"));
                    match suggester.nearest(condition.as_str(), declared.iter().copied()) {
                        Some(near) => finding.help(format!("did you mean \"{near}\"?")),
                        None => finding.help(format!(
                            "add it to `conditions: [\"{name}\"]` of the procedure"
                        )),
                    }
                });
            }
        }
    }
    if !draft.whole {
        return;
    }
    for (i, condition) in draft.procedure.conditions.iter().enumerate() {
        if !used.contains(condition.name.as_str()) {
            let span = draft.places.root().field("conditions").entry(i).span();
            findings.advice(span.start, |_| {
                let name = clipped(condition.name.as_str());
                Finding::advice(span, format!("No step uses the condition \"{name}\"")).help(
                    "take it out, or write it in `sets`, `clears`, `needs` or `forbidden_while`",
                )
            });
        }
    }
}

/// Reports resources that a step uses and the procedure does not name.
fn check_resources(draft: &Draft, findings: &mut Findings) {
    let named = &draft.procedure.resources;
    for (number, step) in draft.procedure.steps.iter().enumerate() {
        for (i, resource) in step.uses.iter().enumerate() {
            if named.contains(resource) {
                continue;
            }
            let span = draft.places.step(number).field("uses").entry(i).span();
            findings.error(span.start, |suggester| {
                let name = clipped(resource.as_str());
                let finding = Finding::error(span, format!("The resource \"{name}\" is not named"));
                match suggester.nearest(resource.as_str(), named.iter().map(Text::as_str)) {
                    Some(near) => finding.help(format!("did you mean \"{near}\"?")),
                    None => finding.help(format!(
                        "add it to `resources: [\"{name}\"]` of the procedure"
                    )),
                }
            });
        }
    }
}

fn uses(step: &Step) -> [(&'static str, &[Text]); 4] {
    [
        ("needs", &step.needs),
        ("forbidden_while", &step.forbidden_while),
        ("sets", &step.sets),
        ("clears", &step.clears),
    ]
}

/// Reports conditions that one step both sets and clears, or needs and is forbidden by.
fn check_contradiction(step: &Step, place: Place, findings: &mut Findings) {
    let pairs = [
        ("clears", &step.clears, &step.sets, "sets and clears"),
        (
            "forbidden_while",
            &step.forbidden_while,
            &step.needs,
            "needs and is forbidden by",
        ),
    ];
    for (field, ones, others, does) in pairs {
        for (i, condition) in ones.iter().enumerate().filter(|(_, c)| others.contains(c)) {
            let span = place.field(field).entry(i).span();
            findings.error(span.start, |_| {
                let name = clipped(condition.as_str());
                Finding::error(span, format!("Step `{}` {does} \"{name}\"", step.id))
                    .help("keep one of the two, or make two steps of it")
            });
        }
    }
}
