//! Whether a bolt bears the torque it is given.

use std::str::FromStr;

use super::field::{Written, fields, takes, words};
use super::{Reckoned, Taken, Work, percent, told};
use crate::trade::Torque;
use crate::trade::joint::{Friction, Method, nut_factor, preload_for_torque, sanity};
use crate::trade::lubrication::{NutFactors, ThreadCondition};
use crate::trade::strength::Strength;
use crate::trade::thread::Thread;

words! {
    ThreadCondition: Dry Oiled Greased AntiSeize Locked;
    Method: ByFeel TorqueDry TorqueLubricated TurnOfNut Elongation;
}

/// A range of friction coefficients, `0.10 to 0.16`, or one of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frictions {
    least: Friction,
    most: Friction,
}

impl FromStr for Frictions {
    type Err = String;

    fn from_str(text: &str) -> Result<Frictions, String> {
        let one = |text: &str| {
            let coefficient = text.trim().parse().map_err(|_| {
                format!("A friction is a number such as 0.12 or \"0.10 to 0.16\", not {text:?}")
            })?;
            Friction::new(coefficient).map_err(told)
        };
        let (least, most) = text.split_once(" to ").unwrap_or((text, text));
        let (least, most) = (one(least)?, one(most)?);
        if least > most {
            return Err(format!(
                "A friction goes from the smaller to the larger, not {text:?}"
            ));
        }
        Ok(Frictions { least, most })
    }
}

impl Frictions {
    fn nut_factors(self, thread: Thread) -> Result<NutFactors, String> {
        let least = nut_factor(thread, self.least, self.least).least();
        let most = nut_factor(thread, self.most, self.most).most();
        NutFactors::between(least, most).map_err(told)
    }
}

takes! {
    Frictions: "a friction such as \"0.12\" or \"0.10 to 0.16\"", &[];
}

fields! {
    /// Whether a bolt bears the torque it is given, over all that its threads may be.
    Joint, a "joint",
    must {
        thread: Thread,
        /// The class or grade on the bolt's head.
        class: Strength,
        torque: Torque,
        /// What is on the threads.
        threads: ThreadCondition,
    }
    may {
        /// The friction of threads and head instead of what is published for the condition.
        friction: Written<Frictions>,
        /// How it is tightened, which says how far the preload scatters; else by a torque wrench.
        method: Method,
    }
}

impl Work for Joint {
    fn work(&self, _: &Taken) -> Result<Reckoned, String> {
        let factors = match &self.friction {
            Some(friction) => friction.value.nut_factors(self.thread)?,
            None => self.threads.nut_factors(),
        };
        let method = self.method.unwrap_or(Method::by_torque(self.threads));
        let preload = preload_for_torque(self.torque, self.thread, factors, method);
        let worked = sanity(preload.result, self.thread, self.class).map_err(told)?;
        let share = worked.result;
        let result = format!(
            "{} loads {} of {} to {} of its proof load, {} to {} by its threads",
            self.torque,
            self.thread,
            self.class,
            percent(share.middle),
            percent(share.least),
            percent(share.most)
        );
        Ok(Reckoned::of(&worked, share.verdict, result).after(&preload))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::outcome;
    use crate::trade::Verdict;

    #[test]
    fn a_figure_in_the_wrong_unit_is_seen() {
        let joint = |torque: &str| {
            let sum = format!(
                "Joint(thread: \"M12\", class: \"8.8\", torque: \"{torque}\", threads: Dry)"
            );
            outcome(&sum, &[]).verdict
        };
        assert_eq!(joint("80 N·m"), Verdict::Go);
        assert_eq!(joint("80 kgf·m"), Verdict::Refuse);
    }
    #[test]
    fn a_range_of_friction_is_a_range_of_preload() {
        let joint = |friction: &str| {
            format!(
                "Joint(thread: \"M12\", class: \"8.8\", torque: \"80 N·m\", threads: Oiled, \
                 friction: \"{friction}\")"
            )
        };
        let narrow = outcome(&joint("0.12"), &[]);
        let wide = outcome(&joint("0.10 to 0.16"), &[]);
        assert_ne!(narrow.result, wide.result);
        for wrong in ["0.16 to 0.10", "0", "little"] {
            let read = crate::procedure::fields::ron_options()
                .from_str::<super::super::Sum>(&joint(wrong));
            assert!(read.is_err(), "{wrong}");
        }
    }
}
