//! Which step of each job is called, and what else can be done.

use super::state::{Mark, Run, Truth};
use crate::procedure::{Step, Text};

impl Run {
    /// Calls in `job` the first step, in the order of the file, that can be done now; where there is
    /// none, the first that is open. A step that is begun stays called.
    pub(super) fn call_next(&mut self, job: usize) {
        let progress = &self.state.jobs[job];
        let steps = progress.marks.len();
        let open = |run: &Run, step: usize| run.state.jobs[job].marks[step] == Mark::Open;
        let stays = progress.is_begun() || self.is_ready(job, progress.step);
        if stays && progress.step < steps && open(self, progress.step) {
            return;
        }
        let next = (0..steps)
            .find(|&step| self.is_ready(job, step))
            .or_else(|| (0..steps).find(|&step| open(self, step)));
        self.state.jobs[job].step = next.unwrap_or(steps);
    }

    /// Returns what else can be done now: another step of the called job while its called step is not
    /// begun, and the called steps of the other jobs. What brings the finish forward comes first
    /// ([`Run::plan_by`]), without a plan the nearest.
    pub fn other_work(&self) -> Vec<(usize, usize)> {
        let here = self.state.job;
        let progress = self.progress();
        let steps = progress.marks.len();
        let mut all: Vec<(usize, usize)> = Vec::new();
        if !progress.is_begun() && progress.step < steps {
            let from = progress.step + 1;
            let round = (from..steps).chain(0..progress.step);
            let ready = round.filter(|&step| self.is_ready(here, step));
            all.extend(ready.map(|step| (here, step)));
        }
        let count = self.state.jobs.len();
        for job in (here + 1..count).chain(0..here) {
            let step = self.state.jobs[job].step;
            if self.is_ready(job, step) {
                all.push((job, step));
            }
        }
        self.as_planned(all)
    }

    /// Returns the step that would make `condition` as wanted: the last one done in the called job, an
    /// open one of it, or one of another job; with its job.
    pub fn step_that_settles(&self, condition: &Text, wanted: Truth) -> Option<(usize, &Step)> {
        let settles = |step: &&Step| {
            let list = if wanted == Truth::Set {
                &step.sets
            } else {
                &step.clears
            };
            list.contains(condition)
        };
        let here = self.state.job;
        let steps = |job: usize| &self.job(job).procedure.steps;
        let done = self.progress().left.iter().rev();
        let done = done.filter_map(|&step| steps(here).get(step));
        let own = done.chain(steps(here)).find(settles).map(|s| (here, s));
        let count = self.state.jobs.len();
        own.or_else(|| {
            let others = (here + 1..count).chain(0..here);
            let mut all = others.flat_map(|job| steps(job).iter().map(move |step| (job, step)));
            all.find(|(_, step)| settles(step))
        })
    }

    /// Calls in every job what can be done now, as when something is done in yet another one.
    pub(crate) fn call_again(&mut self) {
        self.call_next(self.state.job);
        super::apply::call_others(self);
    }
}
