//! What the voice says of the run: the call, and what has happened. Pure.

use super::aloud::aloud;
use super::sum_words::spoken_dial;
use super::words::{
    call, capital, clock, detail, doubted, follow_ups, gather, help, join, time_of, times, torque,
};
use super::{plan_words, shelf_words, sum_words, wait_words};
use crate::clock::Hours;
use crate::procedure::{Caution, Condition, Requirement};
use crate::run::{Asking, CautionPage, Claim, Event, Mode, Run, Time, Topic};
use crate::wording::Wording;

/// Returns what the voice says when the picture has changed by `events`; empty for silence.
pub fn spoken(run: &Run, events: &[Event], now: Time, hours: &Hours, wording: &Wording) -> String {
    let mut said: Vec<String> = Vec::new();
    if let Some(called) = spoken_ends(run, events, now, hours) {
        return called;
    }
    for event in events {
        match event {
            Event::WaitMoved { .. } => said.push(wait_words::moved(event, now, hours)),
            Event::WaitStopped { name, .. } => said.push(format!("{name} stopped.")),
            Event::ClockDiffered { wall, passed } => {
                return wait_words::clock_differs(run, *wall, *passed, hours);
            }
            Event::ReadingsAged { job, step, .. } => said.push(sum_words::aged(run, *job, step)),
            Event::TakenBack => said.push("Taken back.".into()),
            Event::Resumed => {
                said.push("Going on.".into());
                said.extend(spoken_in_force(run));
            }
            Event::Moved { job, .. } => {
                if let Some(procedure) = run.procedures().nth(*job) {
                    let at = run.progress().step + 1;
                    said.push(format!("{}, step {at}.", procedure.title));
                }
                said.extend(spoken_in_force(run));
            }
            Event::Settled { condition, truth } => {
                let holds = if *truth { "Noted" } else { "Noted, not" };
                said.push(format!("{holds}: {condition}."));
            }
            Event::HeldAgain { .. } => said.push("Going on.".into()),
            Event::Opened(_) if !run.state().begun => return String::new(),
            Event::Opened(opened) => return shelf_words::opened(&opened.procedure, wording),
            Event::OpeningAsked { title, .. } => return shelf_words::asked(title),
            Event::OpeningRefused { file, why } => return shelf_words::refused(run, file, why),
            Event::WentBack { .. } => said.push("Back.".into()),
            Event::Skipped { .. } => said.push("Skipped, as a deviation.".into()),
            Event::DeviationAccepted { .. } => said.push("Taken, as a deviation.".into()),
            Event::ReadingTaken { .. } => said.push("Reading taken.".into()),
            Event::Claimed {
                claim: Claim::Hold { .. },
                ..
            } => {
                said.push("Hold open.".into());
                said.extend(spoken_cautions(&beginning_cautions(run)));
            }
            Event::Claimed { .. } => said.extend(spoken_cautions(&beginning_cautions(run))),
            Event::WaitBegan { due, .. } => {
                said.push(format!("Countdown until {}.", clock(*due, hours)));
                said.push(shelf_words::offered(run, wording));
            }
            Event::Doubted { command, .. } => return doubted(run, command, wording),
            Event::Questioned { question } => return wording.retell(run, question),
            Event::FellSilent => return String::new(),
            Event::ToolTaken(_) => {
                let called = run.in_hand().map(|in_hand| in_hand.called());
                said.extend(called.map(|called| format!("In hand: {called}.")));
                if let Some(dial) = run.dial() {
                    said.push(spoken_dial(&dial));
                    return said.join(" ");
                }
            }
            Event::SpokeUp => said.push("Voice on.".into()),
            Event::NoteBegan => return "Voice note. Speak now.".into(),
            Event::NoteKept { .. } => return "Note kept.".into(),
            Event::NoteLost { why } => return format!("The note is lost. {why}"),
            Event::Told(Topic::Time) => return times(run, now),
            Event::Told(Topic::Wait { job, step }) => return time_of(run, *job, *step, now),
            Event::Told(Topic::Torque) => return torque(run),
            Event::Told(Topic::Plan) => return aloud(&plan_words::spoken(run, now, hours)),
            Event::Told(Topic::Parts) => return gather(&run.procedure().gather).join(". "),
            Event::Told(Topic::Help) => return help(run, wording),
            _ => {}
        }
    }
    let paged = |event: &Event| matches!(event, Event::CautionKnown { .. });
    said.push(called(run, wording, !events.iter().any(paged)));
    said.retain(|sentence| !sentence.is_empty());
    said.join(" ")
}

/// Returns the cautions of the conditions that hold, as said on coming back to the work; none where each is
/// said on a page of its own.
pub fn spoken_in_force(run: &Run) -> Vec<String> {
    match run.caution_page() {
        Some(_) => Vec::new(),
        None => spoken_cautions(&run.cautions_in_force()),
    }
}

