//! Waits that leave time for other work: the procedures that come with the program, followed to their
//! ends, and what "different work" offers.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/warm.rs"]
mod warm;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use benchcall::clock::Hours;
use benchcall::dictionary::CmuDict;
use benchcall::plan::{self, Draft, Effort, Outcome, Plan};
use benchcall::procedure::{self, NoModel, Procedure, Speech};
use benchcall::run::{By, Command, Event, Order, Run, Time, decide, sayable};
use benchcall::show::wait_words;
use benchcall::trade::Verdict;
use chrono::{FixedOffset, TimeDelta};
use warm::WARM;

fn read(text: &str) -> Procedure {
    let speech = Speech::standard(&NoModel, &CmuDict);
    procedure::read("work.ron", text.as_bytes(), &speech).unwrap()
}

fn of_the_program(name: &str) -> Procedure {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    read(&std::fs::read_to_string(folder.join(name)).unwrap())
}

/// A person who does what is called, with the readings that are given.
struct Person {
    run: Run,
    now: Time,
    readings: BTreeMap<&'static str, &'static str>,
    /// Everything that happened, and when.
    happened: Vec<(Time, Event)>,
}

impl Person {
    fn new(jobs: &[&str], readings: &[(&'static str, &'static str)]) -> Person {
        let mut jobs = jobs.iter().map(|name| of_the_program(name));
        let mut person = Person {
            run: Run::of(jobs.next().unwrap(), jobs),
            now: "2026-05-04T07:00:00Z".parse().unwrap(),
            readings: readings.iter().copied().collect(),
            happened: Vec::new(),
        };
        person.give(Command::Begin, By::Program).unwrap();
        person
    }

    fn give(&mut self, command: Command, by: By) -> Result<Vec<Event>, String> {
        let order = Order { command, by };
        let events = decide(&self.run, &order, self.now).map_err(|no| no.why)?;
        for event in &events {
            self.run.apply(event);
            self.happened.push((self.now, event.clone()));
        }
        Ok(events)
    }

    fn tick(&mut self) {
        self.give(Command::Tick, By::Clock).unwrap();
    }

    /// Does what is called next; lets time pass where only a wait can go on.
    #[track_caller]
    fn goes_on(&mut self) {
        self.now += TimeDelta::seconds(20);
        self.tick();
        if let Some(reading) = self
            .run
            .wants()
            .filter(|_| self.run.called_wait().is_none())
        {
            let figure = self.readings[reading.name.as_str()].parse().unwrap();
            self.give(Command::Reading(figure), By::Voice).unwrap();
            self.give(Command::ConfirmReading, By::Voice).unwrap();
            return;
        }
        let command = sayable::may_say(&self.run)[0].command.clone();
        if matches!(command, Command::TimeRemaining | Command::SayAgain) {
            let due = self.run.next_due().expect("a wait runs");
            self.now = self.now.max(due);
            self.tick();
            return;
        }
        self.give(command, By::Voice).unwrap();
    }

    /// Goes on until this step is called, or all is finished.
    #[track_caller]
    fn until(&mut self, step: &str) {
        for _ in 0..400 {
            let called = self
                .run
                .step()
                .is_some_and(|called| called.id.to_string() == step);
            if self.run.state().finished || (called && self.run.called_wait().is_none()) {
                return;
            }
            self.goes_on();
        }
        panic!("{step} is not reached");
    }

    /// When the last part of a step was claimed.
    fn claimed(&self, id: &str) -> Time {
        let claims = self.happened.iter().rev();
        let mut claims = claims.filter(
            |(_, event)| matches!(event, Event::Claimed { step, .. } if step.to_string() == id),
        );
        claims
            .next()
            .unwrap_or_else(|| panic!("{id} was not claimed"))
            .0
    }

    fn began(&self, id: &str) -> (Time, Time, Option<Time>) {
        let wait = self.run.waits().find(|wait| wait.step.to_string() == id);
        let wait = wait.unwrap_or_else(|| panic!("{id} has no wait"));
        (wait.from, wait.due, wait.latest)
    }

    fn heard_late(&self) -> bool {
        self.happened
            .iter()
            .any(|(_, event)| matches!(event, Event::WaitWarned { .. } | Event::WaitTooLate { .. }))
    }
}

