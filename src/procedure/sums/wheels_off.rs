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
        let number = |stage: &Stage| ORDER.iter().take_while(|other| *other <= stage).count();
        let (Some(first), Some(last)) = (self.stages.first(), self.stages.last()) else {
            return Err("Name at least one stage, such as `Chocks`".into());
        };
        let (first, last) = (number(first), number(last));
        let result = match first == last {
            true => format!("Stage {first} of {}", ORDER.len()),
            false => format!("Stages {first} to {last} of {}", ORDER.len()),
        };
        let why = |stage: &Stage| format!("{}, or {}", stage.called(), stage.why());
        let all: Vec<String> = self.stages.iter().map(why).collect();
        let worked = Worked::new(
            (),
            format!(
                "stage {first} of {}, none before the one above it",
                ORDER.len()
            ),
            "HSE INDG434 for brake, chocks, stands and ground; the rest common practice, no source",
        )
        .caution("Never go under what only a jack holds up.");
        // The step's own words say what to do: of the stage only the number is spoken, the rest is shown.
        let mut reckoned = Reckoned::of(&worked, Verdict::Go, result);
        reckoned.more.insert(0, format!("Now: {}.", all.join("; ")));
        Ok(reckoned)
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};

    #[test]
    fn a_stage_says_why_it_must_not_be_left_out() {
        let loosen = outcome("WheelsOff(stages: [SlackenNuts])", &[]);
        assert_eq!(
            loosen.more[0],
            "Now: the wheel nuts slackened a quarter turn, or pulling on tight nuts rocks a vehicle \
             off its stands."
        );
        assert_eq!(loosen.sentences(), "Stage 4 of 15.");
        let chocks = "WheelsOff(stages: [FirmLevelGround, ParkingBrakeAndGear, Chocks])";
        assert_eq!(outcome(chocks, &[]).result, "Stages 1 to 3 of 15");
        assert!(loosen.formula.starts_with("stage 4 of 15"));
        refused("WheelsOff(stages: [])", &[]);
    }
}
