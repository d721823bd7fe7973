//! The list that the back pedal opens: everything that may be said, and the figures of a reading.

use crate::show::view::{ListView, SayLine, View};

/// The pedal's list: where its mark stands, and for which lines it was opened.
#[derive(Debug, Clone)]
pub struct Choosing {
    pub mark: usize,
    lines: Vec<SayLine>,
    digits: bool,
}

/// One line of the pedal's list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Choice {
    Say(usize),
    Digit(char),
    TakeBack,
    Send,
}

impl Choosing {
    /// Opens the list on a view, with the first line marked.
    pub fn open(view: &View) -> Choosing {
        Choosing {
            mark: 0,
            lines: view.may_say.clone(),
            digits: view.wants_digits,
        }
    }

    /// Returns whether the list still belongs to this view.
    pub fn fits(&self, view: &View) -> bool {
        self.lines == view.may_say && self.digits == view.wants_digits
    }

    /// Moves the mark, around the end.
    pub fn move_mark(&mut self, view: &View, by: isize) {
        let lines = choices(view).len() as isize;
        if lines > 0 {
            self.mark = (self.mark as isize + by).rem_euclid(lines) as usize;
        }
    }

    /// Returns the list as it is shown.
    pub fn shown(&self, view: &View, typed: &str) -> ListView {
        let line = |choice: &Choice| match choice {
            Choice::Say(index) => view.may_say.get(*index).map_or(String::new(), spoken),
            Choice::Digit('.') => "point".to_string(),
            Choice::Digit(digit) => digit.to_string(),
            Choice::TakeBack => "take back the last figure".to_string(),
            Choice::Send => format!("enter {typed}"),
        };
        ListView {
            title: "Forward: next · back: last · hold forward: choose · hold back: close"
                .to_string(),
            lines: choices(view).iter().map(line).collect(),
            marked: Some(self.mark),
            plan: None,
        }
    }
}

/// The lines of the pedal's list.
pub fn choices(view: &View) -> Vec<Choice> {
    let mut choices: Vec<Choice> = (0..view.may_say.len()).map(Choice::Say).collect();
    if view.wants_digits {
        choices.extend("0123456789.".chars().map(Choice::Digit));
        choices.push(Choice::TakeBack);
        choices.push(Choice::Send);
    }
    choices
}

fn spoken(line: &SayLine) -> String {
    if line.does.is_empty() {
        line.say.clone()
    } else {
        format!("{} — {}", line.say, line.does)
    }
}
