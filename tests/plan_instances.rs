//! The planner against what others solved: 270 published instances and 150 shaped like procedures.
//!
//! `tests/plan/plan_instances.py` says where both come from; the answers are OR-tools' (CP-SAT), every one
//! proved.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use benchcall::plan::{
    Activity, ActivityId, Because, Cure, Effort, Gives, Lag, Moment, Outcome, Part, Plan, Span,
    Tie, TieId, Work,
};

#[path = "plan/instance.rs"]
mod instance;

use instance::{Instance, MADE, PUBLISHED, instances, least_cure};

fn planned(work: &Work) -> Outcome {
    Plan::of(work, Effort::THOROUGH).unwrap()
}

/// Looks at a plan with nothing of the planner's own.
#[track_caller]
fn keeps_everything(work: &Work, plan: &Plan, name: &str) {
    let starts: Vec<u32> = (plan.starts.iter())
        .map(|start| start.since_beginning().in_seconds())
        .collect();
    let ends: Vec<u32> = (starts.iter().zip(&work.activities))
        .map(|(start, activity)| start + activity.lasts.in_seconds())
        .collect();
    let kept = |tie: &Tie| {
        let (from, to) = (starts[tie.from.0], starts[tie.to.0]);
        match tie.lag {
            Lag::AtLeast(span) => from + span.in_seconds() <= to,
            Lag::AtMost(span) => to <= from + span.in_seconds(),
            Lag::EndsWithin(span) => ends[tie.to.0] <= from + span.in_seconds(),
        }
    };
    for tie in &work.ties {
        assert!(kept(tie), "{name}: {tie:?}");
    }
    for choice in &work.choices {
        assert!(choice.either.iter().any(kept), "{name}: {choice:?}");
    }
    for (place, resource) in work.resources.iter().enumerate() {
        for &now in &starts {
            let running = (0..starts.len()).filter(|&at| starts[at] <= now && now < ends[at]);
            let used: u32 = running
                .flat_map(|at| &work.activities[at].uses)
                .filter(|(used, _)| used.0 == place)
                .map(|(_, units)| units)
                .sum();
            assert!(
                used <= resource.capacity,
                "{name}: {} at {now}",
                resource.name
            );
        }
    }
    let last = ends.iter().max().copied().unwrap_or(0);
    assert_eq!(
        last,
        plan.finish.since_beginning().in_seconds(),
        "{name}: finish"
    );
}

/// The critical chain begins at the start of the work, ends at its finish, and has no gap.
#[track_caller]
fn chain_holds(work: &Work, plan: &Plan, name: &str) {
    let start = |at: ActivityId| plan.starts[at.0];
    let lasts = |at: ActivityId| work.activities[at.0].lasts;
    let last = plan.chain.last().unwrap().activity;
    assert_eq!(start(last).plus(lasts(last)), plan.finish, "{name}");
    assert_eq!(start(plan.chain[0].activity), Moment::ZERO, "{name}");
    for pair in plan.chain.windows(2) {
        let (one, other) = (pair[0].activity, pair[1].activity);
        assert!(plan.critical(one) && plan.critical(other), "{name}");
        let tight = |tie: &Tie| match tie.lag {
            Lag::AtLeast(span) => start(one).plus(span) == start(other),
            Lag::AtMost(span) => start(other).plus(span) == start(one),
            Lag::EndsWithin(span) => start(other).plus(span) == start(one).plus(lasts(one)),
        };
        let tight = match pair[1].because {
            Because::Begins => false,
            Because::Occupied(_) => start(one).plus(lasts(one)) == start(other),
            Because::Tied(tie) => tight(&work.ties[tie.0]),
            Because::Chosen(choice) => work.choices[choice.0].either.iter().any(tight),
        };
        assert!(tight, "{name}: a gap in the chain: {pair:?}");
    }
}

#[track_caller]
fn check(instance: &Instance) {
    let (name, work) = (instance.name, &instance.work);
    match (planned(work), instance.least_finish) {
        (Outcome::Feasible(plan), Some(least)) => {
            keeps_everything(work, &plan, name);
            chain_holds(work, &plan, name);
            let minutes = plan.finish.since_beginning().in_seconds() / 60;
            assert_eq!(
                (minutes, plan.exact()),
                (least, true),
                "{name}: {}",
                plan.bound
            );
        }
        (Outcome::Infeasible(_), None) => {}
        (outcome, least) => panic!("{name}: {outcome:?}, but the least finish is {least:?}"),
    }
}

#[test]
fn every_published_verdict_and_optimum_is_reached() {
    let all = instances(PUBLISHED);
    assert_eq!(all.len(), 270);
    all.iter().for_each(check);
    let feasible = all.iter().filter(|each| each.least_finish.is_some());
    assert_eq!(feasible.count(), 187);
}

