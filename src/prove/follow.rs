//! What happens to a person who simply does what is called.

use super::Flaw;
use super::explore::{self, Act};
use super::reduce::Reduced;
use super::start;
use super::tell::Happening;
use crate::procedure::Text;
use crate::run::{Blocked, Event, Run, Truth};

/// Follows the calls from the beginning of each job, and returns every call of a step that the state of
/// the work forbids while there is nothing else to do, and every condition that is still set at the
/// end. Where a call is forbidden, the work goes on as if it were not.
pub(super) fn follow(reduced: &[Reduced]) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    for first in 0..reduced.len() {
        let Some(mut run) = start(reduced) else {
            return flaws;
        };
        give(&mut run, Act::MoveTo(first));
        for flaw in follow_run(run) {
            if !flaws.iter().any(|known| same(known, &flaw)) {
                flaws.push(flaw);
            }
        }
    }
    flaws
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

fn follow_run(mut run: Run) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    let mut history: Vec<Happening> = Vec::new();
    let mut forced: Vec<Text> = Vec::new();
    // Every step is done once, and comes after at most one end of a wait and one move.
    let most = 10 + 4 * run.procedures().map(|p| p.steps.len()).sum::<usize>();
    for _ in 0..most {
        if run.state().finished {
            break;
        }
        let told = super::tell::said(&run).zip(run.step().map(|step| step.say.to_string()));
        if give(&mut run, Act::Claim) {
            let (say, called) = told.unwrap_or_default();
            history.push(Happening {
                say,
                called,
                misheard: false,
            });
        } else if !give(&mut run, Act::OtherWork) && !end_one_wait(&mut run) {
            let Some((condition, needed)) = forbidding(&run) else {
                break;
            };
            flaws.push(Flaw::Called {
                job: run.state().job,
                step: run.progress().step,
                condition: condition.clone(),
                needed,
                history: history.clone(),
            });
            forced.push(condition.clone());
            run.apply(&Event::Settled {
                condition,
                truth: needed,
            });
        }
    }
    if run.state().finished {
        let set = run.truths().iter().zip(run.conditions());
        let set = set.filter(|(truth, c)| **truth == Truth::Set && !forced.contains(&c.name));
        flaws.extend(set.map(|(_, condition)| Flaw::LeftSet {
            condition: condition.name.clone(),
            history: history.clone(),
        }));
    }
    flaws
}

/// The condition that forbids the called step, and whether the step needs it.
fn forbidding(run: &Run) -> Option<(Text, bool)> {
    match run.blocked()? {
        Blocked::Forbidden { condition, .. } => Some((condition, false)),
        Blocked::Lacking { condition, .. } => Some((condition, true)),
        _ => None,
    }
}

fn end_one_wait(run: &mut Run) -> bool {
    let waits = explore::waits_that_run(run);
    waits.into_iter().any(|wait| give(run, wait))
}

fn give(run: &mut Run, act: Act) -> bool {
    let events = explore::events(run, act).unwrap_or_default();
    events.iter().for_each(|event| run.apply(event));
    !events.is_empty()
}
