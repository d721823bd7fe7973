//! What the checker calls safe, no walk through the real run ever breaks; what it calls unsafe, the
//! history that it prints breaks. And the deliberately bad procedures of `proof/`, each with what must be
//! found in it.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use benchcall::dictionary::CmuDict;
use benchcall::procedure::{
    Condition, Hold, Lasting, Look, NoModel, Phrase, Procedure, Speech, Step, StepId, Text, Wait,
    check_file, check_judged, draw,
};
use benchcall::prove::replay::Replay;
use benchcall::prove::{Bound, Flaw, LEFT_OUT, Reach, judge, prove, report};
use benchcall::run::{
    Asking, By, Command, Mark, MoreTime, Order, Run, SkipReason, Time, Truth, decide, sayable,
};
use chrono::TimeDelta;
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

/// Tells whether there is a way into a flaw that can be followed.
fn can_be_told(flaw: &Flaw) -> bool {
    let first = flaw.history().first();
    first.is_some_and(|first| first.called != LEFT_OUT)
}

fn unsafe_to_begin(flaw: &Flaw) -> bool {
    matches!(flaw, Flaw::Misheard { .. } | Flaw::Called { .. })
}

/// Walks on from a dead end, which no walk may finish.
fn stays_in(flaw: &Flaw, replay: &mut Replay, seed: u64) -> Result<(), String> {
    if !matches!(flaw, Flaw::DeadEnd { .. }) {
        return Ok(());
    }
    let mut die = Die(seed);
    for _ in 0..1000 {
        walk(replay, &mut die, &mut false);
        if replay.run().state().finished {
            return Err(format!("{flaw:?} is no dead end"));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_called_safe_never_breaks_and_what_is_not_breaks_as_printed(
        procedures in work(),
        seed in any::<u64>(),
    ) {
        // Half of them are looked at apart, as large work is.
        let proof = prove(&procedures, &Bound { states: 6_000, apart: seed % 2 == 0 });
        for flaw in proof.flaws.iter().filter(|flaw| can_be_told(flaw)) {
            let mut replay = follow(&procedures, flaw).map_err(TestCaseError::fail)?;
            arrives(&procedures, &replay, flaw).map_err(TestCaseError::fail)?;
            stays_in(flaw, &mut replay, seed).map_err(TestCaseError::fail)?;
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

/// A step of the work below: what it needs, forbids, sets and clears, whether it needs the crane, with `!`
/// where it comes after none.
fn made(number: usize, rules: &str) -> Step {
    let conditions = |sign: char| {
        let of_sign = rules.split(' ').filter_map(|rule| rule.strip_prefix(sign));
        let names = of_sign.map(|name| match name {
            "axle" => text("axle off the ground"),
            _ => text("panel wet"),
        });
        names.collect::<Vec<_>>()
    };
    Step {
        needs: conditions('?'),
        forbidden_while: conditions('~'),
        sets: conditions('+'),
        clears: conditions('-'),
        after: rules.contains('!').then(Vec::new),
        hold: rules.contains("hold").then(hold),
        uses: if rules.contains("crane") {
            vec![text("crane")]
        } else {
            Vec::new()
        },
        ..Step::new(
            StepId::try_from(format!("step-{number}")).unwrap(),
            text(&format!("Do step {number}.")),
        )
    }
}

/// Work on which the way into what was found was once told wrong, or not at all: where a left out condition
/// stands before an earlier step, where nothing can begin and a step is skipped that could not, where what is
/// taken back is not what led there in the fewest words, where what leads out of a dead end was not found
/// among the first states that were looked at.
const ONCE_TOLD_WRONG: [&[&[&str]]; 7] = [
    &[
        &["", "?wet", "-axle"],
        &["?axle -wet !", "~axle +wet hold !"],
    ],
    &[&["?wet", "-axle", "~axle !"]],
    &[
        &["?axle ~wet", "?axle -wet"],
        &["?wet +axle hold", "+axle", "?axle +wet"],
    ],
    &[&["", "?axle -axle", "!", "~axle -wet !"]],
    &[&["~axle", "?wet -axle !"]],
    &[&["+axle", "?wet ~axle -wet"], &["~wet", ""]],
    &[
        &["?wet +wet", "?wet hold", "~axle", "~axle !", "+axle hold"],
        &["?wet -axle crane", "~axle +wet hold !", "+wet hold crane"],
    ],
];

#[test]
fn what_is_found_is_told_in_the_whole() {
    for work in ONCE_TOLD_WRONG {
        let names = [("Pump", "pump job"), ("Cover", "cover job")];
        let jobs = work.iter().zip(names).map(|(steps, (title, called))| {
            let steps = steps.iter().enumerate().map(|(n, rules)| made(n, rules));
            Procedure {
                called: Some(Phrase::try_from(called.to_string()).unwrap()),
                conditions: conditions().into_iter().map(Condition::from).collect(),
                resources: vec![text("crane")],
                ..Procedure::new(text(title), text("Invented"), steps.collect())
            }
        });
        let procedures: Vec<Procedure> = jobs.collect();
        for apart in [false, true] {
            let bound = Bound {
                states: 6_000,
                apart,
            };
            let proof = prove(&procedures, &bound);
            for flaw in proof.flaws.iter().filter(|flaw| !flaw.history().is_empty()) {
                let replay = follow(&procedures, flaw).unwrap();
                arrives(&procedures, &replay, flaw).unwrap();
                for seed in 0..20 {
                    stays_in(flaw, &mut replay.clone(), seed).unwrap();
                }
            }
        }
    }
}

/// Where everything stands, but for what is called.
fn standing(run: &Run) -> impl PartialEq + std::fmt::Debug + use<> {
    let jobs = run.state().jobs.iter().map(|job| {
        let waits = job.waits.iter();
        let waits: Vec<_> = waits.map(|w| (w.step.clone(), w.ended.is_some())).collect();
        (job.marks.clone(), job.left.clone(), waits)
    });
    (jobs.collect::<Vec<_>>(), run.truths().to_vec())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// A wait that was over and lasts longer stands in the way until it ends, and then all is as before:
    /// why the checker need not search that.
    #[test]
    fn more_time_for_a_wait_leads_back_to_where_it_was(procedures in work(), seed in any::<u64>()) {
        let mut die = Die(seed);
        let mut replay = Replay::new(&procedures).unwrap();
        let mut now = Time::UNIX_EPOCH;
        for _ in 0..400 {
            walk(&mut replay, &mut die, &mut false);
            let mut run = replay.run().clone();
            now += TimeDelta::minutes(20);
            let give = |run: &mut Run, command: Command, by: By, now: Time| {
                let events = decide(run, &Order { command, by }, now).unwrap_or_default();
                events.iter().for_each(|event| run.apply(event));
                !events.is_empty()
            };
            // Every wait is over, and nobody has said so.
            give(&mut run, Command::Tick, By::Clock, now);
            let over = standing(&run);
            if !give(&mut run, Command::AddTime(MoreTime::FiveMinutes), By::Voice, now) {
                continue;
            }
            // What can be done while it lasts could be done when it was over.
            let jobs = || procedures.iter().enumerate();
            let steps = || jobs().flat_map(|(job, one)| (0..one.steps.len()).map(move |s| (job, s)));
            let lasting: Vec<_> = steps().filter(|&(job, step)| run.is_ready(job, step)).collect();
            give(&mut run, Command::Tick, By::Clock, now + TimeDelta::minutes(6));
            prop_assert_eq!(standing(&run), over);
            prop_assert!(lasting.into_iter().all(|(job, step)| run.is_ready(job, step)));
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

/// What the checker must show, and the sets of `proof/` that show each. That no resource is used twice at
/// once is kept by the run; what comes of it is the dead end. `tests/run_invariants.rs` holds it over random
/// commands, as it holds that only its own answer opens a hold.
const SHOWN: [(&str, &[&str]); 8] = [
    (
        "nobody is called to what the state of the work forbids",
        &[
            "torque_in_the_air",
            "never_begins",
            "set_by_another_for_good",
        ],
    ),
    (
        "no hold is passed without its answer",
        &["hold_opens_to_a_command"],
    ),
    (
        "one misheard word is harmless",
        &[
            "lowered_without_a_hold",
            "raised_without_a_hold",
            "bolt_still_in",
            "paint_without_the_climate",
            "unguarded_for_another",
            "wait_stopped",
        ],
    ),
    ("so is a misheard reading", &["reading_misheard"]),
    (
        "every job can be finished",
        &[
            "no_way_back_to_the_start",
            "each_waits_for_the_other",
            "before_against_after",
        ],
    ),
    ("nothing is set that nobody clears", &["left_in_the_air"]),
    ("every step can run", &["step_never_due"]),
    ("no resource is needed twice at once", &["crane_never_free"]),
];

/// The names of all sets: the texts of what must be found in each.
fn sets() -> BTreeSet<String> {
    let entries = fs::read_dir(sets_folder()).unwrap();
    let paths = entries.map(|entry| entry.unwrap().path());
    let texts = paths.filter(|path| path.extension().is_some_and(|ending| ending == "txt"));
    texts
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned())
        .collect()
}

fn sets_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/proof")
}

/// The files of a set: `NAME.ron`, or `NAME-a.ron` and `NAME-b.ron`, which are open together.
fn files(name: &str) -> Vec<PathBuf> {
    let alone = sets_folder().join(format!("{name}.ron"));
    if alone.exists() {
        return vec![alone];
    }
    let parts = ["a", "b"].map(|part| sets_folder().join(format!("{name}-{part}.ron")));
    parts.into()
}

#[test]
fn every_demand_has_its_bad_set() {
    let named = SHOWN.iter().flat_map(|(_, names)| names.iter());
    let named: BTreeSet<String> = named.map(|name| (*name).to_owned()).collect();
    assert_eq!(named, sets());
}

/// Every set is refused with what its text says.
#[test]
fn bad_procedures_are_found() {
    let speech = Speech::standard(&NoModel, &CmuDict);
    for name in sets() {
        let wanted = fs::read_to_string(sets_folder().join(format!("{name}.txt"))).unwrap();
        let files = files(&name);
        let found = if let [alone] = &files[..] {
            let bytes = fs::read(alone).unwrap();
            let (_, findings) = check_judged(&name, &bytes, &speech, &judge);
            draw(
                &name,
                &String::from_utf8_lossy(&bytes),
                &findings,
                Look::Plain,
            )
        } else {
            let procedures = read(&files, &speech).unwrap();
            report::together(&procedures, &prove(&procedures, &Bound::default()))
        };
        assert!(
            found.contains(wanted.trim()),
            "{name}: {wanted} is not in\n{found}"
        );
    }
}

/// Reads procedures as they are, whatever comes of their order; none where one is refused.
fn read(files: &[PathBuf], speech: &Speech) -> Option<Vec<Procedure>> {
    let read = files.iter().map(|path| {
        let bytes = fs::read(path).unwrap();
        check_file(&path.to_string_lossy(), &bytes, speech).0
    });
    read.collect()
}

/// The history of every flaw in every set leads, line by line, to what it says.
#[test]
fn the_ways_into_bad_sets_can_be_followed() {
    let speech = Speech::standard(&NoModel, &CmuDict);
    let mut followed = 0;
    for name in sets() {
        let Some(procedures) = read(&files(&name), &speech) else {
            continue;
        };
        let proof = prove(&procedures, &Bound::default());
        for flaw in proof.flaws.iter().filter(|f| !f.history().is_empty()) {
            let replay = follow(&procedures, flaw).unwrap_or_else(|why| panic!("{name}: {why}"));
            arrives(&procedures, &replay, flaw).unwrap_or_else(|why| panic!("{name}: {why}"));
            followed += 1;
        }
    }
    assert!(followed >= 12, "{followed} histories");
}

/// With any one hold taken out, the shipped procedures are not safe, and the way into the danger can be
/// followed, where steps that touch nothing were left out as well.
#[test]
fn what_a_hold_keeps_away_comes_without_it() {
    let speech = Speech::standard(&NoModel, &CmuDict);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("procedures");
    let files = fs::read_dir(folder).unwrap();
    let mut files: Vec<PathBuf> = files.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let (mut dangers, mut followed) = (0, 0);
    for file in &files {
        let procedure = read(std::slice::from_ref(file), &speech).unwrap().remove(0);
        let held = procedure.steps.iter().enumerate();
        let held = held.filter(|(_, step)| step.hold.is_some());
        for (at, _) in held {
            let mut one = procedure.clone();
            (one.steps[at].hold, one.steps[at].second) = (None, None);
            let one = [one];
            for (states, apart) in [(600, false), (6_000, true)] {
                let proof = prove(&one, &Bound { states, apart });
                let found = proof.flaws.iter();
                dangers += usize::from(found.clone().any(unsafe_to_begin));
                for flaw in found.filter(|flaw| !flaw.history().is_empty()) {
                    let came = follow(&one, flaw).and_then(|replay| arrives(&one, &replay, flaw));
                    came.unwrap_or_else(|why| panic!("{file:?}, step {at}: {why}"));
                    followed += 1;
                }
            }
        }
    }
    println!("{dangers} dangers, {followed} histories followed");
    assert!(dangers > 40 && followed > 40, "{dangers}, {followed}");
}

/// Says a history line by line.
fn follow(procedures: &[Procedure], flaw: &Flaw) -> Result<Replay, String> {
    let mut replay = Replay::new(procedures).unwrap();
    for line in report::way(flaw.history()).lines() {
        let said = replay.line(line);
        said.map_err(|why| format!("{line}: {why} in {flaw:?}"))?;
    }
    Ok(replay)
}

/// Tells whether a history has come to where its flaw is.
fn arrives(procedures: &[Procedure], replay: &Replay, flaw: &Flaw) -> Result<(), String> {
    let run = replay.run();
    let called = (run.state().job, run.progress().step);
    let expect = |is: bool, what: &str| {
        let said = format!("{what}: {flaw:?}");
        if is { Ok(()) } else { Err(said) }
    };
    match flaw {
        Flaw::Misheard {
            job,
            step,
            condition,
            ..
        } => {
            expect(replay.breach().is_some(), "nothing dangerous begins")?;
            expect(called == (*job, *step), "another step is called")?;
            // Where several conditions are against it, either may be named.
            let begun = &procedures[*job].steps[*step];
            let wanted = if begun.needs.contains(condition) {
                Truth::Set
            } else {
                Truth::Clear
            };
            expect(replay.actual(condition) != wanted, "the condition is right")
        }
        Flaw::Called { job, step, .. } => {
            expect(called == (*job, *step), "another step is called")?;
            expect(
                run.blocked().is_some() || replay.breach().is_some(),
                "it is allowed",
            )
        }
        Flaw::LeftSet { condition, .. } => {
            expect(run.state().finished, "it is not finished")?;
            expect(run.truth(condition) == Truth::Set, "it is not set")
        }
        Flaw::DeadEnd { .. } => expect(!run.state().finished, "it is finished"),
        Flaw::NeverRuns { .. } => Ok(()),
    }
}

#[test]
fn nothing_is_proved_of_no_work() {
    let proof = prove(&[], &Bound::default());
    assert!(proof.flaws.is_empty());
    assert!(Replay::new(&[]).is_none());
}
