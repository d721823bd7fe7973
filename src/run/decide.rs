//! What a command does: events, or a refusal that says why and what to say instead.

use chrono::TimeDelta;

use super::Time;
use super::cautions::{before_the_call, page_before};
use super::command::{By, Command, Order};
use super::countdown::{after_wait, answer_wait, ask_wait, begin_countdown, on_waits, tick};
use super::event::{Claim, Event, Topic};
use super::figure::Figure;
use super::onward::{go_back, move_on, settle, with_what_follows};
use super::refusal::{
    Decision, blocked_refusal, question, refuse, refuse_short_press, refused_by_sum, way_forward,
};
use super::shelf::{ask_for, not_opened};
use super::state::{Asking, Mode, Run};
use super::sums::{with_clocks, with_results};
use crate::procedure::{Reading, Requirement, Step, StepId};
use crate::trade::Verdict;

/// How long a command heard on doubt counts when said again: the question takes some seconds to be
/// spoken, and the person some to answer.
const DOUBT_LASTS: TimeDelta = TimeDelta::seconds(12);

/// Decides what `order` does at `now`.
///
/// # Errors
/// A [`Refusal`]; the run stays as it is.
pub fn decide(run: &Run, order: &Order, now: Time) -> Decision {
    let events = decided(run, order, now)?;
    Ok(with_results(run, with_clocks(run, events, now), now))
}

fn decided(run: &Run, order: &Order, now: Time) -> Decision {
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
        Command::Open(opened) => return Ok(vec![Event::Opened(opened.clone())]),
        Command::NotOpened { why } => return not_opened(run, why),
        Command::NoteLost { why } => return Ok(vec![Event::NoteLost { why: why.clone() }]),
        // Stopping is the safe side: never asked back, never refused.
        Command::Stop => return Ok(vec![Event::Stopped]),
        Command::ClockDiffers { wall, passed } => {
            let (wall, passed) = (*wall, *passed);
            return Ok(vec![Event::ClockDiffered { wall, passed }]);
        }
        _ => {}
    }
    let asked_back = outside(run, command) || opens(run, command);
    let doubtful = order.by == By::DoubtfulVoice || (order.by == By::Voice && asked_back);
    if doubtful && let Some(decision) = on_doubt(run, command, now) {
        return decision;
    }
    match command {
        Command::SayAgain => return told(Topic::Call),
        Command::RemainSilent => return Ok(vec![Event::FellSilent]),
        Command::SpeakAloud => return Ok(vec![Event::SpokeUp]),
        Command::PartsList => return told(Topic::Parts),
        Command::PlannedFinish => return told(Topic::Plan),
        Command::Assistance => return told(Topic::Help),
        Command::TimeRemaining if run.waits().next().is_none() => {
            return refuse("No wait is running", way_forward(run));
        }
        Command::TimeRemaining => return told(Topic::Time),
        Command::AskWait { job, step } => return ask_wait(run, *job, *step),
        Command::ReadTorque => return read_torque(run),
        _ => {}
    }
    if run.state().mode == Mode::Working
        && run.doubted(now).is_none()
        && let Some(decision) = page_before(run, command)
    {
        return decision;
    }
    match (run.state().mode, command) {
        (Mode::StandingBy | Mode::Stopped, Command::Resume) => return Ok(vec![Event::Resumed]),
        // An end that is answered is no work.
        (Mode::StandingBy, Command::NextInstruction) if run.called_wait().is_some() => {
            return answer_wait(run);
        }
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
        (Mode::Working, Command::TakeTool(name)) => {
            return match run.taking(name) {
                Some(held) => Ok(vec![Event::ToolTaken(held)]),
                None => refuse("The adapter needs a wrench", "Say the wrench first"),
            };
        }
        (Mode::Working, Command::Disregard) => {
            let held = matches!(run.state().asking, Some(Asking::Again(_)));
            return if run.can_take_back() && !held {
                Ok(vec![Event::TakenBack])
            } else {
                refuse("There is nothing to take back", way_forward(run))
            };
        }
        (Mode::Working, _) => {}
    }
    match run.state().asking.clone() {
        Some(asking) => answer(run, &asking, order, now),
        None => work(run, order, now),
    }
}

