//! Waits as a person meets them: called until answered, with a latest end, moved by the temperature,
//! stopped, and the same after the record is read again.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use benchcall::clock::Hours;
use benchcall::dictionary::CmuDict;
use benchcall::procedure::{self, NoModel, Procedure, Speech};
use benchcall::record::form::EventForm;
use benchcall::run::{By, CallOf, Command, Event, Order, Run, Time, decide, sayable, times_called};
use benchcall::show::{wait_words, words};
use benchcall::wording::Wording;
use chrono::{FixedOffset, TimeDelta};

const SEAL: &str = r#"
(
    title: "Seal the pump cover",
    subject: "Volunteers' fire engine, pump (invented data)",
    steps: [
        (id: "read", say: "Read the face.", readings: [
            (name: "face", unit: "°C", low: 5.0, high: 40.0, digits: 2),
        ]),
        (id: "bead", say: "Lay a bead.", wait: (
            name: "skin", called: "sealant skin", lasts: "10 min", at_most: "30 min",
            too_late: "Clean both faces, lay a new bead.",
            cure: (reading: "face", at: "20 °C", least: "10 °C", most: "30 °C"),
        )),
        (id: "cover", say: "Set the cover on."),
        (id: "cure", say: "Leave it.", wait: (name: "cure", lasts: "12 h", meanwhile: true)),
        (id: "wipe", say: "Wipe it."),
        (id: "last", say: "Fill the pump.", after: ["cure", "wipe"]),
    ],
)
"#;

fn procedure() -> Procedure {
    let speech = Speech::standard(&NoModel, &CmuDict);
    procedure::read("seal.ron", SEAL.as_bytes(), &speech).unwrap()
}

/// A person at the bench: what is said takes effect, and the record is kept.
struct Bench {
    run: Run,
    now: Time,
    record: Vec<String>,
}

impl Bench {
    fn new() -> Bench {
        let mut bench = Bench {
            run: Run::new(procedure()),
            now: "2026-03-02T08:00:00Z".parse().unwrap(),
            record: Vec::new(),
        };
        bench.keep(vec![Event::Began]);
        bench
    }

    fn keep(&mut self, events: Vec<Event>) -> Vec<Event> {
        for event in &events {
            self.run.apply(event);
            self.record
                .push(serde_json::to_string(&EventForm::from(event)).unwrap());
        }
        events
    }

    fn give(&mut self, command: Command, by: By) -> Result<Vec<Event>, String> {
        let order = Order { command, by };
        let events = decide(&self.run, &order, self.now).map_err(|no| no.why)?;
        Ok(self.keep(events))
    }

    fn say(&mut self, text: &str) -> Vec<Event> {
        let command = match text.parse() {
            Ok(figure) => Command::Reading(figure),
            Err(_) => sayable::understand(&self.run, text).unwrap(),
        };
        self.give(command, By::Voice)
            .unwrap_or_else(|why| panic!("{text}: {why}"))
    }

    /// Lets time pass, looking at the clock every second.
    fn pass(&mut self, minutes: f64) {
        let end = self.now + TimeDelta::seconds((minutes * 60.0) as i64);
        while self.now < end {
            self.now += TimeDelta::seconds(1);
            self.give(Command::Tick, By::Clock).unwrap();
        }
    }

    fn called(&self) -> Option<(String, CallOf)> {
        let called = self.run.called_wait()?;
        Some((called.wait.name.to_string(), called.wait.call?.of))
    }

    fn due_in(&self, name: &str) -> f64 {
        let wait = self.run.waits().find(|w| w.name.as_str() == name).unwrap();
        (wait.due - self.now).num_milliseconds() as f64 / 60_000.0
    }

    fn latest_in(&self, name: &str) -> f64 {
        let wait = self.run.waits().find(|w| w.name.as_str() == name).unwrap();
        (wait.latest.unwrap() - self.now).num_milliseconds() as f64 / 60_000.0
    }

    /// Reads the temperature and lays the bead.
    fn lay_the_bead(&mut self, temperature: &str) {
        self.say(temperature);
        self.say("confirm reading");
        self.say("begin countdown");
    }

    fn read_again(&self) -> Run {
        let mut run = Run::new(procedure());
        for line in &self.record {
            let form: EventForm = serde_json::from_str(line).unwrap();
            run.apply(&Event::try_from(form).unwrap());
        }
        run
    }
}

fn hours() -> Hours {
    Hours {
        offset: FixedOffset::east_opt(0).unwrap(),
        change: None,
    }
}

