//! Who overloads a resource, and which of them waits for which.

use super::search::Search;
use super::share::{Share, Task};
use super::trail::{Atom, Conflict};

/// What is followed first where an order is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lead {
    /// What was met in conflicts.
    Weights,
    /// The best plan yet.
    Model,
    /// The job that had the resource last.
    Jobs,
}

impl Lead {
    pub fn other(self) -> Lead {
        match self {
            Lead::Weights => Lead::Model,
            Lead::Model => Lead::Weights,
            Lead::Jobs => Lead::Jobs,
        }
    }
}

impl<'a> Search<'a> {
    /// Returns the first activities that together overload a resource, as few as do.
    pub fn overload(&self) -> Option<Vec<usize>> {
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
    pub fn order(&mut self, rivals: &[usize]) -> Result<(), Conflict> {
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
        let last = match self.lead {
            Lead::Jobs => self.last_job(rivals),
            Lead::Weights | Lead::Model => None,
        };
        let goes_on = |&(i, j, _): &(usize, usize, Atom)| {
            let stays = |of: usize| last.is_some() && self.problem.jobs.get(of) == last;
            let earlier = self.trail.low(self.starts[j]) - self.trail.low(self.starts[i]);
            (earlier.signum(), stays(i), !stays(j))
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
                Lead::Jobs => goes_on(one).cmp(&goes_on(other)),
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

    /// Returns the job of who had what the rivals want before them.
    fn last_job(&self, rivals: &[usize]) -> Option<&'a usize> {
        let low = |of: usize| self.trail.low(self.starts[of]);
        let now = rivals.iter().map(|&rival| low(rival)).max()?;
        let wanted = |share: &&Share| {
            let mut tasks = share.tasks.iter();
            tasks.any(|task| rivals.contains(&task.activity))
        };
        let users = self
            .shares
            .iter()
            .filter(wanted)
            .flat_map(|share| &share.tasks);
        let ended = users.filter_map(|task| {
            let end = low(task.activity) + task.lasts;
            (end <= now && !rivals.contains(&task.activity)).then_some((end, task.activity))
        });
        let (_, last) = ended.max()?;
        self.problem.jobs.get(last)
    }
}
