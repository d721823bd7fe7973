//! What was heard against what was said. Pure.
//!
//! What is heard belongs to a spoken line from its start to [`GRACE`] after its end; of two lines that
//! it could belong to, to the earlier one only where that is still unanswered and said just that.
//! Everything else was heard in sound without a command.

use serde::Serialize;

use super::transcript::{Spoken, Words};
use crate::hear::Weight;

/// How long after its end a line may still be answered, in seconds: beyond the slowest acceptance
/// (the library's own end of speech comes within about 1 s).
pub const GRACE: f64 = 1.5;

/// One thing that a listener made of the sound.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// When it was accepted, in seconds of sound, where the listener tells.
    pub accepted: Option<f64>,
    /// When its words ended, in seconds of sound, where the listener tells; it decides instead of
    /// `accepted` where it belongs.
    pub ended: Option<f64>,
    pub words: Words,
    pub score: Option<f32>,
    pub sure: bool,
}

impl Event {
    fn at(&self) -> f64 {
        self.ended.or(self.accepted).unwrap_or_default()
    }
}

/// What became of a spoken line, or of a thing heard beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// The first thing heard was right and sure.
    AtOnce,
    /// The first thing heard was right and not sure.
    AskedBack,
    /// Nothing was heard.
    Missed,
    /// Something else was heard and sure, first or later.
    Another,
    /// The first thing heard was something else and not sure.
    AskedBackWrong,
    /// Heard for a line besides what decides about it, and sure after another sure one: it would act
    /// twice.
    Twice,
    /// Heard for a line besides what decides about it, harmless.
    Further,
    /// Sure, without a command.
    FalseCommand,
    /// Not sure, without a command.
    FalseQuestion,
}

/// One line said, or one thing heard besides.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Scored {
    pub outcome: Outcome,
    pub said: Option<String>,
    pub heard: Option<String>,
    pub is_reading: bool,
    /// Start and end of what was said, in seconds of sound.
    pub start: Option<f64>,
    pub end: Option<f64>,
    /// When it was accepted, in seconds of sound.
    pub accepted: Option<f64>,
    pub score: Option<f32>,
    pub sure: Option<bool>,
    /// From the end of speech to acceptance, in seconds of sound, for what was right.
    pub delay: Option<f64>,
    /// Whether it was sure, not said, and opens a hold.
    pub opens_hold: bool,
    /// What hangs on what was said, or falsely heard, where it is a phrase.
    pub weight: Option<Weight>,
}

/// Returns one entry for each of `lines`, then one for everything else heard. `same` tells whether two
/// phrases mean the same to the program; `grave` are those that open a hold.
pub fn score(
    lines: &[Spoken],
    events: &[Event],
    grave: &[String],
    same: impl Fn(&Words, &Words) -> bool,
) -> Vec<Scored> {
    let entry = |outcome: Outcome, line: Option<&Spoken>, event: Option<&Event>| {
        let opens_hold = event.is_some_and(|event| {
            let said = line.is_some_and(|line| same(&line.words, &event.words));
            event.sure && !said && grave.contains(&event.words.text)
        });
        Scored {
            opens_hold,
            ..entry(outcome, line, event)
        }
    };
    let mut heard: Vec<Vec<&Event>> = vec![Vec::new(); lines.len()];
    let mut outside = Vec::new();
    for event in events {
        let at = event.at();
        let could: Vec<usize> = (0..lines.len())
            .filter(|&i| lines[i].start <= at && at <= lines[i].end + GRACE)
            .collect();
        let still_open = could
            .iter()
            .find(|&&i| heard[i].is_empty() && same(&lines[i].words, &event.words));
        match still_open.or(could.last()) {
            Some(&line) => heard[line].push(event),
            None => outside.push(event),
        }
    }
    let mut all = Vec::new();
    let mut further = Vec::new();
    for (line, heard) in lines.iter().zip(&heard) {
        let is_right = |event: &Event| same(&line.words, &event.words);
        let wrong = heard
            .iter()
            .position(|event| event.sure && !is_right(event));
        let (decides, outcome) = match (wrong, heard.first()) {
            (Some(wrong), _) => (Some(wrong), Outcome::Another),
            (None, None) => (None, Outcome::Missed),
            (None, Some(first)) => {
                let outcome = match (is_right(first), first.sure) {
                    (true, true) => Outcome::AtOnce,
                    (true, false) => Outcome::AskedBack,
                    (false, _) => Outcome::AskedBackWrong,
                };
                (Some(0), outcome)
            }
        };
        let decider = decides.map(|i| heard[i]);
        all.push(entry(outcome, Some(line), decider));
        let mut acted = false;
        for (i, event) in heard.iter().enumerate() {
            if Some(i) != decides {
                let outcome = match acted && event.sure {
                    true => Outcome::Twice,
                    false => Outcome::Further,
                };
                further.push(entry(outcome, Some(line), Some(event)));
            }
            acted |= event.sure;
        }
    }
    all.extend(further);
    all.extend(outside.into_iter().map(|event| {
        let outcome = match event.sure {
            true => Outcome::FalseCommand,
            false => Outcome::FalseQuestion,
        };
        entry(outcome, None, Some(event))
    }));
    all
}

/// Returns how much of `seconds` of sound no line can answer for, in seconds.
pub fn outside(lines: &[Spoken], seconds: f64) -> f64 {
    let mut free = 0.0;
    let mut from = 0.0_f64;
    for line in lines {
        free += (line.start.min(seconds) - from).max(0.0);
        from = from.max(line.end + GRACE);
    }
    free + (seconds - from).max(0.0)
}

