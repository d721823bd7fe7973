//! What a key means on a view, before it is known how long it stays down.

use super::Key;
use crate::show::view::{SayLine, Tone, View};

/// What a press means if it ends short, and if it is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    Nothing,
    /// A line that a short press says.
    Line(usize),
    /// A line that only a press and hold says.
    Guarded(usize),
    /// Back: the line, where there is one; held, the list.
    Back(Option<usize>),
    /// In the list: move the mark; held, choose it.
    MarkOn,
    /// In the list: move the mark back; held, close the list.
    MarkBack,
    /// In the list: choose this line.
    Choose(usize),
}

/// Returns what a key means on this view, with the pedal's list open or not.
pub fn meaning(view: &View, key: Key, list_open: bool) -> Meaning {
    let forward = matches!(key, Key::PageDown | Key::Space | Key::Right | Key::Enter);
    let back = matches!(key, Key::PageUp | Key::Left | Key::Backspace);
    if list_open {
        return match key {
            _ if forward => Meaning::MarkOn,
            _ if back => Meaning::MarkBack,
            Key::Choice(line) => Meaning::Choose(line),
            _ => Meaning::Nothing,
        };
    }
    let index = match key {
        _ if forward => Some(0),
        Key::Line(index) => Some(index),
        _ if back => return Meaning::Back(view.may_say.iter().position(goes_back)),
        _ => view.may_say.iter().position(|line| names(line, key)),
    };
    match index.filter(|index| *index < view.may_say.len()) {
        Some(index) if guarded(view, index) => Meaning::Guarded(index),
        Some(index) => Meaning::Line(index),
        None => Meaning::Nothing,
    }
}

/// Whether only a press and hold says this line.
pub fn guarded(view: &View, index: usize) -> bool {
    (view.tone == Tone::Hold && index == 0)
        || view
            .may_say
            .get(index)
            .is_some_and(|line| line.key.starts_with("hold "))
}

fn goes_back(line: &SayLine) -> bool {
    ["Left", "Backspace", "Back", "PageUp", "Page Up"].contains(&line.key.as_str())
}

/// Whether a line names this key as its own.
pub fn names(line: &SayLine, key: Key) -> bool {
    let named = line.key.trim_start_matches("hold ");
    match key {
        Key::Escape => named == "Esc" || named == "Escape",
        Key::Up => named == "Up",
        Key::Down => named == "Down",
        Key::Letter(letter) => {
            let mut letters = named.chars().flat_map(char::to_lowercase);
            letters.next() == Some(letter) && letters.next().is_none()
        }
        _ => false,
    }
}
