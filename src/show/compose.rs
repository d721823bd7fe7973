//! Makes the view from the run: pure.

use super::view::{
    BoltState, BoltView, CautionLine, CircleView, EarsView, ListView, SayLine, Tone, View, WaitView,
};
use super::{plan_words, shelf_words, wait_words, words};
use crate::clock::Hours;
use crate::hear::meter::Measured;
use crate::procedure::{BoltOrder, Caution, Requirement};
use crate::run::waiting::OfJob;
use crate::run::{Command, Mode, MoreTime, Run, Sayable, Time, Topic, times_called};
use crate::trade::Verdict;
use crate::wording::Wording;

/// What the view needs besides the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Surroundings {
    /// What was just heard or pressed.
    pub heard: String,
    /// What came of it.
    pub outcome: String,
    pub taken: bool,
    pub notices: Vec<String>,
    pub ears: EarsView,
    /// The person's clock.
    pub hours: Hours,
    /// The room is too loud for the program's voice.
    pub drowned: bool,
    /// The words the person says.
    pub wording: Wording,
}

impl Surroundings {
    /// Returns the surroundings in which nothing was said yet and nothing is heard, with UTC for a clock.
    pub fn quiet() -> Surroundings {
        Surroundings {
            heard: String::new(),
            outcome: String::new(),
            taken: true,
            notices: Vec::new(),
            ears: EarsView::default(),
            hours: Hours {
                offset: chrono::Offset::fix(&chrono::Utc),
                change: None,
            },
            drowned: false,
            wording: Wording::default(),
        }
    }
}

/// Returns the picture of the run at `now`.
pub fn view(run: &Run, now: Time, around: &Surroundings) -> View {
    let sayables = around.wording.may_say(run);
    View {
        place: place(run),
        tone: tone(run),
        // A caution that stands before the call has the place to itself.
        call: match run.caution_page() {
            Some(_) => String::new(),
            None => words::call(run),
        },
        detail: detail(run, around),
        cautions: cautions(run),
        may_say: say_lines(run, &sayables),
        heard: around.heard.clone(),
        outcome: around.outcome.clone(),
        taken: around.taken,
        circle: circle(run),
        waits: waits(run, now, &around.hours),
        flash: flashes(run, now, around.drowned),
        list: list(run, &sayables, now, &around.hours),
        notices: notices(run, around),
        ears: around.ears.clone(),
        wants_digits: run.wants().is_some(),
        typed: String::new(),
    }
}

/// Returns the picture that offers an unfinished job. `changed` tells whether the procedure file is
/// another than when the job began.
pub fn offer(run: &Run, begun: Time, changed: bool, around: &Surroundings) -> View {
    let begun = around.hours.shown(begun).format("%d %B, %H:%M");
    let mut detail = format!("Begun {begun}. Left at: {}", words::call(run));
    if changed {
        detail.push_str(" The procedure file has changed since: the job goes on as it was begun.");
    }
    let line = |say: &str, does: &str, key: &str| SayLine {
        say: around.wording.said(say),
        does: does.into(),
        key: key.into(),
        at_foot: true,
    };
    View {
        place: place(run),
        tone: Tone::Question,
        call: "Go on with the unfinished job?".into(),
        detail,
        cautions: Vec::new(),
        may_say: vec![
            line(
                crate::understand::GO_ON,
                "goes on where it was left",
                "Space",
            ),
            line(
                crate::understand::BEGIN_AFRESH,
                "begins a new job; the record stays",
                "N",
            ),
        ],
        heard: around.heard.clone(),
        outcome: around.outcome.clone(),
        taken: around.taken,
        circle: None,
        waits: Vec::new(),
        flash: false,
        list: ListView::default(),
        notices: around.notices.clone(),
        ears: around.ears.clone(),
        wants_digits: false,
        typed: String::new(),
    }
}

