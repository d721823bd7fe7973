//! Where the time comes from: the wall clock, or a rehearsal's own.
//!
//! Waits end by the wall clock, for that is the person's. A monotonic clock beside it tells when the two
//! no longer agree: somebody set the one, or the machine slept, where the other stood still.

use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Instant;

use chrono::{DateTime, Local, Offset, TimeDelta, Utc};

use crate::run::Time;

pub mod agreement;
pub mod hours;

pub use agreement::{Disagreement, Look, MOST_APART, compare, compare_with_record};
pub use hours::Hours;

/// A clock.
#[derive(Debug, Clone)]
pub enum Clock {
    Wall,
    /// Goes with the rehearsal's sound, and over waits in no time.
    Rehearsed(RehearsedClock),
}

/// A clock that others set forward; clones share it.
#[derive(Debug, Clone)]
pub struct RehearsedClock {
    milliseconds: Arc<AtomicI64>,
}

impl Clock {
    /// Returns the time now.
    pub fn now(&self) -> Time {
        match self {
            Clock::Wall => Utc::now(),
            Clock::Rehearsed(clock) => clock.now(),
        }
    }

    /// Looks at both clocks; a rehearsal's has no other beside it, and its waits are passed over.
    pub fn look(&self) -> Option<Look> {
        match self {
            Clock::Wall => {
                static ZERO: OnceLock<Instant> = OnceLock::new();
                let steady = ZERO.get_or_init(Instant::now).elapsed();
                let wall = Utc::now();
                Some(Look { wall, steady })
            }
            Clock::Rehearsed(_) => None,
        }
    }

    /// Returns the person's hours now.
    pub fn hours(&self) -> Hours {
        Hours::find(self.now(), |time| time.with_timezone(&Local).offset().fix())
    }
}

impl RehearsedClock {
    /// Makes a clock that starts at the present time.
    pub fn starting_now() -> RehearsedClock {
        let now = Utc::now().timestamp_millis();
        RehearsedClock {
            milliseconds: Arc::new(AtomicI64::new(now)),
        }
    }

    /// Returns its time.
    pub fn now(&self) -> Time {
        DateTime::from_timestamp_millis(self.milliseconds.load(Ordering::SeqCst))
            .unwrap_or(Time::UNIX_EPOCH)
    }

    /// Sets it forward by a stretch of time.
    pub fn pass(&self, stretch: TimeDelta) {
        self.milliseconds
            .fetch_add(stretch.num_milliseconds(), Ordering::SeqCst);
    }

    /// Sets it forward to `time`, never back.
    pub fn forward_to(&self, time: Time) {
        self.milliseconds
            .fetch_max(time.timestamp_millis(), Ordering::SeqCst);
    }
}
