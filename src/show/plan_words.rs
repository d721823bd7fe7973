//! When all will be finished, worked out anew from what has really happened: as shown and as spoken. Pure.

use crate::clock::Hours;
use crate::plan::{self, Bars, Dial, Draft, Effort, Kind, Outcome, Plan, TimeOfDay};
use crate::run::{Run, Time};
use chrono::Timelike;

use super::view::{ListView, PlanBar, PlanView};
use super::words::clock;

/// Characters of a step's words, so that they can be read from afar.
const WORDS: usize = 36;
/// The least distance of two hours on the axis, as a share of its width.
const APART: f64 = 0.17;

/// Returns the plan as shown: when all is finished, what comes first, and the picture.
pub fn shown(run: &Run, now: Time, hours: &Hours) -> ListView {
    match planned(run, now) {
        Ok((draft, plan)) => {
            let first = draft.by_start(&plan).first().copied();
            let first = first.and_then(|first| line(run, &draft, &plan, first, now, hours));
            let first = first.unwrap_or_else(|| "Only what has begun is left.".into());
            ListView {
                title: finish(&draft, &plan, now, hours),
                lines: vec![first],
                marked: None,
                plan: Some(picture(run, &draft, &plan, now, hours)),
            }
        }
        Err(why) => ListView {
            title: "Plan".into(),
            lines: why,
            ..ListView::default()
        },
    }
}

/// Lays the plan out, a row a job that has something left.
fn picture(run: &Run, draft: &Draft, plan: &Plan, now: Time, hours: &Hours) -> PlanView {
    let begins = hours.shown(draft.begins.unwrap_or(now));
    let dial = Dial {
        begins: TimeOfDay::new(begins.hour(), begins.minute()),
    };
    let bars = Bars::of(draft, plan, dial, APART);
    let left = |job: &usize| bars.bars.iter().any(|bar| bar.job == *job);
    let jobs: Vec<usize> = (0..run.procedures().len()).filter(left).collect();
    let name = |procedure: &crate::procedure::Procedure| match &procedure.called {
        Some(called) => called.to_string(),
        None => procedure.title.to_string(),
    };
    let procedures: Vec<_> = run.procedures().collect();
    let drawn = bars.bars.iter().map(|bar| PlanBar {
        row: jobs
            .iter()
            .position(|job| *job == bar.job)
            .unwrap_or_default(),
        from: bar.from as f32,
        to: bar.to as f32,
        latest: bar.latest as f32,
        critical: bar.critical,
        wait: bar.kind == Kind::Wait,
    });
    let hour =
        |(at, moment): &(f64, plan::Moment)| (*at as f32, clock(time(draft, *moment, now), hours));
    PlanView {
        names: jobs.iter().map(|job| name(procedures[*job])).collect(),
        bars: drawn.collect(),
        marks: bars.marks.iter().map(hour).collect(),
        now: bars.now as f32,
    }
}

/// Returns the same for the ear: when all is finished, and what brings that forward.
pub fn spoken(run: &Run, now: Time, hours: &Hours) -> String {
    match planned(run, now) {
        Ok((draft, plan)) => {
            let mut said = finish(&draft, &plan, now, hours);
            if let Some(&(job, step)) = draft.by_start(&plan).first() {
                let procedure = run.procedures().nth(job);
                if let Some(step) = procedure.and_then(|p| p.steps.get(step)) {
                    said.push_str(&format!(" To be done first: {}", step.say));
                }
            }
            said
        }
        Err(why) => why.join(" "),
    }
}

fn planned(run: &Run, now: Time) -> Result<(Draft, Plan), Vec<String>> {
    let draft = Draft::of_run(run, None, now);
    match Plan::of(&draft.work, Effort::USUAL) {
        Ok(Outcome::Feasible(plan)) => Ok((draft, plan)),
        Ok(Outcome::Infeasible(clash)) => {
            let mut why = vec!["There is no plan that keeps all of this:".to_string()];
            why.extend(plan::demands(&draft.work, &clash));
            why.extend(plan::cures(&draft.work, &clash));
            Err(why)
        }
        Ok(Outcome::Undecided { .. }) => Err(vec!["No plan was found.".into()]),
        Err(error) => Err(vec![format!("This cannot be planned: {error}.")]),
    }
}

