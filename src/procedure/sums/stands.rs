//! Stands under an axle.

use super::field::{Given, Written, fields, takes};
use super::{Reckoned, Taken, Work, kilograms, percent, told};
use crate::trade::jacking::{StandRating, stands_under_axle};
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

#[cfg(test)]
mod tests {
    use super::super::tests::outcome;
    use crate::trade::Verdict;

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