/// Puts what the meter reads into the view of the ears. The figure stays until it is another one for
/// certain, so that it does not flicker.
pub fn meter(ears: &mut EarsView, measured: &Measured) {
    let share = |dbfs: f32| ((dbfs + 60.0) / 60.0).clamp(0.0, 1.0);
    ears.level = share(measured.dbfs);
    ears.noise = share(measured.noise);
    let stays = |shown: i32, ratio: f32| (ratio - shown as f32).abs() < 1.0;
    ears.ratio = match (ears.ratio, measured.ratio) {
        (Some(shown), Some(ratio)) if stays(shown, ratio) => Some(shown),
        (_, ratio) => ratio.map(|ratio| ratio.round() as i32),
    };
    ears.too_loud = measured.loudness.words().into();
}

/// What the machine does without, and what is being looked at while the work goes on.
fn notices(run: &Run, around: &Surroundings) -> Vec<String> {
    let asked = run.asked_for().map(shelf_words::looking);
    asked.into_iter().chain(around.notices.clone()).collect()
}

/// Said where the voice would not be heard.
const SCREEN_CALLS: &str = "Too loud for the voice: the screen calls.";

fn detail(run: &Run, around: &Surroundings) -> String {
    let Some(called) = run.called_wait() else {
        let offered = shelf_words::offered(run, &around.wording);
        return words::join(&[&words::detail(run), &offered]);
    };
    let told = wait_words::called_detail(run, called, &around.hours);
    if around.drowned {
        format!("{SCREEN_CALLS} {told}")
    } else {
        told
    }
}

/// Whether the picture of a call flashes up now. It changes once a second, well below the three
/// flashes a second that can harm (WCAG 2.3.1), where the voice is not heard or was not answered.
fn flashes(run: &Run, now: Time, drowned: bool) -> bool {
    let Some(call) = run.called_wait().and_then(|called| called.wait.call) else {
        return false;
    };
    let unanswered = times_called(call.since, now) > 2;
    (drowned || unanswered) && (now - call.since).num_seconds() % 2 == 1
}

fn place(run: &Run) -> String {
    let steps = run.procedure().steps.len();
    let progress = run.progress();
    // Steps can be done in another order than that of the file: where the called one stands is told.
    let at = (progress.step + 1).min(steps);
    let mut place = format!("{} · step {at} of {steps}", run.procedure().title);
    let jobs = run.procedures().len();
    if jobs > 1 {
        place.push_str(&format!(" · job {} of {jobs}", run.state().job + 1));
    }
    if let Some(page) = run.caution_page() {
        place.push_str(&format!(" · caution {} of {}", page.number, page.of));
        return place;
    }
    if let Some(called) = run.bolt().filter(|called| called.passes > 1) {
        place.push_str(&format!(" · pass {} of {}", called.pass + 1, called.passes));
    }
    place
}

/// Returns what the picture of a run is.
pub(super) fn tone(run: &Run) -> Tone {
    let state = run.state();
    if run.called_wait().is_some() {
        return Tone::Due;
    }
    match state.mode {
        Mode::StandingBy => return Tone::Paused,
        Mode::Stopped => return Tone::Stopped,
        Mode::Working => {}
    }
    if run.caution_page().is_some() {
        return Tone::Step;
    }
    if run.asking_hold().is_some() && run.blocked().is_none() {
        return Tone::Hold;
    }
    if state.asking.is_some() || state.giving.is_some() {
        return Tone::Question;
    }
    if state.finished {
        return Tone::Finished;
    }
    if run.step().is_none() {
        return Tone::Waiting;
    }
    if run.blocked().is_some() {
        return match run.blocked() {
            Some(crate::run::Blocked::Wait { .. }) => Tone::Waiting,
            _ => Tone::Question,
        };
    }
    match run.requirement() {
        Some(Requirement::Reading(_)) => Tone::Question,
        Some(Requirement::Result(_)) if run.verdict() != Verdict::Go => Tone::Question,
        Some(Requirement::Wait(_)) if run.own_wait().is_some_and(|wait| wait.ended.is_none()) => {
            Tone::Waiting
        }
        _ => Tone::Step,
    }
}

/// The caution that stands before the call, or those beside it.
fn cautions(run: &Run) -> Vec<CautionLine> {
    let line = |caution: &Caution| CautionLine {
        signal: caution.signal.word().into(),
        text: caution.say.to_string(),
    };
    match run.caution_page() {
        Some(page) => vec![line(page.caution)],
        None => run.cautions_beside().into_iter().map(line).collect(),
    }
}

