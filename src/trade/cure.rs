//! Cure of two-part paint: how the temperature stretches the sheet's times.
//!
//! Warmth never shortens a wait here below the sheet's own figure: the formulas are good for waiting
//! longer. Where one makes a time shorter than the sheet's, a caution says so.

use super::quantity::{ActivationEnergy, Temperature, TimeSpan, TimeSpanUnit};
use super::range::{OutOfRange, hold};
use super::worked::{Worked, neat};

/// The gas constant in kJ/(mol·K), exact since 2019 (SI Brochure, 9th edition: product of the Boltzmann
/// and Avogadro constants).
const GAS_CONSTANT: f64 = 8.314_462_618_153_24e-3;

const TWICE_SOURCE: &str =
    "UFGS-09971 3.7.1.3: halves with every 10 °C up, doubles with every 10 °C down (rule of thumb)";
const ARRHENIUS_SOURCE: &str = "Arrhenius equation, activation energy from the paint's sheet";

/// The activation energies taken: paints lie from 40 to 100 kJ/mol.
pub const LEAST_ENERGY: ActivationEnergy = ActivationEnergy::kilojoules_per_mole(20.0);
pub const MOST_ENERGY: ActivationEnergy = ActivationEnergy::kilojoules_per_mole(150.0);
/// The temperatures a paint's sheet may name.
pub const COLDEST: Temperature = Temperature::celsius(-20.0);
pub const HOTTEST: Temperature = Temperature::celsius(80.0);
/// The spans of time taken.
pub const SHORTEST: TimeSpan = TimeSpan::seconds(1.0);
pub const LONGEST: TimeSpan = TimeSpan::days(366.0);

/// The most spells that a worked line writes out.
const MOST_TERMS: usize = 6;

/// How a paint's cure runs with the temperature, as its sheet says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpeedLaw {
    /// Twice as fast for every 10 °C.
    TwicePerTenDegrees,
    /// By the Arrhenius equation; 50 kJ/mol where nothing better is known (common practice, no source).
    Activation(ActivationEnergy),
}

impl SpeedLaw {
    /// Returns where the law stands.
    pub fn source(self) -> &'static str {
        match self {
            SpeedLaw::TwicePerTenDegrees => TWICE_SOURCE,
            SpeedLaw::Activation(_) => ARRHENIUS_SOURCE,
        }
    }

    /// Returns how many times as fast the cure runs at `at` as at `reference`.
    fn speed(self, reference: Temperature, at: Temperature) -> f64 {
        match self {
            SpeedLaw::TwicePerTenDegrees => {
                ((at.in_celsius() - reference.in_celsius()) / 10.0).exp2()
            }
            SpeedLaw::Activation(energy) => {
                let over_r = energy.in_kilojoules_per_mole() / GAS_CONSTANT;
                (over_r * (1.0 / reference.in_kelvin() - 1.0 / at.in_kelvin())).exp()
            }
        }
    }

    /// Returns the formula of a time at another temperature, with the numbers in it.
    fn written(self, reference: Temperature, at: Temperature) -> String {
        let (from, to) = (reference.in_celsius(), at.in_celsius());
        match self {
            SpeedLaw::TwicePerTenDegrees => {
                format!("2^(({} − {})/10)", neat(from), neat(to))
            }
            SpeedLaw::Activation(energy) => format!(
                "exp({}/0.008314·(1/{} − 1/{}))",
                neat(energy.in_kilojoules_per_mole()),
                neat(at.in_kelvin()),
                neat(reference.in_kelvin()),
            ),
        }
    }
}

/// What a paint's sheet says of its cure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CureSheet {
    reference: Temperature,
    law: SpeedLaw,
    least: Temperature,
    most: Temperature,
}

