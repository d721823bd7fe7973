//! What conditions ask of the order of a plan.
//!
//! Within one procedure all that sets, clears, needs or is forbidden by a condition keeps the order of
//! the file. Between procedures, which share the conditions of the same name, a step that is forbidden
//! comes before the condition is set or after it is cleared, and two procedures that both set it do so one
//! after the other.

use super::draft::{Draft, Job};
use super::work::{ActivityId, Choice};
use crate::procedure::{Step, Text};

/// While a job keeps a condition set: from the end of one step to the end of another.
#[derive(Debug, Clone, Copy)]
struct Spell {
    /// The step that sets it; none where it is set already.
    set: Option<ActivityId>,
    /// The step that clears it; none where nothing does.
    cleared: Option<ActivityId>,
}

pub(super) fn tie(draft: &mut Draft, jobs: &[Job]) {
    for job in jobs {
        keep_file_order(draft, job);
    }
    let mut names: Vec<&Text> = Vec::new();
    for condition in jobs.iter().flat_map(|job| &job.procedure.conditions) {
        if !names.contains(&&condition.name) {
            names.push(&condition.name);
        }
    }
    for name in names {
        let spells: Vec<Vec<Spell>> = jobs.iter().map(|job| spells(job, name)).collect();
        for (at, job) in jobs.iter().enumerate() {
            for (other, theirs) in spells.iter().enumerate().filter(|(other, _)| *other != at) {
                for step in forbidden(job, name) {
                    for &spell in theirs {
                        lie_outside(draft, step, spell, name, &jobs[other].name);
                    }
                }
                for &mine in spells[at].iter().filter(|_| at < other) {
                    for &spell in theirs {
                        take_turns(draft, mine, spell, name);
                    }
                }
            }
        }
    }
}

fn keep_file_order(draft: &mut Draft, job: &Job) {
    let steps = &job.procedure.steps;
    for condition in &job.procedure.conditions {
        let name = &condition.name;
        let changes = |step: &Step| step.sets.contains(name) || step.clears.contains(name);
        let touches = |step: &Step| {
            changes(step) || step.needs.contains(name) || step.forbidden_while.contains(name)
        };
        let touching: Vec<usize> = (0..steps.len()).filter(|&at| touches(&steps[at])).collect();
        for (nth, &later) in touching.iter().enumerate() {
            let Some(to) = job.parts[later].work.filter(|_| !job.is_begun(later)) else {
                continue;
            };
            for &earlier in &touching[..nth] {
                if !changes(&steps[earlier]) && !changes(&steps[later]) {
                    continue;
                }
                let words = format!(
                    "\"{}\" comes after \"{}\", for \"{name}\"",
                    steps[later].say, steps[earlier].say
                );
                if let Some(from) = over(job, earlier) {
                    draft.after(from, to, words);
                }
            }
        }
    }
}

/// Returns the activity with whose end a step is done: a wait that keeps it, or its work.
fn over(job: &Job, step: usize) -> Option<ActivityId> {
    let parts = job.parts[step];
    let wait = job.procedure.steps[step].wait.as_ref();
    let keeps = wait.is_some_and(|wait| !wait.meanwhile);
    if keeps {
        parts.wait.or(parts.work)
    } else {
        parts.work
    }
}

fn spells(job: &Job, name: &Text) -> Vec<Spell> {
    let mut spells: Vec<Spell> = Vec::new();
    // Whether the last spell goes on.
    let mut lasts = false;
    for (place, step) in job.procedure.steps.iter().enumerate() {
        if step.sets.contains(name) && !lasts {
            lasts = true;
            spells.push(Spell {
                set: job.open[place].then(|| over(job, place)).flatten(),
                cleared: None,
            });
        }
        if step.clears.contains(name) && lasts {
            lasts = false;
            if job.open[place] {
                if let Some(last) = spells.last_mut() {
                    last.cleared = over(job, place);
                }
            } else {
                spells.pop();
            }
        }
    }
    spells
}

fn forbidden<'a>(job: &'a Job, name: &'a Text) -> impl Iterator<Item = ActivityId> + 'a {
    let steps = job.procedure.steps.iter().zip(&job.parts);
    let forbidden = steps.filter(|(step, _)| step.forbidden_while.contains(name));
    forbidden.filter_map(|(_, parts)| parts.work)
}

fn say(draft: &Draft, activity: ActivityId) -> String {
    draft.work.activities[activity.0].name.clone()
}

/// Has a step come before a condition is set, or after it is cleared.
fn lie_outside(draft: &mut Draft, step: ActivityId, spell: Spell, name: &Text, whose: &str) {
    let words = format!(
        "\"{}\" is forbidden while \"{name}\" is set by \"{whose}\"",
        say(draft, step)
    );
    choose(
        draft,
        spell.set.map(|set| (step, set)),
        spell.cleared.map(|end| (end, step)),
        words,
    );
}

/// Has two jobs set a condition one after the other.
fn take_turns(draft: &mut Draft, mine: Spell, theirs: Spell, name: &Text) {
    let words = format!("two procedures set \"{name}\", one after the other");
    let first = mine.cleared.zip(theirs.set);
    let last = theirs.cleared.zip(mine.set);
    choose(draft, first, last, words);
}

/// Adds (earlier, later), or the other such pair, or a choice of both.
fn choose(
    draft: &mut Draft,
    one: Option<(ActivityId, ActivityId)>,
    other: Option<(ActivityId, ActivityId)>,
    words: String,
) {
    match (one, other) {
        (Some((a, b)), Some((c, d))) => {
            let either = [
                draft.tied(a, b, words.clone()),
                draft.tied(c, d, words.clone()),
            ];
            draft.work.choices.push(Choice {
                either,
                name: words,
            });
        }
        (Some((earlier, later)), None) | (None, Some((earlier, later))) => {
            draft.after(earlier, later, words);
        }
        // Set by what is done, and cleared by nothing: no order can help.
        (None, None) => {}
    }
}
