//! The words of waits: what is called of them, what is left, when they end. Pure.

use chrono::TimeDelta;

use super::words::{capital, clock, join, long_time};
use crate::clock::Hours;
use crate::run::waiting::OfJob;
use crate::run::{CallOf, Event, Moved, Run, RunningWait, Time, WaitCall};

/// From how far back an end is told with its hour: it was while nobody could be called.
const LONG_SINCE: TimeDelta = TimeDelta::seconds(60);

/// Returns what is called of a wait, as shown: short, and the same until it is answered.
pub fn called(wait: &RunningWait, call: WaitCall) -> String {
    let name = capital(wait.name.as_str());
    match call.of {
        CallOf::Over => format!("{name} is over"),
        CallOf::Soon => format!("{name}: act now"),
        CallOf::Late => format!("{name}: too late"),
    }
}

/// Returns the smaller text below a call: since when, and what is to be done.
pub fn called_detail(run: &Run, one: OfJob<'_>, hours: &Hours) -> String {
    let Some(call) = one.wait.call else {
        return String::new();
    };
    let next = what_comes_after(run, one);
    match call.of {
        CallOf::Over => {
            let since = format!("Since {}.", clock(call.since, hours));
            join(&[&since, &latest(one.wait, hours), &next])
        }
        CallOf::Soon => join(&[&latest(one.wait, hours), &next]),
        CallOf::Late => {
            let since = format!("Since {}.", clock(call.since, hours));
            join(&[&since, &too_late(run, one)])
        }
    }
}

/// Returns what the voice calls of a wait at `now`, when it has been called `times` before: the more
/// often, the more is said.
pub fn spoken_call(run: &Run, one: OfJob<'_>, now: Time, times: u32, hours: &Hours) -> String {
    let Some(call) = one.wait.call else {
        return String::new();
    };
    let ago = now - call.since;
    let name = capital(one.wait.name.as_str());
    let since = if ago > LONG_SINCE {
        format!(
            " since {}, {} ago",
            clock(call.since, hours),
            long_time(ago)
        )
    } else {
        String::new()
    };
    let told = match call.of {
        CallOf::Over => format!("{name} is over{since}."),
        CallOf::Soon => match one.wait.latest {
            Some(latest) if latest > now => {
                let left = long_time(latest - now);
                join(&[
                    &format!("{name}: {left} left to act."),
                    &what_comes_after(run, one),
                ])
            }
            _ => format!("{name}: act now."),
        },
        CallOf::Late => join(&[&format!("{name}: too late{since}."), &too_late(run, one)]),
    };
    match times {
        0 => told,
        1 => format!("{told} Say next instruction."),
        2..=3 => format!("Attention. {told} Say next instruction."),
        _ => format!("Attention, attention. {told} {told} Say next instruction."),
    }
}

/// Returns what is left of one wait, in words.
pub fn remaining(wait: &RunningWait, now: Time) -> String {
    let told = match (wait.ended, wait.standing) {
        (Some(_), _) => format!("{} is over.", wait.name),
        (None, Some(left)) => format!(
            "{} stands still, it is too cold: {} left once it is warm.",
            wait.name,
            long_time(left)
        ),
        (None, None) => format!("{}: {} left.", wait.name, long_time(wait.due - now)),
    };
    match wait.latest.filter(|latest| *latest > now && !wait.late) {
        Some(latest) => format!("{told} {} at most.", capital(&long_time(latest - now))),
        None => told,
    }
}

/// Returns a wait's time left as shown: `12:30`, `1 h 05 min`, or when it ended.
pub fn left(wait: &RunningWait, now: Time, hours: &Hours) -> String {
    if let Some(ended) = wait.ended {
        return format!("over since {}", clock(ended, hours));
    }
    if wait.standing.is_some() {
        return "too cold".into();
    }
    let seconds = (wait.due - now).num_seconds().max(0);
    if seconds >= 3600 {
        format!("{} h {:02} min", seconds / 3600, seconds % 3600 / 60)
    } else {
        format!("{}:{:02}", seconds / 60, seconds % 60)
    }
}

