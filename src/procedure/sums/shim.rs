//! The shim that brings a valve clearance right.

use super::field::{Given, Read, fields};
use super::{Reckoned, Taken, Work, shown, told};
use crate::trade::Verdict;
use crate::trade::quantity::Length;
use crate::trade::valve::{Clearance, choose_shim, sizes};

fields! {
    /// Which shim brings a clearance right.
    Shim, a "shim",
    must {
        /// The shim that is in.
        old: Given<Length>,
        /// The gap measured with it.
        measured: Read<Length>,
        /// The smallest and the largest gap wanted.
        least: Length,
        most: Length,
        /// The shims there are: thinnest, thickest, and from one size to the next.
        smallest: Length,
        largest: Length,
        step: Length,
    }
    may {}
}

impl Work for Shim {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let wanted = Clearance::between(self.least, self.most).map_err(told)?;
        let sizes = sizes(self.smallest, self.largest, self.step).map_err(told)?;
        let (old, gap) = (self.old.from(taken)?, self.measured.from(taken)?);
        let inside = gap >= self.least && gap <= self.most;
        let worked = choose_shim(old, gap, wanted, &sizes).map_err(told)?;
        let shim = worked.result;
        let result = if inside {
            format!(
                "{gap} is within {} to {}: leave the shim in",
                self.least, self.most
            )
        } else {
            format!(
                "Fit a shim of {} for {old}: the gap becomes {}",
                shown(shim.size),
                shown(shim.gap)
            )
        };
        // A gap that is wrong now is measured again once the shim is in: the next step's work.
        let verdict = if inside { Verdict::Go } else { Verdict::Warn };
        Ok(Reckoned::of(&worked, verdict, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    #[test]
    fn a_wide_gap_takes_a_thicker_shim() {
        let sum = "Shim(old: \"shim\", measured: \"gap\", least: \"0.15 mm\", most: \"0.25 mm\", \
                   smallest: \"2 mm\", largest: \"3 mm\", step: \"0.05 mm\")";
        let read = |gap| [("shim", "mm", "2.40"), ("gap", "mm", gap)];
        // 2.40 + (0.28 − 0.20) = 2.48, nearest 2.50, and the gap becomes 0.18.
        let wide = outcome(sum, &read("0.28"));
        assert_eq!(wide.verdict, Verdict::Warn);
        assert_eq!(
            wide.result,
            "Fit a shim of 2.5 mm for 2.4 mm: the gap becomes 0.18 mm"
        );
        let right = outcome(sum, &read("0.20"));
        assert_eq!(right.verdict, Verdict::Go);
        refused(sum, &read("1.50"));
    }
}
