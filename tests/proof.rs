//! What the checker calls safe, no walk through the real run ever breaks; what it calls unsafe, the
//! history that it prints breaks. And the deliberately bad procedures of `proof/`, each with what must be
//! found in it.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::path::Path;

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{
    Condition, Hold, Lasting, Look, NoModel, Phrase, Procedure, Speech, Step, StepId, Text, Wait,
    check_file, check_judged, draw,
};
use benchcall::prove::replay::Replay;
use benchcall::prove::{Bound, Flaw, LEFT_OUT, Reach, judge, prove, report};
use benchcall::run::{Asking, Command, Mark, SkipReason, Truth, sayable};
use proptest::prelude::*;

fn text(words: &str) -> Text {
    Text::try_from(words.to_string()).unwrap()
}

fn conditions() -> Vec<Text> {
    vec![text("axle off the ground"), text("panel wet")]
}

fn few_conditions() -> impl Strategy<Value = Vec<Text>> {
    prop_oneof![
        3 => Just(Vec::new()),
        2 => proptest::sample::subsequence(conditions(), 1..=1),
    ]
}

fn hold() -> Hold {
    Hold {
        ask: text("What carries the load?"),
        answer: Phrase::try_from("tyre carries load".to_string()).unwrap(),
    }
}

fn wait() -> Wait {
    Wait {
        meanwhile: true,
        ..Wait::new(
            text("skin time"),
            Lasting::try_from("10 min".to_string()).unwrap(),
        )
    }
}

fn step(number: usize) -> impl Strategy<Value = Step> {
    let rules = (
        few_conditions(),
        few_conditions(),
        few_conditions(),
        few_conditions(),
    );
    let form = (
        proptest::bool::weighted(0.5),
        proptest::bool::weighted(0.15),
        proptest::bool::weighted(0.3),
        proptest::bool::weighted(0.2),
    );
    (rules, form).prop_map(
        move |((needs, forbids, sets, clears), (holds, waits, free, crane))| {
            let clears: Vec<Text> = clears.into_iter().filter(|c| !sets.contains(c)).collect();
            let forbidden_while = forbids.into_iter().filter(|c| !needs.contains(c)).collect();
            Step {
                after: free.then(Vec::new),
                needs,
                forbidden_while,
                sets,
                clears,
                hold: holds.then(hold),
                wait: (waits && !holds).then(wait),
                uses: if crane {
                    vec![text("crane")]
                } else {
                    Vec::new()
                },
                ..Step::new(
                    StepId::try_from(format!("step-{number}")).unwrap(),
                    text(&format!("Do step {number}.")),
                )
            }
        },
    )
}

fn procedure(title: &'static str, called: &'static str) -> impl Strategy<Value = Procedure> {
    (2usize..6).prop_flat_map(move |steps| {
        let steps: Vec<_> = (0..steps).map(step).collect();
        steps.prop_map(move |steps| Procedure {
            called: Some(Phrase::try_from(called.to_string()).unwrap()),
            conditions: conditions().into_iter().map(Condition::from).collect(),
            resources: vec![text("crane")],
            ..Procedure::new(
                text(title),
                text("Volunteers' fire engine (invented data)"),
                steps,
            )
        })
    })
}

fn work() -> impl Strategy<Value = Vec<Procedure>> {
    (
        procedure("Pump", "pump job"),
        proptest::option::weighted(0.5, procedure("Cover", "cover job")),
    )
        .prop_map(|(first, other)| std::iter::once(first).chain(other).collect())
}

/// A die that falls the same way for the same seed (the multiplier and increment are those of MMIX, as
/// D. Knuth gives them in Seminumerical Algorithms, section 3.3.4; from memory).
struct Die(u64);

impl Die {
    fn below(&mut self, sides: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 33) as usize % sides
    }
}

