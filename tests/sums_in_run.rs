//! Sums in the run: worked out when their readings are taken, said, recorded, and shut where they say no.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use benchcall::clock::Hours;
use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Procedure, Speech, Sum, read};
use benchcall::record::form::EventForm;
use benchcall::run::{By, Command, Event, Order, Refusal, Run, SkipReason, Time, decide, sayable};
use benchcall::show::words;
use benchcall::trade::Verdict;
use benchcall::wording::Wording;
use chrono::{FixedOffset, TimeDelta, TimeZone, Utc};

struct Bench {
    run: Run,
    now: Time,
    /// Every event of the job.
    events: Vec<Event>,
}

impl Bench {
    fn begin(steps: &str) -> Bench {
        Bench::of(procedure(steps))
    }

    fn of(procedure: Procedure) -> Bench {
        let mut bench = Bench {
            run: Run::new(procedure),
            now: Utc.with_ymd_and_hms(2026, 5, 4, 9, 0, 0).unwrap(),
            events: Vec::new(),
        };
        bench.give(Command::Begin);
        bench
    }

    fn decide(&self, command: Command) -> Result<Vec<Event>, Refusal> {
        let by = match command {
            Command::Tick => By::Clock,
            Command::Begin => By::Program,
            _ => By::Voice,
        };
        decide(&self.run, &Order { command, by }, self.now)
    }

    fn give(&mut self, command: Command) -> Vec<Event> {
        let events = self.decide(command).unwrap();
        for event in &events {
            self.run.apply(event);
        }
        self.events.extend(events.iter().cloned());
        events
    }

    fn read(&mut self, figures: &[&str]) -> Vec<Event> {
        let mut last = Vec::new();
        for figure in figures {
            self.give(Command::Reading(figure.parse().unwrap()));
            last = self.give(Command::ConfirmReading);
        }
        last
    }

    fn said(&self) -> String {
        words::spoken_call(&self.run, &Wording::default())
    }

    fn first(&self) -> Command {
        sayable::may_say(&self.run)[0].command.clone()
    }
}

fn procedure(steps: &str) -> Procedure {
    let text = format!(
        "(title: \"Paint\", subject: \"Volunteers' fire engine (invented)\", steps: [{steps}])"
    );
    let speech = Speech::standard(&NoModel, &CmuDict);
    read("test.ron", text.as_bytes(), &speech).unwrap_or_else(|findings| panic!("{findings:?}"))
}

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
    let mut bench = Bench::begin(CLIMATE);
    let events = bench.read(&DAMP);
    let results = reckoned(&events);
    assert_eq!(results.len(), 1);
    assert_eq!(results[0].0, Verdict::Refuse);
    assert!(
        bench
            .said()
            .contains("Warm the metal to at least 15.5 degrees"),
        "{}",
        bench.said()
    );
    assert_eq!(words::call(&bench.run), results[0].1);
    for command in [
        Command::NextInstruction,
        Command::WorkComplete,
        Command::Skip,
    ] {
        let refusal = bench.decide(command).unwrap_err();
        assert!(refusal.instead.contains("measure again"), "{refusal:?}");
    }
    let skip = bench.decide(Command::SkipBecause(SkipReason::NotRequired));
    assert!(skip.is_err());
    assert_eq!(bench.first(), Command::MeasureAgain);
    assert_eq!(bench.run.progress().step, 0);
}

#[test]
fn it_is_asked_again_after_its_time_or_at_once() {
    let mut bench = Bench::begin(CLIMATE);
    bench.read(&DAMP);
    assert_eq!(
        bench.run.next_due(),
        Some(bench.now + TimeDelta::minutes(20))
    );
    bench.now += TimeDelta::minutes(19);
    assert!(bench.give(Command::Tick).is_empty());
    bench.now += TimeDelta::minutes(1);
    let asked = bench.give(Command::Tick);
    assert!(matches!(asked[..], [Event::MeasuringAgain { .. }]));
    assert_eq!(words::call(&bench.run), "Air?");
    assert_eq!(bench.run.next_due(), None);

    bench.read(&DAMP);
    bench.give(Command::MeasureAgain);
    assert_eq!(words::call(&bench.run), "Air?");
    let results = reckoned(&bench.read(&DRY));
    assert_eq!(results[0].0, Verdict::Go);
    assert!(bench.give(Command::Tick).is_empty());
    assert_eq!(bench.first(), Command::NextInstruction);
    bench.give(Command::NextInstruction);
    assert_eq!(words::call(&bench.run), "Paint.");
    assert_eq!(
        bench.decide(Command::MeasureAgain).unwrap_err().why,
        "No reading is being read back"
    );
}

