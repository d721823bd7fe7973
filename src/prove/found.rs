//! Flaws from what a search has found.

use std::collections::BTreeSet;

use super::explore::{Danger, Graph};
use super::reduce::Reduced;
use super::tell::{self, Ends};
use super::{Flaw, Happening, LEFT_OUT, Proof};
use crate::procedure::Text;

/// A graph with the procedures that it was found on.
pub(super) struct Found<'a> {
    pub whole: &'a [Reduced],
    pub reduced: &'a [Reduced],
    pub graph: &'a Graph,
}

impl Found<'_> {
    /// Notes every danger that a graph of all conditions shows.
    pub(super) fn note_dangers(&self, proof: &mut Proof) {
        for danger in &self.graph.dangers {
            let history = self.history(danger.state, Ends::Begins);
            note(proof, self.flaw(danger, history));
        }
    }

    /// Returns what leads to a state, told in the whole procedures; where these go another way, as it
    /// was found.
    pub(super) fn history(&self, state: usize, ends: Ends) -> Vec<Happening> {
        let deeds = self.graph.history(state);
        if let Ok(told) = tell::tell(self.whole, self.reduced, &deeds, ends) {
            return told;
        }
        let left_out = Happening {
            say: String::new(),
            called: LEFT_OUT.into(),
            misheard: false,
        };
        let told = tell::tell(self.reduced, &self.itself(), &deeds, ends).unwrap_or_default();
        std::iter::once(left_out).chain(told).collect()
    }

    /// The reduced procedures as reduced from themselves.
    fn itself(&self) -> Vec<Reduced> {
        let procedures = self.reduced.iter().map(|one| &one.procedure);
        let numbered = procedures.enumerate();
        numbered
            .map(|(job, one)| Reduced::whole(job, one))
            .collect()
    }

    pub(super) fn flaw(&self, danger: &Danger, history: Vec<Happening>) -> Flaw {
        let (job, step) = self.of_whole(danger.job, danger.step);
        let condition = danger.condition.clone();
        match danger.misheard.first() {
            Some(&(of, guard)) => Flaw::Misheard {
                guard: self.of_whole(of, guard),
                job,
                step,
                condition,
                history,
            },
            None => Flaw::Called {
                job,
                step,
                needed: danger.needed,
                condition,
                history,
            },
        }
    }

    /// Notes what is still set where the work was finished by going forward alone.
    pub(super) fn note_left_set(&self, proof: &mut Proof) {
        let known = proof.flaws.iter().filter_map(|flaw| match flaw {
            Flaw::LeftSet { condition, .. } => Some(condition.clone()),
            _ => None,
        });
        let mut left: BTreeSet<Text> = known.collect();
        for (state, set) in &self.graph.finished {
            for condition in set {
                if left.insert(condition.clone()) {
                    proof.flaws.push(Flaw::LeftSet {
                        condition: condition.clone(),
                        history: self.history(*state, Ends::Finished),
                    });
                }
            }
        }
    }

    /// Notes the first dead end of a graph that is whole.
    pub(super) fn note_dead_end(&self, proof: &mut Proof) {
        if let Some(state) = self.graph.dead_end() {
            let history = self.history(state, Ends::Called);
            proof.flaws.push(self.dead_end(state, history));
        }
    }

    pub(super) fn dead_end(&self, state: usize, history: Vec<Happening>) -> Flaw {
        let (job, step) = self.graph.called(state);
        let (job, step) = self.of_whole(job, step);
        Flaw::DeadEnd { job, step, history }
    }

    /// Returns the steps that can begin somewhere in the graph.
    pub(super) fn ready(&self) -> BTreeSet<(usize, usize)> {
        let jobs = self.graph.ready.iter().enumerate();
        let steps = jobs.flat_map(|(job, steps)| {
            let ready = steps.iter().enumerate().filter(|(_, ready)| **ready);
            ready.map(move |(step, _)| (job, step))
        });
        steps.map(|(job, step)| self.of_whole(job, step)).collect()
    }

    /// Notes those of some steps that never begin in a graph that is whole.
    pub(super) fn note_never(&self, proof: &mut Proof, steps: &BTreeSet<(usize, usize)>) {
        let ready = self.ready();
        for job in self.reduced {
            let looked_at = job.whole.iter().map(|&step| (job.job, step));
            for (job, step) in looked_at.filter(|step| steps.contains(step)) {
                let flaw = Flaw::NeverRuns { job, step };
                if !ready.contains(&(job, step)) && !proof.flaws.contains(&flaw) {
                    proof.flaws.push(flaw);
                }
            }
        }
    }

    /// A step of the reduced jobs as it is numbered in the whole; the end of a job stays its end.
    fn of_whole(&self, job: usize, step: usize) -> (usize, usize) {
        let reduced = &self.reduced[job];
        let at = reduced.whole.get(step).copied();
        (
            reduced.job,
            at.unwrap_or(self.whole[reduced.job].whole.len()),
        )
    }
}

/// Adds a danger unless one with the same cause is known.
pub(super) fn note(proof: &mut Proof, flaw: Flaw) {
    let Flaw::Misheard {
        guard, condition, ..
    } = &flaw
    else {
        proof.flaws.push(flaw);
        return;
    };
    let same = |other: &Flaw| matches!(other, Flaw::Misheard { guard: g, condition: c, .. } if g == guard && c == condition);
    match proof.flaws.iter_mut().find(|other| same(other)) {
        Some(known) if known.history().len() <= flaw.history().len() => {}
        Some(known) => *known = flaw,
        None => proof.flaws.push(flaw),
    }
}
