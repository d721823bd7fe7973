//! The fold: what each event makes of the state.

use chrono::TimeDelta;

use super::event::{Claim, Event, Moved};
use super::figure::Figure;
use super::state::{Asking, Mark, Mode, Progress, Run, TakenReading, Truth};
use super::waiting::{CallOf, Giving, RunningWait};
use crate::procedure::{Requirement, StepId, Text};

pub(super) fn apply(run: &mut Run, event: &Event) {
    if event.can_be_taken_back() {
        run.remember();
    }
    fold(run, event);
}

/// The same without remembering what "disregard" leads back to.
pub(super) fn fold(run: &mut Run, event: &Event) {
    let state = &mut run.state;
    if !happens_by_itself(event) {
        state.showing = None;
        state.doubt = None;
        let reads = matches!(
            event,
            Event::ReadingHeard { .. }
                | Event::Doubted { .. }
                | Event::Told(_)
                | Event::Questioned { .. }
        );
        if !reads
            && state.giving.take().is_some()
            && matches!(state.asking, Some(Asking::ReadBack(_)))
        {
            // The figure that was read back was for it.
            state.asking = None;
        }
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
            } else {
                resources_taken(run);
            }
        }
        Event::Claimed {
            claim: Claim::WaitOver,
            step,
        } => {
            let waits = run.progress_mut().waits.iter_mut();
            waits
                .filter(|wait| wait.step == *step)
                .for_each(|wait| wait.call = None);
            part_done(run);
        }
        Event::Claimed { .. } => part_done(run),
        // Pages are no part of the state: see `Run::turn_pages`.
        Event::CautionKnown { .. } | Event::CautionAgain { .. } => {}
        Event::WaitBegan {
            step,
            name,
            from,
            due,
            latest,
        } => {
            let waits = &mut run.progress_mut().waits;
            waits.retain(|wait| wait.step != *step);
            waits.push(RunningWait {
                latest: *latest,
                ..RunningWait::new(step.clone(), name.clone(), *from, *due)
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
        Event::WaitWarned { job, step, at, .. } => on_wait(run, *job, step, |wait| {
            wait.warned = true;
            wait.calls(CallOf::Soon, *at);
        }),
        Event::WaitTooLate { job, step, at, .. } => on_wait(run, *job, step, |wait| {
            wait.late = true;
            wait.calls(CallOf::Late, *at);
        }),
        Event::WaitMoved {
            job,
            step,
            due,
            latest,
            standing,
            why,
            ..
        } => {
            on_wait(run, *job, step, |wait| {
                wait.due = *due;
                wait.latest = *latest;
                wait.standing = *standing;
                match why {
                    Moved::Added { .. } => {
                        // What was over goes on again.
                        wait.ended = None;
                        wait.call = wait.call.filter(|call| call.of != CallOf::Over);
                    }
                    Moved::Temperature { celsius, .. } => wait.celsius = Some(*celsius),
                }
            });
            call_others(run);
        }
        Event::WaitStopped { job, step, .. } => wait_stopped(run, *job, step),
        Event::WaitAnswered { job, step, .. } => {
            on_wait(run, *job, step, |wait| wait.call = None);
        }
        Event::TemperatureAsked { job, step } => {
            let asked = run.wait_of(*job, step).and_then(|wait| wait.cure.as_ref());
            let reading = asked.and_then(|cure| run.reading_named(*job, &cure.reading));
            run.state.giving = reading.cloned().map(|reading| Giving {
                step: step.clone(),
                reading,
            });
        }
        Event::TemperatureTaken { name, figure, .. } => {
            state.asking = None;
            temperature_known(run, name, figure);
        }
        Event::ClockDiffered { wall, passed } => {
            let jobs = run.state.jobs.iter_mut();
            let waits = jobs.flat_map(|job| &mut job.waits);
            waits
                .filter(|wait| wait.is_running())
                .for_each(|wait| wait.clock_off += *wall - *passed);
        }
        Event::ReadingHeard { figure, .. } => {
            state.asking = Some(Asking::ReadBack(figure.clone()));
        }
        Event::ReadingOutside { figure, .. } => {
            state.asking = Some(Asking::Outside(figure.clone()));
        }
        Event::ReadingTaken { name, figure, .. }
        | Event::DeviationAccepted { name, figure, .. } => {
            state.asking = None;
            temperature_known(run, name, figure);
            let part = run.due_part();
            run.progress_mut().taken.push(TakenReading {
                part,
                name: name.clone(),
                figure: figure.clone(),
            });
            part_done(run);
        }
        Event::MeasuringAgain { .. } => measuring_again(run),
        Event::ReadingsAged { job, step, .. } => readings_aged(run, *job, step),
        Event::ClockBegan { job, step, at } => clock_began(run, *job, step, *at),
        Event::ClockRead { name, seconds, .. } => {
            let passed = (name.clone(), TimeDelta::seconds(*seconds));
            run.progress_mut().passed.push(passed);
        }
        Event::Reckoned { again, .. } => {
            let progress = run.progress_mut();
            progress.again = progress.again.into_iter().chain(*again).min();
        }
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
        Event::PassedOver { step } => passed_over(run, step),
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
            state.opening = state.opening.take().filter(|file| *file != opened.file);
            run.open(opened.procedure.clone());
        }
        Event::OpeningAsked { file, .. } => state.opening = Some(file.clone()),
        Event::OpeningRefused { .. } => state.opening = None,
        Event::ToolTaken(held) => state.held = held.clone(),
        Event::Moved { job, step, .. } => moved(run, *job, step),
        Event::Settled { condition, truth } => {
            if let Some(number) = run.number_of(condition) {
                run.state.truths[number] = Truth::of(*truth);
            }
            call_others(run);
        }
        Event::HeldAgain { .. } => state.asking = None,
        Event::Finished => state.finished = true,
    }
}

