//! A history told as a person would do it: what is said, in the whole procedures.

use super::act::{self, Act, Deed};
use super::reduce::Reduced;
use super::start;
use super::teller::Teller;
use crate::procedure::{StepId, Text};
use crate::run::{Command, Progress, Run};

/// One thing that is said, or that the clock brings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Happening {
    /// The words; for the end of a wait, [`WAIT_ENDS`] and its name.
    pub say: String,
    /// The call that it answers.
    pub called: String,
    /// Taken, though nobody said it.
    pub misheard: bool,
}

/// The words before the name of a wait whose end the clock brings.
pub const WAIT_ENDS: &str = "wait ends: ";

/// The words before how much time passes, where a sum of a step wants that.
pub const TIME_PASSES: &str = "time passes: ";

/// The words between the name of a wait and its step, where several waits that run have the same name.
pub(super) const OF_STEP: &str = ", of step ";

/// Returns what is said after the name of a wait to tell it from others of the same name.
pub(super) fn of_step(job: usize, step: &StepId) -> String {
    format!("{OF_STEP}{step} in job {}", job + 1)
}

/// Why a history cannot be told in the whole procedures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Untold {
    /// A condition that the search left out refuses it.
    Refused(Text),
    /// It goes another way there.
    Otherwise,
}

/// What a history ends with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ends {
    /// The same step is called, where it can be.
    Called,
    /// It is called, and nothing blocks it.
    Begins,
    /// All is finished.
    Finished,
}

/// Tells `deeds`, found on `reduced` procedures, in the `whole` ones, of which some may be left out.
pub(super) fn tell(
    whole: &[Reduced],
    reduced: &[Reduced],
    deeds: &[Deed],
    ends: Ends,
) -> Result<Vec<Happening>, Untold> {
    let told = tell_moves(whole, reduced, deeds, ends, Moves::WhereNeeded);
    let size = |job: &Reduced| job.whole.len() + job.procedure.conditions.len();
    let sizes = |jobs: &[Reduced]| jobs.iter().map(size).sum::<usize>();
    match told {
        // Nothing was left out, and what is called though it cannot begin is called only on the way that was
        // found.
        Err(_) if sizes(reduced) == sizes(whole) => {
            tell_moves(whole, reduced, deeds, ends, Moves::AsFound)
        }
        told => told,
    }
}

/// When it is said that another step or job is to be called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Moves {
    /// Where something else is called than what is answered next: in the whole procedures others are called
    /// between.
    WhereNeeded,
    AsFound,
}

fn tell_moves(
    whole: &[Reduced],
    reduced: &[Reduced],
    deeds: &[Deed],
    ends: Ends,
    moves: Moves,
) -> Result<Vec<Happening>, Untold> {
    let of_whole = |job: usize| reduced[job].job;
    let mut small = start(reduced).ok_or(Untold::Otherwise)?;
    let mut kept = vec![Vec::new(); whole.len()];
    for job in reduced {
        kept[job.job] = job.whole.clone();
    }
    let known = reduced.iter().flat_map(|job| &job.procedure.conditions);
    let known = known.map(|condition| condition.name.clone()).collect();
    let mut teller = Teller::new(start(whole).ok_or(Untold::Otherwise)?, kept, known);
    for deed in deeds {
        if deed.act == Act::Elsewhere {
            small.call_again();
            continue;
        }
        let job = small.state().job;
        let place = |run: &Run| {
            let step = run.progress().step;
            reduced[run.state().job].whole.get(step).copied()
        };
        let done = match deed.act {
            Act::MoveTo(to) => Some(&small.state().jobs[to]).is_some_and(all_left),
            _ => false,
        };
        let events = act::events(&small, deed.act).ok_or(Untold::Otherwise)?;
        match deed.act {
            Act::WaitEnds(of, step) => {
                let step = reduced[of].whole.get(step).copied();
                teller.end_wait(of_whole(of), step.ok_or(Untold::Otherwise)?)?;
            }
            Act::StopWait(of, step) => {
                let step = reduced[of].whole.get(step).copied();
                teller.stop_wait(of_whole(of), step.ok_or(Untold::Otherwise)?)?;
            }
            Act::OtherWork if moves == Moves::AsFound => {
                teller.say(Command::OtherWork, "different work".into(), false)?;
            }
            Act::MoveTo(to) if moves == Moves::AsFound => teller.move_to(of_whole(to))?,
            Act::OtherWork | Act::MoveTo(_) => {}
            Act::Disregard => {
                teller.say(Command::Disregard, "disregard".into(), false)?;
                if teller.run.called_wait().is_some() {
                    teller.say(Command::NextInstruction, "next instruction".into(), false)?;
                }
            }
            Act::Claim | Act::Skip | Act::Back | Act::Settle(_) => {
                teller.move_to(of_whole(job))?;
                if let Some(step) = place(&small) {
                    teller.call(step)?;
                }
            }
            Act::Because | Act::Elsewhere => {}
        }
        events.iter().for_each(|event| small.apply(event));
        match deed.act {
            Act::Claim => teller.claim(deed.misheard)?,
            Act::Skip => teller.say(Command::Skip, "override skip".into(), false)?,
            Act::Because => {
                let order = act::order(&teller.run, Act::Because);
                let command = order.ok_or(Untold::Otherwise)?.command;
                teller.say(command, "not required".into(), false)?;
            }
            Act::Back => teller.back_to(place(&small).ok_or(Untold::Otherwise)?)?,
            Act::Settle(truth) => teller.settle(truth)?,
            // The name of a job that is done leads back into it.
            Act::MoveTo(to) if done && moves == Moves::WhereNeeded => {
                teller.move_to(of_whole(to))?;
                teller.back_to(place(&small).ok_or(Untold::Otherwise)?)?;
            }
            Act::OtherWork
            | Act::MoveTo(_)
            | Act::Disregard
            | Act::WaitEnds(..)
            | Act::StopWait(..)
            | Act::Elsewhere => {}
        }
    }
    if ends == Ends::Finished {
        teller.finish()?;
        return Ok(teller.told);
    }
    // What is called at the end is what the history is about.
    let job = small.state().job;
    if let Some(step) = reduced[job].whole.get(small.progress().step)
        && small.state().asking.is_none()
    {
        let mut there = teller.clone();
        let called = there
            .move_to(of_whole(job))
            .and_then(|()| there.call(*step));
        match (ends, called) {
            (Ends::Begins, Err(why)) => return Err(why),
            (Ends::Begins, Ok(())) if there.run.blocked().is_some() => return Err(there.refused()),
            // From here nothing leads on, whichever step is called.
            (_, Err(_)) => {}
            (_, Ok(())) => teller = there,
        }
    }
    Ok(teller.told)
}

fn all_left(job: &Progress) -> bool {
    job.step >= job.marks.len()
}
