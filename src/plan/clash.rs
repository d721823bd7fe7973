//! Why a work cannot be planned, and the smallest change that cures it.

use super::outcome::Effort;
use super::scale::Scale;
use super::solver::{self, Found, Problem};
use super::span::Span;
use super::work::{ActivityId, ChoiceId, Gives, ResourceId, TieId, Work};

/// A set of demands that cannot all be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clash {
    /// Where it is a circle of ties alone, in the order of the circle.
    pub parts: Vec<Part>,
    /// Whether any part left out would end this clash; not where the effort was spent before.
    pub smallest: bool,
    /// What would cure the whole work, the smallest lengthening first; none where no longer window and
    /// no more of a resource does.
    pub cures: Vec<Cure>,
}

/// One demand of a clash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    Tie(TieId),
    Choice(ChoiceId),
    /// The activity occupies the resource.
    Use(ActivityId, ResourceId),
    /// The activity has started when it has.
    Started(ActivityId),
    /// The activity cannot start before now.
    Now(ActivityId),
}

/// A change that makes a plan possible.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cure {
    /// These longest lags longer by so much; each of them is needed, and none can be less while the
    /// others stay.
    Lengthen(Vec<(TieId, Span)>),
    /// So many more of a resource.
    More(ResourceId, u32),
}

/// How many times the effort of one search is spent on explaining.
const SHARE: u64 = 20;
/// The most that is tried of one resource more.
const MOST_MORE: i64 = 3;

/// Explains why a work that has no plan has none.
pub(super) fn explain(work: &Work, effort: Effort) -> Clash {
    let scale = Scale::of(work);
    let mut trial = Trial {
        problem: scale.problem(work),
        each: effort.0,
        left: effort.0.saturating_mul(SHARE),
    };
    let (parts, smallest) = match circle(work, &trial.problem) {
        Some(parts) => (parts, true),
        None => fewest(work, &mut trial),
    };
    let cures = cures(work, scale, &parts, &mut trial);
    Clash {
        parts,
        smallest,
        cures,
    }
}

/// Searches on changed problems, within one effort for all.
struct Trial {
    problem: Problem,
    each: u64,
    left: u64,
}

impl Trial {
    fn of(&mut self, problem: &Problem) -> Found {
        let given = self.each.min(self.left);
        let mut effort = given;
        let found = solver::any(problem, &mut effort);
        // Even what needs no step costs something.
        self.left = self.left.saturating_sub(given - effort + 1);
        found
    }

    /// Returns how much longer the ties are in a plan that lets `loose` be longer by at most `most`, or
    /// without limit.
    fn lengthened(&mut self, loose: &[usize], most: Option<&[i64]>) -> Option<Vec<i64>> {
        let mut problem = self.problem.clone();
        for (place, &tie) in loose.iter().enumerate() {
            // A lag so short never binds.
            let by = most.map_or(i64::MAX / 8, |most| most[place]);
            problem.lags[tie].2 -= by;
        }
        match self.of(&problem) {
            Found::Plan { starts, .. } => Some(
                loose
                    .iter()
                    .map(|&tie| {
                        let (from, to, lag) = self.problem.lags[tie];
                        (lag - (starts[to] - starts[from])).max(0)
                    })
                    .collect(),
            ),
            Found::Impossible | Found::Spent { .. } => None,
        }
    }
}

/// Finds a circle of ties that asks an activity to start later than itself.
fn circle(work: &Work, problem: &Problem) -> Option<Vec<Part>> {
    let count = problem.lasts.len();
    // The last node is the beginning of the work.
    let mut arcs: Vec<(usize, usize, i64, Part)> = Vec::new();
    for (place, &(from, to, lag)) in problem.lags.iter().enumerate() {
        if !work.happened(&work.ties[place]) {
            arcs.push((from, to, lag, Part::Tie(TieId(place))));
        }
    }
    for (place, given) in problem.given.iter().enumerate() {
        let id = ActivityId(place);
        match *given {
            Some(start) => {
                arcs.push((count, place, start, Part::Started(id)));
                arcs.push((place, count, -start, Part::Started(id)));
            }
            None => arcs.push((count, place, problem.now, Part::Now(id))),
        }
    }
    let mut furthest = vec![0; count + 1];
    let mut through: Vec<Option<usize>> = vec![None; count + 1];
    let mut moved = None;
    for _ in 0..=count + 1 {
        moved = None;
        for (arc, &(from, to, lag, _)) in arcs.iter().enumerate() {
            if furthest[to] < furthest[from] + lag {
                furthest[to] = furthest[from] + lag;
                through[to] = Some(arc);
                moved = Some(to);
            }
        }
        moved?;
    }
    // Far enough back every way is on the circle.
    let mut at = moved?;
    for _ in 0..=count {
        at = arcs[through[at]?].0;
    }
    let begin = at;
    let mut parts = Vec::new();
    loop {
        let arc = through[at]?;
        parts.push(arcs[arc].3);
        at = arcs[arc].0;
        if at == begin {
            break;
        }
    }
    parts.reverse();
    Some(parts)
}

