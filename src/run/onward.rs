//! What leads from one step or job to another: forward, back and aside.

use super::command::{Command, Order};
use super::decide::is_deliberate;
use super::event::Event;
use super::refusal::{Decision, refuse, way_forward};
use super::sayable::can_go_back;
use super::state::{Progress, Run};
use crate::procedure::Requirement;

/// Adds to an event the move to another job where this one's last step was left, and the end where
/// nothing more is to be done.
pub(super) fn with_what_follows(run: &Run, mut events: Vec<Event>) -> Vec<Event> {
    let after = run.after(&events);
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

pub(super) fn moved(run: &Run, (job, step): (usize, usize), follows: bool) -> Option<Event> {
    let procedure = run.procedures().nth(job)?;
    Some(Event::Moved {
        job,
        step: procedure.steps.get(step)?.id.clone(),
        follows,
    })
}

/// Leaves the called step for other work.
pub(super) fn move_on(run: &Run, command: &Command) -> Decision {
    let to = match command {
        Command::MoveTo(job) if *job == run.state().job => {
            return refuse("That job is called already", way_forward(run));
        }
        Command::MoveTo(job) => match run.state().jobs.get(*job) {
            Some(progress) if progress.step < progress.marks.len() => Some((*job, progress.step)),
            // All of it is done: its last step is called again.
            Some(progress) => progress.left.last().map(|&last| (*job, last)),
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
pub(super) fn settle(run: &Run, order: &Order) -> Decision {
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

pub(super) fn go_back(run: &Run) -> Decision {
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