#[test]
fn parts_are_primed_coloured_and_cleared_within_every_window() {
    let mut person = Person::new(&["paint-parts.ron"], &WARM);
    person.until("none");
    assert!(person.run.state().finished && !person.heard_late());
    for (coat, dries, hours) in [
        ("colour-coat", "prime-dry", 2.0),
        ("clear-coat", "colour-dry", 0.5),
        ("clear-touch", "clear-dry", 12.0),
    ] {
        let (from, due, latest) = person.began(dries);
        let stood = person.claimed(coat) - from;
        assert_eq!((due - from).num_minutes() as f64, hours * 60.0, "{dries}");
        assert!(person.claimed(coat) >= due, "{coat} after {stood}");
        assert!(
            latest.is_none_or(|latest| person.claimed(coat) < latest),
            "{coat}"
        );
    }
    for (coat, mix) in [("prime-coat", "prime-mix"), ("clear-coat", "clear-mix")] {
        let (_, due, latest) = person.began(mix);
        let sprayed = person.claimed(coat);
        assert!(sprayed >= due && sprayed < latest.unwrap(), "{coat}");
    }
}

/// Whoever touches the primer and then forgets it is called all the same, and told what to do.
#[test]
fn a_recoat_window_is_called_before_it_closes_and_after() {
    let mut person = Person::new(&["paint-parts.ron"], &WARM);
    person.until("colour-climate");
    let (from, _, latest) = person.began("prime-dry");
    let latest = latest.unwrap();
    assert_eq!(latest - from, TimeDelta::hours(24));
    person.now = latest - TimeDelta::hours(2) - TimeDelta::seconds(1);
    person.tick();
    assert!(!person.heard_late());
    person.now = latest - TimeDelta::hours(2);
    person.tick();
    assert!(person.heard_late());
    person.now = latest;
    person.tick();
    let called = person.run.called_wait().unwrap();
    let hours = Hours {
        offset: FixedOffset::east_opt(0).unwrap(),
        change: None,
    };
    let said = wait_words::spoken_call(&person.run, called, person.now, 0, &hours);
    assert!(said.contains("rub every part dull"), "{said}");
}

#[test]
fn a_warm_mix_must_be_used_sooner_and_a_cold_part_waits_longer() {
    let mut readings = WARM;
    readings[3].1 = "30";
    readings[0].1 = "19.0";
    readings[2].1 = "16.0";
    let mut person = Person::new(&["paint-parts.ron"], &readings);
    person.until("prime-touch");
    let (from, due, latest) = person.began("prime-mix");
    // Twice as fast for ten degrees more; warmth makes no wait shorter.
    assert_eq!((latest.unwrap() - from).num_minutes(), 60);
    assert_eq!((due - from).num_minutes(), 10);
    // 2^(4/10) = 1.3195 of two hours.
    let (from, due, _) = person.began("prime-dry");
    assert_eq!((due - from).num_seconds(), 9_500);
}

#[test]
fn nothing_is_sprayed_on_steel_near_the_dew_point() {
    let mut readings = WARM;
    readings[1].1 = "92";
    let mut person = Person::new(&["paint-parts.ron"], &readings);
    person.until("prime-climate");
    // The tent warms first.
    while person.run.blocked().is_some() || person.run.wants().is_some() {
        person.goes_on();
    }
    assert_eq!(person.run.verdict(), Verdict::Refuse);
    let steel = person.give(Command::NextInstruction, By::Voice);
    assert!(steel.is_err(), "{steel:?}");
    assert!(person.give(Command::Skip, By::Voice).is_err());
}

/// In a skin time before the part goes on, and a cure before load, the sealant shows both.
#[test]
fn sealant_skins_before_the_cover_and_cures_before_the_drive() {
    let readings = [("cover face, temperature", "20.0"), ("joint gap", "0.05")];
    let mut person = Person::new(&["pump-cover.ron"], &readings);
    person.until("none");
    assert!(person.run.state().finished && !person.heard_late());
    let (from, due, latest) = person.began("bead");
    assert_eq!((due - from).num_minutes(), 5);
    let on = person.claimed("cover-on");
    assert!(on >= due && on < latest.unwrap());
    let (from, due, _) = person.began("cure");
    assert_eq!((due - from).num_hours(), 12);
    assert!(person.claimed("untag") >= due);
}

fn planned(jobs: &[&Procedure]) -> Plan {
    let draft = Draft::of(jobs, None);
    match Plan::of(&draft.work, Effort::USUAL).unwrap() {
        Outcome::Feasible(plan) => plan,
        outcome => panic!("{outcome:?}"),
    }
}

#[test]
fn draining_the_tank_costs_no_time_while_paint_dries() {
    let (paint, tank) = (
        of_the_program("paint-parts.ron"),
        of_the_program("drain-and-settle.ron"),
    );
    let alone = planned(&[&paint]);
    let both = planned(&[&paint, &tank]);
    assert!(alone.exact() && both.exact());
    assert_eq!(alone.finish, both.finish);
}

