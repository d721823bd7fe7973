//! Sums in the run: worked out when their readings are taken, said, recorded, and shut where they say no.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/at_work.rs"]
mod at_work;

use at_work::AtWork;
use benchcall::clock::Hours;
use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Procedure, Speech, Sum, read};
use benchcall::record::form::EventForm;
use benchcall::run::{Command, Event, SkipReason};
use benchcall::show::words;
use benchcall::trade::Verdict;
use benchcall::wording::Wording;
use chrono::{FixedOffset, TimeDelta};

const CLIMATE: &str = r#"
    (
        id: "climate",
        say: "Read the climate.",
        readings: [
            (name: "air", unit: "°C", low: 5, high: 40, digits: 2, decimals: 1),
            (name: "humidity", unit: "%", low: 10, high: 99, digits: 2),
            (name: "metal", unit: "°C", low: 5, high: 40, digits: 2, decimals: 1),
        ],
        sums: [Climate(air: "air", humidity: "humidity", metal: "metal", least: "10 °C",
            most: "30 °C", again: "20 min")],
    ),
    (id: "paint", say: "Paint."),
"#;

const DAMP: [&str; 3] = ["18.0", "70", "15.0"];
const DRY: [&str; 3] = ["18.0", "70", "18.0"];

fn reckoned(events: &[Event]) -> Vec<(Verdict, String)> {
    let found = events.iter().filter_map(|event| match event {
        Event::Reckoned {
            verdict, result, ..
        } => Some((*verdict, result.clone())),
        _ => None,
    });
    found.collect()
}

#[test]
fn a_climate_that_is_damp_stops_the_step() {
    let mut work = AtWork::begin(CLIMATE);
    let events = work.read(&DAMP);
    let results = reckoned(&events);
    assert_eq!(results.len(), 1);
    assert_eq!(results[0].0, Verdict::Refuse);
    assert!(
        work.said()
            .contains("Warm the metal to at least 15.5 degrees"),
        "{}",
        work.said()
    );
    assert_eq!(work.called(), results[0].1);
    for command in [
        Command::NextInstruction,
        Command::WorkComplete,
        Command::Skip,
    ] {
        let refusal = work.decide(command).unwrap_err();
        assert!(refusal.instead.contains("measure again"), "{refusal:?}");
    }
    let skip = work.decide(Command::SkipBecause(SkipReason::NotRequired));
    assert!(skip.is_err());
    assert_eq!(work.first(), Command::MeasureAgain);
    assert_eq!(work.run.progress().step, 0);
}

#[test]
fn it_is_asked_again_after_its_time_or_at_once() {
    let mut work = AtWork::begin(CLIMATE);
    work.read(&DAMP);
    assert_eq!(work.run.next_due(), Some(work.now + TimeDelta::minutes(20)));
    work.now += TimeDelta::minutes(19);
    assert!(work.give(Command::Tick).is_empty());
    work.now += TimeDelta::minutes(1);
    let asked = work.give(Command::Tick);
    assert!(matches!(asked[..], [Event::MeasuringAgain { .. }]));
    assert_eq!(work.called(), "Air?");
    assert_eq!(work.run.next_due(), None);

    work.read(&DAMP);
    work.give(Command::MeasureAgain);
    assert_eq!(work.called(), "Air?");
    let results = reckoned(&work.read(&DRY));
    assert_eq!(results[0].0, Verdict::Go);
    assert!(work.give(Command::Tick).is_empty());
    assert_eq!(work.first(), Command::NextInstruction);
    work.give(Command::NextInstruction);
    assert_eq!(work.called(), "Paint.");
    assert_eq!(
        work.decide(Command::MeasureAgain).unwrap_err().why,
        "No reading is being read back"
    );
}

#[test]
fn say_again_says_the_result_again() {
    let mut work = AtWork::begin(CLIMATE);
    work.read(&DRY);
    let said = work.said();
    assert!(said.contains("Paint may go on"), "{said}");
    let again = work.give(Command::SayAgain);
    let hours = Hours {
        offset: FixedOffset::east_opt(0).unwrap(),
        change: None,
    };
    let spoken = words::spoken(&work.run, &again, work.now, &hours, &Wording::default());
    assert_eq!(spoken, said);
}

#[test]
fn while_standing_by_nothing_is_asked_again() {
    let mut work = AtWork::begin(CLIMATE);
    work.read(&DAMP);
    work.give(Command::StandBy);
    work.now += TimeDelta::hours(1);
    assert!(work.give(Command::Tick).is_empty());
    assert_eq!(work.run.next_due(), None);
    work.give(Command::Resume);
    assert_eq!(work.give(Command::Tick).len(), 1);
}

