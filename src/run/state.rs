//! The state of a run, and what can be asked of it.

use std::sync::Arc;

use chrono::TimeDelta;

use super::cautions::Pages;
use super::command::{Command, Opened};
use super::event::Topic;
use super::figure::Figure;
use super::in_hand::Held;
use super::job::OpenJob;
use super::outlook::Outlook;
use super::waiting::{Giving, RunningWait};
use super::{Event, Time};
use crate::procedure::{
    Condition, Fasten, Hold, Procedure, Reading, Requirement, Step, StepId, Text,
};
use crate::trade::Torque;
use crate::trade::wrench::Tools;

/// The jobs that are open on one piece of work, being followed.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    jobs: Arc<Vec<OpenJob>>,
    /// Every condition of the work, in the order in which jobs brought them.
    conditions: Arc<Vec<Condition>>,
    pub(super) tools: Arc<Tools>,
    pub(super) outlook: Outlook,
    /// The procedures that can be asked for.
    pub(super) shelf: Arc<Vec<Opened>>,
    pub(super) pages: Pages,
    pub(super) state: State,
    /// The state before what "disregard" takes back. It takes back one thing, the last: further back
    /// leads "previous instruction".
    pub(super) before: Option<Box<State>>,
}

/// Where the work stands.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    pub begun: bool,
    /// The job that is called.
    pub job: usize,
    /// Where each open job stands.
    pub jobs: Vec<Progress>,
    /// Of each condition of the work, by its number.
    pub(crate) truths: Vec<Truth>,
    pub mode: Mode,
    pub asking: Option<Asking>,
    /// A command heard on doubt, and until when saying it again counts.
    pub doubt: Option<(Command, Time)>,
    /// What the person asked to be told, until the next command.
    pub showing: Option<Topic>,
    pub noting: bool,
    /// The file of the procedure that was asked for, while nobody knows whether it may be opened.
    pub opening: Option<String>,
    /// The temperature that the person is telling, for a wait that goes by it.
    pub giving: Option<Giving>,
    /// The last temperatures that waits go by, each with the name of its reading.
    pub(super) temperatures: Vec<(Text, Figure)>,
    /// Whether the program's own voice is off.
    pub silent: bool,
    /// The wrench and the adapter that the person has in hand.
    pub held: Held,
    pub finished: bool,
}

/// Where one job stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// The called step; the number of steps when all are done.
    pub step: usize,
    /// Which of the step's requirements is due.
    pub part: usize,
    /// How many bolts have been done in the step's circle, over all passes.
    pub tightened: u32,
    pub marks: Vec<Mark>,
    /// The steps that are done or skipped, in the order in which they were left.
    pub left: Vec<usize>,
    pub waits: Vec<RunningWait>,
    /// The readings of the called step that were taken.
    pub taken: Vec<TakenReading>,
    /// Until when the readings of the called result hold: then they are asked for again by themselves.
    pub again: Option<Time>,
    /// Of steps that are done and on whose readings others rely, until when these hold.
    pub(super) hold: Vec<(usize, Time)>,
    /// The steps that are called again because their readings were too old.
    pub(super) aged: Vec<usize>,
    /// When steps were done from which a later one counts.
    pub(super) clocks: Vec<(usize, Time)>,
    /// The times that the clock gave in place of readings of the called step.
    pub(super) passed: Vec<(Text, TimeDelta)>,
}

/// A reading that was taken, for the sums of its step.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenReading {
    /// Which of the step's requirements it was.
    pub part: usize,
    pub name: Text,
    pub figure: Figure,
}

/// What has become of a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    Open,
    Done,
    Skipped,
}

/// Whether a condition holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Truth {
    Clear,
    Set,
    /// Nobody knows: forbids like `Set`, and is not enough for `needs`.
    Uncertain,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mode {
    Working,
    StandingBy,
    Stopped,
}

/// A question of the program that must be answered before the work goes on.
#[derive(Debug, Clone, PartialEq)]
pub enum Asking {
    /// Why the step is skipped.
    Reason,
    /// Whether the figure read back is right.
    ReadBack(Figure),
    /// What to do with a reading out of limits.
    Outside(Figure),
    /// After a stop: the last opened hold's answer once more.
    Again(StepId),
}

impl Truth {
    /// Returns what a person who looked says: that it holds, or that it does not.
    pub fn of(holds: bool) -> Truth {
        if holds { Truth::Set } else { Truth::Clear }
    }
}

impl Progress {
    fn new(procedure: &Procedure) -> Progress {
        Progress {
            step: 0,
            part: 0,
            tightened: 0,
            marks: vec![Mark::Open; procedure.steps.len()],
            left: Vec::new(),
            waits: Vec::new(),
            taken: Vec::new(),
            again: None,
            hold: Vec::new(),
            aged: Vec::new(),
            clocks: Vec::new(),
            passed: Vec::new(),
        }
    }

