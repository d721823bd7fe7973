//! The search for the earliest finish.
//!
//! The starts are numbers between bounds. Where the earliest starts overload a resource, some of those
//! who overload it must wait for another: that is the only thing that is ever decided. When nothing is
//! overloaded, the earliest starts are a plan. Conflicts are learned from.

mod lags;
mod learn;
mod rivals;
mod search;
mod share;
mod trail;

use rivals::Lead;
use search::{Round, Search};

/// What is searched, in whole numbers.
#[derive(Debug, Clone, Default)]
pub(super) struct Problem {
    pub now: i64,
    pub lasts: Vec<i64>,
    /// Given starts.
    pub given: Vec<Option<i64>>,
    /// (from, to, lag): `to` starts no earlier than `lag` after the start of `from`.
    pub lags: Vec<(usize, usize, i64)>,
    /// Of each two such lags one must be kept.
    pub choices: Vec<[(usize, usize, i64); 2]>,
    /// The job of each activity, by number; may be empty where they do not matter.
    pub jobs: Vec<usize>,
    /// Capacity, and who uses how many.
    pub shares: Vec<(i64, Vec<(usize, i64)>)>,
}

/// What a search found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Found {
    /// The starts, and the proved least finish.
    Plan {
        starts: Vec<i64>,
        bound: i64,
    },
    Impossible,
    /// The effort was spent before there was a plan.
    Spent {
        bound: i64,
    },
}

/// The first round for a target may have so many steps.
const FIRST_ROUND: u64 = 300;
/// So many steps are made to change less between jobs.
const STEADY_ROUND: u64 = 500;

/// Looks for any plan.
pub(super) fn any(problem: &Problem, effort: &mut u64) -> Found {
    let Ok(mut search) = Search::new(problem) else {
        return Found::Impossible;
    };
    match search.round(None, u64::MAX, effort) {
        Round::Plan(starts) => Found::Plan {
            starts,
            bound: search.bound(),
        },
        Round::Refuted => Found::Impossible,
        Round::Spent => Found::Spent {
            bound: search.bound(),
        },
    }
}

/// Looks for the plan that finishes first.
pub(super) fn best(problem: &Problem, effort: &mut u64) -> Found {
    let Ok(mut search) = Search::new(problem) else {
        return Found::Impossible;
    };
    let mut starts = match search.round(None, u64::MAX, effort) {
        Round::Plan(starts) => starts,
        Round::Refuted => return Found::Impossible,
        Round::Spent => {
            return Found::Spent {
                bound: search.bound(),
            };
        }
    };
    search.model = Some(starts.clone());
    let mut finish = search.finish(&starts);
    let mut bound = search.bound();
    // How much earlier than the best one yet the next plan is to finish.
    let mut step = finish - bound;
    let mut most = FIRST_ROUND;
    while bound < finish && *effort > 0 {
        if search.hold_finish(finish - 1).is_err() {
            bound = finish;
            break;
        }
        bound = bound.max(search.bound());
        step = step.clamp(1, finish - bound);
        let target = finish - step;
        match search.round(Some(target), most, effort) {
            Round::Plan(better) => {
                search.model = Some(better.clone());
                starts = better;
                finish = search.finish(&starts);
            }
            Round::Refuted if search.dead => bound = finish,
            Round::Refuted => {
                bound = bound.max(target + 1);
                step = (finish - bound) / 2;
            }
            Round::Spent => {
                search.lead = search.lead.other();
                // An easier target; after the easiest, all of them again with more patience.
                if step == 1 {
                    most = most.saturating_mul(2);
                    step = finish - bound;
                } else {
                    step /= 2;
                }
            }
        }
    }
    Found::Plan {
        starts: steadier(problem, starts, finish),
        bound,
    }
}

/// Looks for a plan that finishes as early and changes less between jobs.
fn steadier(problem: &Problem, starts: Vec<i64>, finish: i64) -> Vec<i64> {
    let before = changes(problem, &starts);
    if before == 0 {
        return starts;
    }
    let Ok(mut search) = Search::new(problem) else {
        return starts;
    };
    search.lead = Lead::Jobs;
    if search.hold_finish(finish).is_err() {
        return starts;
    }
    let mut effort = STEADY_ROUND;
    match search.round(None, STEADY_ROUND, &mut effort) {
        Round::Plan(steady) if changes(problem, &steady) < before => steady,
        _ => starts,
    }
}

/// Counts how often a resource goes from one job to another.
fn changes(problem: &Problem, starts: &[i64]) -> usize {
    let of = |activity: usize| problem.jobs.get(activity);
    let shares = problem.shares.iter().map(|(_, uses)| {
        let mut users: Vec<usize> = uses.iter().map(|&(activity, _)| activity).collect();
        users.sort_by_key(|&activity| (starts[activity], activity));
        let pairs = users.windows(2);
        pairs.filter(|pair| of(pair[0]) != of(pair[1])).count()
    });
    shares.sum()
}
