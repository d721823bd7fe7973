//! What never becomes a reading, whatever is heard; and where none is asked for.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use benchcall::dictionary::CmuDict;
use benchcall::hear::{DigitCount, cardinals, numbers};
use benchcall::procedure::{
    BoltCount, BoltOrder, Fasten, NoModel, Procedure, Reading, Speech, Step, StepId, Text,
    check_file,
};
use benchcall::run::{Asking, By, Command, Event, Figure, Order, Run, Time, decide};
use chrono::TimeDelta;
use proptest::prelude::*;

const SAID: [&str; 38] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "point", "oh",
    "ten", "eleven", "thirteen", "fifteen", "nineteen", "twenty", "thirty", "fifty", "ninety",
    "hundred", "thousand", "and", "a", "double", "nought", "half", "quarter", "quarters", "three",
    "thou", "to", "[unk]", "minus", "one", "ten", "point",
];

fn text(words: &str) -> Text {
    Text::try_from(words.to_string()).unwrap()
}

fn run_of(step: Step) -> Run {
    let subject = text("Volunteers' fire engine (invented data)");
    let mut run = Run::new(Procedure::new(text("A job"), subject, vec![step]));
    give(&mut run, Command::Begin, By::Program, 0).unwrap();
    run
}

fn step(readings: Vec<Reading>, fasten: Option<Fasten>) -> Step {
    Step {
        fasten,
        readings,
        ..Step::new(
            StepId::try_from("only".to_string()).unwrap(),
            text("Do this."),
        )
    }
}

fn torque_reading() -> Reading {
    Reading {
        name: text("nut one, torque"),
        unit: text("N·m"),
        low: 104.0,
        high: 116.0,
        digits: 3,
        decimals: 0,
    }
}

fn give(run: &mut Run, command: Command, by: By, second: i64) -> Result<Vec<Event>, String> {
    let now = Time::UNIX_EPOCH + TimeDelta::seconds(second);
    let events = decide(run, &Order { command, by }, now).map_err(|refusal| refusal.why)?;
    for event in &events {
        run.apply(event);
    }
    Ok(events)
}

fn figure(digits: &str) -> Command {
    Command::Reading(digits.parse().unwrap())
}

fn asking(run: &Run) -> Option<&Asking> {
    run.state().asking.as_ref()
}

proptest! {
    #[test]
    fn no_words_of_another_count_are_a_reading(
        words in proptest::collection::vec(proptest::sample::select(SAID.to_vec()), 0..8),
        whole in 1u8..=4,
        decimals in 0u8..=3,
    ) {
        let count = DigitCount { whole, decimals, cardinals: true };
        let said = words.join(" ");
        if let Some(read) = cardinals::reading(&said, count) {
            prop_assert!(count.fits(&read), "{said}: {read}");
            prop_assert!(read.parse::<Figure>().is_ok(), "{said}: {read}");
        }
        if let Some(digits) = numbers::digits(&said) && count.fits(&digits) {
            prop_assert_eq!(numbers::words(&digits), Some(said.clone()));
            // Where every word is a digit, the other reader does not find another number.
            prop_assert_eq!(cardinals::reading(&said, count), Some(digits));
        }
    }

    #[test]
    fn nothing_incomplete_or_out_of_limits_is_read_back_at_once(
        digits in "[0-9]{1,5}(\\.[0-9]{1,2})?",
        by in proptest::sample::select(vec![By::Voice, By::DoubtfulVoice]),
    ) {
        let mut run = run_of(step(vec![torque_reading()], None));
        let said: Figure = digits.parse().unwrap();
        let fits = said.places() == (3, 0);
        let within = (104.0..=116.0).contains(&said.value());
        let first = give(&mut run, figure(&digits), by, 1);
        prop_assert_eq!(first.is_ok(), fits);
        let read_back = matches!(asking(&run), Some(Asking::ReadBack(_)));
        prop_assert_eq!(read_back, fits && within && by == By::Voice);
        let second = give(&mut run, figure(&digits), by, 5);
        prop_assert_eq!(second.is_ok(), fits);
        prop_assert_eq!(matches!(asking(&run), Some(Asking::ReadBack(_))), fits);
        // Never taken without a yes, and out of limits not even with it.
        prop_assert!(!run.state().finished);
        if fits {
            let confirmed = give(&mut run, Command::ConfirmReading, By::Voice, 9).unwrap();
            let taken = confirmed.iter().any(|event| matches!(event, Event::ReadingTaken { .. }));
            prop_assert_eq!(taken, within);
        }
    }
}

#[test]
fn another_reading_is_no_second_saying_of_a_doubtful_one() {
    let mut run = run_of(step(vec![torque_reading()], None));
    for (second, digits) in [(1, "150"), (3, "115"), (5, "150")] {
        let by = if digits == "115" {
            By::DoubtfulVoice
        } else {
            By::Voice
        };
        give(&mut run, figure(digits), by, second).unwrap();
        assert_eq!(asking(&run), None, "{digits}");
    }
    // Too late is not said again.
    give(&mut run, figure("150"), By::Voice, 60).unwrap();
    assert_eq!(asking(&run), None);
}

#[test]
fn a_typed_reading_is_not_doubted() {
    let mut run = run_of(step(vec![torque_reading()], None));
    give(&mut run, figure("150"), By::Key, 1).unwrap();
    assert!(matches!(asking(&run), Some(Asking::ReadBack(_))));
}

#[test]
fn a_range_is_two_readings_one_after_the_other() {
    let end = |name: &str| Reading {
        name: text(name),
        ..torque_reading()
    };
    let ends = vec![end("torque, lowest"), end("torque, highest")];
    let mut run = run_of(step(ends, None));
    for (second, digits) in [(0, "106"), (10, "112")] {
        give(&mut run, figure(digits), By::Voice, second + 1).unwrap();
        give(&mut run, Command::ConfirmReading, By::Voice, second + 2).unwrap();
    }
    assert!(run.state().finished);
}

#[test]
fn a_wrench_that_clicked_asks_for_no_reading() {
    let fasten = Fasten {
        order: BoltOrder::Around,
        torque: Some("110 N·m".parse().unwrap()),
        ..Fasten::new(BoltCount::try_from(3).unwrap())
    };
    let mut run = run_of(step(Vec::new(), Some(fasten)));
    for bolt in 0..3 {
        assert_eq!(run.wants(), None);
        give(&mut run, Command::WorkComplete, By::Voice, bolt).unwrap();
    }
    assert!(run.state().finished);
}

#[test]
fn a_circle_with_a_torque_passes_the_check_without_readings() {
    let procedure = r#"(
        title: "Tighten the cover",
        subject: "Volunteers' fire engine (figures invented)",
        steps: [
            (id: "cover", say: "Tighten all three screws.",
             fasten: (bolts: 3, order: Around, torque: "9 N·m", called: Screw)),
        ],
    )"#;
    let (procedure, findings) = check_file(
        "cover.ron",
        procedure.as_bytes(),
        &Speech::standard(&NoModel, &CmuDict),
    );
    assert!(procedure.is_some(), "{findings:?}");
    assert!(
        !findings
            .iter()
            .any(|finding| finding.message.contains("reading"))
    );
}
