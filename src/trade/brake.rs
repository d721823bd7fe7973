//! Brake discs by micrometer and dial, and which fluid may be poured.

use serde::{Deserialize, Serialize};

use super::quantity::{Length, LengthDifference, Temperature};
use super::worked::{Verdict, neat};
use super::{Answer, Worked};

/// At how many places round the disc its thickness is taken at least.
///
/// Source: workshop manuals print 4, 8 or 12; eight is the number of a light truck maker's manual.
pub const DISC_PLACES: usize = 8;

/// Why readings say nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadingError {
    #[error(
        "Measure the disc at {DISC_PLACES} places at least, evenly round it; there are {0} readings"
    )]
    TooFewPlaces(usize),
    #[error("A disc's thickness lies above 0 and below 200 mm, not at {0}: read it again")]
    Thickness(Length),
    #[error(
        "A disc's minimum lies above 0 and below 200 mm, not at {0}: read what is stamped on it"
    )]
    Minimum(Length),
    #[error("A run-out needs the dial's readings over a whole turn, two at least; there are {0}")]
    TooFewReadings(usize),
    #[error("No position of the disc on its hub was measured")]
    NoPosition,
}

/// What a disc's readings come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiscFinding {
    pub verdict: Verdict,
    pub thinnest: Length,
    pub variation: Length,
}

impl From<DiscFinding> for Answer {
    fn from(finding: DiscFinding) -> Answer {
        Answer::Named(vec![
            ("verdict", finding.verdict.into()),
            ("thinnest", finding.thinnest.into()),
            ("variation", finding.variation.into()),
        ])
    }
}

/// Judges the thickness of a disc from readings round it: the thinnest against the minimum stamped on
/// it, and the difference of thickest and thinnest against the step's limit.
///
/// Refuse below the minimum; warn where the variation is over its limit (the pedal shudders; the disc is
/// machined if that leaves the minimum, or changed).
///
/// # Errors
/// [`ReadingError`] for fewer than eight readings, or one or a minimum outside 0 to 200 mm.
///
/// Source: thickness variation is the largest reading less the smallest: workshop manuals of several
/// makers. The limits are the step's own.
pub fn disc_thickness(
    readings: &[Length],
    minimum: Length,
    variation_limit: Option<Length>,
) -> Result<Worked<DiscFinding>, ReadingError> {
    if readings.len() < DISC_PLACES {
        return Err(ReadingError::TooFewPlaces(readings.len()));
    }
    let sound = Length::millimetres(0.0)..Length::millimetres(200.0);
    let odd = |reading: &&Length| !(sound.start < **reading && **reading < sound.end);
    if let Some(odd) = readings.iter().find(odd) {
        return Err(ReadingError::Thickness(*odd));
    }
    if odd(&&minimum) {
        return Err(ReadingError::Minimum(minimum));
    }
    let smaller = |a: Length, b: &Length| if *b < a { *b } else { a };
    let larger = |a: Length, b: &Length| if *b > a { *b } else { a };
    let thinnest = readings.iter().fold(readings[0], smaller);
    let thickest = readings.iter().fold(readings[0], larger);
    let variation = thickest - thinnest;
    let over = variation_limit.filter(|limit| exceeds(variation, *limit));
    let verdict = match (thinnest < minimum, over) {
        (true, _) => Verdict::Refuse,
        (false, Some(_)) => Verdict::Warn,
        (false, None) => Verdict::Go,
    };
    let finding = DiscFinding {
        verdict,
        thinnest,
        variation,
    };
    let formula = format!(
        "thinnest {thinnest}, minimum {minimum}; {thickest} − {thinnest} = {} {}",
        neat(variation.value_in(variation.unit())),
        variation.unit().symbol()
    );
    let worked = Worked::new(finding, formula, "workshop manuals: largest less smallest");
    Ok(if thinnest < minimum {
        worked.caution(
            "The disc is worn out: it may crack or the piston may leave its bore. Change it.",
        )
    } else if let Some(limit) = over {
        worked.caution(format!(
            "The thickness varies by more than {limit}: machine the disc if the minimum allows, or \
             change it."
        ))
    } else {
        worked
    })
}

/// Whether a difference of readings is over a limit; the last digits that subtraction leaves do not
/// count.
fn exceeds(value: Length, limit: Length) -> bool {
    value.in_millimetres() > limit.in_millimetres() + 1e-9
}

/// What dial readings over a turn come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunOut {
    pub verdict: Verdict,
    /// The whole travel of the needle.
    pub run_out: Length,
}

impl From<RunOut> for Answer {
    fn from(run_out: RunOut) -> Answer {
        Answer::Named(vec![
            ("verdict", run_out.verdict.into()),
            ("run-out", run_out.run_out.into()),
        ])
    }
}

