//! The cautions of a call, and those that stand before it as pages of their own because they do not fit
//! beside it.
//!
//! How much fits is told to the run like the tools, by who knows the screen ([`Run::show_in`]); without it
//! there are no pages. What has been taken notice of is no part of the state: after a restart the pages
//! are shown again. A page claims nothing and keeps every claim back, so no order of the work is possible
//! with pages that is not without them.

use chrono::TimeDelta;

use super::event::Event;
use super::refusal::{Decision, refuse, way_forward};
use super::state::{Mode, Run, Truth};
use super::{By, Command, Order, Time};
use crate::procedure::{Caution, Condition, Requirement, Text};

/// For so long after a page a key goes on to nothing: the second stroke of a double one is no claim. A
/// double stroke has its second within half a second (common practice, no source).
const DOUBLE_STROKE: TimeDelta = TimeDelta::seconds(1);

/// A call of more letters than this takes room from what stands around it.
pub const LONG_CALL: usize = 90;

/// How much fits beside a call in type that can be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Room {
    pub open: Beside,
    /// Beside waits that are shown.
    pub with_waits: Beside,
    /// Beside the drawing of a circle.
    pub drawn: Beside,
    /// Over a call longer than [`LONG_CALL`].
    pub long: Beside,
    pub held: Beside,
}

/// How much fits in one place: for one caution, for each of two, and so on.
pub type Beside = Vec<Lines>;

/// How many lines of how many letters each caution may take, and the call beneath.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lines {
    pub lines: usize,
    pub letters: usize,
    pub call_lines: usize,
    pub call_letters: usize,
}

/// See the head of this file.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Pages {
    room: Option<Room>,
    /// The cautions that were taken notice of and still apply.
    known: Vec<Text>,
    /// How many of them before the called step.
    passed: usize,
    /// When the last one was.
    at: Option<Time>,
}

/// A caution that stands before the call.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CautionPage<'a> {
    pub caution: &'a Caution,
    /// From 1.
    pub number: usize,
    pub of: usize,
}

impl Run {
    /// Tells how much fits beside a call; cautions that do not stand before it as pages.
    pub fn show_in(&mut self, room: Room) {
        self.pages.room = Some(room);
    }

    /// Shows the pages of the called step again, as after a restart.
    pub fn show_cautions_again(&mut self) {
        self.pages.known.clear();
        self.pages.passed = 0;
        self.pages.at = None;
    }

    /// Returns every caution of the call: of the job on its first step, of the step, of the conditions
    /// that hold.
    pub fn cautions(&self) -> Vec<&Caution> {
        let first = self.progress().left.is_empty();
        let of_job = self.procedure().cautions.iter().filter(|_| first);
        let of_step = self.step().into_iter().flat_map(|step| &step.cautions);
        let mut all: Vec<&Caution> = Vec::new();
        for caution in of_job.chain(of_step).chain(self.cautions_in_force()) {
            if !all.iter().any(|known| known.say == caution.say) {
                all.push(caution);
            }
        }
        all
    }

    /// Returns the cautions of the conditions that hold, or of which nobody knows.
    pub fn cautions_in_force(&self) -> Vec<&Caution> {
        let in_force = |condition: &&Condition| self.truth(&condition.name) != Truth::Clear;
        let conditions = self.conditions().iter().filter(in_force);
        conditions
            .flat_map(|condition| &condition.cautions)
            .collect()
    }

    /// Returns the cautions that are shown beside the call: all where they fit, else the gravest that do.
    pub fn cautions_beside(&self) -> Vec<&Caution> {
        let mut all = self.cautions();
        let Some(room) = &self.pages.room else {
            return all;
        };
        if !self.fit(&all, room) {
            all.sort_by_key(|caution| caution.signal);
            while !self.fit(&all, room) {
                all.pop();
            }
        }
        all
    }