/// Gives a random command; in one of them, once, nobody gave it.
fn walk(replay: &mut Replay, die: &mut Die, may_mishear: &mut bool) {
    let run = replay.run();
    let claims = matches!(
        sayable::may_say(run).first().map(|first| &first.command),
        Some(Command::WorkComplete | Command::NextInstruction | Command::BeginCountdown)
    );
    let said = sayable::may_say(run);
    let command = match die.below(10) {
        0..=4 => said.first().map(|first| first.command.clone()),
        5 => Some(Command::Disregard),
        6 if run.state().asking == Some(Asking::Reason) => {
            Some(Command::SkipBecause(SkipReason::AlreadyDone))
        }
        6 => Some(Command::MoveTo(die.below(2))),
        7 => Some(Command::OtherWork),
        8 => {
            // The clock brings the end of some wait.
            let name = run.waits().find(|wait| wait.ended.is_none());
            if let Some(line) = name.map(|wait| format!("wait ends: {}", wait.name)) {
                replay.line(&line).unwrap();
            }
            return;
        }
        _ => Some(said[die.below(said.len())].command.clone()),
    };
    let Some(command) = command else { return };
    // A person answers what is so.
    let honest = match (&command, run.uncertain()) {
        (Command::StillSo | Command::NoLonger, Some(condition)) => {
            match replay.actual(&condition.name) {
                Truth::Set => Command::StillSo,
                Truth::Clear => Command::NoLonger,
                Truth::Uncertain => command,
            }
        }
        _ => command,
    };
    let misheard = claims && *may_mishear && die.below(20) == 0;
    if misheard {
        *may_mishear = false;
    }
    // A refusal is an answer too.
    let _ = replay.give(honest, misheard);
}

fn unsafe_to_begin(flaw: &Flaw) -> bool {
    matches!(flaw, Flaw::Misheard { .. } | Flaw::Called { .. })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_called_safe_never_breaks_and_what_is_not_breaks_as_printed(
        procedures in work(),
        seed in any::<u64>(),
    ) {
        let proof = prove(&procedures, &Bound { states: 6_000, ..Bound::default() });
        for flaw in &proof.flaws {
            if flaw.history().first().is_some_and(|first| first.called == LEFT_OUT) {
                continue;
            }
            let mut replay = Replay::new(&procedures).unwrap();
            for line in report::way(flaw.history()).lines() {
                if let Err(why) = replay.line(line) {
                    prop_assert!(false, "{line}: {why} in {flaw:?}");
                }
            }
            match flaw {
                Flaw::Misheard { job, step, condition, .. } => {
                    let breach = replay.breach();
                    prop_assert!(breach.is_some(), "{flaw:?} does not break");
                    let breach = breach.unwrap();
                    let id = &procedures[*job].steps[*step].id;
                    prop_assert_eq!((&breach.step, breach.job), (id, *job));
                    // Where several conditions are against it, either may be named.
                    let begun = &procedures[*job].steps[*step];
                    let wanted = if begun.needs.contains(condition) {
                        Truth::Set
                    } else {
                        Truth::Clear
                    };
                    prop_assert_ne!(replay.actual(condition), wanted, "{:?}", flaw);
                }
                Flaw::DeadEnd { .. } if proof.reach == Reach::Every => {
                    let mut die = Die(seed);
                    for _ in 0..1000 {
                        walk(&mut replay, &mut die, &mut false);
                        prop_assert!(!replay.run().state().finished, "{flaw:?} is no dead end");
                    }
                }
                _ => {}
            }
        }
        if proof.reach == Reach::Bounded || proof.flaws.iter().any(unsafe_to_begin) {
            return Ok(());
        }
        let mut die = Die(seed);
        let mut replay = Replay::new(&procedures).unwrap();
        let mut may_mishear = true;
        for _ in 0..10_000 {
            walk(&mut replay, &mut die, &mut may_mishear);
            prop_assert_eq!(replay.breach(), None, "in {:?}", replay.run().state());
            // Now and then everything begins anew, or the walk would stay where it is finished.
            if die.below(60) == 0 {
                replay = Replay::new(&procedures).unwrap();
                may_mishear = true;
            }
        }
    }
}

/// The history that leads to a stop is followed by the last hold's answer, whatever is said.
#[test]
fn a_stop_is_left_only_by_the_holds_answer() {
    let mut lower = Step::new(
        StepId::try_from("lower".to_string()).unwrap(),
        text("Lower."),
    );
    lower.hold = Some(hold());
    let tidy = Step::new(StepId::try_from("tidy".to_string()).unwrap(), text("Tidy."));
    let procedure = Procedure::new(text("Wheel"), text("Invented"), vec![lower, tidy]);
    let mut replay = Replay::new(&[procedure]).unwrap();
    replay.line("tyre carries load").unwrap();
    replay.line("stop stop").unwrap();
    replay.line("work complete").unwrap_err();
    replay.line("resume procedure").unwrap();
    for refused in [
        "work complete",
        "disregard",
        "previous instruction",
        "override skip",
    ] {
        replay.line(refused).unwrap_err();
    }
    replay.line("tyre carries load").unwrap();
    replay.line("work complete").unwrap();
    assert!(replay.run().state().finished);
}

