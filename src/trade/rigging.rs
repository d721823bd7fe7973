//! Rigging: shackles and eyebolts pulled at an angle, and the weakest link of a lift.
//!
//! It may refuse; it never approves beyond the figure on a plate.

use super::lifting::{LEAST_LOAD, MOST_LOAD};
use super::quantity::{Angle, Mass, Share};
use super::range::{OutOfRange, hold};
use super::worked::{Answer, Verdict, Worked, neat};

const SHACKLE_SOURCE: &str =
    "bands of WAC 296-155-33905 and ASME B30.26, shares of shackle makers (45°: 70 %, 90°: 50 %)";
const EYEBOLT_SOURCE: &str =
    "eyebolt suppliers' tables, the lowest where they differ (15°: 80 %, 30°: 65 %, 45°: 25 %)";
const GATE_SOURCE: &str = "\
    working load limits of the plates; warning from 75 % (common practice, no source), critical \
    over 90 % (a university's rigging rules)";

/// Up to this share of a limit nothing is said.
pub const QUIET: Share = Share::percent(75.0);
/// Over this share a lift is critical: plan it, and keep everybody away.
pub const CRITICAL: Share = Share::percent(90.0);
const FULL: Share = Share::percent(100.0);
/// The widest angle between two slings in one shackle's bow (shackle makers).
pub const WIDEST_IN_ONE_BOW: Angle = Angle::degrees(120.0);

const IN_LINE: Angle = Angle::degrees(0.0);
const SQUARE: Angle = Angle::degrees(90.0);

/// Why a link must not be used so.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RiggingError {
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error(
        "A plain eyebolt, without a shoulder, must be pulled straight, not at {pull:.0}: use a shouldered \
         eyebolt or a lifting bracket"
    )]
    PlainEyebolt { pull: Angle },
    #[error(
        "An eyebolt must not be pulled at {pull:.0}, the most is 45° from its axis: use a lifting bracket, \
         or longer slings"
    )]
    EyeboltTooSlanted { pull: Angle },
    #[error(
        "Two slings in one bow stand {between:.0} apart, the most is {WIDEST_IN_ONE_BOW}: use longer slings"
    )]
    BowTooWide { between: Angle },
    #[error(
        "No link was named: name each sling, shackle, eyebolt and the crane with its plate's limit"
    )]
    NoLink,
}

/// Returns the share of its limit that a shackle keeps when pulled at `pull` from in line.
///
/// Range: 0° to 90°. Up to 5° all, up to 45° 70 %, up to 90° 50 %.
///
/// # Errors
/// [`RiggingError::OutOfRange`] over 90°, which needs its maker's word.
pub fn shackle_share(pull: Angle) -> Result<Worked<Share>, RiggingError> {
    hold("The pull on a shackle", pull, IN_LINE, SQUARE)?;
    let share = Share::percent(match pull.in_degrees() {
        pull if pull <= 5.0 => 100.0,
        pull if pull <= 45.0 => 70.0,
        _ => 50.0,
    });
    let formula = format!(
        "{}° from in line: {share} of the limit",
        neat(pull.in_degrees())
    );
    Ok(Worked::new(share, formula, SHACKLE_SOURCE)
        .caution("The pin must not be able to turn or roll under the sling."))
}

/// Checks the angle between two slings in one shackle's bow.
///
/// # Errors
/// [`RiggingError::BowTooWide`] over 120°; [`RiggingError::OutOfRange`] for what is no angle.
pub fn hold_bow(between: Angle) -> Result<(), RiggingError> {
    hold(
        "The angle between two slings",
        between,
        IN_LINE,
        Angle::degrees(180.0),
    )?;
    if between > WIDEST_IN_ONE_BOW {
        return Err(RiggingError::BowTooWide { between });
    }
    Ok(())
}

/// An eyebolt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Eyebolt {
    Plain,
    /// With a shoulder that sits flat on the work, the pull in the plane of the eye.
    Shouldered,
}

