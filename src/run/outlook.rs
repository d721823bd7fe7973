//! What the run is told by those who plan and look at the clock: in which order the work is planned, and
//! how long the called steps have been worked on.
//!
//! It is no part of the state. The planned order only chooses among what can be done anyway, and the
//! event says what was chosen, so that the record is read without it.

use chrono::TimeDelta;

use super::Time;
use super::state::{Mode, Run};

/// See the head of this file.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Outlook {
    /// The steps still to be started, as (job, step): the one planned first first.
    order: Vec<(usize, usize)>,
    /// Of each job, how long its called step has been worked on.
    worked: Vec<Worked>,
}

/// How long a step has been worked on.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Worked {
    step: usize,
    before: TimeDelta,
    /// Since when it is called, while it is.
    since: Option<Time>,
}

impl Run {
    /// Lays down in which order the open steps, as (job, step), bring the finish forward. Without one the
    /// nearest comes first.
    pub fn plan_by(&mut self, order: Vec<(usize, usize)>) {
        self.outlook.order = order;
    }

    /// Tells that it is `now`: from here on the called step is worked on, unless the work stands still.
    pub fn note_time(&mut self, now: Time) {
        let working = self.state.mode == Mode::Working;
        let jobs = &self.state.jobs;
        self.outlook.worked.resize(jobs.len(), Worked::default());
        for (job, worked) in self.outlook.worked.iter_mut().enumerate() {
            let step = jobs[job].step;
            if worked.step != step {
                *worked = Worked {
                    step,
                    ..Worked::default()
                };
            }
            let called = working && job == self.state.job;
            match worked.since {
                None if called => worked.since = Some(now),
                Some(since) if !called => {
                    worked.before += (now - since).max(TimeDelta::zero());
                    worked.since = None;
                }
                _ => {}
            }
        }
    }

    /// Returns how long the called step of `job` has been worked on by `now`, as far as it was told; after
    /// a restart from then on.
    pub fn worked_on(&self, job: usize, now: Time) -> TimeDelta {
        let worked = self.outlook.worked.get(job).copied().unwrap_or_default();
        if self
            .state
            .jobs
            .get(job)
            .is_none_or(|progress| progress.step != worked.step)
        {
            return TimeDelta::zero();
        }
        let since = worked.since.map_or(TimeDelta::zero(), |since| now - since);
        worked.before + since.max(TimeDelta::zero())
    }

    /// Puts what can be done into the planned order; what is in no plan stays as it stands, at the end.
    pub(super) fn as_planned(&self, mut steps: Vec<(usize, usize)>) -> Vec<(usize, usize)> {
        let order = &self.outlook.order;
        let planned = |step: &(usize, usize)| order.iter().position(|other| other == step);
        steps.sort_by_key(|step| planned(step).unwrap_or(order.len()));
        steps
    }
}
