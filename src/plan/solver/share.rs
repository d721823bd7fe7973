//! What a shared resource alone makes certain: too much work for a stretch of time, and who comes last.
//!
//! Overload checking and edge finding by energy (Nuijten 1994), over every stretch from one activity's
//! earliest start to another's latest end.

use std::cmp::Reverse;

use super::trail::{Atom, Conflict, Trail, Var};

/// A resource and those who use it.
#[derive(Debug, Clone)]
pub(super) struct Share {
    pub capacity: i64,
    pub tasks: Vec<Task>,
    /// Whether more was used than there is by what has happened: then it is left out of all sums.
    pub crowded: bool,
}

/// One use of a resource.
#[derive(Debug, Clone, Copy)]
pub(super) struct Task {
    pub activity: usize,
    pub start: Var,
    pub lasts: i64,
    pub units: i64,
    /// Whether its start is given: what has happened is not argued with.
    pub given: bool,
}

/// The way time is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Forward,
    /// Time runs backward: a start is the negative of an end.
    Backward,
}

impl Way {
    fn earliest(self, trail: &Trail, task: &Task) -> i64 {
        match self {
            Way::Forward => trail.low(task.start),
            Way::Backward => -trail.high(task.start) - task.lasts,
        }
    }

    fn latest_end(self, trail: &Trail, task: &Task) -> i64 {
        match self {
            Way::Forward => trail.high(task.start) + task.lasts,
            Way::Backward => -trail.low(task.start),
        }
    }

    fn starts_from(self, task: &Task, from: i64) -> Atom {
        match self {
            Way::Forward => task.start.at_least(from),
            Way::Backward => task.start.at_most(-from - task.lasts),
        }
    }

    fn ends_by(self, task: &Task, by: i64) -> Atom {
        match self {
            Way::Forward => task.start.at_most(by - task.lasts),
            Way::Backward => task.start.at_least(-by),
        }
    }
}

/// A task as it stands, in one way of looking at time.
#[derive(Debug, Clone, Copy)]
struct Seen<'a> {
    earliest: i64,
    /// The latest end.
    end: i64,
    energy: i64,
    task: &'a Task,
}

/// One stretch and the work that must lie in it.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    from: i64,
    work: i64,
    /// How many of the tasks, by earliest start from the last, may count.
    among: usize,
}

/// Draws what follows from one resource.
pub(super) fn propagate(trail: &mut Trail, share: &Share) -> Result<(), Conflict> {
    for way in [Way::Forward, Way::Backward] {
        look(trail, share, way)?;
    }
    Ok(())
}

fn look(trail: &mut Trail, share: &Share, way: Way) -> Result<(), Conflict> {
    let mut tasks: Vec<Seen> = share
        .tasks
        .iter()
        .filter(|task| !(share.crowded && task.given))
        .map(|task| Seen {
            earliest: way.earliest(trail, task),
            end: way.latest_end(trail, task),
            energy: task.lasts * task.units,
            task,
        })
        .collect();
    tasks.sort_by_key(|seen| Reverse(seen.earliest));
    let mut ends: Vec<i64> = tasks.iter().map(|seen| seen.end).collect();
    ends.sort_unstable();
    ends.dedup();
    for &by in &ends {
        let begun = tasks.partition_point(|seen| seen.earliest >= by);
        let tasks = &tasks[begun..];
        let mut work = 0;
        let mut press = i64::MIN;
        for (at, seen) in tasks.iter().enumerate() {
            if seen.end <= by {
                work += seen.energy;
                press = press.max(work + share.capacity * seen.earliest);
                if press > share.capacity * by {
                    return Err(why(way, &tasks[..=at], seen.earliest, by));
                }
            }
        }
        let pushed = |seen: &Seen| {
            seen.end > by
                && share.capacity * seen.earliest < press
                && (press + seen.energy > share.capacity * by
                    || seen.earliest + seen.task.lasts > by)
        };
        if work > 0 && tasks.iter().any(pushed) {
            push_late(trail, share.capacity, way, tasks, by)?;
        }
    }
    Ok(())
}

/// Pushes those who must end after all that ends by `by`.
fn push_late(
    trail: &mut Trail,
    capacity: i64,
    way: Way,
    tasks: &[Seen],
    by: i64,
) -> Result<(), Conflict> {
    let mut work = 0;
    let stretches: Vec<Stretch> = tasks
        .iter()
        .enumerate()
        .map(|(at, seen)| {
            work += if seen.end <= by { seen.energy } else { 0 };
            Stretch {
                from: seen.earliest,
                work,
                among: at + 1,
            }
        })
        .collect();
    // For every place, the most pressing stretch that begins no later.
    let press = |at: usize| stretches[at].work + capacity * stretches[at].from;
    let mut pressing: Vec<usize> = (0..stretches.len()).collect();
    for at in (0..stretches.len().saturating_sub(1)).rev() {
        let later = pressing[at + 1];
        if press(later) > press(at) {
            pressing[at] = later;
        }
    }
    let mut first_of_equal = 0;
    let mut furthest: Vec<(i64, Option<(i64, usize)>)> = Vec::new();
    for (at, seen) in tasks.iter().enumerate() {
        if tasks[first_of_equal].earliest != seen.earliest {
            first_of_equal = at;
        }
        let task = seen.task;
        if seen.end <= by || task.given {
            continue;
        }
        let held = stretches[pressing[first_of_equal]];
        let overfull = held.work > 0 && held.work + seen.energy > capacity * (by - held.from);
        let ends_later = seen.earliest + task.lasts > by;
        if !overfull && !ends_later {
            continue;
        }
        let known = furthest.iter().find(|(units, _)| *units == task.units);
        let push = match known {
            Some(&(_, push)) => push,
            None => {
                let push = push(&stretches, capacity, task.units, by);
                furthest.push((task.units, push));
                push
            }
        };
        let Some((to, through)) = push.filter(|&(to, _)| to > seen.earliest) else {
            continue;
        };
        let through = stretches[through];
        let mut reasons = why(way, &tasks[..through.among], through.from, by);
        if ends_later {
            reasons.push(way.starts_from(task, by - task.lasts + 1));
        } else {
            reasons.extend(why(way, &tasks[..held.among], held.from, by));
            reasons.push(way.starts_from(task, held.from));
        }
        trail.raise_for(way.starts_from(task, to), &reasons)?;
    }
    Ok(())
}

/// Returns how far a task that ends after `by` is pushed at least, and by which stretch.
fn push(stretches: &[Stretch], capacity: i64, units: i64, by: i64) -> Option<(i64, usize)> {
    let mut furthest = None;
    for (at, stretch) in stretches.iter().enumerate() {
        let beside = (capacity - units) * (by - stretch.from);
        let rest = stretch.work - beside;
        if stretch.work == 0 || rest <= 0 || stretch.from >= by {
            continue;
        }
        let to = stretch.from + rest.div_euclid(units) + i64::from(rest.rem_euclid(units) > 0);
        if furthest.is_none_or(|(most, _)| to > most) {
            furthest = Some((to, at));
        }
    }
    furthest
}

/// Returns why the work of these tasks lies between `from` and `by`.
fn why(way: Way, among: &[Seen], from: i64, by: i64) -> Vec<Atom> {
    let inside = among.iter().filter(|seen| seen.end <= by);
    inside
        .flat_map(|Seen { task, .. }| [way.starts_from(task, from), way.ends_by(task, by)])
        .collect()
}
