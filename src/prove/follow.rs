//! What happens to a person who simply does what is called.

use std::collections::BTreeSet;

use super::Flaw;
use super::explore::{self, Act};
use super::reduce::Reduced;
use super::start;
use super::tell::{Happening, WAIT_ENDS};
use crate::procedure::Text;
use crate::run::{Blocked, Event, Run, Truth};

/// Follows the calls from the beginning of each job, and returns every call of a step that the state of
/// the work forbids while there is nothing else to do, and every condition that is still set at the
/// end; and the steps that were begun so. Where a call is forbidden, the work goes on as if it were not.
pub(super) fn follow(reduced: &[Reduced]) -> (Vec<Flaw>, BTreeSet<(usize, usize)>) {
    let mut flaws = Vec::new();
    let mut begun = BTreeSet::new();
    for first in 0..reduced.len() {
        let Some(mut run) = start(reduced) else {
            return (flaws, begun);
        };
        let mut history = Vec::new();
        let procedure = run.procedures().nth(first);
        let called = procedure.and_then(|procedure| procedure.called.as_ref());
        let words = called.map_or_else(|| OTHER_WORK.to_owned(), ToString::to_string);
        say(&mut run, Act::MoveTo(first), words, &mut history);
        for flaw in follow_run(run, history, &mut begun) {
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

/// What is said to leave the called step for other work.
const OTHER_WORK: &str = "other work";

fn follow_run(
    mut run: Run,
    mut history: Vec<Happening>,
    begun: &mut BTreeSet<(usize, usize)>,
) -> Vec<Flaw> {
    let mut flaws = Vec::new();
    let mut forced: Vec<Text> = Vec::new();
    // Every step is done once, and comes after at most one end of a wait and one move.
    let most = 10 + 4 * run.procedures().map(|p| p.steps.len()).sum::<usize>();
    for _ in 0..most {
        if run.state().finished {
            break;
        }
        let answer = super::tell::said(&run).unwrap_or_default();
        let called = (run.state().job, run.progress().step);
        let claimed = say(&mut run, Act::Claim, answer, &mut history);
        // What was forced is no way that anybody goes.
        begun.extend((claimed && forced.is_empty()).then_some(called));
        let goes_on = claimed
            || say(&mut run, Act::OtherWork, OTHER_WORK.into(), &mut history)
            || end_one_wait(&mut run, &mut history);
        if !goes_on {
            let Some((condition, needed)) = forbidding(&run) else {
                break;
            };
            flaws.push(Flaw::Called {
                job: run.state().job,
                step: run.progress().step,
                condition: condition.clone(),
                needed,
                history: way(&forced, &history),
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
            history: way(&forced, &history),
        }));
    }
    flaws
}

/// What leads to a flaw; nothing does where the work went on over a call that is forbidden.
fn way(forced: &[Text], history: &[Happening]) -> Vec<Happening> {
    if forced.is_empty() {
        history.to_vec()
    } else {
        Vec::new()
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

fn end_one_wait(run: &mut Run, history: &mut Vec<Happening>) -> bool {
    explore::waits_that_run(run).into_iter().any(|wait| {
        let Act::WaitEnds(job, step) = wait else {
            return false;
        };
        let procedure = run.procedures().nth(job);
        let step = procedure.and_then(|procedure| procedure.steps.get(step));
        let name = step
            .and_then(|step| step.wait.as_ref())
            .map(|wait| wait.name.to_string());
        let words = format!("{WAIT_ENDS}{}", name.unwrap_or_default());
        say(run, wait, words, history)
    })
}

/// Says something, and writes it down where the run takes it.
fn say(run: &mut Run, act: Act, say: String, history: &mut Vec<Happening>) -> bool {
    let events = explore::events(run, act).unwrap_or_default();
    if events.is_empty() {
        return false;
    }
    let called = match act {
        Act::WaitEnds(..) => None,
        _ => run.step().map(|step| step.say.to_string()),
    };
    history.push(Happening {
        say,
        called: called.unwrap_or_default(),
        misheard: false,
    });
    events.iter().for_each(|event| run.apply(event));
    true
}
