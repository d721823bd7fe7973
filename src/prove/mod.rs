//! The proof that nobody who follows the calls does a dangerous thing in the wrong state of the work.
//!
//! The search runs the very [`decide`](crate::run::decide) and `apply` of the run over every order in
//! which the steps of one or several procedures, open together, can be done: with skips, going back,
//! taking back, moves between jobs and the ends of waits at any time. A crash between two commands needs
//! no act of its own: the run is the fold of its events, so it comes back as it was.
//!
//! # One misheard word
//! Beside what the program believes of each condition, the search keeps what is actually so. Once,
//! anywhere, the claim of a step is taken though nobody made it: belief changes, the work does not. From
//! there on the person does as called. A step that is then called while the actual state forbids it is a
//! danger, and the step whose claim was misheard must be guarded by a hold. Other commands change only
//! what is called, so hearing one that nobody gave leads to a state that could have been reached by
//! giving it; a skip takes two commands, a reading must be confirmed, and the answer of a hold (or to
//! the question which of two things is so) is not an ordinary command. A reading taken wrong within its
//! range counts like a claim nobody made: it completes the step without establishing what it sets.
//!
//! # What is not told apart, and why nothing is lost
//! - *The parts of a step.* Bolts, passes, readings and a wait that nothing else can go on beside are one
//!   claim: conditions change only when a step is left, so what lies between two parts is no state that
//!   another step can notice. A step with a hold is its hold: a part misheard before it changes nothing,
//!   because its answer tells what is so.
//! - *Done and skipped*, once the conditions say what is uncertain.
//! - *Resources that are given back within the step*: only a step whose wait others work beside holds one
//!   from one state to another. Going back always gives back what a begun step holds.
//! - *Idle steps*: those that touch no condition, no resource and no wait that others await. They can
//!   always be done or undone, and change nothing; what comes after them comes after what they come
//!   after. Left out only where the procedures are too large to keep them.
//! - *Jobs that share nothing* with each other, no condition and no resource, where all together are too
//!   large: what is done in one changes nothing that the rules look at in the other, but that its jobs are
//!   called anew at what can be done (`Elsewhere`, an act of every search that leaves something out).
//! - *Other conditions*, where even that is too large: dangers are then looked for one condition at a
//!   time. Leaving a condition out only takes refusals away, so every real history is among those that
//!   are searched, but for one: a step that is called, though it cannot be done, because nothing else can
//!   either, and is skipped then. A danger that is found so is repeated in the whole; where the whole refuses it, the
//!   condition that refused is added and the search done again.
//! - *Where somebody stands in the middle of the jobs*, in the search for dead ends of such work: everybody
//!   can go back to the beginning, so only beginnings must lead to the end. [`home`] has the argument.
//! - *The order of jobs*, in the search along the way forward (for what is left set at the end): a step
//!   that no other job can notice is done before anything else is tried, since it commutes with all of that.
//!
//! A history that was found without some steps is told in the whole procedures: these steps are done where they
//! are called, their readings with figures that the sums allow, and where a sum wants hours to have passed, they
//! pass ([`TIME_PASSES`]).
//!
//! The shortest way is the shortest where every step is told apart ([`Reach::Every`] of small work); with
//! idle steps left out it is the one with the fewest deeds that matter.
//!
//! No resource is needed twice at once: the run refuses a step whose resource another one has, one that is
//! begun or whose wait runs, and more time for a wait that is over where its resource is in use since
//! (tests/run_invariants.rs holds that over random commands). What can come of that is that nobody gets on, and
//! dead ends are looked for. People are needed for the called step alone, and that is one.
//!
//! Stopping a wait ("cancel countdown") is searched, but where that makes too many states: then it is left out
//! and the [`Proof`] says so. What was done beside the wait stays done then, so that the steps can be left in far
//! more orders. Who goes back after it to before the wait comes to a state that is reached by going back alone,
//! but for what is called; that the claim of the step that was stopped, misheard after it, does no harm is not
//! shown then.
//!
//! More time for a wait is not searched. It makes the end later, and ends come at any time. A wait that was over
//! goes on again only while nothing that comes after it has begun: it refuses some things until it ends, as it
//! may at once, and then all is as before (tests/proof.rs holds that). Refusals only take histories away, so
//! there is no danger in it, and no dead end that is not one without it.
//!
//! Neither is opening one more procedure in the middle: the procedures are then looked at together, and a job
//! that nobody has begun stands in nobody's way (`src/run/shelf.rs`).
//!
//! Neither is the growing old of readings, which calls a step again when its time has passed. Such a step has
//! nothing but its readings and a hold at most (`Step::only_reads`: no condition, no resource, no wait), so
//! opening it makes no condition other than it was (tests/readings_age.rs holds that). What relies on it is refused
//! until it is done again, and refusals only take histories away: any other step that is called meanwhile
//! could have been called by "different work". It can always be done again, where the readings allow it, and
//! leads back to the state before.
//!
//! Tests hold what is found apart against the whole and against SPIN, on the same small work.
//!
//! Where a bound was reached the [`Proof`] says so and claims nothing beyond it.

