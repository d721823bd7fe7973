//! Mixing paint: parts, thinner, the marks of the cup.

use super::field::{Given, Written, fields, takes};
use super::{Reckoned, Taken, Work, shown, told};
use crate::trade::Verdict;
use crate::trade::mixing::MixRatio;
use crate::trade::quantity::Volume;

takes! {
    MixRatio: "a ratio such as \"4:1\", \"4:1:1\" or \"2:1 + 10 % of mix\"", &[];
}

fields! {
    /// What goes into a mix.
    Mix, a "mix",
    must {
        /// Parts of base, hardener and thinner by volume.
        ratio: Written<MixRatio>,
    }
    may {
        /// The mix wanted, thinner included.
        total: Given<Volume>,
        /// The base there is, instead.
        base: Given<Volume>,
        /// The cup's scale from mark to mark: gives the marks to fill it to.
        mark: Volume,
    }
}

impl Work for Mix {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let ratio = self.ratio.value;
        let (total, base) = match (&self.total, &self.base) {
            (Some(total), None) => (Some(total.from(taken)?), None),
            (None, Some(base)) if self.mark.is_none() => (None, Some(base.from(taken)?)),
            (None, Some(_)) => {
                return Err("Marks of a cup are for a whole mix: write `total`, not `base`".into());
            }
            _ => return Err("A mix has either `total` or `base`: write one of them".into()),
        };
        if let (Some(total), Some(mark)) = (total, self.mark) {
            let worked = ratio.cup_marks(total, mark).map_err(told)?;
            let marks = worked.result;
            let mut result = format!(
                "Fill the cup with base to {}, with hardener to {}",
                shown(marks.base_to),
                shown(marks.hardener_to)
            );
            if marks.thinner_to > marks.hardener_to {
                result.push_str(&format!(", with thinner to {}", shown(marks.thinner_to)));
            }
            return Ok(Reckoned::of(&worked, Verdict::Go, result));
        }
        let worked = match (total, base) {
            (Some(total), _) => ratio.for_total(total),
            (None, base) => ratio.for_base(base.unwrap_or(Volume::millilitres(0.0))),
        };
        let worked = worked.map_err(told)?;
        let parts = worked.result;
        let mut result = format!(
            "{} of base, {} of hardener",
            shown(parts.base),
            shown(parts.hardener)
        );
        if parts.thinner > Volume::millilitres(0.0) {
            result.push_str(&format!(", {} of thinner", shown(parts.thinner)));
        }
        Ok(Reckoned::of(&worked, Verdict::Go, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};

    #[test]
    fn parts_and_marks() {
        let mix = outcome("Mix(ratio: \"4:1\", total: \"750 ml\")", &[]);
        assert_eq!(mix.result, "600 ml of base, 150 ml of hardener");
        let mix = outcome(
            "Mix(ratio: \"4:1:1\", base: \"base in the tin\")",
            &[("base in the tin", "ml", "400")],
        );
        assert_eq!(
            mix.result,
            "400 ml of base, 100 ml of hardener, 100 ml of thinner"
        );
        let marks = outcome(
            "Mix(ratio: \"4:1\", total: \"500 ml\", mark: \"50 ml\")",
            &[],
        );
        assert_eq!(
            marks.result,
            "Fill the cup with base to 400 ml, with hardener to 500 ml"
        );
    }

    #[test]
    fn one_amount_is_asked_for() {
        refused("Mix(ratio: \"4:1\")", &[]);
        refused("Mix(ratio: \"4:1\", total: \"1 L\", base: \"1 L\")", &[]);
        refused("Mix(ratio: \"4:1\", base: \"1 L\", mark: \"50 ml\")", &[]);
    }
}
