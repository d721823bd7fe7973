//! The run: what happens in a job, decided by pure code.
//!
//! [`decide`] takes a command and a time and returns events or a refusal; [`Run::apply`] folds an
//! event into the state and cannot fail. The same events always give the same state, so a run is
//! rebuilt from its record by applying them again.
//!
//! The rules kept here (tests/run_invariants.rs holds them over random commands):
//!
//! - Only a hold's own answer, surely heard or pressed and held, opens that hold.
//! - Nothing is claimed in a step that a condition forbids; a condition that is not certain forbids
//!   like one that is set.
//! - Nothing is marked done that the person did not claim.
//! - Going back and taking back make uncertain what they undo; the person settles it by saying which.
//! - Of all jobs open on the work, one step is called at a time, and the conditions are theirs together.
//! - After a stop the last hold's answer is asked for again.

mod apply;
pub mod command;
mod decide;
pub mod event;
pub mod figure;
mod job;
pub mod sayable;
pub mod state;

pub use command::{By, Command, Opened, Order, SkipReason};
pub(crate) use decide::end_waits;
pub use decide::{Refusal, decide};
pub use event::{Claim, Event, Topic};
pub use figure::Figure;
pub use sayable::Sayable;
pub use state::{
    Asking, Blocked, CalledBolt, Mark, Mode, Progress, Run, RunningWait, State, Truth,
};

/// A time on the wall clock. The run never asks for it: it comes with the command.
pub type Time = chrono::DateTime<chrono::Utc>;
