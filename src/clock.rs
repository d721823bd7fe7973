//! Where the time comes from: the wall clock, or a rehearsal's own.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use chrono::{DateTime, FixedOffset, Local, Offset, TimeDelta, Utc};

use crate::run::Time;

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

    /// Returns the person's offset from UTC now.
    pub fn zone(&self) -> FixedOffset {
        Local::now().offset().fix()
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
