//! The table for people: rows as aligned text of at most 132 columns. Pure.

use std::fmt::Write;

use super::rows::{By, SoundRow, SpokenRow, What};
use super::share::{Rate, Share};
use super::transcript::Made;

/// What one listener did.
#[derive(Debug, Clone, Copy)]
pub struct Column<'a> {
    pub name: &'a str,
    pub spoken: &'a [SpokenRow],
    pub sound: &'a [SoundRow],
}

/// Returns the table of `listeners`, the first being benchcall itself and the others beside it.
pub fn table(listeners: &[Column<'_>]) -> String {
    let mut text = String::new();
    for (what, title) in [
        (What::Commands, "Commands"),
        (What::Readings, "Readings, digit by digit"),
    ] {
        spoken(&mut text, listeners, what, title);
    }
    sound(&mut text, listeners);
    text
}

fn spoken(text: &mut String, listeners: &[Column<'_>], what: What, title: &str) {
    let Some((first, others)) = listeners.split_first() else {
        return;
    };
    let mut rows: Vec<&SpokenRow> = first.spoken.iter().filter(|r| r.what == what).collect();
    leave_out_repeats(&mut rows, |row| (row.by, row.made));
    if rows.is_empty() {
        return;
    }
    let another = match what {
        What::Commands => "taken for another",
        What::Readings => "wrong, no notice",
    };
    line(
        text,
        &format!(
            "{title:<24} {:<9} {:>5}  {:>19} {:>6} {:>6}  {another:>19} {:>6} {:>5} {:>5} {:>5} {:>5}",
            "made",
            "said",
            "at once %",
            "asked",
            "missed",
            "asked",
            "hold",
            "twice",
            "delay",
            "p95"
        ),
    );
    line(
        text,
        &format!(
            "{:<24} {:<9} {:>5}  {:>19} {:>6} {:>6}  {:>19} {:>6} {:>5} {:>5} {:>5} {:>5}",
            "", "", "", "", "back %", "%", "%", "wrong%", "", "", "s", "s"
        ),
    );
    let mut by = By::All;
    for row in rows {
        head(text, &mut by, row.by);
        spoken_line(text, &row.value, row);
        for other in others {
            let same = other.spoken.iter().find(|other| {
                (other.what, other.by, other.made, &other.value)
                    == (row.what, row.by, row.made, &row.value)
            });
            if let Some(same) = same {
                spoken_line(text, &format!("  {}", other.name), same);
            }
        }
    }
    text.push('\n');
}

fn spoken_line(text: &mut String, name: &str, row: &SpokenRow) {
    let (delay, p95) = match row.delay {
        Some(delay) => (format!("{:.2}", delay.median), format!("{:.2}", delay.p95)),
        None => ("-".into(), "-".into()),
    };
    line(
        text,
        &format!(
            "{:<24} {:<9} {:>5}  {:>19} {:>6} {:>6}  {:>19} {:>6} {:>5} {:>5} {delay:>5} {p95:>5}",
            clipped(name),
            row.made.word(),
            row.said,
            share(&row.at_once),
            percent(row.asked_back.share),
            percent(row.missed.share),
            share(&row.another),
            percent(row.asked_back_wrong.share),
            row.holds,
            row.twice,
        ),
    );
}

fn sound(text: &mut String, listeners: &[Column<'_>]) {
    let Some((first, others)) = listeners.split_first() else {
        return;
    };
    line(
        text,
        &format!(
            "{:<24} {:<9} {:>7}  {:>27} {:>5}  {:>28}",
            "Sound without a command",
            "made",
            "hours",
            "false commands, an hour",
            "hold",
            "false questions, an hour"
        ),
    );
    // What only another listener heard falsely has a row too.
    let mut rows: Vec<&SoundRow> = first.sound.iter().collect();
    for row in others.iter().flat_map(|other| other.sound) {
        if !rows.iter().any(|known| is_same(known, row)) {
            rows.push(row);
        }
    }
    rows.sort_by_key(|row| row.by);
    leave_out_repeats(&mut rows, |row| (row.by, row.made));
    let mut by = By::All;
    for row in rows {
        head(text, &mut by, row.by);
        match first.sound.iter().find(|own| is_same(own, row)) {
            Some(own) => sound_line(text, &row.value, own),
            None => line(
                text,
                &format!("{:<24} {}", clipped(&row.value), row.made.word()),
            ),
        }
        for other in others {
            if let Some(same) = other.sound.iter().find(|other| is_same(other, row)) {
                sound_line(text, &format!("  {}", other.name), same);
            }
        }
    }
}

/// Leaves out rows that would only repeat the one of everything: all recordings are of that kind, room
/// or the like.
fn leave_out_repeats<T>(rows: &mut Vec<&T>, of: impl Fn(&T) -> (By, Made)) {
    let groups: Vec<(By, Made)> = rows.iter().map(|row| of(row)).collect();
    let is_split = |by: By| {
        let mut of_by = groups.iter().filter(|(other, _)| *other == by);
        of_by.any(|group| groups.iter().filter(|other| *other == group).count() > 1)
    };
    rows.retain(|row| {
        let (by, _) = of(row);
        match by {
            By::Kind | By::Ratio | By::Room | By::Onset | By::Weight => is_split(by),
            By::All | By::Phrase | By::Voice | By::Noise => true,
        }
    });
}

fn is_same(one: &SoundRow, other: &SoundRow) -> bool {
    (one.by, one.made, &one.value) == (other.by, other.made, &other.value)
}

fn sound_line(text: &mut String, name: &str, row: &SoundRow) {
    line(
        text,
        &format!(
            "{:<24} {:<9} {:>7.3}  {:>5} {:>21} {:>5}  {:>6} {:>21}",
            clipped(name),
            row.made.word(),
            row.hours,
            row.commands.count,
            rate(&row.commands),
            row.holds,
            row.questions.count,
            rate(&row.questions),
        ),
    );
}

/// Begins the rows of another kind.
fn head(text: &mut String, last: &mut By, by: By) {
    if *last != by {
        *last = by;
        line(text, &format!("by {}", by.word()));
    }
}

fn line(text: &mut String, line: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{}", line.trim_end());
}

fn share(share: &Share) -> String {
    format!(
        "{} ({}–{})",
        percent(share.share),
        percent(share.low),
        percent(share.high)
    )
}

/// Near none and near all, the second decimal counts: only what is none says 0, only all says 100.
fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent <= 0.0 {
        "0".into()
    } else if percent >= 100.0 {
        "100".into()
    } else if percent < 1.0 {
        format!("{:.2}", percent.max(0.01))
    } else if percent >= 99.0 {
        format!("{:.2}", percent.min(99.99))
    } else {
        format!("{percent:.1}")
    }
}

fn rate(rate: &Rate) -> String {
    match (rate.per_hour, rate.low, rate.high) {
        (Some(rate), Some(low), Some(high)) => format!("{rate:.1} ({low:.1}–{high:.1})"),
        _ => "-".into(),
    }
}

fn clipped(name: &str) -> String {
    match name.chars().count() {
        0..=24 => name.to_string(),
        _ => name.chars().take(23).chain(['…']).collect(),
    }
}

/// Returns what the rows stand on, in one sentence.
pub fn standing(made: &[Made]) -> &'static str {
    match (
        made.contains(&Made::Synthetic),
        made.contains(&Made::Real),
        made.contains(&Made::Untold),
    ) {
        (true, false, false) => "Every row is of synthetic voices; no real person was heard.",
        (false, true, false) => "Every row is of real people and real sound.",
        (_, _, true) => "Rows marked `untold`: their transcripts do not say `made:`.",
        _ => "Rows marked `synthetic` are of speech engines, `real` of people and real sound.",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::share::Delay;

    fn row(value: &str, by: By) -> SpokenRow {
        SpokenRow {
            by,
            value: value.into(),
            made: Made::Synthetic,
            what: What::Commands,
            said: 263,
            at_once: Share::of(81, 263),
            asked_back: Share::of(0, 263),
            missed: Share::of(182, 263),
            another: Share::of(0, 263),
            asked_back_wrong: Share::of(0, 263),
            twice: 0,
            holds: 0,
            delay: Delay::of(vec![0.18]),
        }
    }

    #[test]
    fn columns_stand_below_their_names_and_fit_the_screen() {
        let rows = [
            row("all", By::All),
            row("a voice with a name longer than its column", By::Voice),
        ];
        let sounds = [SoundRow {
            by: By::All,
            value: "all".into(),
            made: Made::Real,
            hours: 2.0,
            commands: Rate::of(1, 2.0),
            holds: 0,
            questions: Rate::of(0, 2.0),
        }];
        let column = |name| Column {
            name,
            spoken: &rows,
            sound: &sounds,
        };
        let text = table(&[column("benchcall"), column("open vocabulary")]);
        let lines: Vec<&str> = text.lines().collect();
        assert!(
            lines.iter().all(|line| line.chars().count() <= 132),
            "{text}"
        );
        let end = |line: &str, part: &str| {
            let at = line.find(part).unwrap_or_else(|| panic!("{part}: {text}"));
            line[..at + part.len()].chars().count()
        };
        assert_eq!(
            end(lines[0], "at once %"),
            end(lines[2], "30.8 (25.5–36.6)")
        );
        assert_eq!(end(lines[0], "delay"), end(lines[2], "0.18"));
        assert!(lines[3].starts_with("  open vocabulary"), "{text}");
        assert_eq!(lines[4], "by voice");
        assert!(lines[5].starts_with("a voice with a name lon… "), "{text}");
        assert!(text.contains("0.5 (0.0–2.8)"), "{text}");
    }

    #[test]
    fn only_none_says_none_and_only_all_says_all() {
        for (share, text) in [
            (0.0, "0"),
            (0.000_01, "0.01"),
            (0.0012, "0.12"),
            (0.1234, "12.3"),
            (0.9876, "98.8"),
            (0.999_99, "99.99"),
            (1.0, "100"),
        ] {
            assert_eq!(percent(share), text);
        }
    }

    #[test]
    fn rows_that_only_repeat_are_left_out() {
        let text = |rows: &[SpokenRow]| {
            table(&[Column {
                name: "benchcall",
                spoken: rows,
                sound: &[],
            }])
        };
        let one = text(&[row("all", By::All), row("dry", By::Room)]);
        assert!(!one.contains("dry"), "{one}");
        let two = text(&[
            row("all", By::All),
            row("dry", By::Room),
            row("workshop", By::Room),
        ]);
        assert!(two.contains("by room\ndry"), "{two}");
    }
}
