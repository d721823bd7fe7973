//! The search: every state that the run can reach, breadth first, on the run's own rules.
//!
//! Beside what the program believes of each condition stands what is actually so, where that is known.
//! Without a claim that nobody made, all that the program is certain of is so.

use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};

use super::act::{
    Act, Deed, Node, acts, after, asks_hold, commands, is_as_believed, waits_that_run,
};
use super::packed::key;
use super::reduce::touched;
use crate::procedure::{Step, Text};
use crate::run::{Progress, Run, Truth};

/// How far a search goes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Search {
    /// The most states.
    pub states: usize,
    /// How many claims are taken though nobody made them.
    pub misheard: u8,
    /// What "disregard" would take back is told apart at any time. Otherwise it is followed right after
    /// each act, which finds the same states up to the ends of waits in between.
    pub exact: bool,
    /// Steps or jobs were left out, in which something may be done meanwhile.
    pub elsewhere: bool,
    /// Waits are stopped as well.
    pub stops: bool,
    /// Only what leads forward, said by a person who makes no mistake; where the called step touches
    /// nothing that another job touches, nothing else need be tried first.
    pub forward: bool,
}

/// How a state is come to.
#[derive(Debug, Clone, Copy)]
struct Way {
    /// The state before.
    from: u32,
    deed: Deed,
    /// The deed was taken back at once.
    taken_back: bool,
    /// How many deeds lead here, at least.
    deeds: u32,
}

#[derive(Debug, Clone, Copy)]
struct Reached {
    way: Way,
    /// What is called.
    job: u16,
    step: u16,
}

/// A step that begins while the state of the work forbids it, though the program does not know.
#[derive(Debug, Clone)]
pub(super) struct Danger {
    pub state: usize,
    pub job: usize,
    pub step: usize,
    pub condition: Text,
    /// The step needs the condition; otherwise it is forbidden while it is set.
    pub needed: bool,
    pub misheard: Vec<(usize, usize)>,
}

/// What was found.
#[derive(Debug, Default)]
pub(super) struct Graph {
    reached: Vec<Reached>,
    /// Between states in which nothing was misheard.
    edges: Vec<(u32, u32)>,
    /// States in which everything is finished, with the conditions that are still set.
    pub finished: Vec<(usize, Vec<Text>)>,
    /// Each danger's first state, by the misheard steps, the step and the condition.
    pub dangers: Vec<Danger>,
    /// Whether each step of each job can ever be done.
    pub ready: Vec<Vec<bool>>,
    /// States in which nothing was misheard.
    pub honest: Vec<bool>,
    /// Whether every state within the rules was reached.
    pub whole: bool,
    /// Which steps touch nothing that another job touches.
    quiet: Vec<Vec<bool>>,
}

impl Graph {
    /// Searches from `start`.
    pub(super) fn explore(start: Run, search: Search) -> Graph {
        let actual = start.truths().to_vec();
        let ready = start.procedures().map(|p| vec![false; p.steps.len()]);
        let mut graph = Graph {
            ready: ready.collect(),
            whole: true,
            quiet: quiet_steps(&start),
            ..Graph::default()
        };
        let mut layers = Layers::default();
        let root = Node::of(start, actual);
        let nowhere = Way {
            from: u32::MAX,
            deed: Deed::honest(Act::Claim),
            taken_back: false,
            deeds: 0,
        };
        graph.meet(&mut layers, root, nowhere, search);
        while let Some((number, node)) = layers.next() {
            if graph.reached[number as usize].way.deeds as usize != layers.depth {
                continue;
            }
            graph.go_on(&mut layers, number, &node, search);
            if graph.reached.len() > search.states {
                graph.whole = false;
                break;
            }
        }
        graph
    }

    /// Returns how many states were reached.
    pub(super) fn states(&self) -> usize {
        self.reached.len()
    }

    /// Returns what leads to a state, from the start.
    pub(super) fn history(&self, state: usize) -> Vec<Deed> {
        let mut deeds = Vec::new();
        let mut at = state;
        while let Some(reached) = self.reached.get(at)
            && reached.way.from != u32::MAX
        {
            let taken_back = reached.way.taken_back;
            deeds.extend(taken_back.then_some(Deed::honest(Act::Disregard)));
            deeds.push(reached.way.deed);
            at = reached.way.from as usize;
        }
        deeds.reverse();
        deeds
    }

