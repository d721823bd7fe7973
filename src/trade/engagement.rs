//! How deep a thread must hold, and how many turns of a nut that is.

use serde::{Deserialize, Serialize};

use super::quantity::{Angle, Area, Length};
use super::range::{OutOfRange, hold};
use super::thread::Thread;
use super::worked::{Verdict, neat};
use super::{Answer, Worked};

/// What the thread is cut into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Into {
    SteelOrIron,
    Aluminium,
}

/// Returns the engagement at which bolt and hole of equal strength strip no sooner than the bolt breaks:
/// L = 2·A_t / (0.5·π·(D − 0.649 52·P)).
///
/// Source: FED-STD-H28/2B; Machinery's Handbook, 24th ed.
pub fn least_engagement(area: Area, diameter: Length, pitch: Length) -> Worked<Length> {
    let inner = diameter.in_millimetres() - 0.649_52 * pitch.in_millimetres();
    let millimetres = 2.0 * area.in_square_millimetres() / (0.5 * std::f64::consts::PI * inner);
    let length = Length::millimetres(millimetres).shown_in(diameter.unit());
    let formula = format!(
        "2 × {area} / (0.5 π × ({diameter} − 0.64952 × {pitch})) = {} {}",
        neat(length.value_in(length.unit())),
        length.unit().symbol()
    );
    Worked::new(
        length,
        formula,
        "FED-STD-H28/2B; Machinery's Handbook, 24th ed.",
    )
    .caution("Holds for bolt and hole of equal strength; a weaker hole needs more.")
}

/// Returns the engagement by rule of thumb: 1.25 diameters in steel or iron, 2 in aluminium.
///
/// Source: an engine maker's published table.
pub fn usual_engagement(thread: Thread, into: Into) -> Worked<Length> {
    let times = match into {
        Into::SteelOrIron => 1.25,
        Into::Aluminium => 2.0,
    };
    let length = thread.diameter() * times;
    let formula = format!(
        "{} × {} = {} {}",
        neat(times),
        thread.diameter(),
        neat(length.value_in(length.unit())),
        length.unit().symbol()
    );
    Worked::new(length, formula, "an engine maker's published table")
}

/// Returns the engagement that `thread` needs: by the rule of thumb for what it is cut into; where that is
/// not said, at which bolt and hole of equal strength strip no sooner than the bolt breaks.
pub fn needed_engagement(thread: Thread, into: Option<Into>) -> Worked<Length> {
    match into {
        Some(into) => usual_engagement(thread, into),
        None => least_engagement(
            thread.nominal_stress_area(),
            thread.diameter(),
            thread.pitch(),
        ),
    }
}

/// How a wheel nut holds on its stud.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NutTurns {
    /// The full turns the nut needs at least.
    pub needed: Angle,
    /// The turns it has, where they were counted.
    pub has: Option<Angle>,
    /// Whether it holds; none where nobody counted.
    pub holds: Option<bool>,
}

impl NutTurns {
    /// Returns whether the nut may be driven on; one that nobody counted is not judged.
    pub fn verdict(self) -> Verdict {
        match self.holds {
            Some(false) => Verdict::Refuse,
            Some(true) | None => Verdict::Go,
        }
    }
}

impl From<NutTurns> for Answer {
    fn from(turns: NutTurns) -> Answer {
        let mut parts = vec![("needed", turns.needed.into())];
        if let Some(has) = turns.has {
            parts.push(("has", has.into()));
        }
        if let Some(holds) = turns.holds {
            let word = if holds { "holds" } else { "does not hold" };
            parts.push(("nut", Answer::Words(word.into())));
        }
        Answer::Named(parts)
    }
}

/// Returns the full turns a nut must go on its stud to be engaged over `depth` (one diameter when
/// none is given), and whether the turns counted are enough. Turns needed are rounded up.
///
/// Source: engagement of at least the stud's diameter: SAE rule as quoted by wheel suppliers; one and a
/// half diameters for nuts of alloy are common practice, no source.
///
/// # Errors
/// [`OutOfRange`] for a count outside 0 to 200 turns, or a depth outside 1 mm to 200 mm.
pub fn nut_turns(
    thread: Thread,
    depth: Option<Length>,
    counted: Option<Angle>,
) -> Result<Worked<NutTurns>, OutOfRange> {
    if let Some(turns) = counted {
        let (least, most) = (Angle::turns(0.0), Angle::turns(200.0));
        hold("The turns counted", turns, least, most)?;
    }
    if let Some(depth) = depth {
        let (least, most) = (Length::millimetres(1.0), Length::millimetres(200.0));
        hold("The depth", depth, least, most)?;
    }
    let depth = depth.unwrap_or(thread.diameter());
    let exact = depth / thread.pitch();
    // A quotient such as 12/1.5 that lands just above a whole number is that number.
    let needed = (exact - 1e-9).ceil();
    let holds = counted.map(|turns| turns.in_turns() >= needed - 1e-9);
    let formula = format!("{} / {} = {} turns", depth, thread.pitch(), neat(exact));
    let turns = NutTurns {
        needed: Angle::turns(needed),
        has: counted,
        holds,
    };
    let worked = Worked::new(
        turns,
        formula,
        "engagement of at least one diameter: SAE rule as quoted by wheel suppliers",
    );
    Ok(if holds == Some(false) {
        worked.caution("The stud is too short for this wheel or nut: do not drive on it.")
    } else {
        worked
    })
}
