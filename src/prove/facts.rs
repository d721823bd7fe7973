//! What can actually be so of the conditions of the work, whatever is done in whatever order.

use std::collections::{BTreeSet, HashSet};

use crate::run::Run;

/// The most facts of conditions that hang together, and the most of all that are seen together.
const MOST_FACTS: usize = 50_000;
const MOST_SEEN: usize = 50_000;

/// Values of conditions: a bit for each that is set, by its number in the work.
pub(super) type Bits = u64;

/// What a step does to the conditions of the work.
#[derive(Debug, Clone, Copy)]
pub(super) struct Effect {
    forbidden_while: Bits,
    needs: Bits,
    sets: Bits,
    clears: Bits,
    held: bool,
}

impl Effect {
    pub(super) fn looks_at(&self) -> Bits {
        self.forbidden_while | self.needs
    }

    pub(super) fn touches(&self) -> Bits {
        self.sets | self.clears
    }
}

pub(super) fn steps(run: &Run) -> Vec<Vec<Effect>> {
    let bits = |numbers: &[usize]| numbers.iter().fold(0, |all, number| all | 1 << number);
    let jobs = run.procedures().enumerate();
    jobs.map(|(job, procedure)| {
        let steps = procedure.steps.iter().enumerate();
        steps
            .map(|(number, step)| {
                let (forbidden_while, needs) = run.guarded_by(job, number);
                let (sets, clears) = run.effects(job, number);
                Effect {
                    forbidden_while: bits(forbidden_while),
                    needs: bits(needs),
                    sets: bits(sets),
                    clears: bits(clears),
                    held: step.is_held(),
                }
            })
            .collect()
    })
    .collect()
}

/// Everything that can actually be so, at least: of conditions that hang together by a step, each with
/// their bits.
pub(super) struct Facts {
    groups: Vec<(Bits, HashSet<Bits>)>,
}

impl Facts {
    pub(super) fn of<'a>(
        conditions: usize,
        steps: impl Iterator<Item = &'a Effect>,
    ) -> Option<Facts> {
        let steps: Vec<&Effect> = steps.collect();
        let mut groups: Vec<Bits> = (0..conditions).map(|number| 1 << number).collect();
        for step in &steps {
            let of_step = step.looks_at() | step.touches();
            let apart = |group: &&Bits| **group & of_step == 0;
            let together = groups.iter().filter(|group| !apart(group));
            let together = together.fold(0, |all, group| all | group);
            groups = groups.iter().filter(apart).copied().collect();
            groups.extend((together != 0).then_some(together));
        }
        let groups = groups.into_iter().map(|group| {
            let own = steps.iter().filter(|step| step.touches() & group != 0);
            Some((group, come_about(&own.copied().collect::<Vec<_>>())?))
        });
        Some(Facts {
            groups: groups.collect::<Option<_>>()?,
        })
    }

    pub(super) fn states(&self) -> usize {
        self.groups.iter().map(|(_, facts)| facts.len()).sum()
    }

    /// Returns all values that the conditions `seen` can have together.
    pub(super) fn seen_by(&self, seen: Bits) -> Option<Vec<Bits>> {
        let mut all: Vec<Bits> = vec![0];
        for (group, facts) in self.groups.iter().filter(|(group, _)| group & seen != 0) {
            let values: BTreeSet<Bits> = facts.iter().map(|one| one & seen & group).collect();
            if all.len() * values.len() > MOST_SEEN {
                return None;
            }
            let with = |before: &Bits| {
                let before = *before;
                values.iter().map(move |value| before | value)
            };
            all = all.iter().flat_map(with).collect();
        }
        Some(all)
    }
}

/// Returns what comes about from nothing set where steps are done in any order, any number of times.
fn come_about(steps: &[&Effect]) -> Option<HashSet<Bits>> {
    let mut known: HashSet<Bits> = HashSet::from([0]);
    let mut open: Vec<Bits> = vec![0];
    while let Some(now) = open.pop() {
        for step in steps {
            let allowed = now & step.forbidden_while == 0 && now & step.needs == step.needs;
            let done = allowed.then_some((now | step.sets) & !step.clears);
            let skipped = (!step.held).then(|| values_of(step.touches()));
            let skipped = skipped.into_iter().flatten();
            let skipped = skipped.map(|either| now & !step.touches() | either);
            for next in done.into_iter().chain(skipped) {
                if known.insert(next) {
                    open.push(next);
                }
            }
        }
        if known.len() > MOST_FACTS {
            return None;
        }
    }
    Some(known)
}

/// Returns every value that some bits can have.
pub(super) fn values_of(bits: Bits) -> impl Iterator<Item = Bits> {
    let mut next = Some(0);
    std::iter::from_fn(move || {
        let value = next?;
        // The next smaller subset in the order of binary counting within the bits.
        next = Some((value | !bits).wrapping_add(1) & bits).filter(|next| *next != 0);
        Some(value)
    })
}
