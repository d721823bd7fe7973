//! A judge from outside: SPIN, asked of the same procedures, comes to the verdicts of the explorer.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "spin/cases.rs"]
mod cases;
mod ears;
#[path = "spin/judge.rs"]
mod judge;

use benchcall::procedure::Procedure;
use benchcall::prove::{Bound, Flaw, Proof, prove};

use ears::at_hand;
use judge::{judge, Verdict};

/// How many pieces of work are judged.
const CASES: u64 = 320;

/// Returns the length of the shortest way into a danger after a word misheard.
fn misheard(proof: &Proof) -> Option<usize> {
    let dangers = proof.flaws.iter();
    let dangers = dangers.filter(|flaw| matches!(flaw, Flaw::Misheard { .. }));
    dangers.map(|flaw| flaw.history().len()).min()
}

fn called(proof: &Proof) -> Option<usize> {
    let dangers = proof.flaws.iter();
    let dangers = dangers.filter(|flaw| matches!(flaw, Flaw::Called { .. }));
    dangers.map(|flaw| flaw.history().len()).min()
}

/// Tells whether the work cannot be finished from the start on.
fn never_ends(proof: &Proof) -> bool {
    let mut flaws = proof.flaws.iter();
    flaws.any(|flaw| matches!(flaw, Flaw::DeadEnd { history, .. } if history.is_empty()))
}

#[test]
fn many() {
    let from: u64 = std::env::var("FROM").map_or(0, |x| x.parse().unwrap());
    let n: u64 = std::env::var("N").map_or(CASES, |x| x.parse().unwrap());
    let t = std::time::Instant::now();
    let mut unsafe_ = 0;
    let mut tp = 0.0;
    for seed in from..from + n {
        let work = cases::work(seed);
        let t0 = std::time::Instant::now();
        let p = prove(&work, &Bound::default());
        tp += t0.elapsed().as_secs_f64();
        let a = judge(&work, true);
        let b = judge(&work, false);
        if a.danger.is_some() { unsafe_ += 1; }
        let ok = a.danger == misheard(&p) && b.danger == called(&p) && (p.reach != benchcall::prove::Reach::Every || b.finished != Some(never_ends(&p)));
        if !ok {
            println!("{seed} {a:?} {b:?} {:?} {:?} {:?} {} {}", misheard(&p), called(&p), p.reach, never_ends(&p), p.states);
        }
        if seed % 20 == 19 { println!("{seed} unsafe {unsafe_} {:?} prove {tp} {} {}", t.elapsed(), a.states, p.states); }
    }
}
