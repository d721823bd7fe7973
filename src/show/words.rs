//! The words of the run: what is called, asked, answered and spoken. Pure.

use chrono::TimeDelta;

use super::aloud::aloud;
use super::sum_words::{dial, result, result_detail, results_of_call, spoken_dial};
use super::{plan_words, sum_words, wait_words};
use crate::clock::Hours;
use crate::procedure::{Caution, Condition, Gather, Reading, Requirement};
use crate::run::{Asking, Blocked, Claim, Event, Figure, Mode, Run, Time, Topic, Truth, sayable};
use crate::wording::Wording;

/// What is shown where much talk is heard that is not for the program, and when the person takes the
/// proposal up.
pub const CALL_SIGN_PROPOSED: &str = "Much talk is heard. Say \"bench\" before a command once, and \
    from then on only what begins with it counts";
pub const CALL_SIGN_TAKEN_UP: &str = "Say \"bench\" before every command from now on";

/// Returns the call as shown: what is to be done or answered now.
pub fn call(run: &Run) -> String {
    let state = run.state();
    if let Some((one, call)) = run
        .called_wait()
        .and_then(|one| Some((one, one.wait.call?)))
    {
        return wait_words::called(one.wait, call);
    }
    match state.mode {
        Mode::StandingBy => return "Standing by".into(),
        Mode::Stopped => return "Stop. Everything stands still.".into(),
        Mode::Working => {}
    }
    if let Some(asking) = &state.asking {
        return question(run, asking);
    }
    if state.finished {
        return "Job finished".into();
    }
    if let Some(giving) = &state.giving {
        return format!("{}?", capital(giving.reading.name.as_str()));
    }
    let Some(step) = run.step() else {
        return if run.waits().any(|wait| wait.is_running()) {
            "All steps done. Waiting for the end.".into()
        } else {
            "All steps of this job are done; another job is not.".into()
        };
    };
    if let Some(blocked) = run.blocked() {
        return blocked_call(&blocked);
    }
    match run.requirement() {
        Some(Requirement::Fasten(fasten)) => match run.bolt() {
            Some(called) => {
                let name = capital(fasten.called.word());
                match called.torque {
                    Some(torque) => format!("{name} {}: {torque}", called.bolt),
                    None => format!("{name} {}: {}", called.bolt, step.say),
                }
            }
            None => step.say.to_string(),
        },
        Some(Requirement::Reading(reading)) => format!("{}?", capital(reading.name.as_str())),
        Some(Requirement::Wait(wait)) => match run.own_wait() {
            None => step.say.to_string(),
            Some(own) if own.ended.is_some() => format!("{} is over", capital(wait.name.as_str())),
            Some(_) => format!("{}: wait", capital(wait.name.as_str())),
        },
        Some(Requirement::Result(_)) => result(run),
        Some(Requirement::Hold(hold)) if run.progress().part > 0 => hold.ask.to_string(),
        _ => step.say.to_string(),
    }
}

/// Returns the smaller text below the call.
pub fn detail(run: &Run) -> String {
    let state = run.state();
    if let (Some(giving), Mode::Working) = (&state.giving, state.mode) {
        return match state.asking {
            None => said_digit_by_digit(&giving.reading),
            Some(_) => String::new(),
        };
    }
    let Some(step) = run.step().filter(|_| state.mode == Mode::Working) else {
        return match state.mode {
            Mode::StandingBy => "Nothing counts as done. Waits go on.".into(),
            Mode::Stopped => "Nobody moves anything until the work is resumed.".into(),
            Mode::Working if state.finished => follow_ups(run),
            Mode::Working => String::new(),
        };
    };
    let more = step
        .more
        .as_ref()
        .map(ToString::to_string)
        .unwrap_or_default();
    if let Some(Asking::ReadBack(_) | Asking::Outside(_)) = state.asking {
        return String::new();
    }
    if let Some(Asking::Again(_)) = state.asking {
        return format!("After a stop. Then: {}", step.say);
    }
    if run.blocked().is_some() {
        return format!("Called next: {}", step.say);
    }
    let reckoned = results_of_call(run);
    let more = join(&[&reckoned, &more]);
    match run.requirement() {
        Some(Requirement::Result(_)) => result_detail(run),
        Some(Requirement::Fasten(fasten)) if run.bolt().is_some_and(|b| b.torque.is_some()) => {
            join(&[&dial(run), step.say.as_str(), fasten.threads.words(), &more])
        }
        Some(Requirement::Reading(reading)) if run.is_read_anew() => {
            join(&[sum_words::READ_ANEW, &said_digit_by_digit(reading)])
        }
        Some(Requirement::Reading(reading)) => said_digit_by_digit(reading),
        Some(Requirement::Hold(hold)) if run.progress().part == 0 => {
            join(&[hold.ask.as_str(), &more])
        }
        _ => more,
    }
}

