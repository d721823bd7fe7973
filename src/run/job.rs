//! A procedure that is open on the piece of work, with its rules by number.

use super::state::{Mark, Progress};
use crate::procedure::{Condition, Earlier, Procedure, Step, StepId, Taken, Text};
use crate::trade::Verdict;

/// What is fixed of an open job.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenJob {
    pub procedure: Procedure,
    /// For each step.
    pub(super) rules: Vec<Rules>,
    /// Whether a step has a sum.
    pub(super) has_sums: bool,
    /// For each step, the steps that rely on its readings.
    pub(super) relying: Vec<Vec<usize>>,
    /// The steps from whose end a later one counts.
    pub(super) clocked: Vec<usize>,
}

/// The rules of a step, its conditions by their number in the work.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Rules {
    pub earlier: Vec<Earlier>,
    pub forbidden_while: Vec<usize>,
    pub needs: Vec<usize>,
    pub sets: Vec<usize>,
    pub clears: Vec<usize>,
    /// Why a sum of the call refuses the step; the checker lets no such procedure pass, the run does not
    /// rely on it.
    pub refused: Option<String>,
    /// The steps that put something on the threads that this one tightens, and why it must not then.
    pub threads: Vec<(usize, Option<String>)>,
}

impl Rules {
    /// Returns why nothing may be claimed in the step, whatever the conditions are: a sum says no, or what
    /// was last put on the threads is not what the torque is for.
    pub(super) fn refused(&self, progress: &Progress) -> Option<String> {
        if self.refused.is_some() {
            return self.refused.clone();
        }
        let done = progress.left.iter().rev();
        let mut done = done.filter(|&&step| progress.marks.get(step) == Some(&Mark::Done));
        let put = |step: &usize| self.threads.iter().find(|(by, _)| by == step);
        done.find_map(put)?.1.clone()
    }
}

/// Returns why a sum of a step's call says no.
fn refused(step: &Step) -> Option<String> {
    let calls = step.sums.iter().filter(|sum| !sum.reads());
    calls
        .map(|sum| sum.reckon(&Taken::default()))
        .find(|result| result.verdict == Verdict::Refuse)
        .map(|result| result.result)
}

/// Returns the steps that put something on the threads that `step` tightens, each with why its torque does
/// not hold for them then.
fn threads(procedure: &Procedure, step: &Step) -> Vec<(usize, Option<String>)> {
    let Some((fasten, name)) = step
        .fasten
        .as_ref()
        .and_then(|f| Some((f, f.name.as_ref()?)))
    else {
        return Vec::new();
    };
    let steps = procedure.steps.iter().enumerate();
    let applied = steps.flat_map(|(at, step)| step.applies.iter().map(move |one| (at, one)));
    applied
        .filter(|(_, applied)| applied.to == *name)
        .map(|(at, applied)| (at, fasten.forbids(applied.what)))
        .collect()
}

/// Returns the steps from whose end a sum of another step counts.
fn clocked(procedure: &Procedure) -> Vec<usize> {
    let clocks = procedure.steps.iter().flat_map(Step::by_clock);
    let at = |since: &StepId| procedure.steps.iter().position(|step| step.id == *since);
    clocks.filter_map(|clock| at(clock.since)).collect()
}

impl OpenJob {
    /// Opens `procedure` on a piece of work that has `conditions`; adds to them those that only this
    /// procedure knows.
    pub(super) fn new(procedure: Procedure, conditions: &mut Vec<Condition>) -> OpenJob {
        for condition in &procedure.conditions {
            match conditions.iter_mut().find(|c| c.name == condition.name) {
                // The job that came first has the word; a later one adds what it left open.
                Some(known) => {
                    known.if_set = known.if_set.take().or_else(|| condition.if_set.clone());
                    known.if_clear = known.if_clear.take().or_else(|| condition.if_clear.clone());
                    if known.cautions.is_empty() {
                        known.cautions = condition.cautions.clone();
                    }
                }
                None => conditions.push(condition.clone()),
            }
        }
        let mut number = |name: &Text| match conditions.iter().position(|c| c.name == *name) {
            Some(number) => number,
            // A procedure made by hand may use what it does not declare.
            None => {
                conditions.push(Condition::from(name.clone()));
                conditions.len() - 1
            }
        };
        let mut numbers = |names: &[Text]| names.iter().map(&mut number).collect();
        let order = procedure.earlier();
        let relying = procedure.relying(&order);
        let steps = procedure.steps.iter().zip(order);
        let rules = steps
            .map(|(step, earlier)| Rules {
                earlier,
                forbidden_while: numbers(&step.forbidden_while),
                needs: numbers(&step.needs),
                sets: numbers(&step.sets),
                clears: numbers(&step.clears),
                refused: refused(step),
                threads: threads(&procedure, step),
            })
            .collect();
        let has_sums = procedure.steps.iter().any(|step| !step.sums.is_empty());
        let clocked = clocked(&procedure);
        OpenJob {
            procedure,
            rules,
            has_sums,
            relying,
            clocked,
        }
    }
}
