//! The workshop crane: what its plate allows at a boom position, and where its hook goes.

use super::field::{Given, fields};
use super::{Reckoned, Taken, Work, kilograms, percent, told};
use crate::procedure::values::Text;
use crate::trade::Verdict;
use crate::trade::crane::{Boom, BoomHole, MomentCheck, at_hole, check_moment};
use crate::trade::quantity::{Length, Mass};

fields! {
    /// A position of the boom, as the plate names it.
    Hole, a "boom position",
    must {
        name: Text,
        limit: Mass,
    }
    may {
        /// From the mast to the hook at this position, where the plate has it.
        reach: Length,
    }
}

fields! {
    /// Whether the crane may lift a load with its boom as it is.
    Crane, a "crane",
    must {
        load: Given<Mass>,
        rigging: Given<Mass>,
        /// Every position with its limit.
        plate: Vec<Hole>,
        /// The position in use.
        hole: Text,
    }
    may {
        /// The reach as measured: refused where it is beyond the position's own.
        reach: Given<Length>,
    }
}

impl Work for Crane {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let holes = self.plate.iter().map(|hole| BoomHole {
            name: hole.name.to_string(),
            limit: hole.limit,
        });
        let plate: Vec<BoomHole> = holes.collect();
        let (load, rigging) = (self.load.from(taken)?, self.rigging.from(taken)?);
        let worked = at_hole(&plate, self.hole.as_str(), load, rigging).map_err(told)?;
        let gate = worked.result;
        let used = percent(gate.used);
        let result = format!(
            "{} hangs: {used} of what the plate allows at position {}",
            kilograms(gate.hangs),
            self.hole
        );
        let reckoned = Reckoned::of(&worked, gate.verdict, result);
        let Some(reach) = &self.reach else {
            return Ok(reckoned);
        };
        let reach = reach.from(taken)?;
        let named = self.plate.iter().find(|hole| hole.name == self.hole);
        let Some((limit, plated)) = named.and_then(|hole| Some((hole.limit, hole.reach?))) else {
            return Err(format!(
                "The plate's position {} has no `reach` to judge the measured one by: write it",
                self.hole
            ));
        };
        let moment = check_moment(limit, plated, gate.hangs, reach).map_err(told)?;
        Ok(match moment.result {
            MomentCheck::Refused { at_most } => {
                let result = format!(
                    "At a reach of {reach} the crane bears {:.0} kg at most, and {} hangs",
                    at_most.in_kilograms().floor(),
                    kilograms(gate.hangs)
                );
                Reckoned::of(&moment, Verdict::Refuse, result).after(&worked)
            }
            MomentCheck::AskThePlate { .. } if reach > plated => {
                let mut farther = reckoned.after(&moment);
                farther.verdict = farther.verdict.max(Verdict::Warn);
                farther.more.push(format!(
                    "The hook is at {reach}, farther than the plate's {plated} for this position."
                ));
                farther
            }
            MomentCheck::AskThePlate { .. } => reckoned,
        })
    }
}

fields! {
    /// How far to roll the crane while its hook goes up or down.
    Roll, a "roll",
    must {
        /// The height of the boom's pivot over the floor.
        pivot: Length,
        /// From the pivot to the hook's pin, at the position in use.
        boom: Length,
        /// The height the hook goes from, and to.
        from: Given<Length>,
        to: Given<Length>,
    }
    may {
        /// From the hook's pin down to the hook.
        drop: Length,
    }
}

impl Work for Roll {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let boom = Boom {
            pivot_height: self.pivot,
            length: self.boom,
            hook_drop: self.drop.unwrap_or(Length::millimetres(0.0)),
        };
        let worked = boom
            .roll(self.from.from(taken)?, self.to.from(taken)?)
            .map_err(told)?;
        let roll = worked.result;
        let by = (roll.by.in_millimetres() / 10.0).round() * 10.0;
        let way = roll.way.words();
        let result = format!("Roll the crane {by} mm {way} on the way");
        Ok(Reckoned::of(&worked, Verdict::Go, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    fn crane(hole: &str, more: &str) -> String {
        format!(
            "Crane(load: \"350 kg\", rigging: \"18 kg\", plate: [(name: \"near\", limit: \"1 t\", \
             reach: \"0.9 m\"), (name: \"far\", limit: \"360 kg\", reach: \"1.4 m\")], \
             hole: \"{hole}\"{more})"
        )
    }

    #[test]
    fn the_plate_decides_by_position() {
        let near = outcome(&crane("near", ""), &[]);
        assert_eq!(near.verdict, Verdict::Go);
        assert!(near.result.contains("37 %"), "{}", near.result);
        assert_eq!(outcome(&crane("far", ""), &[]).verdict, Verdict::Refuse);
        refused(&crane("middle", ""), &[]);
    }

    /// 1 t at 0.9 m is 300 kg at 3 m by moment.
    #[test]
    fn a_reach_beyond_the_plates_warns_and_refuses() {
        let read = |reach| {
            outcome(
                &crane("near", ", reach: \"reach\""),
                &[("reach", "mm", reach)],
            )
        };
        assert_eq!(read("0900").verdict, Verdict::Go);
        assert_eq!(read("1000").verdict, Verdict::Warn);
        let far = read("3000");
        assert_eq!(far.verdict, Verdict::Refuse);
        assert!(far.result.contains("300 kg at most"), "{}", far.result);
    }

    #[test]
    fn the_hook_goes_on_an_arc() {
        let roll = "Roll(pivot: \"1.5 m\", boom: \"1.2 m\", from: \"1.5 m\", to: \"2.1 m\")";
        let outcome = outcome(roll, &[]);
        // cos 30°: from 1200 mm to 1039 mm.
        assert_eq!(
            outcome.result,
            "Roll the crane 160 mm towards the load on the way"
        );
        refused(
            "Roll(pivot: \"1.5 m\", boom: \"1.2 m\", from: \"1.5 m\", to: \"5 m\")",
            &[],
        );
    }
}
