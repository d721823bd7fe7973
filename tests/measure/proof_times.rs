//! How long the checker's search takes, and how many states it tells apart: for the files that are
//! named, each alone and all open together, and for the largest made case.
//!
//! `cargo run --release --example proof_times -- procedures/*.ron`

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::time::Instant;

use benchcall::procedure::{
    Condition, Hold, NoDictionary, NoModel, Phrase, Procedure, Speech, Step, StepId, Text, read,
};
use benchcall::prove::{Bound, prove};

fn main() {
    let speech = Speech::standard(&NoModel, &NoDictionary);
    let files: Vec<String> = std::env::args().skip(1).collect();
    let procedures: Vec<Procedure> = files
        .iter()
        .map(|file| read(file, &std::fs::read(file).unwrap(), &speech).expect(file))
        .collect();
    for (file, procedure) in files.iter().zip(&procedures) {
        show(file, std::slice::from_ref(procedure));
    }
    if procedures.len() > 1 {
        show("all open together", &procedures);
    }
    show("4 jobs of 50 steps, 20 conditions", &largest());
}

fn show(what: &str, procedures: &[Procedure]) {
    let began = Instant::now();
    let worked = processor_time();
    let proof = prove(procedures, &Bound::default());
    let took = began.elapsed();
    println!(
        "{what}: {:.3} s, {} s of processor time, {} states, {:?}, {} flaws, pairs {:?}, stops {}, peak \
         memory {} MB",
        took.as_secs_f64(),
        worked
            .zip(processor_time())
            .map_or("?".into(), |(from, to)| format!("{:.3}", to - from)),
        proof.states,
        proof.reach,
        proof.flaws.len(),
        proof.pairs,
        proof.stops,
        peak_memory().map_or("?".into(), |kilobytes| (kilobytes / 1024).to_string())
    );
    for flaw in &proof.flaws {
        println!("  {flaw:?}");
    }
}

/// How long this process has been worked on, in seconds: on a busy machine what counts.
fn processor_time() -> Option<f64> {
    let times = std::fs::read_to_string("/proc/self/schedstat").ok()?;
    let nanoseconds: f64 = times.split_whitespace().next()?.parse().ok()?;
    Some(nanoseconds / 1e9)
}

/// The most memory that this process had, in kB.
fn peak_memory() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

fn text(words: impl Into<String>) -> Text {
    Text::try_from(words.into()).unwrap()
}

/// Four jobs of 50 steps; four conditions that all share, and four of each job's own. Every danger is
/// lifted by a hold.
fn largest() -> Vec<Procedure> {
    let shared = |n: usize| text(format!("shared {n}"));
    let own = |job: usize, n: usize| text(format!("own {job} {n}"));
    let job = |job: usize| {
        let steps = (0..50).map(|number| {
            let id = StepId::try_from(format!("step-{number}")).unwrap();
            let mut step = Step::new(id, text(format!("Job {job}, step {number}.")));
            // Blocks of ten: raise, work while raised, lower, work that is forbidden while raised.
            let (block, place) = (number / 10, number % 10);
            let condition = match block {
                4 => shared(job),
                _ => own(job, block),
            };
            let hold = Hold {
                ask: text("What carries the load?"),
                answer: Phrase::try_from("stands carry load".to_string()).unwrap(),
            };
            match place {
                1 => (step.sets, step.hold) = (vec![condition], Some(hold)),
                3 => step.needs = vec![condition],
                5 => (step.clears, step.hold) = (vec![condition], Some(hold)),
                7 => step.forbidden_while = vec![condition],
                8 if block % 2 == 0 => step.forbidden_while = vec![shared((job + 1) % 4)],
                _ => {}
            }
            step
        });
        let mut procedure = Procedure::new(
            text(format!("Job {job}")),
            text("Volunteers' fire engine (invented data)"),
            steps.collect(),
        );
        procedure.conditions = (0..4)
            .map(shared)
            .chain((0..4).map(|n| own(job, n)))
            .map(Condition::from)
            .collect();
        procedure
    };
    (0..4).map(job).collect()
}
