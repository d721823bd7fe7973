//! A history told as a person would do it: what is said, in the whole procedures.

use super::explore::{self, Act, Deed};
use super::reduce::Reduced;
use super::start;
use crate::procedure::{Reading, Requirement, Text};
use crate::run::{
    Blocked, By, Claim, Command, Event, Figure, Order, Progress, Run, Time, decide, end_waits,
    sayable,
};
use crate::trade::Verdict;

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

/// The most things that are said to get from one deed to the next.
const FARTHEST: usize = 20_000;

/// Why a history cannot be told in the whole procedures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Untold {
    /// A condition that the search left out refuses it.
    Refused(Text),
    /// It goes another way there.
    Otherwise,
}

/// Tells `deeds`, found on `reduced` procedures, in the `whole` ones, of which some may be left out. Where the step that is called at the
/// end `begins`, nothing may block it there either.
pub(super) fn tell(
    whole: &[Reduced],
    reduced: &[Reduced],
    deeds: &[Deed],
    begins: bool,
) -> Result<Vec<Happening>, Untold> {
    let of_whole = |job: usize| reduced[job].job;
    let mut small = start(reduced).ok_or(Untold::Otherwise)?;
    let mut teller = Teller {
        run: start(whole).ok_or(Untold::Otherwise)?,
        told: Vec::new(),
    };
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
        let events = explore::events(&small, deed.act).ok_or(Untold::Otherwise)?;
        match deed.act {
            Act::WaitEnds(of, step) => {
                let step = reduced[of].whole.get(step).copied();
                teller.end_wait(of_whole(of), step.ok_or(Untold::Otherwise)?)?;
            }
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
                    teller.call(step, &reduced[job].whole)?;
                }
            }
            Act::Because | Act::Elsewhere => {}
        }
        events.iter().for_each(|event| small.apply(event));
        match deed.act {
            Act::Claim => teller.claim(deed.misheard)?,
            Act::Skip => teller.say(Command::Skip, "override skip".into(), false)?,
            Act::Because => {
                let order = explore::order(&teller.run, Act::Because);
                let command = order.ok_or(Untold::Otherwise)?.command;
                teller.say(command, "not required".into(), false)?;
            }
            Act::Back => teller.back_to(place(&small).ok_or(Untold::Otherwise)?)?,
            Act::Settle(truth) => teller.settle(truth)?,
            // The name of a job that is done leads back into it.
            Act::MoveTo(to) if done => {
                teller.move_to(of_whole(to))?;
                teller.back_to(place(&small).ok_or(Untold::Otherwise)?)?;
            }
            Act::OtherWork
            | Act::MoveTo(_)
            | Act::Disregard
            | Act::WaitEnds(..)
            | Act::Elsewhere => {}
        }
    }
    // What is called at the end is what the history is about.
    let job = small.state().job;
    if let Some(step) = reduced[job].whole.get(small.progress().step)
        && small.state().asking.is_none()
    {
        teller.move_to(of_whole(job))?;
        teller.call(*step, &reduced[job].whole)?;
        if begins && teller.run.blocked().is_some() {
            return Err(teller.refused());
        }
    }
    Ok(teller.told)
}

fn all_left(job: &Progress) -> bool {
    job.step >= job.marks.len()
}

/// Says things to the whole run.
struct Teller {
    run: Run,
    told: Vec<Happening>,
}

impl Teller {
    fn say(&mut self, command: Command, say: String, misheard: bool) -> Result<(), Untold> {
        if self.told.len() >= FARTHEST {
            return Err(Untold::Otherwise);
        }
        let order = Order {
            command,
            by: By::Voice,
        };
        let Ok(events) = decide(&self.run, &order, Time::UNIX_EPOCH) else {
            return Err(self.refused());
        };
        let step = self.run.step().map(|step| step.say.to_string());
        self.told.push(Happening {
            say,
            called: step.unwrap_or_default(),
            misheard,
        });
        events.iter().for_each(|event| self.run.apply(event));
        Ok(())
    }

    fn refused(&self) -> Untold {
        match self.run.blocked() {
            Some(Blocked::Forbidden { condition, .. } | Blocked::Lacking { condition, .. }) => {
                Untold::Refused(condition)
            }
            _ => Untold::Otherwise,
        }
    }

    fn move_to(&mut self, job: usize) -> Result<(), Untold> {
        if self.run.state().job == job {
            return Ok(());
        }
        let named = self
            .run
            .procedures()
            .nth(job)
            .and_then(|p| p.called.as_ref());
        let words = named.map_or_else(|| "other work".to_string(), ToString::to_string);
        self.say(Command::MoveTo(job), words, false)
    }

    /// Gets `step` called: does the idle ones that are called before it, and leaves others for later.
    fn call(&mut self, step: usize, kept: &[usize]) -> Result<(), Untold> {
        for _ in 0..FARTHEST {
            let called = self.run.progress().step;
            if called == step {
                return Ok(());
            }
            if !kept.contains(&called) && self.run.step().is_some() && self.run.blocked().is_none()
            {
                self.claim(false)?;
            } else {
                let blocked = self.run.blocked_at(self.run.state().job, step);
                if let Some(
                    Blocked::Forbidden { condition, .. } | Blocked::Lacking { condition, .. },
                ) = blocked
                {
                    return Err(Untold::Refused(condition));
                }
                self.say(Command::OtherWork, "other work".into(), false)?;
            }
        }
        Err(Untold::Otherwise)
    }

