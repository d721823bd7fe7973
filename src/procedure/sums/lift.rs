//! Lifting under one hook: legs, links and the weakest of them.

use serde::{Deserialize, Serialize};

use super::field::{Given, fields, words};
use super::sling::Direction;
use super::{Reckoned, Taken, Work, kilograms, percent, told};
use crate::procedure::values::Text;
use crate::trade::Verdict;
use crate::trade::Worked;
use crate::trade::lifting::{LegAngle, Legs, lift};
use crate::trade::off_centre::{LegRun, off_centre};
use crate::trade::quantity::{Angle, Length, Mass};
use crate::trade::rigging::{Eyebolt, Link as Chained, Pull, hold_bow, weakest_link};

/// What a link of a lift bears.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Bears {
    /// All that hangs under the hook.
    Hook,
    /// One leg's tension; the larger one where they differ.
    Leg,
}

/// How a link is made, which says what an aslant pull leaves of its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Made {
    /// Pulled as its plate has it: hook, strop, chain, shackle in line.
    Straight,
    Shackle,
    Eyebolt,
    PlainEyebolt,
}

words! {
    Bears: Hook Leg;
    Made: Straight Shackle Eyebolt PlainEyebolt;
    Legs: One Two Three Four FourShared;
}

fields! {
    /// One link of a lift: its plate's limit, what it bears and how it is pulled.
    Link, a "link",
    must {
        name: Text,
        limit: Mass,
        bears: Bears,
    }
    may {
        /// Else straight.
        made: Made,
        /// How far the pull is from in line; else the legs' own angle from vertical.
        pull: Angle,
    }
}

/// The load on hook and leg, and how far the legs lean from upright.
struct Borne {
    hook: Mass,
    leg: Mass,
    leans: Angle,
}

impl Link {
    fn chained(&self, borne: &Borne) -> Chained {
        let aslant = self.pull.unwrap_or(borne.leans);
        Chained {
            name: self.name.to_string(),
            limit: self.limit,
            bears: match self.bears {
                Bears::Hook => borne.hook,
                Bears::Leg => borne.leg,
            },
            pull: match self.made {
                None | Some(Made::Straight) => Pull::AsRated,
                Some(Made::Shackle) => Pull::Shackle(aslant),
                Some(Made::Eyebolt) => Pull::Eyebolt(Eyebolt::Shouldered, aslant),
                Some(Made::PlainEyebolt) => Pull::Eyebolt(Eyebolt::Plain, aslant),
            },
        }
    }
}

/// Says what hangs and which link is nearest to its limit, and judges it.
fn judge<T>(
    said: String,
    worked: &Worked<T>,
    links: &[Link],
    borne: &Borne,
) -> Result<Reckoned, String> {
    let chain: Vec<Chained> = links.iter().map(|link| link.chained(borne)).collect();
    let weakest = weakest_link(&chain).map_err(told)?;
    let link = &weakest.result;
    let used = percent(link.used);
    let result = match link.verdict {
        Verdict::Refuse => format!("{} would be at {used} of its limit. {said}", link.name),
        _ => format!("{said}. {} is at {used} of its limit", link.name),
    };
    Ok(Reckoned::of(&weakest, link.verdict, result).after(worked))
}

fields! {
    /// What hook, legs and links bear.
    Lift, a "lift",
    must {
        load: Given<Mass>,
        /// What slings, shackles and beam weigh.
        rigging: Given<Mass>,
        /// Of four legs only two are taken to carry; `FourShared` where somebody who can judge it says
        /// that they share the load.
        legs: Legs,
        links: Vec<Link>,
    }
    may {
        /// The direction of the legs: an angle and the line it is measured from, or length and height.
        from_horizontal: Given<Angle>,
        from_vertical: Given<Angle>,
        leg: Given<Length>,
        height: Given<Length>,
    }
}

impl Lift {
    fn angle(&self, taken: &Taken) -> Result<LegAngle, String> {
        let direction = Direction {
            legs: self.legs,
            from_horizontal: &self.from_horizontal,
            from_vertical: &self.from_vertical,
            leg: &self.leg,
            height: &self.height,
        };
        direction.angle(taken)
    }
}

impl Work for Lift {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let angle = self.angle(taken)?;
        let (load, rigging) = (self.load.from(taken)?, self.rigging.from(taken)?);
        let worked = lift(load, rigging, self.legs, angle).map_err(told)?;
        let (hook, leg) = (worked.result.hook, worked.result.leg);
        let between = leg.from_vertical * 2.0;
        if self.legs != Legs::One {
            hold_bow(between).map_err(told)?;
        }
        let said = if self.legs == Legs::One {
            format!("{} on the hook", kilograms(hook))
        } else {
            format!(
                "{} on the hook, {} on each leg at {:.0}° from horizontal",
                kilograms(hook),
                kilograms(leg.tension),
                leg.from_horizontal.in_degrees()
            )
        };
        let borne = Borne {
            hook,
            leg: leg.tension,
            leans: leg.from_vertical,
        };
        judge(said, &worked, &self.links, &borne)
    }
}

