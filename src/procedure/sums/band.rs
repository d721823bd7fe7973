//! Whether a wrench can prove that a torque lies in its band.

use super::field::{Given, fields};
use super::{Reckoned, Taken, Work, shown, told};
use crate::trade::quantity::Share;
use crate::trade::torque_band::{TorqueBand, deviation};
use crate::trade::{Torque, Verdict};

fields! {
    /// Whether the wrench can prove that a torque was met.
    Band, a "torque band",
    must {
        /// The torque and what it may be off.
        torque: TorqueBand,
        /// By how much the wrench may deviate from its setting, to either side.
        class: Share,
    }
    may {
        /// What the wrench is set to; else the middle of the band.
        setting: Given<Torque>,
    }
}

impl Work for Band {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let setting = match &self.setting {
            Some(setting) => setting.from(taken)?,
            None => self.torque.target(),
        };
        let worked = self
            .torque
            .proved_by(setting, deviation(self.class).map_err(told)?);
        let proof = worked.result;
        let (least, most) = proof.delivered;
        let result = if proof.proved {
            format!(
                "Set to {setting} the wrench gives {} to {}: the band is proved",
                shown(least),
                shown(most)
            )
        } else {
            format!(
                "Set to {setting} the wrench gives {} to {}, beyond {}",
                shown(least),
                shown(most),
                self.torque
            )
        };
        let verdict = if proof.proved {
            Verdict::Go
        } else {
            Verdict::Refuse
        };
        Ok(Reckoned::of(&worked, verdict, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::outcome;
    use crate::trade::Verdict;

    #[test]
    fn a_narrow_band_wants_a_better_wrench() {
        let band = |band: &str| outcome(&format!("Band(torque: \"{band}\", class: \"4 %\")"), &[]);
        let wide = band("47 ± 5 N·m");
        assert_eq!(wide.verdict, Verdict::Go);
        assert!(
            wide.result.contains("45.12 N·m to 48.88 N·m"),
            "{}",
            wide.result
        );
        assert_eq!(band("47 ± 1 N·m").verdict, Verdict::Refuse);
    }
}
