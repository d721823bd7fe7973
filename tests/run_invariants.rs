//! Random commands over random procedures keep the rules of the run after every single one, and
//! replaying the events always gives the same state.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use benchcall::procedure::{
    BoltCount, BoltOrder, Fasten, Gather, Hold, Lasting, Pass, Phrase, Procedure, Reading, Share,
    Step, StepId, StepKind, Text, Wait,
};
use benchcall::run::{
    By, Claim, Command, Event, Figure, Mark, Mode, Order, Run, SkipReason, Time, Truth, decide,
    sayable,
};
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
            bolts: BoltCount::try_from(bolts).unwrap(),
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
            threads: Default::default(),
            called: Default::default(),
        },
    )
}

fn reading() -> impl Strategy<Value = Reading> {
    Just(Reading {
        name: text("nut one"),
        unit: text("N·m"),
        low: 105.0,
        high: 115.0,
        digits: 3,
        decimals: 0,
    })
}

fn wait() -> impl Strategy<Value = Wait> {
    any::<bool>().prop_map(|meanwhile| Wait {
        name: text("skin time"),
        lasts: Lasting::try_from("10 min".to_string()).unwrap(),
        meanwhile,
    })
}

fn hold() -> impl Strategy<Value = Hold> {
    Just(Hold {
        ask: text("Does the tyre carry the load?"),
        answer: Phrase::try_from("tyre carries load".to_string()).unwrap(),
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
        proptest::collection::vec(reading(), 0..2),
        proptest::option::weighted(0.3, wait()),
        proptest::option::weighted(0.3, hold()),
        any::<bool>(),
        proptest::option::weighted(0.3, 0..number.max(1)),
    );
    (rules, work).prop_map(move |((needs, forbids, sets, clears), work)| {
        let (fasten, readings, wait, hold, know, after) = work;
        Step {
            id: StepId::try_from(format!("step-{number}")).unwrap(),
            say: text("Do this."),
            more: None,
            kind: if know { StepKind::Know } else { StepKind::Work },
            cautions: Vec::new(),
            after: after
                .filter(|_| number > 0)
                .map(|earlier| StepId::try_from(format!("step-{earlier}")).unwrap())
                .into_iter()
                .collect(),
            // Few steps need a condition, or hardly any job would get far.
            needs: if number % 4 == 3 { needs } else { Vec::new() },
            forbidden_while: if number % 2 == 1 { forbids } else { Vec::new() },
            sets,
            clears,
            fasten,
            readings,
            wait,
            hold,
        }
    })
}

fn procedure() -> impl Strategy<Value = Procedure> {
    (1usize..6).prop_flat_map(|steps| {
        let steps: Vec<_> = (0..steps).map(step).collect();
        steps.prop_map(|steps| Procedure {
            title: text("A job"),
            subject: text("Volunteers' fire engine (invented data)"),
            conditions: conditions(),
            cautions: Vec::new(),
            gather: Gather::default(),
            steps,
            follow_ups: Vec::new(),
            call_sign: false,
        })
    })
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
}

fn command() -> impl Strategy<Value = Command> {
    let mut all: Vec<Command> = sayable::standard().into_iter().map(|(_, c)| c).collect();
    all.extend([
        Command::OpenHold,
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
        3 => (100u32..120).prop_map(Act::Report),
        2 => (0i64..700).prop_map(Act::Pass),
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
            command: Command::Reading(figure.to_string().parse().unwrap()),
            by: By::Voice,
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
                    before.state().truths[condition],
                    Truth::Clear,
                    "{event:?} is forbidden"
                );
            }
            for condition in &called.needs {
                assert_eq!(
                    before.state().truths[condition],
                    Truth::Set,
                    "{event:?} lacks"
                );
            }
            for earlier in &called.after {
                let at = before
                    .procedure()
                    .steps
                    .iter()
                    .position(|s| s.id == *earlier)
                    .unwrap();
                assert_ne!(before.state().marks[at], Mark::Open);
                let waits = &before.state().waits;
                assert!(
                    waits
                        .iter()
                        .all(|w| w.step != *earlier || w.ended.is_some())
                );
            }
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
            let skipped = before
                .procedure()
                .steps
                .iter()
                .find(|s| s.id == *step)
                .unwrap();
            assert!(skipped.hold.is_none(), "a hold is never skipped");
        }
    }
    if before.state().mode != Mode::Working {
        let moved = before.state().step != after.state().step;
        assert!(!moved, "nothing counts while the work stands: {order:?}");
    }
    let state = after.state();
    let steps = after.procedure().steps.len();
    assert!(state.step <= steps);
    for (at, mark) in state.marks.iter().enumerate() {
        assert_eq!(
            *mark == Mark::Open,
            at >= state.step,
            "marks follow the called step"
        );
    }
    if let Some(step) = after.step() {
        assert!(state.part < step.requirements().len());
        assert!(state.tightened < step.fasten.as_ref().map_or(1, |fasten| fasten.turns()));
    }
    if state.finished {
        assert_eq!(state.step, steps);
        assert!(state.waits.iter().all(|wait| wait.ended.is_some()));
    }
}

/// Each step marked done was claimed part by part after it was called last.
fn check_claims(history: &[Event], run: &Run) {
    let mut claims: Vec<Vec<Event>> = vec![Vec::new(); run.procedure().steps.len()];
    let mut undo: Vec<Vec<Vec<Event>>> = Vec::new();
    for event in history {
        if event.can_be_taken_back() {
            undo.push(claims.clone());
        }
        let at = |id: &StepId| {
            run.procedure()
                .steps
                .iter()
                .position(|s| s.id == *id)
                .unwrap()
        };
        match event {
            Event::Claimed { step, .. }
            | Event::ReadingTaken { step, .. }
            | Event::DeviationAccepted { step, .. }
            | Event::WaitBegan { step, .. } => claims[at(step)].push(event.clone()),
            Event::WentBack { to, .. } => {
                let from = at(to) + 1;
                claims.iter_mut().skip(from).for_each(Vec::clear);
            }
            Event::TakenBack => claims = undo.pop().unwrap(),
            _ => {}
        }
    }
    for (at, mark) in run.state().marks.iter().enumerate() {
        let step = &run.procedure().steps[at];
        if *mark == Mark::Done && step.hold.is_some() {
            let opened = claims[at].iter().any(|event| {
                matches!(
                    event,
                    Event::Claimed {
                        claim: Claim::Hold { .. },
                        ..
                    }
                )
            });
            assert!(
                opened,
                "{} counts as done and its hold was never opened",
                step.id
            );
        }
        if *mark == Mark::Done {
            assert!(
                !claims[at].is_empty(),
                "{} counts as done and nobody said so",
                step.id
            );
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_commands_keep_the_rules(
        procedure in procedure(),
        acts in proptest::collection::vec(act(), 1..120),
    ) {
        let mut run = Run::new(procedure.clone());
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
        }
        let mut replayed = Run::new(procedure);
        history.iter().for_each(|event| replayed.apply(event));
        prop_assert_eq!(replayed, run);
    }

    /// Everything listed as sayable is carried out or answered by a question, never refused.
    #[test]
    fn what_may_be_said_is_accepted(
        procedure in procedure(),
        acts in proptest::collection::vec(act(), 1..60),
    ) {
        let mut run = Run::new(procedure);
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
