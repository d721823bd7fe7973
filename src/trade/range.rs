//! Holds what goes into a sum to the range that the sum's source allows.

use std::fmt::Display;

/// A quantity outside the range of the sum that was asked for; says what to type instead.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} must be from {least} to {most}, not {given}: try {nearest}")]
pub struct OutOfRange {
    pub what: &'static str,
    pub least: String,
    pub most: String,
    pub given: String,
    pub nearest: String,
}

/// Returns `given` if it lies from `least` to `most`; what is no number never does.
pub(in crate::trade) fn hold<Q>(
    what: &'static str,
    given: Q,
    least: Q,
    most: Q,
) -> Result<Q, OutOfRange>
where
    Q: PartialOrd + Display + Copy,
{
    if (least..=most).contains(&given) {
        return Ok(given);
    }
    Err(OutOfRange {
        what,
        least: least.to_string(),
        most: most.to_string(),
        given: given.to_string(),
        nearest: if given > most { most } else { least }.to_string(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::quantity::Length;

    #[test]
    fn a_refusal_names_the_range_and_the_nearest() {
        let (least, most) = (Length::millimetres(1.0), Length::metres(2.0));
        let held = |given| hold("The height", given, least, most);
        assert_eq!(held(Length::inches(1.0)), Ok(Length::millimetres(25.4)));
        assert_eq!(
            held(Length::metres(3.0)).map_err(|e| e.to_string()),
            Err("The height must be from 1 mm to 2 m, not 3 m: try 2 m".into())
        );
        assert!(held(Length::millimetres(f64::NAN)).is_err());
        assert!(held(Length::millimetres(f64::INFINITY)).is_err());
    }
}
