//! Planning: what starts when, so that the whole work is finished as early as possible.
//!
//! A [`Work`] is made of activities with durations, ties between their starts (shortest and longest
//! lags), and resources of which there are only so many: people, a crane. [`Plan::of`] finds the
//! earliest finish (the problem that the literature calls PS|temp|Cmax), with a proof or a proved
//! bound, or says what clashes and what would cure it.
//!
//! Limits: [`MOST_ACTIVITIES`], [`MOST_TIES`], [`MOST_UNITS`]; no breaks and no calendar; activities
//! are not interrupted. What is exact and what not is measured in `tests/plan_instances.rs`.
//!
//! Pure: the effort of a search is counted in steps, so the same work always gives the same plan.

mod bars;
mod clash;
mod dial;
mod draft;
mod draft_conditions;
mod draft_order;
mod lines;
mod outcome;
mod picture;
mod ruler;
mod scale;
mod solver;
mod span;
#[cfg(test)]
mod tests;
mod words;
mod work;

pub use bars::{Bar, Bars};
pub use clash::{Clash, Cure, Part};
pub use dial::{Dial, TimeOfDay};
pub use draft::{Draft, Place, USUAL};
pub use draft_order::order;
pub use lines::lines;
pub use outcome::{Because, Effort, Link, Outcome, Plan};
pub use picture::{shortened, svg};
pub use span::{Moment, Span};
pub use words::{cures, demands};
pub use work::{
    Activity, ActivityId, Choice, ChoiceId, Gives, Kind, Lag, MOST_ACTIVITIES, MOST_TIES,
    MOST_UNITS, Resource, ResourceId, Tie, TieId, Work, WorkError,
};
