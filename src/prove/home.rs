//! Dead ends in work that is too large to be searched whole: by way of the beginning.
//!
//! # Why nothing is lost
//! *Home.* From any state the person can go back to the beginning of every job: a reason that is asked for
//! is given, each job is called by its name (one that is done as well), and "previous instruction" is never
//! refused while something was left. Then nothing is left, no wait runs and no resource is held: what is
//! still told apart is what the program believes of each condition, what is actually so, and what is called.
//! So the work can be finished from every state if it can be from every home that can be reached.
//!
//! *Which homes.* What is actually so changes only where a step is done, which its own conditions must
//! allow, or skipped, after which either may be so; going back and taking back leave it as it is. So all
//! that can actually be so is among what comes about where the steps are done in any order and any number of
//! times ([`Facts`]): that is a few bits, and the steps that share no condition are looked at apart. Of each
//! condition the program may be certain or not; both are tried, for all of them. Where either is so, the
//! person may answer what would have been answered were it the one or the other: nothing more can go wrong.
//! What is called matters only where nothing can be done: then each step that can have been left first is
//! tried: one that comes after nothing, or after waits alone, whose steps are open again where they were
//! stopped.
//!
//! *From each home* the jobs are done one after the other, each from its beginning to its end on the run's
//! own rules while the others stand at their beginning or end, where they hold no resource: such a history
//! is one of the whole. A job sees only the conditions that its steps need or are forbidden by, so it is
//! followed once for each of their values. What it leaves behind is again among the [`Facts`]. An order of
//! the jobs must be found for every home, whatever each of them leaves behind.
//!
//! Where no order is found, nothing is shown: the home may be one that no order of the steps leads to, or
//! the jobs may have to be done in turns.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use super::act::{Act, Deed, Node, acts, after, waits_that_run};
use super::facts::{Bits, Effect, Facts, steps, values_of};
use super::packed::key;
use super::reduce::Reduced;
use super::start;
use crate::run::{Asking, Blocked, Event, Progress, Run, Truth};

/// The most states that are told apart of one job where it does not simply go on.
const MOST_STATES: usize = 4_000;
/// The most conditions that one job looks at, and that all have together.
const MOST_LOOKED_AT: usize = 10;
const MOST_CONDITIONS: usize = 64;

/// Tells whether the work can be finished from every home; none where that is too much to look at. Adds
/// the states that were told apart.
pub(super) fn all_lead_to_the_end(reduced: &[Reduced], states: &mut usize) -> Option<bool> {
    let run = start(reduced)?;
    if run.conditions().len() > MOST_CONDITIONS {
        return None;
    }
    let steps = steps(&run);
    let facts = Facts::of(run.conditions().len(), steps.iter().flatten())?;
    *states += facts.states();
    let mut jobs = Vec::new();
    for (job, steps) in reduced.iter().zip(&steps) {
        jobs.push(Alone::of(&run, job, steps, &facts, states)?);
    }
    // A job that can always be done is needed only where it makes way for one that cannot.
    let bits = |job: &Alone| job.looks_at | job.touches;
    let hampered = jobs.iter().filter(|job| !job.is_free());
    let seen: Bits = hampered.map(bits).fold(0, |all, one| all | one);
    let jobs: Vec<&Alone> = jobs
        .iter()
        .filter(|job| !job.is_free() || job.touches & seen != 0)
        .collect();
    if jobs.len() > 32 {
        return None;
    }
    let seen = jobs.iter().fold(0, |all, job| all | bits(job));
    let homes = facts.seen_by(seen)?;
    *states += homes.len();
    let mut orders = Orders {
        jobs,
        known: HashMap::new(),
    };
    Some(homes.into_iter().all(|home| orders.lead_on(0, home)))
}

/// What a search for an end has come to.
pub(super) enum Looked {
    /// An end, and how everything stands there.
    End(Box<Node>),
    /// Everything was followed, and nothing ends.
    Nowhere,
    /// No end among as many states as were asked for: there may be one.
    TooFar,
}

/// Looks for an end after some deeds, in any way, among `most` states; none where a deed is refused.
pub(super) fn end_after(begun: Run, deeds: &[Deed], most: usize) -> Option<Looked> {
    let actual = begun.truths().to_vec();
    let mut node = Node::of(begun, actual);
    for deed in deeds {
        node = after(&node, *deed)?;
    }
    // What is taken back first leads on as well; later it leads to where somebody has been.
    let taken_back = after(&node, Deed::honest(Act::Disregard));
    Some(search(std::iter::once(node).chain(taken_back), most))
}

