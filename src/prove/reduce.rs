//! Procedures with only what the search must tell apart.
//!
//! The rules of the run are never simplified: the search runs the very `decide` and `apply` on these
//! smaller procedures. Why nothing is lost is argued in [`super`].

use std::collections::BTreeSet;

use crate::procedure::{Earlier, Procedure, Step, StepId, StepKind, Text};

/// A smaller procedure.
#[derive(Debug, Clone)]
pub(super) struct Reduced {
    pub procedure: Procedure,
    /// Which of the jobs that are open together it is.
    pub job: usize,
    /// Of each step, its number in the whole procedure.
    pub whole: Vec<usize>,
}

impl Reduced {
    /// Returns the procedure with nothing taken out.
    pub(super) fn whole(job: usize, procedure: &Procedure) -> Reduced {
        Reduced {
            job,
            procedure: procedure.clone(),
            whole: (0..procedure.steps.len()).collect(),
        }
    }
}

/// Returns the resources that are held from one state to another: those of steps whose wait others can
/// work beside. Any other is taken and given back within one step.
pub(super) fn held(procedures: &[Procedure]) -> BTreeSet<&str> {
    let steps = procedures.iter().flat_map(|procedure| &procedure.steps);
    let lasting = steps.filter(|step| step.wait.as_ref().is_some_and(|wait| wait.meanwhile));
    lasting
        .flat_map(|step| &step.uses)
        .map(Text::as_str)
        .collect()
}

/// Returns `procedure` with each step asking for one thing only: its hold where it has one, its wait
/// where work goes on meanwhile, or else the claim that it is done.
pub(super) fn one_part_each(job: usize, procedure: &Procedure) -> Reduced {
    let steps = procedure.steps.iter().map(one_part).collect();
    Reduced {
        procedure: Procedure {
            steps,
            ..procedure.clone()
        },
        job,
        whole: (0..procedure.steps.len()).collect(),
    }
}

/// The same without the steps that touch nothing the others see, with no other resources than those
/// that are `held`, and no other conditions than those that are `kept` (all, where that is none).
pub(super) fn without_idle(
    job: usize,
    procedure: &Procedure,
    held: &BTreeSet<&str>,
    kept: Option<&BTreeSet<&str>>,
) -> Reduced {
    let mut procedure = one_part_each(job, procedure).procedure;
    for step in &mut procedure.steps {
        step.uses
            .retain(|resource| held.contains(resource.as_str()));
    }
    if let Some(kept) = kept {
        procedure
            .conditions
            .retain(|c| kept.contains(c.name.as_str()));
        for step in &mut procedure.steps {
            for list in [
                &mut step.needs,
                &mut step.forbidden_while,
                &mut step.sets,
                &mut step.clears,
            ] {
                list.retain(|condition| kept.contains(condition.as_str()));
            }
        }
    }
    let earlier = procedure.earlier();
    let stays = staying(&procedure, &earlier);
    let edges = bridged(&earlier, &stays);
    let whole: Vec<usize> = (0..procedure.steps.len()).filter(|&n| stays[n]).collect();
    let mut steps: Vec<Step> = whole.iter().map(|&n| procedure.steps[n].clone()).collect();
    for step in &mut steps {
        step.before = Vec::new();
        step.after = Some(Vec::new());
    }
    for (place, &number) in whole.iter().enumerate() {
        for edge in &edges[number] {
            let Some(other) = whole.iter().position(|&n| n == edge.step) else {
                continue;
            };
            // Only the order of the file says "after the step, but not after its wait".
            if !edge.over && other + 1 == place && steps[other].wait.is_some() {
                steps[place].after = None;
            } else {
                let id: StepId = steps[place].id.clone();
                steps[other].before.push(id);
            }
        }
    }
    procedure.steps = steps;
    Reduced {
        procedure,
        job,
        whole,
    }
}

fn one_part(step: &Step) -> Step {
    Step {
        kind: StepKind::Work,
        more: None,
        cautions: Vec::new(),
        after: step.after.clone(),
        before: step.before.clone(),
        needs: step.needs.clone(),
        forbidden_while: step.forbidden_while.clone(),
        sets: step.sets.clone(),
        clears: step.clears.clone(),
        uses: step.uses.clone(),
        wait: step.wait.clone().filter(|wait| wait.meanwhile),
        hold: step.hold.clone().or_else(|| step.second.clone()),
        ..Step::new(step.id.clone(), step.say.clone())
    }
}

/// Tells which steps touch something that another step sees.
fn staying(procedure: &Procedure, earlier: &[Vec<Earlier>]) -> Vec<bool> {
    let steps = &procedure.steps;
    let awaited = |number: usize| {
        let mut all = earlier.iter().flatten();
        all.any(|edge| edge.step == number && edge.over)
    };
    let mut stays: Vec<bool> = steps
        .iter()
        .enumerate()
        .map(|(number, step)| {
            let lists = [&step.needs, &step.forbidden_while, &step.sets, &step.clears];
            lists.iter().any(|list| !list.is_empty())
                || !step.uses.is_empty()
                || (step.wait.is_some() && awaited(number))
        })
        .collect();
    // What follows a wait that stays, without awaiting it, stays beside it: only the order of the file
    // can say so.
    for number in 1..steps.len() {
        if steps[number].after.is_none() && stays[number - 1] && steps[number - 1].wait.is_some() {
            stays[number] = true;
        }
    }
    stays
}

/// Returns the edges between the steps that stay, led over those that do not.
fn bridged(earlier: &[Vec<Earlier>], stays: &[bool]) -> Vec<Vec<Earlier>> {
    let mut edges: Vec<Vec<Earlier>> = Vec::with_capacity(earlier.len());
    for list in earlier {
        let mut own: Vec<Earlier> = Vec::new();
        for edge in list {
            if stays[edge.step] {
                own.push(*edge);
            } else {
                own.extend(edges.get(edge.step).into_iter().flatten().copied());
            }
        }
        own.sort_unstable_by_key(|edge| (edge.step, !edge.over));
        own.dedup_by_key(|edge| edge.step);
        edges.push(own);
    }
    edges
}

/// What a step sees or changes of the work.
pub(super) fn touched(step: &Step) -> impl Iterator<Item = &Text> {
    let lists = [
        &step.needs,
        &step.forbidden_while,
        &step.sets,
        &step.clears,
        &step.uses,
    ];
    lists.into_iter().flatten()
}
