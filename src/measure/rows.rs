//! The rows of the table: what was scored, counted by what tells recordings apart. Pure.

use std::collections::BTreeMap;

use clap::ValueEnum;
use serde::Serialize;

use super::score::{Outcome, Scored};
use super::share::{Delay, Rate, Share};
use super::transcript::{About, Made, Onset, Room};
use crate::hear::Weight;

/// What rows are made by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, ValueEnum)]
#[serde(rename_all = "snake_case")]
pub enum By {
    /// Everything.
    #[value(skip)]
    All,
    /// Commands, readings, talk, people.
    Kind,
    /// What was said, or falsely heard.
    Phrase,
    Voice,
    /// Noise and its ratio.
    Noise,
    /// The ratio, whatever the noise.
    Ratio,
    Room,
    /// Whether the noise begins with the speech.
    Onset,
    /// How much hangs on a command, which decides how long it must stand.
    Weight,
}

impl By {
    /// Returns its word for people.
    pub fn word(self) -> &'static str {
        match self {
            By::All => "all",
            By::Kind => "kind",
            By::Phrase => "phrase",
            By::Voice => "voice",
            By::Noise => "noise",
            By::Ratio => "ratio",
            By::Room => "room",
            By::Onset => "onset",
            By::Weight => "weight",
        }
    }
}

/// A recording as it was scored.
#[derive(Debug, Clone)]
pub struct Measured<'a> {
    pub about: &'a About,
    /// How long no line could have been answered, in hours.
    pub outside: f64,
    pub scored: &'a [Scored],
}

/// What of the sound a row is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    Commands,
    Readings,
}

/// How lines of speech were understood.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpokenRow {
    pub by: By,
    pub value: String,
    pub made: Made,
    pub what: What,
    pub said: usize,
    pub at_once: Share,
    pub asked_back: Share,
    pub missed: Share,
    /// Something else was sure: for a reading, wrong without notice.
    pub another: Share,
    pub asked_back_wrong: Share,
    /// How often it would have acted again.
    pub twice: usize,
    /// How often it would have opened a hold that was not answered.
    pub holds: usize,
    /// Of what was right, where the listener tells it.
    pub delay: Option<Delay>,
}

/// What was heard in sound without a command.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SoundRow {
    pub by: By,
    pub value: String,
    pub made: Made,
    pub hours: f64,
    pub commands: Rate,
    /// How many of the commands would have opened a hold.
    pub holds: usize,
    pub questions: Rate,
}

/// Orders rows: real after synthetic, then by group, by rank, by name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    made: Made,
    /// What stands together.
    group: String,
    /// The larger, the further down.
    rank: i32,
    name: String,
}

