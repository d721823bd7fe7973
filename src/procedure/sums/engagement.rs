//! How deep a thread holds, and how many turns a nut goes on.

use super::field::{Given, fields, words};
use super::{Reckoned, Taken, Work, shown, told};
use crate::trade::Verdict;
use crate::trade::engagement::{Into, needed_engagement, nut_turns};
use crate::trade::quantity::{Angle, AngleUnit, Length};
use crate::trade::thread::Thread;

words! {
    Into: SteelOrIron Aluminium;
}

fields! {
    /// Whether a thread holds deep enough.
    Engagement, a "engagement",
    must {
        thread: Thread,
        /// How deep it holds.
        deep: Given<Length>,
    }
    may {
        /// What the thread is cut into: the rule of thumb for it; else the formula for equal strength.
        into: Into,
    }
}

impl Work for Engagement {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let thread = self.thread;
        let worked = needed_engagement(thread, self.into);
        let (deep, needed) = (self.deep.from(taken)?, worked.result);
        let (result, verdict) = if deep < needed {
            let result = format!("{thread} must hold {needed:.1} deep, and holds {deep}");
            (result, Verdict::Refuse)
        } else {
            (
                format!("{thread} holds {deep}, {needed:.1} is enough"),
                Verdict::Go,
            )
        };
        let mut reckoned = Reckoned::of(&worked, verdict, result);
        if verdict == Verdict::Refuse {
            reckoned.more.push(
                "Take a longer bolt, or look for what keeps it from going in: a short thread strips."
                    .into(),
            );
        }
        Ok(reckoned)
    }
}

fields! {
    /// Whether a wheel nut goes on far enough.
    NutTurns, a "nut",
    must {
        thread: Thread,
        /// The full turns counted.
        counted: Given<Angle>,
    }
    may {
        /// How deep the nut must hold; else one diameter.
        depth: Length,
    }
}

impl Work for NutTurns {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let counted = self.counted.from(taken)?.shown_in(AngleUnit::Turn);
        let worked = nut_turns(self.thread, self.depth, Some(counted)).map_err(told)?;
        let needed = worked.result.needed;
        let result = format!("{} counted, {} needed", shown(counted), shown(needed));
        Ok(Reckoned::of(&worked, worked.result.verdict(), result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::outcome;
    use crate::trade::Verdict;

    /// The rule of thumb asks for twice the diameter in aluminium.
    #[test]
    fn aluminium_asks_for_more() {
        let sum = "Engagement(thread: \"M10\", deep: \"depth\", into: Aluminium)";
        let deep = |figure| outcome(sum, &[("depth", "mm", figure)]).verdict;
        assert_eq!(deep("20"), Verdict::Go);
        assert_eq!(deep("19"), Verdict::Refuse);
    }

    /// M14x1.5 over one diameter: 9.33, so ten full turns.
    #[test]
    fn turns_are_counted() {
        let sum = "NutTurns(thread: \"M14x1.5\", counted: \"turns\")";
        let counted = |figure| outcome(sum, &[("turns", "turns", figure)]);
        assert_eq!(counted("10").verdict, Verdict::Go);
        let short = counted("09");
        assert_eq!(short.verdict, Verdict::Refuse);
        assert_eq!(short.result, "9 turns counted, 10 turns needed");
    }
}