/// Returns a wait's name as shown, with its latest end, and with its end by the time that has passed
/// where the clock was set meanwhile.
pub fn named(run: &Run, one: OfJob<'_>, hours: &Hours) -> String {
    let wait = one.wait;
    let mut name = wait.name.to_string();
    let open = !wait.late && !run.is_served(one);
    if let Some(latest) = wait.latest.filter(|_| open) {
        name.push_str(&format!(" · until {} at most", clock(latest, hours)));
    }
    if wait.is_running() && wait.clock_off.abs() > crate::clock::MOST_APART {
        let (by_clock, by_time) = both_ends(wait, hours);
        name.push_str(&format!(
            " · {by_clock} by the clock, {by_time} by the time passed"
        ));
    }
    name
}

/// Returns what is said when the clock and the time that has passed differ: both readings, and both ends
/// of every wait.
pub fn clock_differs(run: &Run, wall: Time, passed: Time, hours: &Hours) -> String {
    let exact = |time: Time| hours.shown(time).format("%H:%M:%S").to_string();
    let day = |time: Time| hours.shown(time).date_naive();
    let date = |time: Time| {
        if day(wall) == day(passed) {
            String::new()
        } else {
            hours.shown(time).format(" on %d %B").to_string()
        }
    };
    let mut told = format!(
        "The clock reads {}{}, by the time that has passed it is {}{}: it was set, or the machine slept.",
        exact(wall),
        date(wall),
        exact(passed),
        date(passed)
    );
    for wait in run.waits().filter(|wait| wait.is_running()) {
        let (by_clock, by_time) = both_ends(wait, hours);
        told.push_str(&format!(
            " {} ends at {by_clock} by the clock, at {by_time} by the time passed.",
            capital(wait.name.as_str())
        ));
    }
    told
}

/// Returns how the ends of a wait were moved, in words.
pub fn moved(event: &Event, now: Time, hours: &Hours) -> String {
    let Event::WaitMoved {
        name,
        due,
        latest,
        standing,
        why,
        ..
    } = event
    else {
        return String::new();
    };
    let name = capital(name.as_str());
    let at_most = latest
        .filter(|latest| *latest > now)
        .map(|latest| format!(", at most until {}", clock(latest, hours)))
        .unwrap_or_default();
    match (why, standing) {
        (Moved::Added { seconds }, _) => {
            let more = long_time(TimeDelta::seconds(*seconds));
            format!(
                "{name}: {more} more, until {}{at_most}.",
                clock(*due, hours)
            )
        }
        (Moved::Temperature { celsius, .. }, Some(_)) => {
            format!("{name} stands still at {celsius} °C: warm the work.")
        }
        (Moved::Temperature { celsius, .. }, None) => {
            format!(
                "{name} at {celsius} °C: until {}{at_most}.",
                clock(*due, hours)
            )
        }
    }
}

/// Both ends of a running wait: by the wall clock, and had nobody set it.
fn both_ends(wait: &RunningWait, hours: &Hours) -> (String, String) {
    (
        clock(wait.due, hours),
        clock(wait.due + wait.clock_off, hours),
    )
}

fn latest(wait: &RunningWait, hours: &Hours) -> String {
    match wait.latest.filter(|_| !wait.late) {
        Some(latest) => format!("Until {} at most.", clock(latest, hours)),
        None => String::new(),
    }
}

fn too_late(run: &Run, one: OfJob<'_>) -> String {
    let wait = run.wait_of(one.job, &one.wait.step);
    let what = wait.and_then(|wait| wait.too_late.as_ref());
    what.map_or_else(String::new, ToString::to_string)
}

/// The first open step that comes after a wait.
fn what_comes_after(run: &Run, one: OfJob<'_>) -> String {
    let Some(step) = run.comes_after(one) else {
        return String::new();
    };
    format!("Next: {}", step.say)
}
