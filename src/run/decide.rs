//! What a command does: events, or a refusal that says why and what to say instead.

use chrono::TimeDelta;

use super::command::{By, Command, Order};
use super::event::{Claim, Event, Topic};
use super::figure::Figure;
use super::sayable::can_go_back;
use super::state::{Asking, Blocked, Mode, Run, Truth};
use super::{Time, sayable};
use crate::procedure::{Reading, Requirement, Step};

/// Why a command is not carried out, and what to do instead: both whole sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    pub why: String,
    pub instead: String,
}

/// How long a command heard on doubt counts when said again: the question takes some seconds to be
/// spoken, and the person some to answer.
const DOUBT_LASTS: TimeDelta = TimeDelta::seconds(12);

type Decision = Result<Vec<Event>, Refusal>;

/// Decides what `order` does at `now`.
///
/// # Errors
/// A [`Refusal`]; the run stays as it is.
pub fn decide(run: &Run, order: &Order, now: Time) -> Decision {
    let command = &order.command;
    match command {
        Command::Tick => return Ok(tick(run, now)),
        Command::Begin if run.state().begun => return refuse("The job has begun", "Go on"),
        Command::Begin => return Ok(vec![Event::Began]),
        Command::NoteKept { file, seconds } => {
            return Ok(vec![Event::NoteKept {
                file: file.clone(),
                seconds: *seconds,
            }]);
        }
        Command::NoteLost { why } => return Ok(vec![Event::NoteLost { why: why.clone() }]),
        // Stopping is the safe side: never asked back, never refused.
        Command::Stop => return Ok(vec![Event::Stopped]),
        _ => {}
    }
    let doubtful =
        order.by == By::DoubtfulVoice || (order.by == By::Voice && outside(run, command));
    if doubtful && let Some(decision) = on_doubt(run, command, now) {
        return decision;
    }
    match command {
        Command::SayAgain => return told(Topic::Call),
        Command::RemainSilent => return Ok(vec![Event::FellSilent]),
        Command::SpeakAloud => return Ok(vec![Event::SpokeUp]),
        Command::PartsList => return told(Topic::Parts),
        Command::Assistance => return told(Topic::Help),
        Command::TimeRemaining if run.state().waits.is_empty() => {
            return refuse("No wait is running", way_forward(run));
        }
        Command::TimeRemaining => return told(Topic::Time),
        Command::ReadTorque => return read_torque(run),
        _ => {}
    }
    match (run.state().mode, command) {
        (Mode::StandingBy | Mode::Stopped, Command::Resume) => return Ok(vec![Event::Resumed]),
        (Mode::StandingBy, _) => return refuse("Standing by", way_forward(run)),
        (Mode::Stopped, _) => return refuse("Stopped", way_forward(run)),
        (Mode::Working, Command::Resume) => {
            return refuse("The work is going on", way_forward(run));
        }
        (Mode::Working, Command::StandBy) => return Ok(vec![Event::StoodBy]),
        (Mode::Working, Command::VoiceNote) if run.state().noting => {
            return refuse(
                "A voice note is being recorded",
                "Say it; silence ends the note",
            );
        }
        (Mode::Working, Command::VoiceNote) => return Ok(vec![Event::NoteBegan]),
        // What was only asked back has not taken effect: dropping it takes nothing else back.
        (Mode::Working, Command::Disregard) if run.doubted(now).is_some() => {
            return told(Topic::Call);
        }
        (Mode::Working, Command::Disregard) => {
            return if run.can_take_back() {
                Ok(vec![Event::TakenBack])
            } else {
                refuse("There is nothing to take back", way_forward(run))
            };
        }
        (Mode::Working, _) => {}
    }
    match run.state().asking.clone() {
        Some(asking) => answer(run, &asking, command),
        None => work(run, order, now),
    }
}

fn tick(run: &Run, now: Time) -> Vec<Event> {
    let waits = &run.state().waits;
    let mut events: Vec<Event> = waits
        .iter()
        .filter(|wait| wait.ended.is_none() && wait.due <= now)
        .map(|wait| Event::WaitEnded {
            step: wait.step.clone(),
            name: wait.name.clone(),
            at: wait.due,
        })
        .collect();
    let left = waits.iter().filter(|wait| wait.ended.is_none()).count();
    if run.step().is_none() && !run.state().finished && events.len() == left {
        events.push(Event::Finished);
    }
    events
}

