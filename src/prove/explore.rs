//! The search: every state that the run can reach, breadth first, on the run's own rules.
//!
//! Beside what the program believes of each condition stands what is actually so, where that is known.
//! Without a claim that nobody made, all that the program is certain of is so.

use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};

use crate::procedure::{Requirement, Step, Text};
use crate::run::{
    Asking, By, Command, Event, Mark, Order, Progress, Run, SkipReason, State, Time, Topic, Truth,
    decide, end_waits,
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

/// How far a search goes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Search {
    /// The most states.
    pub states: usize,
    /// How many claims are taken though nobody made them.
    pub misheard: u8,
    /// What "disregard" would take back is told apart at any time. Otherwise it is followed right after
    /// each act, which finds the same states up to the ends of waits in between.
    pub exact: bool,
    /// Steps or jobs were left out, in which something may be done meanwhile.
    pub elsewhere: bool,
    /// Waits are stopped as well.
    pub stops: bool,
    /// Only what leads forward, said by a person who makes no mistake; where the called step touches
    /// nothing that another job touches, nothing else need be tried first.
    pub forward: bool,
}

/// Where everything stands.
#[derive(Debug, Clone)]
pub(super) struct Node {
    pub run: Run,
    /// What is actually so of each condition; uncertain is either.
    pub actual: Vec<Truth>,
    /// The steps that were claimed though nobody did, in that order.
    misheard: Vec<(usize, usize)>,
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

/// How a state is come to.
#[derive(Debug, Clone, Copy)]
struct Way {
    /// The state before.
    from: u32,
    deed: Deed,
    /// How many deeds lead here, at least.
    deeds: u32,
}

#[derive(Debug, Clone, Copy)]
struct Reached {
    way: Way,
    /// What is called.
    job: u16,
    step: u16,
}

/// A step that begins while the state of the work forbids it, though the program does not know.
#[derive(Debug, Clone)]
pub(super) struct Danger {
    pub state: usize,
    pub job: usize,
    pub step: usize,
    pub condition: Text,
    /// The step needs the condition; otherwise it is forbidden while it is set.
    pub needed: bool,
    pub misheard: Vec<(usize, usize)>,
}

/// What was found.
#[derive(Debug, Default)]
pub(super) struct Graph {
    reached: Vec<Reached>,
    /// Between states in which nothing was misheard.
    edges: Vec<(u32, u32)>,
    /// States in which everything is finished, with the conditions that are still set.
    pub finished: Vec<(usize, Vec<Text>)>,
    /// Each danger's first state, by the misheard steps, the step and the condition.
    pub dangers: Vec<Danger>,
    /// Whether each step of each job can ever be done.
    pub ready: Vec<Vec<bool>>,
    /// States in which nothing was misheard.
    pub honest: Vec<bool>,
    /// Whether every state within the rules was reached.
    pub whole: bool,
    /// Which steps touch nothing that another job touches.
    quiet: Vec<Vec<bool>>,
}

/// When everything happens: the search knows no time but the ends of waits.
const NOW: Time = Time::UNIX_EPOCH;

impl Graph {
    /// Searches from `start`.
    pub(super) fn explore(start: Run, search: Search) -> Graph {
        let actual = start.truths().to_vec();
        let ready = start.procedures().map(|p| vec![false; p.steps.len()]);
        let mut graph = Graph {
            ready: ready.collect(),
            whole: true,
            quiet: quiet_steps(&start),
            ..Graph::default()
        };
        let mut layers = Layers::default();
        let root = Node::of(start, actual);
        let nowhere = Way {
            from: u32::MAX,
            deed: Deed::honest(Act::Claim),
            deeds: 0,
        };
        graph.meet(&mut layers, root, nowhere, search);
        while let Some((number, node)) = layers.next() {
            if graph.reached[number as usize].way.deeds as usize != layers.depth {
                continue;
            }
            graph.go_on(&mut layers, number, &node, search);
            if graph.reached.len() > search.states {
                graph.whole = false;
                break;
            }
        }
        graph
    }

