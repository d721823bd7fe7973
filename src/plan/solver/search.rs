//! The search itself: bounds, decisions, conflicts, and beginning anew.

use std::collections::BTreeMap;

use super::Problem;
use super::lags::{Furthest, horizon};
use super::learn::lesson;
use super::share::{self, Share, Task};
use super::trail::{Atom, Conflict, Trail, Var};

/// What one round of the search came to.
pub(super) enum Round {
    Plan(Vec<i64>),
    Refuted,
    Spent,
}

/// What is followed first where an order is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lead {
    /// What was met in conflicts.
    Weights,
    /// The best plan yet.
    Model,
}

impl Lead {
    pub fn other(self) -> Lead {
        match self {
            Lead::Weights => Lead::Model,
            Lead::Model => Lead::Weights,
        }
    }
}

/// After so many conflicts the search begins anew with what it has learned, times Luby's sequence.
const RESTART: u64 = 50;
/// From so many learned clauses on the widest are dropped.
const MANY_LEARNED: usize = 3_000;
/// Clauses over at most so many levels are kept.
const NARROW: usize = 6;
/// By what the weight of a conflict grows from one to the next.
const GROWTH: f64 = 1.05;

pub(super) struct Search<'a> {
    problem: &'a Problem,
    trail: Trail,
    starts: Vec<Var>,
    end: Var,
    shares: Vec<Share>,
    /// For (i, j): i ends before j starts.
    before: BTreeMap<(usize, usize), Atom>,
    /// For each choice what says that its first lag is kept.
    choices: Vec<Option<Atom>>,
    /// How often a variable was met in conflicts, the recent ones counting more.
    weights: Vec<f64>,
    step: f64,
    learned: usize,
    /// The starts of the best plan yet: its order is tried first.
    pub model: Option<Vec<i64>>,
    pub lead: Lead,
    /// Whether nothing can be found any more.
    pub dead: bool,
}

