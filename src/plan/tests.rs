//! What a plan must do, on works small enough to look through every possibility.

use proptest::prelude::*;

use super::*;

fn step(name: &str, minutes: u32) -> Activity {
    Activity::step(name, "job", Span::minutes(minutes))
}

fn at(minutes: u32) -> Moment {
    Moment::after(Span::minutes(minutes))
}

fn window(from: ActivityId, to: ActivityId, minutes: u32) -> Tie {
    Tie {
        from,
        to,
        lag: Lag::AtMost(Span::minutes(minutes)),
        name: "recoat window".into(),
        gives: Gives::Longer,
    }
}

#[track_caller]
fn feasible(work: &Work) -> Plan {
    match Plan::of(work, Effort::USUAL).unwrap() {
        Outcome::Feasible(plan) => plan,
        other => panic!("{other:?}"),
    }
}

#[track_caller]
fn infeasible(work: &Work) -> Clash {
    match Plan::of(work, Effort::USUAL).unwrap() {
        Outcome::Infeasible(clash) => clash,
        other => panic!("{other:?}"),
    }
}

#[test]
fn nothing_to_do_is_finished_now() {
    let work = Work {
        now: at(5),
        ..Work::default()
    };
    let plan = feasible(&work);
    assert_eq!((plan.finish, plan.exact()), (at(5), true));
    assert!(plan.chain.is_empty());
}

#[test]
fn other_work_is_put_into_a_wait() {
    let mut work = Work::default();
    let people = work.resource("people", 1);
    let prime = work.activity(step("prime", 10).using(people, 1));
    let flash = work.activity(Activity::wait("flash", "job", Span::minutes(30)));
    let colour = work.activity(step("colour", 10).using(people, 1));
    let wheel = work.activity(step("wheel", 25).using(people, 1));
    work.after(prime, flash, "").unwrap();
    work.after(flash, colour, "").unwrap();
    let plan = feasible(&work);
    assert_eq!((plan.finish, plan.exact()), (at(50), true));
    assert_eq!(plan.start(wheel), Some(at(10)));
    assert_eq!(plan.slack[wheel.0], Span::minutes(5));
    let chain: Vec<usize> = plan.chain.iter().map(|link| link.activity.0).collect();
    assert_eq!(chain, [prime.0, flash.0, colour.0]);
}

/// Two jobs that could be done step by step in turn are done one after the other.
#[test]
fn nobody_goes_to_and_fro_without_need() {
    let mut work = Work::default();
    let people = work.resource("people", 1);
    for job in ["one", "other", "third"] {
        let steps: Vec<ActivityId> = (0..6)
            .map(|_| {
                let step = Activity::step("step", job, Span::minutes(10));
                work.activity(step.using(people, 1))
            })
            .collect();
        for pair in steps.windows(2) {
            work.after(pair[0], pair[1], "").unwrap();
        }
    }
    let plan = feasible(&work);
    assert_eq!((plan.finish, plan.exact()), (at(180), true));
    let mut order: Vec<usize> = (0..work.activities.len()).collect();
    order.sort_by_key(|&at| plan.starts[at]);
    let changes = order
        .windows(2)
        .filter(|pair| work.activities[pair[0]].job != work.activities[pair[1]].job);
    assert_eq!(changes.count(), 2);
}

#[test]
fn what_has_started_stays_and_the_rest_comes_after_now() {
    let mut work = Work {
        now: at(12),
        ..Work::default()
    };
    let people = work.resource("people", 1);
    let running = work.activity(Activity {
        started: Some(at(10)),
        ..step("running", 20).using(people, 1)
    });
    let next = work.activity(step("next", 5).using(people, 1));
    let free = work.activity(step("free", 5));
    let plan = feasible(&work);
    assert_eq!(plan.start(running), Some(at(10)));
    assert_eq!(plan.start(next), Some(at(30)));
    assert_eq!(plan.start(free), Some(at(12)));
}

