//! Whether a call is heard over the noise.

use super::field::{Given, fields, takes};
use super::{Reckoned, Taken, Work, told};
use crate::trade::Verdict;
use crate::trade::alarm::{Alarm as Call, Noise, alarm_over};
use crate::trade::quantity::SoundLevel;

takes! {
    SoundLevel: "a sound level such as \"68 dB(A)\"", &["dB(A)"];
}

fields! {
    /// Whether an alarm is heard over the noise at the person's ear.
    Alarm, an "alarm",
    must {
        /// The average noise at the ear.
        noise: Given<SoundLevel>,
    }
    may {
        /// The loudest noise that lasts for a minute or more.
        lasting: Given<SoundLevel>,
        /// What the alarm reaches at the ear.
        alarm: Given<SoundLevel>,
    }
}

impl Work for Alarm {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let given = |level: &Option<Given<SoundLevel>>| {
            level.as_ref().map(|level| level.from(taken)).transpose()
        };
        let noise = Noise {
            average: self.noise.from(taken)?,
            lasting: given(&self.lasting)?,
        };
        let reaches = given(&self.alarm)?;
        let worked = alarm_over(noise).map_err(told)?;
        Ok(match (worked.result, reaches) {
            (Call::Flash { needed }, _) => {
                let result = format!(
                    "No alarm is heard: it would need {needed:.0} at the ear. Watch the screen"
                );
                Reckoned::of(&worked, Verdict::Warn, result)
            }
            (Call::Sound { at_least }, Some(reaches)) if reaches < at_least => {
                let result = format!(
                    "An alarm of {reaches:.0} is not heard: it needs {at_least:.0} at the ear"
                );
                let mut reckoned = Reckoned::of(&worked, Verdict::Refuse, result);
                let cure = "Make the alarm louder, bring it nearer, or stop what makes the noise.";
                reckoned.more.insert(0, cure.into());
                reckoned
            }
            (Call::Sound { at_least }, _) => {
                let result = format!("An alarm is heard from {at_least:.0} at the ear on");
                Reckoned::of(&worked, Verdict::Go, result)
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    /// 15 dB over the average and 5 dB over what lasts, the higher of both (NFPA 72).
    #[test]
    fn an_alarm_stands_over_the_noise() {
        let with = |alarm: &str| {
            let sum = format!("Alarm(noise: \"noise\", lasting: \"lasting\"{alarm})");
            outcome(
                &sum,
                &[("noise", "dB(A)", "66"), ("lasting", "dB(A)", "79")],
            )
        };
        let heard = with("");
        assert_eq!(heard.verdict, Verdict::Go);
        assert!(heard.result.contains("84 dB(A)"), "{}", heard.result);
        assert_eq!(with(", alarm: \"84 dB(A)\"").verdict, Verdict::Go);
        let low = with(", alarm: \"83 dB(A)\"");
        assert_eq!(low.verdict, Verdict::Refuse);
        assert!(low.more[0].contains("louder"), "{low:?}");
    }

    #[test]
    fn over_a_grinder_the_screen_calls() {
        let grinder = outcome("Alarm(noise: \"95 dB(A)\", alarm: \"90 dB(A)\")", &[]);
        assert_eq!(grinder.verdict, Verdict::Warn);
        assert!(grinder.result.contains("Watch the screen"));
        refused("Alarm(noise: \"noise\")", &[]);
    }
}
