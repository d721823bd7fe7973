//! What comes of planning: a plan with its finish, its proved bound, its slack and what is critical.

use super::clash::{self, Clash};
use super::scale::Scale;
use super::solver::{self, Found};
use super::span::{Moment, Span};
use super::work::{ActivityId, ChoiceId, ResourceId, Tie, TieId, Work, WorkError};

/// How much a search may try, in steps (decisions and conflicts); no clock is read.
///
/// A step takes about 25 µs with sixty activities in an optimised build, and grows with their square.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Effort(pub u64);

impl Effort {
    /// For planning again after every step.
    pub const USUAL: Effort = Effort(3_000);
    /// For planning once.
    pub const THOROUGH: Effort = Effort(30_000);
}

/// What came of planning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    Feasible(Plan),
    Infeasible(Clash),
    /// The effort was spent before there was a plan; nothing finishes before `bound`.
    Undecided {
        bound: Moment,
    },
}

/// When everything starts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// One for each activity, in the order of the work.
    pub starts: Vec<Moment>,
    /// How much later each can start without a later finish, with who comes first at each resource left
    /// as it is.
    pub slack: Vec<Span>,
    pub finish: Moment,
    /// No plan finishes earlier than this: it is proved.
    pub bound: Moment,
    /// One chain of critical activities from the first to the one that finishes last.
    pub chain: Vec<Link>,
}

/// A link of the critical chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link {
    pub activity: ActivityId,
    pub because: Because,
}

/// Why an activity does not start earlier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Because {
    /// It starts at the earliest, or has started.
    Begins,
    /// A tie to the link before.
    Tied(TieId),
    /// A choice: the link before comes first.
    Chosen(ChoiceId),
    /// The link before has what it needs.
    Occupied(ResourceId),
}

impl Plan {
    /// Plans a work so that it is finished as early as possible.
    ///
    /// The same work and effort give the same plan. Exact where [`Plan::exact`] says so; otherwise the
    /// best plan found with the proved bound.
    ///
    /// # Errors
    /// [`WorkError`] where the work is not put together right.
    pub fn of(work: &Work, effort: Effort) -> Result<Outcome, WorkError> {
        work.check()?;
        let scale = Scale::of(work);
        let problem = scale.problem(work);
        let mut left = effort.0;
        Ok(match solver::best(&problem, &mut left) {
            Found::Plan { starts, bound } => {
                let starts: Vec<Moment> = starts.iter().map(|&at| scale.moment(at)).collect();
                Outcome::Feasible(with_slack(work, &starts, scale.moment(bound)))
            }
            Found::Impossible => Outcome::Infeasible(clash::explain(work, effort)),
            Found::Spent { bound } => Outcome::Undecided {
                bound: scale.moment(bound),
            },
        })
    }

    /// Tells whether no plan can finish earlier.
    pub fn exact(&self) -> bool {
        self.finish == self.bound
    }

    /// Tells whether a later start of this activity makes the finish later.
    pub fn critical(&self, activity: ActivityId) -> bool {
        self.slack.get(activity.0) == Some(&Span::ZERO)
    }

    /// Returns when an activity starts.
    pub fn start(&self, activity: ActivityId) -> Option<Moment> {
        self.starts.get(activity.0).copied()
    }
}

/// An order that holds in a plan: `to` starts at least `lag` after the start of `from`.
#[derive(Debug, Clone, Copy)]
struct Order {
    from: usize,
    to: usize,
    lag: i64,
    because: Because,
}

fn with_slack(work: &Work, starts: &[Moment], bound: Moment) -> Plan {
    let activities = &work.activities;
    let mut orders = ties(work);
    orders.extend(chosen(work, starts));
    for place in 0..work.resources.len() {
        orders.extend(hand_over(work, ResourceId(place), starts));
    }
    let free = |at: usize| activities[at].started.is_none();
    let mut earliest: Vec<i64> = activities
        .iter()
        .map(|activity| activity.started.unwrap_or(work.now).whole())
        .collect();
    settle(&orders, |order| {
        let least = earliest[order.from] + order.lag;
        let moves = free(order.to) && earliest[order.to] < least;
        if moves {
            earliest[order.to] = least;
        }
        moves
    });
    let ends = earliest.iter().zip(activities);
    let finish = ends
        .map(|(start, activity)| start + activity.lasts.whole())
        .fold(work.now.whole(), i64::max);
    let mut latest: Vec<i64> = activities
        .iter()
        .map(|activity| match activity.started {
            Some(start) => start.whole(),
            None => finish - activity.lasts.whole(),
        })
        .collect();
    settle(&orders, |order| {
        let most = latest[order.to] - order.lag;
        let moves = free(order.from) && latest[order.from] > most;
        if moves {
            latest[order.from] = most;
        }
        moves
    });
    let slack: Vec<i64> = latest.iter().zip(&earliest).map(|(l, e)| l - e).collect();
    let chain = chain(work, &orders, &earliest, finish);
    Plan {
        starts: earliest.iter().map(|&at| Moment::held(at)).collect(),
        slack: slack.iter().map(|&span| Span::held(span)).collect(),
        finish: Moment::held(finish),
        bound,
        chain,
    }
}

