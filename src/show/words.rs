//! The words of the run: what is called, asked and answered. Pure.

use chrono::TimeDelta;

pub use super::spoken_words::{spoken, spoken_call, spoken_in_force};
use super::sum_words::{dial, result, result_detail, results_of_call, spoken_dial};
use super::{shelf_words, sum_words, wait_words};
use crate::clock::Hours;
use crate::procedure::{Fastener, Gather, Reading, Requirement};
use crate::run::{Asking, Blocked, Claim, Command, Event, Figure, Mode, Run, Time, Topic, sayable};
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
    if let (Some(page), Some(step)) = (run.caution_page(), run.step()) {
        return format!("Caution {} of {}. Then: {}", page.number, page.of, step.say);
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
    let more = join(&[&left_out(run), &reckoned, &more]);
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

/// Says how many cautions that apply are not beside the call.
fn left_out(run: &Run) -> String {
    match run.cautions().len() - run.cautions_beside().len() {
        0 => String::new(),
        1 => "One more caution holds, shown before".into(),
        more => format!("{more} more cautions hold, shown before"),
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
            step,
            claim: Claim::Bolt { pass, bolt },
        } => {
            // With its last bolt a job may have given way to another one, whose steps may have the same ids.
            let moved = events
                .iter()
                .any(|event| matches!(event, Event::Moved { .. }));
            let jobs = run.procedures().enumerate();
            let mut own = jobs.filter(|(job, _)| (*job == run.state().job) != moved);
            let fasten = own.find_map(|(_, procedure)| procedure.step(step)?.fasten.as_ref());
            let called = fasten.map_or_else(Fastener::default, |fasten| fasten.called);
            format!("{} {bolt} done in pass {pass}", called.word())
        }
        Event::Claimed {
            claim: Claim::Hold { .. },
            ..
        } => "hold open".into(),
        Event::Claimed { .. } => "done".into(),
        Event::CautionKnown { .. } => "noted".into(),
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
        Event::Doubted { command, .. } => doubted(run, command, wording),
        Event::OpeningAsked { title, .. } => shelf_words::asked(title),
        Event::Told(Topic::Time) => "told".into(),
        Event::WentBack { .. } => match run.step() {
            Some(step) => format!("back at: {}", step.say),
            None => "back".into(),
        },
        event => event.name().into(),
    }
}

/// Returns what came of asking for a procedure, for the foot of the face.
pub fn judged(run: &Run, command: &Command, wording: &Wording) -> String {
    match (command, &run.state().opening) {
        (Command::Open(opened), _) => shelf_words::opened(&opened.procedure, wording),
        (Command::NotOpened { why }, Some(file)) => shelf_words::refused(run, file, why),
        _ => String::new(),
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
        Blocked::Refused { why } => why.clone(),
    }
}

pub(super) fn doubted(run: &Run, command: &Command, wording: &Wording) -> String {
    match command {
        Command::OpenHold | Command::StillSo | Command::NoLonger => {
            "Not sure. A hold opens only when its answer is clear. Again.".into()
        }
        Command::AskFor(number) => shelf_words::asked_back(run, *number, wording),
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
    use std::slice;

    use super::*;
    use crate::dictionary::CmuDict;
    use crate::procedure::{NoModel, Speech, read};

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
    fn what_was_done_is_told_by_its_number_and_its_kind() {
        let speech = Speech::standard(&NoModel, &CmuDict);
        let [cover, wheel] = ["Screw", "Nut"].map(|called| {
            let source = format!(
                r#"(title: "{called}", subject: "Invented data", steps: [
                    (id: "tighten", say: "Tighten.",
                     fasten: (bolts: 6, called: {called}, passes: [0.5, 1.0], torque: "9 N·m")),
                ])"#
            );
            read("work.ron", source.as_bytes(), &speech).unwrap()
        });
        let run = Run::of(cover, [wheel]);
        let step = run.procedure().steps[0].id.clone();
        let claimed = Event::Claimed {
            step: step.clone(),
            claim: Claim::Bolt { pass: 2, bolt: 3 },
        };
        let told = |events: &[Event]| outcome(&run, events, &Wording::default());
        assert_eq!(told(slice::from_ref(&claimed)), "screw 3 done in pass 2");
        // The cover's job is called now; the claim was the last of the other one.
        let moved = Event::Moved {
            job: 0,
            step,
            follows: true,
        };
        assert_eq!(told(&[claimed, moved]), "nut 3 done in pass 2");
    }

    #[test]
    fn sentences_join_without_doubled_stops() {
        assert_eq!(join(&["Is it down?", "", "Look."]), "Is it down? Look.");
        assert_eq!(join(&["Tighten", "threads dry"]), "Tighten. Threads dry");
        assert_eq!(refusal("Why?", "Say so"), "Why? Say so.");
    }
}
