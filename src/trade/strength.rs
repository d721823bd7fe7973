//! How strong a bolt is: property classes of metric bolts, grades of unified ones.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::Worked;
use super::quantity::{Force, Length, Share, Stress};
use super::thread::Thread;
use super::worked::neat;

/// A property class (ISO 898-1) or a grade (SAE J429), as the bolt's head shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Strength {
    Class4_6,
    Class4_8,
    Class5_6,
    Class5_8,
    Class6_8,
    Class8_8,
    Class9_8,
    Class10_9,
    Class12_9,
    Grade2,
    Grade5,
    Grade8,
}

/// Why a bolt has no known strength.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StrengthError {
    #[error(
        "There is no strength {0:?}: write a class (4.6, 4.8, 5.6, 5.8, 6.8, 8.8, 9.8, 10.9, 12.9) or \
         a grade (grade 2, grade 5, grade 8)"
    )]
    Unknown(String),
    #[error(
        "{strength} is not made for {thread}: classes go with metric threads, grades with unified"
    )]
    OtherSystem { strength: Strength, thread: Thread },
    #[error("Class 9.8 ends at M16, so {0} has no proof load in it: write 8.8 or 10.9")]
    TooThick(Thread),
    #[error("No yield strength is kept for {0}: write 8.8, 10.9 or 12.9")]
    NoYield(Strength),
}

impl Strength {
    pub const ALL: [Strength; 12] = [
        Strength::Class4_6,
        Strength::Class4_8,
        Strength::Class5_6,
        Strength::Class5_8,
        Strength::Class6_8,
        Strength::Class8_8,
        Strength::Class9_8,
        Strength::Class10_9,
        Strength::Class12_9,
        Strength::Grade2,
        Strength::Grade5,
        Strength::Grade8,
    ];

    /// Returns the stress a bolt on `thread` must bear without lasting stretch.
    ///
    /// # Errors
    /// [`StrengthError`] when class and thread do not belong together.
    ///
    /// Source: ISO 898-1, proof stress nominal (8.8: 580 MPa up to 16 mm, 600 MPa above); SAE J429 (grade
    /// 2: 55 ksi up to 3/4 in, 33 ksi above).
    pub fn proof_stress(self, thread: Thread) -> Result<Stress, StrengthError> {
        let is_grade = matches!(self, Strength::Grade2 | Strength::Grade5 | Strength::Grade8);
        if thread.is_metric() == is_grade {
            let strength = self;
            return Err(StrengthError::OtherSystem { strength, thread });
        }
        let thick = thread.diameter() > Length::millimetres(16.0);
        Ok(match self {
            Strength::Class4_6 => Stress::megapascals(225.0),
            Strength::Class4_8 => Stress::megapascals(310.0),
            Strength::Class5_6 => Stress::megapascals(280.0),
            Strength::Class5_8 => Stress::megapascals(380.0),
            Strength::Class6_8 => Stress::megapascals(440.0),
            Strength::Class8_8 if thick => Stress::megapascals(600.0),
            Strength::Class8_8 => Stress::megapascals(580.0),
            Strength::Class9_8 if thick => return Err(StrengthError::TooThick(thread)),
            Strength::Class9_8 => Stress::megapascals(650.0),
            Strength::Class10_9 => Stress::megapascals(830.0),
            Strength::Class12_9 => Stress::megapascals(970.0),
            Strength::Grade2 if thread.diameter() > Length::inches(0.75) => Stress::ksi(33.0),
            Strength::Grade2 => Stress::ksi(55.0),
            Strength::Grade5 => Stress::ksi(85.0),
            Strength::Grade8 => Stress::ksi(120.0),
        })
    }

    /// Returns the load a bolt on `thread` must bear without lasting stretch: nominal stress area times
    /// proof stress, in kN for classes and lbf for grades.
    ///
    /// # Errors
    /// As [`Strength::proof_stress`].
    pub fn proof_load(self, thread: Thread) -> Result<Worked<Force>, StrengthError> {
        let stress = self.proof_stress(thread)?;
        let area = thread.nominal_stress_area();
        let newtons = area.in_square_millimetres() * stress.in_megapascals();
        let (load, source) = if thread.is_metric() {
            (Force::kilonewtons(newtons / 1000.0), "ISO 898-1: A_s·S_p")
        } else {
            let pounds = Force::newtons(newtons).in_pounds_force();
            (Force::pounds_force(pounds), "SAE J429: A_t·S_p")
        };
        let formula = format!(
            "{area} × {stress} = {} {}",
            neat(load.value_in(load.unit())),
            load.unit().symbol()
        );
        Ok(Worked::new(load, formula, source))
    }

