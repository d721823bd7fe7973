//! From a work to whole numbers as small as they can be, and back.

use super::solver::Problem;
use super::span::{Moment, Span};
use super::work::{ResourceId, Tie, Work};

/// The longest span of which every span and moment of a work is a multiple.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    /// In seconds; at least 1.
    unit: i64,
}

impl Scale {
    pub fn of(work: &Work) -> Scale {
        let lasts = work.activities.iter().map(|each| each.lasts.whole());
        let started = work.activities.iter().filter_map(|each| each.started);
        let choices = work.choices.iter().flat_map(|choice| &choice.either);
        let lags = work.ties.iter().chain(choices).map(|tie| work.arc(tie).2);
        let all = lasts
            .chain(started.map(Moment::whole))
            .chain(lags)
            .chain([work.now.whole()]);
        Scale {
            unit: all.fold(0, common_measure).max(1),
        }
    }

    pub fn moment(self, units: i64) -> Moment {
        Moment::held(units.saturating_mul(self.unit))
    }

    pub fn span(self, units: i64) -> Span {
        Span::held(units.saturating_mul(self.unit))
    }

    /// Returns the whole problem; lag for lag in the order of the ties.
    pub fn problem(self, work: &Work) -> Problem {
        let activities = &work.activities;
        let started = activities.iter().map(|each| each.started);
        let uses = |resource| {
            let units = activities
                .iter()
                .map(|each| i64::from(each.units_of(resource)));
            units.enumerate().filter(|(_, units)| *units > 0).collect()
        };
        let shares = work.resources.iter().enumerate();
        let shares = shares.map(|(at, each)| (i64::from(each.capacity), uses(ResourceId(at))));
        let lag = |tie: &Tie| {
            let (from, to, lag) = work.arc(tie);
            (from, to, lag / self.unit)
        };
        Problem {
            now: work.now.whole() / self.unit,
            lasts: activities
                .iter()
                .map(|each| each.lasts.whole() / self.unit)
                .collect(),
            given: started
                .map(|start| start.map(|start| start.whole() / self.unit))
                .collect(),
            lags: work.ties.iter().map(lag).collect(),
            choices: (work.choices.iter())
                .map(|choice| choice.either.each_ref().map(lag))
                .collect(),
            jobs: jobs(work),
            shares: shares.collect(),
        }
    }
}

/// Returns for each activity which of the jobs, by their first activity, is its own.
fn jobs(work: &Work) -> Vec<usize> {
    let first = |job: &str| work.activities.iter().position(|each| each.job == job);
    let own = work.activities.iter().map(|each| first(&each.job));
    own.map(|first| first.unwrap_or(0)).collect()
}

fn common_measure(one: i64, other: i64) -> i64 {
    let (mut one, mut other) = (one.abs(), other.abs());
    while other > 0 {
        (one, other) = (other, one % other);
    }
    one
}
