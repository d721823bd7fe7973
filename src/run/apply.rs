//! The fold: what each event makes of the state.

use super::event::{Claim, Event};
use super::state::{Asking, Mark, Mode, Progress, Run, RunningWait, Truth};
use crate::procedure::{Requirement, StepId};

pub(super) fn apply(run: &mut Run, event: &Event) {
    if event.can_be_taken_back() {
        run.remember();
    }
    let state = &mut run.state;
    if !matches!(
        event,
        Event::WaitEnded { .. } | Event::NoteKept { .. } | Event::NoteLost { .. }
    ) {
        state.showing = None;
        state.doubt = None;
    }
    match event {
        Event::Began => state.begun = true,
        Event::Claimed {
            claim: Claim::Bolt { .. },
            ..
        } => {
            run.progress_mut().tightened += 1;
            let all_passes = match run.requirement() {
                Some(Requirement::Fasten(fasten)) => fasten.turns(),
                _ => 0,
            };
            if run.progress().tightened >= all_passes {
                part_done(run);
            }
        }
        Event::Claimed { .. } => part_done(run),
        Event::WaitBegan {
            step,
            name,
            from,
            due,
        } => {
            let waits = &mut run.progress_mut().waits;
            waits.retain(|wait| wait.step != *step);
            waits.push(RunningWait {
                step: step.clone(),
                name: name.clone(),
                from: *from,
                due: *due,
                ended: None,
            });
            let meanwhile = run
                .step()
                .and_then(|s| s.wait.as_ref())
                .is_some_and(|w| w.meanwhile);
            if meanwhile {
                part_done(run);
            }
        }
        Event::WaitEnded { job, step, at, .. } => wait_ended(run, *job, step, *at),
        Event::ReadingHeard { figure, .. } => {
            state.asking = Some(Asking::ReadBack(figure.clone()));
        }
        Event::ReadingOutside { figure, .. } => {
            state.asking = Some(Asking::Outside(figure.clone()));
        }
        Event::ReadingTaken { .. } | Event::DeviationAccepted { .. } => {
            state.asking = None;
            part_done(run);
        }
        Event::MeasuringAgain { .. } => state.asking = None,
        Event::WentBack {
            to,
            part,
            tightened,
        } => went_back(run, to, *part, *tightened),
        Event::SkipAsked { .. } => state.asking = Some(Asking::Reason),
        Event::Skipped { .. } => {
            state.asking = None;
            step_left(run, Mark::Skipped);
        }
        Event::StoodBy => state.mode = Mode::StandingBy,
        Event::Stopped => state.mode = Mode::Stopped,
        Event::Resumed => resumed(run),
        Event::TakenBack => taken_back(run),
        Event::Told(topic) => state.showing = Some(*topic),
        Event::Questioned { .. } => {}
        Event::Doubted { command, until } => state.doubt = Some((command.clone(), *until)),
        Event::FellSilent => state.silent = true,
        Event::SpokeUp => state.silent = false,
        Event::NoteBegan => state.noting = true,
        Event::NoteKept { .. } | Event::NoteLost { .. } => state.noting = false,
        Event::Opened(opened) => {
            state.finished = false;
            run.open(opened.procedure.clone());
        }
        Event::Moved { job, step, .. } => moved(run, *job, step),
        Event::Settled { condition, truth } => {
            let truth = if *truth { Truth::Set } else { Truth::Clear };
            let number = run.conditions().iter().position(|c| c.name == *condition);
            if let Some(truth_of) = number.and_then(|n| run.state.truths.get_mut(n)) {
                *truth_of = truth;
            }
            call_others(run);
        }
        Event::HeldAgain { .. } => state.asking = None,
        Event::Finished => state.finished = true,
    }
}

/// Goes on to the step's next requirement, or to the next step.
fn part_done(run: &mut Run) {
    let parts = run.step().map_or(0, |step| step.requirements().len());
    let progress = run.progress_mut();
    progress.part += 1;
    progress.tightened = 0;
    if progress.part >= parts {
        step_left(run, Mark::Done);
    }
}

fn step_left(run: &mut Run, mark: Mark) {
    let (job, step) = (run.state.job, run.progress().step);
    let Some(rules) = run.job(job).rules.get(step) else {
        return;
    };
    let (sets, clears) = (rules.sets.clone(), rules.clears.clone());
    let (set, cleared) = match mark {
        Mark::Done => (Truth::Set, Truth::Clear),
        // Whether a skipped step's work was done, nobody has said.
        Mark::Skipped | Mark::Open => (Truth::Uncertain, Truth::Uncertain),
    };
    for (conditions, truth) in [(sets, set), (clears, cleared)] {
        for condition in conditions {
            run.state.truths[condition] = truth;
        }
    }
    let progress = run.progress_mut();
    if let Some(place) = progress.marks.get_mut(step) {
        *place = mark;
    }
    progress.left.push(step);
    progress.part = 0;
    progress.tightened = 0;
    run.call_next(job);
    call_others(run);
}

