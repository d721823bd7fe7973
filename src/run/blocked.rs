//! Whether a step may be called and claimed, and what stands in its way.

use super::job::OpenJob;
use super::state::{Mark, Run, Truth};
use super::waiting::RunningWait;
use crate::procedure::{Condition, Step, StepId, Text};

/// Why nothing may be claimed in the called step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Blocked {
    /// A condition forbids it; `certain` tells whether it is known to be set.
    Forbidden { condition: Text, certain: bool },
    /// A condition that must be set is not; `certain` tells whether it is known to be clear.
    Lacking { condition: Text, certain: bool },
    /// An earlier step is not done.
    After { step: StepId },
    /// The wait of an earlier step is not over.
    Wait { name: Text },
    /// A sum of the call says no, or the torque is for other threads.
    Refused { why: String },
    /// Another step still has a resource.
    Taken { resource: Text, by: StepId },
}

/// The same, of the run's own texts: it is asked of every step after every command, and mostly answered by
/// whether there is anything.
enum Obstacle<'a> {
    Forbidden(usize),
    Lacking(usize),
    After(&'a StepId),
    Wait(&'a Text),
    Refused(String),
    Taken(&'a Text, &'a StepId),
}

impl Run {
    /// Returns why nothing may be claimed in the called step, or none.
    pub fn blocked(&self) -> Option<Blocked> {
        self.blocked_at(self.state.job, self.progress().step)
    }

    /// Returns why nothing may be claimed in a step of a job, or none. A step that is not there is not
    /// blocked.
    pub fn blocked_at(&self, job: usize, step: usize) -> Option<Blocked> {
        let name = |condition: usize| self.conditions()[condition].name.clone();
        let truth = |condition: usize| self.state.truths[condition];
        Some(match self.obstacle(job, step)? {
            Obstacle::Forbidden(condition) => Blocked::Forbidden {
                condition: name(condition),
                certain: truth(condition) == Truth::Set,
            },
            Obstacle::Lacking(condition) => Blocked::Lacking {
                condition: name(condition),
                certain: truth(condition) == Truth::Clear,
            },
            Obstacle::After(step) => Blocked::After { step: step.clone() },
            Obstacle::Wait(name) => Blocked::Wait { name: name.clone() },
            Obstacle::Refused(why) => Blocked::Refused { why },
            Obstacle::Taken(resource, by) => Blocked::Taken {
                resource: resource.clone(),
                by: by.clone(),
            },
        })
    }

    /// Tells whether something stands in the way of the called step.
    pub(crate) fn is_blocked(&self) -> bool {
        self.obstacle(self.state.job, self.progress().step)
            .is_some()
    }

    fn obstacle(&self, job: usize, step: usize) -> Option<Obstacle<'_>> {
        let OpenJob {
            procedure, rules, ..
        } = self.job(job);
        let rules = rules.get(step)?;
        let progress = &self.state.jobs[job];
        let truth = |condition: &usize| self.state.truths[*condition];
        let mut forbidding = rules.forbidden_while.iter();
        if let Some(condition) = forbidding.find(|c| truth(c) != Truth::Clear) {
            return Some(Obstacle::Forbidden(*condition));
        }
        if let Some(condition) = rules.needs.iter().find(|c| truth(c) != Truth::Set) {
            return Some(Obstacle::Lacking(*condition));
        }
        for earlier in &rules.earlier {
            let id = &procedure.steps[earlier.step].id;
            if progress.marks[earlier.step] == Mark::Open {
                return Some(Obstacle::After(id));
            }
            let runs = |wait: &&RunningWait| wait.step == *id && wait.ended.is_none();
            if earlier.over
                && let Some(wait) = progress.waits.iter().find(runs)
            {
                return Some(Obstacle::Wait(&wait.name));
            }
        }
        rules
            .refused(progress)
            .map(Obstacle::Refused)
            .or_else(|| Some(self.taken(job, step)?).map(|(what, by)| Obstacle::Taken(what, by)))
    }

    /// Returns the resource that a step uses and another one still has: a step that is begun, or whose
    /// wait runs.
    pub(super) fn taken(&self, job: usize, step: usize) -> Option<(&Text, &StepId)> {
        let wanted = &self.job(job).procedure.steps[step].uses;
        if wanted.is_empty() {
            return None;
        }
        for (other, progress) in self.state.jobs.iter().enumerate() {
            let steps = &self.job(other).procedure.steps;
            let begun = Some(progress.step).filter(|_| progress.is_begun());
            let waiting = |(_, step): &(usize, &Step)| {
                let mut waits = progress.waits.iter();
                waits.any(|wait| wait.step == step.id && wait.ended.is_none())
            };
            let waiting = steps.iter().enumerate().filter(waiting).map(|(at, _)| at);
            let others = waiting
                .chain(begun)
                .filter(|&at| (other, at) != (job, step));
            for holder in others.filter_map(|at| steps.get(at)) {
                if let Some(resource) = wanted.iter().find(|one| holder.uses.contains(one)) {
                    return Some((resource, &holder.id));
                }
            }
        }
        None
    }

    /// Tells whether a step may be called: it is open and nothing blocks it.
    pub fn is_ready(&self, job: usize, step: usize) -> bool {
        self.state.jobs[job].marks.get(step) == Some(&Mark::Open)
            && self.obstacle(job, step).is_none()
    }

    /// Returns the condition of which nobody knows whether it holds and that therefore blocks the called
    /// step: the person is asked which.
    pub fn uncertain(&self) -> Option<&Condition> {
        let (Obstacle::Forbidden(condition) | Obstacle::Lacking(condition)) =
            self.obstacle(self.state.job, self.progress().step)?
        else {
            return None;
        };
        let uncertain = self.state.truths[condition] == Truth::Uncertain;
        self.conditions().get(condition).filter(|_| uncertain)
    }
}