/// Looks for an end on every way from some states, on those first that have the least left to do.
fn search(from: impl IntoIterator<Item = Node>, most: usize) -> Looked {
    let mut known = HashSet::new();
    let mut open: BTreeMap<usize, Vec<Node>> = BTreeMap::new();
    let mut meet = |open: &mut BTreeMap<usize, Vec<Node>>, mut node: Node| {
        node.run.forget();
        if known.insert(key(&node, false, false)) {
            let jobs = node.run.state().jobs.iter();
            let to_do = jobs.map(|job| job.marks.len() - job.left.len()).sum();
            open.entry(to_do).or_default().push(node);
        }
        known.len()
    };
    for node in from {
        meet(&mut open, node);
    }
    while let Some(mut nearest) = open.first_entry() {
        let Some(node) = nearest.get_mut().pop() else {
            nearest.remove();
            continue;
        };
        if is_finished(&node.run) {
            return Looked::End(Box::new(node));
        }
        for act in acts(&node, false, true) {
            if let Some(next) = after(&node, Deed::honest(act))
                && meet(&mut open, next) > most
            {
                return Looked::TooFar;
            }
        }
    }
    Looked::Nowhere
}

/// What a job leaves behind: the conditions that it touched on its way, and which of them it left set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Left {
    touched: Bits,
    set: Bits,
}

/// One job done from its beginning to its end while the others stand still.
struct Alone {
    looks_at: Bits,
    touches: Bits,
    /// Of each value of what it looks at, what it may leave behind; none where it cannot be finished.
    ends: BTreeMap<Bits, Option<BTreeSet<Left>>>,
}

impl Alone {
    /// Follows a job from everything that can be so at its beginning, `run` being that of the whole work.
    fn of(
        run: &Run,
        job: &Reduced,
        steps: &[Effect],
        facts: &Facts,
        states: &mut usize,
    ) -> Option<Alone> {
        let looks_at = steps.iter().fold(0, |all, step| all | step.looks_at());
        let touches = steps.iter().fold(0, |all, step| all | step.touches());
        if looks_at.count_ones() as usize > MOST_LOOKED_AT {
            return None;
        }
        let begun = start(std::slice::from_ref(job))?;
        let number = |name| run.number_of(name).unwrap_or_default();
        let numbers = begun.conditions().iter().map(|c| number(&c.name)).collect();
        let mut follower = Follower {
            begun,
            numbers,
            touches,
            known: HashMap::new(),
        };
        let mut ends = BTreeMap::new();
        for fact in facts.seen_by(looks_at)? {
            ends.insert(fact, follower.ends(looks_at, fact));
        }
        *states += follower.known.len();
        Some(Alone {
            looks_at,
            touches,
            ends,
        })
    }

    /// Tells whether it can be finished whatever is so.
    fn is_free(&self) -> bool {
        self.ends.values().all(Option::is_some)
    }
}

/// Follows one job to its end.
struct Follower {
    begun: Run,
    /// Of each condition of the job, its number in the whole work.
    numbers: Vec<usize>,
    touches: Bits,
    /// What states lead to.
    known: HashMap<Box<[u8]>, Option<Left>>,
}

impl Follower {
    /// Returns what the job may leave behind where `fact` holds of what it looks at, whatever the program
    /// believes of it; none where it cannot be finished from one of these.
    fn ends(&mut self, looks_at: Bits, fact: Bits) -> Option<BTreeSet<Left>> {
        let mut ends = BTreeSet::new();
        for uncertain in values_of(looks_at) {
            for home in self.homes(fact, uncertain) {
                ends.insert(self.end(home)?);
            }
        }
        Some(ends)
    }

    /// The states in which nothing of the job is left and `fact` holds, of which the program is not certain
    /// where a condition is `uncertain`.
    fn homes(&self, fact: Bits, uncertain: Bits) -> Vec<Node> {
        let bit = |bits: Bits, number: &usize| bits >> number & 1 == 1;
        let actual: Vec<Truth> = self
            .numbers
            .iter()
            .map(|n| Truth::of(bit(fact, n)))
            .collect();
        let believed = self.numbers.iter().zip(&actual);
        let believed = believed.map(|(number, truth)| match bit(uncertain, number) {
            true => Truth::Uncertain,
            false => *truth,
        });
        let mut run = self.begun.clone();
        run.suppose(believed.collect());
        let steps = run.procedure().steps.len();
        let mut runs = Vec::new();
        if !(0..steps).any(|step| run.is_ready(0, step)) {
            // Nothing can be done: what is called is what was left first, and that comes after nothing.
            let earlier = run.procedure().earlier();
            let waits = |step: usize| run.procedure().steps[step].wait.is_some();
            let first = (0..steps).filter(|&s| earlier[s].iter().all(|edge| waits(edge.step)));
            runs = first
                .map(|step| {
                    let mut run = run.clone();
                    run.apply(&Event::Moved {
                        job: 0,
                        step: run.procedure().steps[step].id.clone(),
                        follows: true,
                    });
                    run
                })
                .collect();
        }
        runs.push(run);
        let home = |run| Node::of(run, actual.clone());
        runs.into_iter().map(home).collect()
    }

