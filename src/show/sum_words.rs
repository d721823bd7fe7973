//! The words of sums and of the wrench in hand. Pure.

use super::aloud::aloud;
use super::words::{capital, join};
use crate::procedure::StepId;
use crate::run::Run;
use crate::trade::Verdict;
use crate::trade::in_hand::Dial;

/// Returns the gravest result that is called.
pub(super) fn result(run: &Run) -> String {
    let results = run.results();
    let first = results.into_iter().next();
    first.map_or_else(String::new, |(_, result)| result.result)
}

/// Returns the other results that are called, what cures them, and their sources.
pub(super) fn result_detail(run: &Run) -> String {
    let results = run.results();
    let mut parts: Vec<String> = Vec::new();
    for (number, (_, result)) in results.iter().enumerate() {
        if number > 0 {
            parts.push(result.result.clone());
        }
        parts.extend(result.more.iter().cloned());
    }
    let mut sources: Vec<&str> = Vec::new();
    for (_, result) in &results {
        if !sources.contains(&result.source.as_str()) && !result.source.is_empty() {
            sources.push(&result.source);
        }
    }
    if !sources.is_empty() {
        parts.push(format!("By {}", sources.join("; ")));
    }
    join(&parts.iter().map(String::as_str).collect::<Vec<_>>())
}

/// What is shown where readings are asked for because the earlier ones are too old.
pub(super) const READ_ANEW: &str = "The earlier readings are too old for what comes next.";

/// Returns what is said when the readings of a step have become too old.
pub(super) fn aged(run: &Run, job: usize, step: &StepId) -> String {
    if job == run.state().job {
        return READ_ANEW.into();
    }
    let procedure = run.procedures().nth(job);
    let step = procedure.and_then(|p| Some((p, p.step(step)?)));
    step.map_or_else(String::new, |(procedure, step)| {
        format!(
            "In \"{}\" readings are too old: {}",
            procedure.title, step.say
        )
    })
}

/// Returns the results that belong to the call, with what is to be heeded.
pub(super) fn results_of_call(run: &Run) -> String {
    let results = run.results_of_call();
    let parts = results
        .iter()
        .flat_map(|(_, result)| std::iter::once(&result.result).chain(&result.more));
    join(&parts.map(String::as_str).collect::<Vec<_>>())
}

/// Returns what to dial on the wrench in hand, with what speaks against it.
pub(super) fn dial(run: &Run) -> String {
    let Some(dial) = run.dial() else {
        return String::new();
    };
    let more = dial.more.iter().map(String::as_str);
    let parts: Vec<&str> = std::iter::once(dial.words.as_str()).chain(more).collect();
    join(&parts)
}

/// Returns the same for the voice.
pub(super) fn spoken_dial(dial: &Dial) -> String {
    let lead = match dial.verdict {
        Verdict::Go => "",
        Verdict::Warn => "Take care. ",
        Verdict::Refuse => "Not with this wrench. ",
    };
    let more = dial.more.iter().map(|sentence| format!(" {sentence}"));
    aloud(&format!(
        "{lead}{}.{}",
        capital(&dial.words),
        more.collect::<String>()
    ))
}
