//! A procedure that is open on the piece of work, with its rules by number.

use crate::procedure::{Condition, Earlier, Procedure, Text};

/// What is fixed of an open job.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenJob {
    pub procedure: Procedure,
    /// For each step.
    pub(super) rules: Vec<Rules>,
}

/// The rules of a step, its conditions by their number in the work.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Rules {
    pub earlier: Vec<Earlier>,
    pub forbidden_while: Vec<usize>,
    pub needs: Vec<usize>,
    pub sets: Vec<usize>,
    pub clears: Vec<usize>,
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
        let steps = procedure.steps.iter().zip(procedure.earlier());
        let rules = steps
            .map(|(step, earlier)| Rules {
                earlier,
                forbidden_while: numbers(&step.forbidden_while),
                needs: numbers(&step.needs),
                sets: numbers(&step.sets),
                clears: numbers(&step.clears),
            })
            .collect();
        OpenJob { procedure, rules }
    }
}