    /// Returns the job and the step that are called in a state.
    pub(super) fn called(&self, state: usize) -> (usize, usize) {
        let reached = &self.reached[state];
        (usize::from(reached.job), usize::from(reached.step))
    }

    /// Returns the first honest state from which nothing leads to the end; none where each does.
    pub(super) fn dead_end(&self) -> Option<usize> {
        self.dead_ends().first().copied()
    }

    /// Returns all of them, the nearest first.
    pub(super) fn dead_ends(&self) -> Vec<usize> {
        let mut into: Vec<Vec<u32>> = vec![Vec::new(); self.states()];
        for &(from, to) in &self.edges {
            into[to as usize].push(from);
        }
        let mut ends = vec![false; self.states()];
        let mut open: Vec<usize> = self.finished.iter().map(|(state, _)| *state).collect();
        for &state in &open {
            ends[state] = true;
        }
        while let Some(state) = open.pop() {
            for &from in &into[state] {
                if !std::mem::replace(&mut ends[from as usize], true) {
                    open.push(from as usize);
                }
            }
        }
        let stuck = (0..self.states()).filter(|&state| self.honest[state] && !ends[state]);
        let mut stuck: Vec<usize> = stuck.collect();
        stuck.sort_by_key(|&state| self.reached[state].way.deeds);
        stuck
    }

    /// Follows everything that may happen in a state.
    fn go_on(&mut self, layers: &mut Layers, number: u32, node: &Node, search: Search) {
        let mut acts = if search.forward {
            self.forward_acts(node)
        } else {
            acts(node, search.exact, search.stops)
        };
        if search.elsewhere && node.run.state().asking.is_none() {
            acts.push(Act::Elsewhere);
        }
        for act in acts {
            let claims = act == Act::Claim && !asks_hold(&node.run);
            for misheard in [false, true] {
                let may = claims && node.misheard.len() < usize::from(search.misheard);
                if misheard && !may {
                    continue;
                }
                let deed = Deed { act, misheard };
                let Some(mut next) = after(node, deed) else {
                    continue;
                };
                let taken_back = (!search.exact && !search.forward)
                    .then(|| after(&next, Deed::honest(Act::Disregard)))
                    .flatten();
                if !search.exact {
                    next.run.forget();
                }
                let way = Way {
                    from: number,
                    deed,
                    taken_back: false,
                    deeds: self.reached[number as usize].way.deeds + commands(&node.run, act),
                };
                let Some(met) = self.meet(layers, next, way, search) else {
                    continue;
                };
                if let Some(taken_back) = taken_back {
                    // What is taken back is this deed, whichever leads to the state between in the fewest.
                    let way = Way {
                        taken_back: true,
                        deeds: way.deeds + 1,
                        ..way
                    };
                    let back = self.meet(layers, taken_back, way, search);
                    let honest = |state: &u32| self.honest[*state as usize];
                    if let Some(back) = back.filter(honest).filter(|_| honest(&met)) {
                        self.edges.push((met, back));
                    }
                }
            }
        }
    }

    /// Returns what leads forward. The claim of a step that no other job can notice commutes with all
    /// that the others do: it is followed alone.
    fn forward_acts(&self, node: &Node) -> Vec<Act> {
        let run = &node.run;
        let state = run.state();
        let (job, step) = (state.job, run.progress().step);
        let other = run.other_work();
        let alone = other.iter().all(|(of, _)| *of != job);
        let quiet = self.quiet[job].get(step) == Some(&true);
        if alone && quiet && run.is_ready(job, step) {
            return vec![Act::Claim];
        }
        let mut acts = vec![Act::Claim, Act::OtherWork];
        let open = |job: &usize| state.jobs[*job].step < state.jobs[*job].marks.len();
        acts.extend((0..state.jobs.len()).filter(open).map(Act::MoveTo));
        acts.extend(waits_that_run(run));
        acts
    }

