//! States packed into bytes: what tells one from all others.

use super::act::Node;
use crate::run::{Mark, State, Truth};

/// Returns what tells a state from all others.
pub(super) fn key(node: &Node, exact: bool, pairs: bool) -> Box<[u8]> {
    let mut key = Vec::with_capacity(64);
    write_state(&mut key, node.run.state());
    if exact && let Some(earlier) = node.run.earlier_state() {
        key.push(255);
        write_state(&mut key, earlier);
    }
    key.push(254);
    if node.run.truths() != node.actual {
        write_truths(&mut key, &node.actual);
    }
    if !node.misheard.is_empty() {
        key.push(252);
        for (job, step) in node.misheard.iter().filter(|_| pairs) {
            key.push(*job as u8);
            key.extend((*step as u16).to_le_bytes());
        }
    }
    key.into_boxed_slice()
}

fn write_truths(key: &mut Vec<u8>, truths: &[Truth]) {
    for four in truths.chunks(4) {
        let bits = |truth: &Truth| match truth {
            Truth::Clear => 0,
            Truth::Set => 1,
            Truth::Uncertain => 2,
        };
        key.push(four.iter().fold(0, |byte, truth| byte << 2 | bits(truth)));
    }
}

/// Whether a step was done or skipped is not written: only that it was left matters to the rules, but
/// for the hold that is asked for again after a stop, and no hold is ever skipped.
fn write_state(key: &mut Vec<u8>, state: &State) {
    key.push(state.job as u8);
    key.push(u8::from(state.asking.is_some()) << 1 | u8::from(state.finished));
    for progress in &state.jobs {
        key.extend((progress.step as u16).to_le_bytes());
        key.push(progress.part as u8);
        key.extend((progress.left.len() as u16).to_le_bytes());
        // Where the steps were left in the order of the file, how many says all.
        let ordered = progress
            .left
            .iter()
            .enumerate()
            .all(|(at, step)| at == *step);
        if !ordered {
            for step in &progress.left {
                key.extend((*step as u16).to_le_bytes());
            }
        }
        for wait in &progress.waits {
            key.push(u8::from(wait.ended.is_some()) + 1);
            key.extend_from_slice(wait.step.as_str().as_bytes());
        }
        key.push(253);
        debug_assert!(
            progress
                .left
                .iter()
                .all(|s| progress.marks[*s] != Mark::Open)
        );
    }
    write_truths(key, &state.truths);
}
