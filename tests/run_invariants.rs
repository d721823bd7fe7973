//! Random commands over random procedures keep the rules of the run after every single one, and
//! replaying the events always gives the same state.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::sync::Arc;

use benchcall::procedure::{
    BoltCount, BoltOrder, Condition, Cure, Fasten, Hold, Lasting, Pass, Phrase, Procedure, Reading,
    Requirement, Share, Step, StepId, StepKind, Sum, Text, Wait,
};
use benchcall::run::{
    Asking, By, Claim, Command, Event, Figure, Mark, Mode, Opened, Order, Progress, Run,
    RunningWait, SkipReason, Time, Truth, decide, sayable,
};
use benchcall::trade::Verdict;
use chrono::TimeDelta;
use proptest::prelude::*;

fn text(words: &str) -> Text {
    Text::try_from(words.to_string()).unwrap()
}

fn conditions() -> Vec<Text> {
    vec![text("axle off the ground"), text("pump open")]
}

fn some_conditions() -> impl Strategy<Value = Vec<Text>> {
    proptest::sample::subsequence(conditions(), 0..=2)
}

fn fasten() -> impl Strategy<Value = Fasten> {
    (1u32..6, 0..3, proptest::collection::vec(1u32..=10, 0..3)).prop_map(
        |(bolts, order, shares)| Fasten {
            order: match order {
                0 => BoltOrder::Star,
                1 => BoltOrder::Around,
                _ => BoltOrder::Given((1..=bolts).rev().collect()),
            },
            torque: Some("110 N·m".parse().unwrap()),
            passes: shares
                .into_iter()
                .map(|tenths| Pass::Share(Share::try_from(f64::from(tenths) / 10.0).unwrap()))
                .collect(),
            ..Fasten::new(BoltCount::try_from(bolts).unwrap())
        },
    )
}

fn reading() -> impl Strategy<Value = Reading> {
    let torque = Reading {
        name: text("nut one"),
        unit: text("N·m"),
        low: 105.0,
        high: 115.0,
        digits: 3,
        decimals: 0,
    };
    let face = Reading {
        name: text("face"),
        unit: text("°C"),
        low: 12.0,
        high: 30.0,
        digits: 3,
        decimals: 0,
    };
    prop_oneof![2 => Just(torque), 1 => Just(face)]
}

/// A sum that lets 109 N·m to 111 N·m pass, and refuses what lies beside.
fn sums(readings: &[Reading]) -> Vec<Sum> {
    let band = r#"{"Band": {"torque": "110 ± 3 N·m", "class": "1 %", "setting": "nut one"}}"#;
    let read = readings
        .iter()
        .any(|reading| reading.name == text("nut one"));
    read.then(|| serde_json::from_str(band).unwrap())
        .into_iter()
        .collect()
}

fn wait() -> impl Strategy<Value = Wait> {
    let lasting = |text: &str| Lasting::try_from(text.to_string()).unwrap();
    (any::<bool>(), any::<bool>(), any::<bool>()).prop_map(move |(meanwhile, window, cures)| Wait {
        name: text("skin time"),
        called: Some(Phrase::try_from("sealant skin".to_string()).unwrap()),
        lasts: lasting("10 min"),
        meanwhile,
        at_most: window.then(|| lasting("14 min")),
        too_late: window.then(|| text("Lay a new bead.")),
        warn_before: None,
        cure: cures.then(cure),
    })
}

/// A wait goes by the temperature of the face, which is reported below, within and above its sheet.
fn cure() -> Cure {
    Cure {
        reading: text("face"),
        at: "20 °C".parse().unwrap(),
        least: "12 °C".parse().unwrap(),
        most: "30 °C".parse().unwrap(),
        energy: None,
    }
}

fn hold() -> impl Strategy<Value = Hold> {
    Just(Hold {
        ask: text("Does the tyre carry the load?"),
        answer: Phrase::try_from("tyre carries load".to_string()).unwrap(),
    })
}

fn second() -> impl Strategy<Value = Hold> {
    Just(Hold {
        ask: text("Second person: hold the rope. Ready?"),
        answer: Phrase::try_from("guide rope held".to_string()).unwrap(),
    })
}