    /// Returns `share` of the proof load of a bolt on `thread`, in the unit of the proof load.
    ///
    /// # Errors
    /// As [`Strength::proof_stress`].
    pub fn proof_share(self, thread: Thread, share: Share) -> Result<Worked<Force>, StrengthError> {
        let mut worked = self.proof_load(thread)?;
        worked.result = worked.result * share.in_ones();
        let unit = worked.result.unit();
        let part = neat(worked.result.value_in(unit));
        worked.formula = format!(
            "{}; {share} of it = {part} {}",
            worked.formula,
            unit.symbol()
        );
        Ok(worked)
    }

    /// Returns the least 0.2 % yield strength of a bolt on `thread` (ISO 898-1).
    ///
    /// # Errors
    /// [`StrengthError::NoYield`] for others than 8.8, 10.9 and 12.9.
    pub fn yield_strength(self, thread: Thread) -> Result<Stress, StrengthError> {
        let thick = thread.diameter() > Length::millimetres(16.0);
        match self {
            Strength::Class8_8 if thick => Ok(Stress::megapascals(660.0)),
            Strength::Class8_8 => Ok(Stress::megapascals(640.0)),
            Strength::Class10_9 => Ok(Stress::megapascals(940.0)),
            Strength::Class12_9 => Ok(Stress::megapascals(1100.0)),
            other => Err(StrengthError::NoYield(other)),
        }
    }

    fn mark(self) -> &'static str {
        match self {
            Strength::Class4_6 => "4.6",
            Strength::Class4_8 => "4.8",
            Strength::Class5_6 => "5.6",
            Strength::Class5_8 => "5.8",
            Strength::Class6_8 => "6.8",
            Strength::Class8_8 => "8.8",
            Strength::Class9_8 => "9.8",
            Strength::Class10_9 => "10.9",
            Strength::Class12_9 => "12.9",
            Strength::Grade2 => "grade 2",
            Strength::Grade5 => "grade 5",
            Strength::Grade8 => "grade 8",
        }
    }
}

impl fmt::Display for Strength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.mark())
    }
}

impl FromStr for Strength {
    type Err = StrengthError;

    fn from_str(text: &str) -> Result<Strength, StrengthError> {
        let shape = text.trim().to_lowercase().replace(',', ".");
        let shape = shape.strip_prefix("class ").unwrap_or(&shape).trim();
        let shape = match shape.strip_prefix("gr ").or(shape.strip_prefix("gr. ")) {
            Some(grade) => format!("grade {}", grade.trim()),
            None => shape.to_owned(),
        };
        Strength::ALL
            .into_iter()
            .find(|strength| strength.mark() == shape)
            .ok_or_else(|| StrengthError::Unknown(text.trim().into()))
    }
}

impl TryFrom<String> for Strength {
    type Error = StrengthError;

    fn try_from(text: String) -> Result<Strength, StrengthError> {
        text.parse()
    }
}

impl From<Strength> for String {
    fn from(strength: Strength) -> String {
        strength.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strengths_are_read_and_kept_to_their_threads() {
        for strength in Strength::ALL {
            assert_eq!(strength.to_string().parse::<Strength>().unwrap(), strength);
        }
        assert_eq!("Class 8.8".parse::<Strength>().unwrap(), Strength::Class8_8);
        assert_eq!("Gr 5".parse::<Strength>().unwrap(), Strength::Grade5);
        assert!("7.7".parse::<Strength>().is_err());
        let thread = |text: &str| text.parse::<Thread>().unwrap();
        assert!(Strength::Grade5.proof_load(thread("M12")).is_err());
        assert!(Strength::Class8_8.proof_load(thread("3/8-16")).is_err());
        assert!(Strength::Class9_8.proof_load(thread("M20")).is_err());
    }
}