#[test]
fn say_again_says_the_result_again() {
    let mut bench = Bench::begin(CLIMATE);
    bench.read(&DRY);
    let said = bench.said();
    assert!(said.contains("Paint may go on"), "{said}");
    let again = bench.give(Command::SayAgain);
    let hours = Hours {
        offset: FixedOffset::east_opt(0).unwrap(),
        change: None,
    };
    let spoken = words::spoken(&bench.run, &again, bench.now, &hours, &Wording::default());
    assert_eq!(spoken, said);
}

#[test]
fn while_standing_by_nothing_is_asked_again() {
    let mut bench = Bench::begin(CLIMATE);
    bench.read(&DAMP);
    bench.give(Command::StandBy);
    bench.now += TimeDelta::hours(1);
    assert!(bench.give(Command::Tick).is_empty());
    assert_eq!(bench.run.next_due(), None);
    bench.give(Command::Resume);
    assert_eq!(bench.give(Command::Tick).len(), 1);
}

/// Going back drops what is read anew: the sum never mixes old figures with new ones.
#[test]
fn a_reading_gone_back_to_is_taken_anew() {
    let mut bench = Bench::begin(CLIMATE);
    bench.read(&DAMP);
    bench.give(Command::PreviousInstruction);
    assert_eq!(words::call(&bench.run), "Metal?");
    let results = reckoned(&bench.read(&["18.0"]));
    assert_eq!(results[0].0, Verdict::Go);
    bench.give(Command::Disregard);
    assert!(bench.run.results().is_empty());
    bench.give(Command::ConfirmReading);
    assert_eq!(bench.run.verdict(), Verdict::Go);
}

#[test]
fn a_warning_is_taken_notice_of() {
    let mut bench = Bench::begin(
        r#"(id: "comb", say: "Read the comb.",
            readings: [(name: "wet film", unit: "µm", low: 20, high: 250, digits: 3)],
            sums: [Film(wet: "wet film", solids: "50 %", least: "40 µm", most: "60 µm")]),
        (id: "clean", say: "Clean the gun.")"#,
    );
    let results = reckoned(&bench.read(&["060"]));
    assert_eq!(results[0].0, Verdict::Warn);
    assert!(bench.said().starts_with("Take care."), "{}", bench.said());
    let asked = bench.give(Command::WorkComplete);
    assert!(matches!(asked[..], [Event::Questioned { .. }]));
    bench.give(Command::NextInstruction);
    assert_eq!(words::call(&bench.run), "Clean the gun.");
}

#[test]
fn sums_without_readings_belong_to_the_call() {
    let mut bench = Bench::begin(
        r#"(id: "tin", say: "Stir the tin."),
        (id: "mix", say: "Mix in the cup.", more: "Stir two minutes.",
            sums: [Mix(ratio: "4:1", total: "500 ml", mark: "50 ml")])"#,
    );
    let called = bench.give(Command::WorkComplete);
    let results = reckoned(&called);
    assert_eq!(results.len(), 1);
    assert!(results[0].1.contains("base to 400 ml"), "{results:?}");
    assert!(words::detail(&bench.run).starts_with("Fill the cup with base to 400 ml"));
    assert!(
        bench.said().contains("base to 400 millilitres"),
        "{}",
        bench.said()
    );
    let done = bench.give(Command::WorkComplete);
    assert!(reckoned(&done).is_empty());
    assert!(bench.run.state().finished);
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
    let mut bench = Bench::of(made(greased));
    bench.give(Command::WorkComplete);
    bench.give(Command::Skip);
    bench.give(Command::SkipBecause(SkipReason::NotRequired));
    let refusal = bench.decide(Command::WorkComplete).unwrap_err();
    assert!(refusal.why.contains("threads dry"), "{refusal:?}");

    let mut bench = Bench::of(made(greased));
    bench.give(Command::WorkComplete);
    bench.give(Command::WorkComplete);
    bench.give(Command::WorkComplete);
    assert!(bench.run.state().finished);

    let overloaded = r#"(id: "lift", say: "Lift.", sums: [Stands(rating: "1 t per pair",
        axle: "1.6 t", vehicle: "2.6 t")])"#;
    let bench = Bench::of(made(overloaded));
    let refusal = bench.decide(Command::WorkComplete).unwrap_err();
    assert!(refusal.why.contains("160 %"), "{refusal:?}");
}

/// Applied again from their form on disk, the events lead to the same place.
#[test]
fn results_are_on_the_record() {
    let mut bench = Bench::begin(CLIMATE);
    bench.read(&DAMP);
    let mut again = Run::new(procedure(CLIMATE));
    for event in &bench.events {
        let line = serde_json::to_string(&EventForm::from(event)).unwrap();
        let form: EventForm = serde_json::from_str(&line).unwrap();
        let read = Event::try_from(form).unwrap();
        assert_eq!(read, *event);
        again.apply(&read);
    }
    assert_eq!(again, bench.run);
    let line = serde_json::to_string(&EventForm::from(bench.events.last().unwrap())).unwrap();
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