/// The end of a wait, while a reason is asked for, leaves the question where it was: a hold that would be
/// called next is not skipped by the answer.
#[test]
fn a_skip_never_lands_on_a_hold() {
    let named = |id: &str| StepId::try_from(id.to_string()).unwrap();
    let step = |id: &str, after: &[&str]| Step {
        after: Some(after.iter().copied().map(named).collect()),
        ..Step::new(named(id), text(&format!("Do {id}.")))
    };
    let waits = |id: &str, name: &str| {
        let lasts = Lasting::try_from("10 min".to_string()).unwrap();
        Step {
            wait: Some(Wait {
                meanwhile: true,
                ..Wait::new(text(name), lasts)
            }),
            ..step(id, &[])
        }
    };
    let mut held = step("held", &["first"]);
    held.hold = Some(hold());
    let steps = vec![
        waits("first", "skin time"),
        waits("second", "cure time"),
        step("both", &["first", "second"]),
        held,
    ];
    let procedure = Procedure::new(text("Pump"), text("Invented"), steps);
    let mut replay = Replay::new(&[procedure]).unwrap();
    for line in [
        "begin countdown",
        "begin countdown",
        "override skip",
        "wait ends: skin time",
    ] {
        replay.line(line).unwrap();
    }
    let _ = replay.line("already done");
    let held = &replay.run().progress().marks[3];
    assert_eq!(*held, Mark::Open, "a hold is never skipped");
}

/// A step that only the second person's answer leads past is held too.
#[test]
fn a_step_for_two_cannot_be_skipped() {
    let mut lift = Step::new(StepId::try_from("lift".to_string()).unwrap(), text("Lift."));
    lift.second = Some(hold());
    let procedure = Procedure::new(text("Lift"), text("Invented"), vec![lift]);
    let mut replay = Replay::new(&[procedure]).unwrap();
    replay.line("override skip").unwrap_err();
    replay.line("work complete").unwrap();
    assert!(!replay.run().state().finished);
    replay.line("tyre carries load").unwrap();
    assert!(replay.run().state().finished);
}

/// Every file of `proof/` is refused with what its text says; `NAME-a.ron` and `NAME-b.ron` are open
/// together.
#[test]
fn bad_procedures_are_found() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/proof");
    let mut texts: Vec<_> = fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "txt"))
        .collect();
    texts.sort();
    assert!(texts.len() >= 10, "{} bad procedures", texts.len());
    let speech = Speech::standard(&NoModel, &CmuDict);
    for expected in texts {
        let wanted = fs::read_to_string(&expected).unwrap();
        let name = expected.file_stem().unwrap().to_str().unwrap().to_owned();
        let alone = folder.join(format!("{name}.ron"));
        let found = if alone.exists() {
            let bytes = fs::read(&alone).unwrap();
            let (_, findings) = check_judged(&name, &bytes, &speech, &judge);
            draw(
                &name,
                &String::from_utf8_lossy(&bytes),
                &findings,
                Look::Plain,
            )
        } else {
            let procedures: Vec<Procedure> = ["a", "b"]
                .map(|part| folder.join(format!("{name}-{part}.ron")))
                .into_iter()
                .map(|path| {
                    let bytes = fs::read(&path).unwrap();
                    let (procedure, findings) = check_file(&name, &bytes, &speech);
                    procedure.unwrap_or_else(|| panic!("{path:?}: {findings:?}"))
                })
                .collect();
            report::together(&procedures, &prove(&procedures, &Bound::default()))
        };
        assert!(
            found.contains(wanted.trim()),
            "{name}: {wanted} is not in\n{found}"
        );
    }
}

#[test]
fn nothing_is_proved_of_no_work() {
    let proof = prove(&[], &Bound::default());
    assert!(proof.flaws.is_empty());
    assert!(Replay::new(&[]).is_none());
}