mod act;
mod apart;
mod explore;
mod facts;
mod figures;
mod follow;
mod found;
mod home;
mod judge;
mod packed;
pub mod promela;
mod reduce;
pub mod replay;
pub mod report;
mod tell;
mod teller;

use std::collections::BTreeSet;

use crate::procedure::{Procedure, Text};
use crate::run::{Event, Run};
use explore::{Graph, Search};
use found::Found;
pub use judge::{findings, judge};
use reduce::{Reduced, held, one_part_each, without_idle};
pub use tell::{Happening, TIME_PASSES, WAIT_ENDS};

/// How a history begins that could not be told in the whole procedures: where no figures were found that a sum
/// allows, or where the whole may go another way, so that the danger may be none. It cannot be replayed. Of the
/// shipped procedures none such is known; of generated ones, where steps are skipped because nothing at all can
/// begin.
pub const LEFT_OUT: &str = "told without the steps that touch nothing";

/// How much is searched at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bound {
    /// The most states of one search.
    pub states: usize,
    /// Everything is looked at apart, even where the whole is small enough.
    pub apart: bool,
}

impl Default for Bound {
    fn default() -> Bound {
        Bound {
            states: 60_000,
            apart: false,
        }
    }
}

/// What a search has shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Proof {
    /// How many states were told apart, over all searches.
    pub states: usize,
    pub reach: Reach,
    /// What is wrong, the gravest kind first; empty where the procedures are safe to run together.
    pub flaws: Vec<Flaw>,
    /// Whether what comes of stopping a wait was searched too, wherever one can be stopped.
    pub stops: bool,
    /// How many pairs of steps, both misheard, lead to a danger that neither does alone; none where that
    /// was too much to search.
    pub pairs: Option<usize>,
}

/// How far the search reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// Every state.
    Every,
    /// Every state, looked at apart: jobs that share nothing each by itself, dangers one condition or a few
    /// at a time, dead ends by way of the beginning.
    Apart,
    /// Dangers in every state, one condition or a few at a time. Dead ends along the way forward alone:
    /// not after going back or skipping.
    Forward,
    /// The bound was reached: what was not found may still be there.
    Bounded,
}

/// Something wrong, with the shortest way into it.
#[derive(Debug, Clone, PartialEq)]
pub enum Flaw {
    /// Who follows the calls is called to a step that the work forbids.
    Called {
        job: usize,
        step: usize,
        condition: Text,
        /// Whether the step needs the condition; otherwise it is forbidden while it is set.
        needed: bool,
        history: Vec<Happening>,
    },
    /// One claim that nobody made, and a forbidden step begins.
    Misheard {
        /// The step whose claim must be guarded by a hold.
        guard: (usize, usize),
        /// The step that begins.
        job: usize,
        step: usize,
        condition: Text,
        history: Vec<Happening>,
    },
    /// From here no way leads to the end of the work.
    DeadEnd {
        job: usize,
        step: usize,
        history: Vec<Happening>,
    },
    /// The work is finished and this is still set.
    LeftSet {
        condition: Text,
        history: Vec<Happening>,
    },
    /// A step that can never begin.
    NeverRuns { job: usize, step: usize },
}

