//! `benchcall plan`: procedures planned together, and what is left of a run.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::path::Path;
use std::process::{Command, Output};

use benchcall::dictionary::CmuDict;
use benchcall::plan::{
    ActivityId, Draft, Effort, Kind, Moment, Outcome, Plan, Span, cures, demands,
};
use benchcall::procedure::{self, NoModel, Procedure, Speech};
use benchcall::run::{self, Claim, Event, Run, Time};

const PAINT: &str = r#"(
    title: "Prime and colour the toolbox lids",
    subject: "Volunteers' fire engine, four lids (figures invented)",
    steps: [
        (id: "prime", say: "Spray the primer.", usual: "10 min",
         wait: (name: "flash", lasts: "30 min", at_most: "55 min", meanwhile: true,
                too_late: "Sand the primer, clean, prime anew.")),
        (id: "colour", say: "Spray the colour.", usual: "10 min", after: ["prime"],
         wait: (name: "hardening", lasts: "8 h", meanwhile: true)),
        (id: "hang", say: "Hang the lids back.", usual: "5 min", after: ["colour"]),
    ],
)"#;

/// Raises the axle, and sets the condition while it stands high.
const AXLE: &str = r#"(
    title: "Look at the axle from below",
    subject: "Volunteers' fire engine, rear axle (figures invented)",
    conditions: ["wheel off the ground"],
    resources: ["crane"],
    steps: [
        (id: "raise", say: "Raise the axle.", usual: "10 min", sets: ["wheel off the ground"],
         uses: ["crane"], people: 2,
         hold: (ask: "What carries the axle?", answer: "stands carry load")),
        (id: "look", say: "Look at it.", usual: "20 min", needs: ["wheel off the ground"]),
        (id: "lower", say: "Lower the axle.", usual: "10 min", clears: ["wheel off the ground"],
         uses: ["crane"], people: 2,
         hold: (ask: "What carries the load now?", answer: "tyre carries load")),
    ],
)"#;

const NUTS: &str = r#"(
    title: "Check the wheel nuts",
    subject: "Volunteers' fire engine, rear axle (figures invented)",
    conditions: ["wheel off the ground"],
    steps: [
        (id: "nuts", say: "Check every nut.", usual: "15 min", after: [],
         forbidden_while: ["wheel off the ground"]),
    ],
)"#;

fn read(source: &str) -> Procedure {
    let speech = Speech::standard(&NoModel, &CmuDict);
    procedure::read("work.ron", source.as_bytes(), &speech).unwrap_or_else(|findings| {
        panic!("{findings:?}");
    })
}

#[track_caller]
fn planned(draft: &Draft) -> Plan {
    match Plan::of(&draft.work, Effort::USUAL).unwrap() {
        Outcome::Feasible(plan) => plan,
        Outcome::Infeasible(clash) => panic!("{:?}", demands(&draft.work, &clash)),
        Outcome::Undecided { .. } => panic!("undecided"),
    }
}

/// Returns when a step starts and ends, in minutes.
#[track_caller]
fn when(draft: &Draft, plan: &Plan, job: usize, step: usize, kind: Kind) -> (u32, u32) {
    let at = (0..draft.places.len())
        .find(|&at| {
            let place = draft.places[at];
            (place.job, place.step, draft.work.activities[at].kind) == (job, step, kind)
        })
        .unwrap();
    let minutes = |at: Moment| at.since_beginning().in_seconds() / 60;
    let start = plan.start(ActivityId(at)).unwrap();
    (
        minutes(start),
        minutes(start.plus(draft.work.activities[at].lasts)),
    )
}

#[test]
fn a_wait_is_put_to_use_and_its_window_is_kept() {
    let (paint, nuts) = (read(PAINT), read(NUTS));
    let draft = Draft::of(&[&paint, &nuts], None);
    let plan = planned(&draft);
    assert!(plan.exact());
    assert_eq!(
        plan.finish,
        Moment::after(Span::minutes(10 + 30 + 10 + 480 + 5))
    );
    assert_eq!(when(&draft, &plan, 0, 0, Kind::Wait), (10, 40));
    assert_eq!(when(&draft, &plan, 0, 1, Kind::Step), (40, 50));
    let (from, to) = when(&draft, &plan, 1, 0, Kind::Step);
    assert!((10..40).contains(&from) && to <= 40 || from >= 50, "{from}");
    assert_eq!(
        draft.assumed,
        ["1 person works, the fewest that every step can be done with"]
    );
}

/// The nuts must be checked before the axle is raised or after it is lowered, whoever set the condition.
#[test]
fn what_a_condition_forbids_lies_outside_of_it() {
    let (axle, nuts) = (read(AXLE), read(NUTS));
    let draft = Draft::of(&[&axle, &nuts], Some(3));
    let plan = planned(&draft);
    assert_eq!(plan.finish, Moment::after(Span::minutes(55)));
    let (from, to) = when(&draft, &plan, 1, 0, Kind::Step);
    let raised = when(&draft, &plan, 0, 0, Kind::Step);
    let lowered = when(&draft, &plan, 0, 2, Kind::Step);
    assert!(
        to <= raised.0 || from >= lowered.1,
        "{from} {raised:?} {lowered:?}"
    );

    // With nothing forbidden both go on at once.
    let free = read(&NUTS.replace("forbidden_while: [\"wheel off the ground\"]", "people: 1"));
    let draft = Draft::of(&[&axle, &free], Some(3));
    assert_eq!(planned(&draft).finish, Moment::after(Span::minutes(40)));
}

