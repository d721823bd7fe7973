//! Prints how much processor time the planner takes on the instances (Linux): `cargo run --release --example plan_times`.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::time::{Duration, Instant};

use benchcall::plan::{Effort, Outcome, Plan};

mod instance;

use instance::{MADE, PUBLISHED, instances, least_cure};

const COARSE: Duration = Duration::from_millis(10);

fn main() {
    for (set, text) in [("published", PUBLISHED), ("like procedures", MADE)] {
        for (effort, called) in [(Effort::USUAL, "usual"), (Effort::THOROUGH, "thorough")] {
            measure(set, text, effort, called);
        }
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
