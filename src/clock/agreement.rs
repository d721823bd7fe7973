//! Whether the wall clock and the monotonic clock agree: pure.

use std::time::Duration;

use chrono::TimeDelta;

use crate::run::Time;

/// The most that two looks at the clocks may disagree before the person is told.
pub const MOST_APART: TimeDelta = TimeDelta::seconds(2);

/// A look at both clocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    pub wall: Time,
    /// By the monotonic clock, from a zero of its own that holds as long as the program runs.
    pub steady: Duration,
}

/// What the two clocks say where they disagree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Disagreement {
    /// What the wall clock reads.
    pub wall: Time,
    /// What it would read had it gone on as the monotonic clock did.
    pub passed: Time,
}

/// Compares two looks at the clocks; tells where they disagree by more than [`MOST_APART`].
///
/// Nobody can tell from these whether the wall clock was set or the machine slept: both readings are
/// for the person.
pub fn compare(before: Look, now: Look) -> Option<Disagreement> {
    let passed = now.steady.saturating_sub(before.steady);
    let passed = before.wall + TimeDelta::from_std(passed).ok()?;
    let apart = (now.wall - passed).abs() > MOST_APART;
    apart.then_some(Disagreement {
        wall: now.wall,
        passed,
    })
}

/// Compares the wall clock at a start with the last entry of the record: it can have gone back meanwhile,
/// which shows; how far it ought to have gone on, nobody knows.
pub fn compare_with_record(last: Time, wall: Time) -> Option<Disagreement> {
    let back = last - wall > MOST_APART;
    back.then_some(Disagreement { wall, passed: last })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(wall: i64, steady: f64) -> Look {
        Look {
            wall: Time::UNIX_EPOCH + TimeDelta::milliseconds(wall),
            steady: Duration::from_secs_f64(steady),
        }
    }

    #[test]
    fn clocks_that_go_alike_agree() {
        for (wall, steady) in [(0, 0.0), (10_000, 10.0), (12_000, 10.0), (8_000, 10.0)] {
            assert_eq!(compare(look(0, 0.0), look(wall, steady)), None, "{wall}");
        }
    }

    #[test]
    fn a_clock_that_was_set_shows_both_readings() {
        for wall in [12_001, 7_999, 3_610_000, -3_590_000] {
            let told = compare(look(0, 0.0), look(wall, 10.0)).unwrap();
            assert_eq!(told.wall.timestamp_millis(), wall);
            assert_eq!(told.passed.timestamp_millis(), 10_000);
        }
    }

    #[test]
    fn a_clock_behind_the_record_went_back() {
        let at = |seconds| Time::UNIX_EPOCH + TimeDelta::seconds(seconds);
        assert_eq!(compare_with_record(at(100), at(99)), None);
        assert_eq!(compare_with_record(at(100), at(90_000)), None);
        let told = compare_with_record(at(100), at(40)).unwrap();
        assert_eq!((told.wall, told.passed), (at(40), at(100)));
    }
}