/// Decides what was heard on doubt, or lets it pass where it is said again or nothing hangs on it.
fn on_doubt(run: &Run, command: &Command, now: Time) -> Option<Decision> {
    // A reading without the digits asked for is answered by how to say it, not by a question.
    let incomplete = matches!(
        (run.reading(), command),
        (Some(reading), Command::Reading(figure))
            if figure.places() != reading.places()
    );
    let harmless = matches!(
        command,
        Command::SayAgain
            | Command::PartsList
            | Command::Assistance
            | Command::TimeRemaining
            | Command::PlannedFinish
            | Command::AskWait { .. }
            | Command::ReadTorque
            | Command::RemainSilent
            | Command::SpeakAloud
            | Command::StandBy
    );
    let said_again = run.doubted(now) == Some(command);
    // A hold is never opened on doubt, however often it is said, and no condition settled.
    if harmless || incomplete || (said_again && !is_challenged(command)) {
        return None;
    }
    Some(Ok(vec![Event::Doubted {
        command: command.clone(),
        until: now + DOUBT_LASTS,
    }]))
}

/// Tells whether a command answers a challenge: taken only when surely heard, or pressed and held.
fn is_challenged(command: &Command) -> bool {
    matches!(
        command,
        Command::OpenHold | Command::StillSo | Command::NoLonger
    )
}

pub(super) fn told(topic: Topic) -> Decision {
    Ok(vec![Event::Told(topic)])
}

fn read_torque(run: &Run) -> Decision {
    match run.bolt() {
        Some(_) => told(Topic::Torque),
        None => refuse("This step has no torque", way_forward(run)),
    }
}

/// Answers a question of the program.
fn answer(run: &Run, asking: &Asking, order: &Order, now: Time) -> Decision {
    let command = &order.command;
    if let Asking::Again(held) = asking {
        return answer_again(run, held, order);
    }
    if let (Asking::ReadBack(figure), Some(giving)) = (asking, &run.state().giving) {
        return match command {
            Command::ConfirmReading => {
                let name = giving.reading.name.clone();
                let mut events = vec![Event::TemperatureTaken {
                    step: giving.step.clone(),
                    name: name.clone(),
                    figure: figure.clone(),
                }];
                events.extend(run.moves_by(&name, figure, now));
                Ok(events)
            }
            Command::Reading(figure) => hear_reading(run, figure),
            _ => refuse(&format!("Is {figure} right?"), way_forward(run)),
        };
    }
    let Some(step) = run.step() else {
        return refuse("The job is done", way_forward(run));
    };
    match (asking, command) {
        (Asking::Reason, Command::SkipBecause(_)) if step.is_held() => refuse(
            "A step with a hold cannot be skipped: only its own answer opens it",
            way_forward(run),
        ),
        (Asking::Reason, Command::SkipBecause(reason)) => {
            let skipped = Event::Skipped {
                step: step.id.clone(),
                reason: *reason,
            };
            Ok(with_what_follows(run, vec![skipped]))
        }
        (Asking::ReadBack(figure), Command::ConfirmReading) => {
            let Some(Requirement::Reading(reading)) = run.requirement() else {
                return refuse("No reading is asked for", way_forward(run));
            };
            let (step, name, figure) = (step.id.clone(), reading.name.clone(), figure.clone());
            if within(reading, &figure) {
                let moves = run.moves_by(&name, &figure, now);
                let taken = Event::ReadingTaken { step, name, figure };
                Ok(with_what_follows(run, [vec![taken], moves].concat()))
            } else {
                Ok(vec![Event::ReadingOutside { step, name, figure }])
            }
        }
        // A reading said while one is read back replaces it: the person corrects.
        (Asking::ReadBack(_), Command::Reading(figure)) => hear_reading(run, figure),
        (Asking::Outside(_), Command::MeasureAgain) => Ok(vec![measuring_again(step)]),
        (Asking::Outside(figure), Command::AcceptDeviation) => {
            let Some(Requirement::Reading(reading)) = run.requirement() else {
                return refuse("No reading is asked for", way_forward(run));
            };
            let accepted = Event::DeviationAccepted {
                step: step.id.clone(),
                name: reading.name.clone(),
                figure: figure.clone(),
            };
            let moves = run.moves_by(&reading.name, figure, now);
            Ok(with_what_follows(run, [vec![accepted], moves].concat()))
        }
        (Asking::Reason | Asking::Again(_), _) => refuse("A reason is asked for", way_forward(run)),
        (Asking::ReadBack(figure), _) => refuse(&format!("Is {figure} right?"), way_forward(run)),
        (Asking::Outside(_), _) => refuse("The reading is out of limits", way_forward(run)),
    }
}

/// After a stop only the last hold's answer leads on.
fn answer_again(run: &Run, held: &StepId, order: &Order) -> Decision {
    match (run.asking_hold(), &order.command) {
        (Some(hold), Command::OpenHold) if is_deliberate(order.by) => Ok(vec![Event::HeldAgain {
            step: held.clone(),
            answer: hold.answer.to_string(),
        }]),
        (Some(hold), Command::OpenHold) => refuse_short_press(hold.answer.as_str()),
        _ => refuse(
            "After a stop the hold's answer is asked for again",
            way_forward(run),
        ),
    }
}

