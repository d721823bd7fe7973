//! A history followed again: through the real run, with what is actually so beside it.

use std::collections::BTreeSet;

use chrono::TimeDelta;

use super::tell::{OF_STEP, TIME_PASSES, WAIT_ENDS, of_step};
use crate::procedure::{FIGURES, Lasting, Procedure, StepId, Text};
use crate::run::{
    By, Claim, Command, Event, Figure, Order, Run, RunningWait, Time, Truth, decide, end_waits,
    sayable,
};

/// How a line of a history says that nobody said it.
pub const MISHEARD: &str = "MISHEARD";

/// A run that is driven by what was said, and the work as it truly is.
#[derive(Debug, Clone)]
pub struct Replay {
    run: Run,
    now: Time,
    /// Of each condition of the work.
    actual: Vec<Truth>,
    /// Steps in which a claim was taken that nobody made.
    false_claims: BTreeSet<(usize, usize)>,
}

/// A step that is called though the work forbids it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breach {
    pub job: usize,
    pub step: StepId,
    pub condition: Text,
}

impl Replay {
    /// Begins the procedures, open together; none where there are none.
    pub fn new(procedures: &[Procedure]) -> Option<Replay> {
        let (first, others) = procedures.split_first()?;
        let mut run = Run::of(first.clone(), others.iter().cloned());
        run.apply(&Event::Began);
        Some(Replay {
            actual: run.truths().to_vec(),
            run,
            now: Time::UNIX_EPOCH,
            false_claims: BTreeSet::new(),
        })
    }

    pub fn run(&self) -> &Run {
        &self.run
    }

    /// Follows one line: what is said, the end of a wait or that time passes, and after `#` a note in which
    /// [`MISHEARD`] tells that nobody said it. An empty line does nothing.
    ///
    /// # Errors
    /// The line means nothing here, or the run refuses it: why, and what to say instead.
    pub fn line(&mut self, line: &str) -> Result<Vec<Event>, String> {
        let (said, note) = line.split_once('#').unwrap_or((line, ""));
        let said = said.trim();
        if said.is_empty() {
            return Ok(Vec::new());
        }
        if let Some(name) = said.strip_prefix(WAIT_ENDS.trim_end()) {
            let (name, of) = match name.trim().split_once(OF_STEP) {
                Some((name, of)) => (name, Some(of)),
                None => (name.trim(), None),
            };
            let is = |job: usize, wait: &RunningWait| {
                let of_step = || of_step(job, &wait.step);
                wait.name.as_str() == name && of.is_none_or(|of| *of == of_step()[OF_STEP.len()..])
            };
            let events = end_waits(&self.run, is);
            events.iter().for_each(|event| self.run.apply(event));
            return Ok(events);
        }
        if let Some(lasts) = said.strip_prefix(TIME_PASSES.trim_end()) {
            let lasts = Lasting::try_from(lasts.trim().to_owned())?;
            self.now += TimeDelta::seconds(lasts.seconds());
            return self.order(Command::Tick, By::Clock, false);
        }
        let command = match figure(said) {
            Some(figure) => Command::Reading(figure),
            None => sayable::understand(&self.run, said)
                .ok_or_else(|| format!("\"{said}\" means nothing here"))?,
        };
        self.give(command, note.contains(MISHEARD))
    }

    /// Gives a command as surely heard; `misheard` where nobody gave it.
    ///
    /// # Errors
    /// The run refuses it.
    pub fn give(&mut self, command: Command, misheard: bool) -> Result<Vec<Event>, String> {
        self.order(command, By::Voice, misheard)
    }

    fn order(&mut self, command: Command, by: By, misheard: bool) -> Result<Vec<Event>, String> {
        let order = Order { command, by };
        let events = decide(&self.run, &order, self.now)
            .map_err(|refusal| format!("{}. {}", refusal.why, refusal.instead))?;
        for event in &events {
            self.follow(event, misheard);
        }
        Ok(events)
    }

    /// Returns whether a condition truly holds, as far as anybody can know.
    pub fn actual(&self, condition: &Text) -> Truth {
        let number = self.run.number_of(condition);
        number.map_or(Truth::Uncertain, |number| self.actual[number])
    }

    /// Returns the called step where it begins though the state of the work forbids it.
    pub fn breach(&self) -> Option<Breach> {
        let state = self.run.state();
        let step = self.run.step()?;
        if state.asking.is_some() || self.run.blocked().is_some() {
            return None;
        }
        let against = |wanted: Truth| move |c: &&Text| self.actual(c) != wanted;
        let forbids = step.forbidden_while.iter().find(against(Truth::Clear));
        let lacks = step.needs.iter().find(against(Truth::Set));
        Some(Breach {
            job: state.job,
            step: step.id.clone(),
            condition: forbids.or(lacks)?.clone(),
        })
    }

    fn follow(&mut self, event: &Event, misheard: bool) {
        let at = (self.run.state().job, self.run.progress().step);
        let (job, step) = at;
        self.run.apply(event);
        match event {
            Event::WentBack { .. } | Event::TakenBack => {
                self.false_claims.remove(&at);
            }
            Event::Claimed { claim, .. } if misheard && !matches!(claim, Claim::Hold { .. }) => {
                self.false_claims.insert(at);
            }
            Event::WaitBegan { .. }
            | Event::ReadingTaken { .. }
            | Event::DeviationAccepted { .. }
                if misheard =>
            {
                self.false_claims.insert(at);
            }
            // The answer of a hold tells what is so.
            Event::Claimed {
                claim: Claim::Hold { .. },
                ..
            } => {
                self.false_claims.remove(&at);
            }
            Event::Settled { condition, truth } => {
                if let Some(number) = self.run.number_of(condition) {
                    self.actual[number] = Truth::of(*truth);
                }
            }
            _ => {}
        }
        let left = self.run.state().jobs[job].left.contains(&step);
        let skipped = matches!(event, Event::Skipped { .. });
        let claims = matches!(
            event,
            Event::Claimed { .. }
                | Event::WaitBegan { .. }
                | Event::ReadingTaken { .. }
                | Event::DeviationAccepted { .. }
        );
        if !left || !(skipped || claims) || self.false_claims.remove(&at) {
            return;
        }
        let (sets, clears) = self.run.effects(job, step);
        for (conditions, truth) in [(sets, Truth::Set), (clears, Truth::Clear)] {
            for &condition in conditions {
                // Whether a skipped step was done, nobody has said.
                self.actual[condition] = if skipped { Truth::Uncertain } else { truth };
            }
        }
    }
}

/// Reads a figure said digit by digit.
fn figure(said: &str) -> Option<Figure> {
    let digits = said.split(' ').map(|word| {
        let place = FIGURES.iter().position(|figure| *figure == word)?;
        char::from_digit(place as u32, 10).or(Some('.'))
    });
    digits.collect::<Option<String>>()?.parse().ok()
}
