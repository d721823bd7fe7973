//! Small procedures made at random, safe and unsafe ones, with everything that the rules know.

use benchcall::procedure::{Condition, Hold, Lasting, Phrase, Procedure, Step, StepId, Text, Wait};
use fastrand::Rng;

const CONDITIONS: [&str; 3] = ["axle off the ground", "pump open", "panel wet"];
const RESOURCES: [&str; 2] = ["crane", "compressor"];

pub fn text(words: &str) -> Text {
    Text::try_from(words.to_string()).unwrap()
}

pub fn id(words: &str) -> StepId {
    StepId::try_from(words.to_string()).unwrap()
}

pub fn hold() -> Hold {
    Hold {
        ask: text("Does the tyre carry the load?"),
        answer: Phrase::try_from("tyre carries load".to_string()).unwrap(),
    }
}

pub fn meanwhile() -> Wait {
    Wait {
        name: text("skin time"),
        lasts: Lasting::try_from("10 min".to_string()).unwrap(),
        meanwhile: true,
        called: None,
        at_most: None,
        too_late: None,
        warn_before: None,
        cure: None,
    }
}

pub fn job(called: &str, steps: Vec<Step>) -> Procedure {
    Procedure {
        called: Some(Phrase::try_from(called.to_string()).unwrap()),
        conditions: CONDITIONS.map(|name| Condition::from(text(name))).into(),
        resources: RESOURCES.map(text).into(),
        ..Procedure::new(
            text("A job"),
            text("Volunteers' fire engine (invented data)"),
            steps,
        )
    }
}

/// Returns the work that belongs to `seed`: one job of two to four steps, or two of two or three.
pub fn work(seed: u64) -> Vec<Procedure> {
    let mut rng = Rng::with_seed(seed);
    // What a whole piece of work is like: few or many holds, few or many rules.
    let held = [0.0, 0.3, 0.7][rng.usize(..3)];
    let ruled = [0.4, 0.6, 0.8][rng.usize(..3)];
    let two = rng.bool();
    let conditions = rng.usize(1..=CONDITIONS.len() - usize::from(two));
    let called = ["pump job", "cover job"];
    let jobs = called[..1 + usize::from(two)].iter().enumerate();
    let jobs = jobs.map(|(number, called)| {
        // A third step in the first of two jobs is rare: it multiplies the states.
        let third = number == 0 && rng.u8(..3) == 0;
        let steps = if two {
            2 + usize::from(third)
        } else {
            rng.usize(2..=4)
        };
        let steps = (0..steps).map(|number| step(&mut rng, number, steps, conditions, held, ruled));
        let mut steps: Vec<Step> = steps.collect();
        for (step, place) in steps.iter_mut().zip(["first", "second", "third", "fourth"]) {
            if let Some(wait) = &mut step.wait {
                wait.name = text(&format!("{place} wait of the {called}"));
                wait.called = Some(Phrase::try_from(format!("{called} {place} wait")).unwrap());
            }
        }
        job(called, steps)
    });
    jobs.collect()
}

fn step(
    rng: &mut Rng,
    number: usize,
    steps: usize,
    conditions: usize,
    held: f64,
    ruled: f64,
) -> Step {
    let ids = |range: std::ops::Range<usize>| range.map(|n| id(&format!("step-{n}")));
    let some = |rng: &mut Rng, chance: f64| -> Vec<Text> {
        let mut names = CONDITIONS[..conditions].to_vec();
        rng.shuffle(&mut names);
        let many = if rng.f64() >= chance {
            0
        } else {
            rng.usize(1..=2)
        };
        names.into_iter().take(many).map(text).collect()
    };
    let mut step = Step::new(id(&format!("step-{number}")), text("Do this."));
    step.sets = some(rng, ruled);
    step.clears = some(rng, ruled);
    step.clears.retain(|name| !step.sets.contains(name));
    step.forbidden_while = some(rng, ruled);
    step.needs = some(rng, ruled / 3.0);
    step.needs
        .retain(|name| !step.forbidden_while.contains(name));
    step.after = match rng.u8(..8) {
        0..5 => None,
        5..6 => Some(Vec::new()),
        _ => Some(ids(0..number).filter(|_| rng.bool()).collect()),
    };
    if rng.u8(..8) == 0 {
        step.before = ids(number + 1..steps).filter(|_| rng.bool()).collect();
    }
    if rng.u8(..4) == 0 {
        step.uses = vec![text(RESOURCES[rng.usize(..RESOURCES.len())])];
    }
    let decides = !step.sets.is_empty() || !step.clears.is_empty();
    if rng.f64() < if decides { held } else { 0.3 } {
        step.hold = Some(hold());
    } else if rng.u8(..4) == 0 {
        step.wait = Some(meanwhile());
    }
    step
}
