//! What can be said, and what may be said now.

use super::blocked::Blocked;
use super::command::{Command, MoreTime, SkipReason};
use super::state::{Asking, Mode, Run};
use crate::procedure::{Phrase, Reading, Requirement, Step};
use crate::trade::Verdict;

/// How the person says whether a condition holds, where the procedure has no words of its own for it.
const STILL_SO: &str = "condition remains";
const NO_LONGER: &str = "condition cleared";

/// Something that would be accepted now.
#[derive(Debug, Clone, PartialEq)]
pub struct Sayable {
    pub say: String,
    pub does: String,
    pub command: Command,
}

/// Whether both are standard phrases for the same command, as "stop stop" and "stop stop stop" are.
pub fn are_one_command(one: &str, other: &str) -> bool {
    of_standard(one).is_some_and(|command| of_standard(other) == Some(command))
}

/// Every phrase that is the same in all procedures, with its command.
pub fn standard() -> Vec<(&'static str, Command)> {
    let mut all = vec![
        ("work complete", Command::WorkComplete),
        ("next instruction", Command::NextInstruction),
        ("previous instruction", Command::PreviousInstruction),
        ("say again", Command::SayAgain),
        ("standing by", Command::StandBy),
        ("resume procedure", Command::Resume),
        ("override skip", Command::Skip),
        ("begin countdown", Command::BeginCountdown),
        ("time remaining", Command::TimeRemaining),
        ("planned finish", Command::PlannedFinish),
        ("read torque", Command::ReadTorque),
        ("confirm reading", Command::ConfirmReading),
        ("measure again", Command::MeasureAgain),
        ("accept deviation", Command::AcceptDeviation),
        ("disregard", Command::Disregard),
        ("parts list", Command::PartsList),
        ("assistance required", Command::Assistance),
        ("voice note", Command::VoiceNote),
        ("different work", Command::OtherWork),
        ("cancel countdown", Command::StopWait),
        ("add five minutes", Command::AddTime(MoreTime::FiveMinutes)),
        ("add one hour", Command::AddTime(MoreTime::OneHour)),
        ("new temperature", Command::NewTemperature),
        (STILL_SO, Command::StillSo),
        (NO_LONGER, Command::NoLonger),
        ("remain silent", Command::RemainSilent),
        ("speak aloud", Command::SpeakAloud),
        ("stop stop", Command::Stop),
        ("stop stop stop", Command::Stop),
    ];
    all.extend(SkipReason::ALL.map(|reason| (reason.words(), Command::SkipBecause(reason))));
    all
}

/// Returns what a command does, in a few words.
pub fn purpose(command: &Command) -> &'static str {
    match command {
        Command::WorkComplete => "claims the called step, nut or bolt as done",
        Command::NextInstruction => "goes on from what was only to be known",
        Command::PreviousInstruction => "calls the nut or step before again",
        Command::SayAgain => "repeats the call",
        Command::StandBy => "pauses; waits go on",
        Command::Resume => "goes on after a pause, a stop, or with an unfinished job",
        Command::Skip => "skips the step; asks why",
        Command::SkipBecause(_) => "a reason for a skip",
        Command::BeginCountdown => "starts the step's wait",
        Command::TimeRemaining => "says what is left of every wait",
        Command::PlannedFinish => "says when all will be finished, and what comes first",
        Command::ReadTorque => "says the figure and the thread condition",
        Command::Reading(_) => "a reading",
        Command::ConfirmReading => "accepts the reading that was read back",
        Command::MeasureAgain => "drops a reading out of limits, or those of a sum, and asks again",
        Command::AcceptDeviation => "goes on with a reading out of limits",
        Command::Disregard => "takes back what was just understood",
        Command::PartsList => "shows what to gather",
        Command::Assistance => "shows what may be said and what to do in trouble",
        Command::VoiceNote => "records a remark",
        Command::Stop => "stops everything, from anybody, at any time",
        Command::RemainSilent => "turns the voice off",
        Command::SpeakAloud => "turns the voice on",
        Command::OpenHold => "opens the hold",
        Command::OtherWork => "leaves the step for later and calls what else can be done",
        Command::TakeTool(_) => "says that this wrench or adapter is in hand",
        Command::MoveTo(_) => "calls the job of this name; one that is done, its last step",
        Command::AskWait { .. } => "says what is left of this wait; then it is the one meant",
        Command::AddTime(MoreTime::FiveMinutes) => "adds five minutes to the wait",
        Command::AddTime(MoreTime::OneHour) => "adds an hour to the wait",
        Command::StopWait => "stops the wait: its step is called again",
        Command::NewTemperature => "tells the temperature that a wait goes by",
        Command::ClockDiffers { .. } => "tells that the clock was set",
        Command::StillSo => "says that what nobody knew does hold",
        Command::NoLonger => "says that it does not hold",
        Command::Open(_) => "opens one more job",
        Command::AskFor(_) => "opens the procedure of this name, where that is safe",
        Command::NotOpened { .. } => "leaves it unopened",
        Command::Begin => "begins the job",
        Command::Tick => "ends waits",
        Command::NoteKept { .. } | Command::NoteLost { .. } => "ends a remark",
    }
}