fn step(number: usize) -> impl Strategy<Value = Step> {
    let rules = (
        some_conditions(),
        some_conditions(),
        some_conditions(),
        some_conditions(),
    );
    let work = (
        proptest::option::weighted(0.3, fasten()),
        (proptest::collection::vec(reading(), 0..2), any::<bool>()),
        proptest::option::weighted(0.3, wait()),
        proptest::option::weighted(0.3, hold()),
        any::<bool>(),
        proptest::option::weighted(0.3, 0..number.max(1)),
        proptest::bool::weighted(0.2),
        proptest::option::weighted(0.2, second()),
    );
    (rules, work).prop_map(move |((needs, forbids, sets, clears), work)| {
        let (fasten, (readings, judged), wait, hold, know, after, crane, second) = work;
        Step {
            kind: if know { StepKind::Know } else { StepKind::Work },
            after: after
                .filter(|_| number > 0)
                .map(|earlier| vec![StepId::try_from(format!("step-{earlier}")).unwrap()]),
            uses: if crane {
                vec![text("crane")]
            } else {
                Vec::new()
            },
            // Few steps need a condition, or hardly any job would get far.
            needs: if number % 4 == 3 { needs } else { Vec::new() },
            forbidden_while: if number % 2 == 1 { forbids } else { Vec::new() },
            sets,
            clears,
            fasten,
            sums: if judged { sums(&readings) } else { Vec::new() },
            readings,
            wait,
            hold,
            second,
            ..Step::new(
                StepId::try_from(format!("step-{number}")).unwrap(),
                text("Do this."),
            )
        }
    })
}

fn procedure() -> impl Strategy<Value = Procedure> {
    (1usize..6).prop_flat_map(|steps| {
        let steps: Vec<_> = (0..steps).map(step).collect();
        steps.prop_map(|steps| Procedure {
            called: Some(Phrase::try_from("pump job".to_string()).unwrap()),
            conditions: conditions().into_iter().map(Condition::from).collect(),
            resources: vec![text("crane")],
            ..Procedure::new(
                text("A job"),
                text("Volunteers' fire engine (invented data)"),
                steps,
            )
        })
    })
}

/// Up to three jobs open on one piece of work.
fn work() -> impl Strategy<Value = (Procedure, Vec<Procedure>)> {
    (procedure(), proptest::collection::vec(procedure(), 0..3)).prop_map(|(first, mut others)| {
        for (number, other) in others.iter_mut().enumerate() {
            let called = ["cover job", "valve job"][number];
            other.called = Some(Phrase::try_from(called.to_string()).unwrap());
        }
        (first, others)
    })
}

/// One procedure that can be asked for.
fn shelf(procedure: Procedure) -> Arc<Vec<Opened>> {
    let called = Phrase::try_from("lid job".to_string()).unwrap();
    Arc::new(vec![Opened {
        file: "lid.ron".into(),
        text: String::new(),
        procedure: Procedure {
            title: text("Another job"),
            called: Some(called),
            ..procedure
        },
    }])
}

/// One thing that the world does to the run.
#[derive(Debug, Clone)]
enum Act {
    /// Gives the n-th thing that may be said (round the list), so that jobs get far.
    Allowed(usize, By),
    /// Gives any command.
    Any(Command, By),
    /// Says a reading.
    Report(u32),
    /// Lets time pass.
    Pass(i64),
    /// The checker answers whether what was asked for may be opened.
    Judged(bool),
}

fn command() -> impl Strategy<Value = Command> {
    let mut all: Vec<Command> = sayable::standard().into_iter().map(|(_, c)| c).collect();
    all.extend([
        Command::OpenHold,
        Command::MoveTo(0),
        Command::MoveTo(1),
        Command::MoveTo(7),
        Command::AskFor(0),
        Command::AskFor(7),
        Command::AskWait { job: 0, step: 0 },
        Command::AskWait { job: 7, step: 7 },
        Command::ClockDiffers {
            wall: Time::UNIX_EPOCH + TimeDelta::hours(1),
            passed: Time::UNIX_EPOCH,
        },
        Command::Begin,
        Command::Tick,
        Command::Reading("120".parse::<Figure>().unwrap()),
        Command::Reading("1.5".parse::<Figure>().unwrap()),
        Command::NoteKept {
            file: "note.wav".into(),
            seconds: 3,
        },
        Command::SkipBecause(SkipReason::NotRequired),
    ]);
    proptest::sample::select(all)
}

