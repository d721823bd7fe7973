//! Brake discs and drums: thickness, its variation, run-out.

use super::field::{Read, fields};
use super::{Reckoned, Taken, Work, shown, told};
use crate::trade::Verdict;
use crate::trade::brake::{best_place, disc_thickness, run_out};
use crate::trade::quantity::{Length, LengthDifference};

fields! {
    /// Whether a disc is thick and even enough.
    Disc, a "disc",
    must {
        /// At eight places or more, evenly round the disc.
        thickness: Vec<Read<Length>>,
        /// The minimum stamped on the disc.
        minimum: Length,
    }
    may {
        /// The most the thickness may vary.
        variation: Length,
    }
}

fn each<T: super::field::Takes>(reads: &[Read<T>], taken: &Taken) -> Result<Vec<T>, String> {
    reads.iter().map(|read| read.from(taken)).collect()
}

impl Work for Disc {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let readings = each(&self.thickness, taken)?;
        let worked = disc_thickness(&readings, self.minimum, self.variation).map_err(told)?;
        let disc = worked.result;
        let result = format!(
            "Thinnest place {} of at least {}, varies by {}",
            shown(disc.thinnest),
            self.minimum,
            shown(disc.variation)
        );
        Ok(Reckoned::of(&worked, disc.verdict, result))
    }
}

fields! {
    /// Whether a disc, drum or rim runs true.
    RunOut, a "run-out",
    must {
        /// The dial over a whole turn, from its lowest place on.
        dial: Vec<Read<LengthDifference>>,
        limit: Length,
    }
    may {}
}

impl Work for RunOut {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let worked = run_out(&each(&self.dial, taken)?, self.limit).map_err(told)?;
        let found = worked.result;
        let than = if found.verdict == Verdict::Go {
            "within"
        } else {
            "beyond"
        };
        let result = format!("Run-out {}, {than} {}", shown(found.run_out), self.limit);
        Ok(Reckoned::of(&worked, found.verdict, result))
    }
}

fields! {
    /// At which place on its hub a disc runs truest.
    DiscPosition, a "disc position",
    must {
        /// The run-out with the disc on each hole in turn, hole by hole.
        run_outs: Vec<Read<Length>>,
        limit: Length,
    }
    may {}
}

impl Work for DiscPosition {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let worked = best_place(&each(&self.run_outs, taken)?, self.limit).map_err(told)?;
        let (place, found) = worked.result;
        let result = if found.verdict == Verdict::Go {
            format!(
                "Place {} of {} runs truest, {}, within {}: fit the disc there",
                place + 1,
                self.run_outs.len(),
                shown(found.run_out),
                self.limit
            )
        } else {
            format!(
                "No place is within {}: the truest, place {}, runs out {}",
                self.limit,
                place + 1,
                shown(found.run_out)
            )
        };
        Ok(Reckoned::of(&worked, found.verdict, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    const PLACES: [&str; 8] = [
        "one", "two", "three", "four", "five", "six", "seven", "eight",
    ];

    fn disc(figures: [&str; 8]) -> super::Reckoned {
        let sum = "Disc(thickness: [\"one\", \"two\", \"three\", \"four\", \"five\", \"six\", \
                   \"seven\", \"eight\"], minimum: \"20.5 mm\", variation: \"0.03 mm\")";
        let read: Vec<_> = PLACES
            .into_iter()
            .zip(figures)
            .map(|(place, figure)| (place, "mm", figure))
            .collect();
        outcome(sum, &read)
    }

    #[test]
    fn eight_places_are_judged() {
        let good = disc([
            "22.05", "22.03", "22.04", "22.05", "22.02", "22.04", "22.03", "22.05",
        ]);
        assert_eq!(good.verdict, Verdict::Go);
        assert_eq!(
            good.result,
            "Thinnest place 22.02 mm of at least 20.5 mm, varies by 0.03 mm"
        );
        let uneven = disc([
            "22.05", "22.03", "22.04", "22.05", "22.01", "22.04", "22.03", "22.05",
        ]);
        assert_eq!(uneven.verdict, Verdict::Warn);
        let worn = disc([
            "20.55", "20.53", "20.54", "20.55", "20.49", "20.54", "20.53", "20.55",
        ]);
        assert_eq!(worn.verdict, Verdict::Refuse);
        refused(
            "Disc(thickness: [\"one\"], minimum: \"20.5 mm\")",
            &[("one", "mm", "22.00")],
        );
    }

    #[test]
    fn a_disc_is_turned_to_its_truest_place() {
        let sum = "DiscPosition(run_outs: [\"hole one\", \"hole two\", \"hole three\"], \
                   limit: \"0.05 mm\")";
        let with = |second| {
            let holes = [
                ("hole one", "0.08"),
                ("hole two", second),
                ("hole three", "0.06"),
            ];
            outcome(sum, &holes.map(|(name, figure)| (name, "mm", figure)))
        };
        let found = with("0.05");
        assert_eq!(found.verdict, Verdict::Go);
        assert!(found.result.starts_with("Place 2 of 3"), "{}", found.result);
        let none = with("0.07");
        assert_eq!(none.verdict, Verdict::Refuse);
        assert!(
            none.result.contains("place 3, runs out 0.06 mm"),
            "{}",
            none.result
        );
    }

    #[test]
    fn the_dials_travel_is_the_run_out() {
        let sum = "RunOut(dial: [\"low\", \"high\"], limit: \"0.10 mm\")";
        let travel = |high| outcome(sum, &[("low", "mm", "0.00"), ("high", "mm", high)]);
        assert_eq!(travel("0.10").verdict, Verdict::Go);
        assert_eq!(travel("0.11").verdict, Verdict::Refuse);
    }
}