/// Returns the share of its straight limit that an eyebolt keeps when pulled at `pull` from its axis.
///
/// Range: 0° to 45°; plain eyebolts up to 5°. Up to 5° all, up to 15° 80 %, up to 30° 65 %, up to 45°
/// 25 %. Published tables differ (at 45° 30 % in one, 25 % in another): the lowest one found holds, for
/// the whole band below it. An eyebolt with a table of its own (DIN 580) is a link as rated, by that
/// table.
///
/// # Errors
/// [`RiggingError::PlainEyebolt`], [`RiggingError::EyeboltTooSlanted`], [`RiggingError::OutOfRange`].
pub fn eyebolt_share(eyebolt: Eyebolt, pull: Angle) -> Result<Worked<Share>, RiggingError> {
    hold("The pull on an eyebolt", pull, IN_LINE, SQUARE)?;
    let degrees = pull.in_degrees();
    let share = Share::percent(match (eyebolt, degrees) {
        (_, ..=5.0) => 100.0,
        (Eyebolt::Plain, _) => return Err(RiggingError::PlainEyebolt { pull }),
        (_, ..=15.0) => 80.0,
        (_, ..=30.0) => 65.0,
        // A leg reckoned to 45° must not fall to a rounding.
        (_, ..=45.000_000_1) => 25.0,
        _ => return Err(RiggingError::EyeboltTooSlanted { pull }),
    });
    let formula = format!("{}° from the axis: {share} of the limit", neat(degrees));
    let worked = Worked::new(share, formula, EYEBOLT_SOURCE);
    Ok(if share < FULL {
        worked
            .caution("The shoulder must sit flat and the eye lie in the plane of the pull.")
            .caution("A lifting bracket is better than an eyebolt pulled aslant.")
    } else {
        worked
    })
}

/// How a link is pulled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pull {
    /// As its plate's figure is meant: slings, chains, hooks, the crane at its boom's place.
    AsRated,
    Shackle(Angle),
    Eyebolt(Eyebolt, Angle),
}

/// A link of a lift: what it may bear, and what it must.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    pub name: String,
    /// The working load limit on its plate.
    pub limit: Mass,
    pub pull: Pull,
    /// What it bears, the rigging under it included.
    pub bears: Mass,
}

/// How far the weakest link is loaded, and what the gate says.
#[derive(Debug, Clone, PartialEq)]
pub struct WeakestLink {
    pub name: String,
    pub used: Share,
    pub verdict: Verdict,
    /// Every link with its share, in the order given.
    pub links: Vec<(String, Share)>,
}

impl From<WeakestLink> for Answer {
    fn from(weakest: WeakestLink) -> Answer {
        let links = weakest.links.iter();
        let links = links.map(|(name, used)| Answer::Words(format!("{name} {used:.0}")));
        Answer::Named(vec![
            ("verdict", weakest.verdict.into()),
            ("weakest", Answer::Words(weakest.name.clone())),
            ("used", weakest.used.into()),
            ("links", Answer::List(links.collect())),
        ])
    }
}

