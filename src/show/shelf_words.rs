//! The words of procedures that are not open but can be asked for. Pure.

use crate::procedure::Procedure;
use crate::procedure::Text;
use crate::run::{Opened, Run};
use crate::wording::Wording;

use super::compose::tone;
use super::view::Tone;
use super::words::{capital, join};

/// How many names are offered at once: more are not kept in mind (no source for the figure).
const OFFERED: usize = 2;

/// Returns which procedures could be opened and begun now, as a sentence; empty where there is none, or
/// where the called step need not wait.
pub fn offered(run: &Run, wording: &Wording) -> String {
    if run.state().opening.is_some() || tone(run) != Tone::Waiting {
        return String::new();
    }
    let fit = run.fit_meanwhile();
    let on_shelf = run.on_shelf().filter(|(number, _)| fit.contains(number));
    let names = on_shelf.filter_map(|(_, one)| one.procedure.called.as_ref());
    let names: Vec<String> = names
        .map(|called| wording.signed(called.as_str()))
        .take(OFFERED)
        .collect();
    match names.is_empty() {
        true => String::new(),
        false => format!("{} can be opened meanwhile.", capital(&names.join(" or "))),
    }
}

/// Returns the question that answers the name of a procedure when it was heard.
pub fn asked_back(run: &Run, number: usize, wording: &Wording) -> String {
    let asked = run.on_shelf().find(|(other, _)| *other == number);
    asked.map_or_else(String::new, |(_, one)| {
        let called = one.procedure.called.as_ref();
        let called = called.map_or_else(String::new, |called| wording.signed(called.as_str()));
        format!("Open \"{}\"? Say {called} again.", one.procedure.title)
    })
}

/// Returns the answer to who asked for a procedure.
pub fn asked(title: &Text) -> String {
    format!("\"{title}\": looking whether it is safe beside this work. Go on meanwhile.")
}

/// Returns what the screen says until that is known.
pub fn looking(one: &Opened) -> String {
    let title = &one.procedure.title;
    format!("Looking whether \"{title}\" is safe beside this work")
}

/// Returns the answer where it is opened.
pub fn opened(procedure: &Procedure, wording: &Wording) -> String {
    let go = procedure.called.as_ref().map(|called| {
        let called = wording.signed(called.as_str());
        format!("Say {called} to go on with it.")
    });
    let open = format!("Open: {}.", procedure.title);
    join(&[&open, &go.unwrap_or_default()])
}

/// Returns the answer where it is not.
pub fn refused(run: &Run, file: &str, why: &str) -> String {
    let mut on_shelf = run.on_shelf();
    let title = on_shelf.find(|(_, one)| one.file == file);
    let title = title.map_or(file, |(_, one)| one.procedure.title.as_str());
    join(&[&format!("\"{title}\" is not opened."), why])
}
