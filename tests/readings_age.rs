//! Readings that grow old are taken anew before what relies on them begins; the hours since a coat come
//! from the run's own clock where it knows them.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Procedure, Speech, read};
use benchcall::record::form::EventForm;
use benchcall::run::{
    By, Command, Event, Figure, Mark, Order, Refusal, Run, SkipReason, Time, decide, sayable,
};
use benchcall::show::words;
use benchcall::trade::Verdict;
use chrono::{TimeDelta, TimeZone, Utc};

struct Work {
    procedure: Procedure,
    run: Run,
    now: Time,
    events: Vec<Event>,
}

impl Work {
    fn begin(steps: &str) -> Work {
        let text =
            format!("(title: \"Paint\", subject: \"Fire engine (invented)\", steps: [{steps}])");
        let speech = Speech::standard(&NoModel, &CmuDict);
        let procedure = read("test.ron", text.as_bytes(), &speech)
            .unwrap_or_else(|findings| panic!("{findings:?}"));
        let mut work = Work {
            run: Run::new(procedure.clone()),
            procedure,
            now: Utc.with_ymd_and_hms(2026, 5, 4, 9, 0, 0).unwrap(),
            events: Vec::new(),
        };
        work.give(Command::Begin);
        work
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
        events.iter().for_each(|event| self.run.apply(event));
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

    fn pass(&mut self, minutes: i64) -> Vec<Event> {
        self.now += TimeDelta::minutes(minutes);
        self.give(Command::Tick)
    }

    fn called(&self) -> String {
        words::call(&self.run)
    }

    /// Rebuilt from what is on the disk, the run stands where it stood.
    fn same_after_a_restart(&self) {
        let mut again = Run::new(self.procedure.clone());
        for event in &self.events {
            let line = serde_json::to_string(&EventForm::from(event)).unwrap();
            let form: EventForm = serde_json::from_str(&line).unwrap();
            again.apply(&Event::try_from(form).unwrap());
        }
        assert_eq!(again, self.run);
    }
}

fn climate(more: &str, until: &str) -> String {
    format!(
        r#"(
            id: "climate",
            say: "Read the climate.",
            readings: [
                (name: "air", unit: "°C", low: 5, high: 40, digits: 2, decimals: 1),
                (name: "humidity", unit: "%", low: 10, high: 99, digits: 2),
                (name: "metal", unit: "°C", low: 5, high: 40, digits: 2, decimals: 1),
            ],
            sums: [Climate(air: "air", humidity: "humidity", metal: "metal", least: "10 °C",
                most: "30 °C", again: "20 min"{until})],
            {more}
        ),"#
    )
}

fn coats() -> String {
    climate("", ", until: \"paint\"")
        + r#"(id: "mix", say: "Mix."), (id: "paint", say: "Paint."), (id: "wash", say: "Wash.")"#
}

const DRY: [&str; 3] = ["18.0", "70", "18.0"];
const DAMP: [&str; 3] = ["18.0", "70", "15.0"];

fn aged(events: &[Event]) -> bool {
    matches!(events, [Event::ReadingsAged { .. }])
}

#[test]
fn a_go_that_is_too_old_is_taken_anew_before_the_coat() {
    let mut work = Work::begin(&coats());
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::WorkComplete);
    assert_eq!(work.called(), "Paint.");
    assert_eq!(work.run.next_due(), Some(work.now + TimeDelta::minutes(20)));
    assert!(work.pass(19).is_empty());
    assert!(aged(&work.pass(1)));
    assert_eq!(work.called(), "Air?");
    assert!(words::detail(&work.run).contains("too old"));
    assert_eq!(work.run.progress().marks[1], Mark::Done);
    work.same_after_a_restart();

    work.read(&DAMP);
    assert_eq!(work.run.verdict(), Verdict::Refuse);
    assert!(work.decide(Command::NextInstruction).is_err());
    work.give(Command::MeasureAgain);
    work.read(&DRY);
    work.give(Command::NextInstruction);
    assert_eq!(work.called(), "Paint.");
    work.give(Command::WorkComplete);
    assert!(work.pass(600).is_empty(), "nothing relies on it any more");
    assert_eq!(work.run.next_due(), None);
    work.same_after_a_restart();
}

