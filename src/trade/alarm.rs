//! How loud an alarm must be to be heard, and when sound is not enough.

use super::quantity::SoundLevel;
use super::range::{OutOfRange, hold};
use super::worked::{Answer, Worked, neat};

const SOURCE: &str = "\
    NFPA 72 (2002) 7.4.2.1: 15 dB over the average or 5 dB over a maximum of 60 s, whichever is \
    more; ISO 7731: at least 65 dB(A) (from memory); NUREG-0700 1.3.11-17: at most 90 dB(A)";

/// How far an alarm stands over the average noise (NFPA 72).
pub const OVER_AVERAGE: SoundLevel = SoundLevel::decibels(15.0);
/// How far it stands over noise that lasts a minute (NFPA 72).
const OVER_LASTING: SoundLevel = SoundLevel::decibels(5.0);
/// What an alarm is at the least (ISO 7731, from memory).
pub const LEAST_ALARM: SoundLevel = SoundLevel::decibels(65.0);
/// The loudest an alarm may be that is no call to leave the building (NUREG-0700).
pub const LOUDEST_ALARM: SoundLevel = SoundLevel::decibels(90.0);

const QUIETEST: SoundLevel = SoundLevel::decibels(0.0);
const LOUDEST: SoundLevel = SoundLevel::decibels(140.0);

/// The noise at the person's ear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    pub average: SoundLevel,
    /// The loudest that lasts for a minute or more, if there is such.
    pub lasting: Option<SoundLevel>,
}

/// How a person is called.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Alarm {
    /// A tone of at least this level at the ear.
    Sound { at_least: SoundLevel },
    /// No tone that may be made is loud enough: flash the whole screen and repeat until it is answered.
    /// The tone of the greatest level allowed goes with it.
    Flash { needed: SoundLevel },
}

impl From<Alarm> for Answer {
    fn from(alarm: Alarm) -> Answer {
        match alarm {
            Alarm::Sound { at_least } => Answer::Named(vec![("at least", at_least.into())]),
            Alarm::Flash { needed } => Answer::Named(vec![
                ("by", Answer::Words("flashing the screen".into())),
                ("sound would need", needed.into()),
            ]),
        }
    }
}

/// Returns how loud an alarm must be over `noise`, or that only a flash will do.
///
/// Range: noise 0 to 140 dB(A), at the ear. Over 100 dB(A), where ISO 7731 wants a light beside the
/// sound, it is always a flash.
///
/// # Errors
/// [`OutOfRange`] outside it.
pub fn alarm_over(noise: Noise) -> Result<Worked<Alarm>, OutOfRange> {
    let average = hold("The average noise", noise.average, QUIETEST, LOUDEST)?;
    let mut needed = average + OVER_AVERAGE;
    let mut because = format!("{} + 15", neat(average.in_decibels()));
    if let Some(lasting) = noise.lasting {
        let lasting = hold("The lasting noise", lasting, QUIETEST, LOUDEST)?;
        if lasting + OVER_LASTING > needed {
            needed = lasting + OVER_LASTING;
            because = format!("{} + 5", neat(lasting.in_decibels()));
        }
    }
    if needed < LEAST_ALARM {
        needed = LEAST_ALARM;
        because = "the least of any alarm".into();
    }
    let formula = format!("{because}: {} dB(A) at the ear", neat(needed.in_decibels()));
    let alarm = if needed > LOUDEST_ALARM {
        Alarm::Flash { needed }
    } else {
        Alarm::Sound { at_least: needed }
    };
    let worked = Worked::new(alarm, formula, SOURCE);
    Ok(match alarm {
        Alarm::Flash { .. } => worked.caution(format!(
            "No tone up to {LOUDEST_ALARM} is heard over this noise: the screen must flash."
        )),
        Alarm::Sound { .. } => worked.caution("Ear defenders lower noise and alarm alike."),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn an_alarm_always_stands_over_the_noise(average in 0.0..140.0, lasting in 0.0..140.0) {
            let noise = Noise {
                average: SoundLevel::decibels(average),
                lasting: Some(SoundLevel::decibels(lasting)),
            };
            match alarm_over(noise).unwrap().result {
                Alarm::Sound { at_least } => {
                    let level = at_least.in_decibels();
                    prop_assert!(level >= average + 15.0 - 1e-9 && level >= lasting + 5.0 - 1e-9);
                    prop_assert!((65.0..=90.0).contains(&level));
                }
                Alarm::Flash { needed } => prop_assert!(needed > LOUDEST_ALARM),
            }
        }

        #[test]
        fn no_number_panics(average: f64, lasting: f64) {
            let _ = alarm_over(Noise {
                average: SoundLevel::decibels(average),
                lasting: Some(SoundLevel::decibels(lasting)),
            });
        }
    }
}