#[test]
fn there_is_one_crane_for_all_jobs() {
    let (one, other) = (
        read(AXLE),
        read(&AXLE.replace("wheel off the ground", "front axle up")),
    );
    let draft = Draft::of(&[&one, &other], Some(4));
    let plan = planned(&draft);
    // Four uses of ten minutes each, and both looks of twenty within.
    assert_eq!(plan.finish, Moment::after(Span::minutes(50)));
    assert_eq!(draft.work.resources.len(), 2);
    assert!(
        draft
            .work
            .activities
            .iter()
            .any(|activity| activity.job.ends_with("(2)"))
    );
}

#[test]
fn an_impossible_window_is_named_with_its_cure() {
    // Colour and cleaning are both due within the window of the primer, and one person does both.
    let tight = PAINT.replace(
        "(id: \"colour\"",
        "(id: \"clean\", say: \"Clean the gun.\", usual: \"20 min\", after: [\"prime\"], before: [\"colour\"]),
         (id: \"colour\"",
    );
    let draft = Draft::of(&[&read(&tight)], None);
    let Outcome::Infeasible(clash) = Plan::of(&draft.work, Effort::USUAL).unwrap() else {
        panic!("a plan");
    };
    let named = demands(&draft.work, &clash);
    let window = "\"Spray the colour.\" is done within 55 min from the start of the wait \"flash\"";
    assert!(named.iter().any(|demand| demand == window), "{named:?}");
    let cures = cures(&draft.work, &clash);
    assert_eq!(
        cures[0],
        format!("Allow 5 min more, 1 h in all, where {window}")
    );
}

fn time(minutes: i64) -> Time {
    Time::from_timestamp(1_700_000_000 + minutes * 60, 0).unwrap()
}

/// After every step the plan is made again from what has really happened.
#[test]
fn what_is_left_of_a_run_is_planned_from_now_on() {
    let mut run = Run::of(read(PAINT), [read(NUTS)]);
    let whole = planned(&Draft::of_run(&run, None, time(0)));
    run.apply(&Event::Began);
    let prime = run.procedure().steps[0].clone();
    run.apply(&Event::WaitBegan {
        step: prime.id.clone(),
        name: prime.wait.unwrap().name,
        from: time(20),
        due: time(50),
        latest: Some(time(75)),
    });
    // The primer took 20 minutes instead of ten, and five more have passed.
    let draft = Draft::of_run(&run, None, time(25));
    assert_eq!(draft.begins, Some(time(20)));
    let plan = planned(&draft);
    assert!(plan.exact());
    assert_eq!(when(&draft, &plan, 0, 0, Kind::Wait), (0, 30));
    assert_eq!(when(&draft, &plan, 0, 1, Kind::Step), (30, 40));
    assert_eq!(when(&draft, &plan, 1, 0, Kind::Step), (5, 20));
    assert_eq!(draft.by_start(&plan), [(1, 0), (0, 1), (0, 2)]);
    // Ten minutes later than thought, counted from the same beginning.
    let finish = 20 + plan.finish.since_beginning().in_seconds() / 60;
    assert_eq!(
        finish,
        whole.finish.since_beginning().in_seconds() / 60 + 10
    );
    // Nobody came back in time: the window has passed.
    let late = Draft::of_run(&run, None, time(90));
    let outcome = Plan::of(&late.work, Effort::USUAL).unwrap();
    let Outcome::Infeasible(clash) = outcome else {
        panic!("{outcome:?}");
    };
    let said = demands(&late.work, &clash).join("\n");
    assert!(
        said.contains("within 55 min") && said.contains("before now"),
        "{said}"
    );
}

const WHEEL: &str = r#"(
    title: "Tighten the wheel",
    subject: "Volunteers' fire engine, rear axle (figures invented)",
    steps: [
        (id: "nuts", say: "Tighten.", usual: "20 min",
         fasten: (bolts: 4, passes: [1.0], torque: "40 N·m")),
        (id: "cap", say: "Press the cap on.", usual: "5 min"),
    ],
)"#;