#[test]
fn a_claim_that_comes_before_the_clock_is_not_taken() {
    let mut work = Work::begin(&coats());
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::WorkComplete);
    work.now += TimeDelta::minutes(21);
    assert!(aged(&work.give(Command::WorkComplete)));
    assert_eq!(work.run.progress().marks[2], Mark::Open);
    work.same_after_a_restart();
}

#[test]
fn a_go_that_nobody_took_notice_of_is_read_again() {
    let mut work = Work::begin(&coats());
    work.read(&DRY);
    let events = work.pass(20);
    assert!(matches!(events[..], [Event::MeasuringAgain { .. }]));
    assert_eq!(work.called(), "Air?");
}

#[test]
fn a_coat_that_is_begun_is_finished_first() {
    let steps = climate("", ", until: \"second\"")
        + r#"(id: "first", say: "Screw on.", fasten: (bolts: 2, torque: "9 N·m")),
            (id: "second", say: "Paint.")"#;
    let mut work = Work::begin(&steps);
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::WorkComplete);
    assert!(work.pass(30).is_empty());
    assert_eq!(work.run.next_due(), None);
    work.give(Command::WorkComplete);
    assert_eq!(work.called(), "Paint.");
    assert!(aged(&work.pass(0)));
    assert_eq!(work.called(), "Air?");
}

#[test]
fn taking_back_makes_no_reading_younger() {
    let mut work = Work::begin(&coats());
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::WorkComplete);
    work.pass(20);
    work.give(Command::Disregard);
    assert_eq!(work.called(), "Mix.");
    assert!(aged(&work.pass(0)));
    assert_eq!(work.called(), "Air?");
    work.same_after_a_restart();
}

#[test]
fn while_nobody_works_nothing_grows_old() {
    let mut work = Work::begin(&coats());
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::StandBy);
    assert!(work.pass(120).is_empty());
    assert_eq!(work.run.next_due(), None);
    work.give(Command::Resume);
    assert!(aged(&work.pass(0)));
}

/// A job that was begun when its climate stood in one step with a hold goes on as it was begun.
#[test]
fn a_step_that_does_more_than_read_is_not_called_again() {
    let hold = "hold: (ask: \"Is it dry?\", answer: \"metal stays dry\"),";
    let mut work = Work::begin(&(climate(hold, "") + "(id: \"paint\", say: \"Paint.\")"));
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::OpenHold);
    assert_eq!(work.called(), "Paint.");
    assert!(work.pass(60).is_empty());
}