/// Calls in every other job what can be done in the present state of the work.
fn call_others(run: &mut Run) {
    for job in 0..run.state.jobs.len() {
        if job != run.state.job {
            run.call_next(job);
        }
    }
}

fn wait_ended(run: &mut Run, job: usize, step: &StepId, at: super::Time) {
    let waiting = matches!(run.blocked(), Some(super::Blocked::Wait { .. }));
    if let Some(progress) = run.state.jobs.get_mut(job) {
        for wait in progress.waits.iter_mut().filter(|wait| wait.step == *step) {
            wait.ended = Some(at);
        }
    }
    if waiting {
        run.call_next(run.state.job);
    }
    call_others(run);
}

fn moved(run: &mut Run, job: usize, step: &StepId) {
    if job >= run.state.jobs.len() {
        return;
    }
    let mut steps = run.job(job).procedure.steps.iter();
    let at = steps.position(|other| other.id == *step);
    run.state.job = job;
    run.state.asking = None;
    let progress = run.progress_mut();
    if let Some(at) = at.filter(|&at| at != progress.step) {
        progress.step = at;
        progress.part = 0;
        progress.tightened = 0;
    }
}

/// Goes on. After a stop the last hold that was opened must be answered again: things may have moved.
fn resumed(run: &mut Run) {
    let stopped = run.state.mode == Mode::Stopped;
    run.state.mode = Mode::Working;
    let asks_anyway = matches!(run.requirement(), Some(Requirement::Hold(_)));
    if !stopped || asks_anyway {
        return;
    }
    let progress = run.progress();
    let steps = &run.procedure().steps;
    let done = progress.left.iter().rev();
    let done = done.filter(|&&step| progress.marks.get(step) == Some(&Mark::Done));
    let held = done
        .filter_map(|&step| steps.get(step))
        .find(|step| step.hold.is_some());
    if let Some(step) = held {
        run.state.asking = Some(Asking::Again(step.id.clone()));
    }
}

/// Calls `to` again. What it and the steps left after it had set or cleared is no longer certain.
fn went_back(run: &mut Run, to: &StepId, part: usize, tightened: u32) {
    let job = run.state.job;
    let steps = &run.job(job).procedure.steps;
    let Some(at) = steps.iter().position(|step| step.id == *to) else {
        return;
    };
    let left = &run.progress().left;
    let from = left.iter().position(|&step| step == at);
    let undone = left[from.unwrap_or(left.len())..].to_vec();
    let waits: Vec<StepId> = undone.iter().map(|&step| steps[step].id.clone()).collect();
    let conditions: Vec<usize> = undone
        .iter()
        .map(|&step| &run.job(job).rules[step])
        .flat_map(|rules| rules.sets.iter().chain(&rules.clears))
        .copied()
        .collect();
    for condition in conditions {
        run.state.truths[condition] = Truth::Uncertain;
    }
    run.state.asking = None;
    run.state.finished = false;
    let progress = run.progress_mut();
    progress.left.truncate(from.unwrap_or(progress.left.len()));
    for step in undone {
        progress.marks[step] = Mark::Open;
    }
    progress.waits.retain(|wait| !waits.contains(&wait.step));
    progress.step = at;
    progress.part = part;
    progress.tightened = tightened;
    call_others(run);
}

/// Returns to the state before the last effective event. Conditions that differ between the two
/// are uncertain afterwards: what was taken back may have been done all the same. Waits that were
/// running then and still are keep their clock.
fn taken_back(run: &mut Run) {
    let Some(earlier) = run.before.take() else {
        return;
    };
    let now = std::mem::replace(&mut run.state, *earlier);
    let state = &mut run.state;
    for (truth, after) in state.truths.iter_mut().zip(&now.truths) {
        if truth != after {
            *truth = Truth::Uncertain;
        }
    }
    for (progress, after) in state.jobs.iter_mut().zip(&now.jobs) {
        keep_running(progress, after);
    }
    // What no claim decides stays as it is.
    state.mode = now.mode;
    state.noting = now.noting;
    state.silent = now.silent;
    state.showing = None;
    state.doubt = None;
}

fn keep_running(progress: &mut Progress, after: &Progress) {
    for wait in &mut progress.waits {
        let same = |other: &&RunningWait| other.step == wait.step && other.from == wait.from;
        if let Some(still) = after.waits.iter().find(same) {
            wait.ended = still.ended;
        }
    }
}
