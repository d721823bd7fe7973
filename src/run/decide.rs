//! What a command does: events, or a refusal that says why and what to say instead.

use chrono::TimeDelta;

use super::command::{By, Command, Order};
use super::event::{Claim, Event, Topic};
use super::figure::Figure;
use super::sayable::can_go_back;
use super::state::{Asking, Blocked, Mode, Progress, Run, Truth};
use super::sums::with_results;
use super::waiting::{RunningWait, added};
use super::{Time, sayable};
use crate::procedure::{Reading, Requirement, Step, StepId, Text};
use crate::trade::Verdict;

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
    decided(run, order, now).map(|events| with_results(run, events, now))
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
        Command::NoteLost { why } => return Ok(vec![Event::NoteLost { why: why.clone() }]),
        // Stopping is the safe side: never asked back, never refused.
        Command::Stop => return Ok(vec![Event::Stopped]),
        Command::ClockDiffers { wall, passed } => {
            let (wall, passed) = (*wall, *passed);
            return Ok(vec![Event::ClockDiffered { wall, passed }]);
        }
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

fn tick(run: &Run, now: Time) -> Vec<Event> {
    let mut events = run.ends_by(now);
    events = if events.is_empty() && run.state().finished {
        events
    } else {
        with_what_follows(run, events)
    };
    let again = run.asked_again_at().filter(|due| *due <= now);
    events.extend(again.and_then(|_| Some(measuring_again(run.step()?))));
    events
}