fn say_lines(run: &Run, sayables: &[Sayable]) -> Vec<SayLine> {
    let foot = at_foot(run, sayables);
    let line = |(number, sayable): (usize, &Sayable)| SayLine {
        say: sayable.say.clone(),
        does: sayable.does.clone(),
        key: match (key(&sayable.command), &sayable.command) {
            // The way forward is the first line; another has a key of its own or none.
            ("Space", Command::Resume) if number > 0 => "S".into(),
            ("Space", _) if number > 0 => String::new(),
            (key, _) => key.into(),
        },
        at_foot: foot.contains(&number),
    };
    sayables.iter().enumerate().map(line).collect()
}

/// The most lines at the foot beside the way forward: so many can be read from 3 m on a screen of 24 inches.
const BESIDE_FORWARD: usize = 4;
/// The same at a hold, whose foot is narrower.
const BESIDE_ANSWER: usize = 2;

/// Returns which lines stand at the foot: the way forward, every answer to what is asked, the way to all the
/// others and the stop, and of what else matters now as many as have room. The rest is found under "assistance
/// required", for many lines are read by nobody from afar.
fn at_foot(run: &Run, sayables: &[Sayable]) -> Vec<usize> {
    let room = match tone(run) {
        Tone::Hold => BESIDE_ANSWER,
        _ => BESIDE_FORWARD,
    };
    let ranked = sayables.iter().enumerate().skip(1);
    let mut ranked: Vec<(u8, usize)> = ranked
        .filter_map(|(number, one)| Some((rank(run, &one.command)?, number)))
        .collect();
    ranked.sort_unstable();
    let answers = ranked.iter().filter(|(rank, _)| *rank == 0).count();
    ranked.truncate(room.max(answers));
    let others = ranked.into_iter().map(|(_, number)| number);
    std::iter::once(0).chain(others).collect()
}

/// How much a command matters now, from 0 for what always stands at the foot; none for what never does.
fn rank(run: &Run, command: &Command) -> Option<u8> {
    let state = run.state();
    let asked = matches!(state.showing, Some(Topic::Time | Topic::Wait { .. }));
    let waits = asked || run.called_wait().is_some();
    let stuck = run.blocked().is_some() || tone(run) == Tone::Waiting;
    let (rank, matters) = match command {
        Command::ConfirmReading | Command::MeasureAgain | Command::AcceptDeviation => (0, true),
        Command::SkipBecause(_) | Command::OpenHold => (0, true),
        Command::StillSo | Command::NoLonger => (0, true),
        Command::Resume | Command::Stop | Command::Assistance => (0, true),
        Command::OtherWork => (1, state.asking.is_none()),
        Command::AddTime(_) => (1, waits),
        Command::StopWait | Command::NewTemperature => (2, waits),
        Command::TimeRemaining => (2, stuck),
        Command::MoveTo(_) => (2, stuck && !waits),
        Command::Disregard => (3, !waits),
        Command::ReadTorque => (4, true),
        Command::PreviousInstruction => (5, !waits && !stuck && state.asking.is_none()),
        _ => (6, false),
    };
    matters.then_some(rank)
}