fn said_digit_by_digit(reading: &Reading) -> String {
    format!(
        "{} to {} {}. Say every digit, such as \"{}\".",
        reading.low,
        reading.high,
        reading.unit,
        Figure::spoken_example(reading.places())
    )
}

/// Returns what the voice says when the picture has changed by `events`; empty for silence.
pub fn spoken(run: &Run, events: &[Event], now: Time, hours: &Hours, wording: &Wording) -> String {
    let mut said: Vec<String> = Vec::new();
    if let Some(called) = spoken_ends(run, events, now, hours) {
        return called;
    }
    for event in events {
        match event {
            Event::WaitMoved { .. } => said.push(wait_words::moved(event, now, hours)),
            Event::WaitStopped { name, .. } => said.push(format!("{name} stopped.")),
            Event::ClockDiffered { wall, passed } => {
                return wait_words::clock_differs(run, *wall, *passed, hours);
            }
            Event::ReadingsAged { job, step, .. } => said.push(sum_words::aged(run, *job, step)),
            Event::TakenBack => said.push("Taken back.".into()),
            Event::Resumed => {
                said.push("Going on.".into());
                said.extend(spoken_cautions(&cautions_in_force(run)));
            }
            Event::Moved { job, .. } => {
                if let Some(procedure) = run.procedures().nth(*job) {
                    let at = run.progress().step + 1;
                    said.push(format!("{}, step {at}.", procedure.title));
                }
                said.extend(spoken_cautions(&cautions_in_force(run)));
            }
            Event::Settled { condition, truth } => {
                let holds = if *truth { "Noted" } else { "Noted, not" };
                said.push(format!("{holds}: {condition}."));
            }
            Event::HeldAgain { .. } => said.push("Going on.".into()),
            Event::Opened(_) if !run.state().begun => return String::new(),
            Event::Opened(opened) => said.push(format!("Open: {}.", opened.procedure.title)),
            Event::WentBack { .. } => said.push("Back.".into()),
            Event::Skipped { .. } => said.push("Skipped, as a deviation.".into()),
            Event::DeviationAccepted { .. } => said.push("Taken, as a deviation.".into()),
            Event::ReadingTaken { .. } => said.push("Reading taken.".into()),
            Event::Claimed {
                claim: Claim::Hold { .. },
                ..
            } => {
                said.push("Hold open.".into());
                said.extend(spoken_cautions(&beginning_cautions(run)));
            }
            Event::Claimed { .. } => said.extend(spoken_cautions(&beginning_cautions(run))),
            Event::WaitBegan { due, .. } => {
                said.push(format!("Countdown until {}.", clock(*due, hours)));
            }
            Event::Doubted { command, .. } => return doubted(command, wording),
            Event::Questioned { question } => return wording.retell(run, question),
            Event::FellSilent => return String::new(),
            Event::ToolTaken(_) => {
                let called = run.in_hand().map(|in_hand| in_hand.called());
                said.extend(called.map(|called| format!("In hand: {called}.")));
                if let Some(dial) = run.dial() {
                    said.push(spoken_dial(&dial));
                    return said.join(" ");
                }
            }
            Event::SpokeUp => said.push("Voice on.".into()),
            Event::NoteBegan => return "Voice note. Speak now.".into(),
            Event::NoteKept { .. } => return "Note kept.".into(),
            Event::NoteLost { why } => return format!("The note is lost. {why}"),
            Event::Told(Topic::Time) => return times(run, now),
            Event::Told(Topic::Wait { job, step }) => return time_of(run, *job, *step, now),
            Event::Told(Topic::Torque) => return torque(run),
            Event::Told(Topic::Plan) => return aloud(&plan_words::spoken(run, now, hours)),
            Event::Told(Topic::Parts) => return gather(&run.procedure().gather).join(". "),
            Event::Told(Topic::Help) => return help(run, wording),
            _ => {}
        }
    }
    said.push(spoken_call(run, wording));
    said.join(" ")
}