/// Returns what `text` asks for, whether it may be said now or not.
pub fn understand(run: &Run, text: &str) -> Option<Command> {
    if run
        .asking_hold()
        .is_some_and(|hold| hold.answer.as_str() == text)
    {
        return Some(Command::OpenHold);
    }
    own(run)
        .into_iter()
        .find(|(words, _)| words == text)
        .map(|(_, command)| command)
        .or_else(|| of_standard(text))
}

/// Returns what the open jobs, those that can be opened and the person's tools add to what can be said: their
/// names, and the words for a condition of which nobody knows whether it holds.
pub fn own(run: &Run) -> Vec<(String, Command)> {
    let jobs = run.procedures().enumerate();
    let named = jobs.filter_map(|(job, procedure)| Some((job, procedure.called.as_ref()?)));
    let mut all: Vec<(String, Command)> = named
        .map(|(job, called)| (called.to_string(), Command::MoveTo(job)))
        .collect();
    for (job, procedure) in run.procedures().enumerate() {
        let waits = procedure.steps.iter().enumerate();
        let named = waits.filter_map(|(step, s)| Some((step, s.wait.as_ref()?.called.as_ref()?)));
        let ask =
            |(step, called): (usize, &Phrase)| (called.to_string(), Command::AskWait { job, step });
        all.extend(named.map(ask));
    }
    let shelf = run.on_shelf();
    all.extend(shelf.filter_map(|(number, one)| {
        let called = one.procedure.called.as_ref()?;
        Some((called.to_string(), Command::AskFor(number)))
    }));
    let tools = run.tools().names();
    all.extend(tools.map(|name| (name.to_owned(), Command::TakeTool(name.to_owned()))));
    if let Some(condition) = run.uncertain() {
        let words = [
            (&condition.if_set, Command::StillSo),
            (&condition.if_clear, Command::NoLonger),
        ];
        let said = words.map(|(words, command)| Some((words.as_ref()?.to_string(), command)));
        all.extend(said.into_iter().flatten());
    }
    all
}

fn of_standard(text: &str) -> Option<Command> {
    standard()
        .into_iter()
        .find(|(words, _)| *words == text)
        .map(|(_, command)| command)
}

/// Returns everything that would be accepted now, the way forward first.
pub fn may_say(run: &Run) -> Vec<Sayable> {
    let mut list = List { all: Vec::new() };
    let state = run.state();
    match (state.mode, &state.asking) {
        (Mode::Working, Some(Asking::Again(_))) => list.hold(run),
        (Mode::StandingBy | Mode::Stopped, _) => {
            list.called_wait(run);
            list.add(Command::Resume, "goes on, saying where");
        }
        (Mode::Working, Some(asking)) => list.answers(asking),
        (Mode::Working, None) if run.called_wait().is_some() && !run.calls_own_end() => {
            list.called_wait(run);
        }
        (Mode::Working, None) => list.way_forward(run),
    }
    if state.mode == Mode::Working {
        list.while_working(run);
    }
    list.always(run);
    list.all
}

struct List {
    all: Vec<Sayable>,
}

impl List {
    fn add(&mut self, command: Command, does: &str) {
        let words = standard().into_iter().find(|(_, other)| *other == command);
        if let Some((words, _)) = words {
            self.all.push(Sayable {
                say: words.into(),
                does: does.into(),
                command,
            });
        }
    }

    fn answers(&mut self, asking: &Asking) {
        match asking {
            Asking::Again(_) => {}
            Asking::Reason => {
                for reason in SkipReason::ALL {
                    self.add(
                        Command::SkipBecause(reason),
                        "skips the step for this reason",
                    );
                }
            }
            Asking::ReadBack(_) => self.add(Command::ConfirmReading, "accepts the reading"),
            Asking::Outside(_) => {
                self.add(Command::MeasureAgain, "drops the reading and asks again");
                self.add(Command::AcceptDeviation, "goes on with it, as a deviation");
            }
        }
    }