const RAIL: &str = r#"(
    title: "Clean the hand rail",
    subject: "Volunteers' fire engine (figures invented)",
    called: "rail job",
    steps: [
        (id: "wash", say: "Wash the rail.", after: [], usual: "10 min"),
        (id: "wipe", say: "Wipe the rail.", after: [], usual: "10 min"),
        (id: "wax", say: "Wax the rail.", after: [], usual: "10 min"),
    ],
)"#;

const LID: &str = r#"(
    title: "Glue the lid",
    subject: "Volunteers' fire engine (figures invented)",
    called: "lid job",
    steps: [
        (id: "glue", say: "Glue the lid.", usual: "10 min",
         wait: (name: "glue", lasts: "5 h", meanwhile: true)),
        (id: "fit", say: "Fit the lid.", after: ["glue"], usual: "10 min"),
    ],
)"#;

fn other(run: &Run) -> Vec<Event> {
    let order = Order {
        command: Command::OtherWork,
        by: By::Voice,
    };
    decide(run, &order, Time::UNIX_EPOCH).unwrap()
}

#[track_caller]
fn called_by(events: &[Event]) -> (usize, String) {
    match events {
        [Event::Moved { job, step, .. }] => (*job, step.to_string()),
        _ => panic!("{events:?}"),
    }
}

/// The glue takes five hours: what begins it brings the finish forward, though wiping is nearer.
#[test]
fn other_work_is_what_brings_the_finish_forward() {
    let mut run = Run::of(read(RAIL), [read(LID)]);
    run.apply(&Event::Began);
    assert_eq!(called_by(&other(&run)), (0, "wipe".into()));
    let order = plan::order(&run, Time::UNIX_EPOCH);
    assert_eq!(order[0], (1, 0));
    run.plan_by(order);
    let moved = other(&run);
    assert_eq!(called_by(&moved), (1, "glue".into()));
    let offered = sayable::may_say(&run);
    let offered = offered.iter().find(|one| one.command == Command::OtherWork);
    assert_eq!(offered.unwrap().does, "meanwhile: Glue the lid.");
    // The event says which step was called: a run that knows no plan comes to the same.
    let mut read_again = Run::of(read(RAIL), [read(LID)]);
    read_again.apply(&Event::Began);
    for run in [&mut run, &mut read_again] {
        moved.iter().for_each(|event| run.apply(event));
    }
    assert_eq!(run.state(), read_again.state());
}

/// Everything that can be come to, by who always takes the nearest work or by who takes any.
fn reachable(first: &str, second: &str, any: bool) -> (BTreeSet<String>, usize) {
    let mut run = Run::of(read(first), [read(second)]);
    run.apply(&Event::Began);
    let commands = [
        Command::WorkComplete,
        Command::BeginCountdown,
        Command::OtherWork,
        Command::MoveTo(0),
        Command::MoveTo(1),
        Command::PreviousInstruction,
        Command::Disregard,
    ];
    let mut known: BTreeSet<String> = BTreeSet::new();
    let mut states: BTreeSet<String> = BTreeSet::new();
    let mut next = vec![run];
    let mut choices = 0;
    while let Some(run) = next.pop() {
        let mut orders = vec![Vec::new()];
        if any {
            let other = run.other_work();
            choices = choices.max(other.len());
            orders.extend(other.into_iter().map(|step| vec![step]));
        }
        for order in orders {
            for command in &commands {
                let mut after = run.clone();
                after.plan_by(order.clone());
                let given = Order {
                    command: command.clone(),
                    by: By::Voice,
                };
                let Ok(events) = decide(&after, &given, Time::UNIX_EPOCH) else {
                    continue;
                };
                events.iter().for_each(|event| after.apply(event));
                after.plan_by(Vec::new());
                if known.insert(format!("{after:?}")) {
                    states.insert(format!("{:?}", after.state()));
                    next.push(after);
                }
            }
        }
    }
    (states, choices)
}

/// The checker follows the nearest other work only. That is enough: whatever an order could call is
/// called by saying "different work" again, or the job's name.
#[test]
fn a_planned_order_leads_nowhere_else() {
    let tied = LID.replace("after: [\"glue\"], ", "after: [], ");
    for (first, second) in [(RAIL, tied.as_str()), (tied.as_str(), RAIL), (RAIL, LID)] {
        let (nearest, _) = reachable(first, second, false);
        let (any, choices) = reachable(first, second, true);
        assert!(choices >= 3, "only {choices} to choose from");
        assert!(nearest.len() > 50, "{}", nearest.len());
        let more: Vec<_> = any.difference(&nearest).collect();
        assert!(
            more.is_empty(),
            "{} of {}: {:?}",
            more.len(),
            any.len(),
            more.first()
        );
    }
}