/// Returns what is said where waits came to their ends: all of them, for they may have done so while
/// nobody was there; none where no end is among the events.
fn spoken_ends(run: &Run, events: &[Event], now: Time, hours: &Hours) -> Option<String> {
    let ends = events.iter().filter_map(|event| match event {
        Event::WaitEnded { job, step, .. }
        | Event::WaitWarned { job, step, .. }
        | Event::WaitTooLate { job, step, .. } => Some((job, step)),
        _ => None,
    });
    let mut told: Vec<String> = Vec::new();
    for (job, step) in ends {
        let mut waits = run.waits_of_jobs();
        let one = waits.find(|one| one.job == *job && one.wait.step == *step)?;
        let words = wait_words::spoken_call(run, one, now, 0, hours);
        if !told.contains(&words) {
            told.push(words);
        }
    }
    (!told.is_empty()).then(|| aloud(&told.join(" ")))
}

/// Returns the call as spoken, with cautions before it where they begin to apply.
pub fn spoken_call(run: &Run, wording: &Wording) -> String {
    let state = run.state();
    if let (Mode::Working, Some(Asking::Again(_)), Some(hold)) =
        (state.mode, &state.asking, run.asking_hold())
    {
        let answer = wording.signed(hold.answer.as_str());
        return aloud(&format!("Hold again. {} Answer: {answer}.", hold.ask));
    }
    let called = run.called_wait().is_some() || state.giving.is_some();
    if state.mode != Mode::Working || state.asking.is_some() || called {
        return aloud(&call(run));
    }
    if state.finished {
        return aloud(&join(&["Job finished.", &follow_ups(run)]));
    }
    let Some(step) = run.step() else {
        return call(run);
    };
    if run.blocked().is_some() {
        return aloud(&format!("{}. {}", call(run), detail(run)));
    }
    let progress = run.progress();
    let at_start = !progress.is_begun();
    let mut said: Vec<String> = Vec::new();
    if at_start {
        said.extend(spoken_cautions(&step.cautions.iter().collect::<Vec<_>>()));
        if step.takes_people() > 1 {
            said.push("For two people.".into());
        }
    }
    match (run.requirement(), run.bolt()) {
        (Some(Requirement::Fasten(fasten)), Some(called)) => {
            if at_start {
                said.push(step.say.to_string());
            }
            let name = capital(fasten.called.word());
            let first_of_pass = progress.tightened.is_multiple_of(fasten.bolts.get());
            match called.torque {
                Some(torque) if first_of_pass => {
                    let round = if fasten.is_check_round(called.pass) {
                        " All the way round, until nothing moves."
                    } else {
                        ""
                    };
                    let pass = format!("Pass {} of {}.{round}", called.pass + 1, called.passes);
                    said.push(format!(
                        "{pass} {}, {}. {name} {}.",
                        torque.spoken(),
                        fasten.threads.words(),
                        called.bolt
                    ));
                }
                Some(torque) => said.push(format!("{name} {}, {}.", called.bolt, torque.spoken())),
                None => said.push(format!("{name} {}.", called.bolt)),
            }
            if first_of_pass {
                said.extend(run.dial().map(|dial| spoken_dial(&dial)));
            }
        }
        (Some(Requirement::Hold(hold)), _) => {
            if progress.part == 0 {
                said.push(step.say.to_string());
            }
            let answer = wording.signed(hold.answer.as_str());
            said.push(format!("Hold. {} Answer: {answer}.", hold.ask));
        }
        (Some(Requirement::Result(_)), _) => {
            let results = run.results();
            said.extend(results.iter().map(|(_, result)| result.sentences()));
        }
        _ => said.push(call(run)),
    }
    if at_start {
        let results = run.results_of_call();
        said.extend(results.iter().map(|(_, result)| result.sentences()));
    }
    aloud(&said.join(" "))
}

/// Returns the cautions of the conditions that hold, or of which nobody knows.
pub fn cautions_in_force(run: &Run) -> Vec<&Caution> {
    let in_force = |condition: &&Condition| run.truth(&condition.name) != Truth::Clear;
    let conditions = run.conditions().iter().filter(in_force);
    conditions
        .flat_map(|condition| &condition.cautions)
        .collect()
}

/// Returns the cautions of the conditions that the step which was just left has set.
fn beginning_cautions(run: &Run) -> Vec<&Caution> {
    let progress = run.progress();
    if progress.is_begun() {
        return Vec::new();
    }
    let left = progress.left.last();
    let Some(step) = left.and_then(|&step| run.procedure().steps.get(step)) else {
        return Vec::new();
    };
    let set = |condition: &&Condition| step.sets.contains(&condition.name);
    let conditions = run.conditions().iter().filter(set);
    conditions
        .flat_map(|condition| &condition.cautions)
        .collect()
}

/// Returns cautions as they are said.
pub fn spoken_cautions(cautions: &[&Caution]) -> Vec<String> {
    let spoken = |c: &&Caution| format!("{}: {}", capital_only(c.signal.word()), c.say);
    cautions.iter().map(spoken).collect()
}

