//! Time in a plan: spans and moments, in whole seconds.

use std::fmt;

/// A length of time, in whole seconds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Span {
    seconds: u32,
}

/// A point of time, counted from the plan's own zero (the beginning of the work).
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment {
    seconds: u32,
}

impl Span {
    /// No time at all.
    pub const ZERO: Span = Span::seconds(0);

    pub const fn seconds(seconds: u32) -> Span {
        Span { seconds }
    }

    /// Returns so many minutes; more than a `u32` of seconds is held at its most (136 years).
    pub const fn minutes(minutes: u32) -> Span {
        Span::seconds(minutes.saturating_mul(60))
    }

    pub const fn in_seconds(self) -> u32 {
        self.seconds
    }

    pub(super) fn whole(self) -> i64 {
        i64::from(self.seconds)
    }

    pub(super) fn held(seconds: i64) -> Span {
        Span::seconds(held(seconds))
    }
}

impl Moment {
    /// The beginning of the work.
    pub const ZERO: Moment = Moment::after(Span::ZERO);

    /// Returns the moment so long after the beginning of the work.
    pub const fn after(span: Span) -> Moment {
        Moment {
            seconds: span.seconds,
        }
    }

    /// Returns how long after the beginning of the work it is.
    pub const fn since_beginning(self) -> Span {
        Span::seconds(self.seconds)
    }

    /// Returns the moment `span` later.
    #[must_use]
    pub const fn plus(self, span: Span) -> Moment {
        Moment {
            seconds: self.seconds.saturating_add(span.seconds),
        }
    }

    /// Returns the span from `earlier` to here; none at all where that is later.
    pub const fn since(self, earlier: Moment) -> Span {
        Span::seconds(self.seconds.saturating_sub(earlier.seconds))
    }

    pub(super) fn whole(self) -> i64 {
        i64::from(self.seconds)
    }

    pub(super) fn held(seconds: i64) -> Moment {
        Moment::after(Span::held(seconds))
    }
}

fn held(seconds: i64) -> u32 {
    u32::try_from(seconds.max(0)).unwrap_or(u32::MAX)
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.seconds == 0 {
            return f.write_str("0 min");
        }
        let mut rest = self.seconds;
        let mut between = "";
        for (each, unit) in [(24 * 3600, "d"), (3600, "h"), (60, "min"), (1, "s")] {
            let count = rest / each;
            rest %= each;
            if count > 0 {
                write!(f, "{between}{count} {unit}")?;
                between = " ";
            }
        }
        Ok(())
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.since_beginning().fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_are_written_with_their_units() {
        assert_eq!(Span::minutes(90).to_string(), "1 h 30 min");
        assert_eq!(Span::seconds(90_061).to_string(), "1 d 1 h 1 min 1 s");
        assert_eq!(Span::ZERO.to_string(), "0 min");
    }

    #[test]
    fn nothing_wraps() {
        let last = Moment::after(Span::seconds(u32::MAX));
        assert_eq!(last.plus(Span::minutes(1)), last);
        assert_eq!(Moment::ZERO.since(last), Span::ZERO);
        assert_eq!(Span::held(-3), Span::ZERO);
    }
}
