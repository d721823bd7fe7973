//! The view: everything that a face shows, as plain values. Faces lay it out and decide nothing.

use serde::Serialize;

/// What one picture of the face holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct View {
    /// Where we are: procedure, step n of m, pass.
    pub place: String,
    pub tone: Tone,
    /// The call, in the largest type that fits.
    pub call: String,
    /// Below the call, smaller: the rest of the step, or why a thing was refused. May be empty.
    pub detail: String,
    pub cautions: Vec<CautionLine>,
    /// What may be said now, the way forward first.
    pub may_say: Vec<SayLine>,
    /// What was just heard or pressed; empty when nothing was yet.
    pub heard: String,
    /// What came of it.
    pub outcome: String,
    /// Whether what was heard was taken.
    pub taken: bool,
    /// Whether a reading is wanted, so that digits are taken from keys and pedals.
    pub wants_digits: bool,
    /// What has been keyed in so far of a reading; empty otherwise.
    pub typed: String,
    pub circle: Option<CircleView>,
    /// What is called of a wait flashes up just now.
    pub flash: bool,
    /// Running and ended waits, the next one due first.
    pub waits: Vec<WaitView>,
    /// A list over the call: parts, help, reasons, a pedal's choice; empty otherwise.
    pub list: ListView,
    /// What the machine does without, each in one line (no microphone, no model, no voice).
    pub notices: Vec<String>,
    pub ears: EarsView,
}

impl View {
    /// Returns what stands at the foot, with its place among all that may be said: the way forward first.
    pub fn at_foot(&self) -> impl Iterator<Item = (usize, &SayLine)> {
        let lines = self.may_say.iter().enumerate();
        lines.filter(|(_, line)| line.at_foot)
    }
}

/// What the picture is; each looks different at a glance, without colour too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Tone {
    /// A step to do or know.
    Step,
    /// A hold: takes the whole face.
    Hold,
    /// The program asks: read-back, decision, reason, doubt, what to do with an unfinished job.
    Question,
    /// A wait runs and nothing else is to be done.
    Waiting,
    /// An end of a wait is called: takes the whole face until it is answered.
    Due,
    /// Standing by.
    Paused,
    /// Stopped by "stop stop".
    Stopped,
    /// The job is finished.
    Finished,
}

impl Tone {
    /// Returns the name of the tone on a face; a step needs none, and a hold writes its own.
    pub fn word(self) -> &'static str {
        match self {
            Tone::Step | Tone::Hold => "",
            Tone::Question => "Question",
            Tone::Waiting => "Waiting",
            Tone::Due => "Time",
            Tone::Paused => "Standing by",
            Tone::Stopped => "Stopped",
            Tone::Finished => "Finished",
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CautionLine {
    /// `DANGER`, `WARNING`, `CAUTION` or `NOTICE`.
    pub signal: String,
    pub text: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SayLine {
    /// The words to say.
    pub say: String,
    /// What saying it does.
    pub does: String,
    /// The key that does the same, as shown: `Space`, `hold Space`, `B`.
    pub key: String,
    /// Whether it stands at the foot of a face; every line stands in the list of what may be said.
    pub at_foot: bool,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CircleView {
    /// `77 N·m`; empty for a pass without a figure.
    pub torque: String,
    /// `pass 2 of 3`.
    pub pass: String,
    /// `nut`, `bolt`, `screw`.
    pub called: String,
    /// How many stand in a row, counted along the rows from the top left; none in a circle.
    pub columns: Option<u32>,
    /// In place order, bolt 1 first: clockwise from the top in a circle.
    pub bolts: Vec<BoltView>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct BoltView {
    pub number: u32,
    pub state: BoltState,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum BoltState {
    /// Still to come in this pass.
    Open,
    /// Called now.
    Next,
    /// Done in this pass.
    Done,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaitView {
    pub name: String,
    /// `12:30`, `1 h 05`, or `over since 14:10`.
    pub left: String,
    /// How much has passed, 0 to 1.
    pub share: f32,
    pub over: bool,
}

#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct ListView {
    pub title: String,
    pub lines: Vec<String>,
    /// The marked line, where one can be chosen with the pedal.
    pub marked: Option<usize>,
    /// The plan as a picture, below the lines.
    pub plan: Option<PlanView>,
}

/// A plan over time, from what runs now to the finish. Places on it are from 0 to 1.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanView {
    /// The jobs, a row each.
    pub names: Vec<String>,
    pub bars: Vec<PlanBar>,
    /// Places and hours on the axis.
    pub marks: Vec<(f32, String)>,
    pub now: f32,
}

/// A step or a wait of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlanBar {
    pub row: usize,
    pub from: f32,
    pub to: f32,
    /// How late it could end.
    pub latest: f32,
    /// A later end here is a later finish.
    pub critical: bool,
    /// Nobody works on it.
    pub wait: bool,
}

/// The state of hearing, for the small meter at the foot.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct EarsView {
    /// `listening`, `speaking, hears only a stop`, `no microphone: …`.
    pub state: String,
    pub listening: bool,
    /// Level of the last moment, 0 to 1 over −60 to 0 dBFS.
    pub level: f32,
    /// Level of the room without speech, on the same scale.
    pub noise: f32,
    /// Speech above the room, in whole dB; none before anybody spoke.
    pub ratio: Option<i32>,
    /// What the noise makes impossible, and what to use instead; empty where nothing.
    pub too_loud: String,
}

impl EarsView {
    /// Returns what stands beside the meter: what the noise makes impossible, or the state.
    pub fn line(&self) -> &str {
        if self.listening && !self.too_loud.is_empty() {
            &self.too_loud
        } else {
            &self.state
        }
    }
}
