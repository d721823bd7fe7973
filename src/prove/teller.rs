//! Who says things to the whole run, as a person would.

use std::collections::BTreeSet;

use chrono::TimeDelta;

use super::act::{self, Act};
use super::figures::figures;
use super::tell::{Happening, TIME_PASSES, Untold, WAIT_ENDS, of_step};
use crate::procedure::{Lasting, Requirement, Text};
use crate::run::{
    Blocked, By, Command, Event, MoreTime, Order, Run, Time, decide, end_waits, sayable,
};

/// The most things that are said to get from one deed to the next.
const FARTHEST: usize = 20_000;

/// How much time is tried to have passed.
const LATER: [&str; 12] = [
    "10 min", "30 min", "1 h", "2 h", "3 h", "4 h", "6 h", "8 h", "12 h", "16 h", "24 h", "48 h",
];

/// Says things to the whole run.
#[derive(Clone)]
pub(super) struct Teller {
    pub run: Run,
    now: Time,
    /// Of each job, the steps that the search kept; the others are idle.
    kept: Vec<Vec<usize>>,
    /// The conditions that the search kept.
    known: BTreeSet<Text>,
    pub told: Vec<Happening>,
}

impl Teller {
    /// Begins with the whole run, of which the search kept some steps of each job and some conditions.
    pub(super) fn new(run: Run, kept: Vec<Vec<usize>>, known: BTreeSet<Text>) -> Teller {
        Teller {
            run,
            now: Time::UNIX_EPOCH,
            kept,
            known,
            told: Vec::new(),
        }
    }

    pub(super) fn say(
        &mut self,
        command: Command,
        say: String,
        misheard: bool,
    ) -> Result<(), Untold> {
        self.say_by(command, say, By::Voice)?;
        if let Some(said) = self.told.last_mut() {
            said.misheard = misheard;
        }
        Ok(())
    }

    fn say_by(&mut self, command: Command, say: String, by: By) -> Result<(), Untold> {
        if self.told.len() >= FARTHEST {
            return Err(Untold::Otherwise);
        }
        let order = Order { command, by };
        let Ok(events) = decide(&self.run, &order, self.now) else {
            return Err(self.refused());
        };
        let step = self.run.step().map(|step| step.say.to_string());
        self.told.push(Happening {
            say,
            called: step.unwrap_or_default(),
            misheard: false,
        });
        events.iter().for_each(|event| self.run.apply(event));
        Ok(())
    }

    /// Why the called step is refused.
    pub(super) fn refused(&self) -> Untold {
        self.refused_at(self.run.progress().step)
    }

    pub(super) fn move_to(&mut self, job: usize) -> Result<(), Untold> {
        if self.run.state().job == job {
            return Ok(());
        }
        let named = self.run.procedures().nth(job);
        match named.and_then(|procedure| procedure.called.clone()) {
            Some(called) => self.say(Command::MoveTo(job), called.to_string(), false),
            // Without a name other work comes round to it.
            None => {
                for _ in 0..FARTHEST {
                    self.say(Command::OtherWork, "different work".into(), false)?;
                    if self.run.state().job == job {
                        return Ok(());
                    }
                }
                Err(Untold::Otherwise)
            }
        }
    }

    /// Gets `step` of the called job called: does the idle ones that are called before it, and leaves others for
    /// later. Where nothing can begin, one idle step is done once more, so that the job is called anew.
    pub(super) fn call(&mut self, step: usize) -> Result<(), Untold> {
        let job = self.run.state().job;
        // Those that were left for later since something was last done.
        let mut passed = BTreeSet::new();
        let mut again = false;
        loop {
            let called = self.run.progress().step;
            if called == step {
                return Ok(());
            }
            let idle = !self.kept[job].contains(&called);
            if idle && self.run.step().is_some() && self.run.blocked().is_none() {
                self.claim(false)?;
                passed.clear();
                continue;
            }
            let other = "different work".to_owned();
            if passed.insert(called) && self.say(Command::OtherWork, other, false).is_ok() {
                if self.run.state().job == job {
                    continue;
                }
                // Only where nothing else can be done in the job does other work lead out of it.
                self.move_to(job)?;
            }
            if std::mem::replace(&mut again, true) || !self.last_is_idle(job) {
                return Err(self.refused_at(step));
            }
            let back = "previous instruction".to_owned();
            self.say(Command::PreviousInstruction, back, false)?;
            self.claim(false)?;
        }
    }