/// Decides what was heard on doubt, or lets it pass where it is said again or nothing hangs on it.
fn on_doubt(run: &Run, command: &Command, now: Time) -> Option<Decision> {
    // A reading without the digits asked for is answered by how to say it, not by a question.
    let incomplete = matches!(
        (run.requirement(), command),
        (Some(Requirement::Reading(reading)), Command::Reading(figure))
            if figure.places() != reading.places()
    );
    let harmless = matches!(
        command,
        Command::SayAgain
            | Command::PartsList
            | Command::Assistance
            | Command::TimeRemaining
            | Command::ReadTorque
            | Command::RemainSilent
            | Command::SpeakAloud
            | Command::StandBy
    );
    let said_again = run.doubted(now) == Some(command);
    // A hold is never opened on doubt, however often it is said.
    if harmless || incomplete || (said_again && *command != Command::OpenHold) {
        return None;
    }
    Some(Ok(vec![Event::Doubted {
        command: command.clone(),
        until: now + DOUBT_LASTS,
    }]))
}

fn told(topic: Topic) -> Decision {
    Ok(vec![Event::Told(topic)])
}

fn read_torque(run: &Run) -> Decision {
    match run.bolt() {
        Some(_) => told(Topic::Torque),
        None => refuse("This step has no torque", way_forward(run)),
    }
}

/// Answers a question of the program.
fn answer(run: &Run, asking: &Asking, command: &Command) -> Decision {
    let Some(step) = run.step() else {
        return refuse("The job is done", way_forward(run));
    };
    match (asking, command) {
        (Asking::Reason, Command::SkipBecause(reason)) => {
            let skipped = Event::Skipped {
                step: step.id.clone(),
                reason: *reason,
            };
            Ok(with_finish(run, skipped))
        }
        (Asking::ReadBack(figure), Command::ConfirmReading) => {
            let Some(Requirement::Reading(reading)) = run.requirement() else {
                return refuse("No reading is asked for", way_forward(run));
            };
            let (step, name, figure) = (step.id.clone(), reading.name.clone(), figure.clone());
            if within(reading, &figure) {
                Ok(with_finish(run, Event::ReadingTaken { step, name, figure }))
            } else {
                Ok(vec![Event::ReadingOutside { step, name, figure }])
            }
        }
        // A reading said while one is read back replaces it: the person corrects.
        (Asking::ReadBack(_), Command::Reading(figure)) => hear_reading(run, figure),
        (Asking::Outside(_), Command::MeasureAgain) => Ok(vec![Event::MeasuringAgain {
            step: step.id.clone(),
        }]),
        (Asking::Outside(figure), Command::AcceptDeviation) => {
            let Some(Requirement::Reading(reading)) = run.requirement() else {
                return refuse("No reading is asked for", way_forward(run));
            };
            let accepted = Event::DeviationAccepted {
                step: step.id.clone(),
                name: reading.name.clone(),
                figure: figure.clone(),
            };
            Ok(with_finish(run, accepted))
        }
        (Asking::Reason, _) => refuse("A reason is asked for", way_forward(run)),
        (Asking::ReadBack(figure), _) => refuse(&format!("Is {figure} right?"), way_forward(run)),
        (Asking::Outside(_), _) => refuse("The reading is out of limits", way_forward(run)),
    }
}

