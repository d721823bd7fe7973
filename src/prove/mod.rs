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
//! - *Other conditions*, where even that is too large: dangers are then looked for one condition at a
//!   time. Leaving a condition out only takes refusals away, so every real history is among those that
//!   are searched. A danger that is found so is repeated in the whole; where the whole refuses it, the
//!   condition that refused is added and the search done again.
//! - *The order of jobs*, in the search for dead ends along the way forward: a step that no other job can
//!   notice is done before anything else is tried, since it commutes with all of that.
//!
//! The shortest way is the shortest where every step is told apart ([`Reach::Every`] of small work); with
//! idle steps left out it is the one with the fewest deeds that matter.
//!
//! Two commands are not searched: "cancel countdown" opens a step again and makes uncertain what it had set,
//! like going back; more time for a wait makes its end later, and ends come at any time.
//!
//! Neither is the growing old of readings, which calls a step again when its time has passed. Such a step has
//! nothing but its readings (`Step::only_reads`: no condition, no resource, no wait, no hold), so opening it
//! makes no condition other than it was (tests/readings_age.rs holds that). What relies on it is refused
//! until it is done again, and refusals only take histories away: any other step that is called meanwhile
//! could have been called by "other work". It can always be done again, where the readings allow it, and
//! leads back to the state before.
//!
//! Where a bound was reached the [`Proof`] says so and claims nothing beyond it.

mod explore;
mod follow;
mod judge;
pub mod promela;
mod reduce;
pub mod replay;
pub mod report;
mod tell;

use std::collections::BTreeSet;

use crate::procedure::{Procedure, Text};
use crate::run::{Event, Run};
use explore::{Danger, Graph, Search};
pub use judge::judge;
use reduce::{Reduced, held, one_part_each, without_idle};
use tell::Untold;
pub use tell::{Happening, WAIT_ENDS};

/// How a history begins that goes another way in the whole procedures, because the run moves on from a job
/// only when its idle steps are done too. It cannot be replayed.
pub const LEFT_OUT: &str = "told without the steps that touch nothing";

/// How much is searched at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bound {
    /// The most states of one search.
    pub states: usize,
}

impl Default for Bound {
    fn default() -> Bound {
        Bound { states: 60_000 }
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
    /// How many pairs of steps, both misheard, lead to a danger that neither does alone; none where that
    /// was too much to search.
    pub pairs: Option<usize>,
}

/// How far the search reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// Every state.
    Every,
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
    let mut proof = Proof {
        states: 0,
        reach: Reach::Every,
        flaws: Vec::new(),
        pairs: None,
    };
    let exact = Search {
        states: bound.states / 3,
        misheard: 1,
        exact: true,
        forward: false,
    };
    let ample = Search {
        states: bound.states,
        exact: false,
        ..exact
    };
    let whole: Vec<Reduced> = procedures.iter().map(Reduced::whole).collect();
    let each: Vec<Reduced> = procedures.iter().map(one_part_each).collect();
    let held = held(procedures);
    let few: Vec<Reduced> = procedures
        .iter()
        .map(|p| without_idle(p, &held, None))
        .collect();
    proof.flaws = follow::follow(&each);
    let forward = Search {
        misheard: 0,
        forward: true,
        ..ample
    };
    let Some(ahead) = start(&few).map(|start| Graph::explore(start, forward)) else {
        return proof;
    };
    proof.states += ahead.states();
    let ahead = Found {
        whole: &whole,
        reduced: &few,
        graph: &ahead,
    };
    ahead.note_left_set(&mut proof);
    for (reduced, search) in [(&each, exact), (&few, ample)] {
        let Some(start) = start(reduced) else {
            return proof;
        };
        let graph = Graph::explore(start, search);
        proof.states += graph.states();
        if graph.whole {
            let found = Found {
                whole: &whole,
                reduced,
                graph: &graph,
            };
            found.note_dangers(&mut proof);
            found.note_stuck(&mut proof);
            proof.pairs = pairs(&mut proof.states, reduced, search);
            return proof;
        }
    }
    proof.reach = if ahead.graph.whole {
        Reach::Forward
    } else {
        Reach::Bounded
    };
    ahead.note_stuck(&mut proof);
    by_condition(&mut proof, procedures, &whole, ample);
    proof
}

/// Returns the run of the procedures, begun; none where there are none.
fn start(reduced: &[Reduced]) -> Option<Run> {
    let mut procedures = reduced.iter().map(|one| one.procedure.clone());
    let mut run = Run::of(procedures.next()?, procedures);
    run.apply(&Event::Began);
    Some(run)
}

