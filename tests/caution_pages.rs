//! Cautions that do not fit beside a call stand before it, one after another; none of them can be passed
//! by into a claim.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/at_work.rs"]
mod at_work;

use at_work::AtWork;
use benchcall::clock::Hours;
use benchcall::run::cautions::{Lines, Room};
use benchcall::run::{By, Command, Event, Figure};
use benchcall::show::compose::{self, Surroundings};
use benchcall::show::view::{Tone, View};
use benchcall::show::words;
use benchcall::wording::Wording;
use chrono::{FixedOffset, TimeDelta};

/// Room for two short cautions, and for one over a hold.
fn room() -> Room {
    let line = Lines {
        lines: 1,
        letters: 30,
        call_lines: 2,
        call_letters: 30,
    };
    Room {
        open: vec![line; 2],
        with_waits: vec![line; 2],
        drawn: Vec::new(),
        long: Vec::new(),
        held: vec![line],
    }
}

const FOUR: &str = r#"cautions: [
    (signal: Notice, say: "Wet paint."),
    (signal: Danger, say: "Nobody beneath."),
    (signal: Warning, say: "Gloves on."),
    (signal: Caution, say: "Fingers away."),
],"#;

fn begin(fields: &str) -> AtWork {
    let mut work = AtWork::of(at_work::whole(fields));
    work.run.show_in(room());
    work
}

fn lower(more: &str) -> AtWork {
    begin(&format!(
        "steps: [(id: \"a\", say: \"Sweep.\"), (id: \"b\", say: \"Lower it.\", {FOUR} {more}), (id: \"c\", say: \"Go.\")]"
    ))
}

fn hours() -> Hours {
    Hours {
        offset: FixedOffset::east_opt(0).unwrap(),
        change: None,
    }
}

fn view(work: &AtWork) -> View {
    compose::view(&work.run, work.now, &Surroundings::quiet())
}

fn spoken(work: &AtWork, events: &[Event]) -> String {
    words::spoken(&work.run, events, work.now, &hours(), &Wording::default())
}

/// Goes past so many pages.
fn turn(work: &mut AtWork, pages: usize) {
    for _ in 0..pages {
        let events = work.give(Command::NextInstruction);
        assert!(
            matches!(events[..], [Event::CautionKnown { .. }]),
            "{events:?}"
        );
    }
}

#[test]
fn four_cautions_stand_one_after_another_before_the_call() {
    let mut work = lower("");
    assert_eq!(work.run.caution_page(), None);
    let events = work.give(Command::WorkComplete);
    let said = spoken(&work, &events);
    assert_eq!(
        said,
        "Caution 1 of 4. Notice: Wet paint. Say next instruction."
    );
    let shown = view(&work);
    assert_eq!((shown.call.as_str(), shown.tone), ("", Tone::Step));
    assert_eq!(shown.cautions.len(), 1);
    assert_eq!(shown.cautions[0].signal, "NOTICE");
    assert!(shown.place.ends_with("caution 1 of 4"), "{}", shown.place);
    assert_eq!(shown.detail, "Caution 1 of 4. Then: Lower it.");
    assert_eq!(shown.may_say[0].say, "next instruction");
    assert_eq!(shown.may_say[0].key, "Space");

    for (number, says) in [
        (2, "Danger: Nobody"),
        (3, "Warning: Gloves"),
        (4, "Caution: Fing"),
    ] {
        let events = work.give(Command::NextInstruction);
        let said = spoken(&work, &events);
        assert!(
            said.starts_with(&format!("Caution {number} of 4. {says}")),
            "{said}"
        );
        let again = work.give(Command::SayAgain);
        assert_eq!(spoken(&work, &again), said);
    }
    let events = work.give(Command::NextInstruction);
    assert_eq!(spoken(&work, &events), "Lower it.", "each was said before");
    let shown = view(&work);
    assert_eq!(shown.call, "Lower it.");
    let beside: Vec<&str> = shown
        .cautions
        .iter()
        .map(|one| one.signal.as_str())
        .collect();
    assert_eq!(beside, ["DANGER", "WARNING"], "the gravest stay");
    assert!(
        shown.detail.contains("2 more cautions hold"),
        "{}",
        shown.detail
    );
    assert_eq!(work.first(), Command::WorkComplete);
    let again = work.give(Command::SayAgain);
    assert!(spoken(&work, &again).contains("Nobody beneath"));
    work.give(Command::WorkComplete);
    assert_eq!(view(&work).call, "Go.");
}