    /// Tells whether something of the called step has been claimed.
    pub fn is_begun(&self) -> bool {
        self.part > 0 || self.tightened > 0
    }

    /// Tells whether every step was left and every wait is over, and the person knows it.
    pub fn is_finished(&self) -> bool {
        let over = |wait: &RunningWait| wait.ended.is_some() && wait.call.is_none();
        self.step >= self.marks.len() && self.waits.iter().all(over)
    }
}

impl Run {
    /// Makes a run of `procedure` that has not begun.
    pub fn new(procedure: Procedure) -> Run {
        Run::of(procedure, [])
    }

    /// Makes a run of several procedures on one piece of work; the first one is called.
    pub fn of(first: Procedure, others: impl IntoIterator<Item = Procedure>) -> Run {
        let mut run = Run {
            jobs: Arc::default(),
            conditions: Arc::default(),
            tools: Arc::default(),
            outlook: Outlook::default(),
            shelf: Arc::default(),
            pages: Pages::default(),
            state: State {
                begun: false,
                job: 0,
                jobs: Vec::new(),
                truths: Vec::new(),
                mode: Mode::Working,
                asking: None,
                doubt: None,
                showing: None,
                noting: false,
                opening: None,
                giving: None,
                temperatures: Vec::new(),
                silent: false,
                held: Held::default(),
                finished: false,
            },
            before: None,
        };
        for procedure in std::iter::once(first).chain(others) {
            run.open(procedure);
        }
        run
    }

    /// Opens one more procedure on the work. A condition that is new with it is clear.
    pub(super) fn open(&mut self, procedure: Procedure) {
        let conditions = Arc::make_mut(&mut self.conditions);
        let progress = Progress::new(&procedure);
        let job = OpenJob::new(procedure, conditions);
        let known = conditions.len();
        for state in std::iter::once(&mut self.state).chain(self.before.as_deref_mut()) {
            state.truths.resize(known, Truth::Clear);
            state.jobs.push(progress.clone());
        }
        let number = self.jobs.len();
        Arc::make_mut(&mut self.jobs).push(job);
        self.call_next(number);
    }

    /// Returns the procedure of the called job.
    pub fn procedure(&self) -> &Procedure {
        &self.jobs[self.state.job].procedure
    }

    /// Returns the procedures of all open jobs.
    pub fn procedures(&self) -> impl ExactSizeIterator<Item = &Procedure> {
        self.jobs.iter().map(|job| &job.procedure)
    }

    pub fn state(&self) -> &State {
        &self.state
    }

    /// Returns where the called job stands.
    pub fn progress(&self) -> &Progress {
        &self.state.jobs[self.state.job]
    }

    pub(super) fn progress_mut(&mut self) -> &mut Progress {
        &mut self.state.jobs[self.state.job]
    }

    pub(super) fn job(&self, job: usize) -> &OpenJob {
        &self.jobs[job]
    }

    /// Returns every condition of the work.
    pub fn conditions(&self) -> &[Condition] {
        &self.conditions
    }

    /// Returns the waits of all jobs.
    pub fn waits(&self) -> impl Iterator<Item = &RunningWait> {
        self.state.jobs.iter().flat_map(|job| &job.waits)
    }

    /// Folds one event into the state.
    pub fn apply(&mut self, event: &Event) {
        let called = (self.state.job, self.progress().step);
        super::apply::apply(self, event);
        self.turn_pages(called, event);
    }

    /// Returns what some events would lead to, from where nothing can be taken back.
    pub(super) fn after(&self, events: &[Event]) -> Run {
        let mut after = Run {
            jobs: self.jobs.clone(),
            conditions: self.conditions.clone(),
            tools: self.tools.clone(),
            outlook: self.outlook.clone(),
            shelf: self.shelf.clone(),
            pages: self.pages.clone(),
            state: self.state.clone(),
            before: None,
        };
        events
            .iter()
            .for_each(|event| super::apply::fold(&mut after, event));
        after
    }

    /// Returns the called step, or none when all of the job are done.
    pub fn step(&self) -> Option<&Step> {
        self.procedure().steps.get(self.progress().step)
    }