/// A helper came by and has gone again: two steps were done at once by one person's count.
#[test]
fn what_has_happened_is_not_argued_with() {
    let mut work = Work {
        now: at(10),
        ..Work::default()
    };
    let people = work.resource("people", 1);
    let started = |name: &str, from: u32, lasts: u32| Activity {
        started: Some(at(from)),
        ..step(name, lasts).using(people, 1)
    };
    let one = work.activity(started("one", 0, 20));
    let other = work.activity(started("other", 5, 20));
    let next = work.activity(step("next", 5).using(people, 1));
    // They were done in the wrong order, too.
    work.after(other, one, "").unwrap();
    let plan = feasible(&work);
    assert_eq!(plan.start(next), Some(at(25)));
    assert_eq!((plan.finish, plan.exact()), (at(30), true));
}

#[test]
fn a_window_that_has_passed_clashes_with_now() {
    let mut work = Work {
        now: at(100),
        ..Work::default()
    };
    let primed = work.activity(Activity {
        started: Some(at(0)),
        ..Activity::wait("flash", "job", Span::minutes(30))
    });
    let colour = work.activity(step("colour", 10));
    let tie = work.tie(window(primed, colour, 60));
    let clash = infeasible(&work);
    assert!(clash.parts.contains(&Part::Tie(tie)) && clash.parts.contains(&Part::Now(colour)));
    assert_eq!(
        clash.cures,
        [Cure::Lengthen(vec![(tie, Span::minutes(40))])]
    );
    let words = cures(&work, &clash);
    assert_eq!(
        words,
        ["Allow 40 min more, 1 h 40 min in all, where recoat window"]
    );
}

#[test]
fn a_clash_of_window_and_people_has_both_cures() {
    let mut work = Work::default();
    let people = work.resource("people", 1);
    let one = work.activity(step("one", 30).using(people, 1));
    let other = work.activity(step("other", 30).using(people, 1));
    work.activity(step("beside", 500).using(people, 1));
    let near = work.tie(window(one, other, 20));
    let back = work.tie(window(other, one, 15));
    let clash = infeasible(&work);
    let parts = vec![
        Part::Tie(near),
        Part::Tie(back),
        Part::Use(one, people),
        Part::Use(other, people),
    ];
    assert_eq!(clash.parts, parts);
    assert_eq!(
        clash.cures,
        [
            Cure::Lengthen(vec![(near, Span::minutes(10))]),
            Cure::Lengthen(vec![(back, Span::minutes(15))]),
            Cure::More(people, 1),
        ]
    );
}

#[test]
fn a_step_for_more_people_than_there_are_says_so() {
    let mut work = Work::default();
    let people = work.resource("people", 1);
    let lift = work.activity(step("lift", 5).using(people, 3));
    let clash = infeasible(&work);
    assert_eq!(clash.parts, [Part::Use(lift, people)]);
    assert_eq!(clash.cures, [Cure::More(people, 2)]);
    assert_eq!(cures(&work, &clash), ["Have 3 people instead of 1"]);
}

#[test]
fn without_effort_there_is_still_a_true_bound() {
    let mut work = Work::default();
    let people = work.resource("people", 1);
    for name in ["one", "two", "three"] {
        work.activity(step(name, 10).using(people, 1));
    }
    match Plan::of(&work, Effort(0)).unwrap() {
        Outcome::Undecided { bound } => assert!(bound <= at(30)),
        Outcome::Feasible(plan) => assert!(plan.bound <= at(30)),
        Outcome::Infeasible(clash) => panic!("{clash:?}"),
    }
}

#[test]
fn a_work_that_is_put_together_wrong_is_refused() {
    let mut work = Work::default();
    let one = work.activity(step("one", 10));
    work.tie(window(one, ActivityId(7), 5));
    let refused = Plan::of(&work, Effort::USUAL);
    assert!(matches!(refused, Err(WorkError::NoSuchActivity(_))));

    let mut work = Work::default();
    work.activity(step("one", 10).using(ResourceId(0), 1));
    let refused = Plan::of(&work, Effort::USUAL);
    assert!(matches!(refused, Err(WorkError::NoSuchResource(_))));
}