impl<'a> Search<'a> {
    pub fn new(problem: &'a Problem) -> Result<Search<'a>, Conflict> {
        let mut trail = Trail::default();
        let horizon = horizon(problem);
        let given = problem.given.iter();
        let starts: Vec<Var> = given
            .map(|given| match given {
                Some(start) => trail.variable(*start, *start),
                None => trail.variable(problem.now, horizon),
            })
            .collect();
        let end = trail.variable(problem.now, horizon);
        let shares = problem
            .shares
            .iter()
            .map(|(capacity, uses)| share(problem, &starts, *capacity, uses));
        let mut search = Search {
            shares: shares.collect(),
            problem,
            trail,
            starts,
            end,
            before: BTreeMap::new(),
            choices: Vec::new(),
            weights: Vec::new(),
            step: 1.0,
            learned: 0,
            model: None,
            lead: Lead::Weights,
            dead: false,
        };
        for &(from, to, lag) in &problem.lags {
            let both = problem.given[from].is_some() && problem.given[to].is_some();
            if !both {
                let (from, to) = (search.starts[from], search.starts[to]);
                search.trail.arc(from, to, lag, None)?;
            }
        }
        for (&start, &lasts) in search.starts.iter().zip(&problem.lasts) {
            search.trail.arc(start, search.end, lasts, None)?;
        }
        search.trail.propagate()?;
        search.order_pairs()?;
        search.offer_choices()?;
        Ok(search)
    }

    fn offer_choices(&mut self) -> Result<(), Conflict> {
        for either in &self.problem.choices {
            let mut ends = either.iter().flat_map(|&(from, to, _)| [from, to]);
            let happened = ends.all(|end| self.problem.given[end].is_some());
            let choice = (!happened).then(|| self.flag().at_least(1));
            self.choices.push(choice);
            let whens = choice.map(|first| [first, first.negated()]);
            for (&(from, to, lag), when) in either.iter().zip(whens.into_iter().flatten()) {
                let (from, to) = (self.starts[from], self.starts[to]);
                self.trail.arc(from, to, lag, Some(when))?;
            }
        }
        Ok(())
    }

    /// Returns the first choice that the earliest starts do not keep, with what is better kept of it.
    fn open_choice(&self) -> Option<Atom> {
        let missing = |&(from, to, lag): &(usize, usize, i64)| {
            self.trail.low(self.starts[from]) + lag - self.trail.low(self.starts[to])
        };
        let choices = self.choices.iter().zip(&self.problem.choices);
        choices
            .filter_map(|(choice, either)| choice.map(|first| (first, either)))
            .filter(|(_, either)| either.iter().all(|lag| missing(lag) > 0))
            .map(|(first, [one, other])| {
                let better = missing(one) <= missing(other);
                if better { first } else { first.negated() }
            })
            .next()
    }

    /// Makes the order of every two activities that can never overlap something to be decided.
    fn order_pairs(&mut self) -> Result<(), Conflict> {
        let furthest = Furthest::of(self.problem);
        for at in 0..self.shares.len() {
            let share = self.shares[at].clone();
            for (place, one) in share.tasks.iter().enumerate() {
                for other in &share.tasks[..place] {
                    let (i, j) = (other.activity, one.activity);
                    let full = one.units + other.units > share.capacity;
                    if !full || self.before.contains_key(&(i, j)) || one.given && other.given {
                        continue;
                    }
                    let apart =
                        furthest.at_least(i, j, other.lasts) || furthest.at_least(j, i, one.lasts);
                    if apart {
                        continue;
                    }
                    let var = self.flag();
                    let (i_first, j_first) = (var.at_least(1), var.at_most(0));
                    self.before.insert((i, j), i_first);
                    self.before.insert((j, i), j_first);
                    let (start_i, start_j) = (self.starts[i], self.starts[j]);
                    self.trail
                        .arc(start_i, start_j, other.lasts, Some(i_first))?;
                    self.trail.arc(start_j, start_i, one.lasts, Some(j_first))?;
                }
            }
        }
        Ok(())
    }

    fn flag(&mut self) -> Var {
        self.trail.variable(0, 1)
    }

    /// Returns what says that i ends before j starts.
    fn before(&mut self, i: usize, j: usize) -> Result<Atom, Conflict> {
        if let Some(&atom) = self.before.get(&(i, j)) {
            return Ok(atom);
        }
        let atom = self.flag().at_least(1);
        self.before.insert((i, j), atom);
        let lasts = self.problem.lasts[i];
        let (start_i, start_j) = (self.starts[i], self.starts[j]);
        self.trail.arc(start_i, start_j, lasts, Some(atom))?;
        self.trail
            .arc(start_j, start_i, 1 - lasts, Some(atom.negated()))?;
        Ok(atom)
    }

    /// Returns the least finish that is proved.
    pub fn bound(&mut self) -> i64 {
        self.trail.back_to(0);
        self.trail.low(self.end)
    }

    pub fn finish(&self, starts: &[i64]) -> i64 {
        let ends = starts.iter().zip(&self.problem.lasts);
        ends.map(|(start, lasts)| start + lasts)
            .fold(self.problem.now, i64::max)
    }

    /// From now on only plans that finish by then are looked for.
    pub fn hold_finish(&mut self, by: i64) -> Result<(), Conflict> {
        self.trail.back_to(0);
        self.trail.raise_for(self.end.at_most(by), &[])?;
        self.propagate()
    }

    fn propagate(&mut self) -> Result<(), Conflict> {
        self.trail.propagate()?;
        for share in &self.shares {
            share::propagate(&mut self.trail, share)?;
        }
        self.trail.propagate()
    }

    pub fn round(&mut self, target: Option<i64>, most: u64, effort: &mut u64) -> Round {
        let mut left = most;
        let mut restarts = 1;
        let mut until_restart = RESTART;
        self.trail.back_to(0);
        loop {
            let drawn = self.propagate();
            let drawn = drawn.and_then(|()| {
                if self.trail.level() == 0
                    && let Some(target) = target
                {
                    let aim = self.end.at_most(target);
                    if self.trail.fails(aim) {
                        return Ok(Some(Round::Refuted));
                    }
                    if !self.trail.holds(aim) {
                        return self.trail.decide(aim).map(|()| None);
                    }
                }
                match (self.overload(), self.open_choice()) {
                    (Some(rivals), _) => self.order(&rivals).map(|()| None),
                    (None, Some(atom)) => self.trail.decide(atom).map(|()| None),
                    (None, None) => Ok(Some(Round::Plan(self.earliest()))),
                }
            });
            match drawn {
                Ok(Some(round)) => return round,
                Ok(None) => {}
                Err(conflict) => {
                    if self.learn(&conflict).is_none() {
                        self.dead = true;
                        return Round::Refuted;
                    }
                    until_restart -= 1;
                    if until_restart == 0 {
                        restarts += 1;
                        until_restart = RESTART * luby(restarts);
                        self.begin_anew();
                    }
                }
            }
            if left == 0 || *effort == 0 {
                return Round::Spent;
            }
            left -= 1;
            *effort -= 1;
        }
    }

    fn begin_anew(&mut self) {
        self.trail.back_to(0);
        if self.learned > MANY_LEARNED && self.propagate().is_ok() {
            self.trail.forget(NARROW);
            self.learned = 0;
        }
    }

    /// Learns from a conflict; none where there is nothing left to try.
    fn learn(&mut self, conflict: &Conflict) -> Option<()> {
        let (weights, step) = (&mut self.weights, self.step);
        weights.resize(self.trail.bound.len() / 2, 0.0);
        let mut conflict = conflict.clone();
        loop {
            let lesson = lesson(&mut self.trail, &conflict, |half| weights[half / 2] += step)?;
            self.step *= GROWTH;
            if self.step > 1e100 {
                weights.iter_mut().for_each(|weight| *weight *= 1e-100);
                self.step *= 1e-100;
            }
            let spread = self.trail.level() - lesson.level + lesson.atoms.len();
            self.trail.back_to(lesson.level);
            self.learned += 1;
            match self.trail.clause(lesson.atoms, Some(spread)) {
                Ok(()) => return Some(()),
                Err(next) => conflict = next,
            }
        }
    }

    fn earliest(&self) -> Vec<i64> {
        let starts = self.starts.iter();
        starts.map(|&start| self.trail.low(start)).collect()
    }

    /// Returns the first activities that together overload a resource, as few as do.
    fn overload(&self) -> Option<Vec<usize>> {
        let mut first: Option<(i64, Vec<usize>)> = None;
        for share in &self.shares {
            let mut tasks: Vec<(i64, &Task)> = share
                .tasks
                .iter()
                .map(|task| (self.trail.low(task.start), task))
                .collect();
            tasks.sort_by_key(|&(start, task)| (start, task.activity));
            let mut running: Vec<(i64, &Task)> = Vec::new();
            for (start, task) in tasks {
                if first.as_ref().is_some_and(|&(earlier, _)| earlier <= start) {
                    break;
                }
                running.retain(|&(end, _)| end > start);
                running.push((start + task.lasts, task));
                let units: i64 = running.iter().map(|(_, task)| task.units).sum();
                let free = running.iter().any(|(_, task)| !task.given);
                if units > share.capacity && free {
                    let running = running.iter().map(|&(_, task)| *task).collect();
                    first = Some((start, self.fewest(share.capacity, running)));
                    break;
                }
            }
        }
        first.map(|(_, rivals)| rivals)
    }

    /// Leaves out of an overload what it does not need; those with the least time to wait stay.
    fn fewest(&self, capacity: i64, mut running: Vec<Task>) -> Vec<usize> {
        running.sort_by_key(|task| (task.given, self.trail.high(task.start), task.activity));
        let mut at = running.len();
        while at > 1 {
            at -= 1;
            let rest: i64 = running.iter().map(|task| task.units).sum::<i64>() - running[at].units;
            if rest > capacity {
                running.remove(at);
            }
        }
        running.iter().map(|task| task.activity).collect()
    }

    /// Decides that one of the rivals waits for another.
    fn order(&mut self, rivals: &[usize]) -> Result<(), Conflict> {
        let mut choices: Vec<(usize, usize, Atom)> = Vec::new();
        for &i in rivals {
            for &j in rivals {
                let given = self.problem.given[i].is_some() && self.problem.given[j].is_some();
                if i != j && !given {
                    choices.push((i, j, self.before(i, j)?));
                }
            }
        }
        let paired =
            rivals.len() == 2 && choices.len() == 2 && choices[0].2.negated() == choices[1].2;
        if !paired {
            let clause = choices.iter().map(|&(_, _, atom)| atom).collect();
            self.trail.clause(clause, None)?;
            if self.trail.next_is_due() {
                return Ok(());
            }
        }
        self.weights.resize(self.trail.bound.len() / 2, 0.0);
        let as_before = |&(i, j, _): &(usize, usize, Atom)| {
            let model = self.model.as_ref();
            model.is_some_and(|starts| starts[i] + self.problem.lasts[i] <= starts[j])
        };
        let ease = |&(i, j, _): &(usize, usize, Atom)| {
            let ready = self.trail.low(self.starts[i]) + self.problem.lasts[i];
            self.trail.high(self.starts[j]) - ready
        };
        let open = choices
            .iter()
            .filter(|(_, _, atom)| !self.trail.fails(*atom));
        let chosen = open.max_by(|one, other| {
            let weight = |choice: &(usize, usize, Atom)| self.weights[choice.2.half / 2];
            let by_model = as_before(one).cmp(&as_before(other));
            let by_weight = weight(one).total_cmp(&weight(other));
            let led = match self.lead {
                Lead::Model => by_model.then(by_weight),
                Lead::Weights => by_weight.then(by_model),
            };
            led.then(ease(one).cmp(&ease(other)))
                .then((other.0, other.1).cmp(&(one.0, one.1)))
        });
        match chosen {
            Some(&(_, _, atom)) => self.trail.decide(atom),
            // Only for what was given: it cannot be argued with, and is no conflict of the plan's own.
            None => Err(choices.iter().map(|(_, _, atom)| atom.negated()).collect()),
        }
    }
}

fn share(problem: &Problem, starts: &[Var], capacity: i64, uses: &[(usize, i64)]) -> Share {
    let tasks: Vec<Task> = uses
        .iter()
        .filter(|&&(activity, units)| units > 0 && problem.lasts[activity] > 0)
        .map(|&(activity, units)| Task {
            activity,
            start: starts[activity],
            lasts: problem.lasts[activity],
            units,
            given: problem.given[activity].is_some(),
        })
        .collect();
    let given = || tasks.iter().filter(|task| task.given);
    let at_once = |now: i64| -> i64 {
        let running = given().filter(|task| {
            let start = problem.given[task.activity].unwrap_or(now);
            start <= now && now < start + task.lasts
        });
        running.map(|task| task.units).sum()
    };
    let crowded = given().any(|task| at_once(problem.given[task.activity].unwrap_or(0)) > capacity);
    Share {
        capacity,
        tasks,
        crowded,
    }
}

/// The sequence of Luby, Sinclair and Zuckerman (1993), from 1: 1 1 2 1 1 2 4 …
fn luby(at: u64) -> u64 {
    let mut at = at;
    loop {
        let bits = u64::BITS - at.leading_zeros();
        if at == (1 << bits) - 1 {
            return 1 << (bits - 1);
        }
        at -= (1 << (bits - 1)) - 1;
    }
}
