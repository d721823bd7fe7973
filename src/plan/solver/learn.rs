//! From a conflict to a clause that keeps it from coming again.

use std::collections::BinaryHeap;

use super::trail::{Atom, Cause, Conflict, Trail};

/// What a conflict teaches.
pub(super) struct Lesson {
    /// One of these must hold; the first will, once gone back to `level`.
    pub atoms: Vec<Atom>,
    pub level: usize,
}

/// Follows a conflict back to the first point that alone stands for its level.
///
/// Goes back to the conflict's own level. Returns none where the conflict rests on nothing that was
/// decided. `met` is told every half on the way.
pub(super) fn lesson(
    trail: &mut Trail,
    conflict: &Conflict,
    mut met: impl FnMut(usize),
) -> Option<Lesson> {
    let mut open = BinaryHeap::new();
    let mut newest = 0;
    for &atom in conflict {
        if let Some(event) = trail.event_of(atom) {
            newest = newest.max(trail.level_of(event));
            open.push((event, atom));
        }
    }
    if newest == 0 {
        return None;
    }
    trail.back_to(newest);
    let level_begins = trail.levels[newest - 1].0;
    let mut first = None;
    while let Some((event, mut atom)) = open.pop() {
        while let Some(&(same, other)) = open.peek()
            && same == event
        {
            atom.least = atom.least.max(other.least);
            open.pop();
        }
        met(atom.half);
        let alone = open.peek().is_none_or(|&(next, _)| next < level_begins);
        if alone {
            first = Some(atom);
            break;
        }
        let cause = trail.events[event].cause;
        for reason in trail.reasons_of(cause, atom) {
            if let Some(event) = trail.event_of(reason) {
                open.push((event, reason));
            }
        }
    }
    let first = first?;
    let mut rest = strongest(trail, open.into_vec());
    drop_implied(trail, &mut rest);
    let level = rest.iter().map(|&(event, _)| trail.level_of(event)).max();
    let mut atoms = vec![first.negated()];
    atoms.extend(rest.iter().map(|(_, atom)| atom.negated()));
    Some(Lesson {
        atoms,
        level: level.unwrap_or(0),
    })
}

/// Keeps of each half the strongest atom, and nothing of level 0.
fn strongest(trail: &Trail, mut all: Vec<(usize, Atom)>) -> Vec<(usize, Atom)> {
    all.retain(|&(event, _)| trail.level_of(event) > 0);
    all.sort_by_key(|&(event, atom)| (atom.half, std::cmp::Reverse((atom.least, event))));
    all.dedup_by_key(|(_, atom)| atom.half);
    all
}

/// Drops atoms that follow from others which came before them.
fn drop_implied(trail: &Trail, rest: &mut Vec<(usize, Atom)>) {
    let all = rest.clone();
    let given = |reason: Atom, before: usize| match trail.event_of(reason) {
        None => true,
        Some(event) if trail.level_of(event) == 0 => true,
        Some(_) => all
            .binary_search_by_key(&reason.half, |(_, atom)| atom.half)
            .is_ok_and(|at| all[at].0 < before && all[at].1.least >= reason.least),
    };
    rest.retain(|&(event, atom)| {
        let cause = trail.events[event].cause;
        let decided = matches!(cause, Cause::Decided);
        decided
            || !trail
                .reasons_of(cause, atom)
                .into_iter()
                .all(|reason| given(reason, event))
    });
}