/// Why no time can be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CureError {
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error(
        "At {at:.1} the paint does not cure as its sheet says, which begins at {least}: \
         warm the work to at least {least}"
    )]
    TooCold { at: Temperature, least: Temperature },
    #[error(
        "At {at:.1} the paint's sheet says nothing, which ends at {most}: \
         let the work cool to at most {most}"
    )]
    TooHot { at: Temperature, most: Temperature },
    #[error("No reading was given: say for how long and at which temperature the coat has stood")]
    NoReading,
    #[error(
        "The sheet's column from {least} to {most} must begin where the one before ends and give an \
         earliest time before its latest: check it against the sheet"
    )]
    Column {
        least: Temperature,
        most: Temperature,
    },
    #[error("The sheet gives no recoat window for {at:.1}: ask its maker before coating")]
    NotOnSheet { at: Temperature },
}

impl CureSheet {
    /// Makes a sheet whose times hold at `reference`, and that speaks of `least` to `most`.
    ///
    /// # Errors
    /// [`OutOfRange`] unless −20 °C ≤ `least` ≤ `reference` ≤ `most` ≤ 80 °C and the activation energy
    /// is from 20 to 150 kJ/mol.
    pub fn new(
        reference: Temperature,
        law: SpeedLaw,
        least: Temperature,
        most: Temperature,
    ) -> Result<CureSheet, OutOfRange> {
        hold("Lowest curing temperature", least, COLDEST, HOTTEST)?;
        hold("Highest curing temperature", most, least, HOTTEST)?;
        hold(
            "The temperature the sheet's times hold at",
            reference,
            least,
            most,
        )?;
        if let SpeedLaw::Activation(energy) = law {
            hold("Activation energy", energy, LEAST_ENERGY, MOST_ENERGY)?;
        }
        Ok(CureSheet {
            reference,
            law,
            least,
            most,
        })
    }

    /// Returns the temperature the sheet's times hold at.
    pub fn reference(&self) -> Temperature {
        self.reference
    }

    /// Returns the highest temperature the sheet speaks of.
    pub fn most(&self) -> Temperature {
        self.most
    }