impl Flaw {
    /// Returns the shortest way into it; empty where the flaw is that there is no way.
    pub fn history(&self) -> &[Happening] {
        match self {
            Flaw::Called { history, .. }
            | Flaw::Misheard { history, .. }
            | Flaw::DeadEnd { history, .. }
            | Flaw::LeftSet { history, .. } => history,
            Flaw::NeverRuns { .. } => &[],
        }
    }
}

/// Proves `procedures`, open together on one piece of work, or finds what is wrong. None of them is no
/// work, and nothing is wrong with it.
pub fn prove(procedures: &[Procedure], bound: &Bound) -> Proof {
    let numbered = || procedures.iter().enumerate();
    let each: Vec<Reduced> = numbered().map(|(job, p)| one_part_each(job, p)).collect();
    let whole: Vec<Reduced> = numbered().map(|(job, p)| Reduced::whole(job, p)).collect();
    let (flaws, begun) = follow::follow(&whole, &each);
    let mut proof = Proof {
        states: 0,
        reach: Reach::Every,
        flaws,
        stops: true,
        pairs: None,
    };
    let work = Work {
        procedures,
        whole,
        each,
        begun,
        states: bound.states,
    };
    let all: Vec<usize> = (0..procedures.len()).collect();
    let whole = (!bound.apart).then(|| work.search_whole(&all, &mut proof));
    if let Some(pairs) = whole.flatten() {
        proof.pairs = pairs;
        return proof;
    }
    let groups = apart::groups(procedures);
    let mut pairs = Some(0);
    for group in &groups {
        let smaller = !bound.apart && groups.len() > 1;
        let searched = smaller.then(|| work.search_whole(group, &mut proof));
        let of_group = match searched.flatten() {
            Some(pairs) => {
                work.worst(&mut proof, Reach::Apart);
                pairs
            }
            None => {
                work.search_apart(group, &mut proof);
                None
            }
        };
        pairs = pairs.zip(of_group).map(|(all, one)| all + one);
    }
    proof.pairs = pairs;
    proof
}

/// What is to be proved.
struct Work<'a> {
    procedures: &'a [Procedure],
    whole: Vec<Reduced>,
    /// With one part in each step.
    each: Vec<Reduced>,
    /// The steps that were begun where somebody followed the calls.
    begun: BTreeSet<(usize, usize)>,
    /// The most states of one search.
    states: usize,
}

