//! End float of a wheel bearing, from a dial.

use super::field::{Given, Read, fields};
use super::{Reckoned, Taken, Work, shown, told};
use crate::trade::Verdict;
use crate::trade::bearing::end_float;
use crate::trade::quantity::{Length, LengthDifference};

fields! {
    /// The end float of a bearing against its limits.
    EndFloat, a "end float",
    must {
        /// The dial while the hub is pulled and rocked.
        pulled: Read<LengthDifference>,
        least: Length,
        most: Length,
    }
    may {
        /// The dial while it is pushed and rocked; else it was zeroed there.
        pushed: Given<LengthDifference>,
    }
}

impl Work for EndFloat {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let pulled = self.pulled.from(taken)?;
        let pushed = match &self.pushed {
            Some(pushed) => pushed.from(taken)?,
            None => LengthDifference::millimetres(0.0),
        };
        let worked = end_float(pulled, pushed, self.least, self.most).map_err(told)?;
        let found = worked.result;
        let than = match found.verdict {
            Verdict::Go => "within",
            _ => "not within",
        };
        let result = format!(
            "End float {}, {than} {} to {}",
            shown(found.float),
            self.least,
            self.most
        );
        Ok(Reckoned::of(&worked, found.verdict, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::outcome;
    use crate::trade::Verdict;

    #[test]
    fn too_little_is_refused_as_too_much_is() {
        let sum = "EndFloat(pulled: \"pulled\", least: \"0.03 mm\", most: \"0.13 mm\")";
        let float = |figure| outcome(sum, &[("pulled", "mm", figure)]);
        assert_eq!(float("0.08").verdict, Verdict::Go);
        assert!(float("0.01").more[0].contains("Back the nut off"));
        let loose = float("0.20");
        assert_eq!(loose.verdict, Verdict::Refuse);
        assert_eq!(
            loose.result,
            "End float 0.2 mm, not within 0.03 mm to 0.13 mm"
        );
    }

    #[test]
    fn a_dial_that_was_not_zeroed_gives_its_travel() {
        let sum = "EndFloat(pulled: \"pulled\", pushed: \"pushed\", least: \"0.03 mm\", \
                   most: \"0.13 mm\")";
        let found = outcome(sum, &[("pulled", "mm", "1.32"), ("pushed", "mm", "1.24")]);
        assert!(
            found.result.starts_with("End float 0.08 mm"),
            "{}",
            found.result
        );
    }
}
