//! Procedures that are not open but can be asked for by name, while the work goes on.
//!
//! Which they are is told to the run, like the tools. To ask for one only begins that: the shell has the
//! checker look at it together with what is open, and the answer comes as a command of its own. What is
//! opened is called by nobody until somebody moves to it. Heard wrong, nothing is lost: the name is asked
//! back, and a job more is open that nobody has begun.
//!
//! What the checker shows of the procedures open together from the start holds here too: a job that nobody
//! has begun stands in nobody's way, so every state after the opening could also have been reached with
//! the job open from the beginning.

use std::sync::Arc;

use super::command::Opened;
use super::event::Event;
use super::refusal::{Decision, refuse, way_forward};
use super::state::Run;
use crate::procedure::Step;

impl Run {
    /// Lays down which procedures can be asked for.
    pub fn lay_on_shelf(&mut self, shelf: Arc<Vec<Opened>>) {
        self.shelf = shelf;
    }

    /// Returns the procedures that can be asked for and are not open yet, with their numbers.
    pub fn on_shelf(&self) -> impl Iterator<Item = (usize, &Opened)> {
        let all = self.shelf.iter().enumerate();
        all.filter(|(_, one)| {
            let title = &one.procedure.title;
            self.procedures().all(|open| open.title != *title)
        })
    }

    /// Returns the numbers of those of which a step could begin now: the conditions of the work allow it,
    /// what it uses is free, and it takes no more people than the open jobs.
    pub fn fit_meanwhile(&self) -> Vec<usize> {
        let people = |steps: &[Step]| steps.iter().map(Step::takes_people).max();
        let here = self.procedures().map(|open| people(&open.steps)).max();
        let here = here.flatten().unwrap_or(1);
        let begins = |one: &Opened| {
            let mut with = self.clone();
            with.open(one.procedure.clone());
            let job = with.state.jobs.len() - 1;
            let step = with.state.jobs[job].step;
            let called = one.procedure.steps.get(step);
            called.is_some_and(|step| step.takes_people() <= here) && with.is_ready(job, step)
        };
        let fit = self.on_shelf().filter(|(_, one)| begins(one));
        fit.map(|(number, _)| number).collect()
    }

    /// Returns the procedure that was asked for and is being looked at.
    pub fn asked_for(&self) -> Option<&Opened> {
        let file = self.state.opening.as_ref()?;
        self.shelf.iter().find(|one| one.file == *file)
    }
}

/// Asks for a procedure of the shelf.
pub(super) fn ask_for(run: &Run, number: usize) -> Decision {
    if run.state.opening.is_some() {
        return refuse(
            "Another procedure is being looked at",
            "Ask again when that is answered",
        );
    }
    match run.on_shelf().find(|(other, _)| *other == number) {
        Some((_, one)) => Ok(vec![Event::OpeningAsked {
            file: one.file.clone(),
            title: one.procedure.title.clone(),
        }]),
        None => refuse("That procedure is open already", way_forward(run)),
    }
}

/// Ends the asking without opening.
pub(super) fn not_opened(run: &Run, why: &str) -> Decision {
    match &run.state.opening {
        Some(file) => Ok(vec![Event::OpeningRefused {
            file: file.clone(),
            why: why.to_owned(),
        }]),
        None => refuse("No procedure was asked for", way_forward(run)),
    }
}
