//! Figures for the readings of a history: within their limits, and such that the sums of their step allow it.

use crate::procedure::Requirement;
use crate::run::{By, Command, Event, Figure, Order, Run, Time, decide};
use crate::trade::Verdict;

/// How many sets of figures are tried for the readings of one step.
const TRIED: u32 = 2_000;

/// Where in their ranges all readings of a step are tried first.
const SHARES: [f64; 5] = [0.0, 0.5, 1.0, 0.25, 0.75];

/// Returns the figures for the readings of the called step that are still to be taken: the lowest, unless a sum
/// refuses these. None where no figures were found that it allows.
pub(super) fn figures(run: &Run, now: Time) -> Option<Vec<Figure>> {
    let mut die = Die(1);
    (0..TRIED).find_map(|number| {
        let same = SHARES.get(number as usize).copied();
        taken(run, now, || same.unwrap_or_else(|| die.share()))
    })
}

/// Takes the readings, and returns the figures where all are within their limits and no sum refuses them.
fn taken(run: &Run, now: Time, mut share: impl FnMut() -> f64) -> Option<Vec<Figure>> {
    let mut run = run.clone();
    let job = run.state().job;
    let step = run.progress().step;
    let mut figures = Vec::new();
    while let Some(Requirement::Reading(reading)) = run.requirement()
        && (run.state().job, run.progress().step) == (job, step)
    {
        let value = reading.low + (reading.high - reading.low) * share();
        let figure = Figure::of(reading, value)?;
        let within = (reading.low..=reading.high).contains(&figure.value());
        figures.push(figure.clone());
        for command in [Command::Reading(figure), Command::ConfirmReading] {
            let by = By::Voice;
            let events = decide(&run, &Order { command, by }, now).ok()?;
            // Readings that have become too old come first.
            if events
                .iter()
                .any(|event| matches!(event, Event::ReadingsAged { .. }))
            {
                return None;
            }
            events.iter().for_each(|event| run.apply(event));
        }
        if !within {
            return None;
        }
    }
    (run.verdict() != Verdict::Refuse).then_some(figures)
}

/// Falls the same way each time, so that a history is always told the same (the multiplier and increment are
/// those of MMIX, as D. Knuth gives them in Seminumerical Algorithms, section 3.3.4; from memory).
struct Die(u64);

impl Die {
    /// A number from 0 up to 1.
    fn share(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 40) as f64 / (1u64 << 24) as f64
    }
}
