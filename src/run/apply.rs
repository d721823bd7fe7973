//! The fold: what each event makes of the state.

use super::event::{Claim, Event};
use super::state::{Asking, Mark, Mode, Run, RunningWait, State, Truth};
use crate::procedure::{Requirement, StepId, Text};

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
            state.tightened += 1;
            let all_passes = match run.requirement() {
                Some(Requirement::Fasten(fasten)) => fasten.turns(),
                _ => 0,
            };
            if run.state.tightened >= all_passes {
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
            state.waits.retain(|wait| wait.step != *step);
            state.waits.push(RunningWait {
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
        Event::WaitEnded { step, at, .. } => {
            for wait in state.waits.iter_mut().filter(|wait| wait.step == *step) {
                wait.ended = Some(*at);
            }
        }
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
        Event::Resumed => state.mode = Mode::Working,
        Event::TakenBack => taken_back(run),
        Event::Told(topic) => state.showing = Some(*topic),
        Event::Questioned { .. } => {}
        Event::Doubted { command, until } => state.doubt = Some((command.clone(), *until)),
        Event::FellSilent => state.silent = true,
        Event::SpokeUp => state.silent = false,
        Event::NoteBegan => state.noting = true,
        Event::NoteKept { .. } | Event::NoteLost { .. } => state.noting = false,
        Event::Finished => state.finished = true,
    }
}

/// Goes on to the step's next requirement, or to the next step.
fn part_done(run: &mut Run) {
    let parts = run.step().map_or(0, |step| step.requirements().len());
    run.state.part += 1;
    run.state.tightened = 0;
    if run.state.part >= parts {
        step_left(run, Mark::Done);
    }
}

fn step_left(run: &mut Run, mark: Mark) {
    let Some(step) = run.step() else { return };
    let (sets, clears) = (step.sets.clone(), step.clears.clone());
    let state = &mut run.state;
    let (set, cleared) = match mark {
        Mark::Done => (Truth::Set, Truth::Clear),
        // Whether a skipped step's work was done, nobody has said.
        Mark::Skipped | Mark::Open => (Truth::Uncertain, Truth::Uncertain),
    };
    state
        .truths
        .extend(sets.into_iter().map(|condition| (condition, set)));
    state
        .truths
        .extend(clears.into_iter().map(|condition| (condition, cleared)));
    if let Some(place) = state.marks.get_mut(state.step) {
        *place = mark;
    }
    state.step += 1;
    state.part = 0;
    state.tightened = 0;
}

/// Calls `to` again. What the steps from there on had set or cleared is no longer certain.
fn went_back(run: &mut Run, to: &StepId, part: usize, tightened: u32) {
    let Some(at) = run.procedure().steps.iter().position(|step| step.id == *to) else {
        return;
    };
    let left = run.state.step;
    let undone: Vec<Text> = run.procedure().steps[at..left]
        .iter()
        .flat_map(|step| step.sets.iter().chain(&step.clears))
        .cloned()
        .collect();
    let undone_waits: Vec<StepId> = run.procedure().steps[at..left]
        .iter()
        .map(|step| step.id.clone())
        .collect();
    let state = &mut run.state;
    state.truths.extend(
        undone
            .into_iter()
            .map(|condition| (condition, Truth::Uncertain)),
    );
    state
        .waits
        .retain(|wait| !undone_waits.contains(&wait.step));
    for mark in state.marks.iter_mut().skip(at) {
        *mark = Mark::Open;
    }
    state.step = at;
    state.part = part;
    state.tightened = tightened;
    state.asking = None;
    state.finished = false;
}

/// Returns to the state before the last effective event. Conditions that differ between the two
/// are uncertain afterwards: what was taken back may have been done all the same. Waits that were
/// running then and still are keep their clock.
fn taken_back(run: &mut Run) {
    let Some(earlier) = run.before.pop() else {
        return;
    };
    let now = std::mem::replace(&mut run.state, earlier);
    let state = &mut run.state;
    for (condition, truth) in &mut state.truths {
        if now.truths.get(condition) != Some(truth) {
            *truth = Truth::Uncertain;
        }
    }
    keep_running(state, &now);
    state.mode = now.mode;
    state.noting = now.noting;
    state.silent = now.silent;
    state.showing = None;
    state.doubt = None;
}

fn keep_running(state: &mut State, now: &State) {
    for wait in &mut state.waits {
        let same = |other: &&RunningWait| other.step == wait.step && other.from == wait.from;
        if let Some(still) = now.waits.iter().find(same) {
            wait.ended = still.ended;
        }
    }
}