    /// Tells whether the step of a job that was left last is one that the search left out.
    fn last_is_idle(&self, job: usize) -> bool {
        let last = self.run.state().jobs[job].left.last();
        last.is_some_and(|last| !self.kept[job].contains(last))
    }

    /// Why a step of the called job cannot be called: a condition that stands in its way or in that of the one
    /// that is called in its place, rather one that the search left out.
    fn refused_at(&self, step: usize) -> Untold {
        let in_the_way = [step, self.run.progress().step].map(|step| self.forbidding(step));
        let left_out = |condition: &&Text| !self.known.contains(*condition);
        let mut conditions = in_the_way.iter().flatten();
        let other = conditions.clone().find(left_out);
        match other.or_else(|| conditions.next()) {
            Some(condition) => Untold::Refused(condition.clone()),
            None => Untold::Otherwise,
        }
    }

    /// The condition that stands in the way of a step of the called job, or of one that comes before it.
    fn forbidding(&self, step: usize) -> Option<Text> {
        let (job, mut step) = (self.run.state().job, step);
        for _ in 0..self.run.procedure().steps.len() {
            match self.run.blocked_at(job, step)? {
                Blocked::Forbidden { condition, .. } | Blocked::Lacking { condition, .. } => {
                    return Some(condition);
                }
                Blocked::After { step: before } => step = self.run.number_of_step(job, &before)?,
                _ => return None,
            }
        }
        None
    }

    /// Answers everything that the called step asks; the last answer is `misheard`, if any is.
    pub(super) fn claim(&mut self, misheard: bool) -> Result<(), Untold> {
        let (job, step) = (self.run.state().job, self.run.progress().step);
        let parts = self.run.step().map_or(0, |step| step.requirements().len());
        for _ in 0..FARTHEST {
            let last = self.run.progress().part + 1 == parts && self.last_turn();
            let command = match self.run.requirement() {
                Some(Requirement::Reading(_)) => None,
                Some(Requirement::Hold(_)) => Some(Command::OpenHold),
                Some(Requirement::Know | Requirement::Result(_)) => Some(Command::NextInstruction),
                Some(Requirement::Wait(_)) => Some(self.wait_command()?),
                Some(Requirement::Work | Requirement::Fasten(_)) => Some(Command::WorkComplete),
                None => return Err(Untold::Otherwise),
            };
            match command {
                Some(command) => {
                    let words = said(&self.run).ok_or(Untold::Otherwise)?;
                    self.say(command, words, misheard && last)?;
                }
                None => self.read(misheard)?,
            }
            let left = self.run.state().jobs[job].left.contains(&step);
            if left || self.run.state().job != job {
                return Ok(());
            }
        }
        Err(Untold::Otherwise)
    }

    /// Says the readings that are to be taken.
    fn read(&mut self, misheard: bool) -> Result<(), Untold> {
        if figures(&self.run, self.now).is_none() {
            self.let_time_pass()?;
        }
        let figures = figures(&self.run, self.now).ok_or(Untold::Otherwise)?;
        let parts = self.run.step().map_or(0, |step| step.requirements().len());
        for figure in figures {
            let last = self.run.progress().part + 1 == parts;
            let words = figure.spoken();
            self.say(Command::Reading(figure), words, false)?;
            let confirmed = "confirm reading".into();
            self.say(Command::ConfirmReading, confirmed, misheard && last)?;
        }
        Ok(())
    }

    /// Lets so much time pass that the sums of the called step allow some readings; what has become too old is
    /// read again.
    fn let_time_pass(&mut self) -> Result<(), Untold> {
        let step = self.run.progress().step;
        for lasts in LATER {
            let mut later = self.clone();
            later.pass(lasts)?;
            // Once: what is read again must be allowed as it is.
            if later.read_again(step).is_ok() && figures(&later.run, later.now).is_some() {
                *self = later;
                return Ok(());
            }
        }
        Err(Untold::Otherwise)
    }

    fn pass(&mut self, lasts: &str) -> Result<(), Untold> {
        let time = Lasting::try_from(lasts.to_owned()).map_err(|_| Untold::Otherwise)?;
        self.now += TimeDelta::seconds(time.seconds());
        self.say_by(Command::Tick, format!("{TIME_PASSES}{lasts}"), By::Clock)?;
        while self.run.called_wait().is_some() {
            self.say(Command::NextInstruction, "next instruction".into(), false)?;
        }
        Ok(())
    }