    fn way_forward(&mut self, run: &Run) {
        match run.blocked() {
            Some(blocked) => self.way_round(run, &blocked),
            None if run.caution_page().is_some() => {
                let does = "takes notice of this caution and goes on";
                self.add(Command::NextInstruction, does);
                if run.can_turn_back() {
                    self.add(
                        Command::PreviousInstruction,
                        "shows the caution before again",
                    );
                }
            }
            None => match run.requirement() {
                Some(Requirement::Know) => self.add(Command::NextInstruction, "goes on"),
                Some(Requirement::Result(_)) => {
                    if run.verdict() != Verdict::Refuse {
                        self.add(Command::NextInstruction, "takes notice of it and goes on");
                    }
                    self.add(Command::MeasureAgain, "takes the readings again");
                }
                Some(Requirement::Work) => {
                    self.add(Command::WorkComplete, "claims the step as done")
                }
                Some(Requirement::Fasten(fasten)) => {
                    let does = format!("claims this {} as done", fasten.called.word());
                    self.add(Command::WorkComplete, &does);
                    self.add(
                        Command::ReadTorque,
                        "says the figure and the thread condition",
                    );
                    self.tools(run);
                }
                Some(Requirement::Hold(_)) => self.hold(run),
                Some(Requirement::Wait(_)) => match run.own_wait() {
                    None => self.add(Command::BeginCountdown, "starts the wait"),
                    Some(wait) if wait.ended.is_some() => {
                        self.add(Command::WorkComplete, "goes on after the wait");
                    }
                    Some(_) => {
                        self.other_work(run);
                        self.add(Command::TimeRemaining, "says what is left of the wait");
                    }
                },
                None => self.other_work(run),
                Some(Requirement::Reading(_)) => {}
            },
        }
    }

    /// The answer to what is called of a wait.
    fn called_wait(&mut self, run: &Run) {
        if let Some(called) = run.called_wait() {
            let does = format!("you have heard it: {}", called.wait.name);
            self.add(Command::NextInstruction, &does);
        }
    }

    /// What can be done about the waits.
    fn waits(&mut self, run: &Run) {
        let Some(meant) = run.wait_meant() else {
            return;
        };
        let name = &meant.wait.name;
        let longer = [MoreTime::FiveMinutes, MoreTime::OneHour].into_iter();
        for more in longer.filter(|_| run.can_last_longer(meant)) {
            self.add(Command::AddTime(more), &format!("adds it to: {name}"));
        }
        if meant.wait.is_running() {
            let does = format!("stops \"{name}\": its step is called again");
            self.add(Command::StopWait, &does);
        }
        if let Some((one, _)) = run.curing() {
            let does = format!("tells the temperature of: {}", one.wait.name);
            self.add(Command::NewTemperature, &does);
        }
    }

    /// The waits that have begun, by their names.
    fn named_waits(&mut self, run: &Run) {
        for one in run.waits_of_jobs() {
            let Some(procedure) = run.procedures().nth(one.job) else {
                continue;
            };
            let mut steps = procedure.steps.iter();
            let step = steps.position(|step| step.id == one.wait.step);
            let called = run.wait_of(one.job, &one.wait.step);
            let called = called.and_then(|wait| wait.called.as_ref());
            if let (Some(step), Some(called)) = (step, called) {
                self.all.push(Sayable {
                    say: called.to_string(),
                    does: format!("says what is left of: {}", one.wait.name),
                    command: Command::AskWait { job: one.job, step },
                });
            }
        }
    }

    /// The tools that could be taken for the called torque.
    fn tools(&mut self, run: &Run) {
        if run.bolt().is_none_or(|called| called.torque.is_none()) {
            return;
        }
        let held = &run.state().held;
        for name in run.tools().names() {
            let known = [&held.wrench, &held.adapter].contains(&&Some(name.to_owned()));
            if !known && run.taking(name).is_some() {
                self.all.push(Sayable {
                    say: name.to_owned(),
                    does: "is in hand: shows what to dial".into(),
                    command: Command::TakeTool(name.to_owned()),
                });
            }
        }
    }

    fn hold(&mut self, run: &Run) {
        if let Some(hold) = run.asking_hold() {
            self.all.push(Sayable {
                say: hold.answer.to_string(),
                does: "opens the hold".into(),
                command: Command::OpenHold,
            });
        }
    }

    /// What leads on where the called step is blocked.
    fn way_round(&mut self, run: &Run, blocked: &Blocked) {
        if let Some(condition) = run.uncertain() {
            let own = [&condition.if_clear, &condition.if_set];
            let standard = [
                (Command::NoLonger, "says that it does not hold: "),
                (Command::StillSo, "says that it does: "),
            ];
            for (own, (command, does)) in own.into_iter().zip(standard) {
                let does = format!("{does}{}", condition.name);
                match own {
                    Some(words) => self.all.push(Sayable {
                        say: words.to_string(),
                        does,
                        command,
                    }),
                    None => self.add(command, &does),
                }
            }
            return;
        }
        self.other_work(run);
        match blocked {
            Blocked::Wait { .. } => {
                self.add(Command::TimeRemaining, "says what is left of the wait");
            }
            _ if can_go_back(run) => {
                self.add(Command::PreviousInstruction, "calls the step before again");
            }
            _ => {}
        }
    }