    /// Returns how many states were reached.
    pub(super) fn states(&self) -> usize {
        self.reached.len()
    }

    /// Returns what leads to a state, from the start.
    pub(super) fn history(&self, state: usize) -> Vec<Deed> {
        let mut deeds = Vec::new();
        let mut at = state;
        while let Some(reached) = self.reached.get(at)
            && reached.way.from != u32::MAX
        {
            deeds.push(reached.way.deed);
            at = reached.way.from as usize;
        }
        deeds.reverse();
        deeds
    }

    /// Returns the job and the step that are called in a state.
    pub(super) fn called(&self, state: usize) -> (usize, usize) {
        let reached = &self.reached[state];
        (usize::from(reached.job), usize::from(reached.step))
    }

    /// Returns the first honest state from which nothing leads to the end; none where each does.
    pub(super) fn dead_end(&self) -> Option<usize> {
        self.dead_ends().first().copied()
    }

    /// Returns all of them, the nearest first.
    pub(super) fn dead_ends(&self) -> Vec<usize> {
        let mut into: Vec<Vec<u32>> = vec![Vec::new(); self.states()];
        for &(from, to) in &self.edges {
            into[to as usize].push(from);
        }
        let mut ends = vec![false; self.states()];
        let mut open: Vec<usize> = self.finished.iter().map(|(state, _)| *state).collect();
        for &state in &open {
            ends[state] = true;
        }
        while let Some(state) = open.pop() {
            for &from in &into[state] {
                if !std::mem::replace(&mut ends[from as usize], true) {
                    open.push(from as usize);
                }
            }
        }
        let stuck = (0..self.states()).filter(|&state| self.honest[state] && !ends[state]);
        let mut stuck: Vec<usize> = stuck.collect();
        stuck.sort_by_key(|&state| self.reached[state].way.deeds);
        stuck
    }

    /// Follows everything that may happen in a state.
    fn go_on(&mut self, layers: &mut Layers, number: u32, node: &Node, search: Search) {
        let mut acts = if search.forward {
            self.forward_acts(node)
        } else {
            acts(node, search.exact, search.stops)
        };
        if search.elsewhere && node.run.state().asking.is_none() {
            acts.push(Act::Elsewhere);
        }
        for act in acts {
            let claims = act == Act::Claim && !asks_hold(&node.run);
            for misheard in [false, true] {
                let may = claims && node.misheard.len() < usize::from(search.misheard);
                if misheard && !may {
                    continue;
                }
                let deed = Deed { act, misheard };
                let Some(mut next) = after(node, deed) else {
                    continue;
                };
                let disregard = Deed::honest(Act::Disregard);
                let taken_back = (!search.exact && !search.forward)
                    .then(|| after(&next, disregard))
                    .flatten();
                if !search.exact {
                    next.run.forget();
                }
                let way = Way {
                    from: number,
                    deed,
                    deeds: self.reached[number as usize].way.deeds + commands(&node.run, act),
                };
                let Some(met) = self.meet(layers, next, way, search) else {
                    continue;
                };
                if let Some(taken_back) = taken_back {
                    let way = Way {
                        from: met,
                        deed: disregard,
                        deeds: way.deeds + 1,
                    };
                    self.meet(layers, taken_back, way, search);
                }
            }
        }
    }

    /// Returns what leads forward. The claim of a step that no other job can notice commutes with all
    /// that the others do: it is followed alone.
    fn forward_acts(&self, node: &Node) -> Vec<Act> {
        let run = &node.run;
        let state = run.state();
        let (job, step) = (state.job, run.progress().step);
        let other = run.other_work();
        let alone = other.iter().all(|(of, _)| *of != job);
        let quiet = self.quiet[job].get(step) == Some(&true);
        if alone && quiet && run.is_ready(job, step) {
            return vec![Act::Claim];
        }
        let mut acts = vec![Act::Claim, Act::OtherWork];
        let open = |job: &usize| state.jobs[*job].step < state.jobs[*job].marks.len();
        acts.extend((0..state.jobs.len()).filter(open).map(Act::MoveTo));
        acts.extend(waits_that_run(run));
        acts
    }