fn by() -> impl Strategy<Value = By> {
    prop_oneof![
        6 => Just(By::Voice),
        2 => Just(By::DoubtfulVoice),
        2 => Just(By::Key),
        1 => Just(By::HeldKey),
    ]
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        8 => by().prop_map(|by| Act::Allowed(0, by)),
        2 => (0usize..12, by()).prop_map(|(n, by)| Act::Allowed(n, by)),
        3 => (command(), by()).prop_map(|(command, by)| Act::Any(command, by)),
        2 => (100u32..120).prop_map(Act::Report),
        1 => (8u32..34).prop_map(Act::Report),
        2 => (0i64..700).prop_map(Act::Pass),
        1 => any::<bool>().prop_map(Act::Judged),
    ]
}

fn order(run: &Run, act: &Act) -> Option<Order> {
    match act {
        Act::Allowed(n, by) => {
            let may_say = sayable::may_say(run);
            let sayable = may_say.get(n % may_say.len().max(1))?;
            Some(Order {
                command: sayable.command.clone(),
                by: *by,
            })
        }
        Act::Any(command, by) => Some(Order {
            command: command.clone(),
            by: *by,
        }),
        Act::Report(figure) => Some(Order {
            command: Command::Reading(format!("{figure:03}").parse().unwrap()),
            by: By::Voice,
        }),
        Act::Judged(safe) => Some(Order {
            command: match run.asked_for().filter(|_| *safe) {
                Some(asked) => Command::Open(Box::new(asked.clone())),
                None => Command::NotOpened {
                    why: "Not safe.".into(),
                },
            },
            by: By::Program,
        }),
        Act::Pass(_) => Some(Order {
            command: Command::Tick,
            by: By::Clock,
        }),
    }
}

/// Holds what one decision may do, seen from outside.
fn check_step(before: &Run, order: &Order, events: &[Event], after: &Run) {
    for event in events {
        if let Event::Claimed { step, claim } = event {
            let called = before.step().unwrap();
            assert_eq!(*step, called.id, "only the called step is claimed");
            for condition in &called.forbidden_while {
                assert_eq!(
                    before.truth(condition),
                    Truth::Clear,
                    "{event:?} is forbidden"
                );
            }
            for condition in &called.needs {
                assert_eq!(before.truth(condition), Truth::Set, "{event:?} lacks");
            }
            let number = before.progress().step;
            for earlier in &before.procedure().earlier()[number] {
                let progress = before.progress();
                assert_ne!(progress.marks[earlier.step], Mark::Open);
                let id = &before.procedure().steps[earlier.step].id;
                let over = |w: &RunningWait| w.step != *id || w.ended.is_some();
                assert!(!earlier.over || progress.waits.iter().all(over));
            }
            assert_ne!(
                before.verdict(),
                Verdict::Refuse,
                "nothing is claimed that a sum refuses"
            );
            if let Claim::Hold { .. } = claim {
                assert_eq!(
                    order.command,
                    Command::OpenHold,
                    "only its own answer opens a hold"
                );
                assert!(matches!(order.by, By::Voice | By::HeldKey), "{order:?}");
            }
        }
        if let Event::Skipped { step, .. } = event {
            assert_ne!(before.verdict(), Verdict::Refuse, "{step} is refused");
            let skipped = before
                .procedure()
                .steps
                .iter()
                .find(|s| s.id == *step)
                .unwrap();
            assert!(skipped.hold.is_none(), "a hold is never skipped");
        }
    }
    if events.iter().any(|event| matches!(event, Event::Opened(_))) {
        let called = |run: &Run| (run.state().job, run.progress().clone());
        assert_eq!(called(before), called(after), "opening calls nothing");
        assert!(before.asked_for().is_some(), "nobody asked for it");
    }
    if before.state().mode != Mode::Working {
        // A wait that ends meanwhile may call another step; nothing of one is done by it.
        let by_itself = order.by == By::Clock;
        let stands = |run: &Run| -> Vec<_> {
            // One that is opened meanwhile is no work.
            let jobs = run.state().jobs.iter().take(before.state().jobs.len());
            jobs.map(|job| {
                let place = (!by_itself).then_some((job.step, job.part, job.tightened));
                (place, job.marks.clone(), job.left.clone())
            })
            .collect()
        };
        let moved = stands(before) != stands(after);
        assert!(!moved, "nothing counts while the work stands: {order:?}");
    }
    for (job, (progress, procedure)) in after
        .state()
        .jobs
        .iter()
        .zip(after.procedures())
        .enumerate()
    {
        check_progress(after, job, progress, procedure, events);
    }
    if after.state().finished {
        assert!(after.state().jobs.iter().all(Progress::is_finished));
    }
    check_waits(before, order, events, after);
    check_resources(after);
    if after.state().mode == Mode::Working
        && before.state().mode == Mode::Stopped
        && let Some(held) = last_held(before)
        && !matches!(before.requirement(), Some(Requirement::Hold(_)))
    {
        assert_eq!(after.state().asking, Some(Asking::Again(held)));
    }
}