/// Of a step that is begun only what is left is still to come; the time at another job does not count.
#[test]
fn a_begun_step_takes_what_is_left_of_its_time() {
    let mut run = Run::of(read(WHEEL), [read(NUTS)]);
    run.apply(&Event::Began);
    run.note_time(time(0));
    let nut = Event::Claimed {
        step: run.procedure().steps[0].id.clone(),
        claim: Claim::Bolt { pass: 1, bolt: 1 },
    };
    let left = |run: &Run, now: i64| {
        let draft = Draft::of_run(run, None, time(now));
        let begins = draft.begins.unwrap();
        let plan = planned(&draft);
        let ends = chrono::TimeDelta::seconds(plan.finish.since_beginning().in_seconds().into());
        (begins + ends - time(now)).num_minutes()
    };
    // Called, not begun: all of it, the cap and the other job.
    assert_eq!(left(&run, 6), 20 + 5 + 15);
    run.apply(&nut);
    run.note_time(time(6));
    assert_eq!(left(&run, 8), 12 + 5 + 15);
    // An hour at the other job is no time at this one.
    let to = |job: usize, run: &Run| Event::Moved {
        job,
        step: run.procedures().nth(job).unwrap().steps[0].id.clone(),
        follows: false,
    };
    run.apply(&to(1, &run));
    run.note_time(time(8));
    run.apply(&to(0, &run));
    run.note_time(time(68));
    assert_eq!(left(&run, 70), 10 + 5 + 15);
    // Longer than usual: it may be done at any moment.
    assert_eq!(left(&run, 100), 5 + 15);
}

/// A wait that stands still in the cold goes on from now at the earliest.
#[test]
fn a_wait_that_stands_still_is_not_planned_as_over() {
    let mut run = Run::new(read(PAINT));
    run.apply(&Event::Began);
    let prime = run.procedure().steps[0].clone();
    let (step, name) = (prime.id.clone(), prime.wait.unwrap().name);
    run.apply(&Event::WaitBegan {
        step: step.clone(),
        name: name.clone(),
        from: time(0),
        due: time(30),
        latest: None,
    });
    run.apply(&Event::WaitMoved {
        job: 0,
        step,
        name,
        due: time(30),
        latest: None,
        standing: Some(chrono::TimeDelta::minutes(10)),
        why: run::Moved::Temperature {
            celsius: 4.0,
            by: "the sheet".into(),
        },
    });
    let draft = Draft::of_run(&run, None, time(60));
    let plan = planned(&draft);
    assert_eq!(when(&draft, &plan, 0, 0, Kind::Wait), (0, 70));
}

/// A condition that a run has set already forbids until it is cleared.
#[test]
fn a_condition_that_is_set_keeps_forbidding() {
    let mut run = Run::of(read(AXLE), [read(NUTS)]);
    run.apply(&Event::Began);
    let raise = run.procedure().steps[0].id.clone();
    run.apply(&Event::Claimed {
        step: raise,
        claim: Claim::Hold {
            answer: "stands carry load".into(),
        },
    });
    assert_eq!(run.state().jobs[0].marks[0], run::Mark::Done);
    let draft = Draft::of_run(&run, None, time(0));
    let plan = planned(&draft);
    let lowered = when(&draft, &plan, 0, 2, Kind::Step);
    let (from, _) = when(&draft, &plan, 1, 0, Kind::Step);
    assert_eq!((lowered, from), ((20, 30), 30));
}

fn benchcall(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_benchcall"))
        .args(args)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn written(folder: &Path, name: &str, source: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, source).unwrap();
    path.to_str().unwrap().to_string()
}

#[test]
fn the_command_shows_the_plan_and_draws_it() {
    let folder = tempfile::tempdir().unwrap();
    let paint = written(folder.path(), "paint.ron", PAINT);
    let axle = written(folder.path(), "axle.ron", AXLE);
    let picture = folder.path().join("plan.svg");
    let drawn = picture.to_str().unwrap();
    let output = benchcall(&["plan", &paint, &axle, "--start", "08:30", "--svg", drawn]);
    let shown = text(&output.stdout);
    assert!(output.status.success(), "{}", text(&output.stderr));
    for line in [
        "1: Prime and colour the toolbox lids",
        "08:30   08:40   * critical   1    Spray the primer.",
        "Finished at 17:25, after 8 h 55 min: no plan finishes earlier.",
        "Assumed: 2 people work, the fewest that every step can be done with.",
    ] {
        assert!(shown.contains(line), "{line:?} is not in\n{shown}");
    }
    let svg = std::fs::read_to_string(picture).unwrap();
    assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
    assert!(svg.contains("Spray the primer.") && svg.contains("17:25"));

    let output = benchcall(&["plan", &paint, &axle, "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(json["finish_s"], (8 * 60 + 55) * 60);
    assert_eq!(json["exact"], true);
    assert_eq!(json["activities"][0]["step"], "prime");
}

#[test]
fn the_command_says_why_there_is_no_plan() {
    let folder = tempfile::tempdir().unwrap();
    let axle = written(folder.path(), "axle.ron", AXLE);
    let output = benchcall(&["plan", &axle, "--people", "1"]);
    assert_eq!(output.status.code(), Some(1));
    let said = text(&output.stderr);
    for part in [
        "Error: There is no such plan",
        "Because: \"Lower the axle.\" takes 2 people for 10 min; there is 1",
        "Do: Have 2 people instead of 1",
    ] {
        assert!(said.contains(part), "{part:?} is not in\n{said}");
    }
    let output = benchcall(&["plan", &axle, "--people", "1", "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(
        (&json["feasible"], output.status.code()),
        (&false.into(), Some(1))
    );
    let output = benchcall(&["plan", &axle, "--start", "25:00"]);
    assert_eq!(output.status.code(), Some(2));
}
