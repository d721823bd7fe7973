//! End float of wheel bearings from a dial, pulled and pushed.

use super::quantity::{Angle, Length, LengthDifference};
use super::worked::{Verdict, neat};
use super::{Answer, Worked};

/// What the dial says of a bearing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndFloat {
    pub verdict: Verdict,
    pub float: Length,
}

impl From<EndFloat> for Answer {
    fn from(end_float: EndFloat) -> Answer {
        Answer::Named(vec![
            ("verdict", end_float.verdict.into()),
            ("end float", end_float.float.into()),
        ])
    }
}

/// Why readings say nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EndFloatError {
    #[error("The limits must rise, not go from {0} to {1}")]
    Limits(Length, Length),
    #[error("{0} is no end float of a bearing: zero the dial and read it again")]
    TooLarge(Length),
}

/// Judges the end float: the dial pulled less the dial pushed, whichever way the dial counts, against
/// the step's limits. Too little is refused as too much is: a bearing without play runs hot.
///
/// # Errors
/// [`EndFloatError`] for limits that do not rise, or a float above 5 mm.
///
/// Source: TMC RP 618 as printed by a hub maker: pull while rocking, read; push while rocking, read; the
/// float is the whole travel; 0.001 to 0.005 in for its heavy wheel ends. Other limits are the step's own.
pub fn end_float(
    pulled: LengthDifference,
    pushed: LengthDifference,
    least: Length,
    most: Length,
) -> Result<Worked<EndFloat>, EndFloatError> {
    if least > most {
        return Err(EndFloatError::Limits(least, most));
    }
    let unit = pulled.unit();
    let travel = (pulled - pushed).in_millimetres().abs();
    let float = Length::millimetres(travel).shown_in(unit);
    if float > Length::millimetres(5.0) {
        return Err(EndFloatError::TooLarge(float));
    }
    // What subtraction leaves in the last digits does not decide.
    let slack = 1e-9;
    let tight = travel < least.in_millimetres() - slack;
    let loose = travel > most.in_millimetres() + slack;
    let verdict = if tight || loose {
        Verdict::Refuse
    } else {
        Verdict::Go
    };
    let formula = format!(
        "{pulled} − ({pushed}) = {} {}, wanted {least} to {most}",
        neat(float.value_in(unit)),
        unit.symbol()
    );
    let worked = Worked::new(
        EndFloat { verdict, float },
        formula,
        "total dial travel, pull and push: TMC RP 618",
    );
    Ok(if tight {
        worked.caution("Too little play: the bearing runs hot and can seize. Back the nut off.")
    } else if loose {
        worked.caution("Too much play: the wheel wobbles and the bearing wears. Take the nut up.")
    } else {
        worked
    })
}

/// Returns how far a nut travels when turned by `turned`: turns times pitch. It is not the end float it
/// leaves, since a nut that was tight has to let go first: the float is measured.
///
/// Source: arithmetic.
pub fn nut_travel(turned: Angle, pitch: Length) -> Worked<Length> {
    let travel = pitch * turned.in_turns();
    let formula = format!(
        "{} turns × {:.4} = {} {}",
        neat(turned.in_turns()),
        pitch,
        neat(travel.value_in(travel.unit())),
        travel.unit().symbol()
    );
    Worked::new(travel, formula, "arithmetic")
        .caution("This is the nut's travel, not the end float: measure that with the dial.")
}