/// The key that does the same as a command.
fn key(command: &Command) -> &'static str {
    match command {
        Command::WorkComplete | Command::NextInstruction | Command::BeginCountdown => "Space",
        Command::ConfirmReading | Command::Resume => "Space",
        Command::OpenHold => "hold Space",
        Command::NoLonger => "hold Y",
        Command::StillSo => "hold X",
        Command::OtherWork => "O",
        Command::MoveTo(_) | Command::AskFor(_) | Command::AskWait { .. } => "",
        Command::ClockDiffers { .. } | Command::NotOpened { .. } => "",
        Command::AddTime(MoreTime::FiveMinutes) => "E",
        Command::AddTime(MoreTime::OneHour) => "L",
        Command::StopWait => "hold Z",
        Command::NewTemperature => "J",
        Command::PreviousInstruction => "Left",
        Command::SayAgain => "R",
        Command::StandBy => "P",
        Command::Skip => "K",
        Command::TakeTool(_) => "",
        Command::SkipBecause(reason) => match reason {
            crate::run::SkipReason::AlreadyDone => "A",
            crate::run::SkipReason::ComponentMissing => "B",
            crate::run::SkipReason::ToolMissing => "C",
            crate::run::SkipReason::NotRequired => "D",
        },
        Command::TimeRemaining => "T",
        Command::PlannedFinish => "W",
        Command::ReadTorque => "F",
        Command::MeasureAgain => "M",
        Command::AcceptDeviation => "hold Y",
        Command::Disregard => "U",
        Command::PartsList => "G",
        Command::Assistance => "H",
        Command::VoiceNote => "N",
        Command::Stop => "Esc",
        Command::RemainSilent | Command::SpeakAloud => "V",
        Command::Reading(_) | Command::Begin | Command::Tick | Command::Open(_) => "",
        Command::NoteKept { .. } | Command::NoteLost { .. } => "",
    }
}

fn circle(run: &Run) -> Option<CircleView> {
    let shown = run.state().mode == Mode::Working && run.caution_page().is_none();
    let called = run.bolt().filter(|_| shown)?;
    let bolts = called.fasten.bolts.get();
    let done = (run.progress().tightened % bolts) as usize;
    let order = called.fasten.order(called.pass);
    let state = |number: u32| match order.iter().position(|&bolt| bolt == number) {
        Some(turn) if turn < done => BoltState::Done,
        Some(turn) if turn == done => BoltState::Next,
        _ => BoltState::Open,
    };
    Some(CircleView {
        torque: called
            .torque
            .map(|torque| torque.to_string())
            .unwrap_or_default(),
        pass: format!("pass {} of {}", called.pass + 1, called.passes),
        called: called.fasten.called.word().into(),
        columns: match called.fasten.order {
            BoltOrder::Rows(rows) => Some(bolts / rows.max(1)),
            _ => None,
        },
        bolts: (1..=bolts)
            .map(|number| BoltView {
                number,
                state: state(number),
            })
            .collect(),
    })
}

fn waits(run: &Run, now: Time, hours: &Hours) -> Vec<WaitView> {
    let mut waits: Vec<_> = run.waits_of_jobs().collect();
    waits.sort_by_key(|one| {
        let wait = one.wait;
        (wait.ended.is_some(), wait.standing.is_some(), wait.due)
    });
    let view = |one: OfJob<'_>| {
        let wait = one.wait;
        let whole = (wait.due - wait.from).num_milliseconds().max(1) as f32;
        let passed = (now - wait.from).num_milliseconds() as f32;
        WaitView {
            name: wait_words::named(run, one, hours),
            left: wait_words::left(wait, now, hours),
            share: if wait.ended.is_some() {
                1.0
            } else {
                (passed / whole).clamp(0.0, 1.0)
            },
            over: wait.ended.is_some(),
        }
    };
    waits.into_iter().map(view).collect()
}

fn list(run: &Run, sayables: &[Sayable], now: Time, hours: &Hours) -> ListView {
    let plain = |title: &str, lines: Vec<String>| ListView {
        title: title.into(),
        lines,
        ..ListView::default()
    };
    match run.state().showing {
        Some(Topic::Plan) => plan_words::shown(run, now, hours),
        Some(Topic::Parts) => plain("To gather", words::gather(&run.procedure().gather)),
        Some(Topic::Help) => {
            let mut lines: Vec<String> = sayables
                .iter()
                .map(|s| format!("{}: {}", s.say, s.does))
                .collect();
            lines.push("Not heard? Press the key beside the words. Danger? Say stop, stop.".into());
            plain("What may be said now", lines)
        }
        Some(Topic::Time) => {
            let told = words::times(run, now);
            plain("Time remaining", vec![told])
        }
        Some(Topic::Wait { job, step }) => {
            let told = words::time_of(run, job, step, now);
            plain("Time remaining", vec![told])
        }
        Some(Topic::Torque) => plain("Torque", vec![words::torque(run)]),
        Some(Topic::Call) | None => ListView::default(),
    }
}

#[cfg(test)]
#[path = "compose_tests.rs"]
mod tests;
