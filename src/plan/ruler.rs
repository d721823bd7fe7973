//! From time to place: long stretches in which nobody does anything are drawn short.

use super::dial::Dial;
use super::outcome::Plan;
use super::span::{Moment, Span};
use super::work::{Kind, Work};

/// A stretch with nothing to do is drawn short from this share of all that is drawn in full.
const LONG: f64 = 0.25;
/// Nothing shorter is drawn short.
const WORTH_IT: Span = Span::minutes(20);
/// The share of the whole width that a stretch drawn short has.
const SHORT: f64 = 0.08;

/// What is between two marks of the axis, from the finest.
const MARKS: [u32; 13] = [
    1, 5, 10, 15, 30, 60, 120, 240, 480, 1_440, 2_880, 10_080, 43_200,
];

/// Where each moment is drawn.
#[derive(Debug, Clone)]
pub(super) struct Ruler {
    /// Pieces in order, without a gap: until when, and where that is (0 to 1).
    pieces: Vec<Piece>,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub from: Moment,
    pub to: Moment,
    pub begins: f64,
    pub ends: f64,
    /// Whether it is drawn short.
    pub short: bool,
}

impl Ruler {
    pub fn of(work: &Work, plan: &Plan) -> Ruler {
        let begin = plan.starts.iter().min().copied().unwrap_or(work.now);
        let begin = begin.min(work.now);
        let stretches = stretches(work, plan, begin);
        let busy: u32 = stretches
            .iter()
            .filter(|(.., idle)| !idle)
            .map(|(from, to, _)| to.since(*from).in_seconds())
            .sum();
        let long = |from: Moment, to: Moment| {
            let lasts = to.since(from);
            lasts >= WORTH_IT && f64::from(lasts.in_seconds()) > LONG * f64::from(busy)
        };
        let mut pieces: Vec<Piece> = Vec::new();
        for (from, to, idle) in stretches {
            let short = idle && long(from, to);
            match pieces.last_mut() {
                Some(last) if !last.short && !short => last.to = to,
                _ => pieces.push(Piece {
                    from,
                    to,
                    begins: 0.0,
                    ends: 0.0,
                    short,
                }),
            }
        }
        let shorts = pieces.iter().filter(|piece| piece.short).count();
        let short = SHORT.min(0.6 / shorts.max(1) as f64);
        let full: f64 = (pieces.iter().filter(|piece| !piece.short))
            .map(|piece| f64::from(piece.to.since(piece.from).in_seconds()))
            .sum();
        let left = 1.0 - short * shorts as f64;
        let mut at = 0.0;
        for piece in &mut pieces {
            let lasts = f64::from(piece.to.since(piece.from).in_seconds());
            piece.begins = at;
            at += if piece.short {
                short
            } else if full > 0.0 {
                left * lasts / full
            } else {
                0.0
            };
            piece.ends = at;
        }
        Ruler { pieces }
    }

    /// Returns where a moment is drawn, from 0 to 1.
    pub fn place(&self, at: Moment) -> f64 {
        let after = self.pieces.partition_point(|piece| piece.to < at);
        let Some(piece) = self.pieces.get(after) else {
            return self.pieces.last().map_or(0.0, |piece| piece.ends);
        };
        let lasts = f64::from(piece.to.since(piece.from).in_seconds());
        let since = f64::from(at.since(piece.from).in_seconds());
        if lasts > 0.0 {
            piece.begins + (piece.ends - piece.begins) * since / lasts
        } else {
            piece.begins
        }
    }

    /// Returns what is drawn short.
    pub fn short(&self) -> impl Iterator<Item = &Piece> {
        self.pieces.iter().filter(|piece| piece.short)
    }

    /// Returns the moments to mark on the axis, so that no two are nearer than `apart` (a share of the
    /// width).
    pub fn marks(&self, dial: Dial, apart: f64) -> Vec<Moment> {
        let mut marks: Vec<Moment> = Vec::new();
        let widest = self
            .pieces
            .iter()
            .filter(|piece| !piece.short)
            .map(|piece| {
                let lasts = f64::from(piece.to.since(piece.from).in_seconds());
                (piece.ends - piece.begins) / lasts.max(1.0)
            });
        let per_second = widest.fold(0.0, f64::max);
        let each = MARKS
            .iter()
            .find(|&&minutes| f64::from(minutes * 60) * per_second >= apart)
            .or(MARKS.last());
        let each = Span::minutes(each.copied().unwrap_or(60));
        for piece in self.pieces.iter().filter(|piece| !piece.short) {
            for mark in dial.marks(piece.from, piece.to, each) {
                let near = marks
                    .last()
                    .is_some_and(|&last| self.place(mark) - self.place(last) < apart * 0.99);
                if !near {
                    marks.push(mark);
                }
            }
        }
        marks
    }
}

/// Returns the stretches of a plan in order: from, to, and whether nobody does anything.
fn stretches(work: &Work, plan: &Plan, begin: Moment) -> Vec<(Moment, Moment, bool)> {
    let mut steps: Vec<(Moment, Moment)> = plan
        .starts
        .iter()
        .zip(&work.activities)
        .filter(|(_, activity)| activity.kind == Kind::Step)
        .map(|(&start, activity)| (start, start.plus(activity.lasts)))
        .collect();
    steps.sort_unstable();
    let mut stretches = Vec::new();
    let mut at = begin;
    for (start, end) in steps {
        if start > at {
            stretches.push((at, start, true));
            at = start;
        }
        if end > at {
            stretches.push((at, end, false));
            at = end;
        }
    }
    if plan.finish > at {
        stretches.push((at, plan.finish, true));
    }
    stretches
}