impl Work<'_> {
    /// How some of the jobs are searched where they are not all told apart.
    fn search(&self) -> Search {
        Search {
            states: self.states,
            misheard: 1,
            exact: false,
            elsewhere: true,
            stops: true,
            forward: false,
        }
    }

    /// Searches with waits that are stopped; where these are too many orders, without.
    fn explore(&self, reduced: &[Reduced], search: Search, proof: &mut Proof) -> Option<Graph> {
        let waits = |job: &Reduced| job.procedure.steps.iter().any(|step| step.wait.is_some());
        if !reduced.iter().any(waits) {
            let graph = Graph::explore(start(reduced)?, search);
            proof.states += graph.states();
            return Some(graph);
        }
        let with = Search {
            states: search.states / 3,
            ..search
        };
        let graph = Graph::explore(start(reduced)?, with);
        proof.states += graph.states();
        if graph.whole {
            return Some(graph);
        }
        let without = Search {
            stops: false,
            ..search
        };
        let graph = Graph::explore(start(reduced)?, without);
        proof.states += graph.states();
        proof.stops = false;
        Some(graph)
    }

    /// Returns the procedures of some jobs without their idle steps, and without all conditions but those
    /// that are `kept`; none of which nothing is left.
    fn without_idle(&self, jobs: &[usize], kept: Option<&BTreeSet<&str>>) -> Vec<Reduced> {
        let held = held(self.procedures);
        let reduced = jobs.iter().map(|&job| {
            let procedure = &self.procedures[job];
            without_idle(job, procedure, &held, kept)
        });
        reduced
            .filter(|job| !job.procedure.steps.is_empty())
            .collect()
    }

    /// Searches some jobs whole, where they are not too large: returns the pairs of misheard claims that
    /// lead to a danger.
    fn search_whole(&self, jobs: &[usize], proof: &mut Proof) -> Option<Option<usize>> {
        let each: Vec<Reduced> = jobs.iter().map(|&job| self.each[job].clone()).collect();
        let few = self.without_idle(jobs, None);
        let left_out = |reduced: &[Reduced]| {
            let steps = |jobs: &[Reduced]| jobs.iter().map(|j| j.whole.len()).sum::<usize>();
            steps(reduced) < steps(&self.whole)
        };
        let ample = Search {
            elsewhere: left_out(&few),
            ..self.search()
        };
        let exact = Search {
            states: self.states / 3,
            exact: true,
            elsewhere: left_out(&each),
            ..ample
        };
        if few.is_empty() {
            return Some(Some(0));
        }
        if !is_too_large(&each, exact.states) {
            let graph = Graph::explore(start(&each)?, exact);
            proof.states += graph.states();
            if graph.whole {
                return Some(self.note_all(&each, &few, &graph, exact, proof));
            }
        }
        if is_too_large(&few, ample.states) {
            return None;
        }
        let stops = proof.stops;
        let graph = self.explore(&few, ample, proof)?;
        if !graph.whole {
            proof.stops = stops;
            return None;
        }
        let searched = Search {
            stops: proof.stops,
            ..ample
        };
        Some(self.note_all(&few, &few, &graph, searched, proof))
    }

    /// Notes everything that a graph of all conditions shows; returns the pairs of misheard claims that lead to a
    /// danger.
    fn note_all(
        &self,
        reduced: &[Reduced],
        few: &[Reduced],
        graph: &Graph,
        search: Search,
        proof: &mut Proof,
    ) -> Option<usize> {
        let found = Found {
            whole: &self.whole,
            reduced,
            graph,
        };
        self.look_ahead(few, proof);
        found.note_dangers(proof);
        found.note_dead_end(proof);
        let jobs = reduced.iter();
        let steps = jobs.flat_map(|job| job.whole.iter().map(|&step| (job.job, step)));
        found.note_never(proof, &steps.collect());
        pairs(&mut proof.states, reduced, search)
    }

    /// Looks along the way forward for what is left set at its end. Returns whether every order was seen,
    /// with what was.
    fn look_ahead(&self, few: &[Reduced], proof: &mut Proof) -> Option<Graph> {
        let forward = Search {
            misheard: 0,
            forward: true,
            elsewhere: false,
            ..self.search()
        };
        let graph = Graph::explore(start(few)?, forward);
        proof.states += graph.states();
        let ahead = Found {
            whole: &self.whole,
            reduced: few,
            graph: &graph,
        };
        ahead.note_left_set(proof);
        Some(graph)
    }

    /// Notes that no more than `reach` can be said.
    fn worst(&self, proof: &mut Proof, reach: Reach) {
        proof.reach = proof.reach.max(reach);
    }
}

/// Tells whether jobs have far more states than a search may have, where one can be anywhere while another
/// is: it would be begun in vain.
fn is_too_large(reduced: &[Reduced], states: usize) -> bool {
    let places = reduced.iter().map(|job| job.whole.len() + 1);
    let all = places.fold(1usize, |all, places| all.saturating_mul(places));
    all > states.saturating_mul(4)
}

/// Returns the run of the procedures, begun; none where there are none.
fn start(reduced: &[Reduced]) -> Option<Run> {
    let mut procedures = reduced.iter().map(|one| one.procedure.clone());
    let mut run = Run::of(procedures.next()?, procedures);
    run.apply(&Event::Began);
    Some(run)
}

/// Counts the pairs of misheard claims that lead to a danger that neither does alone.
fn pairs(states: &mut usize, reduced: &[Reduced], search: Search) -> Option<usize> {
    let twice = Search {
        misheard: 2,
        exact: false,
        states: search.states,
        ..search
    };
    let graph = Graph::explore(start(reduced)?, twice);
    *states += graph.states();
    let once: BTreeSet<(usize, usize)> = graph
        .dangers
        .iter()
        .filter(|danger| danger.misheard.len() == 1)
        .map(|danger| danger.misheard[0])
        .collect();
    let both: BTreeSet<&[(usize, usize)]> = graph
        .dangers
        .iter()
        .filter(|danger| danger.misheard.len() == 2)
        .filter(|danger| !danger.misheard.iter().any(|one| once.contains(one)))
        .map(|danger| danger.misheard.as_slice())
        .collect();
    graph.whole.then_some(both.len())
}
