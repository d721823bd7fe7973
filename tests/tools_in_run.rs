//! The person's own wrench and adapter in a job: said by name, and what to dial is shown and spoken.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::sync::Arc;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Speech, read};
use benchcall::record::form::EventForm;
use benchcall::run::{By, Command, Event, Order, Refusal, Run, Time, decide, sayable};
use benchcall::show::words;
use benchcall::trade::wrench::Tools;
use benchcall::understand;
use benchcall::wording::Wording;

const TOOLS: &str = r#"(
    wrenches: [
        (name: "long wrench", length: "450 mm", lowest: "40 N·m", highest: "200 N·m",
            step: "1 N·m", deviation: "4 %"),
        (name: "silver ratchet", length: "250 mm", lowest: "5 N·m", highest: "60 N·m",
            step: "1 N·m", deviation: "4 %"),
    ],
    adapters: [(name: "open end", length: "50 mm", most: "120 N·m")],
)"#;

const STEP: &str = r#"(title: "Wheel", subject: "Volunteers' fire engine (invented)", steps: [
    (id: "tighten", say: "Tighten.",
        fasten: (bolts: 5, torque: "110 N·m", passes: [0.5, 1.0], band: "110 ± 6 N·m", called: Nut)),
])"#;

fn run() -> Run {
    let speech = Speech::standard(&NoModel, &CmuDict);
    let mut run = Run::new(read("wheel.ron", STEP.as_bytes(), &speech).unwrap());
    run.set_tools(Arc::new(Tools::from_ron(TOOLS).unwrap()));
    run.apply(&Event::Began);
    run
}

fn give(run: &mut Run, command: Command) -> Result<Vec<Event>, Refusal> {
    let by = By::Voice;
    let events = decide(run, &Order { command, by }, Time::UNIX_EPOCH)?;
    events.iter().for_each(|event| run.apply(event));
    Ok(events)
}

fn say(run: &mut Run, words: &str) -> Result<Vec<Event>, Refusal> {
    let command = sayable::understand(run, words).expect(words);
    give(run, command)
}

#[test]
fn a_tools_name_is_heard_and_the_step_shows_what_to_dial() {
    let mut run = run();
    let heard = understand::vocabulary(&run, &Wording::default());
    let names = ["long wrench", "silver ratchet", "open end"];
    for name in names {
        assert!(
            heard.phrases.iter().any(|phrase| phrase.words == name),
            "{name}"
        );
    }
    assert!(!words::detail(&run).contains("dial"));
    let offered = sayable::may_say(&run);
    assert!(offered.iter().any(|sayable| sayable.say == "long wrench"));
    assert!(!offered.iter().any(|sayable| sayable.say == "open end"));

    say(&mut run, "long wrench").unwrap();
    assert!(
        words::detail(&run).starts_with("long wrench: dial 55 N·m"),
        "{}",
        words::detail(&run)
    );
    say(&mut run, "open end").unwrap();
    // 55 × 450/500 = 49.5, down to a mark.
    assert!(words::detail(&run).starts_with("long wrench with open end: dial 49 N·m"));
    let told = words::torque(&run);
    assert!(told.contains("dial 49 newton metres"), "{told}");
}

#[test]
fn only_the_full_torque_is_to_prove_the_band() {
    let mut run = run();
    say(&mut run, "long wrench").unwrap();
    assert!(!words::detail(&run).contains("band"));
    for _ in 0..5 {
        say(&mut run, "work complete").unwrap();
    }
    let detail = words::detail(&run);
    assert!(
        detail.contains("dial 110 N·m, which proves the band within ±4 %"),
        "{detail}"
    );
    let spoken = words::spoken_call(&run, &Wording::default());
    assert!(spoken.contains("plus or minus 4 percent"), "{spoken}");
}

#[test]
fn a_wrench_that_does_not_reach_says_so() {
    let mut run = run();
    for _ in 0..5 {
        say(&mut run, "work complete").unwrap();
    }
    say(&mut run, "silver ratchet").unwrap();
    assert!(
        words::torque(&run).contains("Not with this wrench"),
        "{}",
        words::torque(&run)
    );
    assert!(words::detail(&run).contains("take a larger one"));
}

#[test]
fn an_adapter_alone_is_in_no_hand() {
    let mut run = run();
    assert!(say(&mut run, "open end").is_err());
    say(&mut run, "long wrench").unwrap();
    say(&mut run, "open end").unwrap();
    say(&mut run, "silver ratchet").unwrap();
    assert_eq!(run.in_hand().unwrap().called(), "silver ratchet");
    say(&mut run, "disregard").unwrap();
    assert_eq!(run.in_hand().unwrap().called(), "long wrench with open end");
}

/// What is in hand is on the record; with the tools gone nothing is said of it.
#[test]
fn what_is_in_hand_is_recorded() {
    let mut run = run();
    let mut events = say(&mut run, "long wrench").unwrap();
    events.extend(say(&mut run, "open end").unwrap());
    let mut again = self::run();
    for event in &events {
        let line = serde_json::to_string(&EventForm::from(event)).unwrap();
        let form: EventForm = serde_json::from_str(&line).unwrap();
        again.apply(&Event::try_from(form).unwrap());
    }
    assert_eq!(again.state().held, run.state().held);
    again.set_tools(Arc::default());
    assert_eq!(again.dial(), None);
}