/// Returns the link that is loaded nearest to its limit, or furthest over it, and the gate.
///
/// Up to 75 % go, up to 100 % warn, over it refuse. Range: limits and loads 1 g to 100 t.
///
/// # Errors
/// [`RiggingError::NoLink`] without a link, and whatever [`shackle_share`] and [`eyebolt_share`] refuse.
pub fn weakest_link(links: &[Link]) -> Result<Worked<WeakestLink>, RiggingError> {
    let mut shares = Vec::new();
    let mut cautions: Vec<String> = Vec::new();
    let mut weakest: Option<(&Link, Share, Share)> = None;
    for link in links {
        hold("A working load limit", link.limit, LEAST_LOAD, MOST_LOAD)?;
        hold("What a link bears", link.bears, LEAST_LOAD, MOST_LOAD)?;
        let kept = match link.pull {
            Pull::AsRated => Worked::new(FULL, "", GATE_SOURCE),
            Pull::Shackle(pull) => shackle_share(pull)?,
            Pull::Eyebolt(eyebolt, pull) => eyebolt_share(eyebolt, pull)?,
        };
        for caution in kept.cautions {
            if !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
        let used = Share::of_one(link.bears / link.limit / kept.result.in_ones());
        shares.push((link.name.clone(), used));
        if weakest.is_none_or(|(_, most, _)| used > most) {
            weakest = Some((link, used, kept.result));
        }
    }
    let (link, used, kept) = weakest.ok_or(RiggingError::NoLink)?;
    let verdict = gate(used);
    let formula = format!(
        "{}: {} kg/({} kg·{}) = {} %",
        link.name,
        neat(link.bears.in_kilograms()),
        neat(link.limit.in_kilograms()),
        neat(kept.in_ones()),
        neat(used.in_percent()),
    );
    let result = WeakestLink {
        name: link.name.clone(),
        used,
        verdict,
        links: shares,
    };
    let mut worked = Worked::new(result, formula, GATE_SOURCE);
    worked.cautions = cautions;
    Ok(match verdict {
        Verdict::Refuse => worked.caution(format!("{} is overloaded: do not lift.", link.name)),
        Verdict::Warn if used > CRITICAL => worked.caution(format!(
            "{} is loaded over {CRITICAL} of its limit: a critical lift.",
            link.name
        )),
        Verdict::Warn => worked.caution(format!(
            "{} is loaded over {QUIET} of its limit.",
            link.name
        )),
        Verdict::Go => worked,
    })
}

/// Returns what the gate says to a link used so far: up to 75 % go, up to 100 % warn, over it refuse; no
/// number refuses too.
pub fn gate(used: Share) -> Verdict {
    // What comes to 100 % by sums that are exact on paper must not be refused for the last digit.
    let slack = 1e-9;
    let used = used.in_percent();
    if used <= QUIET.in_percent() + slack {
        Verdict::Go
    } else if used <= FULL.in_percent() + slack {
        Verdict::Warn
    } else {
        Verdict::Refuse
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn link(name: &str, limit: f64, bears: f64, pull: Pull) -> Link {
        Link {
            name: name.into(),
            limit: Mass::kilograms(limit),
            pull,
            bears: Mass::kilograms(bears),
        }
    }

    #[test]
    fn the_gate_stands_at_the_plates_figure() {
        let verdict = |percent| gate(Share::percent(percent));
        assert_eq!(verdict(75.0), Verdict::Go);
        assert_eq!(verdict(75.1), Verdict::Warn);
        assert_eq!(verdict(100.0), Verdict::Warn);
        assert_eq!(verdict(100.1), Verdict::Refuse);
        assert_eq!(verdict(f64::NAN), Verdict::Refuse);
    }

    #[test]
    fn the_weakest_link_is_named() {
        let slanted = Pull::Shackle(Angle::degrees(30.0));
        let worked = weakest_link(&[
            link("crane", 500.0, 210.0, Pull::AsRated),
            link("sling", 1000.0, 130.0, Pull::AsRated),
            link("shackle", 200.0, 130.0, slanted),
        ])
        .unwrap();
        assert_eq!(worked.result.name, "shackle");
        assert_eq!(worked.result.verdict, Verdict::Warn);
        assert!((worked.result.used.in_percent() - 92.857).abs() < 0.001);
        assert!(
            worked.cautions.iter().any(|c| c.contains("critical lift")),
            "{:?}",
            worked.cautions
        );
        assert_eq!(weakest_link(&[]), Err(RiggingError::NoLink));
    }

    #[test]
    fn a_plain_eyebolt_stops_the_whole_lift() {
        let pull = Pull::Eyebolt(Eyebolt::Plain, Angle::degrees(20.0));
        let refused = weakest_link(&[link("eyebolt", 1000.0, 10.0, pull)]);
        let said = refused.unwrap_err().to_string();
        assert!(
            said.contains("use a shouldered eyebolt or a lifting bracket"),
            "{said}"
        );
    }

    proptest! {
        #[test]
        fn nothing_is_approved_beyond_a_plate(
            links in prop::collection::vec((1.0..5000.0, 1.0..5000.0, 0.0..45.0, 0u8..3), 1..6)
        ) {
            let links: Vec<_> = links
                .into_iter()
                .map(|(limit, bears, degrees, kind)| {
                    let angle = Angle::degrees(degrees);
                    let pull = match kind {
                        0 => Pull::AsRated,
                        1 => Pull::Shackle(angle),
                        _ => Pull::Eyebolt(Eyebolt::Shouldered, angle),
                    };
                    link("a link", limit, bears, pull)
                })
                .collect();
            let verdict = weakest_link(&links).unwrap().result.verdict;
            let over = links.iter().any(|link| link.bears > link.limit * (1.0 + 1e-9));
            prop_assert!(!over || verdict == Verdict::Refuse);
        }

        #[test]
        fn no_number_panics(limit: f64, bears: f64, degrees: f64) {
            let angle = Angle::degrees(degrees);
            let _ = weakest_link(&[
                link("a", limit, bears, Pull::Shackle(angle)),
                link("b", limit, bears, Pull::Eyebolt(Eyebolt::Shouldered, angle)),
            ]);
            let _ = hold_bow(angle);
        }
    }
}