#[test]
fn an_end_is_called_until_it_is_answered() {
    let mut bench = Bench::new();
    bench.lay_the_bead("20");
    bench.pass(10.0);
    assert_eq!(bench.called(), Some(("skin".into(), CallOf::Over)));
    assert_eq!(words::call(&bench.run), "Skin is over");
    // Its own step goes on like any work.
    bench.say("work complete");
    bench.say("work complete");
    bench.say("begin countdown");
    assert_eq!(words::call(&bench.run), "Wipe it.");
    bench.pass(12.0 * 60.0);
    assert_eq!(words::call(&bench.run), "Cure is over");
    // The step's claim would be taken for the answer: it is asked which.
    let events = bench.say("work complete");
    assert!(matches!(events[..], [Event::Questioned { .. }]));
    assert_eq!(bench.called(), Some(("cure".into(), CallOf::Over)));
    assert_eq!(bench.read_again().called_wait().map(|w| w.job), Some(0));
    bench.say("next instruction");
    assert_eq!(bench.called(), None);
    assert_eq!(words::call(&bench.run), "Wipe it.");
    bench.say("disregard");
    assert_eq!(bench.called(), Some(("cure".into(), CallOf::Over)));
}

#[test]
fn the_latest_end_is_called_in_time_and_what_to_do_after_it() {
    let mut bench = Bench::new();
    bench.lay_the_bead("20");
    bench.pass(10.0);
    bench.say("work complete");
    // A quarter of the 20 minutes between the ends before the latest.
    bench.pass(14.9);
    assert_eq!(bench.called(), None);
    bench.pass(0.2);
    assert_eq!(bench.called(), Some(("skin".into(), CallOf::Soon)));
    let one = bench.run.called_wait().unwrap();
    let told = wait_words::spoken_call(&bench.run, one, bench.now, 0, &hours());
    assert!(
        told.contains("left to act") && told.contains("Set the cover on"),
        "{told}"
    );
    bench.say("next instruction");
    bench.pass(5.0);
    assert_eq!(bench.called(), Some(("skin".into(), CallOf::Late)));
    let one = bench.run.called_wait().unwrap();
    let told = wait_words::spoken_call(&bench.run, one, bench.now, 4, &hours());
    assert!(told.contains("Clean both faces, lay a new bead."), "{told}");
    let events = bench.say("work complete");
    assert!(matches!(events[..], [Event::Questioned { .. }]));
    bench.say("next instruction");
    bench.say("previous instruction");
    assert_eq!(bench.run.waits().count(), 0, "the bead is laid anew");
}

#[test]
fn what_comes_after_in_time_keeps_the_latest_end() {
    let mut bench = Bench::new();
    bench.lay_the_bead("20");
    bench.pass(10.0);
    bench.say("work complete");
    bench.say("work complete");
    bench.pass(60.0);
    assert_eq!(bench.called(), None);
    assert!(!bench.run.waits().next().unwrap().late);
}

/// By hand: at 10 °C twice the time, and no longer window; at 30 °C the sheet's own time, and half the
/// window that is left.
#[test]
fn the_temperature_moves_the_ends() {
    let mut bench = Bench::new();
    bench.lay_the_bead("10");
    assert!((bench.due_in("skin") - 20.0).abs() < 0.001);
    assert!((bench.latest_in("skin") - 30.0).abs() < 0.001);
    bench.pass(10.0);
    bench.say("new temperature");
    bench.say("30");
    let events = bench.say("confirm reading");
    let recorded = bench.record.last().unwrap();
    assert!(
        recorded.contains("\"celsius\":30") && recorded.contains("UFGS-09971"),
        "{recorded}"
    );
    assert_eq!(events.len(), 2);
    assert!((bench.due_in("skin") - 5.0).abs() < 0.001);
    assert!((bench.latest_in("skin") - 10.0).abs() < 0.001);
    bench.pass(1.0);
    // Below the sheet's lowest temperature it stands still.
    bench.say("new temperature");
    bench.say("09");
    bench.say("confirm reading");
    bench.pass(5.0);
    assert!(bench.run.next_due().is_none());
    let left = words::times(&bench.run, bench.now);
    assert!(
        left.contains("too cold") && left.contains("4 minutes"),
        "{left}"
    );
    bench.say("new temperature");
    bench.say("20");
    bench.say("confirm reading");
    assert!((bench.due_in("skin") - 4.0).abs() < 0.001);
    assert_eq!(bench.read_again(), bench.run);
}

#[test]
fn time_is_added_to_the_wait_that_is_meant() {
    let mut bench = Bench::new();
    bench.lay_the_bead("20");
    bench.say("add five minutes");
    assert!((bench.due_in("skin") - 15.0).abs() < 0.001);
    bench.pass(15.0);
    // One that is over goes on again.
    bench.say("add five minutes");
    assert_eq!(bench.called(), None);
    assert!((bench.due_in("skin") - 5.0).abs() < 0.001);
    bench.pass(5.0);
    bench.say("work complete");
    bench.say("work complete");
    bench.say("begin countdown");
    bench.say("add one hour");
    assert!((bench.due_in("cure") - 13.0 * 60.0).abs() < 0.001);
    bench.say("disregard");
    assert!((bench.due_in("cure") - 12.0 * 60.0).abs() < 0.001);
    assert_eq!(bench.read_again(), bench.run);
}