/// Returns the rows of lines said, for everything and by each of `by`.
pub fn spoken(results: &[Measured<'_>], by: &[By]) -> Vec<SpokenRow> {
    let mut rows = Vec::new();
    for what in [What::Commands, What::Readings] {
        for by in with_all(by) {
            let mut groups: BTreeMap<Key, Vec<&Scored>> = BTreeMap::new();
            for result in results {
                for scored in result.scored.iter().filter(|scored| {
                    scored.said.is_some() && scored.is_reading == (what == What::Readings)
                }) {
                    let said = scored.said.as_deref().unwrap_or_default();
                    let name = match what {
                        What::Commands => said.to_string(),
                        What::Readings => digits_of(said),
                    };
                    if let Some(key) = key(by, result.about, &name, scored.weight) {
                        groups.entry(key).or_default().push(scored);
                    }
                }
            }
            rows.extend(
                groups
                    .into_iter()
                    .map(|(key, all)| row(by, key, what, &all)),
            );
        }
    }
    rows
}

fn row(by: By, key: Key, what: What, all: &[&Scored]) -> SpokenRow {
    let count = |outcome| all.iter().filter(|one| one.outcome == outcome).count();
    let further = count(Outcome::Twice) + count(Outcome::Further);
    let said = all.len() - further;
    let share = |outcome| Share::of(count(outcome), said);
    SpokenRow {
        by,
        value: key.name,
        made: key.made,
        what,
        said,
        at_once: share(Outcome::AtOnce),
        asked_back: share(Outcome::AskedBack),
        missed: share(Outcome::Missed),
        another: share(Outcome::Another),
        asked_back_wrong: share(Outcome::AskedBackWrong),
        twice: count(Outcome::Twice),
        holds: all.iter().filter(|one| one.opens_hold).count(),
        delay: Delay::of(all.iter().filter_map(|one| one.delay).collect()),
    }
}

/// What was falsely heard in some sound.
#[derive(Default)]
struct Falsely {
    hours: f64,
    commands: usize,
    questions: usize,
    holds: usize,
}

/// Returns the rows of sound without a command, for everything and by each of `by`. By phrase and
/// weight, they tell what was falsely heard, in all the sound of that making.
pub fn sound(results: &[Measured<'_>], by: &[By]) -> Vec<SoundRow> {
    let mut rows = Vec::new();
    let mut hours: BTreeMap<Made, f64> = BTreeMap::new();
    for result in results {
        *hours.entry(result.about.made).or_default() += result.outside;
    }
    for by in with_all(by) {
        let mut groups: BTreeMap<Key, Falsely> = BTreeMap::new();
        for result in results {
            if !tells_heard(by)
                && let Some(key) = key(by, result.about, "", None)
            {
                groups.entry(key).or_default().hours += result.outside;
            }
            for scored in result.scored {
                let (commands, questions) = match scored.outcome {
                    Outcome::FalseCommand => (1, 0),
                    Outcome::FalseQuestion => (0, 1),
                    _ => continue,
                };
                let heard = scored.heard.as_deref().unwrap_or_default();
                if let Some(key) = key(by, result.about, heard, scored.weight) {
                    let hours = hours.get(&key.made).copied().unwrap_or_default();
                    let group = groups.entry(key).or_default();
                    if tells_heard(by) {
                        group.hours = hours;
                    }
                    group.commands += commands;
                    group.questions += questions;
                    group.holds += usize::from(scored.opens_hold);
                }
            }
        }
        rows.extend(groups.into_iter().map(|(key, falsely)| SoundRow {
            by,
            value: key.name,
            made: key.made,
            hours: falsely.hours,
            commands: Rate::of(falsely.commands, falsely.hours),
            holds: falsely.holds,
            questions: Rate::of(falsely.questions, falsely.hours),
        }));
    }
    rows
}

/// Whether rows are made by what was heard, in all the sound there is.
fn tells_heard(by: By) -> bool {
    matches!(by, By::Phrase | By::Weight)
}

fn with_all(by: &[By]) -> Vec<By> {
    let mut all = vec![By::All];
    for one in by {
        if !all.contains(one) {
            all.push(*one);
        }
    }
    all
}

/// Returns the row that a thing said or heard in a recording belongs to; none where the transcript
/// does not tell.
fn key(by: By, about: &About, words: &str, weight: Option<Weight>) -> Option<Key> {
    let ranked = |rank: i32, name: String| {
        Some(Key {
            made: about.made,
            group: String::new(),
            rank,
            name,
        })
    };
    // From quiet to loud.
    let loudness = |ratio: f32| (-10.0 * ratio) as i32;
    match by {
        By::All => ranked(0, "all".into()),
        By::Kind => ranked(about.kind as i32, about.kind.word().into()),
        By::Phrase => ranked(0, words.into()),
        By::Voice => ranked(0, about.voice.clone()?),
        By::Noise => match (&about.noise, about.ratio) {
            (None, _) => ranked(0, "clean".into()),
            (Some(noise), None) => ranked(i32::MAX, noise.clone()),
            (Some(noise), Some(ratio)) => ranked(loudness(ratio), format!("{noise} {ratio} dB"))
                .map(|key| Key {
                    group: noise.clone(),
                    ..key
                }),
        },
        By::Ratio => match (&about.noise, about.ratio) {
            (None, _) => ranked(i32::MIN, "clean".into()),
            (Some(_), Some(ratio)) => ranked(loudness(ratio), format!("{ratio} dB")),
            (Some(_), None) => ranked(i32::MAX, "noise untold".into()),
        },
        By::Room => match about.room? {
            Room::Dry => ranked(0, "dry".into()),
            Room::Workshop => ranked(1, "workshop".into()),
        },
        By::Onset => match about.onset? {
            Onset::Steady => ranked(0, "steady".into()),
            Onset::WithSpeech => ranked(1, "with speech".into()),
        },
        By::Weight => match weight? {
            Weight::Light => ranked(0, "light".into()),
            Weight::Ordinary => ranked(1, "ordinary".into()),
            Weight::Grave => ranked(2, "grave".into()),
            Weight::Stop => ranked(3, "stop".into()),
        },
    }
}

/// Returns what kind of reading `digits` is: `1 digit`, `3 digits`, `1.2 digits`.
fn digits_of(digits: &str) -> String {
    match digits.split_once('.') {
        Some((whole, decimals)) => format!("{}.{} digits", whole.len(), decimals.len()),
        None if digits.len() == 1 => "1 digit".into(),
        None => format!("{} digits", digits.len()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scored(outcome: Outcome, said: Option<&str>, heard: Option<&str>) -> Scored {
        let of = said.or(heard).unwrap();
        Scored {
            outcome,
            said: said.map(str::to_string),
            heard: heard.map(str::to_string),
            is_reading: of.starts_with(|c: char| c.is_ascii_digit()),
            start: None,
            end: None,
            accepted: None,
            score: None,
            sure: None,
            delay: (outcome == Outcome::AtOnce).then_some(0.2),
            opens_hold: outcome == Outcome::FalseCommand,
            weight: None,
        }
    }

    fn noisy(made: Made, ratio: f32) -> About {
        About {
            made,
            noise: Some("grinder".into()),
            ratio: Some(ratio),
            ..About::default()
        }
    }

    #[test]
    fn rows_count_what_belongs_to_them() {
        let (clean, ten, real) = (
            About {
                made: Made::Synthetic,
                ..About::default()
            },
            noisy(Made::Synthetic, 10.0),
            noisy(Made::Real, 5.0),
        );
        let of_clean = [
            scored(Outcome::AtOnce, Some("say again"), Some("say again")),
            scored(Outcome::Twice, Some("say again"), Some("say again")),
            scored(Outcome::Another, Some("110"), Some("100")),
        ];
        let of_ten = [
            scored(Outcome::Missed, Some("say again"), None),
            scored(Outcome::FalseCommand, None, Some("stop stop")),
        ];
        let of_real = [scored(Outcome::FalseQuestion, None, Some("stop stop"))];
        let results = [
            Measured {
                about: &clean,
                outside: 0.5,
                scored: &of_clean,
            },
            Measured {
                about: &ten,
                outside: 1.5,
                scored: &of_ten,
            },
            Measured {
                about: &real,
                outside: 4.0,
                scored: &of_real,
            },
        ];
        let rows = spoken(&results, &[By::Ratio, By::Phrase]);
        let short: Vec<_> = rows
            .iter()
            .map(|r| (r.what, r.by, r.value.as_str(), r.said, r.at_once.count))
            .collect();
        assert_eq!(
            short,
            [
                (What::Commands, By::All, "all", 2, 1),
                (What::Commands, By::Ratio, "clean", 1, 1),
                (What::Commands, By::Ratio, "10 dB", 1, 0),
                (What::Commands, By::Phrase, "say again", 2, 1),
                (What::Readings, By::All, "all", 1, 0),
                (What::Readings, By::Ratio, "clean", 1, 0),
                (What::Readings, By::Phrase, "3 digits", 1, 0),
            ]
        );
        assert_eq!((rows[0].twice, rows[0].missed.count), (1, 1));
        assert_eq!(rows[0].delay.unwrap().count, 1);
        assert_eq!(rows[4].another.count, 1);

        let rows = sound(&results, &[By::Phrase]);
        let short: Vec<_> = rows
            .iter()
            .map(|r| {
                let counts = (r.commands.count, r.holds, r.questions.count);
                (r.made, r.value.as_str(), r.hours, counts)
            })
            .collect();
        assert_eq!(
            short,
            [
                (Made::Synthetic, "all", 2.0, (1, 1, 0)),
                (Made::Real, "all", 4.0, (0, 0, 1)),
                (Made::Synthetic, "stop stop", 2.0, (1, 1, 0)),
                (Made::Real, "stop stop", 4.0, (0, 0, 1)),
            ]
        );
    }

    #[test]
    fn ratios_go_from_clean_to_loud() {
        let abouts = [0.0, 20.0, 5.0].map(|ratio| noisy(Made::Real, ratio));
        let clean = About {
            made: Made::Real,
            ..About::default()
        };
        let one = [scored(Outcome::Missed, Some("say again"), None)];
        let results: Vec<Measured<'_>> = abouts
            .iter()
            .chain([&clean])
            .map(|about| Measured {
                about,
                outside: 0.0,
                scored: &one,
            })
            .collect();
        let values: Vec<String> = spoken(&results, &[By::Ratio])
            .into_iter()
            .map(|row| row.value)
            .collect();
        assert_eq!(values, ["all", "clean", "20 dB", "5 dB", "0 dB"]);
    }
}