fn finish(draft: &Draft, plan: &Plan, now: Time, hours: &Hours) -> String {
    let about = if draft.places.iter().any(|place| place.assumed) {
        "At about"
    } else {
        "At"
    };
    let at = time(draft, plan.finish, now);
    let bound = if plan.exact() { "" } else { ", perhaps sooner" };
    let day = match hours.shown(at).date_naive() == hours.shown(now).date_naive() {
        true => String::new(),
        false => hours.shown(at).format("%A, ").to_string(),
    };
    format!("{about} {day}{} all is finished{bound}.", clock(at, hours))
}

fn line(
    run: &Run,
    draft: &Draft,
    plan: &Plan,
    (job, step): (usize, usize),
    now: Time,
    hours: &Hours,
) -> Option<String> {
    let place = |place: &plan::Place| (place.job, place.step) == (job, step);
    let at = draft.places.iter().position(place)?;
    let step = run.procedures().nth(job)?.steps.get(step)?;
    let start = clock(time(draft, plan.starts[at], now), hours);
    let words = plan::shortened(step.say.as_str(), WORDS);
    Some(format!("{start} {words}"))
}

fn time(draft: &Draft, moment: plan::Moment, now: Time) -> Time {
    let begins = draft.begins.unwrap_or(now);
    begins + chrono::TimeDelta::seconds(i64::from(moment.since_beginning().in_seconds()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::procedure::{Lasting, Procedure, Step, StepId, Text, Wait};
    use crate::run::Event;

    fn text(words: &str) -> Text {
        Text::try_from(words.to_string()).unwrap()
    }

    fn minutes(count: u32) -> Lasting {
        Lasting::try_from(format!("{count} min")).unwrap()
    }

    /// A step of ten minutes, a wait of thirty, a step of ten.
    fn run() -> Run {
        let step = |id: &str| Step {
            usual: Some(minutes(10)),
            ..Step::new(
                StepId::try_from(id.to_string()).unwrap(),
                text(&format!("Do {id}.")),
            )
        };
        let first = Step {
            wait: Some(Wait::new(text("skin time"), minutes(30))),
            ..step("first")
        };
        let subject = text("Volunteers' fire engine (invented data)");
        let mut run = Run::new(Procedure::new(
            text("Pump"),
            subject,
            vec![first, step("second")],
        ));
        run.apply(&Event::Began);
        run
    }

    #[test]
    fn the_finish_is_told_by_the_clock() {
        let hours = Hours::find(Time::UNIX_EPOCH, |_| {
            chrono::FixedOffset::east_opt(0).unwrap()
        });
        let shown = shown(&run(), Time::UNIX_EPOCH, &hours);
        assert_eq!(shown.title, "At 00:50 all is finished.");
        assert_eq!(shown.lines, ["00:00 Do first."]);
        let plan = shown.plan.unwrap();
        assert_eq!((plan.names, plan.now), (vec!["Pump".to_string()], 0.0));
        let bars: Vec<_> = plan
            .bars
            .iter()
            .map(|bar| (bar.wait, bar.critical, bar.row))
            .collect();
        assert_eq!(bars, [(false, true, 0), (true, true, 0), (false, true, 0)]);
        let joined = plan.bars.windows(2).all(|pair| pair[0].to == pair[1].from);
        assert!(joined && plan.bars[2].to == 1.0, "{:?}", plan.bars);
        let spoken = spoken(&run(), Time::UNIX_EPOCH, &hours);
        assert_eq!(
            spoken,
            "At 00:50 all is finished. To be done first: Do first."
        );
    }
}