/// No two steps have the same resource: one that is begun, or whose wait runs, has its own.
fn check_resources(run: &Run) {
    let mut has: Vec<(Text, usize, usize)> = Vec::new();
    for (job, (progress, procedure)) in run.state().jobs.iter().zip(run.procedures()).enumerate() {
        for (at, step) in procedure.steps.iter().enumerate() {
            let begun = at == progress.step && progress.is_begun();
            let mut waits = progress.waits.iter();
            if begun || waits.any(|wait| wait.step == step.id && wait.ended.is_none()) {
                has.extend(step.uses.iter().map(|resource| (resource.clone(), job, at)));
            }
        }
    }
    for (number, (resource, ..)) in has.iter().enumerate() {
        let twice = has[..number].iter().any(|(other, ..)| other == resource);
        assert!(!twice, "{resource} is used twice at once: {has:?}");
    }
}

/// A wait that is over is not lengthened once another job uses the same thing.
#[test]
fn what_another_step_uses_since_keeps_a_wait_over() {
    let wait = |name: &str| Wait {
        meanwhile: true,
        ..Wait::new(text(name), Lasting::try_from("10 min".to_string()).unwrap())
    };
    let procedure = |name: &str| {
        let step = Step {
            uses: vec![text("crane")],
            wait: Some(wait(name)),
            ..Step::new(
                StepId::try_from("hang".to_string()).unwrap(),
                text("Hang it."),
            )
        };
        let look = Step::new(
            StepId::try_from("look".to_string()).unwrap(),
            text("Look at it."),
        );
        Procedure {
            resources: vec![text("crane")],
            ..Procedure::new(text(name), text("Invented"), vec![step, look])
        }
    };
    let mut run = Run::of(procedure("settling"), [procedure("draining")]);
    run.apply(&Event::Began);
    let mut now = Time::UNIX_EPOCH;
    let mut give = |run: &mut Run, command: Command, minutes: i64| {
        now += TimeDelta::minutes(minutes);
        let by = By::Voice;
        let events = decide(run, &Order { command, by }, now)?;
        events.iter().for_each(|event| run.apply(event));
        Ok::<(), benchcall::run::Refusal>(())
    };
    give(&mut run, Command::BeginCountdown, 0).unwrap();
    give(&mut run, Command::MoveTo(1), 0).unwrap();
    give(&mut run, Command::BeginCountdown, 0).unwrap_err();
    give(&mut run, Command::Tick, 11).unwrap();
    let longer = || Command::AddTime(benchcall::run::MoreTime::OneHour);
    let mut other = run.clone();
    give(&mut other, longer(), 0).unwrap();
    give(&mut run, Command::BeginCountdown, 0).unwrap();
    let refused = give(&mut run, longer(), 0).unwrap_err();
    assert_eq!(refused.why, "crane is in use since");
    check_resources(&run);
}

