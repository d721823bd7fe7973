//! What may be said, over long walks through the procedures: its keys, and what of it stands at the foot.

use std::collections::{BTreeMap, BTreeSet};

use chrono::TimeDelta;

use super::super::far::{ReadFrom, room};
use super::*;
use crate::dictionary::CmuDict;
use crate::procedure::{NoModel, Procedure, Speech, read};
use crate::run::{By, Event, Figure, Order, Room, decide, sayable};
use crate::trade::quantity::Length;

const WORKS: [&[&str]; 4] = [
    &[
        include_str!("../../procedures/paint-parts.ron"),
        include_str!("../../procedures/drain-and-settle.ron"),
        include_str!("../../procedures/pump-cover.ron"),
    ],
    &[
        include_str!("../../procedures/wheel-refit.ron"),
        include_str!("../../procedures/axle-paint-repair.ron"),
    ],
    &[include_str!("../../procedures/power-unit-in.ron")],
    &[REEL],
];

/// A condition without words of its own, and a reading that is often out of limits.
const REEL: &str = r#"(
    title: "Refit the hose reel",
    subject: "Volunteers' fire engine, hose reel (invented data)",
    conditions: ["reel off its stand"],
    steps: [
        (id: "lift", say: "Lift the reel.", sets: ["reel off its stand"]),
        (id: "play", say: "Measure the play.", needs: ["reel off its stand"],
         readings: [(name: "play", unit: "mm", low: 0.3, high: 0.4, digits: 1, decimals: 1)]),
        (id: "seat", say: "Let the reel down.", clears: ["reel off its stand"],
         hold: (ask: "Do all pins seat?", answer: "every pin seated")),
    ],
)"#;

/// So many cautions stand on pages of their own there.
const FROM_THE_BENCH: ReadFrom = ReadFrom {
    distance: Length::metres(3.0),
    diagonal: Length::millimetres(600.0),
    across: 1920,
    down: 1080,
};

/// The most lines at the foot, the way forward among them, that can be told apart from afar.
const MOST_AT_FOOT: usize = 6;

/// A figure of the places asked for: mostly within the limits.
fn reading(run: &Run, random: &mut fastrand::Rng) -> Option<Figure> {
    let reading = run.wants()?;
    let value = match random.u8(0..8) {
        0 => reading.high + 0.2,
        1 => reading.low,
        _ => reading.low + (reading.high - reading.low) * random.f64(),
    };
    Figure::of(reading, value)
}

/// Walks at random, with cautions on `pages` where there is room for few, and has `look` see every picture that comes on the way.
fn walk(
    work: &[&str],
    steps: usize,
    pages: Option<Room>,
    random: &mut fastrand::Rng,
    mut look: impl FnMut(&Run, &View),
) {
    let speech = Speech::standard(&NoModel, &CmuDict);
    let procedures: Vec<Procedure> = work
        .iter()
        .map(|text| read("work.ron", text.as_bytes(), &speech).unwrap())
        .collect();
    let begin = || {
        let mut procedures = procedures.clone().into_iter();
        let mut run = Run::of(procedures.next().unwrap(), procedures);
        pages.iter().for_each(|room| run.show_in(room.clone()));
        run.apply(&Event::Began);
        run
    };
    let (mut run, mut now) = (begin(), Time::UNIX_EPOCH);
    for _ in 0..steps {
        look(&run, &view(&run, now, &Surroundings::quiet()));
        let all = sayable::may_say(&run);
        let figure = reading(&run, random);
        let command = match random.u8(0..10) {
            0 => Command::Tick,
            1..=3 => all[random.usize(0..all.len())].command.clone(),
            // What was asked back counts when it is said again.
            4..=6 if run.doubted(now).is_some() => run.doubted(now).unwrap().clone(),
            4..=6 if figure.is_some() => Command::Reading(figure.unwrap()),
            _ => all[0].command.clone(),
        };
        // Stops and silence are followed often enough.
        now += match &command {
            Command::Tick => TimeDelta::seconds(random.i64(1..40_000)),
            _ => TimeDelta::seconds(random.i64(1..200)),
        };
        let by = match (&command, random.u8(0..12)) {
            (Command::Tick, _) => By::Clock,
            (_, 0) => By::DoubtfulVoice,
            _ => By::Voice,
        };
        if let Ok(events) = decide(&run, &Order { command, by }, now) {
            events.iter().for_each(|event| run.apply(event));
        }
        if run.state().finished && random.u8(0..4) == 0 {
            run = begin();
        }
    }
}

/// Over all that may be said at once no key stands twice, and every standard command comes by.
#[test]
fn no_two_things_share_a_key() {
    let mut random = fastrand::Rng::with_seed(7);
    let mut seen: BTreeSet<String> = BTreeSet::new();
    let mut shared: BTreeSet<String> = BTreeSet::new();
    for work in WORKS {
        walk(work, 2_500, None, &mut random, |_, view| {
            let mut keys: BTreeMap<&str, &str> = BTreeMap::new();
            for line in view.may_say.iter().filter(|line| !line.key.is_empty()) {
                let key = line.key.trim_start_matches("hold ");
                if let Some(other) = keys.insert(key, &line.say) {
                    shared.insert(format!("{key}: \"{other}\" and \"{}\"", line.say));
                }
            }
            seen.extend(view.may_say.iter().map(|line| line.say.clone()));
        });
    }
    assert!(shared.is_empty(), "{shared:#?}");
    // One command may have several phrases; the first one is shown.
    let shown = |command: &Command| {
        let mut standard = sayable::standard().into_iter();
        standard.find_map(|(say, other)| (other == *command).then_some(say))
    };
    let commands = sayable::standard().into_iter();
    let never: Vec<&str> = commands
        .filter_map(|(_, command)| shown(&command))
        .filter(|say| !seen.contains(*say))
        .collect();
    assert!(never.is_empty(), "never came by: {never:?}");
}

/// The foot holds few lines, always the way forward, the stop and the way to all the others.
#[test]
fn the_foot_holds_what_matters_now() {
    let mut random = fastrand::Rng::with_seed(11);
    for work in WORKS {
        let pages = room(FROM_THE_BENCH).ok();
        walk(work, 1_500, pages, &mut random, |run, view| {
            let foot: Vec<&str> = view
                .may_say
                .iter()
                .filter(|line| line.at_foot)
                .map(|line| line.say.as_str())
                .collect();
            assert!(
                foot.len() <= MOST_AT_FOOT,
                "{} at \"{}\": {foot:?}",
                foot.len(),
                words::call(run)
            );
            assert_eq!(
                foot.first(),
                view.may_say.first().map(|line| line.say.as_str()).as_ref()
            );
            assert!(foot.contains(&"assistance required"), "{foot:?}");
            let stopped = run.state().mode == Mode::Stopped;
            assert!(stopped || foot.contains(&"stop stop"), "{foot:?}");
        });
    }
}