#[test]
fn every_text_is_fit_for_the_picture() {
    let mut work = Work::default();
    work.activity(step("<b> & \"q\" 'a' \u{7}\u{1b}[31m", 10));
    work.activities[0].job = "A < B & C".into();
    let plan = feasible(&work);
    let picture = svg(&work, &plan, Dial::default(), "x</title><script>");
    for wrong in ["<b>", "<script>", "\u{7}", "\u{1b}", "& "] {
        assert!(!picture.contains(wrong), "{wrong:?}");
    }
    assert!(picture.contains("&lt;b&gt; &amp; &quot;q&quot;"));
    assert!(picture.contains("A &lt; B &amp; C"));
}

/// A night in which nobody does anything must not press everything else together.
#[test]
fn long_idle_stretches_are_drawn_short() {
    let mut work = Work::default();
    let one = work.activity(step("one", 20));
    let cure = work.activity(Activity::wait("cure", "job", Span::minutes(720)));
    let other = work.activity(step("other", 20));
    work.after(one, cure, "").unwrap();
    work.after(cure, other, "").unwrap();
    let plan = feasible(&work);
    let ruler = ruler::Ruler::of(&work, &plan);
    let long = ruler.place(at(740)) - ruler.place(at(20));
    assert!(long < 0.1, "{long}");
    assert!(ruler.place(at(20)) > 0.4);
    let lines = lines(&work, &plan, Dial::default(), 80);
    assert!(
        lines.iter().all(|line| line.chars().count() <= 80),
        "{lines:?}"
    );
    assert!(lines.iter().any(|line| line.starts_with("12 h from +0:20")));
}

/// The latest time by which the small works below can be finished, in their own minutes.
const HORIZON: u32 = 19;

fn small_work() -> impl Strategy<Value = Work> {
    let activity = (1_u32..4, 0_u32..3, prop::option::weighted(0.2, 0_u32..4));
    let activities = prop::collection::vec(activity, 1..5);
    let tie = (0_usize..4, 0_usize..4, 0_u32..5, 0_u8..3);
    let ties = prop::collection::vec(tie.clone(), 0..5);
    let choices = prop::collection::vec((tie.clone(), tie), 0..2);
    (activities, ties, choices, 0_u32..3, 1_u32..3).prop_map(
        |(activities, ties, choices, now, capacity)| {
            let mut work = Work {
                now: at(now),
                ..Work::default()
            };
            let people = work.resource("people", capacity);
            for (lasts, units, started) in &activities {
                work.activity(Activity {
                    started: started.map(at).filter(|start| *start <= work.now),
                    ..step("step", *lasts).using(people, *units)
                });
            }
            let tie = |(from, to, lag, kind): (usize, usize, u32, u8)| {
                let span = Span::minutes(lag);
                Tie {
                    from: ActivityId(from % activities.len()),
                    to: ActivityId(to % activities.len()),
                    lag: match kind {
                        0 => Lag::AtLeast(span),
                        1 => Lag::AtMost(span),
                        _ => Lag::EndsWithin(span),
                    },
                    name: "tie".into(),
                    gives: Gives::Longer,
                }
            };
            work.ties = ties.into_iter().map(tie).collect();
            work.choices = choices
                .into_iter()
                .map(|(one, other)| Choice {
                    either: [tie(one), tie(other)],
                    name: "choice".into(),
                })
                .collect();
            work
        },
    )
}