    /// Returns where the sheet's law of speed stands.
    pub fn source(&self) -> &'static str {
        self.law.source()
    }

    /// Returns the time at `at` that does what `on_sheet` does at the sheet's temperature.
    ///
    /// Range: `on_sheet` from 1 s to 366 days, `at` within the sheet's temperatures.
    ///
    /// # Errors
    /// [`CureError::TooCold`] and [`CureError::TooHot`] outside the sheet, which is not stretched.
    pub fn time_at(
        &self,
        on_sheet: TimeSpan,
        at: Temperature,
    ) -> Result<Worked<TimeSpan>, CureError> {
        hold("The sheet's time", on_sheet, SHORTEST, LONGEST)?;
        self.speaks_of(at)?;
        let time = on_sheet / self.law.speed(self.reference, at);
        let formula = format!(
            "{} h·{} = {} h",
            neat(on_sheet.in_hours()),
            self.law.written(self.reference, at),
            neat(time.in_hours()),
        );
        let worked = Worked::new(time, formula, self.law.source());
        Ok(if at > self.reference {
            worked.caution(
                "Shorter than the sheet's own time: wait that one unless the sheet gives a time for \
                 this temperature.",
            )
        } else {
            worked
        })
    }

    /// Returns the age at the sheet's temperature that equals what the coat has stood.
    ///
    /// Time below the sheet's lowest temperature counts as none; time above its highest counts as at
    /// that one; a caution says so.
    ///
    /// # Errors
    /// [`CureError::NoReading`] without a spell; [`CureError::OutOfRange`] for a spell outside −20 °C to
    /// 80 °C or longer than 366 days.
    pub fn equivalent_age(&self, spells: &[Spell]) -> Result<Worked<TimeSpan>, CureError> {
        self.age(spells, f64::INFINITY)
    }

    /// As [`CureSheet::equivalent_age`], but warmth counts no more than the sheet's temperature: the age
    /// to wait by.
    ///
    /// # Errors
    /// As [`CureSheet::equivalent_age`].
    pub fn age_to_wait_by(&self, spells: &[Spell]) -> Result<Worked<TimeSpan>, CureError> {
        self.age(spells, 1.0)
    }

    fn age(&self, spells: &[Spell], fastest: f64) -> Result<Worked<TimeSpan>, CureError> {
        if spells.is_empty() {
            return Err(CureError::NoReading);
        }
        let mut hours = 0.0;
        let (mut cold, mut hot) = (false, false);
        let mut terms = Vec::new();
        for spell in spells {
            spell.held()?;
            let lasted = spell.lasted.in_hours();
            let speed = self.speed_at(spell.at).min(fastest);
            cold |= spell.at < self.least;
            hot |= spell.at > self.most;
            hours += lasted * speed;
            if spells.len() <= MOST_TERMS {
                terms.push(format!("{}·{}", neat(lasted), neat(speed)));
            }
        }
        let sum = if terms.is_empty() {
            format!("hours·speed over {} spells", spells.len())
        } else {
            terms.join(" + ")
        };
        let formula = format!("{sum} = {} h", neat(hours));
        let mut worked = Worked::new(TimeSpan::hours(hours), formula, self.law.source());
        if cold {
            worked = worked.caution(format!(
                "Time below {} does not count: the paint hardly cures there.",
                self.least
            ));
        }
        if hot {
            worked = worked.caution(format!(
                "Time above {} counts as at {}: the sheet says nothing of it.",
                self.most, self.most
            ));
        }
        Ok(worked)
    }

    /// Returns the speed of the cure as far as the sheet speaks: none in the cold, no faster than at its
    /// highest temperature.
    pub(in crate::trade) fn speed_at(&self, at: Temperature) -> f64 {
        if at < self.least {
            return 0.0;
        }
        let at = if at > self.most { self.most } else { at };
        self.law.speed(self.reference, at)
    }

    /// Returns how many times as fast as on the sheet a wait is to be taken to run at `at`: none below the
    /// sheet's lowest temperature, and never faster than the sheet.
    pub fn pace_to_wait_by(&self, at: Temperature) -> f64 {
        self.speed_at(at).min(1.0)
    }

    /// Returns how many times as fast as on the sheet a pot life or a recoat window is to be taken to run
    /// out at `at`: never slower than the sheet.
    pub fn pace_to_use_by(&self, at: Temperature) -> f64 {
        self.speed_at(at).max(1.0)
    }

    fn speaks_of(&self, at: Temperature) -> Result<(), CureError> {
        hold("Temperature", at, COLDEST, HOTTEST)?;
        if at < self.least {
            return Err(CureError::TooCold {
                at,
                least: self.least,
            });
        }
        if at > self.most {
            return Err(self.too_hot(at));
        }
        Ok(())
    }

    pub(in crate::trade) fn too_hot(&self, at: Temperature) -> CureError {
        CureError::TooHot {
            at,
            most: self.most,
        }
    }
}

/// How long the coat stood at a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spell {
    pub lasted: TimeSpan,
    /// Of the painted surface.
    pub at: Temperature,
}

impl Spell {
    pub(in crate::trade) fn held(&self) -> Result<(), OutOfRange> {
        hold("A spell", self.lasted, TimeSpan::seconds(0.0), LONGEST)?;
        hold("Temperature of a spell", self.at, COLDEST, HOTTEST)?;
        Ok(())
    }
}

