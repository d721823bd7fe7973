//! Readings that grow old are taken anew before what relies on them begins; the hours since a coat come
//! from the run's own clock where it knows them.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/at_work.rs"]
mod at_work;

use at_work::AtWork;
use benchcall::dictionary::CmuDict;
use benchcall::procedure::{NoModel, Speech, check_judged, read};
use benchcall::run::{By, Command, Event, Figure, Mark, Order, Run, SkipReason, decide, sayable};
use benchcall::show::words;
use benchcall::trade::Verdict;
use chrono::{TimeDelta, TimeZone, Utc};

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

const PAINT: &str = "(id: \"paint\", say: \"Paint.\")";

const DRY: [&str; 3] = ["18.0", "70", "18.0"];
const DAMP: [&str; 3] = ["18.0", "70", "15.0"];

fn aged(events: &[Event]) -> bool {
    matches!(events, [Event::ReadingsAged { .. }])
}

#[test]
fn a_go_that_is_too_old_is_taken_anew_before_the_coat() {
    let mut work = AtWork::begin(&coats());
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
    let mut work = AtWork::begin(&coats());
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
    let mut work = AtWork::begin(&coats());
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
    let mut work = AtWork::begin(&steps);
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
    let mut work = AtWork::begin(&coats());
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
    let mut work = AtWork::begin(&coats());
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::StandBy);
    assert!(work.pass(120).is_empty());
    assert_eq!(work.run.next_due(), None);
    work.give(Command::Resume);
    assert!(aged(&work.pass(0)));
}

/// With a hold on them the readings grow old all the same, and the hold asks again.
#[test]
fn a_climate_with_a_hold_grows_old_too() {
    let hold = "hold: (ask: \"Is it dry?\", answer: \"metal perfectly dry\"),";
    let mut work = AtWork::begin(&(climate(hold, ", until: \"paint\"") + PAINT));
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::OpenHold);
    assert_eq!(work.called(), "Paint.");
    assert!(work.pass(19).is_empty());
    assert!(aged(&work.pass(1)));
    assert_eq!(work.called(), "Air?");
    assert!(work.decide(Command::OpenHold).is_err());
    work.read(&DAMP);
    assert!(work.decide(Command::OpenHold).is_err(), "it says no");
    work.give(Command::MeasureAgain);
    work.read(&DRY);
    work.give(Command::NextInstruction);
    assert_eq!(work.first(), Command::OpenHold);
    work.give(Command::OpenHold);
    assert_eq!(work.called(), "Paint.");
    work.same_after_a_restart();
}

/// Nothing but readings and a hold is called again by itself, and who writes more is told.
#[test]
fn a_step_that_does_more_than_read_is_not_called_again() {
    let wait = "wait: (name: \"rest\", lasts: \"1 min\"),";
    let steps = climate(wait, "") + PAINT;
    let mut work = AtWork::begin(&steps);
    work.read(&DRY);
    work.give(Command::NextInstruction);
    work.give(Command::BeginCountdown);
    work.pass(1);
    work.give(Command::WorkComplete);
    assert_eq!(work.called(), "Paint.");
    assert!(work.pass(60).is_empty());

    let text = format!("(title: \"t\", subject: \"s\", steps: [{steps}])");
    let speech = Speech::standard(&NoModel, &CmuDict);
    let (_, findings) = check_judged("t.ron", text.as_bytes(), &speech, &benchcall::prove::judge);
    let told = findings
        .iter()
        .find(|one| one.message.contains("never too old"));
    assert!(told.is_some_and(|one| one.help.is_some()), "{findings:?}");
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
                    let at = reading.low + (reading.high - reading.low) * throw(100) as f64 / 99.0;
                    Command::Reading(Figure::of(reading, at).unwrap())
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
    let mut work = AtWork::begin(&window(ONE, ""));
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

fn missed() -> String {
    let key = "since: \"coat\", until: \"second\", missed: \"key\"";
    let steps = window(ONE, "").replace("since: \"coat\"", key);
    steps.replace(
        "(id: \"second\"",
        "(id: \"key\", say: \"Rub it dull.\"), (id: \"second\"",
    )
}

/// What the sheet asks for once the window has closed is called then, and only then.
#[test]
fn a_window_that_has_closed_leads_to_what_mends_it() {
    let mut work = AtWork::begin(&missed());
    work.give(Command::WorkComplete);
    work.pass(5 * 60);
    work.read(&["23"]);
    let passed = work.give(Command::NextInstruction);
    assert!(
        passed
            .iter()
            .any(|event| matches!(event, Event::PassedOver { .. }))
    );
    assert_eq!(work.called(), "Second coat.");
    assert_eq!(work.run.progress().marks[2], Mark::Skipped);
    work.same_after_a_restart();

    // Not begun within its window: the reading grows old, and another result leads elsewhere.
    assert!(aged(&work.pass(70 * 60)));
    assert_eq!(work.called(), "Metal?");
    work.read(&["23"]);
    assert_eq!(work.run.verdict(), Verdict::Warn);
    assert!(work.called().contains("closed"), "{}", work.called());
    work.give(Command::NextInstruction);
    assert_eq!(work.called(), "Rub it dull.");
    work.give(Command::WorkComplete);
    assert_eq!(work.called(), "Second coat.");
    assert!(
        work.pass(600).is_empty(),
        "what was mended does not close again"
    );
    work.same_after_a_restart();
    work.give(Command::WorkComplete);
    assert!(work.run.state().finished);
}

/// Taken back or gone back to, the result decides anew.
#[test]
fn what_was_passed_over_is_open_again_with_its_result() {
    let mut work = AtWork::begin(&missed());
    work.give(Command::WorkComplete);
    work.pass(5 * 60);
    work.read(&["23"]);
    work.give(Command::NextInstruction);
    work.give(Command::Disregard);
    assert_eq!(work.run.progress().marks[2], Mark::Open);
    work.give(Command::NextInstruction);
    work.give(Command::PreviousInstruction);
    assert_eq!(work.called(), "Metal?");
    assert_eq!(work.run.progress().marks[2], Mark::Open);
    work.same_after_a_restart();
}

#[test]
fn what_the_run_did_not_see_is_asked_for() {
    let mut work = AtWork::begin(&window(ONE, ""));
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
    let mut work = AtWork::begin(&window(ONE, ""));
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
    let mut work = AtWork::begin(&window(&stood, readings));
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
    let paint = PAINT;
    let wait = "wait: (name: \"rest\", lasts: \"1 min\"),";
    wrong(
        &(climate("", ", until: \"pain\"") + paint),
        "No step has the id `pain`",
    );
    wrong(
        &(climate("", ", until: \"aside\"") + "(id: \"aside\", say: \"Sweep.\", after: [])"),
        "does not come after step `climate`",
    );
    wrong(
        &(climate(wait, ", until: \"paint\"") + paint),
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
    wrong(
        &missed().replace("missed: \"key\"", "missed: \"kay\""),
        "No step has the id `kay`",
    );
    wrong(
        &missed().replace("missed: \"key\"", "missed: \"coat\""),
        "does not come after step `window`",
    );
    wrong(
        &missed().replace(
            "say: \"Rub it dull.\"",
            "say: \"Rub.\", wait: (name: \"rest\", lasts: \"1 min\")",
        ),
        "cannot be passed over",
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