    /// Takes a state in: returns its number, or none where it need not be followed.
    fn meet(
        &mut self,
        layers: &mut Layers,
        mut node: Node,
        way: Way,
        search: Search,
    ) -> Option<u32> {
        if !node.misheard.is_empty() && is_as_believed(&node) {
            // The mishearing did no harm: the same state is reached without it.
            if search.misheard == 1 {
                return None;
            }
            node.misheard.clear();
        }
        let honest = node.misheard.is_empty();
        let state = node.run.state();
        let by = Reached {
            way,
            job: state.job as u16,
            step: node.run.progress().step as u16,
        };
        let key = key(&node, search.exact, search.misheard > 1);
        let number = match layers.known.entry(key) {
            Entry::Occupied(known) => {
                let number = *known.get();
                let reached = &mut self.reached[number as usize];
                if way.deeds < reached.way.deeds {
                    *reached = by;
                    layers.put(way.deeds as usize, number, node);
                }
                number
            }
            Entry::Vacant(place) => {
                let number = self.reached.len() as u32;
                place.insert(number);
                self.reached.push(by);
                self.honest.push(honest);
                self.look(number as usize, &node);
                layers.put(way.deeds as usize, number, node);
                number
            }
        };
        if honest && way.from != u32::MAX && self.honest[way.from as usize] {
            self.edges.push((way.from, number));
        }
        Some(number)
    }

    /// Notes what a state shows.
    fn look(&mut self, number: usize, node: &Node) {
        let run = &node.run;
        let state = run.state();
        if state.finished || state.jobs.iter().all(Progress::is_finished) {
            let set = run.truths().iter().zip(run.conditions());
            let set = set.filter(|(truth, _)| **truth == Truth::Set);
            if node.misheard.is_empty() {
                let names = set.map(|(_, condition)| condition.name.clone());
                self.finished.push((number, names.collect()));
            }
            return;
        }
        let (job, step) = (state.job, run.progress().step);
        if state.asking.is_some() || run.step().is_none() || run.is_blocked() {
            return;
        }
        self.ready[job][step] = true;
        let (forbidden, needed) = run.guarded_by(job, step);
        let against = |wanted: Truth| move |&&c: &&usize| node.actual[c] != wanted;
        let forbids = forbidden.iter().find(against(Truth::Clear));
        let lacks = needed.iter().find(against(Truth::Set));
        if let Some(&condition) = forbids.or(lacks) {
            let known = self.dangers.iter().any(|danger| {
                danger.misheard == node.misheard && (danger.job, danger.step) == (job, step)
            });
            if !known {
                self.dangers.push(Danger {
                    state: number,
                    job,
                    step,
                    condition: run.conditions()[condition].name.clone(),
                    needed: forbids.is_none(),
                    misheard: node.misheard.clone(),
                });
            }
        }
    }
}

/// What is still to be followed, by the number of deeds that lead there.
#[derive(Default)]
struct Layers {
    known: HashMap<Box<[u8]>, u32>,
    depth: usize,
    layers: Vec<Vec<(u32, Node)>>,
}

impl Layers {
    fn put(&mut self, depth: usize, number: u32, node: Node) {
        if self.layers.len() <= depth {
            self.layers.resize_with(depth + 1, Vec::new);
        }
        self.layers[depth].push((number, node));
    }

    fn next(&mut self) -> Option<(u32, Node)> {
        while let Some(layer) = self.layers.get_mut(self.depth) {
            if let Some(next) = layer.pop() {
                return Some(next);
            }
            self.depth += 1;
        }
        None
    }
}

/// Tells of each step whether everything that it touches is touched by its own job alone.
fn quiet_steps(run: &Run) -> Vec<Vec<bool>> {
    let by_job: Vec<HashSet<&Text>> = run
        .procedures()
        .map(|procedure| procedure.steps.iter().flat_map(touched).collect())
        .collect();
    let quiet = |job: usize, step: &Step| {
        let others = by_job.iter().enumerate().filter(|(of, _)| *of != job);
        let mut things = touched(step);
        let seen = |thing: &Text| others.clone().any(|(_, things)| things.contains(thing));
        step.wait.is_none() && !things.any(seen)
    };
    let jobs = run.procedures().enumerate();
    jobs.map(|(job, procedure)| {
        procedure
            .steps
            .iter()
            .map(|step| quiet(job, step))
            .collect()
    })
    .collect()
}