/// Judges run-out: the whole travel of the dial over one turn against the step's limit.
///
/// # Errors
/// [`ReadingError::TooFewReadings`] for fewer than two readings.
///
/// Source: total indicator reading, as workshop manuals of several makers have it.
pub fn run_out(
    readings: &[LengthDifference],
    limit: Length,
) -> Result<Worked<RunOut>, ReadingError> {
    if readings.len() < 2 {
        return Err(ReadingError::TooFewReadings(readings.len()));
    }
    let smaller = |a, b: &LengthDifference| if *b < a { *b } else { a };
    let larger = |a, b: &LengthDifference| if *b > a { *b } else { a };
    let least = readings.iter().fold(readings[0], smaller);
    let most = readings.iter().fold(readings[0], larger);
    let unit = least.unit();
    let travel = Length::millimetres((most - least).in_millimetres()).shown_in(unit);
    let verdict = if exceeds(travel, limit) {
        Verdict::Refuse
    } else {
        Verdict::Go
    };
    let formula = format!(
        "{most} − ({least}) = {} {}, limit {limit}",
        neat(travel.value_in(unit)),
        unit.symbol()
    );
    let run_out = RunOut {
        verdict,
        run_out: travel,
    };
    let worked = Worked::new(
        run_out,
        formula,
        "total indicator reading: workshop manuals",
    );
    Ok(if verdict == Verdict::Go {
        worked
    } else {
        worked.caution(
            "Check the bearing's play and the hub's face first, then turn the disc one hole on its hub \
             and measure again.",
        )
    })
}

/// Returns which position of the disc on its hub runs truest, counted from 0, and its run-out.
///
/// # Errors
/// [`ReadingError::NoPosition`] when none was measured.
///
/// Source: indexing the disc hole by hole to its least run-out, as a maker's manual describes.
pub fn best_position(run_outs: &[Length]) -> Result<Worked<(usize, Length)>, ReadingError> {
    let best = run_outs
        .iter()
        .copied()
        .enumerate()
        .reduce(|best, next| if next.1 < best.1 { next } else { best })
        .ok_or(ReadingError::NoPosition)?;
    let all: Vec<_> = run_outs.iter().map(Length::to_string).collect();
    let formula = format!("least of {} = {}", all.join(", "), best.1);
    Ok(Worked::new(best, formula, "indexing: workshop manuals"))
}

/// Returns which position of the disc on its hub runs truest, counted from 0, and judges its run-out.
///
/// # Errors
/// [`ReadingError::NoPosition`] when none was measured.
///
/// Source: as [`best_position`].
pub fn best_place(
    run_outs: &[Length],
    limit: Length,
) -> Result<Worked<(usize, RunOut)>, ReadingError> {
    let best = best_position(run_outs)?;
    let (_, run_out) = best.result;
    let verdict = if exceeds(run_out, limit) {
        Verdict::Refuse
    } else {
        Verdict::Go
    };
    let formula = format!("{}, limit {limit}", best.formula);
    let mut worked = best.map(|(place, run_out)| (place, RunOut { verdict, run_out }));
    worked.formula = formula;
    Ok(if verdict == Verdict::Go {
        worked
    } else {
        worked
            .caution("Look at the hub's face and the bearing, or have the disc turned or replaced.")
    })
}

/// A grade of brake fluid, as its can says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum BrakeFluid {
    Dot3,
    Dot4,
    /// Silicone.
    Dot5,
    /// Glycol, though its number says 5.
    Dot5_1,
}

impl BrakeFluid {
    /// Returns the least boiling points, dry and wet.
    ///
    /// Source: FMVSS 116 (49 CFR 571.116).
    pub fn boiling_points(self) -> (Temperature, Temperature) {
        let (dry, wet) = match self {
            BrakeFluid::Dot3 => (205.0, 140.0),
            BrakeFluid::Dot4 => (230.0, 155.0),
            BrakeFluid::Dot5 | BrakeFluid::Dot5_1 => (260.0, 180.0),
        };
        (Temperature::celsius(dry), Temperature::celsius(wet))
    }

    /// Returns whether it is silicone, which mixes with no other.
    pub fn is_silicone(self) -> bool {
        self == BrakeFluid::Dot5
    }

    /// Returns the name on the can.
    pub fn name(self) -> &'static str {
        match self {
            BrakeFluid::Dot3 => "DOT 3",
            BrakeFluid::Dot4 => "DOT 4",
            BrakeFluid::Dot5 => "DOT 5",
            BrakeFluid::Dot5_1 => "DOT 5.1",
        }
    }
}

/// Judges topping up a system that holds `inside` with `poured`.
///
/// Refuse silicone on glycol or glycol on silicone, and anything on a fluid nobody knows: seals of old
/// brakes may be of natural rubber, which these fluids destroy or are destroyed by. Warn where the poured
/// fluid boils sooner than the one inside.
///
/// Source: FMVSS 116 for the grades; that silicone is not mixed with glycol: fluid makers' guidance.
pub fn pour(inside: Option<BrakeFluid>, poured: BrakeFluid) -> Worked<Verdict> {
    const SOURCE: &str = "FMVSS 116 (49 CFR 571.116); fluid makers' guidance on silicone";
    let Some(inside) = inside else {
        return Worked::new(Verdict::Refuse, "unknown fluid", SOURCE).caution(
            "What is in the system is not known: find out, or drain and flush it and look at the seals \
             before filling.",
        );
    };
    let formula = format!("{} onto {}", poured.name(), inside.name());
    if inside.is_silicone() != poured.is_silicone() {
        return Worked::new(Verdict::Refuse, formula, SOURCE).caution(
            "DOT 5 is silicone and mixes with no other: the brakes can fail. DOT 5.1 is not DOT 5.",
        );
    }
    if poured.boiling_points().0 < inside.boiling_points().0 {
        return Worked::new(Verdict::Warn, formula, SOURCE).caution(format!(
            "{} boils sooner than {}: the mixture is only as good as the lesser.",
            poured.name(),
            inside.name()
        ));
    }
    Worked::new(Verdict::Go, formula, SOURCE)
}
