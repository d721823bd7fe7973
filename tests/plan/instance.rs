//! Reads the instances; `plan_instances.py` says what a line holds.

use benchcall::plan::{
    Activity, ActivityId, Choice, Clash, Cure, Gives, Lag, ResourceId, Span, Tie, Work,
};

pub const PUBLISHED: &str = include_str!("published.txt");
pub const MADE: &str = include_str!("made.txt");

pub struct Instance {
    pub name: &'static str,
    pub work: Work,
    /// In minutes; none where there is no plan.
    pub least_finish: Option<u32>,
    /// In minutes: the least lengthening of one longest lag that makes a plan possible.
    pub least_cure: Option<u32>,
}

fn numbers<T: std::str::FromStr<Err: std::fmt::Debug>>(text: &str, by: char) -> Vec<T> {
    let words = text.split(by).filter(|word| !word.is_empty());
    words.map(|word| word.parse().unwrap()).collect()
}

fn tie(text: &str) -> Tie {
    let (ends, lag) = text.split_once(':').unwrap();
    let [one, other] = numbers(ends, '>')[..] else {
        panic!("from>to:lag is wanted: {text}");
    };
    let lag: i32 = lag.parse().unwrap();
    let span = Span::minutes(lag.unsigned_abs());
    let (from, to, lag, gives) = match lag {
        0.. => (one, other, Lag::AtLeast(span), Gives::Never),
        _ => (other, one, Lag::AtMost(span), Gives::Longer),
    };
    Tie {
        from: ActivityId(from),
        to: ActivityId(to),
        lag,
        name: text.into(),
        gives,
    }
}

fn instance(line: &'static str) -> Instance {
    let fields: Vec<&str> = line.split('|').map(str::trim).collect();
    let [name, finish, capacities, lasts, uses, lags, cure, choices] = fields[..] else {
        panic!("eight fields are wanted: {line}");
    };
    let mut work = Work::default();
    for (place, capacity) in numbers(capacities, ' ').into_iter().enumerate() {
        work.resource(format!("resource {place}"), capacity);
    }
    for (place, minutes) in numbers(lasts, ' ').into_iter().enumerate() {
        let name = format!("activity {place}");
        work.activity(Activity::step(name, "job", Span::minutes(minutes)));
    }
    for used in uses.split_whitespace() {
        let [activity, resource, units] = numbers::<u32>(used, '.')[..] else {
            panic!("activity.resource.units is wanted: {used}");
        };
        let uses = &mut work.activities[activity as usize].uses;
        uses.push((ResourceId(resource as usize), units));
    }
    for text in lags.split_whitespace() {
        work.tie(tie(text));
    }
    for text in choices.split_whitespace() {
        let (one, other) = text.split_once('/').unwrap();
        work.choices.push(Choice {
            either: [tie(one), tie(other)],
            name: text.into(),
        });
    }
    Instance {
        name,
        work,
        least_finish: finish.parse().ok(),
        least_cure: cure.parse().ok(),
    }
}

/// Returns the least lengthening of one window alone that cures a clash, in minutes.
pub fn least_cure(clash: &Clash) -> Option<u32> {
    clash.cures.iter().find_map(|cure| match cure {
        Cure::Lengthen(each) if each.len() == 1 => Some(each[0].1.in_seconds() / 60),
        _ => None,
    })
}

pub fn instances(text: &'static str) -> Vec<Instance> {
    text.lines().map(instance).collect()
}
