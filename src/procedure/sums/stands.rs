//! Stands under an axle, and chocks at the wheels that stay down.

use super::field::{Given, Written, fields, takes, words};
use super::{Reckoned, Taken, Work, kilograms, percent, told};
use crate::trade::Verdict;
use crate::trade::jacking::{End, StandRating, chocking, stands_under_axle};
use crate::trade::quantity::Mass;

takes! {
    StandRating: "a rating such as \"1500 kg per stand\" or \"3 t per pair\"", &["kg", "t"];
}

fields! {
    /// Whether two stands may hold up an axle.
    Stands, a "stands",
    must {
        /// What the plate says, and whether for one stand or for the pair.
        rating: Written<StandRating>,
        /// What the axle bears.
        axle: Given<Mass>,
        vehicle: Mass,
    }
    may {}
}

impl Work for Stands {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let axle = self.axle.from(taken)?;
        let worked = stands_under_axle(self.rating.value, axle, self.vehicle).map_err(told)?;
        let check = worked.result;
        let result = format!(
            "Each stand bears {}, {} of its {}",
            kilograms(check.bears),
            percent(check.used),
            kilograms(check.limit)
        );
        Ok(Reckoned::of(&worked, check.verdict, result))
    }
}

words! {
    End: Front Rear;
}

fields! {
    /// Which wheels to chock.
    Chocks, a "chocks",
    must {
        /// The end that goes up.
        raised: End,
    }
    may {
        /// The end the parking brake acts on; left out where it is not known to hold.
        brake_on: End,
    }
}

impl Work for Chocks {
    fn work(&self, _: &Taken) -> Result<Reckoned, String> {
        let worked = chocking(self.raised, self.brake_on);
        let wheels = worked.result.chock.wheels();
        let mut result = format!("Chock {wheels}, before and behind, on both sides");
        if !worked.result.brake_holds {
            result.push_str(": the parking brake does not hold while the other end is up");
        }
        Ok(Reckoned::of(&worked, Verdict::Go, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::outcome;
    use crate::trade::Verdict;

    #[test]
    fn the_wheels_that_stay_down_are_chocked() {
        let held = outcome("Chocks(raised: Front, brake_on: Rear)", &[]);
        assert_eq!(
            held.result,
            "Chock the rear wheels, before and behind, on both sides"
        );
        for loose in [
            "Chocks(raised: Rear, brake_on: Rear)",
            "Chocks(raised: Front)",
        ] {
            assert!(
                outcome(loose, &[]).result.contains("does not hold"),
                "{loose}"
            );
        }
    }

    #[test]
    fn one_stand_or_the_pair_makes_the_difference() {
        let stands = |rating: &str| {
            let sum = format!("Stands(rating: \"{rating}\", axle: \"axle\", vehicle: \"2.6 t\")");
            outcome(&sum, &[("axle", "kg", "1600")])
        };
        let single = stands("1500 kg per stand");
        assert_eq!(single.verdict, Verdict::Go);
        assert_eq!(
            single.result,
            "Each stand bears 800 kg, 54 % of its 1500 kg"
        );
        assert_eq!(stands("1500 kg per pair").verdict, Verdict::Refuse);
        assert_eq!(stands("1 t per stand").verdict, Verdict::Warn);
    }
}