/// A call about a wait ends only by what the person says, and a wait that runs is over only by time.
fn check_waits(before: &Run, order: &Order, events: &[Event], after: &Run) {
    for one in before.waits_of_jobs() {
        let mut waits = after.waits_of_jobs();
        let same = |other: &RunningWait| other.step == one.wait.step && other.from == one.wait.from;
        let Some(now) = waits.find(|other| other.job == one.job && same(other.wait)) else {
            assert_ne!(order.by, By::Clock, "a wait is gone by itself");
            continue;
        };
        if let (Some(call), None) = (one.wait.call, now.wait.call) {
            let said = matches!(
                order.command,
                Command::NextInstruction
                    | Command::WorkComplete
                    | Command::AddTime(_)
                    | Command::Disregard
            );
            assert!(said, "{call:?} was answered by {order:?}");
        }
        if one.wait.ended.is_none() && now.wait.ended.is_some() {
            let by_time = events
                .iter()
                .any(|event| matches!(event, Event::WaitEnded { .. }));
            assert!(by_time || order.command == Command::Disregard, "{order:?}");
        }
    }
    for event in events {
        match event {
            Event::WaitEnded { job, step, at, .. } => {
                let mut waits = before.waits_of_jobs();
                let wait = waits.find(|one| one.job == *job && one.wait.step == *step);
                assert_eq!(wait.unwrap().wait.due, *at, "an end is when it was due");
            }
            Event::WaitMoved {
                job,
                step,
                due,
                latest,
                ..
            } => {
                let mut waits = before.waits_of_jobs();
                let wait = waits.find(|one| one.job == *job && one.wait.step == *step);
                // Ends are kept to the millisecond, and rounded at each move.
                let rounding = TimeDelta::milliseconds(100);
                if let Some(one) = wait {
                    let soonest = one.wait.from + TimeDelta::minutes(10) - rounding;
                    assert!(*due >= soonest, "no wait becomes shorter than its sheet's");
                    let longest = one.wait.from + TimeDelta::minutes(14) + rounding;
                    assert!(latest.is_none_or(|latest| latest <= longest));
                }
            }
            _ => {}
        }
    }
}

/// The last step done in the called job that has a hold.
fn last_held(run: &Run) -> Option<StepId> {
    let progress = run.progress();
    let done = progress.left.iter().rev().copied();
    let mut done = done.filter(|&step| progress.marks[step] == Mark::Done);
    let steps = &run.procedure().steps;
    done.find(|&step| steps[step].hold.is_some())
        .map(|step| steps[step].id.clone())
}

/// What a sum comes to is worked out from all of the step's readings, and recorded once they are taken.
fn check_results(events: &[Event], after: &Run) {
    let results = after.results();
    for (_, result) in &results {
        assert!(
            !result.result.contains("was not taken"),
            "{}",
            result.result
        );
    }
    let taken = |event: &Event| {
        matches!(
            event,
            Event::ReadingTaken { .. } | Event::DeviationAccepted { .. }
        )
    };
    let reckoned = events
        .iter()
        .filter(|event| matches!(event, Event::Reckoned { .. }));
    if events.iter().any(taken) {
        assert_eq!(reckoned.count(), results.len(), "{events:?}");
    }
}

fn check_progress(
    run: &Run,
    job: usize,
    progress: &Progress,
    procedure: &Procedure,
    events: &[Event],
) {
    let steps = procedure.steps.len();
    assert!(progress.step <= steps);
    for (at, mark) in progress.marks.iter().enumerate() {
        assert_eq!(
            *mark == Mark::Open,
            !progress.left.contains(&at),
            "a step is open or was left"
        );
    }
    let mut once = progress.left.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), progress.left.len(), "a step is left once");
    match procedure.steps.get(progress.step) {
        Some(step) => {
            assert_eq!(
                progress.marks[progress.step],
                Mark::Open,
                "an open step is called"
            );
            assert!(progress.part < step.requirements().len());
            assert!(progress.tightened < step.fasten.as_ref().map_or(1, |f| f.turns()));
        }
        None => assert!(!progress.marks.contains(&Mark::Open)),
    }
    // A job that is not called stands at what can be done, where there is such a thing.
    if job != run.state().job && !progress.is_begun() && !run.is_ready(job, progress.step) {
        assert!(
            (0..steps).all(|step| !run.is_ready(job, step)),
            "job {job} has work after {events:?}"
        );
    }
}