/// Returns what came of a command, in a few words for the foot of the face.
pub fn outcome(run: &Run, events: &[Event], wording: &Wording) -> String {
    let Some(event) = events
        .iter()
        .find(|event| !matches!(event, Event::Finished))
    else {
        return String::new();
    };
    match event {
        Event::Claimed {
            claim: Claim::Bolt { pass, bolt },
            ..
        } => {
            format!("{bolt} done in pass {pass}")
        }
        Event::Claimed {
            claim: Claim::Hold { .. },
            ..
        } => "hold open".into(),
        Event::Claimed { .. } => "done".into(),
        Event::WaitBegan { name, .. } => format!("countdown for {name}"),
        Event::WaitEnded { name, .. } => format!("{name} is over"),
        Event::WaitMoved { name, .. } => format!("{name}: its end was moved"),
        Event::WaitStopped { name, .. } => format!("{name}: stopped, its step is to be done again"),
        Event::WaitAnswered { name, .. } => format!("heard of {name}"),
        Event::TemperatureTaken { figure, .. } => format!("{figure} taken"),
        Event::ReadingHeard { figure, .. } => format!("{figure}: is that right?"),
        Event::ReadingTaken { figure, .. } => format!("{figure} taken"),
        Event::Reckoned { name, .. } => format!("{name} reckoned"),
        Event::ReadingOutside { figure, .. } => format!("{figure} is out of limits"),
        Event::DeviationAccepted { figure, .. } => format!("{figure} taken, as a deviation"),
        Event::Skipped { reason, .. } => format!("skipped, as a deviation: {}", reason.words()),
        Event::Questioned { question } => wording.retell(run, question),
        Event::Doubted { command, .. } => doubted(command, wording),
        Event::Told(Topic::Time) => "told".into(),
        Event::WentBack { .. } => match run.step() {
            Some(step) => format!("back at: {}", step.say),
            None => "back".into(),
        },
        event => event.name().into(),
    }
}

/// Returns what is left of every wait, in words.
pub fn times(run: &Run, now: Time) -> String {
    let mut waits: Vec<_> = run.waits().collect();
    waits.sort_by_key(|wait| (wait.ended.is_some(), wait.standing.is_some(), wait.due));
    let told = waits.iter().map(|wait| wait_words::remaining(wait, now));
    told.collect::<Vec<_>>().join(" ")
}

/// Returns what is left of one wait, by the numbers of its job and step.
pub fn time_of(run: &Run, job: usize, step: usize, now: Time) -> String {
    let steps = run.procedures().nth(job).map(|procedure| &procedure.steps);
    let Some(id) = steps.and_then(|steps| steps.get(step)).map(|s| &s.id) else {
        return String::new();
    };
    let mut waits = run.waits_of_jobs();
    let one = waits.find(|one| one.job == job && one.wait.step == *id);
    one.map_or_else(String::new, |one| wait_words::remaining(one.wait, now))
}

/// Returns the torque of the called bolt in words.
pub fn torque(run: &Run) -> String {
    match run.bolt() {
        Some(called) => {
            let figure = called
                .torque
                .map_or("by hand".into(), |torque| torque.spoken());
            let told = format!("{figure}, {}.", called.fasten.threads.words());
            match run.dial() {
                Some(dial) => format!("{told} {}", spoken_dial(&dial)),
                None => told,
            }
        }
        None => "This step has no torque.".into(),
    }
}

/// Returns the list of what to gather, a line each.
pub fn gather(gather: &Gather) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let kinds = [
        ("Tool", &gather.tools),
        ("Part", &gather.parts),
        ("Consumable", &gather.consumables),
    ];
    for (kind, things) in kinds {
        lines.extend(things.iter().map(|thing| format!("{kind}: {thing}")));
    }
    if gather.people > 0 {
        lines.push(format!("People: {}", gather.people));
    }
    if lines.is_empty() {
        lines.push("The procedure lists nothing to gather".into());
    }
    lines
}

/// Returns the help for trouble, in words.
pub fn help(run: &Run, wording: &Wording) -> String {
    let says: Vec<String> = wording
        .may_say(run)
        .into_iter()
        .take(4)
        .map(|s| s.say)
        .collect();
    format!(
        "You may say: {}. In danger say stop stop, and leave the load alone.",
        says.join(", ")
    )
}

/// Returns the refusal's two sentences as one text.
pub fn refusal(why: &str, instead: &str) -> String {
    let stop = |text: &str| {
        if text.ends_with(['.', '?', '!']) {
            ""
        } else {
            "."
        }
    };
    format!("{why}{} {instead}{}", stop(why), stop(instead))
}