/// Ends the running waits that are `over`, given by their job, has their ends answered, and adds what
/// follows from it.
pub(crate) fn end_waits(run: &Run, over: impl Fn(usize, &RunningWait) -> bool) -> Vec<Event> {
    let jobs = run.state().jobs.iter().enumerate();
    let waits = jobs.flat_map(|(job, progress)| progress.waits.iter().map(move |wait| (job, wait)));
    let ended = waits.filter(|(job, wait)| wait.ended.is_none() && over(*job, wait));
    let events = ended.flat_map(|(job, wait)| {
        let (step, name) = (wait.step.clone(), wait.name.clone());
        let ended = Event::WaitEnded {
            job,
            step: step.clone(),
            name: name.clone(),
            at: wait.due,
        };
        [ended, Event::WaitAnswered { job, step, name }]
    });
    let events: Vec<Event> = events.collect();
    if events.is_empty() && run.state().finished {
        return events;
    }
    with_what_follows(run, events)
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
fn is_deliberate(by: By) -> bool {
    matches!(by, By::Voice | By::HeldKey)
}

fn refuse_short_press(answer: &str) -> Decision {
    refuse(
        "A hold does not open on a short press",
        format!("Say \"{answer}\", or press the key and keep it pressed"),
    )
}

/// Decides a command in the called step.
fn work(run: &Run, order: &Order, now: Time) -> Decision {
    let command = &order.command;
    if let Some(decision) = on_waits(run, command, now) {
        return decision;
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
    if let Some(blocked) = run.blocked() {
        return Err(blocked_refusal(run, &blocked));
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

/// Says what a sum says, and how to go on from there.
fn refused_by_sum(run: &Run) -> Refusal {
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

fn measuring_again(step: &Step) -> Event {
    Event::MeasuringAgain {
        step: step.id.clone(),
    }
}

fn claim(run: &Run, step: &Step, claim: Claim) -> Vec<Event> {
    let claimed = Event::Claimed {
        step: step.id.clone(),
        claim,
    };
    with_what_follows(run, vec![claimed])
}

/// Adds to an event the move to another job where this one's last step was left, and the end where
/// nothing more is to be done.
fn with_what_follows(run: &Run, mut events: Vec<Event>) -> Vec<Event> {
    let mut after = run.clone();
    events.iter().for_each(|event| after.apply(event));
    if after.state().jobs.iter().all(Progress::is_finished) {
        if !after.state().finished {
            events.push(Event::Finished);
        }
    } else if after.step().is_none()
        && after.state().asking.is_none()
        && let Some(&(job, step)) = after.other_work().first()
    {
        events.extend(moved(&after, (job, step), true));
    }
    events
}

fn moved(run: &Run, (job, step): (usize, usize), follows: bool) -> Option<Event> {
    let procedure = run.procedures().nth(job)?;
    Some(Event::Moved {
        job,
        step: procedure.steps.get(step)?.id.clone(),
        follows,
    })
}

/// Leaves the called step for other work.
fn move_on(run: &Run, command: &Command) -> Decision {
    let to = match command {
        Command::MoveTo(job) if *job == run.state().job => {
            return refuse("That job is called already", way_forward(run));
        }
        Command::MoveTo(job) => match run.state().jobs.get(*job) {
            Some(progress) if progress.step < progress.marks.len() => Some((*job, progress.step)),
            Some(_) => return refuse("All steps of that job are done", way_forward(run)),
            None => None,
        },
        _ => run.other_work().first().copied(),
    };
    match to.and_then(|to| moved(run, to, false)) {
        Some(moved) => Ok(vec![moved]),
        None => refuse("There is no other work now", way_forward(run)),
    }
}

/// The person says whether a condition holds of which nobody knew.
fn settle(run: &Run, order: &Order) -> Decision {
    let Some(condition) = run.uncertain() else {
        return refuse("Nothing is uncertain here", way_forward(run));
    };
    if !is_deliberate(order.by) {
        return refuse(
            "What holds is not settled by a short press",
            way_forward(run),
        );
    }
    let settled = Event::Settled {
        condition: condition.name.clone(),
        truth: order.command == Command::StillSo,
    };
    Ok(vec![settled])
}

fn hear_reading(run: &Run, figure: &Figure) -> Decision {
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
    let began = Event::WaitBegan {
        step: step.id.clone(),
        name: wait.name.clone(),
        from: now,
        due: now + TimeDelta::seconds(wait.lasts.seconds()),
        latest: wait
            .at_most
            .map(|at_most| now + TimeDelta::seconds(at_most.seconds())),
    };
    let mut after = run.clone();
    after.apply(&began);
    let moved = after.moved_from_start(run.state().job, &step.id, now);
    let events = std::iter::once(began).chain(moved).collect();
    Ok(with_what_follows(run, events))
}

/// Decides what is said about waits, whatever step is called.
fn on_waits(run: &Run, command: &Command, now: Time) -> Option<Decision> {
    let no_wait = || refuse("No wait is running", way_forward(run));
    let decision = match command {
        Command::NextInstruction | Command::WorkComplete if run.calls_own_end() => return None,
        Command::NextInstruction if run.called_wait().is_some() => answer_wait(run),
        // Whether that is the end's answer or the step's claim, nobody could tell.
        Command::WorkComplete => {
            let called = run.called_wait()?;
            Ok(vec![Event::Questioned {
                question: format!(
                    "Heard of \"{}\"? Say \"next instruction\".",
                    called.wait.name
                ),
            }])
        }
        Command::AddTime(more) => match run.wait_meant() {
            Some(meant) => Ok(vec![added(meant, TimeDelta::seconds(more.seconds()), now)]),
            None => no_wait(),
        },
        Command::StopWait => match run.wait_meant() {
            Some(meant) if meant.wait.is_running() => Ok(vec![Event::WaitStopped {
                job: meant.job,
                step: meant.wait.step.clone(),
                name: meant.wait.name.clone(),
            }]),
            Some(meant) => refuse(
                &format!("The wait \"{}\" is over", meant.wait.name),
                way_forward(run),
            ),
            None => no_wait(),
        },
        Command::NewTemperature => match run.curing() {
            Some((one, _)) => Ok(vec![Event::TemperatureAsked {
                job: one.job,
                step: one.wait.step.clone(),
            }]),
            None => refuse("No wait goes by the temperature", way_forward(run)),
        },
        Command::Reading(figure) if run.state().giving.is_some() => hear_reading(run, figure),
        _ => return None,
    };
    Some(decision)
}

/// The person has heard what is called of a wait.
fn answer_wait(run: &Run) -> Decision {
    let Some(called) = run.called_wait() else {
        return refuse("Nothing is called", way_forward(run));
    };
    let answered = Event::WaitAnswered {
        job: called.job,
        step: called.wait.step.clone(),
        name: called.wait.name.clone(),
    };
    Ok(with_what_follows(run, vec![answered]))
}

fn ask_wait(run: &Run, job: usize, step: usize) -> Decision {
    let asked = run.procedures().nth(job).and_then(|p| p.steps.get(step));
    let begun = asked.is_some_and(|asked| {
        let mut waits = run.waits_of_jobs();
        waits.any(|one| one.job == job && one.wait.step == asked.id)
    });
    if begun {
        told(Topic::Wait { job, step })
    } else {
        refuse("That wait has not begun", way_forward(run))
    }
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
    let progress = run.progress();
    let event = match run.step().filter(|_| progress.is_begun()) {
        Some(step) if progress.tightened > 0 => Event::WentBack {
            to: step.id.clone(),
            part: progress.part,
            tightened: progress.tightened - 1,
        },
        Some(step) => {
            let part = progress.part - 1;
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
        None => {
            let last = progress.left.last();
            match last.and_then(|&step| run.procedure().steps.get(step)) {
                Some(step) => Event::WentBack {
                    to: step.id.clone(),
                    part: 0,
                    tightened: 0,
                },
                None => return refuse("This is the first step", way_forward(run)),
            }
        }
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
        Requirement::Know | Requirement::Result(_) => {
            "Taken notice? Say \"next instruction\".".into()
        }
        _ => format!("Done? {}.", way_forward(run)),
    }
}

fn blocked_refusal(run: &Run, blocked: &Blocked) -> Refusal {
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
        Blocked::Begun { condition, .. } => {
            format!("A step of another job is begun that this would endanger: {condition}")
        }
        Blocked::Refused { why } => why.clone(),
    };
    let instead = match blocked {
        Blocked::Forbidden { condition, .. } => first(run, condition, Truth::Clear),
        Blocked::Lacking { condition, .. } => first(run, condition, Truth::Set),
        Blocked::After { step } => {
            let steps = &run.procedure().steps;
            match steps.iter().find(|other| other.id == *step) {
                Some(step) => format!("Do this first: {}", step.say),
                None => way_forward(run),
            }
        }
        Blocked::Wait { .. } => "Say \"time remaining\"".into(),
        Blocked::Taken { .. } | Blocked::Begun { .. } | Blocked::Refused { .. } => way_forward(run),
    };
    Refusal { why, instead }
}

/// What must be done first so that a condition is as wanted, and how to get there.
fn first(run: &Run, condition: &Text, wanted: Truth) -> String {
    let Some((job, step)) = run.step_that_settles(condition, wanted) else {
        return "No step of the open jobs does that: check the work yourself".into();
    };
    if job != run.state().job
        && let Some(other) = run.procedures().nth(job)
    {
        let how = match &other.called {
            Some(called) => format!("Say \"{called}\""),
            None => "Say \"other work\"".into(),
        };
        return format!("Do this first, in \"{}\": {} {how}", other.title, step.say);
    }
    format!("Do this first: {} Say \"previous instruction\"", step.say)
}

/// How the person says which, where a condition is uncertain.
fn which(run: &Run) -> String {
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
