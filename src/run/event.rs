//! What has happened in a run. Events are the truth; the state is their fold.

use chrono::TimeDelta;

use super::Time;
use super::command::{Command, Opened, SkipReason};
use super::figure::Figure;
use super::in_hand::Held;
use crate::procedure::{StepId, Text};
use crate::trade::Verdict;

/// One thing that has happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    Began,
    /// The person claimed what was called as done.
    Claimed {
        step: StepId,
        claim: Claim,
    },
    /// A caution that stands before the call was taken notice of.
    CautionKnown {
        step: StepId,
        caution: Text,
        at: Time,
    },
    /// The last of these is shown again.
    CautionAgain {
        step: StepId,
    },
    WaitBegan {
        step: StepId,
        name: Text,
        from: Time,
        due: Time,
        /// Its latest end, where the procedure has one.
        latest: Option<Time>,
    },
    WaitEnded {
        job: usize,
        step: StepId,
        name: Text,
        at: Time,
    },
    /// The latest end of a wait comes near, and what comes after it is not done.
    WaitWarned {
        job: usize,
        step: StepId,
        name: Text,
        at: Time,
    },
    /// The latest end of a wait has passed, and what comes after it is not done.
    WaitTooLate {
        job: usize,
        step: StepId,
        name: Text,
        at: Time,
    },
    /// The ends of a wait were moved.
    WaitMoved {
        job: usize,
        step: StepId,
        name: Text,
        due: Time,
        latest: Option<Time>,
        /// What is left of it by its sheet, where it is too cold for it to go on.
        standing: Option<TimeDelta>,
        why: Moved,
    },
    /// The person stopped a wait before it was over: its step is to be done again.
    WaitStopped {
        job: usize,
        step: StepId,
        name: Text,
    },
    /// The person answered what was called of a wait.
    WaitAnswered {
        job: usize,
        step: StepId,
        name: Text,
    },
    /// The person wants to tell the temperature that a wait goes by: the wait's job and step.
    TemperatureAsked {
        job: usize,
        step: StepId,
    },
    /// The temperature was confirmed.
    TemperatureTaken {
        step: StepId,
        name: Text,
        figure: Figure,
    },
    /// The wall clock and the time that has passed differ: it was set, or the machine slept.
    ClockDiffered {
        wall: Time,
        passed: Time,
    },
    /// A figure was understood and is read back.
    ReadingHeard {
        step: StepId,
        name: Text,
        figure: Figure,
    },
    /// The figure was confirmed and is within the limits.
    ReadingTaken {
        step: StepId,
        name: Text,
        figure: Figure,
    },
    /// The figure was confirmed and is out of the limits: a decision is due.
    ReadingOutside {
        step: StepId,
        name: Text,
        figure: Figure,
    },
    /// The person goes on with a reading out of limits.
    DeviationAccepted {
        step: StepId,
        name: Text,
        figure: Figure,
    },
    /// A reading is dropped and asked for again.
    MeasuringAgain {
        step: StepId,
    },
    /// The readings of a step that is done have become too old for what relies on them: it is called
    /// again.
    ReadingsAged {
        job: usize,
        step: StepId,
        at: Time,
    },
    /// A step was done, from whose end a later one counts.
    ClockBegan {
        job: usize,
        step: StepId,
        at: Time,
    },
    /// The time since then, in place of a reading of the called step.
    ClockRead {
        step: StepId,
        name: Text,
        seconds: i64,
    },
    /// A sum was worked out.
    Reckoned {
        step: StepId,
        /// What the sum is called: `climate for painting`.
        name: String,
        /// The result as it was shown and spoken.
        result: String,
        verdict: Verdict,
        formula: String,
        source: String,
        /// How long its readings hold.
        again: Option<Time>,
    },
    /// An earlier step, or an earlier part or bolt of this one, is called again.
    WentBack {
        to: StepId,
        part: usize,
        tightened: u32,
    },
    SkipAsked {
        step: StepId,
    },
    Skipped {
        step: StepId,
        reason: SkipReason,
    },
    /// A step is not wanted: the result of an earlier one does not lead to it.
    PassedOver {
        step: StepId,
    },
    StoodBy,
    Resumed,
    Stopped,
    /// The last thing that took effect is taken back.
    TakenBack,
    /// The person asked to be told something.
    Told(Topic),
    /// The wrong way forward was said; the right one is asked for.
    Questioned {
        question: String,
    },
    /// Heard on doubt: said again before `until`, it counts.
    Doubted {
        command: Command,
        until: Time,
    },
    FellSilent,
    SpokeUp,
    NoteBegan,
    NoteKept {
        file: String,
        seconds: u32,
    },
    NoteLost {
        why: String,
    },
    /// One more procedure is open on the work.
    Opened(Box<Opened>),
    /// The person asked to open a procedure: whether that is safe is being looked at.
    OpeningAsked {
        file: String,
        title: Text,
    },
    /// It is not opened.
    OpeningRefused {
        file: String,
        why: String,
    },
    /// The person has this wrench and adapter in hand.
    ToolTaken(Held),
    /// Another step, or another job, is called. A step that was left is gone back to.
    Moved {
        job: usize,
        step: StepId,
        /// The run moved on by itself: it is taken back with what led to it.
        follows: bool,
    },
    /// The person said whether a condition that nobody knew of holds.
    Settled {
        condition: Text,
        truth: bool,
    },
    /// After a stop, the last hold's answer was given again.
    HeldAgain {
        step: StepId,
        answer: String,
    },
    Finished,
}

