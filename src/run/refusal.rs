//! Why a command is not carried out, in words, and what leads on.

use super::blocked::Blocked;
use super::command::Command;
use super::event::Event;
use super::figure::Figure;
use super::sayable;
use super::state::{Run, Truth};
use crate::procedure::{Requirement, Text};

/// Why a command is not carried out, and what to do instead: both whole sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    pub why: String,
    pub instead: String,
}

pub(super) type Decision = Result<Vec<Event>, Refusal>;

pub(super) fn refuse(why: &str, instead: impl Into<String>) -> Decision {
    Err(Refusal {
        why: why.into(),
        instead: instead.into(),
    })
}

pub(super) fn refuse_short_press(answer: &str) -> Decision {
    refuse(
        "A hold does not open on a short press",
        format!("Say \"{answer}\", or press the key and keep it pressed"),
    )
}

/// Says what a sum says, and how to go on from there.
pub(super) fn refused_by_sum(run: &Run) -> Refusal {
    let results = run.results();
    let first = results.first();
    let why = first.map_or_else(String::new, |(_, result)| result.result.clone());
    let cure = first.and_then(|(_, result)| result.more.first().cloned());
    let instead = [cure.unwrap_or_default(), way_forward(run)].join(" ");
    Refusal {
        why,
        instead: instead.trim_start().to_owned(),
    }
}

/// The question that answers the wrong way forward.
pub(super) fn question(run: &Run, requirement: Requirement<'_>) -> String {
    match requirement {
        Requirement::Hold(hold) => format!("{} Answer \"{}\".", hold.ask, hold.answer),
        Requirement::Reading(reading) => {
            let places = reading.places();
            format!(
                "{}? Say every digit, such as \"{}\".",
                reading.name,
                Figure::spoken_example(places)
            )
        }
        Requirement::Know | Requirement::Result(_) => {
            "Taken notice? Say \"next instruction\".".into()
        }
        _ => format!("Done? {}.", way_forward(run)),
    }
}

pub(super) fn blocked_refusal(run: &Run, blocked: &Blocked) -> Refusal {
    let why = match blocked {
        Blocked::Forbidden {
            condition,
            certain: true,
        } => format!("Not while: {condition}"),
        Blocked::Lacking {
            condition,
            certain: true,
        } => format!("Only while: {condition}"),
        Blocked::Forbidden { condition, .. } | Blocked::Lacking { condition, .. } => {
            return Refusal {
                why: format!("Not certain any more: {condition}"),
                instead: format!("Look. {}", which(run)),
            };
        }
        Blocked::After { .. } => "An earlier step is not done".into(),
        Blocked::Wait { name } => format!("The wait \"{name}\" is not over"),
        Blocked::Taken { resource, .. } => format!("{resource} is still in use"),
        Blocked::Refused { why } => why.clone(),
    };
    let instead = match blocked {
        Blocked::Forbidden { condition, .. } => first(run, condition, Truth::Clear),
        Blocked::Lacking { condition, .. } => first(run, condition, Truth::Set),
        Blocked::After { step } => match run.procedure().step(step) {
            Some(step) => format!("Do this first: {}", step.say),
            None => way_forward(run),
        },
        Blocked::Wait { .. } => "Say \"time remaining\"".into(),
        Blocked::Taken { .. } | Blocked::Refused { .. } => way_forward(run),
    };
    Refusal { why, instead }
}

/// What must be done first so that a condition is as wanted, and how to get there.
pub(super) fn first(run: &Run, condition: &Text, wanted: Truth) -> String {
    let Some((job, step)) = run.step_that_settles(condition, wanted) else {
        return "No step of the open jobs does that: check the work yourself".into();
    };
    if job != run.state().job
        && let Some(other) = run.procedures().nth(job)
    {
        let how = match &other.called {
            Some(called) => format!("Say \"{called}\""),
            None => "Say \"different work\"".into(),
        };
        return format!("Do this first, in \"{}\": {} {how}", other.title, step.say);
    }
    format!("Do this first: {} Say \"previous instruction\"", step.say)
}

/// How the person says which, where a condition is uncertain.
pub(super) fn which(run: &Run) -> String {
    let said = sayable::may_say(run);
    let words = |command: Command| {
        let found = said.iter().find(|sayable| sayable.command == command);
        found.map_or("", |sayable| sayable.say.as_str())
    };
    format!(
        "Say \"{}\" or \"{}\"",
        words(Command::StillSo),
        words(Command::NoLonger)
    )
}

/// The first thing that may be said, as a sentence without its stop.
pub(super) fn way_forward(run: &Run) -> String {
    if let Some(wanted) = run.wants() {
        let places = wanted.places();
        return format!(
            "Say every digit, such as \"{}\"",
            Figure::spoken_example(places)
        );
    }
    match sayable::may_say(run).first() {
        Some(first) => format!("Say \"{}\"", first.say),
        None => "Say \"assistance required\"".into(),
    }
}
