//! Cure of two-part paint: how the temperature stretches the sheet's times, and pot life.
//!
//! Warmth never shortens a wait here below the sheet's own figure: the formulas are good for waiting
//! longer. Where one makes a time shorter than the sheet's, a caution says so.

use super::quantity::{ActivationEnergy, Temperature, TimeSpan};
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

/// How a paint's cure runs with the temperature, as its sheet says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpeedLaw {
    /// Twice as fast for every 10 °C.
    TwicePerTenDegrees,
    /// By the Arrhenius equation; 50 kJ/mol where nothing better is known (common practice, no source).
    Activation(ActivationEnergy),
}

impl SpeedLaw {
    fn source(self) -> &'static str {
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
        hold("The temperature the sheet's times hold at", reference, least, most)?;
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
        Ok(if material < self.reference {
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
            if spell.at > self.most {
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
        Ok(Worked::new(TimeSpan::hours(left), formula, self.law.source()))
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
            terms.push(format!("{}·{}", neat(lasted), neat(speed)));
        }
        let formula = format!("{} = {} h", terms.join(" + "), neat(hours));
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
    fn speed_at(&self, at: Temperature) -> f64 {
        if at < self.least {
            return 0.0;
        }
        let at = if at > self.most { self.most } else { at };
        self.law.speed(self.reference, at)
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

    fn too_hot(&self, at: Temperature) -> CureError {
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
