//! The plan of a run as it stands, and the order in which it has the open steps begin.

use super::draft::Draft;
use super::outcome::{Effort, Outcome, Plan};
use super::work::Kind;
use crate::run::{Run, Time};

/// Returns the steps that are still to be started, as (job, step), in the order that brings the finish
/// forward; none where there is no plan that keeps everything.
pub fn order(run: &Run, now: Time) -> Vec<(usize, usize)> {
    let draft = Draft::of_run(run, None, now);
    match Plan::of(&draft.work, Effort::USUAL) {
        Ok(Outcome::Feasible(plan)) => draft.by_start(&plan),
        Ok(Outcome::Infeasible(_) | Outcome::Undecided { .. }) | Err(_) => Vec::new(),
    }
}

impl Draft {
    /// Returns the steps that are still to be started, as (procedure, step): the one to be done first
    /// first, and of those that can start together the one with the least slack.
    pub fn by_start(&self, plan: &Plan) -> Vec<(usize, usize)> {
        let waiting = |at: &usize| {
            let activity = &self.work.activities[*at];
            activity.kind == Kind::Step && activity.started.is_none()
        };
        let mut steps: Vec<usize> = (0..self.places.len()).filter(waiting).collect();
        steps.sort_by_key(|&at| (plan.starts[at], plan.slack[at], at));
        let places = steps.into_iter().map(|at| self.places[at]);
        places.map(|place| (place.job, place.step)).collect()
    }
}
