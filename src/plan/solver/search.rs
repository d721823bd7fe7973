//! The search itself: bounds, decisions, conflicts, and beginning anew.

use std::collections::BTreeMap;

use super::Problem;
use super::lags::{Furthest, horizon};
use super::learn::lesson;
use super::rivals::Lead;
use super::share::{self, Share, Task};
use super::trail::{Atom, Conflict, Trail, Var};

/// What one round of the search came to.
pub(super) enum Round {
    Plan(Vec<i64>),
    Refuted,
    Spent,
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
    pub problem: &'a Problem,
    pub trail: Trail,
    pub starts: Vec<Var>,
    end: Var,
    pub shares: Vec<Share>,
    /// For (i, j): i ends before j starts.
    before: BTreeMap<(usize, usize), Atom>,
    /// For each choice what says that its first lag is kept.
    choices: Vec<Option<Atom>>,
    /// How often a variable was met in conflicts, the recent ones counting more.
    pub weights: Vec<f64>,
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
    pub fn before(&mut self, i: usize, j: usize) -> Result<Atom, Conflict> {
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