    /// Follows a job to its end: what is called is done where it can be. Where that does not lead on,
    /// everything is tried.
    fn end(&mut self, home: Node) -> Option<Left> {
        let mut node = home.clone();
        let mut way = Vec::new();
        let end = loop {
            let key = key(&node, false, false);
            if let Some(known) = self.known.get(&key) {
                break *known;
            }
            way.push(key);
            if is_finished(&node.run) {
                break Some(self.left(&node));
            }
            match step_on(&node).and_then(|act| after(&node, Deed::honest(act))) {
                Some(next) => node = next,
                None if self.never_passes(&node) => break None,
                None => {
                    // What leads on from here need not lead on from a later state.
                    way.truncate(1);
                    break match search([home], MOST_STATES) {
                        Looked::End(end) => Some(self.left(&end)),
                        Looked::Nowhere | Looked::TooFar => None,
                    };
                }
            }
        };
        for key in way {
            self.known.insert(key, end);
        }
        end
    }

    /// Tells whether the called step has a hold and is forbidden by what the job cannot change.
    fn never_passes(&self, node: &Node) -> bool {
        let run = &node.run;
        let held = run.step().is_some_and(|step| step.is_held());
        let condition = match run.blocked() {
            Some(Blocked::Forbidden {
                condition,
                certain: true,
            }) => condition,
            Some(Blocked::Lacking {
                condition,
                certain: true,
            }) => condition,
            _ => return false,
        };
        let number = run.number_of(&condition).map(|own| self.numbers[own]);
        held && number.is_some_and(|number| self.touches >> number & 1 == 0)
    }

    /// What is so of the conditions that the job touches. Where either may be so the person has the choice:
    /// what is not set is taken.
    fn left(&self, node: &Node) -> Left {
        let actual = self.numbers.iter().zip(&node.actual);
        let set = actual.filter(|(_, truth)| **truth == Truth::Set);
        let set = set.fold(0, |all, (number, _)| all | 1 << number);
        Left {
            touched: self.touches,
            set: set & self.touches,
        }
    }
}

fn is_finished(run: &Run) -> bool {
    run.state().jobs.iter().all(Progress::is_finished)
}

/// Returns what leads straight on; none where nothing does.
fn step_on(node: &Node) -> Option<Act> {
    let run = &node.run;
    if run.state().asking == Some(Asking::Reason) {
        return Some(Act::Because);
    }
    let waits = || waits_that_run(run).into_iter().next();
    let Some(step) = run.step() else {
        return waits();
    };
    let Some(blocked) = run.blocked() else {
        return Some(Act::Claim);
    };
    if let Some(condition) = run.uncertain() {
        let wanted = matches!(blocked, Blocked::Lacking { .. });
        let number = run.number_of(&condition.name)?;
        return Some(Act::Settle(match node.actual[number] {
            Truth::Set => true,
            Truth::Clear => false,
            Truth::Uncertain => wanted,
        }));
    }
    let other = || (!run.other_work().is_empty()).then_some(Act::OtherWork);
    let skip = || (!step.is_held()).then_some(Act::Skip);
    other().or_else(waits).or_else(skip)
}

/// Looks for orders of the jobs.
struct Orders<'a> {
    jobs: Vec<&'a Alone>,
    /// Whether the rest can be finished, by the jobs that are and by what is so.
    known: HashMap<(u32, Bits), bool>,
}

impl Orders<'_> {
    /// Tells whether the jobs that are not yet `done` can be done one after the other where `fact` holds.
    fn lead_on(&mut self, done: u32, fact: Bits) -> bool {
        if done.count_ones() as usize == self.jobs.len() {
            return true;
        }
        if let Some(known) = self.known.get(&(done, fact)) {
            return *known;
        }
        let open: Vec<usize> = (0..self.jobs.len())
            .filter(|job| done >> job & 1 == 0)
            .collect();
        let leads = open.into_iter().any(|number| {
            let job = self.jobs[number];
            let ends = job.ends.get(&(fact & job.looks_at));
            let Some(Some(ends)) = ends else {
                return false;
            };
            let mut next = ends.iter().map(|end| fact & !end.touched | end.set);
            next.all(|next| self.lead_on(done | 1 << number, next))
        });
        self.known.insert((done, fact), leads);
        leads
    }
}