/// Applies `moves` to all orders until nothing moves.
///
/// The plan that was found keeps all orders, so what moves is held by it and this ends.
fn settle(orders: &[Order], mut moves: impl FnMut(&Order) -> bool) {
    let mut moved = true;
    while moved {
        moved = false;
        for order in orders {
            moved |= moves(order);
        }
    }
}

fn order(work: &Work, tie: &Tie, because: Because) -> Order {
    let (from, to, lag) = work.arc(tie);
    Order {
        from,
        to,
        lag,
        because,
    }
}

fn ties(work: &Work) -> Vec<Order> {
    let ties = work.ties.iter().enumerate();
    ties.filter(|(_, tie)| !work.happened(tie))
        .map(|(place, tie)| order(work, tie, Because::Tied(TieId(place))))
        .collect()
}

/// Returns the tie of every choice that the plan keeps.
fn chosen(work: &Work, starts: &[Moment]) -> Vec<Order> {
    let kept = |tie: &&Tie| {
        let (from, to, lag) = work.arc(tie);
        starts[from].whole() + lag <= starts[to].whole()
    };
    let choices = work.choices.iter().enumerate();
    let kept =
        choices.filter_map(|(place, choice)| Some((place, choice.either.iter().find(kept)?)));
    kept.filter(|(_, tie)| !work.happened(tie))
        .map(|(place, tie)| order(work, tie, Because::Chosen(ChoiceId(place))))
        .collect()
}

/// Returns who takes a resource over from whom.
fn hand_over(work: &Work, resource: ResourceId, starts: &[Moment]) -> Vec<Order> {
    let mut users: Vec<(usize, u32)> = Vec::new();
    for (place, activity) in work.activities.iter().enumerate() {
        let units = activity.units_of(resource);
        if units > 0 && activity.lasts > Span::ZERO {
            users.push((place, units));
        }
    }
    users.sort_by_key(|&(place, _)| (starts[place], place));
    // Who had each unit last.
    let mut held: Vec<Option<usize>> = vec![None; work.resources[resource.0].capacity as usize];
    let mut crowding: Vec<usize> = Vec::new();
    let mut orders = Vec::new();
    for (user, units) in users {
        let end = |of: usize| starts[of].plus(work.activities[of].lasts);
        let mut free: Vec<usize> = (0..held.len())
            .filter(|&unit| held[unit].is_none_or(|holder| end(holder) <= starts[user]))
            .collect();
        // Rather from the same job, which is tied anyway, and rather from who is done last.
        free.sort_by_key(|&unit| {
            let holder = held[unit];
            let same = holder.is_some_and(|h| work.activities[h].job == work.activities[user].job);
            (!same, std::cmp::Reverse(holder.map(end)), unit)
        });
        if free.len() < units as usize {
            crowding.push(user);
        }
        // What has happened may have used more than there is; nobody new starts before it is over.
        let passed = crowding.iter().filter(|&&other| end(other) <= starts[user]);
        orders.extend(passed.map(|&other| Order {
            from: other,
            to: user,
            lag: work.activities[other].lasts.whole(),
            because: Because::Occupied(resource),
        }));
        for unit in free.into_iter().take(units as usize) {
            if let Some(from) = held[unit].replace(user) {
                orders.push(Order {
                    from,
                    to: user,
                    lag: work.activities[from].lasts.whole(),
                    because: Because::Occupied(resource),
                });
            }
        }
    }
    orders
}

/// Follows what holds each start back to where the work begins, by the fewest links.
fn chain(work: &Work, orders: &[Order], earliest: &[i64], finish: i64) -> Vec<Link> {
    let ends = |at: usize| earliest[at] + work.activities[at].lasts.whole();
    let Some(last) = (0..earliest.len()).find(|&at| ends(at) == finish) else {
        return Vec::new();
    };
    // For every activity met, the order through which it leads to the last.
    let mut onward: Vec<Option<&Order>> = vec![None; earliest.len()];
    let mut open = std::collections::VecDeque::from([last]);
    while let Some(here) = open.pop_front() {
        if work.activities[here].started.is_some() || earliest[here] == work.now.whole() {
            return along(here, last, &onward);
        }
        for order in orders {
            let from = order.from;
            let holds = order.to == here && earliest[from] + order.lag == earliest[here];
            if holds && from != last && onward[from].is_none() {
                onward[from] = Some(order);
                open.push_back(from);
            }
        }
    }
    Vec::new()
}

fn along(first: usize, last: usize, onward: &[Option<&Order>]) -> Vec<Link> {
    let mut chain = vec![Link {
        activity: ActivityId(first),
        because: Because::Begins,
    }];
    let mut at = first;
    while at != last
        && let Some(order) = onward[at]
    {
        at = order.to;
        chain.push(Link {
            activity: ActivityId(at),
            because: order.because,
        });
    }
    chain
}
