//! The list of everything that can be said: `benchcall phrases`.

use std::fmt::Write;

use crate::procedure::{Gate, NEAR, Pronouncing, STOP, STOP_MORE, Speech, Words, meaning};
use crate::run::sayable;
use crate::settings::Settings;
use crate::understand::BEGIN_AFRESH;

/// Returns every phrase as it is said under `settings`, each with what it does, the standard phrase
/// that it stands for, and the nearest other phrase.
pub fn table(settings: &Settings, words: &dyn Words, dictionary: &dyn Pronouncing) -> String {
    let wording = settings.wording(false);
    let speech = Speech {
        words,
        dictionary,
        commands: wording.commands(),
        call_sign: None,
    };
    let gate = Gate::new(&speech);
    let mut listed: Vec<(&str, &str)> = sayable::standard()
        .into_iter()
        .map(|(standard, command)| (standard, sayable::purpose(&command)))
        .collect();
    listed.push((BEGIN_AFRESH, "begins a new job beside an unfinished one"));
    let mut rows = Vec::new();
    for (standard, does) in listed {
        let said = wording.said(standard);
        let own = wording.own(standard);
        let instead = match standard {
            STOP if own != STOP => format!(", beside \"{STOP}\""),
            _ if own != standard => format!(", for \"{standard}\""),
            _ => String::new(),
        };
        let nearest = match gate.nearest(own, Some(meaning(standard))) {
            Some((other, distance)) => format!("{distance:.2}  {other}"),
            None => String::new(),
        };
        if standard != STOP_MORE {
            rows.push((said, format!("{does}{instead}"), nearest));
        }
    }
    let width = |column: fn(&(String, String, String)) -> &String| {
        let widths = rows.iter().map(|row| column(row).chars().count());
        widths.max().unwrap_or(0)
    };
    let (says, does) = (width(|row| &row.0), width(|row| &row.1));
    let mut table = format!("{:says$}  {:does$}  nearest other\n", "you say", "it does");
    for (said, purpose, nearest) in &rows {
        // Writing to a text cannot fail.
        let _ = writeln!(table, "{said:says$}  {purpose:does$}  {nearest}");
    }
    let _ = writeln!(
        table,
        "0 is the same sound, 1 nothing in common; below {NEAR:.2} a phrase is refused."
    );
    match wording.call_sign() {
        Some(sign) => {
            let _ = writeln!(
                table,
                "\"{sign}\" comes before every command and every hold's answer; \"{STOP}\" and the \
                 figures of readings go without."
            );
        }
        None => table.push_str("No call sign.\n"),
    }
    if settings.cardinals {
        table.push_str("Readings may be said as whole numbers too.\n");
    }
    if !words.can_tell() {
        table.push_str("There is no speech model, so nobody knows whether it has these words.\n");
    }
    table
}