/// Returns the hour and minute on the person's clock.
pub fn clock(time: Time, hours: &Hours) -> String {
    hours.shown(time).format("%H:%M").to_string()
}

/// Returns what comes after the job, in words.
pub fn follow_ups(run: &Run) -> String {
    let told = run
        .procedures()
        .flat_map(|procedure| &procedure.follow_ups)
        .map(|f| format!("{}: {}.", f.say, f.after));
    told.collect::<Vec<_>>().join(" ")
}

fn question(run: &Run, asking: &Asking) -> String {
    match asking {
        Asking::Reason => "Why is the step skipped?".into(),
        Asking::ReadBack(figure) => format!("{}. Is that right?", with_unit(run, figure)),
        Asking::Outside(figure) => format!("{} is out of limits", with_unit(run, figure)),
        Asking::Again(_) => run
            .asking_hold()
            .map_or_else(String::new, |hold| hold.ask.to_string()),
    }
}

fn with_unit(run: &Run, figure: &Figure) -> String {
    match run.reading() {
        Some(reading) => format!("{figure} {}", reading.unit),
        None => figure.to_string(),
    }
}

fn blocked_call(blocked: &Blocked) -> String {
    match blocked {
        Blocked::Forbidden {
            condition,
            certain: true,
        } => format!("Not while: {condition}"),
        Blocked::Lacking {
            condition,
            certain: true,
        } => format!("Only while: {condition}"),
        Blocked::Forbidden { condition, .. } | Blocked::Lacking { condition, .. } => {
            format!("Which is it now? {}", capital(condition.as_str()))
        }
        Blocked::After { .. } => "An earlier step is not done".into(),
        Blocked::Wait { name } => format!("Wait for: {name}"),
        Blocked::Taken { resource, .. } => format!("Still in use: {resource}"),
        Blocked::Begun { .. } => "Finish the step begun in the other job first".into(),
        Blocked::Refused { why } => why.clone(),
    }
}

fn doubted(command: &crate::run::Command, wording: &Wording) -> String {
    use crate::run::Command;
    match command {
        Command::OpenHold | Command::StillSo | Command::NoLonger => {
            "Not sure. A hold opens only when its answer is clear. Again.".into()
        }
        Command::Reading(figure) => format!("Not sure: {}? Say it again.", figure.spoken()),
        _ => {
            let words = sayable::standard()
                .into_iter()
                .find(|(_, other)| other == command);
            let words = words.map_or("that".into(), |(words, _)| wording.said(words));
            format!("Not sure: {words}? Say it again.")
        }
    }
}

pub(super) fn long_time(left: TimeDelta) -> String {
    let seconds = left.num_seconds().max(0);
    let (hours, minutes, rest) = (seconds / 3600, seconds % 3600 / 60, seconds % 60);
    let plural = |n: i64, unit: &str| format!("{n} {unit}{}", if n == 1 { "" } else { "s" });
    match (hours, minutes) {
        (0, 0) => plural(rest, "second"),
        (0, m) if m < 10 && rest > 0 => {
            format!("{} {}", plural(m, "minute"), plural(rest, "second"))
        }
        (0, m) => plural(m, "minute"),
        (h, 0) => plural(h, "hour"),
        (h, m) => format!("{} {}", plural(h, "hour"), plural(m, "minute")),
    }
}

pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}

/// `WARNING` as `Warning`: engines spell out words in capitals.
fn capital_only(word: &str) -> String {
    capital(&word.to_lowercase())
}

pub(super) fn join(texts: &[&str]) -> String {
    let mut joined = String::new();
    for text in texts.iter().filter(|text| !text.is_empty()) {
        if !joined.is_empty() {
            joined.push_str(if joined.ends_with(['.', '?', '!']) {
                " "
            } else {
                ". "
            });
        }
        if joined.is_empty() {
            joined.push_str(text)
        } else {
            joined.push_str(&capital(text))
        }
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_as_people_tell_them() {
        for (seconds, words) in [
            (1, "1 second"),
            (61, "1 minute 1 second"),
            (750, "12 minutes"),
            (3600, "1 hour"),
            (3900, "1 hour 5 minutes"),
            (-5, "0 seconds"),
        ] {
            assert_eq!(long_time(TimeDelta::seconds(seconds)), words);
        }
    }

    #[test]
    fn sentences_join_without_doubled_stops() {
        assert_eq!(join(&["Is it down?", "", "Look."]), "Is it down? Look.");
        assert_eq!(join(&["Tighten", "threads dry"]), "Tighten. Threads dry");
        assert_eq!(refusal("Why?", "Say so"), "Why? Say so.");
    }
}