/// What fits is what leaves the call its room.
#[test]
fn over_a_call_that_needs_the_room_two_are_too_many() {
    let cautions =
        "cautions: [(signal: Danger, say: \"Nobody beneath.\"), (signal: Notice, say: \"Wet.\")]";
    let with = |say: &str| begin(&format!("steps: [(id: \"a\", say: \"{say}\", {cautions})]"));
    assert_eq!(
        with("Turn it by hand until it stops.").run.caution_page(),
        None
    );
    let long = with("Turn it by hand until it stops, then back by one notch, and look.");
    assert_eq!(long.run.caution_page().map(|page| page.of), Some(2));
}

#[test]
fn where_they_fit_no_page_stands_before_the_call() {
    let mut work = begin(
        "steps: [(id: \"a\", say: \"Go.\", cautions: [(signal: Danger, say: \"Nobody beneath.\"), \
         (signal: Notice, say: \"Wet paint.\")])]",
    );
    assert_eq!(work.run.caution_page(), None);
    assert_eq!(view(&work).cautions.len(), 2);
    work.give(Command::WorkComplete);
}

/// Whatever is said on a page claims nothing, opens no hold and takes no reading.
#[test]
fn nothing_said_on_a_page_is_a_claim() {
    let hold = "hold: (ask: \"What carries it?\", answer: \"tyre carries load\"),";
    let wait = "wait: (name: \"rest\", lasts: \"1 min\"),";
    let reading = "readings: [(name: \"play\", unit: \"mm\", low: 0, high: 1, digits: 1)],";
    let bolts = "fasten: (bolts: 2, torque: \"9 N·m\"),";
    for more in ["", "kind: Know,", hold, wait, reading, bolts] {
        let mut work = lower(more);
        work.give(Command::WorkComplete);
        for page in 0..4 {
            let claims = [
                Command::WorkComplete,
                Command::OpenHold,
                Command::BeginCountdown,
                Command::Reading("1".parse::<Figure>().unwrap()),
                Command::ConfirmReading,
            ];
            for (claim, by) in claims
                .into_iter()
                .flat_map(|claim| [By::Voice, By::Key, By::HeldKey].map(|by| (claim.clone(), by)))
            {
                for event in work.decide_by(claim, by).unwrap_or_default() {
                    let harmless =
                        matches!(event, Event::Questioned { .. } | Event::Doubted { .. });
                    assert!(harmless, "{more} on page {page}: {event:?}");
                }
            }
            assert_eq!(work.run.wants(), None);
            assert_ne!(view(&work).tone, Tone::Hold);
            assert!(view(&work).circle.is_none());
            work.now += TimeDelta::seconds(5);
            turn(&mut work, 1);
        }
        assert_eq!(work.run.caution_page(), None);
        assert_eq!(work.run.progress().step, 1);
    }
}

/// The second stroke of a double one is no claim: neither of the next page nor of the step.
#[test]
fn a_key_pressed_twice_goes_on_once() {
    let mut work = lower("");
    work.give(Command::WorkComplete);
    turn(&mut work, 3);
    work.now += TimeDelta::seconds(2);
    turn(&mut work, 1);
    work.now += TimeDelta::milliseconds(400);
    let refusal = work.decide_by(Command::WorkComplete, By::Key).unwrap_err();
    assert!(refusal.why.contains("twice"), "{refusal:?}");
    assert!(work.decide_by(Command::WorkComplete, By::Voice).is_ok());
    work.now += TimeDelta::milliseconds(700);
    assert!(work.decide_by(Command::WorkComplete, By::Key).is_ok());
}