    /// Takes a state in: returns its number, or none where it need not be followed.
    fn meet(
        &mut self,
        layers: &mut Layers,
        mut node: Node,
        way: Way,
        search: Search,
    ) -> Option<u32> {
        if !node.misheard.is_empty() && is_as_believed(&node) {
            // The mishearing did no harm: the same state is reached without it.
            if search.misheard == 1 {
                return None;
            }
            node.misheard.clear();
        }
        let honest = node.misheard.is_empty();
        let state = node.run.state();
        let by = Reached {
            way,
            job: state.job as u16,
            step: node.run.progress().step as u16,
        };
        let key = key(&node, search.exact, search.misheard > 1);
        let number = match layers.known.entry(key) {
            Entry::Occupied(known) => {
                let number = *known.get();
                let reached = &mut self.reached[number as usize];
                if way.deeds < reached.way.deeds {
                    *reached = by;
                    layers.put(way.deeds as usize, number, node);
                }
                number
            }
            Entry::Vacant(place) => {
                let number = self.reached.len() as u32;
                place.insert(number);
                self.reached.push(by);
                self.honest.push(honest);
                self.look(number as usize, &node);
                layers.put(way.deeds as usize, number, node);
                number
            }
        };
        if honest && way.from != u32::MAX && self.honest[way.from as usize] {
            self.edges.push((way.from, number));
        }
        Some(number)
    }

    /// Notes what a state shows.
    fn look(&mut self, number: usize, node: &Node) {
        let run = &node.run;
        let state = run.state();
        if state.finished || state.jobs.iter().all(Progress::is_finished) {
            let set = run.truths().iter().zip(run.conditions());
            let set = set.filter(|(truth, _)| **truth == Truth::Set);
            if node.misheard.is_empty() {
                let names = set.map(|(_, condition)| condition.name.clone());
                self.finished.push((number, names.collect()));
            }
            return;
        }
        let (job, step) = (state.job, run.progress().step);
        if state.asking.is_some() || run.step().is_none() || run.is_blocked() {
            return;
        }
        self.ready[job][step] = true;
        let (forbidden, needed) = run.guarded_by(job, step);
        let against = |wanted: Truth| move |&&c: &&usize| node.actual[c] != wanted;
        let forbids = forbidden.iter().find(against(Truth::Clear));
        let lacks = needed.iter().find(against(Truth::Set));
        if let Some(&condition) = forbids.or(lacks) {
            let known = self.dangers.iter().any(|danger| {
                danger.misheard == node.misheard && (danger.job, danger.step) == (job, step)
            });
            if !known {
                self.dangers.push(Danger {
                    state: number,
                    job,
                    step,
                    condition: run.conditions()[condition].name.clone(),
                    needed: forbids.is_none(),
                    misheard: node.misheard.clone(),
                });
            }
        }
    }
}

/// What is still to be followed, by the number of deeds that lead there.
#[derive(Default)]
struct Layers {
    known: HashMap<Box<[u8]>, u32>,
    depth: usize,
    layers: Vec<Vec<(u32, Node)>>,
}

impl Layers {
    fn put(&mut self, depth: usize, number: u32, node: Node) {
        if self.layers.len() <= depth {
            self.layers.resize_with(depth + 1, Vec::new);
        }
        self.layers[depth].push((number, node));
    }

