//! Which stage of a job with the wheels off a step is: the checker holds the procedure to their order.

use super::field::{fields, words};
use super::{Reckoned, Taken, Work};
use crate::trade::jacking::{ORDER, Stage};
use crate::trade::{Verdict, Worked};

words! {
    Stage: FirmLevelGround ParkingBrakeAndGear Chocks SlackenNuts Jack Stands LowerOntoStands ShoveTest
        WheelsOff Work WheelsOnByHand SnugInStar LowerToGround FullTorque RetorqueAfterRunning;
}

fields! {
    /// Which stages of a job with the wheels off the step is.
    WheelsOff, a "wheels-off stage",
    must {
        /// In the order in which the step does them.
        stages: Vec<Stage>,
    }
    may {}
}

impl Work for WheelsOff {
    fn work(&self, _: &Taken) -> Result<Reckoned, String> {
        let told = |stage: &Stage| format!("{}, or {}", stage.called(), stage.why());
        let Some(first) = self.stages.first() else {
            return Err("Name at least one stage, such as `Chocks`".into());
        };
        let number = ORDER.iter().position(|stage| stage == first).unwrap_or(0) + 1;
        let all: Vec<String> = self.stages.iter().map(told).collect();
        let worked = Worked::new(
            (),
            format!(
                "stage {number} of {}, none before the one above it",
                ORDER.len()
            ),
            "HSE INDG434 for brake, chocks, stands and ground; the rest common practice, no source",
        )
        .caution("Never go under what only a jack holds up.");
        let result = format!("Now: {}", all.join("; "));
        Ok(Reckoned::of(&worked, Verdict::Go, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};

    #[test]
    fn a_stage_says_why_it_must_not_be_left_out() {
        let loosen = outcome("WheelsOff(stages: [SlackenNuts])", &[]);
        assert_eq!(
            loosen.result,
            "Now: the wheel nuts slackened a quarter turn, or pulling on tight nuts rocks a vehicle \
             off its stands"
        );
        assert!(loosen.formula.starts_with("stage 4 of 15"));
        refused("WheelsOff(stages: [])", &[]);
    }
}