/// What the proof in `prove` rests on: growing old opens the step of the readings and changes nothing
/// else that another step can notice.
#[test]
fn growing_old_changes_nothing_but_its_own_step() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let speech = Speech::standard(&NoModel, &CmuDict);
    let open = |name: &str| {
        let bytes = std::fs::read(folder.join(name)).unwrap();
        read(name, &bytes, &speech).unwrap_or_else(|findings| panic!("{findings:?}"))
    };
    let (paint, brake) = (open("axle-paint-repair.ron"), open("brake-pads.ron"));
    let mut seen = 0;
    for seed in 1..=40_u64 {
        let mut run = Run::of(paint.clone(), [brake.clone()]);
        run.apply(&Event::Began);
        let mut now = Utc.with_ymd_and_hms(2026, 5, 4, 9, 0, 0).unwrap();
        let mut dice = seed;
        let mut throw = |sides: u64| {
            dice = dice
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (dice >> 33) % sides
        };
        for _ in 0..600 {
            now += TimeDelta::seconds(throw(400) as i64);
            let said = sayable::may_say(&run);
            let command = match (throw(4), run.wanted_reading()) {
                (0, _) => Command::Tick,
                (1 | 2, Some(reading)) => {
                    let decimals = usize::from(reading.decimals);
                    let width = usize::from(reading.digits) + decimals + usize::from(decimals > 0);
                    let at = reading.low + (reading.high - reading.low) * throw(100) as f64 / 99.0;
                    let figure = format!("{at:0width$.decimals$}").parse::<Figure>();
                    Command::Reading(figure.unwrap())
                }
                (1 | 2, None) if !said.is_empty() => said[0].command.clone(),
                _ if said.is_empty() => Command::Tick,
                _ => said[throw(said.len() as u64) as usize].command.clone(),
            };
            if command == Command::Stop {
                continue;
            }
            let by = By::Voice;
            let Ok(events) = decide(&run, &Order { command, by }, now) else {
                continue;
            };
            for event in &events {
                let before = run.clone();
                run.apply(event);
                if let Event::ReadingsAged { job, step, .. } = event {
                    seen += 1;
                    assert_eq!(run.truths(), before.truths());
                    let steps = &run.procedures().nth(*job).unwrap().steps;
                    for (at, one) in steps.iter().enumerate() {
                        let marks = |run: &Run| run.state().jobs[*job].marks[at];
                        let expected = if one.id == *step {
                            Mark::Open
                        } else {
                            marks(&before)
                        };
                        assert_eq!(marks(&run), expected, "{}", one.id);
                    }
                    assert_eq!(
                        run.state().jobs[1 - *job].marks,
                        before.state().jobs[1 - *job].marks
                    );
                }
            }
        }
    }
    assert!(seen > 20, "{seen}");
}

fn window(stood: &str, readings: &str) -> String {
    format!(
        r#"(id: "coat", say: "Coat."),
        (
            id: "window",
            say: "Read the metal.",
            readings: [{readings}
                (name: "hours", unit: "h", low: 0, high: 99, digits: 2),
                (name: "metal", unit: "°C", low: 5, high: 40, digits: 2),
            ],
            sums: [Recoat(
                sheet: (least: "5 °C", most: "35 °C"),
                table: [(least: "10 °C", most: "30 °C", earliest: "4 h", latest: "72 h")],
                stood: [{stood}],
                since: "coat",
            )],
        ),
        (id: "second", say: "Second coat.")"#
    )
}

const ONE: &str = "(lasted: \"hours\", at: \"metal\")";

fn clock_read(events: &[Event]) -> Option<i64> {
    events.iter().find_map(|event| match event {
        Event::ClockRead { seconds, .. } => Some(*seconds),
        _ => None,
    })
}

#[test]
fn the_clock_gives_the_hours_since_the_coat() {
    let mut work = Work::begin(&window(ONE, ""));
    let done = work.give(Command::WorkComplete);
    assert!(
        done.iter()
            .any(|event| matches!(event, Event::ClockBegan { .. }))
    );
    assert_eq!(work.called(), "Metal?", "the hours are not asked for");
    work.pass(60);
    let read = work.read(&["23"]);
    assert_eq!(clock_read(&read), Some(3600));
    assert!(work.called().contains("wait 3 h"), "{}", work.called());
    work.same_after_a_restart();
    assert_eq!(work.pass(180).len(), 1);
    assert_eq!(work.called(), "Metal?");
    assert_eq!(clock_read(&work.read(&["23"])), Some(4 * 3600));
    assert_eq!(work.run.verdict(), Verdict::Go);
    work.give(Command::PreviousInstruction);
    assert_eq!(work.called(), "Metal?");
    work.pass(30);
    assert_eq!(clock_read(&work.read(&["23"])), Some(4 * 3600 + 1800));
    work.give(Command::NextInstruction);
    work.same_after_a_restart();
}

#[test]
fn what_the_run_did_not_see_is_asked_for() {
    let mut work = Work::begin(&window(ONE, ""));
    work.give(Command::Skip);
    work.give(Command::SkipBecause(SkipReason::AlreadyDone));
    assert_eq!(work.called(), "Hours?");
    let read = work.read(&["10", "23"]);
    assert_eq!(clock_read(&read), None);
    assert_eq!(work.run.verdict(), Verdict::Go);
}