    /// Returns what the called step asks for now.
    pub fn requirement(&self) -> Option<Requirement<'_>> {
        self.step()
            .and_then(|step| step.requirements().get(self.due_part()).copied())
    }

    /// Returns which of the called step's requirements is due: readings that the clock gives are not
    /// asked for.
    pub(super) fn due_part(&self) -> usize {
        let part = self.progress().part;
        let Some(step) = self.step().filter(|step| !step.sums.is_empty()) else {
            return part;
        };
        let requirements = step.requirements();
        let by_clock = |requirement: &&Requirement| match requirement {
            Requirement::Reading(reading) => self.is_by_clock(&reading.name),
            _ => false,
        };
        let later = requirements.iter().skip(part);
        part + later.take_while(by_clock).count()
    }

    /// Returns the hold whose answer is asked for now: the called step's own, or, after a stop, the last
    /// one that was opened.
    pub fn asking_hold(&self) -> Option<&Hold> {
        match &self.state.asking {
            Some(Asking::Again(step)) => self.procedure().step(step)?.hold.as_ref(),
            Some(_) => None,
            None => match self.requirement() {
                Some(Requirement::Hold(hold)) => Some(hold),
                _ => None,
            },
        }
    }

    /// Returns the circle being tightened now, with the pass (from 0), the bolt and its torque.
    pub fn bolt(&self) -> Option<CalledBolt<'_>> {
        let Some(Requirement::Fasten(fasten)) = self.requirement() else {
            return None;
        };
        let tightened = self.progress().tightened;
        let bolts = fasten.bolts.get();
        let pass = tightened / bolts;
        let torques = fasten.torques();
        let order = fasten.order(pass);
        let torque = torques.get(pass as usize).copied().flatten();
        let bolt = order.get((tightened % bolts) as usize).copied()?;
        Some(CalledBolt {
            fasten,
            pass,
            passes: torques.len() as u32,
            bolt,
            torque,
        })
    }

    /// Returns the reading asked for now, unless one is being read back or decided on.
    pub fn wanted_reading(&self) -> Option<&Reading> {
        self.reading().filter(|_| self.state.asking.is_none())
    }

    /// Returns the running or ended wait of the called step.
    pub fn own_wait(&self) -> Option<&RunningWait> {
        let step = self.step()?;
        let waits = &self.progress().waits;
        waits.iter().find(|wait| wait.step == step.id)
    }

    /// Returns when something is due by the clock: a wait's end, or readings that are asked for again. A
    /// wait that stands still is not due.
    pub fn next_due(&self) -> Option<Time> {
        self.waits()
            .filter(|wait| wait.is_running() && wait.standing.is_none())
            .map(|wait| wait.due)
            .chain(self.asked_again_at())
            .chain(self.next_aged_at())
            .min()
    }

    /// Returns the command that was heard on doubt and still counts when said again.
    pub fn doubted(&self, now: Time) -> Option<&Command> {
        self.state
            .doubt
            .as_ref()
            .filter(|(_, until)| now <= *until)
            .map(|(command, _)| command)
    }

    /// Tells whether "disregard" has something to take back.
    pub fn can_take_back(&self) -> bool {
        self.before.is_some()
    }

    /// Tells whether a step of the open jobs has a sum.
    pub(super) fn has_sums(&self) -> bool {
        self.jobs.iter().any(|job| job.has_sums)
    }

    /// Returns whether each condition of the work holds, in the order of [`Run::conditions`].
    pub fn truths(&self) -> &[Truth] {
        &self.state.truths
    }

    /// Returns the numbers of the conditions that forbid a step, and of those that it needs.
    pub(crate) fn guarded_by(&self, job: usize, step: usize) -> (&[usize], &[usize]) {
        let rules = self.jobs[job].rules.get(step);
        rules.map_or((&[], &[]), |rules| (&rules.forbidden_while, &rules.needs))
    }

    /// Returns the numbers of the conditions that a step sets, and of those that it clears.
    pub(crate) fn effects(&self, job: usize, step: usize) -> (&[usize], &[usize]) {
        let rules = self.jobs[job].rules.get(step);
        rules.map_or((&[], &[]), |rules| (&rules.sets, &rules.clears))
    }

    /// Returns the state that "disregard" leads back to, where there is one.
    pub(crate) fn earlier_state(&self) -> Option<&State> {
        self.before.as_deref()
    }

    /// Supposes what holds, for who asks what would follow from it.
    pub(crate) fn suppose(&mut self, truths: Vec<Truth>) {
        self.state.truths = truths;
        self.call_again();
    }

    /// Leaves nothing to take back.
    pub(crate) fn forget(&mut self) {
        self.before = None;
    }

    pub(super) fn remember(&mut self) {
        self.before = Some(Box::new(self.state.clone()));
    }

    /// Returns the number of a condition of the work; none where no job knows it.
    pub(crate) fn number_of(&self, condition: &Text) -> Option<usize> {
        self.conditions.iter().position(|c| c.name == *condition)
    }

    /// Returns whether a condition of the work holds; one that no job knows is uncertain.
    pub fn truth(&self, condition: &Text) -> Truth {
        let number = self.number_of(condition);
        number.map_or(Truth::Uncertain, |number| self.state.truths[number])
    }
}

/// The bolt called now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalledBolt<'a> {
    pub fasten: &'a Fasten,
    /// From 0.
    pub pass: u32,
    pub passes: u32,
    /// From 1, clockwise.
    pub bolt: u32,
    /// The torque of this pass; none where the circle has no figure (started by hand).
    pub torque: Option<Torque>,
}
