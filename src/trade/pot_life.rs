//! Pot life: how long mixed paint can be used, and how much of that is left.

use super::cure::{CureError, CureSheet, LONGEST, SHORTEST, Spell};
use super::quantity::{Temperature, TimeSpan};
use super::range::hold;
use super::worked::{Worked, neat};

impl CureSheet {
    /// Returns how long mixed paint of this temperature can be used.
    ///
    /// Range: as [`CureSheet::time_at`]; `material` is the temperature of the paint, not of the air.
    ///
    /// # Errors
    /// As [`CureSheet::time_at`].
    pub fn pot_life(
        &self,
        on_sheet: TimeSpan,
        material: Temperature,
    ) -> Result<Worked<TimeSpan>, CureError> {
        let mut worked = self.time_at(on_sheet, material)?;
        worked.cautions.clear();
        let worked = worked.caution(
            "A large batch in one pot warms itself and sets sooner. Thinner never makes it last longer.",
        );
        Ok(if material < self.reference() {
            worked.caution("Longer than the sheet's own time: stop as soon as the paint thickens.")
        } else {
            worked
        })
    }

    /// Returns how much of the pot life is left after `spells`, if the paint stays as it is now. Nothing
    /// is left at 0.
    ///
    /// Cold spells count in full, as at the sheet's temperature, so that the answer is never too long.
    ///
    /// # Errors
    /// [`CureError::NoReading`] without a spell; [`CureError::TooHot`] where one was hotter than the
    /// sheet says.
    pub fn pot_life_left(
        &self,
        on_sheet: TimeSpan,
        spells: &[Spell],
    ) -> Result<Worked<TimeSpan>, CureError> {
        hold("The sheet's time", on_sheet, SHORTEST, LONGEST)?;
        let now = spells.last().ok_or(CureError::NoReading)?;
        let mut used = 0.0;
        for spell in spells {
            spell.held()?;
            if spell.at > self.most() {
                return Err(self.too_hot(spell.at));
            }
            used += spell.lasted.in_hours() * self.speed_at(spell.at).max(1.0);
        }
        let left = (on_sheet.in_hours() - used).max(0.0) / self.speed_at(now.at).max(1.0);
        let formula = format!(
            "({} h − {} h used)/{} = {} h",
            neat(on_sheet.in_hours()),
            neat(used),
            neat(self.speed_at(now.at).max(1.0)),
            neat(left),
        );
        Ok(Worked::new(TimeSpan::hours(left), formula, self.source()))
    }
}

#[cfg(test)]
mod tests {
    use super::super::cure::SpeedLaw;
    use super::*;
    use proptest::prelude::*;

    fn sheet() -> CureSheet {
        let celsius = Temperature::celsius;
        let law = SpeedLaw::TwicePerTenDegrees;
        CureSheet::new(celsius(20.0), law, celsius(8.0), celsius(35.0)).unwrap()
    }

    fn spell(hours: f64, celsius: f64) -> Spell {
        Spell {
            lasted: TimeSpan::hours(hours),
            at: Temperature::celsius(celsius),
        }
    }

    #[test]
    fn what_is_left_of_the_pot_is_never_stretched_by_cold() {
        let left = |spells: &[Spell]| {
            let left = sheet().pot_life_left(TimeSpan::hours(4.0), spells);
            left.unwrap().result.in_hours()
        };
        assert_eq!(left(&[spell(1.0, 10.0)]), 3.0);
        assert_eq!(left(&[spell(1.0, 30.0)]), 1.0);
        assert_eq!(left(&[spell(1.0, 30.0), spell(0.0, 20.0)]), 2.0);
        assert_eq!(left(&[spell(9.0, 20.0)]), 0.0);
        let none = sheet().pot_life_left(TimeSpan::hours(4.0), &[]);
        assert_eq!(none, Err(CureError::NoReading));
        let hot = sheet().pot_life_left(TimeSpan::hours(4.0), &[spell(0.1, 40.0)]);
        assert!(matches!(hot, Err(CureError::TooHot { .. })));
    }

    #[test]
    fn cold_paint_carries_a_caution() {
        let life = |at| {
            sheet()
                .pot_life(TimeSpan::hours(4.0), Temperature::celsius(at))
                .unwrap()
        };
        assert_eq!(life(20.0).cautions.len(), 1);
        assert!(life(10.0).cautions[1].starts_with("Longer than the sheet's own time"));
        assert_eq!(life(30.0).cautions.len(), 1);
    }

    proptest! {
        #[test]
        fn what_is_left_is_never_more_than_the_clock_leaves(
            spells in prop::collection::vec((0.0..4.0, -20.0..35.0), 1..6)
        ) {
            let spells: Vec<_> = spells.into_iter().map(|(hours, at)| spell(hours, at)).collect();
            let clock: f64 = spells.iter().map(|spell| spell.lasted.in_hours()).sum();
            let left = sheet().pot_life_left(TimeSpan::hours(6.0), &spells).unwrap();
            prop_assert!(left.result.in_hours() <= (6.0 - clock).max(0.0) + 1e-9);
        }

        #[test]
        fn no_number_panics(life: f64, hours: f64, at: f64) {
            let life = TimeSpan::hours(life);
            let _ = sheet().pot_life(life, Temperature::celsius(at));
            let _ = sheet().pot_life_left(life, &[spell(hours, at)]);
        }
    }
}