/// Gone back to, the coat is not done: its clock begins anew.
#[test]
fn a_coat_gone_back_to_begins_its_clock_anew() {
    let mut work = Work::begin(&window(ONE, ""));
    work.give(Command::WorkComplete);
    work.pass(300);
    work.give(Command::PreviousInstruction);
    assert_eq!(work.called(), "Coat.");
    work.give(Command::WorkComplete);
    work.pass(30);
    assert_eq!(clock_read(&work.read(&["23"])), Some(1800));
    work.same_after_a_restart();
}

/// Six hours at 13 °C count three (twice as long for every 10 °C colder); the two that the clock leaves
/// over at 23 °C count whole: five, of four.
#[test]
fn the_last_spell_is_what_the_others_leave_over() {
    let night = "(lasted: \"night hours\", at: \"night\"),";
    let readings = r#"(name: "night hours", unit: "h", low: 0, high: 99, digits: 2),
        (name: "night", unit: "°C", low: 5, high: 40, digits: 2),"#;
    let stood = format!("{night} {ONE}");
    let mut work = Work::begin(&window(&stood, readings));
    work.give(Command::WorkComplete);
    work.pass(8 * 60);
    let read = work.read(&["06", "13", "23"]);
    assert_eq!(clock_read(&read), Some(8 * 3600));
    assert_eq!(work.run.verdict(), Verdict::Go);
    let formula = read.iter().find_map(|event| match event {
        Event::Reckoned { formula, .. } => Some(formula.clone()),
        _ => None,
    });
    assert!(formula.unwrap().contains("stood 8 h"));
    work.give(Command::MeasureAgain);
    work.read(&["09", "13", "23"]);
    assert_eq!(work.run.verdict(), Verdict::Refuse);
    assert!(
        work.called().contains("say each again"),
        "{}",
        work.called()
    );
}

#[test]
fn what_nobody_can_go_by_is_refused_at_its_place() {
    let speech = Speech::standard(&NoModel, &CmuDict);
    let wrong = |steps: &str, message: &str| {
        let text = format!("(title: \"t\", subject: \"s\", steps: [{steps}])");
        let findings = read("t.ron", text.as_bytes(), &speech).unwrap_err();
        let found = findings.iter().find(|one| one.message.contains(message));
        let found = found.unwrap_or_else(|| panic!("{message}: {findings:?}"));
        assert!(found.help.is_some(), "{found:?}");
        assert!(!text[found.span.clone()].is_empty());
    };
    let paint = "(id: \"paint\", say: \"Paint.\")";
    let hold = "hold: (ask: \"Is it dry?\", answer: \"metal stays dry\"),";
    wrong(
        &(climate("", ", until: \"pain\"") + paint),
        "No step has the id `pain`",
    );
    wrong(
        &(climate("", ", until: \"aside\"") + "(id: \"aside\", say: \"Sweep.\", after: [])"),
        "does not come after step `climate`",
    );
    wrong(
        &(climate(hold, ", until: \"paint\"") + paint),
        "it does more than read",
    );
    wrong(
        &window(ONE, "").replace("since: \"coat\"", "since: \"coats\""),
        "No step has the id",
    );
    wrong(
        &window(ONE, "").replace("since: \"coat\"", "since: \"second\""),
        "does not come before this one",
    );
    wrong(
        &window("(lasted: \"4 h\", at: \"metal\")", ""),
        "The clock has no reading to stand for",
    );
    wrong(
        &window("(lasted: \"hours\", at: \"20 °C\")", ""),
        "The clock has no reading to stand for",
    );
    let stage = |id: &str, stages: &str| {
        format!("(id: \"{id}\", say: \"Do it.\", sums: [WheelsOff(stages: [{stages}])]),")
    };
    wrong(
        &(stage("a", "Chocks") + &stage("b", "Jack") + &stage("c", "SlackenNuts")),
        "comes \"the wheel nuts slackened a quarter turn\"",
    );
    wrong(
        &stage("a", "Stands, Jack"),
        "Before \"stands under strong points\"",
    );
}
