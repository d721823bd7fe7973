//! Prints how long the planner takes on the instances: `cargo run --release --example plan_times`.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::time::{Duration, Instant};

use benchcall::plan::{Effort, Outcome, Plan};

mod instance;

use instance::{MADE, PUBLISHED, instances};

fn main() {
    for (set, text) in [("published", PUBLISHED), ("like procedures", MADE)] {
        for (effort, called) in [(Effort::USUAL, "usual"), (Effort::THOROUGH, "thorough")] {
            measure(set, text, effort, called);
        }
    }
}

fn measure(set: &str, text: &'static str, effort: Effort, called: &str) {
    let (mut planned, mut explained): (Vec<Duration>, Vec<Duration>) = Default::default();
    let (mut wrong, mut inexact) = (0, 0);
    for instance in instances(text) {
        // The best of five, for other programs run too.
        let runs = (0..5).map(|_| {
            let begun = Instant::now();
            let outcome = Plan::of(&instance.work, effort).unwrap();
            (begun.elapsed(), outcome)
        });
        let (took, outcome) = runs.min_by_key(|(took, _)| *took).unwrap();
        match outcome {
            Outcome::Feasible(plan) => {
                planned.push(took);
                inexact += usize::from(!plan.exact());
                let minutes = plan.finish.since_beginning().in_seconds() / 60;
                let right = instance.least_finish.is_some_and(|least| minutes >= least);
                wrong +=
                    usize::from(!right || plan.exact() && instance.least_finish != Some(minutes));
            }
            Outcome::Infeasible(_) => {
                explained.push(took);
                wrong += usize::from(instance.least_finish.is_some());
            }
            Outcome::Undecided { .. } => wrong += 1,
        }
    }
    for (what, mut times) in [("planned", planned), ("clash explained", explained)] {
        times.sort_unstable();
        println!(
            "{set}, {called} effort: {} {what}, median {:.1?}, worst {:.1?}",
            times.len(),
            times[times.len() / 2],
            times[times.len() - 1]
        );
    }
    println!("{set}, {called} effort: {wrong} wrong, {inexact} not proved the best");
}
