//! The guard over brake fluid.

use std::str::FromStr;

use super::field::{Given, Written, fields, takes};
use super::{Reckoned, Taken, Work};
use crate::trade::Verdict;
use crate::trade::brake::{BrakeFluid, pour};

/// A grade as the can says it: `DOT 4`. As a reading it is its number, in the unit `DOT`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grade(BrakeFluid);

impl FromStr for Grade {
    type Err = String;

    fn from_str(text: &str) -> Result<Grade, String> {
        const WRITE: &str = "write \"DOT 3\", \"DOT 4\", \"DOT 5\" or \"DOT 5.1\"";
        let upper = text.trim().to_uppercase();
        let number = upper
            .strip_prefix("DOT")
            .or(upper.strip_suffix("DOT"))
            .ok_or_else(|| {
                format!("A grade of brake fluid is as on the can, not {text:?}: {WRITE}")
            })?;
        match number.trim().parse() {
            Ok(3.0) => Ok(Grade(BrakeFluid::Dot3)),
            Ok(4.0) => Ok(Grade(BrakeFluid::Dot4)),
            Ok(5.0) => Ok(Grade(BrakeFluid::Dot5)),
            Ok(5.1) => Ok(Grade(BrakeFluid::Dot5_1)),
            _ => Err(format!("There is no grade {text:?}: {WRITE}")),
        }
    }
}

takes! {
    Grade: "a grade such as \"DOT 4\"", &["DOT"];
}

fields! {
    /// Whether a fluid may be poured on another.
    Fluid, a "brake fluid",
    must {
        /// The fluid in the can.
        poured: Given<Grade>,
    }
    may {
        /// The fluid in the system; left out where nobody knows, and then nothing may be poured.
        inside: Written<Grade>,
    }
}

impl Work for Fluid {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let poured = self.poured.from(taken)?.0;
        let inside = self.inside.as_ref().map(|written| written.value.0);
        let worked = pour(inside, poured);
        let onto = inside.map_or("what is not known", BrakeFluid::name);
        let result = match worked.result {
            Verdict::Refuse => format!("Do not pour {} onto {onto}", poured.name()),
            _ => format!("{} may go onto {onto}", poured.name()),
        };
        Ok(Reckoned::of(&worked, worked.result, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    #[test]
    fn silicone_and_glycol_do_not_meet() {
        let pour = |inside: &str, figure| {
            let sum = format!("Fluid({inside} poured: \"grade on the can\")");
            outcome(&sum, &[("grade on the can", "DOT", figure)]).verdict
        };
        assert_eq!(pour("inside: \"DOT 4\",", "4.0"), Verdict::Go);
        assert_eq!(pour("inside: \"DOT 4\",", "5.1"), Verdict::Go);
        assert_eq!(pour("inside: \"DOT 4\",", "5.0"), Verdict::Refuse);
        assert_eq!(pour("inside: \"DOT 4\",", "3.0"), Verdict::Warn);
        assert_eq!(pour("", "4.0"), Verdict::Refuse);
        refused(
            "Fluid(inside: \"DOT 4\", poured: \"grade on the can\")",
            &[("grade on the can", "DOT", "7.0")],
        );
    }
}