/// Returns a time in the unit a clock on the wall is read in: minutes up to two hours, days from two days.
pub fn readable(time: TimeSpan) -> TimeSpan {
    if time < TimeSpan::hours(2.0) {
        time.shown_in(TimeSpanUnit::Minute)
    } else if time < TimeSpan::hours(48.0) {
        time.shown_in(TimeSpanUnit::Hour)
    } else {
        time.shown_in(TimeSpanUnit::Day)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sheet(law: SpeedLaw) -> CureSheet {
        let celsius = Temperature::celsius;
        CureSheet::new(celsius(20.0), law, celsius(8.0), celsius(35.0)).unwrap()
    }

    fn twice() -> CureSheet {
        sheet(SpeedLaw::TwicePerTenDegrees)
    }

    fn fifty() -> CureSheet {
        sheet(SpeedLaw::Activation(ActivationEnergy::kilojoules_per_mole(
            50.0,
        )))
    }

    fn spell(hours: f64, celsius: f64) -> Spell {
        Spell {
            lasted: TimeSpan::hours(hours),
            at: Temperature::celsius(celsius),
        }
    }

    /// Derived by hand from the definitions: 8·2^0.8 = 13.93, 8·exp(50/0.008314·(1/285.15 − 1/293.15)) =
    /// 14.22; 4·2^−0.5 + 10·2^−1 + 8 = 15.83.
    #[test]
    fn a_cold_shop_stretches_the_sheets_time() {
        let hours = |sheet: CureSheet| {
            let time = sheet.time_at(TimeSpan::hours(8.0), Temperature::celsius(12.0));
            time.unwrap().result.in_hours()
        };
        assert!((hours(twice()) - 13.93).abs() < 0.005);
        assert!((hours(fifty()) - 14.224).abs() < 0.005);
        let drifting = [spell(4.0, 15.0), spell(10.0, 10.0), spell(8.0, 20.0)];
        let age = twice().equivalent_age(&drifting).unwrap();
        assert!((age.result.in_hours() - 15.83).abs() < 0.005);
        assert!(age.cautions.is_empty());
    }

    #[test]
    fn the_cold_does_not_count_and_the_heat_not_beyond_the_sheet() {
        let cold = twice().equivalent_age(&[spell(10.0, 7.0)]).unwrap();
        assert_eq!(cold.result.in_hours(), 0.0);
        assert!(cold.cautions[0].contains("below 8 °C"));
        let hot = twice().equivalent_age(&[spell(1.0, 50.0)]).unwrap();
        let at_most = twice().equivalent_age(&[spell(1.0, 35.0)]).unwrap();
        assert_eq!(hot.result, at_most.result);
        assert!(hot.cautions[0].contains("above 35 °C"));
        let waited = twice().age_to_wait_by(&[spell(10.0, 30.0)]).unwrap();
        assert_eq!(waited.result.in_hours(), 10.0);
    }

    #[test]
    fn outside_the_sheet_no_time_is_given() {
        let at = |celsius| twice().time_at(TimeSpan::hours(8.0), Temperature::celsius(celsius));
        let said = at(7.0).unwrap_err().to_string();
        assert!(said.contains("warm the work to at least 8 °C"), "{said}");
        let said = at(36.0).unwrap_err().to_string();
        assert!(
            said.contains("let the work cool to at most 35 °C"),
            "{said}"
        );
        let warm = at(30.0).unwrap();
        assert!(warm.cautions[0].starts_with("Shorter than the sheet's own time"));
    }

    proptest! {
        #[test]
        fn warmer_is_never_slower(hours in 0.1..100.0, cold in 8.0..35.0, warmer in 0.0..27.0) {
            let warm = f64::min(cold + warmer, 35.0);
            for sheet in [twice(), fifty()] {
                let time = |at| {
                    let time = sheet.time_at(TimeSpan::hours(hours), Temperature::celsius(at));
                    time.unwrap().result
                };
                prop_assert!(time(warm) <= time(cold) * (1.0 + 1e-12));
            }
        }

        #[test]
        fn waiting_is_never_credited_more_than_the_clock(
            spells in prop::collection::vec((0.0..48.0, -20.0..80.0), 1..6)
        ) {
            let spells: Vec<_> = spells.into_iter().map(|(hours, at)| spell(hours, at)).collect();
            let clock: f64 = spells.iter().map(|spell| spell.lasted.in_hours()).sum();
            let age = fifty().age_to_wait_by(&spells).unwrap().result.in_hours();
            prop_assert!(age <= clock + 1e-9);
        }

        #[test]
        fn no_number_panics(hours: f64, at: f64, reference: f64, energy: f64) {
            let law = SpeedLaw::Activation(ActivationEnergy::kilojoules_per_mole(energy));
            let reference = Temperature::celsius(reference);
            let _ = CureSheet::new(reference, law, Temperature::celsius(at), HOTTEST);
            let _ = twice().time_at(TimeSpan::hours(hours), Temperature::celsius(at));
            let _ = twice().equivalent_age(&[spell(hours, at)]);
        }
    }
}
