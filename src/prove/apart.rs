//! Work that is too large to be searched whole, looked at apart: jobs that share nothing, conditions that do
//! not hang together. Why nothing is lost is argued in [`super`].

use std::collections::BTreeSet;

use super::found::{Found, note};
use super::home::Looked;
use super::reduce::touched;
use super::tell::{self, Ends, Untold};
use super::{Flaw, Proof, Reach, Work, home, start};
use crate::procedure::{Procedure, Text};

/// Returns the jobs in groups that share no condition and no resource.
pub(super) fn groups(procedures: &[Procedure]) -> Vec<Vec<usize>> {
    let mut groups: Vec<(Vec<usize>, BTreeSet<&Text>)> = Vec::new();
    for (job, procedure) in procedures.iter().enumerate() {
        let things = procedure.steps.iter().flat_map(touched).collect();
        let mut own = (vec![job], things);
        let (sharing, apart): (Vec<_>, Vec<_>) = groups
            .into_iter()
            .partition(|(_, things)| !things.is_disjoint(&own.1));
        for (jobs, things) in sharing {
            own.0.extend(jobs);
            own.1.extend(things);
        }
        own.0.sort_unstable();
        groups = apart;
        groups.push(own);
    }
    groups.into_iter().map(|(jobs, _)| jobs).collect()
}

impl Work<'_> {
    /// Looks for dangers one condition or a few at a time, and for dead ends by way of the beginning.
    pub(super) fn search_apart(&self, jobs: &[usize], proof: &mut Proof) {
        let few = self.without_idle(jobs, None);
        let ahead = self.look_ahead(&few, proof);
        let whole = ahead.filter(|graph| graph.whole);
        let led = home::all_lead_to_the_end(&few, &mut proof.states) == Some(true);
        // Idle steps can always begin.
        let steps = few
            .iter()
            .flat_map(|job| job.whole.iter().map(|&step| (job.job, step)));
        let mut never: BTreeSet<(usize, usize)> = steps.collect();
        never.retain(|step| !self.begun.contains(step));
        if let Some(graph) = &whole {
            let found = Found {
                whole: &self.whole,
                reduced: &few,
                graph,
            };
            let seen = led || self.note_no_way_on(&found, proof);
            if !seen {
                self.worst(proof, Reach::Bounded);
            }
            let ready = found.ready();
            never.retain(|step| !ready.contains(step));
        }
        self.worst(
            proof,
            match (led, whole.is_some()) {
                (true, _) => Reach::Apart,
                (false, true) => Reach::Forward,
                (false, false) => Reach::Bounded,
            },
        );
        let mut names: BTreeSet<&str> = BTreeSet::new();
        for &job in jobs {
            names.extend(
                self.procedures[job]
                    .conditions
                    .iter()
                    .map(|c| c.name.as_str()),
            );
        }
        for name in &names {
            let looked = By {
                work: self,
                jobs,
                names: &names,
                stuck: !led,
                left: whole.is_none(),
                never: &never,
            };
            looked.condition(name, proof);
        }
        // Neither begun nor shown never to begin.
        let flaws = &proof.flaws;
        let known = |&(job, step): &(usize, usize)| flaws.contains(&Flaw::NeverRuns { job, step });
        if !never.iter().all(known) {
            self.worst(proof, Reach::Forward);
        }
    }

    /// Notes a state on the way forward from which nothing leads on, unless going back or a skip does.
    /// Returns whether that was seen of all that were looked at.
    fn note_no_way_on(&self, found: &Found, proof: &mut Proof) -> bool {
        /// How many of them are asked for another way, and how far each is followed.
        const ASKED: usize = 20;
        const FOLLOWED: usize = 3_000;
        let most = FOLLOWED.min(self.states);
        let mut seen = true;
        for state in found.graph.dead_ends().into_iter().take(ASKED) {
            let deeds = found.graph.history(state);
            let looked = start(found.reduced).and_then(|run| home::end_after(run, &deeds, most));
            match looked {
                Some(Looked::Nowhere) => {
                    let history = found.history(state, Ends::Called);
                    proof.flaws.push(found.dead_end(state, history));
                    return true;
                }
                Some(Looked::TooFar) => seen = false,
                Some(Looked::End(_)) | None => {}
            }
        }
        seen
    }
}

/// How some jobs are looked at one condition at a time.
struct By<'a> {
    work: &'a Work<'a>,
    jobs: &'a [usize],
    names: &'a BTreeSet<&'a str>,
    /// Dead ends are looked for: what ends where fewer conditions refuse ends in the whole.
    stuck: bool,
    /// What is left set at the end is looked for.
    left: bool,
    /// Steps that did not begin on the way forward: what cannot begin where fewer conditions refuse never
    /// does.
    never: &'a BTreeSet<(usize, usize)>,
}

impl By<'_> {
    /// Looks at one condition, and at those that refuse in the whole what was found without them.
    fn condition(&self, name: &str, proof: &mut Proof) {
        let mut kept = BTreeSet::from([name]);
        loop {
            let refused = self.conditions(&kept, proof);
            let more = refused.and_then(|by| self.names.get(by.as_str()).copied());
            match more {
                None => return,
                Some(more) if kept.contains(more) => {
                    self.work.worst(proof, Reach::Bounded);
                    return;
                }
                Some(more) => kept.insert(more),
            };
        }
    }

    /// Looks at some conditions alone; returns another that refuses what was found, if one does.
    fn conditions(&self, kept: &BTreeSet<&str>, proof: &mut Proof) -> Option<Text> {
        let reduced = self.work.without_idle(self.jobs, Some(kept));
        if reduced.is_empty() {
            return None;
        }
        if self.left {
            let graph = self.work.look_ahead(&reduced, proof);
            if !graph.is_some_and(|graph| graph.whole) {
                self.work.worst(proof, Reach::Bounded);
            }
        }
        let graph = self.work.explore(&reduced, self.work.search(), proof)?;
        if !graph.whole {
            self.work.worst(proof, Reach::Bounded);
        }
        let found = Found {
            whole: &self.work.whole,
            reduced: &reduced,
            graph: &graph,
        };
        let mut refused = None;
        for danger in &graph.dangers {
            let deeds = graph.history(danger.state);
            match tell::tell(found.whole, &reduced, &deeds, Ends::Begins) {
                Ok(history) => note(proof, found.flaw(danger, history)),
                Err(Untold::Refused(by)) => refused = refused.or(Some(by)),
                // A danger that cannot be told in the whole is told as it was found.
                Err(Untold::Otherwise) => {
                    let history = found.history(danger.state, Ends::Begins);
                    note(proof, found.flaw(danger, history));
                }
            }
        }
        if graph.whole {
            found.note_never(proof, self.never);
        }
        let known = proof
            .flaws
            .iter()
            .any(|flaw| matches!(flaw, Flaw::DeadEnd { .. }));
        if self.stuck
            && graph.whole
            && !known
            && let Some(state) = graph.dead_end()
            && let Ok(history) =
                tell::tell(found.whole, &reduced, &graph.history(state), Ends::Called)
        {
            proof.flaws.push(found.dead_end(state, history));
        }
        refused
    }
}
