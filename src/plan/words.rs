//! A clash and its cures in whole sentences.

use super::clash::{Clash, Cure, Part};
use super::span::Span;
use super::work::{Lag, TieId, Work};

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
            let units = work.activities[user.0].units_of(resource);
            let resource = &work.resources[resource.0];
            format!(
                "{} takes {units} of {} {}, for {}",
                activity(user.0),
                resource.capacity,
                resource.name,
                work.activities[user.0].lasts
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
                "Have {all} of {} instead of {}",
                resource.name, resource.capacity
            )
        }
    }
}

fn longer(work: &Work, tie: TieId, by: Span) -> String {
    let tie = &work.ties[tie.0];
    let (Lag::AtMost(span) | Lag::AtLeast(span)) = tie.lag;
    let all = Span::held(span.whole() + by.whole());
    format!("{by} more, {all} in all, where {}", tie.name)
}