/// Decides a command in the called step.
fn work(run: &Run, order: &Order, now: Time) -> Decision {
    let command = &order.command;
    let Some(step) = run.step() else {
        return match command {
            Command::PreviousInstruction => go_back(run),
            _ => refuse("All steps are done", way_forward(run)),
        };
    };
    match command {
        Command::PreviousInstruction => return go_back(run),
        Command::Skip if step.hold.is_some() => {
            return refuse(
                "A step with a hold cannot be skipped: only its own answer opens it",
                way_forward(run),
            );
        }
        Command::Skip => {
            return Ok(vec![Event::SkipAsked {
                step: step.id.clone(),
            }]);
        }
        Command::SkipBecause(_) => return refuse("No skip was asked for", "Say \"override skip\""),
        Command::ConfirmReading | Command::MeasureAgain | Command::AcceptDeviation => {
            return refuse("No reading is being read back", way_forward(run));
        }
        _ => {}
    }
    if let Some(blocked) = run.blocked() {
        return Err(blocked_refusal(run, &blocked));
    }
    let Some(requirement) = run.requirement() else {
        return refuse("Nothing is asked for", way_forward(run));
    };
    match (requirement, command) {
        (Requirement::Know, Command::NextInstruction) => Ok(claim(run, step, Claim::Known)),
        (Requirement::Work, Command::WorkComplete) => Ok(claim(run, step, Claim::Work)),
        (Requirement::Fasten(_), Command::WorkComplete) => match run.bolt() {
            Some(called) => {
                let bolt = Claim::Bolt {
                    pass: called.pass + 1,
                    bolt: called.bolt,
                };
                Ok(claim(run, step, bolt))
            }
            None => refuse("No bolt is called", way_forward(run)),
        },
        (Requirement::Reading(_), Command::Reading(figure)) => hear_reading(run, figure),
        (_, Command::Reading(_)) => refuse("No reading is asked for", way_forward(run)),
        (Requirement::Hold(hold), Command::OpenHold) => match order.by {
            By::Voice | By::HeldKey => Ok(claim(
                run,
                step,
                Claim::Hold {
                    answer: hold.answer.to_string(),
                },
            )),
            _ => refuse(
                "A hold does not open on a short press",
                format!(
                    "Say \"{}\", or press the key and keep it pressed",
                    hold.answer
                ),
            ),
        },
        (_, Command::OpenHold) => refuse("No hold is asking", way_forward(run)),
        (Requirement::Wait(_), Command::BeginCountdown) => begin_countdown(run, step, now),
        (_, Command::BeginCountdown) => refuse("This step has no wait", way_forward(run)),
        (Requirement::Wait(_), Command::WorkComplete | Command::NextInstruction) => {
            after_wait(run, step)
        }
        // The other way forward is answered by a question, not refused.
        (_, Command::WorkComplete | Command::NextInstruction) => Ok(vec![Event::Questioned {
            question: question(run, requirement),
        }]),
        _ => refuse("That does nothing here", way_forward(run)),
    }
}

fn claim(run: &Run, step: &Step, claim: Claim) -> Vec<Event> {
    with_finish(
        run,
        Event::Claimed {
            step: step.id.clone(),
            claim,
        },
    )
}

/// Adds the end of the job where `event` does its last step and no wait runs on.
fn with_finish(run: &Run, event: Event) -> Vec<Event> {
    let mut after = run.clone();
    after.apply(&event);
    let waiting = after.state().waits.iter().any(|wait| wait.ended.is_none());
    let ends = after.step().is_none() && !waiting;
    if ends {
        vec![event, Event::Finished]
    } else {
        vec![event]
    }
}

fn hear_reading(run: &Run, figure: &Figure) -> Decision {
    let (Some(step), Some(Requirement::Reading(reading))) = (run.step(), run.requirement()) else {
        return refuse("No reading is asked for", way_forward(run));
    };
    let wanted = reading.places();
    if figure.places() != wanted {
        let example = Figure::spoken_example(wanted);
        return refuse(
            &format!("{figure} has not the digits asked for"),
            format!("Say every digit, such as \"{example}\""),
        );
    }
    Ok(vec![Event::ReadingHeard {
        step: step.id.clone(),
        name: reading.name.clone(),
        figure: figure.clone(),
    }])
}

/// Tells whether `command` is a reading out of its limits: more likely heard wrong than measured, so it
/// is asked back like what was heard on doubt.
fn outside(run: &Run, command: &Command) -> bool {
    matches!(
        (run.state().mode, run.requirement(), command),
        (Mode::Working, Some(Requirement::Reading(reading)), Command::Reading(figure))
            if figure.places() == reading.places() && !within(reading, figure)
    )
}

