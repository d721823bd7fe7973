//! The person's hours, with their change between winter and summer: pure.

use chrono::{DateTime, FixedOffset, TimeDelta};

use crate::run::Time;

/// The person's hours: how far their clock is from UTC, and when that changes next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hours {
    pub offset: FixedOffset,
    /// The first change within [`HOURS_KNOWN_FOR`], and the offset from then on.
    pub change: Option<(Time, FixedOffset)>,
}

/// How far ahead a change of the hours is looked for: as long as a wait may last.
pub const HOURS_KNOWN_FOR: TimeDelta = TimeDelta::days(60);

impl Hours {
    /// Returns a time as the person's clock shows it then.
    pub fn shown(&self, time: Time) -> DateTime<FixedOffset> {
        let offset = match self.change {
            Some((at, offset)) if time >= at => offset,
            _ => self.offset,
        };
        time.with_timezone(&offset)
    }

    /// Finds the hours at `now`, where `offset_at` tells the offset at any time.
    pub fn find(now: Time, offset_at: impl Fn(Time) -> FixedOffset) -> Hours {
        let offset = offset_at(now);
        let days = (1..=HOURS_KNOWN_FOR.num_days()).map(|day| now + TimeDelta::days(day));
        let Some(mut after) = days.into_iter().find(|&day| offset_at(day) != offset) else {
            return Hours {
                offset,
                change: None,
            };
        };
        let mut before = after - TimeDelta::days(1);
        while after - before > TimeDelta::seconds(1) {
            let middle = before + (after - before) / 2;
            if offset_at(middle) == offset {
                before = middle;
            } else {
                after = middle;
            }
        }
        // Changes fall on whole seconds.
        let second = after.timestamp();
        let at = DateTime::from_timestamp(second, 0).unwrap_or(after);
        Hours {
            offset,
            change: Some((at, offset_at(after))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Central Europe's clocks go back on the last Sunday of October at 01:00 UTC.
    #[test]
    fn ends_after_a_change_of_the_hours_are_shown_in_the_new_ones() {
        let summer = FixedOffset::east_opt(2 * 3600).unwrap();
        let winter = FixedOffset::east_opt(3600).unwrap();
        let change: Time = "2026-10-25T01:00:00Z".parse().unwrap();
        let offset_at = |time: Time| if time < change { summer } else { winter };
        let hours = Hours::find("2026-10-24T20:00:00.5Z".parse().unwrap(), offset_at);
        assert_eq!(hours.change, Some((change, winter)));
        let shown = |time: &str| {
            let time: Time = time.parse().unwrap();
            hours.shown(time).format("%H:%M").to_string()
        };
        assert_eq!(shown("2026-10-25T00:59:00Z"), "02:59");
        assert_eq!(shown("2026-10-25T01:00:00Z"), "02:00");
        let always = Hours::find(change, |_| winter);
        assert_eq!((always.offset, always.change), (winter, None));
    }
}
