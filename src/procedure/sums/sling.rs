//! How much a sling may lift by the limit of one leg, and the direction of its legs.

use super::field::{Given, fields};
use super::{Reckoned, Taken, Work, kilograms, told};
use crate::trade::Verdict;
use crate::trade::lifting::{LegAngle, Legs, limit_by_standard};
use crate::trade::quantity::{Angle, Length, Mass};

/// The direction of the legs as a sum has it: an angle and the line it is measured from, or length and
/// height.
pub(super) struct Direction<'a> {
    pub legs: Legs,
    pub from_horizontal: &'a Option<Given<Angle>>,
    pub from_vertical: &'a Option<Given<Angle>>,
    pub leg: &'a Option<Given<Length>>,
    pub height: &'a Option<Given<Length>>,
}

impl Direction<'_> {
    pub(super) fn angle(&self, taken: &Taken) -> Result<LegAngle, String> {
        match (
            self.from_horizontal,
            self.from_vertical,
            self.leg,
            self.height,
        ) {
            (Some(angle), None, None, None) => Ok(LegAngle::FromHorizontal(angle.from(taken)?)),
            (None, Some(angle), None, None) => Ok(LegAngle::FromVertical(angle.from(taken)?)),
            (None, None, Some(leg), Some(height)) => {
                LegAngle::of_lengths(leg.from(taken)?, height.from(taken)?).map_err(told)
            }
            (None, None, None, None) if self.legs == Legs::One => {
                Ok(LegAngle::FromVertical(Angle::degrees(0.0)))
            }
            _ => Err(
                "The legs' direction is told in one way: write `from_horizontal`, \
                      `from_vertical`, or `leg` and `height`"
                    .into(),
            ),
        }
    }
}

fields! {
    /// How much a sling may lift.
    SlingLimit, a "sling limit",
    must {
        /// What one leg may lift, by its tag.
        one_leg: Given<Mass>,
        legs: Legs,
    }
    may {
        /// The direction of the legs, in one of three ways.
        from_horizontal: Given<Angle>,
        from_vertical: Given<Angle>,
        leg: Given<Length>,
        height: Given<Length>,
        /// What is to be lifted, rigging under the hook included.
        load: Given<Mass>,
    }
}

impl Work for SlingLimit {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let direction = Direction {
            legs: self.legs,
            from_horizontal: &self.from_horizontal,
            from_vertical: &self.from_vertical,
            leg: &self.leg,
            height: &self.height,
        };
        let one_leg = self.one_leg.from(taken)?;
        let angle = direction.angle(taken)?;
        let worked = limit_by_standard(one_leg, self.legs, angle).map_err(told)?;
        // Rounded down: a limit is never shown higher than it is.
        let limit = format!("{} kg", (worked.result.in_kilograms() + 1e-6).floor());
        let load = self
            .load
            .as_ref()
            .map(|load| load.from(taken))
            .transpose()?;
        Ok(match load {
            Some(load) if load > worked.result => {
                let result = format!(
                    "The sling may lift {limit} so, and the load is {}",
                    kilograms(load)
                );
                let mut reckoned = Reckoned::of(&worked, Verdict::Refuse, result);
                let cure = "Take a stronger sling, or longer legs that stand steeper.";
                reckoned.more.insert(0, cure.into());
                reckoned
            }
            _ => Reckoned::of(
                &worked,
                Verdict::Go,
                format!("The sling may lift {limit} at this angle"),
            ),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    /// EN 818-4: two legs lift 1.4 times one up to 45° from upright, and once from there to 60°.
    #[test]
    fn flatter_legs_lift_less() {
        let sling = |angle: &str| {
            let sum = format!(
                "SlingLimit(one_leg: \"1 t\", legs: Two, from_vertical: \"{angle}\", load: \"load\")"
            );
            outcome(&sum, &[("load", "kg", "1200")])
        };
        let steep = sling("45°");
        assert_eq!(steep.verdict, Verdict::Go);
        assert!(steep.result.contains("1400 kg"), "{}", steep.result);
        let flat = sling("50°");
        assert_eq!(flat.verdict, Verdict::Refuse);
        assert!(flat.result.contains("1000 kg"), "{}", flat.result);
        refused(
            "SlingLimit(one_leg: \"1 t\", legs: Two, from_vertical: \"70°\")",
            &[],
        );
        refused("SlingLimit(one_leg: \"1 t\", legs: Two)", &[]);
    }
}