/// Tells whether a figure is within its limits, both included.
fn within(reading: &Reading, figure: &Figure) -> bool {
    (reading.low..=reading.high).contains(&figure.value())
}

fn begin_countdown(run: &Run, step: &Step, now: Time) -> Decision {
    let Some(wait) = &step.wait else {
        return refuse("This step has no wait", way_forward(run));
    };
    if run.own_wait().is_some() {
        return refuse("The countdown is running", "Say \"time remaining\"");
    }
    Ok(vec![Event::WaitBegan {
        step: step.id.clone(),
        name: wait.name.clone(),
        from: now,
        due: now + TimeDelta::seconds(wait.lasts.seconds()),
    }])
}

fn after_wait(run: &Run, step: &Step) -> Decision {
    match run.own_wait() {
        None => Ok(vec![Event::Questioned {
            question: "Work done? Say \"begin countdown\" to start the wait.".into(),
        }]),
        Some(wait) if wait.ended.is_some() => Ok(claim(run, step, Claim::WaitOver)),
        Some(wait) => refuse(
            &format!("The wait \"{}\" is not over", wait.name),
            "Say \"time remaining\"",
        ),
    }
}

fn go_back(run: &Run) -> Decision {
    if !can_go_back(run) {
        return refuse("This is the first step", way_forward(run));
    }
    let state = run.state();
    let within_step = run.step().filter(|_| state.part > 0 || state.tightened > 0);
    let event = match within_step {
        Some(step) if state.tightened > 0 => Event::WentBack {
            to: step.id.clone(),
            part: state.part,
            tightened: state.tightened - 1,
        },
        Some(step) => {
            let part = state.part - 1;
            let tightened = match step.requirements().get(part) {
                Some(Requirement::Fasten(fasten)) => fasten.turns() - 1,
                _ => 0,
            };
            Event::WentBack {
                to: step.id.clone(),
                part,
                tightened,
            }
        }
        None => match run.procedure().steps.get(state.step.saturating_sub(1)) {
            Some(step) => Event::WentBack {
                to: step.id.clone(),
                part: 0,
                tightened: 0,
            },
            None => return refuse("This is the first step", way_forward(run)),
        },
    };
    Ok(vec![event])
}

/// The question that answers the wrong way forward.
fn question(run: &Run, requirement: Requirement<'_>) -> String {
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
        Requirement::Know => "Taken notice? Say \"next instruction\".".into(),
        _ => format!("Done? {}.", way_forward(run)),
    }
}

fn blocked_refusal(run: &Run, blocked: &Blocked) -> Refusal {
    let first = |step: Option<&Step>| match step {
        Some(step) => format!("Do this first: {} Say \"previous instruction\"", step.say),
        None => "No step before this one does that: check the work yourself".into(),
    };
    match blocked {
        Blocked::Forbidden {
            condition,
            certain: true,
        } => Refusal {
            why: format!("Not while: {condition}"),
            instead: first(run.step_that_settles(condition, Truth::Clear)),
        },
        Blocked::Forbidden {
            condition,
            certain: false,
        } => Refusal {
            why: format!("Not certain any more: {condition}"),
            instead: first(run.step_that_settles(condition, Truth::Clear)),
        },
        Blocked::Lacking { condition } => Refusal {
            why: format!("Only while: {condition}"),
            instead: first(run.step_that_settles(condition, Truth::Set)),
        },
        Blocked::After { step } => {
            let earlier = run.procedure().steps.iter().find(|other| other.id == *step);
            Refusal {
                why: "An earlier step is not done".into(),
                instead: first(earlier),
            }
        }
        Blocked::Wait { name } => Refusal {
            why: format!("The wait \"{name}\" is not over"),
            instead: "Say \"time remaining\"".into(),
        },
    }
}

/// The first thing that may be said, as a sentence without its stop.
fn way_forward(run: &Run) -> String {
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

fn refuse(why: &str, instead: impl Into<String>) -> Decision {
    Err(Refusal {
        why: why.into(),
        instead: instead.into(),
    })
}