#[test]
fn a_wait_is_not_lengthened_when_something_after_it_has_begun() {
    let two = SEAL.replace(
        "(id: \"cover\", say: \"Set the cover on.\"),",
        "(id: \"cover\", say: \"Set the cover on.\"),
         (id: \"trim\", say: \"Trim the edge.\", after: [\"bead\"]),",
    );
    let speech = Speech::standard(&NoModel, &CmuDict);
    let two = procedure::read("seal.ron", two.as_bytes(), &speech).unwrap();
    let mut bench = Bench::new();
    bench.run = Run::new(two);
    bench.keep(vec![Event::Began]);
    bench.lay_the_bead("20");
    bench.pass(10.0);
    bench.say("work complete");
    bench.say("work complete");
    assert_eq!(words::call(&bench.run), "Trim the edge.");
    bench.pass(15.1);
    assert_eq!(bench.called(), Some(("skin".into(), CallOf::Soon)));
    let longer = sayable::understand(&bench.run, "add five minutes").unwrap();
    let refused = bench.give(longer, By::Voice).unwrap_err();
    assert_eq!(refused, "What comes after that wait has been begun");
    assert!(bench.run.waits().all(|wait| !wait.is_running()));

    // What goes on beside a wait does not come after it.
    bench.say("next instruction");
    bench.say("work complete");
    bench.say("begin countdown");
    bench.say("work complete");
    bench.pass(12.0 * 60.0);
    assert_eq!(bench.called(), Some(("cure".into(), CallOf::Over)));
    bench.say("add one hour");
    assert!((bench.due_in("cure") - 60.0).abs() < 0.001);
}

#[test]
fn a_wait_that_was_stopped_is_not_over() {
    let mut bench = Bench::new();
    bench.lay_the_bead("20");
    bench.say("cancel countdown");
    assert_eq!(bench.run.waits().count(), 0);
    assert_eq!(words::call(&bench.run), "Lay a bead.");
    bench.say("begin countdown");
    bench.pass(10.0);
    bench.say("work complete");
    bench.say("work complete");
    bench.say("begin countdown");
    bench.say("work complete");
    assert_eq!(words::call(&bench.run), "Wait for: cure");
    bench.say("cancel countdown");
    assert_eq!(
        words::call(&bench.run),
        "Leave it.",
        "it is to be waited for again"
    );
    bench.say("begin countdown");
    assert_eq!(words::call(&bench.run), "Wait for: cure");
    assert_eq!(bench.read_again(), bench.run);
}

#[test]
fn a_wait_is_asked_for_by_its_name() {
    let mut bench = Bench::new();
    let ask = sayable::understand(&bench.run, "sealant skin").unwrap();
    assert!(bench.give(ask.clone(), By::Voice).is_err(), "not begun yet");
    bench.lay_the_bead("20");
    bench.pass(4.0);
    let events = bench.say("sealant skin");
    let told = words::spoken(
        &bench.run,
        &events,
        bench.now,
        &hours(),
        &Wording::default(),
    );
    assert!(
        told.starts_with("skin: 6 minutes left.") && told.contains("at most"),
        "{told}"
    );
}

/// A machine without power while two ends passed: both are told, with their hours.
#[test]
fn ends_during_a_power_cut_are_told_with_their_hours() {
    let mut bench = Bench::new();
    bench.lay_the_bead("20");
    bench.now += TimeDelta::hours(30);
    let mut run = bench.read_again();
    let order = Order {
        command: Command::Tick,
        by: By::Clock,
    };
    let events = decide(&run, &order, bench.now).unwrap();
    events.iter().for_each(|event| run.apply(event));
    let told = words::spoken(&run, &events, bench.now, &hours(), &Wording::default());
    assert!(
        told.contains("too late since 08:30") && told.contains("lay a new bead"),
        "{told}"
    );
    let skin = run.waits().next().unwrap();
    assert_eq!(
        skin.ended.unwrap().to_rfc3339(),
        "2026-03-02T08:10:00+00:00"
    );
    assert!(times_called(skin.call.unwrap().since, bench.now) > 1000);
}

#[test]
fn both_readings_of_the_clock_are_told() {
    let mut bench = Bench::new();
    bench.lay_the_bead("20");
    bench.pass(1.0);
    let passed = bench.now;
    bench.now += TimeDelta::hours(1);
    let wall = bench.now;
    let events = bench
        .give(Command::ClockDiffers { wall, passed }, By::Clock)
        .unwrap();
    let told = words::spoken(
        &bench.run,
        &events,
        bench.now,
        &hours(),
        &Wording::default(),
    );
    for part in [
        "09:01:00",
        "08:01:00",
        "at 08:10 by the clock",
        "at 09:10 by the time passed",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
    assert_eq!(bench.read_again(), bench.run);
}
