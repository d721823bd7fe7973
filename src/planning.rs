//! `benchcall plan`: when every step of one or several procedures starts, and when all is finished.

use std::fmt::Write;
use std::io::IsTerminal;
use std::process::ExitCode;

use serde::Serialize;

use crate::command_line::PlanArgs;
use crate::complaint::Complaint;
use crate::plan::{
    self, ActivityId, Because, Clash, Dial, Draft, Effort, Kind, Outcome, Plan, Work,
};
use crate::procedure::Procedure;

/// The columns of the picture where the output is no terminal.
const COLUMNS: usize = 100;
/// Characters of a step's words in the table.
const WORDS: usize = 60;

/// Plans procedures that are open together.
///
/// # Errors
/// What cannot be planned, or a file that cannot be written.
pub fn plan(procedures: &[&Procedure], args: &PlanArgs) -> Result<ExitCode, Complaint> {
    let draft = Draft::of(procedures, args.people);
    let outcome = Plan::of(&draft.work, Effort::THOROUGH)
        .map_err(|error| Complaint::input(error.to_string()))?;
    let dial = Dial { begins: args.start };
    match &outcome {
        Outcome::Feasible(plan) => {
            if let Some(path) = &args.svg {
                let title = titles(procedures);
                let picture = plan::svg(&draft.work, plan, dial, &title);
                std::fs::write(path, picture)
                    .map_err(|error| Complaint::file("Cannot write the picture", path, &error))?;
            }
            if args.json {
                println!("{}", json(&draft, procedures, Ok(plan))?);
            } else {
                print!("{}", table(&draft, plan, dial));
            }
            Ok(ExitCode::SUCCESS)
        }
        Outcome::Infeasible(clash) => {
            if args.json {
                println!("{}", json(&draft, procedures, Err(clash))?);
                return Ok(ExitCode::from(1));
            }
            Err(complaint(&draft.work, clash))
        }
        Outcome::Undecided { bound } => Err(Complaint::input(
            "No plan was found within the effort that is made, and none was proved impossible",
        )
        .because(format!("nothing finishes before {}", dial.words(*bound)))
        .cure("Plan fewer procedures at once, or allow longer windows (`at_most`)")),
    }
}

fn titles(procedures: &[&Procedure]) -> String {
    let titles: Vec<&str> = procedures.iter().map(|one| one.title.as_str()).collect();
    titles.join(" · ")
}

fn complaint(work: &Work, clash: &Clash) -> Complaint {
    let mut complaint = Complaint::input("There is no such plan: these cannot all be kept");
    for demand in plan::demands(work, clash) {
        complaint = complaint.because(demand);
    }
    if !clash.smallest {
        complaint = complaint.because("some of these may not be needed for the clash");
    }
    let cures = plan::cures(work, clash);
    match cures.is_empty() {
        false => complaint.cure(cures.join("; or: ")),
        true => complaint.cure("Take one of these out: no longer window and nobody more cures it"),
    }
}

fn table(draft: &Draft, plan: &Plan, dial: Dial) -> String {
    let work = &draft.work;
    let mut out = String::new();
    let mut order: Vec<usize> = (0..work.activities.len()).collect();
    order.sort_by_key(|&at| (plan.starts[at], at));
    let column = |at: usize| {
        dial.words(plan.starts[at].plus(work.activities[at].lasts))
            .len()
    };
    let wide = order.iter().map(|&at| column(at)).max().unwrap_or(0).max(6);
    let mut jobs: Vec<&str> = Vec::new();
    for activity in &work.activities {
        if !jobs.contains(&activity.job.as_str()) {
            jobs.push(&activity.job);
        }
    }
    let several = jobs.len() > 1;
    for (number, job) in jobs.iter().enumerate().filter(|_| several) {
        let _ = writeln!(out, "{}: {job}", number + 1);
    }
    let head = if several { "job  step" } else { "step" };
    let _ = writeln!(
        out,
        "{:<wide$}  {:<wide$}  {:<11}  {head}",
        "start", "end", "slack"
    );
    for &at in &order {
        let activity = &work.activities[at];
        let end = plan.starts[at].plus(activity.lasts);
        let slack = match plan.critical(ActivityId(at)) {
            true => "* critical".to_string(),
            false => plan.slack[at].to_string(),
        };
        let wait = match activity.kind {
            Kind::Wait => "wait: ",
            Kind::Step => "",
        };
        let job = jobs.iter().position(|job| *job == activity.job);
        let job = job.filter(|_| several);
        let job = job.map_or(String::new(), |job| format!("{:<3}  ", job + 1));
        let _ = writeln!(
            out,
            "{:<wide$}  {:<wide$}  {slack:<11}  {job}{wait}{}",
            dial.words(plan.starts[at]),
            dial.words(end),
            plan::shortened(&activity.name, WORDS)
        );
    }
    let _ = writeln!(out);
    for line in plan::lines(work, plan, dial, columns()) {
        let _ = writeln!(out, "{line}");
    }
    let bound = match plan.exact() {
        true => "no plan finishes earlier".to_string(),
        false => format!(
            "the best one found; none finishes before {}",
            dial.words(plan.bound)
        ),
    };
    let _ = writeln!(
        out,
        "\nFinished at {}, after {}: {bound}.",
        dial.words(plan.finish),
        plan.finish.since_beginning()
    );
    for sentence in &draft.assumed {
        let _ = writeln!(out, "Assumed: {sentence}.");
    }
    out
}