    /// Takes the readings that are called in place of a step that relies on them.
    fn read_again(&mut self, step: usize) -> Result<(), Untold> {
        for _ in 0..self.run.procedure().steps.len() {
            let called = self.run.progress().step;
            if called == step {
                return Ok(());
            }
            figures(&self.run, self.now).ok_or(Untold::Otherwise)?;
            self.claim(false)?;
        }
        Err(Untold::Otherwise)
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

    pub(super) fn end_wait(&mut self, job: usize, step: usize) -> Result<(), Untold> {
        let procedure = self.run.procedures().nth(job);
        let found = procedure.and_then(|procedure| procedure.steps.get(step));
        let id = found.ok_or(Untold::Otherwise)?.id.clone();
        let events = end_waits(&self.run, |of, wait| of == job && wait.step == id);
        for event in &events {
            if let Event::WaitEnded { name, .. } = event {
                let running = self.run.waits().filter(|wait| wait.is_running());
                let alike = running.filter(|wait| wait.name == *name).count() > 1;
                let of = if alike {
                    of_step(job, &id)
                } else {
                    String::new()
                };
                self.told.push(Happening {
                    say: format!("{WAIT_ENDS}{name}{of}"),
                    called: String::new(),
                    misheard: false,
                });
            }
            self.run.apply(event);
        }
        Ok(())
    }

    /// Does the idle steps that are left over, and ends their waits.
    pub(super) fn finish(&mut self) -> Result<(), Untold> {
        while !self.run.state().finished {
            let run = &self.run;
            if run.step().is_some() && run.blocked().is_none() {
                self.claim(false)?;
            } else if !run.other_work().is_empty() {
                self.say(Command::OtherWork, "different work".into(), false)?;
            } else {
                let ends = act::waits_that_run(run).into_iter().next();
                let Some(Act::WaitEnds(job, step)) = ends else {
                    return Err(Untold::Otherwise);
                };
                self.end_wait(job, step)?;
            }
        }
        Ok(())
    }

    /// Stops a wait: by its name where another is meant, and where it has none, once the others last longer.
    pub(super) fn stop_wait(&mut self, job: usize, step: usize) -> Result<(), Untold> {
        let procedure = self.run.procedures().nth(job);
        let found = procedure.and_then(|procedure| procedure.steps.get(step));
        let (id, called) = found
            .and_then(|step| Some((step.id.clone(), step.wait.as_ref()?.called.clone())))
            .ok_or(Untold::Otherwise)?;
        for _ in 0..FARTHEST {
            let meant = self.run.wait_meant().ok_or(Untold::Otherwise)?;
            if (meant.job, &meant.wait.step) == (job, &id) {
                return self.say(Command::StopWait, "cancel countdown".into(), false);
            }
            match &called {
                Some(called) => {
                    self.say(Command::AskWait { job, step }, called.to_string(), false)?;
                }
                None => {
                    let more = Command::AddTime(MoreTime::OneHour);
                    self.say(more, "add one hour".into(), false)?;
                }
            }
        }
        Err(Untold::Otherwise)
    }

    pub(super) fn back_to(&mut self, step: usize) -> Result<(), Untold> {
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

    pub(super) fn settle(&mut self, truth: bool) -> Result<(), Untold> {
        let command = if truth {
            Command::StillSo
        } else {
            Command::NoLonger
        };
        let said = sayable::may_say(&self.run);
        let words = said.iter().find(|sayable| sayable.command == command);
        let words = words.ok_or_else(|| self.refused())?.say.clone();
        self.say(command, words, false)
    }
}

/// Returns what is said for what is wanted of the called step now, taken forward; none for a reading.
fn said(run: &Run) -> Option<String> {
    if let Some(hold) = run.asking_hold() {
        return Some(hold.answer.to_string());
    }
    Some(match run.requirement()? {
        Requirement::Know | Requirement::Result(_) => "next instruction".into(),
        Requirement::Wait(_) if run.own_wait().is_none() => "begin countdown".into(),
        Requirement::Work | Requirement::Fasten(_) | Requirement::Wait(_) => "work complete".into(),
        Requirement::Hold(hold) => hold.answer.to_string(),
        Requirement::Reading(_) => return None,
    })
}
