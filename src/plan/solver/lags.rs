//! What the lags alone say, whoever waits for whom.

use std::collections::VecDeque;

use super::Problem;

/// Returns a time by which everything can be finished, if it can at all: no more time passes idle than
/// the longest lag after each activity.
pub(super) fn horizon(problem: &Problem) -> i64 {
    let mut each = problem.lasts.clone();
    for &(from, _, lag) in problem.lags.iter().chain(problem.choices.iter().flatten()) {
        each[from] = each[from].max(lag);
    }
    let given = problem.given.iter().zip(&each);
    let ends = given.filter_map(|(given, each)| given.map(|start| start + each));
    ends.fold(problem.now, i64::max) + each.iter().sum::<i64>()
}

/// The furthest lag between any two activities that the ties alone ask for.
pub(super) struct Furthest {
    from: Vec<Vec<Option<i64>>>,
}

impl Furthest {
    /// Takes that the lags can all be kept.
    pub fn of(problem: &Problem) -> Furthest {
        let count = problem.lasts.len();
        let mut out: Vec<Vec<(usize, i64)>> = vec![Vec::new(); count];
        for &(from, to, lag) in &problem.lags {
            if problem.given[from].is_none() || problem.given[to].is_none() {
                out[from].push((to, lag));
            }
        }
        let from = (0..count)
            .map(|source| {
                let mut furthest = vec![None; count];
                furthest[source] = Some(0);
                let mut open = VecDeque::from([source]);
                let mut waiting = vec![false; count];
                while let Some(at) = open.pop_front() {
                    waiting[at] = false;
                    let here = furthest[at].unwrap_or(0);
                    for &(to, lag) in &out[at] {
                        if furthest[to].is_none_or(|known| known < here + lag) {
                            furthest[to] = Some(here + lag);
                            if !waiting[to] {
                                waiting[to] = true;
                                open.push_back(to);
                            }
                        }
                    }
                }
                furthest
            })
            .collect();
        Furthest { from }
    }

    pub fn at_least(&self, i: usize, j: usize, lag: i64) -> bool {
        self.from[i][j].is_some_and(|furthest| furthest >= lag)
    }
}
