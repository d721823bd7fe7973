//! How moments of a plan are written: counted from its beginning, or as the time of day.

use std::fmt;
use std::str::FromStr;

use super::span::{Moment, Span};

const DAY: u32 = 24 * 3600;

/// A time of day, to the minute.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeOfDay {
    minutes: u32,
}

/// How moments are written.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Dial {
    /// When the work begins; none counts from the beginning.
    pub begins: Option<TimeOfDay>,
}

impl TimeOfDay {
    /// Returns the time of day, or none where there is no such.
    pub fn new(hours: u32, minutes: u32) -> Option<TimeOfDay> {
        (hours < 24 && minutes < 60).then_some(TimeOfDay {
            minutes: hours * 60 + minutes,
        })
    }
}

impl FromStr for TimeOfDay {
    type Err = String;

    fn from_str(text: &str) -> Result<TimeOfDay, String> {
        let wrong = || format!("a time of day is written 08:30, not {text:?}");
        let (hours, minutes) = text.split_once(':').ok_or_else(wrong)?;
        let figure = |digits: &str| match digits.len() {
            1 | 2 if digits.bytes().all(|byte| byte.is_ascii_digit()) => digits.parse().ok(),
            _ => None,
        };
        figure(hours)
            .zip(figure(minutes))
            .and_then(|(hours, minutes)| TimeOfDay::new(hours, minutes))
            .ok_or_else(wrong)
    }
}

impl fmt::Display for TimeOfDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}", self.minutes / 60, self.minutes % 60)
    }
}

impl Dial {
    /// Returns the moment in words: `+2:30` after the beginning, or `10:30`, and the day from the second
    /// on.
    pub fn words(self, at: Moment) -> String {
        let since = at.since_beginning().in_seconds();
        match self.begins {
            None => {
                let (hours, minutes, seconds) = (since / 3600, since / 60 % 60, since % 60);
                match seconds {
                    0 => format!("+{hours}:{minutes:02}"),
                    _ => format!("+{hours}:{minutes:02}:{seconds:02}"),
                }
            }
            Some(begins) => {
                let all = u64::from(begins.minutes) * 60 + u64::from(since);
                let minutes = (all % u64::from(DAY)) / 60;
                let clock = format!("{:02}:{:02}", minutes / 60, minutes % 60);
                match all / u64::from(DAY) {
                    0 => clock,
                    day => format!("{clock}, day {}", day + 1),
                }
            }
        }
    }

    /// Returns the moments between `from` and `to` that are whole multiples of `each` on this dial.
    pub fn marks(self, from: Moment, to: Moment, each: Span) -> Vec<Moment> {
        let shift = i64::from(self.begins.map_or(0, |begins| begins.minutes * 60));
        let each = each.whole().max(1);
        let first = (from.whole() + shift + each - 1).div_euclid(each) * each - shift;
        let mut marks = Vec::new();
        let mut at = first;
        while at <= to.whole() {
            marks.push(Moment::held(at));
            at += each;
        }
        marks
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_written_by_the_dial() {
        let at = Moment::after(Span::minutes(150));
        assert_eq!(Dial::default().words(at), "+2:30");
        let dial = Dial {
            begins: "08:15".parse().ok(),
        };
        assert_eq!(dial.words(at), "10:45");
        assert_eq!(dial.words(at.plus(Span::minutes(24 * 60))), "10:45, day 2");
    }

    #[test]
    fn marks_are_whole_hours_of_the_dial() {
        let dial = Dial {
            begins: "08:15".parse().ok(),
        };
        let marks = dial.marks(
            Moment::ZERO,
            Moment::after(Span::minutes(120)),
            Span::minutes(60),
        );
        let words: Vec<String> = marks.iter().map(|&mark| dial.words(mark)).collect();
        assert_eq!(words, ["09:00", "10:00"]);
    }

    #[test]
    fn what_is_no_time_of_day_is_refused() {
        for text in ["", "8", "24:00", "08:60", "-1:00", "08:000", "8h"] {
            assert!(text.parse::<TimeOfDay>().is_err(), "{text}");
        }
    }
}
