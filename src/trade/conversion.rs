//! A torque in another unit, and the mark to dial for it.

use super::torque::{TorqueError, TorqueUnit};
use super::worked::neat;
use super::{Answer, Torque, Worked};

const SOURCE: &str = "1 lb = 0.45359237 kg, 1 ft = 0.3048 m (international yard and pound agreement \
                      of 1959); g = 9.80665 m/s² (SI Brochure, 9th edition)";

/// A torque as it reads in another unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Converted {
    /// What the sum comes to. For showing: it is not converted again.
    pub exact: Torque,
    /// The largest mark not above it, on a scale with steps.
    pub dial: Option<Torque>,
}

impl From<Converted> for Answer {
    fn from(converted: Converted) -> Answer {
        match converted.dial {
            Some(dial) => Answer::Named(vec![
                ("dial", dial.into()),
                ("exact", converted.exact.into()),
            ]),
            None => converted.exact.into(),
        }
    }
}

/// Returns `written` in `unit`, and on a scale with marks `step` apart the largest mark not above it, in
/// the unit of the scale.
///
/// Source: the exact factors of [`TorqueUnit`].
///
/// # Errors
/// [`TorqueError::BelowScale`] where the torque is below the first mark.
pub fn convert(
    written: Torque,
    unit: TorqueUnit,
    step: Option<Torque>,
) -> Result<Worked<Converted>, TorqueError> {
    let exact = Torque::computed(written.value_in(unit), unit);
    let symbol = unit.symbol();
    let factor = written.unit().newton_metres() / unit.newton_metres();
    let mut formula = if unit == written.unit() {
        format!("{written}, as written")
    } else {
        format!(
            "{written} × {} {symbol}/{} = {} {symbol}",
            neat(factor),
            written.unit().symbol(),
            neat(exact.value_in(unit)),
        )
    };
    let dial = match step {
        None => None,
        Some(step) => {
            let mark = written
                .down_to_mark(step)
                .ok_or(TorqueError::BelowScale { written, step })?;
            formula.push_str(&format!("; down to the mark of {mark}, in steps of {step}"));
            Some(mark)
        }
    };
    Ok(Worked::new(Converted { exact, dial }, formula, SOURCE))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_torque_is_shown_in_another_unit_and_rounded_down_to_the_scale() {
        let written: Torque = "80 lb-ft".parse().unwrap();
        let step = Some("5 N·m".parse().unwrap());
        let worked = convert(written, TorqueUnit::NewtonMetre, step).unwrap();
        assert_eq!(worked.result.dial, "105 N·m".parse().ok());
        assert!((worked.result.exact.newton_metres() - 108.465_435_9).abs() < 1e-6);
        assert_eq!(
            worked.formula,
            "80 lbf·ft × 1.356 N·m/lbf·ft = 108.5 N·m; down to the mark of 105 N·m, in steps of 5 N·m"
        );
        let little: Torque = "3 N·m".parse().unwrap();
        let refused = convert(little, TorqueUnit::NewtonMetre, step).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "3 N·m is below the first mark of a scale in steps of 5 N·m: take a finer wrench"
        );
    }
}