    fn other_work(&mut self, run: &Run) {
        let Some(&(job, step)) = run.other_work().first() else {
            return;
        };
        let mut procedures = run.procedures();
        if let Some(step) = procedures.nth(job).and_then(|p| p.steps.get(step)) {
            self.add(Command::OtherWork, &format!("meanwhile: {}", step.say));
        }
    }

    fn while_working(&mut self, run: &Run) {
        let free = run.state().asking.is_none();
        if free && !run.state().finished {
            self.other_work(run);
            self.other_jobs(run);
            self.waits(run);
            self.shelf(run);
            if can_go_back(run) {
                self.add(Command::PreviousInstruction, "calls the one before again");
            }
            let held = run.step().is_none_or(Step::is_held);
            if !held && run.verdict() != Verdict::Refuse {
                self.add(Command::Skip, "skips this step; asks why");
            }
        }
        let turns = free && run.can_turn_back();
        if (run.can_take_back() || turns) && !matches!(run.state().asking, Some(Asking::Again(_))) {
            self.add(Command::Disregard, "takes back what was just understood");
        }
        self.add(Command::StandBy, "pauses; waits go on");
        if !run.state().noting {
            self.add(Command::VoiceNote, "records a remark");
        }
        // Who finds at the end that something was wrong goes back.
        if free && run.state().finished {
            if can_go_back(run) {
                self.add(Command::PreviousInstruction, "calls the last step again");
            }
            self.other_jobs(run);
            self.shelf(run);
        }
    }

    /// The other jobs by their names.
    fn other_jobs(&mut self, run: &Run) {
        for (job, procedure) in run.procedures().enumerate() {
            let progress = &run.state().jobs[job];
            let does = if progress.step < progress.marks.len() {
                format!("goes on with \"{}\"", procedure.title)
            } else {
                format!("goes back to the last step of \"{}\"", procedure.title)
            };
            let other = job != run.state().job && !progress.marks.is_empty();
            if let Some(called) = procedure.called.as_ref().filter(|_| other) {
                self.all.push(Sayable {
                    say: called.to_string(),
                    does,
                    command: Command::MoveTo(job),
                });
            }
        }
    }

    /// The procedures that can be asked for, by their names.
    fn shelf(&mut self, run: &Run) {
        // One at a time is looked at.
        let free = run.state().opening.is_none();
        for (number, one) in run.on_shelf().filter(|_| free) {
            if let Some(called) = &one.procedure.called {
                self.all.push(Sayable {
                    say: called.to_string(),
                    does: format!("opens \"{}\", where that is safe", one.procedure.title),
                    command: Command::AskFor(number),
                });
            }
        }
    }

    fn always(&mut self, run: &Run) {
        self.add(Command::SayAgain, "repeats the call");
        if run.waits().next().is_some() {
            self.add(Command::TimeRemaining, "says what is left of every wait");
        }
        self.named_waits(run);
        self.add(Command::PlannedFinish, "says when all will be finished");
        self.add(Command::PartsList, "shows what to gather");
        if run.state().silent {
            self.add(Command::SpeakAloud, "turns the voice on");
        } else {
            self.add(Command::RemainSilent, "turns the voice off");
        }
        self.add(
            Command::Assistance,
            "shows what may be said and what to do in trouble",
        );
        if run.state().mode != Mode::Stopped {
            self.add(Command::Stop, "stops everything, from anybody, at any time");
        }
        // The way forward may stand in a general place too: the first one counts.
        let mut seen: Vec<Command> = Vec::new();
        self.all.retain(|sayable| {
            let first = !seen.contains(&sayable.command);
            seen.push(sayable.command.clone());
            first
        });
    }
}

/// Tells whether there is a bolt, part or step before the called one.
pub(super) fn can_go_back(run: &Run) -> bool {
    let progress = run.progress();
    progress.is_begun() || !progress.left.is_empty()
}

impl Run {
    /// Returns the reading that is wanted now, if any.
    pub fn wants(&self) -> Option<&Reading> {
        let giving = self.state().giving.is_some();
        if self.state().mode != Mode::Working || (self.blocked().is_some() && !giving) {
            return None;
        }
        if self.caution_page().is_some() {
            return None;
        }
        self.wanted_reading()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::STANDARD_PHRASES;

    /// The checker judges holds' answers against the very phrases that can be said.
    #[test]
    fn the_checker_knows_every_phrase() {
        let mut said: Vec<&str> = standard().into_iter().map(|(words, _)| words).collect();
        said.push("begin afresh");
        let mut checked = STANDARD_PHRASES.to_vec();
        said.sort_unstable();
        checked.sort_unstable();
        assert_eq!(said, checked);
    }
}