    /// Returns the caution that stands before the call now, unless something else comes first.
    pub fn caution_page(&self) -> Option<CautionPage<'_>> {
        let room = self.pages.room.as_ref()?;
        let state = self.state();
        let free = state.begun
            && state.mode == Mode::Working
            && state.asking.is_none()
            && state.giving.is_none()
            && !state.finished;
        if !free || self.step().is_none() || self.progress().is_begun() {
            return None;
        }
        let all = self.cautions();
        if self.fit(&all, room) || self.blocked().is_some() || self.called_wait().is_some() {
            return None;
        }
        let left: Vec<&Caution> = all
            .into_iter()
            .filter(|caution| !self.pages.known.contains(&caution.say))
            .collect();
        Some(CautionPage {
            caution: left.first()?,
            number: self.pages.passed + 1,
            of: self.pages.passed + left.len(),
        })
    }

    /// Tells whether all of `cautions` can be read beside the call, and the call with them.
    fn fit(&self, cautions: &[&Caution], room: &Room) -> bool {
        let Some(last) = cautions.len().checked_sub(1) else {
            return true;
        };
        let call = self.words_of_call();
        let place = match self.requirement() {
            Some(Requirement::Hold(_)) => &room.held,
            Some(Requirement::Fasten(_)) => &room.drawn,
            _ if call.chars().count() > LONG_CALL => &room.long,
            _ if self.waits().next().is_some() => &room.with_waits,
            _ => &room.open,
        };
        let Some(lines) = place.get(last) else {
            return false;
        };
        let fits = |caution: &&Caution| holds(lines.lines, lines.letters, caution.say.as_str());
        holds(lines.call_lines, lines.call_letters, &call) && cautions.iter().all(fits)
    }

    /// Returns the words of the call, or others as long.
    fn words_of_call(&self) -> String {
        let say = || self.step().map_or_else(String::new, |s| s.say.to_string());
        match self.requirement() {
            Some(Requirement::Hold(hold)) if self.progress().part > 0 => hold.ask.to_string(),
            Some(Requirement::Fasten(_)) => match self.bolt().and_then(|called| called.torque) {
                Some(torque) => format!("Bolt 1: {torque}"),
                None => say(),
            },
            Some(Requirement::Reading(reading)) => format!("{}?", reading.name),
            Some(Requirement::Result(_)) => {
                let results = self.results().into_iter();
                results
                    .map(|(_, one)| one.result)
                    .next()
                    .unwrap_or_default()
            }
            _ => say(),
        }
    }
}

/// Tells whether a text takes no more than so many lines of so many letters.
fn holds(most: usize, letters: usize, text: &str) -> bool {
    lines(text, letters).is_some_and(|lines| lines <= most)
}

/// Returns how many lines of `letters` a text takes; none where a word is longer than a line.
fn lines(text: &str, letters: usize) -> Option<usize> {
    let (mut lines, mut taken) = (1, 0);
    for word in text.split_whitespace() {
        let long = word.chars().count();
        if long > letters {
            return None;
        }
        let after = if taken == 0 { long } else { taken + 1 + long };
        (lines, taken) = if after > letters {
            (lines + 1, long)
        } else {
            (lines, after)
        };
    }
    Some(lines)
}

/// Decides what is said while a caution stands before the call; none where nothing is claimed by it.
pub(super) fn before_the_call(run: &Run, order: &Order, now: Time) -> Option<Decision> {
    let pages = &run.pages;
    let tapped = order.by == By::Key
        && matches!(
            order.command,
            Command::NextInstruction | Command::WorkComplete | Command::BeginCountdown
        );
    let lately = pages
        .at
        .is_some_and(|at| pages.passed > 0 && now >= at && now - at < DOUBLE_STROKE);
    if tapped && lately {
        return Some(refuse(
            "The key was pressed twice: the second did nothing",
            "Look, then press again",
        ));
    }
    let page = run.caution_page()?;
    let step = run.step()?;
    Some(match order.command {
        Command::NextInstruction => Ok(vec![Event::CautionKnown {
            step: step.id.clone(),
            caution: page.caution.say.clone(),
            at: now,
        }]),
        Command::WorkComplete => Ok(vec![Event::Questioned {
            question: format!(
                "A caution comes before the step, {} of {}. Taken notice? Say \"next instruction\".",
                page.number, page.of
            ),
        }]),
        _ => refuse("A caution comes before the step", way_forward(run)),
    })
}

/// Returns to the page before, where one of the called step was passed and nothing of it is begun.
pub(super) fn page_before(run: &Run, command: &Command) -> Option<Decision> {
    let step = run.step().filter(|_| run.can_turn_back())?;
    let turns = match command {
        Command::PreviousInstruction => run.caution_page().is_some(),
        Command::Disregard => run.state().asking.is_none(),
        _ => false,
    };
    turns.then(|| {
        Ok(vec![Event::CautionAgain {
            step: step.id.clone(),
        }])
    })
}

impl Run {
    /// Tells whether a page before the called step can be gone back to.
    pub(super) fn can_turn_back(&self) -> bool {
        self.pages.passed > 0 && !self.progress().is_begun()
    }

    /// Keeps the pages with what is called; `called` was before `event`.
    pub(super) fn turn_pages(&mut self, called: (usize, usize), event: &Event) {
        match event {
            Event::CautionKnown { caution, at, .. } => {
                self.pages.known.push(caution.clone());
                self.pages.passed += 1;
                self.pages.at = Some(*at);
                return;
            }
            Event::CautionAgain { .. } => {
                self.pages.known.pop();
                self.pages.passed = self.pages.passed.saturating_sub(1);
                return;
            }
            _ if self.pages.known.is_empty() => return,
            // Who comes back to the work, or to a step, sees all of its cautions.
            Event::Moved { .. } | Event::WentBack { .. } | Event::Stopped => {
                return self.show_cautions_again();
            }
            _ if called == (self.state.job, self.progress().step) => return,
            _ => {}
        }
        self.pages.passed = 0;
        self.pages.at = None;
        let in_force = self.cautions_in_force();
        let holds = |known: &&Text| in_force.iter().any(|caution| caution.say == **known);
        let known: Vec<Text> = self.pages.known.iter().filter(holds).cloned().collect();
        self.pages.known = known;
    }
}