/// Tells whether an event is none of the person's doing and leaves what was asked as it is.
fn happens_by_itself(event: &Event) -> bool {
    matches!(
        event,
        Event::WaitEnded { .. }
            | Event::WaitWarned { .. }
            | Event::WaitTooLate { .. }
            | Event::ClockDiffered { .. }
            | Event::ReadingsAged { .. }
            | Event::ClockBegan { .. }
            | Event::ClockRead { .. }
            | Event::NoteKept { .. }
            | Event::NoteLost { .. }
            | Event::Opened(_)
            | Event::OpeningRefused { .. }
    )
}

fn on_wait(run: &mut Run, job: usize, step: &StepId, change: impl FnOnce(&mut RunningWait)) {
    let waits = run.state.jobs.get_mut(job).map(|job| &mut job.waits);
    if let Some(wait) = waits.and_then(|waits| waits.iter_mut().find(|wait| wait.step == *step)) {
        change(wait);
    }
}

/// Keeps a reading that waits go by.
fn temperature_known(run: &mut Run, name: &Text, figure: &Figure) {
    if run.is_temperature(name) {
        let known = &mut run.state.temperatures;
        known.retain(|(other, _)| other != name);
        known.push((name.clone(), figure.clone()));
    }
}

/// A wait that was stopped is as if it had not begun: its step is open again. What the step had set is
/// no longer certain.
fn wait_stopped(run: &mut Run, job: usize, step: &StepId) {
    let Some(procedure) = run.procedures().nth(job) else {
        return;
    };
    let Some(at) = run.number_of_step(job, step) else {
        return;
    };
    let requirements = procedure.steps[at].requirements();
    let waits = requirements
        .iter()
        .position(|one| matches!(one, Requirement::Wait(_)));
    let progress = &mut run.state.jobs[job];
    progress.waits.retain(|wait| wait.step != *step);
    if progress.marks[at] == Mark::Open {
        if let Some(part) = waits.filter(|&part| progress.step == at && progress.part > part) {
            progress.part = part;
            progress.tightened = 0;
        }
    } else {
        open_again(run, job, at);
        run.call_next(job);
    }
    run.state.finished = false;
    call_others(run);
}

/// Opens a step that was left. What it had set is no longer certain.
fn open_again(run: &mut Run, job: usize, step: usize) {
    let rules = &run.job(job).rules[step];
    let touched: Vec<usize> = rules.sets.iter().chain(&rules.clears).copied().collect();
    let progress = &mut run.state.jobs[job];
    progress.marks[step] = Mark::Open;
    progress.left.retain(|&left| left != step);
    progress.forget(&[step]);
    for condition in touched {
        run.state.truths[condition] = Truth::Uncertain;
    }
}

/// Leaves a step that is not wanted, as if it had been skipped. It touches nothing, and nobody goes back to
/// it: it is open again with the step whose result did not lead there.
fn passed_over(run: &mut Run, step: &StepId) {
    let job = run.state.job;
    let Some(at) = run.number_of_step(job, step) else {
        return;
    };
    let progress = run.progress_mut();
    if progress.marks[at] == Mark::Open {
        progress.marks[at] = Mark::Skipped;
        run.call_next(job);
    }
}

/// Opens what was passed over by the results of a step that is open again.
fn decided_anew(run: &mut Run, job: usize, step: usize) {
    let steps = &run.job(job).procedure.steps;
    let leads_to: Vec<StepId> = steps[step].leads_to().cloned().collect();
    for id in leads_to {
        let Some(to) = run.number_of_step(job, &id) else {
            continue;
        };
        let progress = &mut run.state.jobs[job];
        if progress.marks[to] == Mark::Skipped && !progress.left.contains(&to) {
            progress.marks[to] = Mark::Open;
        }
    }
}

/// Calls a step again whose readings are too old, in place of one that relies on them.
fn readings_aged(run: &mut Run, job: usize, step: &StepId) {
    let Some(at) = run.number_of_step(job, step) else {
        return;
    };
    open_again(run, job, at);
    decided_anew(run, job, at);
    run.state.jobs[job].aged.push(at);
    let called = &run.state.jobs[job];
    let relies = run.job(job).relying[at].contains(&called.step);
    if relies && !called.is_begun() && run.is_ready(job, at) {
        let progress = &mut run.state.jobs[job];
        progress.call_anew(0);
        progress.step = at;
    }
    run.call_next(job);
    run.state.finished = false;
    call_others(run);
}