fn keeps(work: &Work, starts: &[Moment]) -> bool {
    let happened = |of: &ActivityId| work.activities[of.0].started.is_some();
    let kept = |tie: &Tie| {
        let (from, to) = (starts[tie.from.0], starts[tie.to.0]);
        match tie.lag {
            Lag::AtLeast(span) => from.plus(span) <= to,
            Lag::AtMost(span) => to <= from.plus(span),
            Lag::EndsWithin(span) => to.plus(work.activities[tie.to.0].lasts) <= from.plus(span),
        }
    };
    let over = |tie: &Tie| happened(&tie.from) && happened(&tie.to);
    let ties = work.ties.iter().all(|tie| over(tie) || kept(tie));
    let choices = work
        .choices
        .iter()
        .all(|choice| choice.either.iter().all(over) || choice.either.iter().any(kept));
    let end = |of: usize| starts[of].plus(work.activities[of].lasts);
    let units = |of: usize| work.activities[of].units_of(ResourceId(0));
    let capacity = work.resources[0].capacity;
    let crowded = starts.iter().any(|&now| {
        let running = (0..starts.len()).filter(|&of| starts[of] <= now && now < end(of));
        let running: Vec<usize> = running.filter(|&of| units(of) > 0).collect();
        let new = running
            .iter()
            .any(|&of| work.activities[of].started.is_none());
        new && running.iter().map(|&of| units(of)).sum::<u32>() > capacity
    });
    ties && choices && !crowded
}

/// Returns the earliest finish, by trying every start.
fn tried(work: &Work) -> Option<Moment> {
    let mut least = None;
    let mut starts: Vec<Moment> = vec![Moment::ZERO; work.activities.len()];
    try_from(work, 0, &mut starts, &mut least);
    least
}

fn try_from(work: &Work, place: usize, starts: &mut Vec<Moment>, least: &mut Option<Moment>) {
    let Some(activity) = work.activities.get(place) else {
        if keeps(work, starts) {
            let ends = starts.iter().zip(&work.activities);
            let finish = ends
                .map(|(start, activity)| start.plus(activity.lasts))
                .fold(work.now, Moment::max);
            *least = Some(least.map_or(finish, |known| known.min(finish)));
        }
        return;
    };
    let now = work.now.since_beginning().in_seconds() / 60;
    let range = match activity.started {
        Some(start) => {
            let start = start.since_beginning().in_seconds() / 60;
            start..start + 1
        }
        None => now..HORIZON,
    };
    for minute in range {
        starts[place] = at(minute);
        try_from(work, place + 1, starts, least);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Whatever is asked, what has happened included: the plan is the best there is, its starts can be
    /// as late as its slack says, and what is refused cannot be done.
    #[test]
    fn no_small_work_has_a_better_plan(work in small_work()) {
        let best = tried(&work);
        match Plan::of(&work, Effort::USUAL).unwrap() {
            Outcome::Feasible(plan) => {
                prop_assert!(keeps(&work, &plan.starts), "{:?}", plan);
                prop_assert!(plan.exact());
                prop_assert_eq!(Some(plan.finish), best);
                for place in 0..plan.starts.len() {
                    let mut later = work.clone();
                    if later.activities[place].started.is_none() {
                        later.activities[place].started =
                            Some(plan.starts[place].plus(plan.slack[place]));
                        // What is given is not argued with, so its ties are looked at here.
                        let latest = tried(&later);
                        prop_assert!(latest <= Some(plan.finish) && latest.is_some());
                    }
                }
            }
            Outcome::Infeasible(clash) => {
                prop_assert_eq!(best, None);
                for cure in &clash.cures {
                    let mut cured = work.clone();
                    match cure {
                        Cure::Lengthen(each) => {
                            for &(tie, by) in each {
                                let longer = |span: Span| Span::held(span.whole() + by.whole());
                                let lag = &mut cured.ties[tie.0].lag;
                                *lag = match *lag {
                                    Lag::AtLeast(span) => Lag::AtLeast(span),
                                    Lag::AtMost(span) => Lag::AtMost(longer(span)),
                                    Lag::EndsWithin(span) => Lag::EndsWithin(longer(span)),
                                };
                            }
                        }
                        Cure::More(_, more) => cured.resources[0].capacity += more,
                    }
                    let cured = Plan::of(&cured, Effort::USUAL).unwrap();
                    prop_assert!(matches!(cured, Outcome::Feasible(_)), "{:?}", cure);
                }
            }
            Outcome::Undecided { .. } => prop_assert!(false, "small enough to be decided"),
        }
    }
}
