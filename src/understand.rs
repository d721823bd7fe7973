//! Between hearing and the run: what may be heard now, and what was meant by it. Pure.

use crate::hear::{DigitCount, Expected, Heard, Vocabulary, Weight};
use crate::run::{By, Command, Order, Run, sayable};
use crate::wording::Wording;

/// The phrases that answer the offer of an unfinished job.
pub const GO_ON: &str = "resume procedure";
pub const BEGIN_AFRESH: &str = "begin afresh";

/// Returns everything that can be heard in the run's present state, in the person's words. Phrases that
/// may not be said now are in it too: they are answered by a refusal with its cure.
pub fn vocabulary(run: &Run, wording: &Wording) -> Vocabulary {
    let mut phrases = Vec::new();
    for (standard, command) in sayable::standard() {
        let weight = weight(&command);
        phrases.extend(Expected::each(wording.ways(standard), weight));
    }
    for (words, command) in sayable::own(run) {
        phrases.extend(Expected::each(
            wording.signed_ways(&words),
            weight(&command),
        ));
    }
    if let Some(hold) = run.asking_hold() {
        let ways = wording.signed_ways(hold.answer.as_str());
        phrases.extend(Expected::each(ways, Weight::Grave));
    }
    let digits = run.wants().map(|wanted| DigitCount {
        whole: wanted.digits,
        decimals: wanted.decimals,
        cardinals: wording.cardinals(),
    });
    Vocabulary { phrases, digits }
}

/// Returns what can be heard over the program's own voice: a stop, and nothing else.
pub fn stop_vocabulary() -> Vocabulary {
    let standard = sayable::standard().into_iter();
    let stops = standard.filter(|(_, command)| *command == Command::Stop);
    let stops = stops.map(|(words, _)| words.to_string());
    Vocabulary {
        phrases: Expected::each(stops, weight(&Command::Stop)).collect(),
        digits: None,
    }
}

/// Returns what can be heard while an unfinished job is offered.
pub fn offer_vocabulary(wording: &Wording) -> Vocabulary {
    let answers = [GO_ON, BEGIN_AFRESH].map(|standard| wording.said(standard));
    Vocabulary {
        phrases: Expected::each(answers, Weight::Grave).collect(),
        digits: None,
    }
}

/// Returns the order that something heard is, or none where it means nothing here.
pub fn order(run: &Run, wording: &Wording, heard: &Heard) -> Option<Order> {
    let command = if heard.is_reading {
        Command::Reading(heard.text.parse().ok()?)
    } else {
        sayable::understand(run, &wording.meant(&heard.text)?)?
    };
    let by = if heard.sure {
        By::Voice
    } else {
        By::DoubtfulVoice
    };
    Some(Order { command, by })
}

/// Returns what hangs on a phrase that is the same in all procedures; on any other, nothing of note.
pub fn weight_of(words: &str) -> Weight {
    let standard = sayable::standard();
    let found = standard.iter().find(|(known, _)| *known == words);
    found.map_or(Weight::Ordinary, |(_, command)| weight(command))
}

/// What goes past something must stand longer before it is believed, what only says or shows something
/// less long.
fn weight(command: &Command) -> Weight {
    match command {
        Command::SayAgain
        | Command::TimeRemaining
        | Command::PlannedFinish
        | Command::ReadTorque
        | Command::PartsList
        | Command::Assistance => Weight::Light,
        Command::Stop => Weight::Stop,
        Command::OpenHold
        | Command::StillSo
        | Command::NoLonger
        | Command::Skip
        | Command::SkipBecause(_)
        | Command::AcceptDeviation => Weight::Grave,
        _ => Weight::Ordinary,
    }
}
