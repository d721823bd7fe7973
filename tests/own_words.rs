//! A person's own words and the call sign: from what is heard to what is shown, said and recorded.

#![allow(clippy::unwrap_used, clippy::expect_used)]

mod ears;

use benchcall::dictionary::CmuDict;
use benchcall::hear::{Heard, Vocabulary};
use benchcall::procedure::{self, NoModel, Speech};
use benchcall::rehearse::room::{RATE, Room};
use benchcall::rehearse::voices::voice_named;
use benchcall::run::{By, Command, Event, Order, Run, Time, decide};
use benchcall::settings;
use benchcall::show::words;
use benchcall::understand;
use benchcall::wording::Wording;
use ears::{at_hand, hear};

const SETTINGS: &str = r#"(
    phrases: {
        "work complete": "job is finished",
        "next instruction": "carry on working",
        "confirm reading": "figure is right",
        "stop stop": "halt all work",
    },
    call_sign: "workshop",
)"#;

const PROCEDURE: &str = r#"(
    title: "Lower the axle",
    subject: "Volunteers' fire engine, rear axle (invented data)",
    call_sign: true,
    steps: [
        (id: "know", say: "The stands carry the axle.", kind: Know),
        (id: "lower", say: "Lower the jack.", hold: (ask: "What carries the load?", answer: "tyre carries load")),
        (id: "clear", say: "Clear the floor."),
    ],
)"#;

fn run(source: &str) -> Run {
    let speech = Speech::standard(&NoModel, &CmuDict);
    Run::new(procedure::read("axle.ron", source.as_bytes(), &speech).unwrap())
}

fn wording() -> Wording {
    let (settings, findings) =
        settings::read("settings.ron", SETTINGS.as_bytes(), &NoModel, &CmuDict);
    settings
        .unwrap_or_else(|| panic!("{findings:?}"))
        .wording(false)
}

fn now() -> Time {
    Time::from_timestamp(1_700_000_000, 0).unwrap()
}

fn give(run: &mut Run, command: Command) {
    let order = Order {
        command,
        by: By::Voice,
    };
    for event in decide(run, &order, now()).unwrap() {
        run.apply(&event);
    }
}

fn heard(text: &str) -> Heard {
    Heard {
        is_part: false,
        text: text.into(),
        is_reading: false,
        score: 0.0,
        sure: true,
    }
}

/// Takes what was heard as the bench does; returns the events, or the refusal as it is shown.
fn take(run: &mut Run, wording: &Wording, said: &str) -> Option<Result<Vec<Event>, String>> {
    let order = understand::order(run, wording, &heard(said))?;
    Some(match decide(run, &order, now()) {
        Ok(events) => {
            events.iter().for_each(|event| run.apply(event));
            Ok(events)
        }
        Err(refusal) => {
            let text = words::refusal(&refusal.why, &refusal.instead);
            Err(wording.retell(run, &text))
        }
    })
}

fn says(vocabulary: &Vocabulary) -> Vec<&str> {
    vocabulary
        .phrases
        .iter()
        .map(|p| p.words.as_str())
        .collect()
}

#[test]
fn own_words_take_the_place_of_the_standard_words_everywhere() {
    let wording = wording();
    let mut run = run(PROCEDURE);
    give(&mut run, Command::Begin);
    let vocabulary = understand::vocabulary(&run, &wording);
    let said = says(&vocabulary);
    assert!(said.contains(&"workshop job is finished"), "{said:?}");
    assert!(said.contains(&"workshop say again"), "{said:?}");
    for gone in [
        "work complete",
        "workshop work complete",
        "job is finished",
        "say again",
    ] {
        assert!(!said.contains(&gone), "{gone} in {said:?}");
        assert_eq!(take(&mut run, &wording, gone), None, "{gone}");
    }
    // The wrong way forward is asked back, in the person's words.
    let order = Order {
        command: Command::WorkComplete,
        by: By::Voice,
    };
    let questioned = decide(&run, &order, now()).unwrap();
    let spoken = words::outcome(&run, &questioned, &wording);
    assert!(spoken.contains("\"workshop carry on working\""), "{spoken}");
    assert_eq!(wording.may_say(&run)[0].say, "workshop carry on working");
    // A refusal quotes them.
    let refusal = take(&mut run, &wording, "workshop resume procedure").unwrap();
    assert_eq!(
        refusal,
        Err("The work is going on. Say \"workshop carry on working\".".into())
    );
    // What was doubtful is asked back in them.
    let doubted = Event::Doubted {
        command: Command::WorkComplete,
        until: now(),
    };
    let asked = words::outcome(&run, &[doubted], &wording);
    assert!(asked.contains("workshop job is finished"), "{asked}");
    assert!(words::help(&run, &wording).contains("workshop carry on working"));
}