/// Returns what is said where waits came to their ends: all of them, for they may have done so while
/// nobody was there; none where no end is among the events.
fn spoken_ends(run: &Run, events: &[Event], now: Time, hours: &Hours) -> Option<String> {
    let ends = events.iter().filter_map(|event| match event {
        Event::WaitEnded { job, step, .. }
        | Event::WaitWarned { job, step, .. }
        | Event::WaitTooLate { job, step, .. } => Some((job, step)),
        _ => None,
    });
    let mut told: Vec<String> = Vec::new();
    for (job, step) in ends {
        let mut waits = run.waits_of_jobs();
        let one = waits.find(|one| one.job == *job && one.wait.step == *step)?;
        let words = wait_words::spoken_call(run, one, now, 0, hours);
        if !told.contains(&words) {
            told.push(words);
        }
    }
    (!told.is_empty()).then(|| aloud(&told.join(" ")))
}

/// Returns the call as spoken, with cautions before it where they begin to apply.
pub fn spoken_call(run: &Run, wording: &Wording) -> String {
    called(run, wording, true)
}

/// Returns the call as spoken, `with_cautions` where they were not said on pages just now.
fn called(run: &Run, wording: &Wording, with_cautions: bool) -> String {
    let state = run.state();
    if let (Mode::Working, Some(Asking::Again(_)), Some(hold)) =
        (state.mode, &state.asking, run.asking_hold())
    {
        let answer = wording.signed(hold.answer.as_str());
        return aloud(&format!("Hold again. {} Answer: {answer}.", hold.ask));
    }
    let other = run.called_wait().is_some() || state.giving.is_some();
    if state.mode != Mode::Working || state.asking.is_some() || other {
        return aloud(&call(run));
    }
    if state.finished {
        return aloud(&join(&["Job finished.", &follow_ups(run)]));
    }
    let Some(step) = run.step() else {
        return call(run);
    };
    if run.blocked().is_some() {
        return aloud(&format!("{}. {}", call(run), detail(run)));
    }
    if let Some(page) = run.caution_page() {
        return aloud(&spoken_page(&page, wording));
    }
    let progress = run.progress();
    let at_start = !progress.is_begun();
    let mut said: Vec<String> = Vec::new();
    if at_start && with_cautions {
        said.extend(spoken_cautions(&step.cautions.iter().collect::<Vec<_>>()));
    }
    if at_start && step.takes_people() > 1 {
        said.push("For two people.".into());
    }
    match (run.requirement(), run.bolt()) {
        (Some(Requirement::Fasten(fasten)), Some(called)) => {
            if at_start {
                said.push(step.say.to_string());
            }
            let name = capital(fasten.called.word());
            let first_of_pass = progress.tightened.is_multiple_of(fasten.bolts.get());
            match called.torque {
                Some(torque) if first_of_pass => {
                    let round = if fasten.is_check_round(called.pass) {
                        " All the way round, until nothing moves."
                    } else {
                        ""
                    };
                    let pass = format!("Pass {} of {}.{round}", called.pass + 1, called.passes);
                    said.push(format!(
                        "{pass} {}, {}. {name} {}.",
                        torque.spoken(),
                        fasten.threads.words(),
                        called.bolt
                    ));
                }
                Some(torque) => said.push(format!("{name} {}, {}.", called.bolt, torque.spoken())),
                None => said.push(format!("{name} {}.", called.bolt)),
            }
            if first_of_pass {
                said.extend(run.dial().map(|dial| spoken_dial(&dial)));
            }
        }
        (Some(Requirement::Hold(hold)), _) => {
            if progress.part == 0 {
                said.push(step.say.to_string());
            }
            let answer = wording.signed(hold.answer.as_str());
            said.push(format!("Hold. {} Answer: {answer}.", hold.ask));
        }
        (Some(Requirement::Result(_)), _) => {
            let results = run.results();
            said.extend(results.iter().map(|(_, result)| result.sentences()));
        }
        _ => said.push(call(run)),
    }
    if at_start {
        let results = run.results_of_call();
        said.extend(results.iter().map(|(_, result)| result.sentences()));
    }
    aloud(&said.join(" "))
}

/// Returns the cautions of the conditions that the step which was just left has set.
fn beginning_cautions(run: &Run) -> Vec<&Caution> {
    let progress = run.progress();
    if progress.is_begun() || run.caution_page().is_some() {
        return Vec::new();
    }
    let left = progress.left.last();
    let Some(step) = left.and_then(|&step| run.procedure().steps.get(step)) else {
        return Vec::new();
    };
    let set = |condition: &&Condition| step.sets.contains(&condition.name);
    let conditions = run.conditions().iter().filter(set);
    conditions
        .flat_map(|condition| &condition.cautions)
        .collect()
}

/// Returns a caution that stands before the call as it is said; the first with what leads on.
fn spoken_page(page: &CautionPage<'_>, wording: &Wording) -> String {
    let said = spoken_cautions(&[page.caution]).join(" ");
    let place = format!("Caution {} of {}.", page.number, page.of);
    match page.number {
        1 => format!("{place} {said} Say {}.", wording.said("next instruction")),
        _ => format!("{place} {said}"),
    }
}

/// Returns cautions as they are said.
pub fn spoken_cautions(cautions: &[&Caution]) -> Vec<String> {
    let spoken = |c: &&Caution| format!("{}: {}", capital_only(c.signal.word()), c.say);
    cautions.iter().map(spoken).collect()
}

/// `WARNING` as `Warning`: engines spell out words in capitals.
fn capital_only(word: &str) -> String {
    capital(&word.to_lowercase())
}
