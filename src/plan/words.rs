//! A clash and its cures in whole sentences.

use super::clash::{Clash, Cure, Part};
use super::span::Span;
use super::work::{Lag, TieId, Work};

/// What the people are called among the resources of a draft.
pub(super) const PEOPLE: &str = "people";

/// Returns what clashes, a demand a line.
pub fn demands(work: &Work, clash: &Clash) -> Vec<String> {
    let mut lines: Vec<String> = clash.parts.iter().map(|part| demand(work, *part)).collect();
    lines.dedup();
    lines
}

/// Returns what would cure it, a cure a line, the smallest lengthening first.
pub fn cures(work: &Work, clash: &Clash) -> Vec<String> {
    clash.cures.iter().map(|cure| words(work, cure)).collect()
}

fn demand(work: &Work, part: Part) -> String {
    let activity = |at: usize| {
        let activity = &work.activities[at];
        format!("\"{}\"", activity.name)
    };
    match part {
        Part::Tie(tie) => work.ties[tie.0].name.clone(),
        Part::Choice(choice) => work.choices[choice.0].name.clone(),
        Part::Use(user, resource) => {
            let activity = &work.activities[user.0];
            let units = activity.units_of(resource);
            let resource = &work.resources[resource.0];
            format!(
                "\"{}\" takes {} for {}; there is {}",
                activity.name,
                so_many(&resource.name, units),
                activity.lasts,
                resource.capacity
            )
        }
        Part::Started(at) => format!("{} has started already", activity(at.0)),
        Part::Now(at) => format!("{} cannot start before now", activity(at.0)),
    }
}

fn words(work: &Work, cure: &Cure) -> String {
    match cure {
        Cure::Lengthen(each) => {
            let all = each.iter().map(|(tie, by)| longer(work, *tie, *by));
            format!("Allow {}", all.collect::<Vec<_>>().join(", and "))
        }
        Cure::More(resource, more) => {
            let resource = &work.resources[resource.0];
            let all = resource.capacity.saturating_add(*more);
            format!(
                "Have {} instead of {}",
                so_many(&resource.name, all),
                resource.capacity
            )
        }
    }
}

/// Returns so many of a resource in words: `1 person`, `2 of "crane"`.
fn so_many(name: &str, units: u32) -> String {
    match (name, units) {
        (PEOPLE, 1) => "1 person".into(),
        (PEOPLE, _) => format!("{units} people"),
        (_, 1) => format!("\"{name}\""),
        _ => format!("{units} of \"{name}\""),
    }
}

fn longer(work: &Work, tie: TieId, by: Span) -> String {
    let tie = &work.ties[tie.0];
    let (Lag::AtMost(span) | Lag::AtLeast(span) | Lag::EndsWithin(span)) = tie.lag;
    let all = Span::held(span.whole() + by.whole());
    format!("{by} more, {all} in all, where {}", tie.name)
}