/// Each step marked done was claimed part by part after it was called last.
fn check_claims(history: &[Event], run: &Run) {
    type Claims = Vec<Vec<Vec<Event>>>;
    let counts: Vec<usize> = run.procedures().map(|p| p.steps.len()).collect();
    let mut claims: Claims = counts
        .iter()
        .map(|&steps| vec![Vec::new(); steps])
        .collect();
    let mut left: Vec<Vec<usize>> = vec![Vec::new(); counts.len()];
    let mut job = 0;
    let mut undo = None;
    let procedures: Vec<&Procedure> = run.procedures().collect();
    for event in history {
        if event.can_be_taken_back() {
            undo = Some((claims.clone(), left.clone(), job));
        }
        let at = |job: usize, id: &StepId| {
            let mut steps = procedures[job].steps.iter();
            steps.position(|s| s.id == *id).unwrap()
        };
        match event {
            Event::Claimed { step, .. }
            | Event::ReadingTaken { step, .. }
            | Event::DeviationAccepted { step, .. }
            | Event::WaitBegan { step, .. } => {
                let at = at(job, step);
                claims[job][at].push(event.clone());
                left[job].retain(|other| *other != at);
                left[job].push(at);
            }
            Event::WentBack { to, .. } => {
                let to = at(job, to);
                if let Some(from) = left[job].iter().position(|step| *step == to) {
                    for step in left[job].split_off(from + 1) {
                        claims[job][step].clear();
                    }
                }
            }
            Event::Moved { job: to, .. } => job = *to,
            // It is left last, however early something of it was claimed.
            Event::Skipped { step, .. } => {
                let at = at(job, step);
                left[job].retain(|other| *other != at);
                left[job].push(at);
            }
            Event::WaitStopped { job, step, .. } => {
                let at = at(*job, step);
                claims[*job][at].clear();
                left[*job].retain(|other| *other != at);
            }
            Event::TakenBack => (claims, left, job) = undo.take().unwrap(),
            _ => {}
        }
    }
    for (job, progress) in run.state().jobs.iter().enumerate() {
        for (at, mark) in progress.marks.iter().enumerate() {
            let step = &procedures[job].steps[at];
            let claims = &claims[job][at];
            if *mark == Mark::Done && step.hold.is_some() {
                let hold = |event: &Event| {
                    let Event::Claimed { claim, .. } = event else {
                        return false;
                    };
                    matches!(claim, Claim::Hold { .. })
                };
                let wanted = 1 + usize::from(step.second.is_some());
                assert!(
                    claims.iter().filter(|event| hold(event)).count() >= wanted,
                    "{} counts as done and its hold was never opened",
                    step.id
                );
            }
            if *mark == Mark::Done {
                assert!(
                    !claims.is_empty(),
                    "{} counts as done and nobody said so",
                    step.id
                );
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_commands_keep_the_rules(
        (first, others) in work(),
        lid in procedure(),
        acts in proptest::collection::vec(act(), 1..120),
    ) {
        let mut run = Run::of(first.clone(), others.clone());
        let shelf = shelf(lid);
        run.lay_on_shelf(Arc::clone(&shelf));
        run.apply(&Event::Began);
        let mut history = vec![Event::Began];
        let mut now = Time::UNIX_EPOCH;
        for act in &acts {
            if let Act::Pass(seconds) = act {
                now += TimeDelta::seconds(*seconds);
            }
            let Some(order) = order(&run, act) else { continue };
            let before = run.clone();
            let Ok(events) = decide(&run, &order, now) else {
                prop_assert_eq!(&before, &run);
                continue;
            };
            for event in &events {
                run.apply(event);
                history.push(event.clone());
            }
            check_step(&before, &order, &events, &run);
            check_claims(&history, &run);
            check_results(&events, &run);
        }
        let mut replayed = Run::of(first, others);
        replayed.lay_on_shelf(shelf);
        history.iter().for_each(|event| replayed.apply(event));
        prop_assert_eq!(replayed, run);
    }

    /// Everything listed as sayable is carried out or answered by a question, never refused.
    #[test]
    fn what_may_be_said_is_accepted(
        (first, others) in work(),
        lid in procedure(),
        acts in proptest::collection::vec(act(), 1..60),
    ) {
        let mut run = Run::of(first, others);
        run.lay_on_shelf(shelf(lid));
        run.apply(&Event::Began);
        let mut now = Time::UNIX_EPOCH;
        for act in &acts {
            if let Act::Pass(seconds) = act {
                now += TimeDelta::seconds(*seconds);
            }
            for sayable in sayable::may_say(&run) {
                let order = Order { command: sayable.command.clone(), by: By::Voice };
                prop_assert!(decide(&run, &order, now).is_ok(), "{sayable:?} in {:?}", run.state());
            }
            let Some(order) = order(&run, act) else { continue };
            if let Ok(events) = decide(&run, &order, now) {
                events.iter().for_each(|event| run.apply(event));
            }
        }
    }
}
