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
//! - The end of a wait is called until the person answers it, and one that was stopped is not over.
//! - After a stop the last hold's answer is asked for again.

mod apply;
pub mod blocked;
mod calling;
pub mod cautions;
pub mod command;
mod countdown;
mod decide;
pub mod event;
pub mod figure;
mod in_hand;
mod job;
mod onward;
mod outlook;
mod refusal;
pub mod sayable;
mod shelf;
pub mod state;
mod sums;
pub mod waiting;

pub use blocked::Blocked;
pub use cautions::{CautionPage, Room};
pub use command::{By, Command, MoreTime, Opened, Order, SkipReason};
pub(crate) use countdown::end_waits;
pub use decide::decide;
pub use event::{Claim, Event, Moved, Topic};
pub use figure::Figure;
pub use in_hand::Held;
pub use refusal::Refusal;
pub use sayable::Sayable;
pub use state::{Asking, CalledBolt, Mark, Mode, Progress, Run, State, Truth};
pub use waiting::{CallOf, RunningWait, WaitCall, times_called};

/// A time on the wall clock. The run never asks for it: it comes with the command.
pub type Time = chrono::DateTime<chrono::Utc>;