/// Going back drops what is read anew: the sum never mixes old figures with new ones.
#[test]
fn a_reading_gone_back_to_is_taken_anew() {
    let mut work = AtWork::begin(CLIMATE);
    work.read(&DAMP);
    work.give(Command::PreviousInstruction);
    assert_eq!(work.called(), "Metal?");
    let results = reckoned(&work.read(&["18.0"]));
    assert_eq!(results[0].0, Verdict::Go);
    work.give(Command::Disregard);
    assert!(work.run.results().is_empty());
    work.give(Command::ConfirmReading);
    assert_eq!(work.run.verdict(), Verdict::Go);
}

#[test]
fn a_warning_is_taken_notice_of() {
    let mut work = AtWork::begin(
        r#"(id: "comb", say: "Read the comb.",
            readings: [(name: "wet film", unit: "µm", low: 20, high: 250, digits: 3)],
            sums: [Film(wet: "wet film", solids: "50 %", least: "40 µm", most: "60 µm")]),
        (id: "clean", say: "Clean the gun.")"#,
    );
    let results = reckoned(&work.read(&["060"]));
    assert_eq!(results[0].0, Verdict::Warn);
    assert!(work.said().starts_with("Take care."), "{}", work.said());
    let asked = work.give(Command::WorkComplete);
    assert!(matches!(asked[..], [Event::Questioned { .. }]));
    work.give(Command::NextInstruction);
    assert_eq!(work.called(), "Clean the gun.");
}

#[test]
fn sums_without_readings_belong_to_the_call() {
    let mut work = AtWork::begin(
        r#"(id: "tin", say: "Stir the tin."),
        (id: "mix", say: "Mix in the cup.", more: "Stir two minutes.",
            sums: [Mix(ratio: "4:1", total: "500 ml", mark: "50 ml")])"#,
    );
    let called = work.give(Command::WorkComplete);
    let results = reckoned(&called);
    assert_eq!(results.len(), 1);
    assert!(results[0].1.contains("base to 400 ml"), "{results:?}");
    assert!(words::detail(&work.run).starts_with("Fill the cup with base to 400 ml"));
    assert!(
        work.said().contains("base to 400 millilitres"),
        "{}",
        work.said()
    );
    let done = work.give(Command::WorkComplete);
    assert!(reckoned(&done).is_empty());
    assert!(work.run.state().finished);
}

/// The checker lets no such procedure pass; the run does not rely on it.
#[test]
fn what_the_checker_refuses_the_run_refuses_too() {
    let made = |steps: &str| -> Procedure {
        let text = format!("(title: \"t\", subject: \"s\", steps: [{steps}])");
        let extensions = ron::extensions::Extensions::IMPLICIT_SOME
            | ron::extensions::Extensions::UNWRAP_VARIANT_NEWTYPES;
        let options = ron::Options::default().with_default_extension(extensions);
        options.from_str(&text).unwrap()
    };
    let greased = r#"
        (id: "grease", say: "Grease the studs.", applies: [(what: Grease, to: "wheel nuts")]),
        (id: "clean", say: "Clean them.", applies: [(what: Nothing, to: "wheel nuts")]),
        (id: "tighten", say: "Tighten.",
            fasten: (bolts: 1, torque: "110 N·m", threads: Dry, name: "wheel nuts")),
    "#;
    let mut work = AtWork::of(made(greased));
    work.give(Command::WorkComplete);
    work.give(Command::Skip);
    work.give(Command::SkipBecause(SkipReason::NotRequired));
    let refusal = work.decide(Command::WorkComplete).unwrap_err();
    assert!(refusal.why.contains("threads dry"), "{refusal:?}");

    let mut work = AtWork::of(made(greased));
    work.give(Command::WorkComplete);
    work.give(Command::WorkComplete);
    work.give(Command::WorkComplete);
    assert!(work.run.state().finished);

    let overloaded = r#"(id: "lift", say: "Lift.", sums: [Stands(rating: "1 t per pair",
        axle: "1.6 t", vehicle: "2.6 t")])"#;
    let work = AtWork::of(made(overloaded));
    let refusal = work.decide(Command::WorkComplete).unwrap_err();
    assert!(refusal.why.contains("160 %"), "{refusal:?}");
}

/// Applied again from their form on disk, the events lead to the same place.
#[test]
fn results_are_on_the_record() {
    let mut work = AtWork::begin(CLIMATE);
    work.read(&DAMP);
    work.same_after_a_restart();
    let line = serde_json::to_string(&EventForm::from(work.events.last().unwrap())).unwrap();
    for part in ["climate for painting", "refuse", "ISO 8502-4", "12.44"] {
        assert!(line.contains(part), "{part} in {line}");
    }
}

/// Every named piece has an example among the procedures that come with the program.
#[test]
fn every_sum_has_an_example() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let mut found: Vec<&str> = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        let speech = Speech::standard(&NoModel, &CmuDict);
        let procedure = read("example.ron", &bytes, &speech).unwrap();
        found.extend(
            procedure
                .steps
                .iter()
                .flat_map(|step| &step.sums)
                .map(Sum::name),
        );
    }
    let mut all = Sum::NAMES.to_vec();
    all.sort_unstable();
    found.sort_unstable();
    found.dedup();
    assert_eq!(found, all);
}