/// A graph with the procedures that it was found on.
struct Found<'a> {
    whole: &'a [Reduced],
    reduced: &'a [Reduced],
    graph: &'a Graph,
}

impl Found<'_> {
    /// Notes every danger that a graph of all conditions shows.
    fn note_dangers(&self, proof: &mut Proof) {
        for danger in &self.graph.dangers {
            let history = self.history(danger.state);
            note(proof, self.flaw(danger, history));
        }
    }

    /// Returns what leads to a state, told in the whole procedures; where these go another way, as it
    /// was found.
    fn history(&self, state: usize) -> Vec<Happening> {
        let deeds = self.graph.history(state);
        if let Ok(told) = tell::tell(self.whole, self.reduced, &deeds, false) {
            return told;
        }
        let left_out = Happening {
            say: String::new(),
            called: LEFT_OUT.into(),
            misheard: false,
        };
        let told = tell::tell(self.reduced, &self.itself(), &deeds, false).unwrap_or_default();
        std::iter::once(left_out).chain(told).collect()
    }

    /// The reduced procedures as reduced from themselves.
    fn itself(&self) -> Vec<Reduced> {
        let procedures = self.reduced.iter().map(|one| &one.procedure);
        procedures.map(Reduced::whole).collect()
    }

    fn flaw(&self, danger: &Danger, history: Vec<Happening>) -> Flaw {
        let step = self.reduced[danger.job].whole[danger.step];
        let condition = danger.condition.clone();
        match danger.misheard.first() {
            Some(&(job, guard)) => Flaw::Misheard {
                guard: (job, self.reduced[job].whole[guard]),
                job: danger.job,
                step,
                condition,
                history,
            },
            None => Flaw::Called {
                job: danger.job,
                step,
                needed: danger.needed,
                condition,
                history,
            },
        }
    }

    /// Notes what is still set where the work was finished by going forward alone.
    fn note_left_set(&self, proof: &mut Proof) {
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
                        history: self.history(*state),
                    });
                }
            }
        }
    }

    /// Notes dead ends and steps that can never begin.
    fn note_stuck(&self, proof: &mut Proof) {
        if !self.graph.whole {
            return;
        }
        if let Some(state) = self.graph.dead_end() {
            let (job, step) = self.graph.called(state);
            proof.flaws.push(Flaw::DeadEnd {
                job,
                step: self.reduced[job].whole.get(step).copied().unwrap_or(step),
                history: self.history(state),
            });
        }
        for (job, ready) in self.graph.ready.iter().enumerate() {
            let never = ready.iter().enumerate().filter(|(_, ready)| !**ready);
            for step in never.filter_map(|(step, _)| self.reduced[job].whole.get(step)) {
                proof.flaws.push(Flaw::NeverRuns { job, step: *step });
            }
        }
    }
}

/// Adds a danger unless one with the same cause is known.
fn note(proof: &mut Proof, flaw: Flaw) {
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

/// Looks for dangers one condition at a time.
fn by_condition(proof: &mut Proof, procedures: &[Procedure], whole: &[Reduced], search: Search) {
    let held = held(procedures);
    let mut names: BTreeSet<&str> = BTreeSet::new();
    for procedure in procedures {
        names.extend(procedure.conditions.iter().map(|c| c.name.as_str()));
    }
    for name in &names {
        let mut kept = BTreeSet::from([*name]);
        loop {
            let reduced = procedures
                .iter()
                .map(|p| without_idle(p, &held, Some(&kept)));
            let reduced: Vec<Reduced> = reduced.collect();
            let Some(start) = start(&reduced) else { return };
            let graph = Graph::explore(start, search);
            proof.states += graph.states();
            if !graph.whole {
                proof.reach = Reach::Bounded;
            }
            let found = Found {
                whole,
                reduced: &reduced,
                graph: &graph,
            };
            let mut refused = None;
            for danger in &graph.dangers {
                match tell::tell(whole, &reduced, &graph.history(danger.state), true) {
                    Ok(history) => note(proof, found.flaw(danger, history)),
                    Err(Untold::Refused(by)) => refused = refused.or(Some(by)),
                    // A danger that cannot be told in the whole is told as it was found.
                    Err(Untold::Otherwise) => {
                        note(proof, found.flaw(danger, found.history(danger.state)));
                    }
                }
            }
            let more = refused.and_then(|by| names.get(by.as_str()).copied());
            if !more.is_some_and(|more| kept.insert(more)) {
                if more.is_some() {
                    proof.reach = Reach::Bounded;
                }
                break;
            }
        }
    }
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
