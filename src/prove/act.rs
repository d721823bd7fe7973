//! What may happen in a state, and what it makes of it: on the run's own rules, with what is actually so
//! beside what the program believes.

use crate::procedure::Requirement;
use crate::run::{
    Asking, By, Command, Event, Order, Run, SkipReason, State, Time, Topic, Truth, decide,
    end_waits,
};

/// One thing that happens: said by the person, or brought by the clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Act {
    /// The way forward of what is called: the claim, the start of the wait, the hold's answer.
    Claim,
    /// "Override skip".
    Skip,
    /// A reason for it.
    Because,
    Back,
    Disregard,
    OtherWork,
    MoveTo(usize),
    /// The person says whether the uncertain condition holds.
    Settle(bool),
    /// The wait of a step of a job ends.
    WaitEnds(usize, usize),
    /// The person stops the wait of a step of a job, by its name where several run.
    StopWait(usize, usize),
    /// Something is done that was left out of the search: nothing is seen of it but that every job is called
    /// anew at what can be done.
    Elsewhere,
}

/// An act, and whether somebody did it or it was only heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Deed {
    pub act: Act,
    pub misheard: bool,
}

impl Deed {
    /// What somebody did.
    pub(super) fn honest(act: Act) -> Deed {
        Deed {
            act,
            misheard: false,
        }
    }
}

/// Where everything stands.
#[derive(Debug, Clone)]
pub(super) struct Node {
    pub run: Run,
    /// What is actually so of each condition; uncertain is either.
    pub actual: Vec<Truth>,
    /// The steps that were claimed though nobody did, in that order.
    pub misheard: Vec<(usize, usize)>,
}

impl Node {
    /// Where nothing was misheard.
    pub(super) fn of(run: Run, actual: Vec<Truth>) -> Node {
        Node {
            run,
            actual,
            misheard: Vec::new(),
        }
    }
}

/// When everything happens: the search knows no time but the ends of waits.
const NOW: Time = Time::UNIX_EPOCH;

pub(super) fn asks_hold(run: &Run) -> bool {
    matches!(run.requirement(), Some(Requirement::Hold(_)))
}

/// Returns what may happen in a state.
pub(super) fn acts(node: &Node, exact: bool, stops: bool) -> Vec<Act> {
    let run = &node.run;
    let state = run.state();
    let mut acts = Vec::new();
    if state.asking == Some(Asking::Reason) {
        acts.push(Act::Because);
    } else {
        // What the run would refuse is not asked.
        let step = run.step();
        acts.extend(step.filter(|_| !run.is_blocked()).map(|_| Act::Claim));
        acts.push(Act::Back);
        acts.push(Act::OtherWork);
        acts.extend(step.filter(|step| !step.is_held()).map(|_| Act::Skip));
        let others = (0..state.jobs.len()).filter(|job| *job != state.job);
        acts.extend(others.map(Act::MoveTo));
        if let Some(condition) = run.uncertain() {
            let number = run.number_of(&condition.name);
            let actual = number.map_or(Truth::Uncertain, |number| node.actual[number]);
            if actual != Truth::Clear {
                acts.push(Act::Settle(true));
            }
            if actual != Truth::Set {
                acts.push(Act::Settle(false));
            }
        }
    }
    if exact {
        acts.push(Act::Disregard);
    }
    let stops = stops && state.asking.is_none();
    for (job, step) in running(run) {
        acts.push(Act::WaitEnds(job, step));
        acts.extend(stops.then_some(Act::StopWait(job, step)));
    }
    acts
}

pub(super) fn waits_that_run(run: &Run) -> Vec<Act> {
    let ends = running(run).map(|(job, step)| Act::WaitEnds(job, step));
    ends.collect()
}

/// Returns the jobs and steps whose waits run.
fn running(run: &Run) -> impl Iterator<Item = (usize, usize)> {
    let running = run.waits_of_jobs().filter(|one| one.wait.is_running());
    running.filter_map(|one| Some((one.job, run.number_of_step(one.job, &one.wait.step)?)))
}

/// Returns how many commands an act takes.
pub(super) fn commands(run: &Run, act: Act) -> u32 {
    match act {
        // Which of several is to be stopped is said first.
        Act::StopWait(..) if running(run).count() > 1 => 2,
        _ => 1,
    }
}