/// Leaves out of all ties and uses what the clash does not need.
fn fewest(work: &Work, trial: &mut Trial) -> (Vec<Part>, bool) {
    let mut parts: Vec<Part> = Vec::new();
    for (place, tie) in work.ties.iter().enumerate() {
        if !work.happened(tie) {
            parts.push(Part::Tie(TieId(place)));
        }
    }
    parts.extend((0..work.choices.len()).map(|place| Part::Choice(ChoiceId(place))));
    for (resource, (_, uses)) in trial.problem.shares.iter().enumerate() {
        let uses = uses.iter();
        parts.extend(uses.map(|&(user, _)| Part::Use(ActivityId(user), ResourceId(resource))));
    }
    let mut smallest = true;
    let mut size = parts.len().div_ceil(2).max(1);
    loop {
        let mut at = 0;
        while at < parts.len() {
            let upto = (at + size).min(parts.len());
            let mut fewer = parts.clone();
            fewer.drain(at..upto);
            let kept = only(&trial.problem, &fewer);
            match trial.of(&kept) {
                Found::Impossible => parts = fewer,
                Found::Plan { .. } => at = upto,
                Found::Spent { .. } => {
                    smallest &= size > 1;
                    at = upto;
                }
            }
        }
        if size == 1 {
            return (parts, smallest);
        }
        size = size.div_ceil(2);
    }
}

/// Returns the problem with these ties and uses alone.
fn only(problem: &Problem, parts: &[Part]) -> Problem {
    let mut kept = problem.clone();
    kept.lags.clear();
    kept.choices.clear();
    for (_, uses) in &mut kept.shares {
        uses.clear();
    }
    for part in parts {
        match *part {
            Part::Tie(tie) => kept.lags.push(problem.lags[tie.0]),
            Part::Choice(choice) => kept.choices.push(problem.choices[choice.0]),
            Part::Use(user, resource) => {
                let uses = problem.shares[resource.0].1.iter();
                let found = uses.filter(|(activity, _)| *activity == user.0);
                kept.shares[resource.0].1.extend(found);
            }
            Part::Started(_) | Part::Now(_) => {}
        }
    }
    kept
}

fn cures(work: &Work, scale: Scale, parts: &[Part], trial: &mut Trial) -> Vec<Cure> {
    let gives = |tie: usize| {
        let tie = &work.ties[tie];
        tie.gives == Gives::Longer && tie.lag.longest().is_some() && !work.happened(tie)
    };
    let in_clash = parts.iter().filter_map(|part| match part {
        Part::Tie(tie) if gives(tie.0) => Some(tie.0),
        _ => None,
    });
    let mut single: Vec<(i64, usize)> = Vec::new();
    for tie in in_clash {
        if let Some(mut found) = trial.lengthened(&[tie], None) {
            shorten(trial, &[tie], &mut found, 0);
            single.push((found[0], tie));
        }
    }
    single.sort_unstable();
    let lengthen = |each: &[(usize, i64)]| {
        let each = each.iter().filter(|(_, by)| *by > 0);
        Cure::Lengthen(
            each.map(|&(tie, by)| (TieId(tie), scale.span(by)))
                .collect(),
        )
    };
    let mut cures: Vec<Cure> = single
        .iter()
        .map(|&(by, tie)| lengthen(&[(tie, by)]))
        .collect();
    if cures.is_empty() {
        let all: Vec<usize> = (0..work.ties.len()).filter(|&tie| gives(tie)).collect();
        if let Some(several) = several(trial, all) {
            cures.push(lengthen(&several));
        }
    }
    for (place, resource) in work.resources.iter().enumerate() {
        let touched = parts
            .iter()
            .any(|part| matches!(part, Part::Use(_, used) if used.0 == place));
        let wanted = work.activities.iter();
        let wanted = wanted.map(|each| i64::from(each.units_of(ResourceId(place))));
        let missing = (wanted.max().unwrap_or(0) - i64::from(resource.capacity)).max(1);
        let more = (missing..missing + MOST_MORE).find(|more| {
            let mut problem = trial.problem.clone();
            problem.shares[place].0 += more;
            touched && matches!(trial.of(&problem), Found::Plan { .. })
        });
        if let Some(more) = more.and_then(|more| u32::try_from(more).ok()) {
            cures.push(Cure::More(ResourceId(place), more));
        }
    }
    cures
}

/// Shortens the tie at `at` of `loose` to the least that still leaves a plan, the others no longer than
/// they are.
fn shorten(trial: &mut Trial, loose: &[usize], found: &mut Vec<i64>, at: usize) {
    let mut low = 0;
    while low < found[at] {
        let middle = low + (found[at] - low) / 2;
        let mut most = found.clone();
        most[at] = middle;
        match trial.lengthened(loose, Some(&most)) {
            Some(better) => *found = better,
            None => low = middle + 1,
        }
    }
}

/// Lengthens several ties: first those that need not be are left out, then each is as short as can be.
fn several(trial: &mut Trial, all: Vec<usize>) -> Option<Vec<(usize, i64)>> {
    trial.lengthened(&all, None)?;
    let mut loose = all.clone();
    for tie in all {
        let fewer: Vec<usize> = loose
            .iter()
            .copied()
            .filter(|&other| other != tie)
            .collect();
        if trial.lengthened(&fewer, None).is_some() {
            loose = fewer;
        }
    }
    let mut found = trial.lengthened(&loose, None)?;
    for at in 0..loose.len() {
        shorten(trial, &loose, &mut found, at);
    }
    Some(loose.into_iter().zip(found).collect())
}