#[test]
fn every_instance_like_a_procedure_is_solved() {
    let all = instances(MADE);
    assert_eq!(all.len(), 150);
    all.iter().for_each(check);
}

/// The smallest cure by one window is the one that OR-tools finds, over all windows.
#[test]
fn the_smallest_cure_is_the_smallest_there_is() {
    let mut cured = 0;
    for instance in instances(PUBLISHED).iter().chain(&instances(MADE)) {
        let Outcome::Infeasible(clash) = planned(&instance.work) else {
            continue;
        };
        let ours = least_cure(&clash);
        assert_eq!(
            ours, instance.least_cure,
            "{}: {:?}",
            instance.name, clash.cures
        );
        cured += usize::from(ours.is_some());
    }
    assert!(cured >= 20, "only {cured} were cured by one window");
}

/// A work with what a clash names and nothing else.
fn only(work: &Work, parts: &[Part]) -> Work {
    let mut kept = work.clone();
    kept.ties.clear();
    kept.choices.clear();
    for activity in &mut kept.activities {
        activity.uses.clear();
    }
    for part in parts {
        match *part {
            Part::Tie(TieId(tie)) => {
                kept.tie(work.ties[tie].clone());
            }
            Part::Use(ActivityId(user), resource) => {
                let uses = &work.activities[user].uses;
                let found = uses.iter().find(|(used, _)| *used == resource).unwrap();
                kept.activities[user].uses.push(*found);
            }
            Part::Choice(choice) => kept.choices.push(work.choices[choice.0].clone()),
            Part::Started(_) | Part::Now(_) => panic!("nothing has started here"),
        }
    }
    kept
}

#[test]
fn a_clash_is_one_and_none_of_its_parts_is_too_many() {
    let mut seen = 0;
    let published = instances(PUBLISHED);
    for instance in published.iter().step_by(3).chain(&instances(MADE)) {
        let Outcome::Infeasible(clash) = planned(&instance.work) else {
            continue;
        };
        seen += 1;
        assert!(clash.smallest, "{}", instance.name);
        let core = only(&instance.work, &clash.parts);
        let outcome = planned(&core);
        assert!(
            matches!(outcome, Outcome::Infeasible(_)),
            "{}: {clash:?}",
            instance.name
        );
        for place in 0..clash.parts.len() {
            let mut fewer = clash.parts.clone();
            fewer.remove(place);
            let outcome = planned(&only(&instance.work, &fewer));
            assert!(
                matches!(outcome, Outcome::Feasible(_)),
                "{}: {:?}",
                instance.name,
                clash.parts[place]
            );
        }
        for cure in &clash.cures {
            let mut cured = instance.work.clone();
            match cure {
                Cure::Lengthen(each) => {
                    for &(tie, by) in each {
                        lengthen(&mut cured, tie, by);
                    }
                }
                Cure::More(resource, more) => cured.resources[resource.0].capacity += more,
            }
            let outcome = planned(&cured);
            assert!(
                matches!(outcome, Outcome::Feasible(_)),
                "{}: {cure:?}",
                instance.name
            );
        }
    }
    assert!(seen >= 40, "only {seen} were infeasible");
}

fn lengthen(work: &mut Work, tie: TieId, by: Span) {
    let tie = &mut work.ties[tie.0];
    match tie.lag {
        Lag::AtMost(span) => {
            tie.lag = Lag::AtMost(Span::seconds(span.in_seconds() + by.in_seconds()));
        }
        Lag::AtLeast(_) | Lag::EndsWithin(_) => panic!("only these windows are here"),
    }
}

/// An activity that starts later by all its slack does not make the finish later.
#[test]
fn slack_can_be_used_up() {
    let made = instances(MADE);
    let small = made.iter().filter(|each| each.work.activities.len() <= 20);
    for instance in small.step_by(6) {
        let Outcome::Feasible(plan) = planned(&instance.work) else {
            continue;
        };
        for place in 0..plan.starts.len() {
            let start = plan.starts[place].plus(plan.slack[place]);
            let mut work = instance.work.clone();
            let from = work.activity(Activity::step("begin", "job", Span::ZERO));
            work.tie(Tie {
                from,
                to: ActivityId(place),
                lag: Lag::AtLeast(start.since_beginning()),
                name: "later".into(),
                gives: Gives::Never,
            });
            let Outcome::Feasible(later) = planned(&work) else {
                panic!("{}: {place}", instance.name);
            };
            assert_eq!(later.finish, plan.finish, "{}: {place}", instance.name);
        }
    }
}

#[test]
fn the_same_work_gives_the_same_plan() {
    for instance in instances(MADE).iter().take(20) {
        assert_eq!(planned(&instance.work), planned(&instance.work));
    }
}