    /// Answers everything that the called step asks; the last answer is `misheard`, if any is.
    fn claim(&mut self, misheard: bool) -> Result<(), Untold> {
        let (job, step) = (self.run.state().job, self.run.progress().step);
        let parts = self.run.step().map_or(0, |step| step.requirements().len());
        for _ in 0..FARTHEST {
            let last = self.run.progress().part + 1 == parts && self.last_turn();
            let words = said(&self.run).ok_or(Untold::Otherwise)?;
            if self.run.verdict() == Verdict::Refuse {
                self.suppose_a_result_that_allows()?;
                continue;
            }
            let command = match self.run.requirement() {
                Some(Requirement::Reading(reading)) => {
                    Command::Reading(figure(reading).ok_or(Untold::Otherwise)?)
                }
                Some(Requirement::Hold(_)) => Command::OpenHold,
                Some(Requirement::Know | Requirement::Result(_)) => Command::NextInstruction,
                Some(Requirement::Wait(_)) => self.wait_command()?,
                Some(_) => Command::WorkComplete,
                None => return Err(Untold::Otherwise),
            };
            let reads = matches!(command, Command::Reading(_));
            self.say(command, words, misheard && last && !reads)?;
            if reads {
                self.say(
                    Command::ConfirmReading,
                    "confirm reading".into(),
                    misheard && last,
                )?;
            }
            let left = self.run.state().jobs[job].left.contains(&step);
            if left || self.run.state().job != job {
                return Ok(());
            }
        }
        Err(Untold::Otherwise)
    }

    /// Goes on over a result that refuses the figures told here: those that allow it are not searched for,
    /// and the history is about something else.
    fn suppose_a_result_that_allows(&mut self) -> Result<(), Untold> {
        let step = self.run.step().ok_or(Untold::Otherwise)?;
        self.told.push(Happening {
            say: "next instruction".into(),
            called: step.say.to_string(),
            misheard: false,
        });
        let claimed = Event::Claimed {
            step: step.id.clone(),
            claim: Claim::Known,
        };
        self.run.apply(&claimed);
        Ok(())
    }

    /// Tells whether the next bolt is the circle's last.
    fn last_turn(&self) -> bool {
        match self.run.requirement() {
            Some(Requirement::Fasten(fasten)) => {
                self.run.progress().tightened + 1 >= fasten.turns()
            }
            _ => true,
        }
    }

    /// Ends the called step's own wait where it runs.
    fn wait_command(&mut self) -> Result<Command, Untold> {
        match self.run.own_wait() {
            None => Ok(Command::BeginCountdown),
            Some(_) => {
                self.end_wait(self.run.state().job, self.run.progress().step)?;
                Ok(Command::WorkComplete)
            }
        }
    }

    fn end_wait(&mut self, job: usize, step: usize) -> Result<(), Untold> {
        let procedure = self.run.procedures().nth(job);
        let found = procedure.and_then(|procedure| procedure.steps.get(step));
        let id = found.ok_or(Untold::Otherwise)?.id.clone();
        let events = end_waits(&self.run, |of, wait| of == job && wait.step == id);
        for event in &events {
            if let Event::WaitEnded { name, .. } = event {
                self.told.push(Happening {
                    say: format!("{WAIT_ENDS}{name}"),
                    called: String::new(),
                    misheard: false,
                });
            }
            self.run.apply(event);
        }
        Ok(())
    }

    fn back_to(&mut self, step: usize) -> Result<(), Untold> {
        for _ in 0..FARTHEST {
            if self.run.progress().step == step && !self.run.progress().is_begun() {
                return Ok(());
            }
            self.say(
                Command::PreviousInstruction,
                "previous instruction".into(),
                false,
            )?;
        }
        Err(Untold::Otherwise)
    }

    fn settle(&mut self, truth: bool) -> Result<(), Untold> {
        let command = if truth {
            Command::StillSo
        } else {
            Command::NoLonger
        };
        let said = sayable::may_say(&self.run);
        let words = said.iter().find(|sayable| sayable.command == command);
        let words = words.ok_or(Untold::Otherwise)?.say.clone();
        self.say(command, words, false)
    }
}

/// Returns what is said for what is wanted of the called step now, taken forward.
pub(super) fn said(run: &Run) -> Option<String> {
    if let Some(hold) = run.asking_hold() {
        return Some(hold.answer.to_string());
    }
    Some(match run.requirement()? {
        Requirement::Know | Requirement::Result(_) => "next instruction".into(),
        Requirement::Wait(_) if run.own_wait().is_none() => "begin countdown".into(),
        Requirement::Reading(reading) => figure(reading)?.spoken(),
        Requirement::Work | Requirement::Fasten(_) | Requirement::Wait(_) => "work complete".into(),
        Requirement::Hold(hold) => hold.answer.to_string(),
    })
}

/// Returns a figure within the limits of a reading.
fn figure(reading: &Reading) -> Option<Figure> {
    let (whole, decimals) = reading.places();
    let written = format!("{:.decimals$}", reading.low);
    let width = if decimals > 0 {
        whole + 1 + decimals
    } else {
        whole
    };
    format!("{written:0>width$}").parse().ok()
}