fields! {
    /// What two legs bear of a load whose centre is not in the middle.
    OffCentre, a "off-centre lift",
    must {
        load: Given<Mass>,
        rigging: Given<Mass>,
        /// From the lifting points up to the hook, which hangs plumb over the load's centre.
        height: Given<Length>,
        /// Level distances from the centre to the lifting points.
        first: Given<Length>,
        second: Given<Length>,
        links: Vec<Link>,
    }
    may {
        /// The legs as measured: must agree with their runs.
        first_leg: Given<Length>,
        second_leg: Given<Length>,
    }
}

impl Work for OffCentre {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let run = |across: &Given<Length>, measured: &Option<Given<Length>>| {
            let measured = measured.as_ref().map(|leg| leg.from(taken)).transpose()?;
            let across = across.from(taken)?;
            Ok::<LegRun, String>(LegRun { across, measured })
        };
        let first = run(&self.first, &self.first_leg)?;
        let second = run(&self.second, &self.second_leg)?;
        let height = self.height.from(taken)?;
        let hook = self.load.from(taken)? + self.rigging.from(taken)?;
        let worked = off_centre(hook, height, first, second).map_err(told)?;
        let legs = worked.result;
        let leans = |length: Length| {
            let angle = (height / length).clamp(-1.0, 1.0).acos();
            Angle::degrees(angle.to_degrees())
        };
        let (a, b) = (leans(legs.first_length), leans(legs.second_length));
        hold_bow(a + b).map_err(told)?;
        let borne = Borne {
            hook,
            leg: if legs.first > legs.second {
                legs.first
            } else {
                legs.second
            },
            leans: if a > b { a } else { b },
        };
        let said = format!(
            "{} on the hook, {} on the first leg, {} on the second",
            kilograms(hook),
            kilograms(legs.first),
            kilograms(legs.second)
        );
        judge(said, &worked, &self.links, &borne)
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    /// Two legs at 60° from horizontal bear half the load over sin 60° each: 212.5 kg of 368.
    #[test]
    fn the_weakest_link_is_said() {
        let lift = |limit| {
            format!(
                "Lift(load: \"350 kg\", rigging: \"18 kg\", legs: Two, from_horizontal: \"60°\", \
                 links: [(name: \"hook\", limit: \"1 t\", bears: Hook), \
                 (name: \"eyebolt\", limit: \"{limit}\", bears: Leg, made: Eyebolt)])"
            )
        };
        let good = outcome(&lift("1 t"), &[]);
        assert_eq!(good.verdict, Verdict::Go);
        assert!(
            good.result
                .contains("368 kg on the hook, 213 kg on each leg")
        );
        let over = outcome(&lift("300 kg"), &[]);
        assert_eq!(over.verdict, Verdict::Refuse);
        assert!(
            over.result.starts_with("eyebolt would be at"),
            "{}",
            over.result
        );
    }

    #[test]
    fn length_and_height_as_read_give_the_angle() {
        let sum = "Lift(load: \"350 kg\", rigging: \"18 kg\", legs: Two, leg: \"leg\", \
                   height: \"height\", links: [(name: \"strop\", limit: \"1 t\", bears: Leg)])";
        let read = |height| [("leg", "mm", "1200"), ("height", "mm", height)];
        assert_eq!(outcome(sum, &read("1039")).verdict, Verdict::Go);
        // Below 30° from horizontal nothing is lifted, and no leg is shorter than it is high.
        refused(sum, &read("0400"));
        refused(sum, &read("1300"));
    }

    #[test]
    fn a_direction_told_twice_or_not_at_all_is_none() {
        let lift = |how: &str| {
            format!(
                "Lift(load: \"350 kg\", rigging: \"18 kg\", legs: Two, {how} \
                 links: [(name: \"strop\", limit: \"1 t\", bears: Leg)])"
            )
        };
        refused(&lift(""), &[]);
        refused(
            &lift("from_horizontal: \"60°\", from_vertical: \"30°\","),
            &[],
        );
        refused(&lift("leg: \"1 m\","), &[]);
    }

    #[test]
    fn lengths_that_cannot_be_are_refused() {
        let sum = |leg| {
            format!(
                "OffCentre(load: \"2 t\", rigging: \"0 kg\", height: \"800 mm\", \
                 first: \"600 mm\", second: \"800 mm\", first_leg: \"{leg}\", \
                 links: [(name: \"strop\", limit: \"3 t\", bears: Leg)])"
            )
        };
        let true_one = outcome(&sum("1000 mm"), &[]);
        assert_eq!(true_one.verdict, Verdict::Go, "{true_one:?}");
        refused(&sum("1200 mm"), &[]);
    }
}