/// Returns the order that an act gives to the run; none for what the clock brings.
pub(super) fn order(run: &Run, act: Act) -> Option<Order> {
    let command = match act {
        Act::Claim => match run.requirement()? {
            Requirement::Hold(_) => Command::OpenHold,
            Requirement::Wait(_) => Command::BeginCountdown,
            Requirement::Know | Requirement::Result(_) => Command::NextInstruction,
            Requirement::Work | Requirement::Fasten(_) | Requirement::Reading(_) => {
                Command::WorkComplete
            }
        },
        Act::Skip => Command::Skip,
        Act::Because => Command::SkipBecause(SkipReason::NotRequired),
        Act::Back => Command::PreviousInstruction,
        Act::Disregard => Command::Disregard,
        Act::OtherWork => Command::OtherWork,
        Act::MoveTo(job) => Command::MoveTo(job),
        Act::Settle(true) => Command::StillSo,
        Act::Settle(false) => Command::NoLonger,
        Act::StopWait(..) => Command::StopWait,
        Act::WaitEnds(..) | Act::Elsewhere => return None,
    };
    Some(Order {
        command,
        by: By::Voice,
    })
}

/// Returns what an act makes of the run; none where it is refused or changes nothing.
pub(super) fn events(run: &Run, act: Act) -> Option<Vec<Event>> {
    let events = match act {
        Act::WaitEnds(job, step) => {
            let id = &run.procedures().nth(job)?.steps.get(step)?.id;
            end_waits(run, |of, wait| of == job && wait.step == *id)
        }
        Act::StopWait(job, step) => {
            let asked = Event::Told(Topic::Wait { job, step });
            let mut meant = run.clone();
            meant.apply(&asked);
            let stopped = decide(&meant, &order(run, act)?, NOW).ok()?;
            std::iter::once(asked).chain(stopped).collect()
        }
        Act::Disregard => taken_back(run, decide(run, &order(run, act)?, NOW).ok()?),
        _ => decide(run, &order(run, act)?, NOW).ok()?,
    };
    let idle = |event: &Event| matches!(event, Event::Questioned { .. } | Event::Told(_));
    (!events.iter().all(idle)).then_some(events)
}

/// Adds the answer to the end of a wait that taking back has called again: the person hears it and says so
/// at once.
fn taken_back(run: &Run, mut events: Vec<Event>) -> Vec<Event> {
    let waits = |state: &State| state.jobs.iter().any(|job| !job.waits.is_empty());
    if !run.earlier_state().is_some_and(waits) {
        return events;
    }
    let mut after = run.clone();
    events.iter().for_each(|event| after.apply(event));
    if after.called_wait().is_some() {
        let answer = Order {
            command: Command::NextInstruction,
            by: By::Voice,
        };
        events.extend(decide(&after, &answer, NOW).unwrap_or_default());
    }
    events
}

/// Returns the state after a deed; none where it is refused.
pub(super) fn after(node: &Node, deed: Deed) -> Option<Node> {
    if deed.act == Act::Elsewhere {
        let mut next = node.clone();
        next.run.call_again();
        return (next.run != node.run).then_some(next);
    }
    let events = events(&node.run, deed.act)?;
    let mut next = node.clone();
    let (job, step) = (node.run.state().job, node.run.progress().step);
    events.iter().for_each(|event| next.run.apply(event));
    let left = next.run.state().jobs[job].left.contains(&step);
    let (sets, clears) = node.run.effects(job, step);
    let effects = [(sets, Truth::Set), (clears, Truth::Clear)];
    for (conditions, truth) in effects {
        for &condition in conditions.iter().filter(|_| left) {
            match deed.act {
                Act::Claim if !deed.misheard => next.actual[condition] = truth,
                // Whether it was done, nobody has said.
                Act::Because => next.actual[condition] = Truth::Uncertain,
                _ => {}
            }
        }
    }
    if let Act::Settle(truth) = deed.act
        && let Some(condition) = node.run.uncertain()
        && let Some(number) = node.run.number_of(&condition.name)
    {
        next.actual[number] = Truth::of(truth);
    }
    if deed.misheard {
        next.misheard.push((job, step));
    }
    if deed.act == Act::Disregard {
        next.run.forget();
    }
    Some(next)
}

/// Tells whether everything that the program is certain of is so.
pub(super) fn is_as_believed(node: &Node) -> bool {
    let mut both = node.run.truths().iter().zip(&node.actual);
    both.all(|(believed, actual)| *believed == Truth::Uncertain || believed == actual)
}
