//! A plan as bars over time, as plain values: what the picture on the screen is made of.

use super::dial::Dial;
use super::draft::Draft;
use super::outcome::Plan;
use super::ruler::Ruler;
use super::span::Moment;
use super::work::{ActivityId, Kind};

/// Where what is drawn stands, each from 0 to 1; long stretches with nothing to do are drawn short.
#[derive(Debug, Clone, PartialEq)]
pub struct Bars {
    pub bars: Vec<Bar>,
    pub now: f64,
    /// Moments for the axis.
    pub marks: Vec<(f64, Moment)>,
}

/// A step or a wait.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// The number of the procedure.
    pub job: usize,
    pub from: f64,
    pub to: f64,
    /// How late it could end.
    pub latest: f64,
    pub kind: Kind,
    pub critical: bool,
}

impl Bars {
    /// Lays a plan out, its marks not nearer to each other than `apart`.
    pub fn of(draft: &Draft, plan: &Plan, dial: Dial, apart: f64) -> Bars {
        let work = &draft.work;
        let ruler = Ruler::of(work, plan);
        let bars = work.activities.iter().enumerate().map(|(at, activity)| {
            let start = plan.starts[at];
            let end = start.plus(activity.lasts);
            Bar {
                job: draft.places[at].job,
                from: ruler.place(start),
                to: ruler.place(end),
                latest: ruler.place(end.plus(plan.slack[at]).min(plan.finish)),
                kind: activity.kind,
                critical: plan.critical(ActivityId(at)),
            }
        });
        let marks = ruler.marks(dial, apart).into_iter();
        Bars {
            bars: bars.collect(),
            now: ruler.place(work.now),
            marks: marks.map(|mark| (ruler.place(mark), mark)).collect(),
        }
    }
}
