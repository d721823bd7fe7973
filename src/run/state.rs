//! The state of a run, and what can be asked of it.

use std::collections::BTreeMap;

use super::command::Command;
use super::event::Topic;
use super::figure::Figure;
use super::{Event, Time};
use crate::procedure::{Fasten, Procedure, Reading, Requirement, Step, StepId, Text};
use crate::trade::Torque;

/// A procedure being followed.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    procedure: Procedure,
    pub(super) state: State,
    /// The states before what can still be taken back, newest last.
    pub(super) before: Vec<State>,
}

/// Where a run stands.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    pub begun: bool,
    /// The called step; the number of steps when all are done.
    pub step: usize,
    /// Which of the step's requirements is due.
    pub part: usize,
    /// How many bolts have been done in the step's circle, over all passes.
    pub tightened: u32,
    pub marks: Vec<Mark>,
    pub truths: BTreeMap<Text, Truth>,
    pub waits: Vec<RunningWait>,
    pub mode: Mode,
    pub asking: Option<Asking>,
    /// A command heard on doubt, and until when saying it again counts.
    pub doubt: Option<(Command, Time)>,
    /// What the person asked to be told, until the next command.
    pub showing: Option<Topic>,
    pub noting: bool,
    /// Whether the program's own voice is off.
    pub silent: bool,
    pub finished: bool,
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
}

/// A wait that was begun.
#[derive(Debug, Clone, PartialEq)]
pub struct RunningWait {
    pub step: StepId,
    pub name: Text,
    pub from: Time,
    pub due: Time,
    pub ended: Option<Time>,
}

/// Why nothing may be claimed in the called step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Blocked {
    /// A condition forbids it; `certain` tells whether it is known to be set.
    Forbidden { condition: Text, certain: bool },
    /// A condition that must be set is not, or is not certain.
    Lacking { condition: Text },
    /// An earlier step is not done.
    After { step: StepId },
    /// The wait of an earlier step is not over.
    Wait { name: Text },
}

/// How many commands can be taken back, one after the other.
const MOST_TAKEN_BACK: usize = 50;

impl Run {
    /// Makes a run of `procedure` that has not begun.
    pub fn new(procedure: Procedure) -> Run {
        let state = State {
            begun: false,
            step: 0,
            part: 0,
            tightened: 0,
            marks: vec![Mark::Open; procedure.steps.len()],
            truths: procedure
                .conditions
                .iter()
                .map(|c| (c.clone(), Truth::Clear))
                .collect(),
            waits: Vec::new(),
            mode: Mode::Working,
            asking: None,
            doubt: None,
            showing: None,
            noting: false,
            silent: false,
            finished: false,
        };
        Run {
            procedure,
            state,
            before: Vec::new(),
        }
    }

    pub fn procedure(&self) -> &Procedure {
        &self.procedure
    }

    pub fn state(&self) -> &State {
        &self.state
    }

    /// Folds one event into the state.
    pub fn apply(&mut self, event: &Event) {
        super::apply::apply(self, event);
    }

    /// Returns the called step, or none when all are done.
    pub fn step(&self) -> Option<&Step> {
        self.procedure.steps.get(self.state.step)
    }

    /// Returns what the called step asks for now.
    pub fn requirement(&self) -> Option<Requirement<'_>> {
        self.step()
            .and_then(|step| step.requirements().get(self.state.part).copied())
    }

    /// Returns the circle being tightened now, with the pass (from 0), the bolt and its torque.
    pub fn bolt(&self) -> Option<CalledBolt<'_>> {
        let Some(Requirement::Fasten(fasten)) = self.requirement() else {
            return None;
        };
        let bolts = fasten.bolts.get();
        let pass = self.state.tightened / bolts;
        let torques = fasten.torques();
        let order = fasten.order();
        let torque = torques.get(pass as usize).copied().flatten();
        let bolt = order
            .get((self.state.tightened % bolts) as usize)
            .copied()?;
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
        match self.requirement() {
            Some(Requirement::Reading(reading)) if self.state.asking.is_none() => Some(reading),
            _ => None,
        }
    }

    /// Returns the running or ended wait of the called step.
    pub fn own_wait(&self) -> Option<&RunningWait> {
        let step = self.step()?;
        self.state.waits.iter().find(|wait| wait.step == step.id)
    }

    /// Returns when the next wait is due.
    pub fn next_due(&self) -> Option<Time> {
        self.state
            .waits
            .iter()
            .filter(|wait| wait.ended.is_none())
            .map(|wait| wait.due)
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
        !self.before.is_empty()
    }

    /// Returns why nothing may be claimed in the called step, or none.
    pub fn blocked(&self) -> Option<Blocked> {
        let step = self.step()?;
        for condition in &step.forbidden_while {
            match self.truth(condition) {
                Truth::Clear => {}
                truth => {
                    return Some(Blocked::Forbidden {
                        condition: condition.clone(),
                        certain: truth == Truth::Set,
                    });
                }
            }
        }
        for condition in &step.needs {
            if self.truth(condition) != Truth::Set {
                return Some(Blocked::Lacking {
                    condition: condition.clone(),
                });
            }
        }
        for id in &step.after {
            let at = self
                .procedure
                .steps
                .iter()
                .position(|other| other.id == *id);
            if at.is_none_or(|at| self.state.marks.get(at) == Some(&Mark::Open)) {
                return Some(Blocked::After { step: id.clone() });
            }
            let running = |wait: &&RunningWait| wait.step == *id && wait.ended.is_none();
            if let Some(wait) = self.state.waits.iter().find(running) {
                return Some(Blocked::Wait {
                    name: wait.name.clone(),
                });
            }
        }
        None
    }

    /// Returns the nearest earlier step that would make `condition` as wanted.
    pub fn step_that_settles(&self, condition: &Text, wanted: Truth) -> Option<&Step> {
        self.procedure
            .steps
            .iter()
            .take(self.state.step)
            .rev()
            .find(|step| {
                let settles = if wanted == Truth::Set {
                    &step.sets
                } else {
                    &step.clears
                };
                settles.contains(condition)
            })
    }

    pub(super) fn remember(&mut self) {
        if self.before.len() == MOST_TAKEN_BACK {
            self.before.remove(0);
        }
        self.before.push(self.state.clone());
    }

    fn truth(&self, condition: &Text) -> Truth {
        self.state
            .truths
            .get(condition)
            .copied()
            .unwrap_or(Truth::Uncertain)
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
