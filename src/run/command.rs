//! What can be asked of the run: one enum, whatever it came from.

use super::Time;
use super::figure::Figure;
use crate::procedure::Procedure;

/// A command. Speech, keys, pedal, touch and the clock all end in one of these.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// Claims the called step or bolt as done.
    WorkComplete,
    /// Goes on from what is only to be known.
    NextInstruction,
    /// Calls the bolt or step before again.
    PreviousInstruction,
    SayAgain,
    StandBy,
    Resume,
    /// Asks to skip the step; a reason must follow.
    Skip,
    SkipBecause(SkipReason),
    BeginCountdown,
    TimeRemaining,
    /// Says when all will be finished.
    PlannedFinish,
    ReadTorque,
    Reading(Figure),
    ConfirmReading,
    /// After a reading out of limits: measures again.
    MeasureAgain,
    /// After a reading out of limits: goes on with it, as a deviation.
    AcceptDeviation,
    /// Takes back what was just understood.
    Disregard,
    PartsList,
    Assistance,
    VoiceNote,
    /// Stops everything that moves.
    Stop,
    /// Turns the program's own voice off.
    RemainSilent,
    /// Turns it on again.
    SpeakAloud,
    /// The hold's own answer.
    OpenHold,
    /// The wrench or adapter of this name is in hand.
    TakeTool(String),
    /// Leaves the called step for later and calls what else can be done now.
    OtherWork,
    /// Calls another open job, by its number.
    MoveTo(usize),
    /// The condition that nobody knew of does hold.
    StillSo,
    /// It does not hold.
    NoLonger,
    /// One more procedure is opened on the work.
    Open(Box<Opened>),
    /// Asks to open the procedure of this number that lies on the shelf ([`super::Run::on_shelf`]).
    AskFor(usize),
    /// The procedure that was asked for is not opened, and why.
    NotOpened {
        why: String,
    },
    /// Asks for one wait by its name: its job and step, by their numbers.
    AskWait {
        job: usize,
        step: usize,
    },
    /// Adds time to the wait that is meant.
    AddTime(MoreTime),
    /// Stops the wait that is meant: it is not over, and its step is called again.
    StopWait,
    /// Asks to tell the temperature that a wait goes by.
    NewTemperature,
    /// The wall clock and the time that has passed differ: what the clock reads, and what it would read
    /// had nobody set it.
    ClockDiffers {
        wall: Time,
        passed: Time,
    },
    /// The job is begun.
    Begin,
    /// The clock went on.
    Tick,
    /// A voice note is on disk.
    NoteKept {
        file: String,
        seconds: u32,
    },
    /// A voice note could not be kept.
    NoteLost {
        why: String,
    },
}

/// A procedure that is opened beside others.
#[derive(Debug, Clone, PartialEq)]
pub struct Opened {
    /// The file's name and text, by which the record finds and reads it again.
    pub file: String,
    pub text: String,
    pub procedure: Procedure,
}

/// How much is added to a wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MoreTime {
    FiveMinutes,
    OneHour,
}

impl MoreTime {
    /// Returns the time added, in seconds.
    pub fn seconds(self) -> i64 {
        match self {
            MoreTime::FiveMinutes => 300,
            MoreTime::OneHour => 3600,
        }
    }
}

/// Why a step is skipped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SkipReason {
    AlreadyDone,
    ComponentMissing,
    ToolMissing,
    NotRequired,
}

/// Who gave a command, and how surely.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Heard, and believed.
    Voice,
    /// Heard on doubt: asked back, and counted when said again.
    DoubtfulVoice,
    /// A key, pedal or touch.
    Key,
    /// A key, pedal or touch pressed and held deliberately.
    HeldKey,
    Clock,
    Program,
}

impl By {
    /// Returns the word for the record and the trace.
    pub fn word(self) -> &'static str {
        match self {
            By::Voice | By::DoubtfulVoice => "voice",
            By::Key | By::HeldKey => "key",
            By::Clock => "clock",
            By::Program => "program",
        }
    }
}

/// A command with who gave it.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    pub command: Command,
    pub by: By,
}

impl SkipReason {
    pub const ALL: [SkipReason; 4] = [
        SkipReason::AlreadyDone,
        SkipReason::ComponentMissing,
        SkipReason::ToolMissing,
        SkipReason::NotRequired,
    ];

    /// Returns the reason as it is said.
    pub fn words(self) -> &'static str {
        match self {
            SkipReason::AlreadyDone => "already done",
            SkipReason::ComponentMissing => "component missing",
            SkipReason::ToolMissing => "tool missing",
            SkipReason::NotRequired => "not required",
        }
    }
}