#[test]
fn a_hold_wants_the_call_sign_before_its_own_answer() {
    let wording = wording();
    let mut run = run(PROCEDURE);
    give(&mut run, Command::Begin);
    assert!(
        take(&mut run, &wording, "workshop carry on working")
            .unwrap()
            .is_ok()
    );
    let spoken = words::spoken_call(&run, &wording);
    assert!(
        spoken.ends_with("Answer: workshop tyre carries load."),
        "{spoken}"
    );
    assert!(says(&understand::vocabulary(&run, &wording)).contains(&"workshop tyre carries load"));
    assert_eq!(wording.may_say(&run)[0].say, "workshop tyre carries load");
    assert_eq!(take(&mut run, &wording, "tyre carries load"), None);
    let question = take(&mut run, &wording, "workshop job is finished")
        .unwrap()
        .unwrap();
    let question = words::outcome(&run, &question, &wording);
    assert!(
        question.contains("\"workshop tyre carries load\""),
        "{question}"
    );
    assert!(
        take(&mut run, &wording, "workshop tyre carries load")
            .unwrap()
            .is_ok()
    );
    assert_eq!(run.progress().step, 2);
}

#[test]
fn stop_is_understood_from_everybody() {
    let wording = wording();
    let mut run = run(PROCEDURE);
    give(&mut run, Command::Begin);
    let vocabulary = understand::vocabulary(&run, &wording);
    for stop in [
        "stop stop",
        "stop stop stop",
        "halt all work",
        "workshop stop stop",
        "workshop halt all work",
    ] {
        assert!(says(&vocabulary).contains(&stop), "{stop}");
        let order = understand::order(&run, &wording, &heard(stop)).unwrap();
        assert_eq!(order.command, Command::Stop, "{stop}");
    }
}

/// The offer of an unfinished job has the same words.
#[test]
fn the_offer_is_answered_in_own_words() {
    let mut plain = Wording::default();
    assert_eq!(
        says(&understand::offer_vocabulary(&plain)),
        [understand::GO_ON, understand::BEGIN_AFRESH]
    );
    plain.want_call_sign();
    assert_eq!(
        says(&understand::offer_vocabulary(&plain)),
        ["bench resume procedure", "bench begin afresh"]
    );
    assert_eq!(
        plain.meant("bench begin afresh").as_deref(),
        Some(understand::BEGIN_AFRESH)
    );
}

/// A reading is said as ever: it is heard only while asked for, and read back.
#[test]
fn a_reading_needs_no_call_sign_but_its_confirmation_does() {
    let wording = wording();
    let mut run = run(
        r#"(title: "Play", subject: "Fire engine (invented data)", steps: [
            (id: "play", say: "Measure.", readings: [(name: "play", unit: "mm", low: 1, high: 9, digits: 1)]),
        ])"#,
    );
    give(&mut run, Command::Begin);
    let reading = Heard {
        is_part: false,
        is_reading: true,
        ..heard("5")
    };
    let order = understand::order(&run, &wording, &reading).unwrap();
    give(&mut run, order.command);
    assert_eq!(take(&mut run, &wording, "figure is right"), None);
    assert_eq!(take(&mut run, &wording, "workshop confirm reading"), None);
    let events = take(&mut run, &wording, "workshop figure is right")
        .unwrap()
        .unwrap();
    assert!(
        matches!(events[0], Event::ReadingTaken { .. }),
        "{events:?}"
    );
}

/// Quotation marks of a procedure's own do not confuse the retelling.
#[test]
fn what_is_quoted_otherwise_stays_as_it_is() {
    let wording = wording();
    let run = run(PROCEDURE);
    for (told, retold) in [
        ("Say \"say again\".", "Say \"workshop say again\"."),
        (
            "A 5\" pipe. Say \"say again\".",
            "A 5\" pipe. Say \"workshop say again\".",
        ),
        ("Such as \"one one zero\".", "Such as \"one one zero\"."),
        ("say again", "say again"),
        ("In danger \"stop stop\".", "In danger \"halt all work\"."),
    ] {
        assert_eq!(wording.retell(&run, told), retold);
    }
}

/// The whole way with the real recogniser: a voice says what may be said, in the person's words.
#[test]
fn a_voice_does_the_job_in_own_words_with_the_call_sign() {
    if !at_hand("a job in own words", &["ears", "flite"]) {
        return;
    }
    let wording = wording();
    let voice = voice_named("flite:rms").unwrap();
    let mut run = run(PROCEDURE);
    give(&mut run, Command::Begin);
    for _ in 0..3 {
        let says = wording.may_say(&run)[0].say.clone();
        let mut room = Room::new(None, 1);
        room.queue(vec![0; RATE as usize]);
        room.queue(voice.render(&says).unwrap());
        room.queue(vec![0; 2 * RATE as usize]);
        let (mut sound, mut chunk) = (Vec::new(), Vec::new());
        while room.busy() {
            room.next_chunk(&mut chunk);
            sound.append(&mut chunk);
        }
        let heard = hear(RATE, &[sound], understand::vocabulary(&run, &wording));
        println!("{says}: {heard:?}");
        let heard = &heard
            .first()
            .unwrap_or_else(|| panic!("{says} was not heard"))
            .heard;
        let order = understand::order(&run, &wording, heard).unwrap();
        let events = decide(&run, &order, now()).unwrap();
        events.iter().for_each(|event| run.apply(event));
    }
    assert!(run.state().finished, "{:?}", run.state());
}
