//! What is decided about waits: their beginning, their end, and what is said about them.

use chrono::TimeDelta;

use super::Time;
use super::command::Command;
use super::decide::{claim, hear_reading, measuring_again, told};
use super::event::{Claim, Event, Topic};
use super::onward::with_what_follows;
use super::refusal::{Decision, refuse, way_forward};
use super::state::Run;
use super::waiting::{RunningWait, added};
use crate::procedure::Step;

pub(super) fn tick(run: &Run, now: Time) -> Vec<Event> {
    let mut events = run.ends_by(now);
    events = if events.is_empty() && run.state().finished {
        events
    } else {
        with_what_follows(run, events)
    };
    let again = run.asked_again_at().filter(|due| *due <= now);
    events.extend(again.and_then(|_| Some(measuring_again(run.step()?))));
    events.extend(run.aged_by(now).map(|(_, event)| event));
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

pub(super) fn begin_countdown(run: &Run, step: &Step, now: Time) -> Decision {
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
    let after = run.after(std::slice::from_ref(&began));
    let moved = after.moved_from_start(run.state().job, &step.id, now);
    let events = std::iter::once(began).chain(moved).collect();
    Ok(with_what_follows(run, events))
}

/// Decides what is said about waits, whatever step is called.
pub(super) fn on_waits(run: &Run, command: &Command, now: Time) -> Option<Decision> {
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
            Some(meant) if !run.can_last_longer(meant) => match run.lost_resource(meant) {
                Some(resource) => refuse(&format!("{resource} is in use since"), way_forward(run)),
                None => refuse(
                    "What comes after that wait has been begun",
                    "To wait longer say \"previous instruction\" first",
                ),
            },
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
pub(super) fn answer_wait(run: &Run) -> Decision {
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

pub(super) fn ask_wait(run: &Run, job: usize, step: usize) -> Decision {
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

pub(super) fn after_wait(run: &Run, step: &Step) -> Decision {
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