fn entry(outcome: Outcome, line: Option<&Spoken>, event: Option<&Event>) -> Scored {
    let right = matches!(outcome, Outcome::AtOnce | Outcome::AskedBack);
    let delay = line
        .zip(event.and_then(|event| event.accepted))
        .filter(|_| right)
        .map(|(line, accepted)| accepted - line.end);
    let words = line
        .map(|line| &line.words)
        .or(event.map(|event| &event.words));
    Scored {
        outcome,
        said: line.map(|line| line.words.text.clone()),
        heard: event.map(|event| event.words.text.clone()),
        is_reading: words.is_some_and(|words| words.is_reading),
        start: line.map(|line| line.start),
        end: line.map(|line| line.end),
        accepted: event.and_then(|event| event.accepted),
        score: event.and_then(|event| event.score),
        sure: event.map(|event| event.sure),
        delay,
        opens_hold: false,
        weight: None,
    }
}

#[cfg(test)]
mod tests {
    use super::Outcome::*;
    use super::*;

    fn words(text: &str) -> Words {
        Words {
            text: text.into(),
            is_reading: text.starts_with(|c: char| c.is_ascii_digit()),
        }
    }

    fn lines() -> Vec<Spoken> {
        [(1.0, 2.0, "say again"), (3.0, 4.0, "work complete")]
            .map(|(start, end, text)| Spoken {
                start,
                end,
                words: words(text),
            })
            .into()
    }

    fn event(accepted: f64, text: &str, sure: bool) -> Event {
        Event {
            accepted: Some(accepted),
            ended: None,
            words: words(text),
            score: None,
            sure,
        }
    }

    #[track_caller]
    fn check(events: &[Event], expected: &[Outcome]) -> Vec<Scored> {
        let scored = score(&lines(), events, &["stop stop".into()], |a, b| a == b);
        let outcomes: Vec<Outcome> = scored.iter().map(|s| s.outcome).collect();
        assert_eq!(outcomes, expected, "{scored:#?}");
        scored
    }

    #[test]
    fn every_outcome_is_told_from_the_others() {
        let scored = check(
            &[
                event(2.2, "say again", true),
                event(4.3, "work complete", true),
            ],
            &[AtOnce, AtOnce],
        );
        assert!((scored[0].delay.unwrap() - 0.2).abs() < 1e-9);
        check(&[event(2.2, "say again", false)], &[AskedBack, Missed]);
        check(&[event(2.2, "stop stop", false)], &[AskedBackWrong, Missed]);
        check(&[event(2.2, "stop stop", true)], &[Another, Missed]);
        check(
            &[
                event(0.5, "say again", true),
                event(9.0, "say again", false),
            ],
            &[Missed, Missed, FalseCommand, FalseQuestion],
        );
    }

    #[test]
    fn the_worst_of_a_line_decides() {
        let scored = check(
            &[event(2.1, "say again", true), event(2.4, "stop stop", true)],
            &[Another, Missed, Further],
        );
        assert_eq!(scored[0].heard.as_deref(), Some("stop stop"));
        assert_eq!(scored[0].delay, None);
        let opens = |scored: &[Scored]| scored.iter().map(|s| s.opens_hold).collect::<Vec<_>>();
        assert_eq!(opens(&scored), [true, false, false]);
        check(
            &[event(2.1, "say again", true), event(2.4, "say again", true)],
            &[AtOnce, Missed, Twice],
        );
        check(
            &[
                event(2.1, "say again", false),
                event(2.4, "say again", true),
            ],
            &[AskedBack, Missed, Further],
        );
    }

    #[test]
    fn only_what_is_sure_and_not_said_opens_a_hold_falsely() {
        for (at, sure, opens) in [(9.0, true, true), (9.0, false, false), (2.2, false, false)] {
            let heard = [event(at, "stop stop", sure)];
            let scored = score(&lines(), &heard, &["stop stop".into()], |a, b| a == b);
            assert_eq!(scored.iter().any(|s| s.opens_hold), opens, "{scored:?}");
        }
        let said = [Spoken {
            words: words("stop stop"),
            ..lines()[0].clone()
        }];
        let heard = [event(2.2, "stop stop", true)];
        let scored = score(&said, &heard, &["stop stop".into()], |a, b| a == b);
        assert!(!scored[0].opens_hold, "{scored:?}");
    }

    #[test]
    fn a_late_answer_goes_to_the_line_that_said_it() {
        check(&[event(3.2, "say again", true)], &[AtOnce, Missed]);
        check(&[event(3.2, "work complete", true)], &[Missed, AtOnce]);
        check(&[event(3.2, "stop stop", true)], &[Missed, Another]);
        check(&[event(5.5, "work complete", true)], &[Missed, AtOnce]);
        check(
            &[event(5.51, "work complete", true)],
            &[Missed, Missed, FalseCommand],
        );
    }

    #[test]
    fn where_the_words_ended_counts_before_when_they_were_accepted() {
        let late = Event {
            ended: Some(2.0),
            ..event(9.0, "say again", true)
        };
        let scored = check(&[late], &[AtOnce, Missed]);
        assert_eq!(scored[0].delay, Some(7.0));
    }

    #[test]
    fn sound_without_a_command_is_what_no_line_can_answer_for() {
        assert_eq!(outside(&[], 10.0), 10.0);
        assert_eq!(outside(&lines(), 10.0), 1.0 + 4.5);
        assert_eq!(outside(&lines(), 5.0), 1.0);
    }
}