/// Tells whether a command was given in a way that answers a challenge.
pub(super) fn is_deliberate(by: By) -> bool {
    matches!(by, By::Voice | By::HeldKey)
}

/// Decides a command in the called step.
fn work(run: &Run, order: &Order, now: Time) -> Decision {
    let command = &order.command;
    if let Some(decision) = on_waits(run, command, now) {
        return decision;
    }
    if let Command::AskFor(number) = command {
        return ask_for(run, *number);
    }
    let Some(step) = run.step() else {
        return match command {
            Command::PreviousInstruction => go_back(run),
            Command::OtherWork | Command::MoveTo(_) => move_on(run, command),
            _ => refuse("All steps are done", way_forward(run)),
        };
    };
    match command {
        Command::PreviousInstruction => return go_back(run),
        Command::OtherWork | Command::MoveTo(_) => return move_on(run, command),
        Command::StillSo | Command::NoLonger => return settle(run, order),
        Command::Skip if step.is_held() => {
            return refuse(
                "A step with a hold cannot be skipped: only its own answer opens it",
                way_forward(run),
            );
        }
        Command::Skip if run.verdict() == Verdict::Refuse => {
            return refuse(
                "A step whose sum says no cannot be skipped",
                way_forward(run),
            );
        }
        Command::Skip => {
            return Ok(vec![Event::SkipAsked {
                step: step.id.clone(),
            }]);
        }
        Command::SkipBecause(_) => return refuse("No skip was asked for", "Say \"override skip\""),
        Command::MeasureAgain if matches!(run.requirement(), Some(Requirement::Result(_))) => {
            return Ok(vec![measuring_again(step)]);
        }
        Command::ConfirmReading | Command::MeasureAgain | Command::AcceptDeviation => {
            return refuse("No reading is being read back", way_forward(run));
        }
        _ => {}
    }
    let aged = run.aged_under_call(now);
    if !aged.is_empty() {
        return Ok(aged);
    }
    if let Some(blocked) = run.blocked() {
        return Err(blocked_refusal(run, &blocked));
    }
    if let Some(decision) = before_the_call(run, order, now) {
        return decision;
    }
    let Some(requirement) = run.requirement() else {
        return refuse("Nothing is asked for", way_forward(run));
    };
    match (requirement, command) {
        (Requirement::Know, Command::NextInstruction) => Ok(claim(run, step, Claim::Known)),
        (Requirement::Result(_), Command::NextInstruction | Command::WorkComplete)
            if run.verdict() == Verdict::Refuse =>
        {
            Err(refused_by_sum(run))
        }
        (Requirement::Result(_), Command::NextInstruction) => Ok(claim(run, step, Claim::Known)),
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
        (Requirement::Hold(hold), Command::OpenHold) if is_deliberate(order.by) => Ok(claim(
            run,
            step,
            Claim::Hold {
                answer: hold.answer.to_string(),
            },
        )),
        (Requirement::Hold(hold), Command::OpenHold) => refuse_short_press(hold.answer.as_str()),
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

pub(super) fn measuring_again(step: &Step) -> Event {
    Event::MeasuringAgain {
        step: step.id.clone(),
    }
}

pub(super) fn claim(run: &Run, step: &Step, claim: Claim) -> Vec<Event> {
    let mut events = vec![Event::Claimed {
        step: step.id.clone(),
        claim,
    }];
    events.extend(run.not_wanted());
    with_what_follows(run, events)
}

pub(super) fn hear_reading(run: &Run, figure: &Figure) -> Decision {
    let step = match &run.state().giving {
        Some(giving) => Some(&giving.step),
        None => run.step().map(|step| &step.id),
    };
    let (Some(step), Some(reading)) = (step, run.reading()) else {
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
        step: step.clone(),
        name: reading.name.clone(),
        figure: figure.clone(),
    }])
}

/// Tells whether `command` is a reading out of its limits: more likely heard wrong than measured, so it
/// is asked back like what was heard on doubt.
fn outside(run: &Run, command: &Command) -> bool {
    matches!(
        (run.state().mode, run.reading(), command),
        (Mode::Working, Some(reading), Command::Reading(figure))
            if figure.places() == reading.places() && !within(reading, figure)
    )
}

/// Tells whether `command` opens a procedure now: a job that nobody wanted open must be done or skipped
/// before all is finished, so its name is always asked back.
fn opens(run: &Run, command: &Command) -> bool {
    let state = run.state();
    let free = state.mode == Mode::Working && state.asking.is_none() && state.opening.is_none();
    free && matches!(command, Command::AskFor(_))
}

/// Tells whether a figure is within its limits, both included.
fn within(reading: &Reading, figure: &Figure) -> bool {
    (reading.low..=reading.high).contains(&figure.value())
}
