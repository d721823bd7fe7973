//! What is put on threads against what their torque holds for.

use std::collections::BTreeMap;

use super::check::Draft;
use super::fasten::{Fasten, Put};
use super::finding::{Finding, Findings, clipped};
use super::model::Step;
use super::values::Text;
use crate::trade::lubrication::agree;
use crate::trade::{Verdict, Worked};

/// Reports fasteners that nobody names, and torques for other threads than the steps before have made
/// of them. The steps are followed in the order of the file.
pub(super) fn check_threads(draft: &Draft, findings: &mut Findings) {
    let steps = &draft.procedure.steps;
    let mut put: BTreeMap<&Text, (Put, &Step)> = BTreeMap::new();
    for (number, step) in steps.iter().enumerate() {
        let place = draft.places.step(number);
        for (i, applied) in step.applies.iter().enumerate() {
            put.insert(&applied.to, (applied.what, step));
            let named =
                |step: &&Step| fastened(step).is_some_and(|f| f.name.as_ref() == Some(&applied.to));
            if draft.whole && !steps.iter().any(|step| named(&step)) {
                let span = place.field("applies").entry(i).field("to").span();
                findings.error(span.start, |suggester| {
                    let name = clipped(applied.to.as_str());
                    let finding = Finding::error(span, format!("No step fastens \"{name}\""));
                    let names = steps
                        .iter()
                        .filter_map(fastened)
                        .filter_map(|f| f.name.as_ref());
                    match suggester.nearest(applied.to.as_str(), names.map(Text::as_str)) {
                        Some(near) => finding.help(format!("did you mean \"{near}\"?")),
                        None => finding.help("write it as `name` in the `fasten` that it is for"),
                    }
                });
            }
        }
        let Some(fasten) = fastened(step) else {
            continue;
        };
        let Some((what, by)) = fasten.name.as_ref().and_then(|name| put.get(name)) else {
            continue;
        };
        let Some(worked) = disagree(fasten, *what) else {
            continue;
        };
        let span = place.field("fasten").field("threads").span();
        let agreement = &worked.result;
        let message = format!(
            "Step `{}` has left these threads {}, and this torque is {}",
            by.id,
            what.leaves().word(),
            match fasten.threads.condition() {
                Some(stated) => format!("for threads {}", stated.word()),
                None => "not said to be for any".into(),
            }
        );
        if agreement.verdict == Verdict::Refuse {
            findings.error(span.start, |_| {
                Finding::error(span, message)
                    .label("the torque holds for these")
                    .help(format!(
                        "leave the threads dry in step `{}`, or clean them (`what: Nothing`), or write the \
                         document's figure for such threads with its `threads`",
                        by.id
                    ))
            });
        } else {
            findings.advice(span.start, |_| {
                Finding::advice(span, message)
                    .help("write in `threads` what the document says, and its figure for them")
            });
        }
    }
}

/// Returns the circle of a step that has a torque.
fn fastened(step: &Step) -> Option<&Fasten> {
    let fasten = step.fasten.as_ref()?;
    let torque = fasten.torques().iter().any(Option::is_some);
    torque.then_some(fasten)
}

/// Returns what speaks against a torque on threads on which `put` was put; none where nothing does.
pub(super) fn disagree(
    fasten: &Fasten,
    put: Put,
) -> Option<Worked<crate::trade::lubrication::Agreement>> {
    let worked = agree(fasten.threads.condition(), put.leaves());
    (worked.result.verdict != Verdict::Go).then_some(worked)
}

impl Fasten {
    /// Returns why the torque must not be put on threads on which `put` was put, as a question to the
    /// document; none where nothing is known against it.
    pub fn forbids(&self, put: Put) -> Option<String> {
        let worked = disagree(self, put)?;
        let refused = worked.result.verdict == Verdict::Refuse;
        worked.result.question.filter(|_| refused)
    }
}