    fn next(&mut self) -> Option<(u32, Node)> {
        while let Some(layer) = self.layers.get_mut(self.depth) {
            if let Some(next) = layer.pop() {
                return Some(next);
            }
            self.depth += 1;
        }
        None
    }
}

fn asks_hold(run: &Run) -> bool {
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
fn commands(run: &Run, act: Act) -> u32 {
    match act {
        // Which of several is to be stopped is said first.
        Act::StopWait(..) if running(run).count() > 1 => 2,
        _ => 1,
    }
}

/// Tells of each step whether everything that it touches is touched by its own job alone.
fn quiet_steps(run: &Run) -> Vec<Vec<bool>> {
    let touches = |step: &Step| -> Vec<Text> {
        let lists = [
            &step.needs,
            &step.forbidden_while,
            &step.sets,
            &step.clears,
            &step.uses,
        ];
        lists.into_iter().flatten().cloned().collect()
    };
    let by_job: Vec<HashSet<Text>> = run
        .procedures()
        .map(|procedure| procedure.steps.iter().flat_map(touches).collect())
        .collect();
    let quiet = |job: usize, step: &Step| {
        let others = by_job.iter().enumerate().filter(|(of, _)| *of != job);
        let mut touched = touches(step).into_iter();
        let seen = |thing: &Text| others.clone().any(|(_, things)| things.contains(thing));
        step.wait.is_none() && !touched.any(|thing| seen(&thing))
    };
    let jobs = run.procedures().enumerate();
    jobs.map(|(job, procedure)| {
        procedure
            .steps
            .iter()
            .map(|step| quiet(job, step))
            .collect()
    })
    .collect()
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
fn is_as_believed(node: &Node) -> bool {
    let mut both = node.run.truths().iter().zip(&node.actual);
    both.all(|(believed, actual)| *believed == Truth::Uncertain || believed == actual)
}

/// Returns what tells a state from all others.
pub(super) fn key(node: &Node, exact: bool, pairs: bool) -> Box<[u8]> {
    let mut key = Vec::with_capacity(64);
    write_state(&mut key, node.run.state());
    if exact && let Some(earlier) = node.run.earlier_state() {
        key.push(255);
        write_state(&mut key, earlier);
    }
    key.push(254);
    if node.run.truths() != node.actual {
        write_truths(&mut key, &node.actual);
    }
    if !node.misheard.is_empty() {
        key.push(252);
        for (job, step) in node.misheard.iter().filter(|_| pairs) {
            key.push(*job as u8);
            key.extend((*step as u16).to_le_bytes());
        }
    }
    key.into_boxed_slice()
}

fn write_truths(key: &mut Vec<u8>, truths: &[Truth]) {
    for four in truths.chunks(4) {
        let bits = |truth: &Truth| match truth {
            Truth::Clear => 0,
            Truth::Set => 1,
            Truth::Uncertain => 2,
        };
        key.push(four.iter().fold(0, |byte, truth| byte << 2 | bits(truth)));
    }
}

/// Whether a step was done or skipped is not written: only that it was left matters to the rules, but
/// for the hold that is asked for again after a stop, and no hold is ever skipped.
fn write_state(key: &mut Vec<u8>, state: &State) {
    key.push(state.job as u8);
    key.push(u8::from(state.asking.is_some()) << 1 | u8::from(state.finished));
    for progress in &state.jobs {
        key.extend((progress.step as u16).to_le_bytes());
        key.push(progress.part as u8);
        key.extend((progress.left.len() as u16).to_le_bytes());
        // Where the steps were left in the order of the file, how many says all.
        let ordered = progress
            .left
            .iter()
            .enumerate()
            .all(|(at, step)| at == *step);
        if !ordered {
            for step in &progress.left {
                key.extend((*step as u16).to_le_bytes());
            }
        }
        for wait in &progress.waits {
            key.push(u8::from(wait.ended.is_some()) + 1);
            key.extend_from_slice(wait.step.as_str().as_bytes());
        }
        key.push(253);
        debug_assert!(
            progress
                .left
                .iter()
                .all(|s| progress.marks[*s] != Mark::Open)
        );
    }
    write_truths(key, &state.truths);
}