/// Why the ends of a wait were moved.
#[derive(Debug, Clone, PartialEq)]
pub enum Moved {
    /// The person added time.
    Added { seconds: i64 },
    /// It goes by this temperature from now on, by this rule.
    Temperature { celsius: f64, by: String },
}

/// What was claimed as done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Claim {
    /// Taken notice of.
    Known,
    Work,
    /// A bolt in a pass, both counted from 1.
    Bolt {
        pass: u32,
        bolt: u32,
    },
    /// The work after a wait that is over.
    WaitOver,
    /// The hold's own answer was given.
    Hold {
        answer: String,
    },
}

/// What the person can ask to be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Topic {
    Call,
    Time,
    Torque,
    Parts,
    Plan,
    Help,
    /// One wait: its job and step, by their numbers.
    Wait {
        job: usize,
        step: usize,
    },
}

impl Event {
    /// Returns the event's name in the trace and the record.
    pub fn name(&self) -> &'static str {
        match self {
            Event::Began => "began",
            Event::Claimed {
                claim: Claim::Known,
                ..
            } => "known",
            Event::Claimed {
                claim: Claim::Work, ..
            } => "work done",
            Event::Claimed {
                claim: Claim::Bolt { .. },
                ..
            } => "bolt done",
            Event::Claimed {
                claim: Claim::WaitOver,
                ..
            } => "wait passed",
            Event::Claimed {
                claim: Claim::Hold { .. },
                ..
            } => "hold opened",
            Event::CautionKnown { .. } => "caution known",
            Event::CautionAgain { .. } => "caution again",
            Event::WaitBegan { .. } => "wait began",
            Event::WaitEnded { .. } => "wait ended",
            Event::WaitWarned { .. } => "wait ends soon",
            Event::WaitTooLate { .. } => "wait too late",
            Event::WaitMoved { .. } => "wait moved",
            Event::WaitStopped { .. } => "wait stopped",
            Event::WaitAnswered { .. } => "wait answered",
            Event::TemperatureAsked { .. } => "temperature asked",
            Event::TemperatureTaken { .. } => "temperature taken",
            Event::ClockDiffered { .. } => "clock differed",
            Event::ReadingHeard { .. } => "reading heard",
            Event::ReadingTaken { .. } => "reading taken",
            Event::ReadingOutside { .. } => "reading out of limits",
            Event::DeviationAccepted { .. } => "deviation accepted",
            Event::MeasuringAgain { .. } => "measuring again",
            Event::ReadingsAged { .. } => "readings too old",
            Event::ClockBegan { .. } => "clock began",
            Event::ClockRead { .. } => "clock read",
            Event::Reckoned { .. } => "reckoned",
            Event::WentBack { .. } => "went back",
            Event::SkipAsked { .. } => "skip asked",
            Event::Skipped { .. } => "skipped",
            Event::PassedOver { .. } => "passed over",
            Event::StoodBy => "standing by",
            Event::Resumed => "resumed",
            Event::Stopped => "stopped",
            Event::TakenBack => "taken back",
            Event::Told(_) => "told",
            Event::Questioned { .. } => "questioned",
            Event::Doubted { .. } => "asked back",
            Event::FellSilent => "voice off",
            Event::SpokeUp => "voice on",
            Event::NoteBegan => "note began",
            Event::NoteKept { .. } => "note kept",
            Event::NoteLost { .. } => "note lost",
            Event::Opened(_) => "opened",
            Event::OpeningAsked { .. } => "opening asked",
            Event::OpeningRefused { .. } => "opening refused",
            Event::ToolTaken(_) => "tool taken",
            Event::Moved { .. } => "moved",
            Event::Settled { .. } => "settled",
            Event::HeldAgain { .. } => "hold answered again",
            Event::Finished => "finished",
        }
    }

    /// Tells whether the event is one that "disregard" takes back.
    pub fn can_be_taken_back(&self) -> bool {
        matches!(
            self,
            Event::Claimed { .. }
                | Event::WaitBegan { .. }
                | Event::WaitStopped { .. }
                | Event::WaitAnswered { .. }
                | Event::TemperatureAsked { .. }
                | Event::TemperatureTaken { .. }
                // What moves with a temperature is taken back with it.
                | Event::WaitMoved { why: Moved::Added { .. }, .. }
                | Event::ReadingHeard { .. }
                | Event::ReadingTaken { .. }
                | Event::ReadingOutside { .. }
                | Event::DeviationAccepted { .. }
                | Event::MeasuringAgain { .. }
                | Event::WentBack { .. }
                | Event::SkipAsked { .. }
                | Event::Skipped { .. }
                | Event::ToolTaken(_)
                | Event::Moved { follows: false, .. }
                | Event::Settled { .. }
        )
    }
}
