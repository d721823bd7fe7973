//! What happens to a person who simply does what is called.

use std::collections::BTreeSet;

use super::Flaw;
use super::act::{self, Act, Deed};
use super::reduce::Reduced;
use super::start;
use super::tell::{self, Ends, Happening};
use crate::procedure::Text;
use crate::run::{Blocked, Event, Run, Truth};

/// Follows the calls from the beginning of each job, and returns every call of a step that the state of
/// the work forbids while there is nothing else to do, and every condition that is still set at the
/// end; and the steps that were begun so. Where a call is forbidden, the work goes on as if it were not.
pub(super) fn follow(
    whole: &[Reduced],
    reduced: &[Reduced],
) -> (Vec<Flaw>, BTreeSet<(usize, usize)>) {
    let mut flaws = Vec::new();
    let mut begun = BTreeSet::new();
    for first in 0..reduced.len() {
        let Some(run) = start(reduced) else {
            return (flaws, begun);
        };
        let mut follower = Follower {
            whole,
            reduced,
            run,
            deeds: Vec::new(),
            forced: Vec::new(),
        };
        follower.act(Act::MoveTo(first));
        for flaw in follower.follow(&mut begun) {
            if !flaws.iter().any(|known| same(known, &flaw)) {
                flaws.push(flaw);
            }
        }
    }
    (flaws, begun)
}

fn same(one: &Flaw, other: &Flaw) -> bool {
    match (one, other) {
        (
            Flaw::Called {
                job,
                step,
                condition,
                ..
            },
            Flaw::Called {
                job: j,
                step: s,
                condition: c,
                ..
            },
        ) => (job, step, condition) == (j, s, c),
        (Flaw::LeftSet { condition, .. }, Flaw::LeftSet { condition: c, .. }) => condition == c,
        _ => false,
    }
}

/// Somebody who does what is called.
struct Follower<'a> {
    whole: &'a [Reduced],
    reduced: &'a [Reduced],
    run: Run,
    deeds: Vec<Deed>,
    /// Conditions that forbade a call, over which the work went on.
    forced: Vec<Text>,
}

impl Follower<'_> {
    fn follow(&mut self, begun: &mut BTreeSet<(usize, usize)>) -> Vec<Flaw> {
        let mut flaws = Vec::new();
        // Every step is done once, and comes after at most one end of a wait and one move.
        let steps = self.run.procedures().map(|p| p.steps.len()).sum::<usize>();
        for _ in 0..10 + 4 * steps {
            if self.run.state().finished {
                break;
            }
            let called = (self.run.state().job, self.run.progress().step);
            let claimed = self.act(Act::Claim);
            // What was forced is no way that anybody goes.
            begun.extend((claimed && self.forced.is_empty()).then_some(called));
            if claimed || self.act(Act::OtherWork) || self.end_one_wait() {
                continue;
            }
            let Some((condition, needed)) = forbidding(&self.run) else {
                break;
            };
            flaws.push(Flaw::Called {
                job: called.0,
                step: called.1,
                condition: condition.clone(),
                needed,
                history: self.way(Ends::Called),
            });
            self.forced.push(condition.clone());
            self.run.apply(&Event::Settled {
                condition,
                truth: needed,
            });
        }
        if self.run.state().finished {
            let set = self.run.truths().iter().zip(self.run.conditions());
            let set =
                set.filter(|(truth, c)| **truth == Truth::Set && !self.forced.contains(&c.name));
            flaws.extend(set.map(|(_, condition)| Flaw::LeftSet {
                condition: condition.name.clone(),
                history: self.way(Ends::Finished),
            }));
        }
        flaws
    }

    /// What leads to where it stands; nothing does where the work went on over a call that is forbidden.
    fn way(&self, ends: Ends) -> Vec<Happening> {
        if !self.forced.is_empty() {
            return Vec::new();
        }
        tell::tell(self.whole, self.reduced, &self.deeds, ends).unwrap_or_default()
    }

    fn end_one_wait(&mut self) -> bool {
        let waits = act::waits_that_run(&self.run);
        waits.into_iter().any(|wait| self.act(wait))
    }

    /// Does something where the run takes it.
    fn act(&mut self, act: Act) -> bool {
        let events = act::events(&self.run, act).unwrap_or_default();
        if !events.is_empty() {
            self.deeds.push(Deed::honest(act));
        }
        events.iter().for_each(|event| self.run.apply(event));
        !events.is_empty()
    }
}

/// The condition that forbids the called step, and whether the step needs it.
fn forbidding(run: &Run) -> Option<(Text, bool)> {
    match run.blocked()? {
        Blocked::Forbidden { condition, .. } => Some((condition, false)),
        Blocked::Lacking { condition, .. } => Some((condition, true)),
        _ => None,
    }
}