fn columns() -> usize {
    if !std::io::stdout().is_terminal() {
        return COLUMNS;
    }
    crossterm::terminal::size().map_or(COLUMNS, |(columns, _)| usize::from(columns))
}

#[derive(Serialize)]
struct PlanForm<'a> {
    /// The form's own version.
    version: u32,
    feasible: bool,
    finish_s: Option<u32>,
    bound_s: Option<u32>,
    exact: Option<bool>,
    activities: Vec<ActivityForm<'a>>,
    /// Numbers of activities.
    critical_chain: Vec<LinkForm>,
    clash: Vec<String>,
    /// Whether each part of the clash is needed for it.
    clash_smallest: Option<bool>,
    cures: Vec<String>,
    assumed: &'a [String],
}

#[derive(Serialize)]
struct ActivityForm<'a> {
    job: &'a str,
    step: &'a str,
    kind: &'static str,
    words: &'a str,
    lasts_s: u32,
    lasts_assumed: bool,
    start_s: Option<u32>,
    slack_s: Option<u32>,
    critical: Option<bool>,
}

#[derive(Serialize)]
struct LinkForm {
    activity: usize,
    because: String,
}

fn json(
    draft: &Draft,
    procedures: &[&Procedure],
    found: Result<&Plan, &Clash>,
) -> Result<String, Complaint> {
    let work = &draft.work;
    let plan = found.ok();
    let activities = work.activities.iter().zip(&draft.places).enumerate();
    let because = |because: Because| match because {
        Because::Begins => "begins".to_string(),
        Because::Tied(tie) => work.ties[tie.0].name.clone(),
        Because::Chosen(choice) => work.choices[choice.0].name.clone(),
        Because::Occupied(resource) => format!("{} free again", work.resources[resource.0].name),
    };
    let form = PlanForm {
        version: 1,
        feasible: plan.is_some(),
        finish_s: plan.map(|plan| plan.finish.since_beginning().in_seconds()),
        bound_s: plan.map(|plan| plan.bound.since_beginning().in_seconds()),
        exact: plan.map(Plan::exact),
        activities: activities
            .map(|(at, (activity, place))| ActivityForm {
                job: &activity.job,
                step: procedures[place.job].steps[place.step].id.as_str(),
                kind: match activity.kind {
                    Kind::Step => "step",
                    Kind::Wait => "wait",
                },
                words: &activity.name,
                lasts_s: activity.lasts.in_seconds(),
                lasts_assumed: place.assumed,
                start_s: plan.map(|plan| plan.starts[at].since_beginning().in_seconds()),
                slack_s: plan.map(|plan| plan.slack[at].in_seconds()),
                critical: plan.map(|plan| plan.critical(ActivityId(at))),
            })
            .collect(),
        critical_chain: plan.map_or(Vec::new(), |plan| {
            let chain = plan.chain.iter().map(|link| LinkForm {
                activity: link.activity.0,
                because: because(link.because),
            });
            chain.collect()
        }),
        clash: found
            .err()
            .map_or(Vec::new(), |clash| plan::demands(work, clash)),
        clash_smallest: found.err().map(|clash| clash.smallest),
        cures: found
            .err()
            .map_or(Vec::new(), |clash| plan::cures(work, clash)),
        assumed: &draft.assumed,
    };
    serde_json::to_string_pretty(&form).map_err(|error| {
        Complaint::machine("Cannot write the plan as JSON").because(error.to_string())
    })
}