fn clock_began(run: &mut Run, job: usize, step: &StepId, at: super::Time) {
    if let Some(step) = run.number_of_step(job, step) {
        let clocks = &mut run.state.jobs[job].clocks;
        clocks.retain(|(other, _)| *other != step);
        clocks.push((step, at));
    }
}

/// Goes on to the step's next requirement, or to the next step.
fn part_done(run: &mut Run) {
    let parts = run.step().map_or(0, |step| step.requirements().len());
    let due = run.due_part();
    let progress = run.progress_mut();
    progress.part = due + 1;
    progress.tightened = 0;
    if progress.part >= parts {
        step_left(run, Mark::Done);
    } else {
        resources_taken(run);
    }
}

/// A step that is begun has its resources: the other jobs are called at what can do without.
fn resources_taken(run: &mut Run) {
    if run.step().is_some_and(|step| !step.uses.is_empty()) {
        call_others(run);
    }
}

/// Drops the reading that was out of limits; called while a result is, drops all of the step's.
fn measuring_again(run: &mut Run) {
    run.state.asking = None;
    if !matches!(run.requirement(), Some(Requirement::Result(_))) {
        return;
    }
    let readings = |requirement: &Requirement| matches!(requirement, Requirement::Reading(_));
    let step = run.step().map(|step| step.requirements());
    let first = step.and_then(|requirements| requirements.iter().position(readings));
    let progress = run.progress_mut();
    progress.part = first.unwrap_or(progress.part);
    progress.call_anew(progress.part);
    // A step that is no longer begun stands in nobody's way.
    call_others(run);
}

impl Progress {
    /// Forgets the readings that were taken from `part` on.
    fn call_anew(&mut self, part: usize) {
        self.taken.retain(|taken| taken.part < part);
        self.passed.clear();
        self.again = None;
    }

    /// Forgets until when the readings of `steps` hold, and when they were done.
    fn forget(&mut self, steps: &[usize]) {
        self.hold.retain(|(step, _)| !steps.contains(step));
        self.aged.retain(|step| !steps.contains(step));
        self.clocks.retain(|(step, _)| !steps.contains(step));
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
    let relied_on = !run.job(job).relying[step].is_empty();
    let progress = run.progress_mut();
    if let Some(place) = progress.marks.get_mut(step) {
        *place = mark;
    }
    progress.left.push(step);
    progress.aged.retain(|&aged| aged != step);
    if let Some(until) = progress.again.filter(|_| relied_on && mark == Mark::Done) {
        progress.hold.push((step, until));
    }
    progress.call_anew(0);
    progress.part = 0;
    progress.tightened = 0;
    run.call_next(job);
    call_others(run);
}

/// Calls in every other job what can be done in the present state of the work.
pub(super) fn call_others(run: &mut Run) {
    for job in 0..run.state.jobs.len() {
        if job != run.state.job {
            run.call_next(job);
        }
    }
}

fn wait_ended(run: &mut Run, job: usize, step: &StepId, at: super::Time) {
    // A question is about the called step: that stays called until it is answered.
    let asked = run.state.asking.is_some();
    let waiting = !asked && matches!(run.blocked(), Some(super::Blocked::Wait { .. }));
    on_wait(run, job, step, |wait| {
        wait.ended = Some(at);
        wait.calls(CallOf::Over, at);
    });
    if waiting {
        run.call_next(run.state.job);
    }
    call_others(run);
}

fn moved(run: &mut Run, job: usize, step: &StepId) {
    if job >= run.state.jobs.len() {
        return;
    }
    let at = run.number_of_step(job, step);
    run.state.job = job;
    run.state.asking = None;
    // A step that was left is gone back to.
    if at.is_some_and(|at| run.progress().marks[at] != Mark::Open) {
        went_back(run, step, 0, 0);
        return;
    }
    let progress = run.progress_mut();
    if let Some(at) = at.filter(|&at| at != progress.step) {
        progress.step = at;
        progress.call_anew(0);
        progress.part = 0;
        progress.tightened = 0;
    }
    // The job that was left is called at what can be done.
    call_others(run);
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
    progress.forget(&undone);
    for &step in &undone {
        progress.marks[step] = Mark::Open;
    }
    progress.waits.retain(|wait| !waits.contains(&wait.step));
    if progress.step != at {
        progress.call_anew(0);
    }
    progress.step = at;
    progress.call_anew(part);
    progress.part = part;
    progress.tightened = tightened;
    for step in undone {
        decided_anew(run, job, step);
    }
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
    state.opening = now.opening;
    state.silent = now.silent;
    state.showing = None;
    state.doubt = None;
    // A wait may have come to its end since.
    call_others(run);
}

fn keep_running(progress: &mut Progress, after: &Progress) {
    for wait in &mut progress.waits {
        let same = |other: &&RunningWait| other.step == wait.step && other.from == wait.from;
        if let Some(still) = after.waits.iter().find(same) {
            wait.keep_what_happened(still);
        }
    }
}
