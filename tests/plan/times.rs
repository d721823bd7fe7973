//! Prints how much processor time the planner takes on the instances (Linux): `cargo run --release --example plan_times`.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::time::{Duration, Instant};

use benchcall::dictionary::CmuDict;
use benchcall::plan::{Effort, Outcome, Plan};
use benchcall::procedure::{self, NoModel, Speech};
use benchcall::run::{By, Command, Order, Run, Time, decide, sayable};
use chrono::TimeDelta;

mod instance;
#[path = "../support/warm.rs"]
mod warm;

use instance::{MADE, PUBLISHED, instances, least_cure};
use warm::WARM;

const COARSE: Duration = Duration::from_millis(10);

fn main() {
    for (set, text) in [("published", PUBLISHED), ("like procedures", MADE)] {
        for (effort, called) in [(Effort::USUAL, "usual"), (Effort::THOROUGH, "thorough")] {
            measure(set, text, effort, called);
        }
    }
    in_a_run();
}

/// Follows procedures that are open together to their end, and takes the time of the order that is planned
/// anew after every command.
fn in_a_run() {
    let read = |name: &str| {
        let path = format!("{}/procedures/{name}", env!("CARGO_MANIFEST_DIR"));
        let speech = Speech::standard(&NoModel, &CmuDict);
        procedure::read(name, &std::fs::read(path).unwrap(), &speech).unwrap()
    };
    let jobs = [
        "paint-parts.ron",
        "drain-and-settle.ron",
        "pump-cover.ron",
        "brake-pads.ron",
    ];
    let mut run = Run::of(read(jobs[0]), jobs[1..].iter().map(|name| read(name)));
    let steps: usize = run.procedures().map(|one| one.steps.len()).sum();
    let mut now: Time = "2026-05-04T07:00:00Z".parse().unwrap();
    let mut times: Vec<Duration> = Vec::new();
    let mut command = Command::Begin;
    while !run.state().finished && times.len() < 1_000 {
        let by = match command {
            Command::Tick => By::Clock,
            _ => By::Voice,
        };
        if let Ok(events) = decide(&run, &Order { command, by }, now) {
            events.iter().for_each(|event| run.apply(event));
        }
        run.note_time(now);
        let (begun, used_before) = (Instant::now(), used());
        let order = benchcall::plan::order(&run, now);
        let (lasted, used) = (begun.elapsed(), used() - used_before);
        times.push(if used < COARSE { lasted } else { used });
        run.plan_by(order);
        now += TimeDelta::seconds(60);
        command = next(&run, &mut now);
    }
    times.sort_unstable();
    println!(
        "in a run of {steps} steps, after each of {} commands: median {:.1?}, worst {:.1?}, finished {}",
        times.len(),
        times[times.len() / 2],
        times[times.len() - 1],
        run.state().finished
    );
}

/// What a person does next; lets time pass where nothing else is left.
fn next(run: &Run, now: &mut Time) -> Command {
    if run.next_wake().is_some_and(|due| due <= *now) {
        return Command::Tick;
    }
    if let Some(wanted) = run.wants().filter(|_| run.called_wait().is_none()) {
        let known = WARM.iter().find(|(name, _)| *name == wanted.name.as_str());
        let middle = f64::midpoint(wanted.low, wanted.high);
        let decimals = usize::from(wanted.decimals);
        let width = usize::from(wanted.digits) + decimals + usize::from(decimals > 0);
        let figure = known.map_or(format!("{middle:0width$.decimals$}"), |(_, figure)| {
            (*figure).into()
        });
        return Command::Reading(figure.parse().unwrap());
    }
    let first = sayable::may_say(run).remove(0).command;
    match (first, run.next_wake()) {
        (Command::TimeRemaining | Command::SayAgain, Some(due)) => {
            *now = (*now).max(due);
            Command::Tick
        }
        (first, _) => first,
    }
}

/// Returns the processor time that this thread has used, for other programs run too.
fn used() -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap();
    let nanoseconds = told.split_whitespace().next().unwrap();
    Duration::from_nanos(nanoseconds.parse().unwrap())
}

fn measure(set: &str, text: &'static str, effort: Effort, called: &str) {
    let (mut planned, mut explained) = (Vec::new(), Vec::new());
    let (mut wrong, mut inexact) = (0, 0);
    for instance in instances(text) {
        let (begun, used_before) = (Instant::now(), used());
        let outcome = Plan::of(&instance.work, effort).unwrap();
        let (lasted, used) = (begun.elapsed(), used() - used_before);
        // The processor time moves in ticks of some milliseconds: too coarse for what is short.
        let took = if used < COARSE { lasted } else { used };
        let right = match &outcome {
            Outcome::Feasible(plan) => {
                planned.push((took, instance.name));
                inexact += usize::from(!plan.exact());
                let minutes = plan.finish.since_beginning().in_seconds() / 60;
                let least = instance.least_finish;
                least == Some(minutes) || !plan.exact() && least.is_some_and(|l| l < minutes)
            }
            Outcome::Infeasible(clash) => {
                explained.push((took, instance.name));
                instance.least_finish.is_none() && least_cure(clash) == instance.least_cure
            }
            Outcome::Undecided { .. } => false,
        };
        wrong += usize::from(!right);
    }
    for (what, mut times) in [("planned", planned), ("clash explained", explained)] {
        times.sort_unstable();
        let (median, (worst, name)) = (times[times.len() / 2].0, times[times.len() - 1]);
        println!(
            "{set}, {called} effort: {} {what}, median {median:.1?}, worst {worst:.1?} ({name})",
            times.len()
        );
    }
    println!("{set}, {called} effort: {wrong} wrong, {inexact} not proved the best");
}