#[test]
fn a_page_that_was_passed_can_be_gone_back_to() {
    let mut work = lower("");
    work.give(Command::WorkComplete);
    turn(&mut work, 2);
    let back = work.give(Command::PreviousInstruction);
    assert!(matches!(back[..], [Event::CautionAgain { .. }]));
    assert!(
        work.said().starts_with("Caution 2 of 4."),
        "{}",
        work.said()
    );
    turn(&mut work, 3);
    let back = work.give(Command::Disregard);
    assert!(matches!(back[..], [Event::CautionAgain { .. }]));
    assert!(
        work.said().starts_with("Caution 4 of 4."),
        "{}",
        work.said()
    );
    turn(&mut work, 1);
    work.give(Command::PreviousInstruction);
    assert_eq!(
        work.run.progress().step,
        0,
        "from the call back to the step before"
    );
}

#[test]
fn who_comes_back_sees_all_pages_again() {
    let mut work = lower("");
    work.give(Command::WorkComplete);
    turn(&mut work, 4);
    work.give(Command::Stop);
    work.give(Command::Resume);
    assert!(
        work.said().starts_with("Caution 1 of 4."),
        "{}",
        work.said()
    );
    turn(&mut work, 4);
    work.give(Command::PreviousInstruction);
    work.give(Command::WorkComplete);
    assert!(
        work.said().starts_with("Caution 1 of 4."),
        "{}",
        work.said()
    );
    turn(&mut work, 2);

    // After a restart.
    let mut again = work.rebuilt();
    assert_eq!(again.state(), work.run.state());
    again.show_in(room());
    again.show_cautions_again();
    work.run = again;
    assert!(
        work.said().starts_with("Caution 1 of 4."),
        "{}",
        work.said()
    );
}

/// What holds for long is a page once, not before every step.
#[test]
fn a_condition_that_begins_is_a_page_until_it_was_taken_notice_of() {
    let mut work = begin(
        r#"conditions: [(name: "on stands", cautions: [
            (signal: Danger, say: "Stands carry it."),
            (signal: Warning, say: "Nobody leans on it."),
            (signal: Notice, say: "Jack away."),
        ])],
        steps: [
            (id: "up", say: "Raise it.", sets: ["on stands"]),
            (id: "off", say: "Wheel off."),
            (id: "on", say: "Wheel on.", cautions: [(signal: Caution, say: "Fingers away.")]),
            (id: "down", say: "Lower it.", clears: ["on stands"],
                hold: (ask: "What carries it?", answer: "tyre carries load")),
        ]"#,
    );
    let events = work.give(Command::WorkComplete);
    let said = spoken(&work, &events);
    assert!(
        said.starts_with("Caution 1 of 3. Danger: Stands carry it."),
        "{said}"
    );
    assert_eq!(said.matches("Stands carry it").count(), 1, "{said}");
    turn(&mut work, 3);
    work.give(Command::WorkComplete);
    assert!(
        work.said()
            .starts_with("Caution 1 of 1. Caution: Fingers away."),
        "{}",
        work.said()
    );
    turn(&mut work, 1);
    work.give(Command::WorkComplete);
    assert_eq!(work.run.caution_page(), None);
    assert_eq!(view(&work).tone, Tone::Hold);
    assert_eq!(view(&work).cautions.len(), 1);
    work.give(Command::OpenHold);
}

/// The end of a wait goes first, and a question about what holds.
#[test]
fn what_is_called_of_a_wait_goes_before_a_page() {
    let mut work = begin(&format!(
        "steps: [(id: \"a\", say: \"Paint.\", wait: (name: \"coat\", lasts: \"10 min\", meanwhile: true)), \
         (id: \"b\", say: \"Sweep.\", {FOUR})]"
    ));
    work.give(Command::BeginCountdown);
    turn(&mut work, 1);
    work.pass(10);
    assert_eq!(work.run.caution_page(), None);
    assert_eq!(view(&work).tone, Tone::Due);
    work.give(Command::NextInstruction);
    assert!(
        work.said().starts_with("Caution 2 of 4."),
        "{}",
        work.said()
    );
}
