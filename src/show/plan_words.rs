//! When all will be finished, worked out anew from what has really happened: as shown and as spoken. Pure.

use crate::clock::Hours;
use crate::plan::{self, Draft, Effort, Outcome, Plan};
use crate::run::{Run, Time};

use super::words::clock;

/// The most steps that the list holds, so that they can be read from afar.
const MOST: usize = 5;
/// Characters of a step's words in it.
const WORDS: usize = 48;

/// Returns what is still to be done, a line each, the finish first.
pub fn lines(run: &Run, now: Time, hours: &Hours) -> Vec<String> {
    match planned(run, now) {
        Ok((draft, plan)) => {
            let mut lines = vec![finish(&draft, &plan, now, hours)];
            for (job, step) in draft.by_start(&plan).into_iter().take(MOST) {
                lines.extend(line(run, &draft, &plan, (job, step), now, hours));
            }
            lines
        }
        Err(why) => why,
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
    let may_wait = match plan.slack[at] {
        plan::Span::ZERO => String::new(),
        slack => format!(" (may wait {slack})"),
    };
    Some(format!("{start} {words}{may_wait}"))
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
        let lines = lines(&run(), Time::UNIX_EPOCH, &hours);
        assert_eq!(lines[0], "At 00:50 all is finished.");
        assert_eq!(lines[1], "00:00 Do first.");
        assert_eq!(lines[2], "00:40 Do second.");
        let spoken = spoken(&run(), Time::UNIX_EPOCH, &hours);
        assert_eq!(
            spoken,
            "At 00:50 all is finished. To be done first: Do first."
        );
    }
}
