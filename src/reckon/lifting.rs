//! Lifting: slings, off-centre loads, shackles and eyebolts, the weakest link.

use clap::{ArgGroup, Args};

use super::answer::Reckoning;
use super::given::{one_of, two};
use super::{Sum, missing, told};
use crate::complaint::Complaint;
use crate::trade::lifting::{LegAngle, Legs, lift, limit_by_standard};
use crate::trade::off_centre::{LegRun, off_centre, upright_shares};
use crate::trade::quantity::{Angle, Length, Mass};
use crate::trade::rigging::{
    Eyebolt, Link, Pull, eyebolt_share, hold_bow, shackle_share, weakest_link,
};

/// The direction of the legs, with the line it is measured from.
#[derive(Debug, Args)]
#[command(
    group = ArgGroup::new("direction").required(true).args(["from_horizontal", "from_vertical", "leg"])
)]
pub struct DirectionArgs {
    /// The angle of the legs measured from horizontal.
    #[arg(long, value_name = "ANGLE")]
    from_horizontal: Option<Angle>,
    /// The angle of the legs measured from vertical.
    #[arg(long, value_name = "ANGLE")]
    from_vertical: Option<Angle>,
    /// The length of a leg instead, with --height.
    #[arg(long, requires = "height")]
    leg: Option<Length>,
    /// From the lifting points up to the hook.
    #[arg(long, requires = "leg")]
    height: Option<Length>,
}

impl DirectionArgs {
    fn angle(&self) -> Result<LegAngle, Complaint> {
        match (self.from_horizontal, self.from_vertical) {
            (Some(angle), _) => Ok(LegAngle::FromHorizontal(angle)),
            (None, Some(angle)) => Ok(LegAngle::FromVertical(angle)),
            (None, None) => {
                let leg = self.leg.ok_or_else(missing)?;
                let height = self.height.ok_or_else(missing)?;
                LegAngle::of_lengths(leg, height).map_err(told)
            }
        }
    }
}

const LEGS: [(&str, Legs); 5] = [
    ("1", Legs::One),
    ("2", Legs::Two),
    ("3", Legs::Three),
    ("4", Legs::Four),
    ("4-shared", Legs::FourShared),
];

#[derive(Debug, Args)]
#[command(after_help = r#"Examples:
  benchcall reckon sling "350 kg" --legs 2 --leg "1.2 m" --height "900 mm" \
      --rigging "12 kg"
  benchcall reckon sling "350 kg" --legs 4 --from-vertical "45 deg""#)]
pub struct SlingArgs {
    /// The load.
    load: Mass,
    /// The legs; of four only two are taken to carry, "4-shared" where somebody who can judge it says
    /// that they share the load.
    #[arg(long, value_parser = one_of(&LEGS))]
    legs: Legs,
    #[command(flatten)]
    direction: DirectionArgs,
    /// What slings, shackles and beam weigh.
    #[arg(long, default_value = "0 kg")]
    rigging: Mass,
}

impl Sum for SlingArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let angle = self.direction.angle()?;
        let worked = lift(self.load, self.rigging, self.legs, angle).map_err(told)?;
        Ok(Reckoning::of_danger(worked))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon sling-limit "1 t" --legs 2 --from-vertical "45 deg""#)]
pub struct SlingLimitArgs {
    /// What one leg may lift.
    one_leg: Mass,
    #[arg(long, value_parser = one_of(&LEGS))]
    legs: Legs,
    #[command(flatten)]
    direction: DirectionArgs,
}

impl Sum for SlingLimitArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let angle = self.direction.angle()?;
        let worked = limit_by_standard(self.one_leg, self.legs, angle).map_err(told)?;
        Ok(Reckoning::of_danger(worked))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Examples:
  benchcall reckon off-centre "2 t" --height "800 mm" --first "200 mm" \
      --second "800 mm"
  benchcall reckon off-centre "2 t" --upright --first "200 mm" --second "800 mm""#)]
pub struct OffCentreArgs {
    /// The load.
    load: Mass,
    /// From the lifting points up to the hook, which hangs plumb over the load's centre.
    #[arg(long, required_unless_present = "upright")]
    height: Option<Length>,
    /// Level distance from the centre to the first lifting point.
    #[arg(long)]
    first: Length,
    /// Level distance from the centre to the second lifting point.
    #[arg(long)]
    second: Length,
    /// The first leg as measured: must agree with its run.
    #[arg(long)]
    first_leg: Option<Length>,
    /// The second leg as measured.
    #[arg(long)]
    second_leg: Option<Length>,
    /// Two upright slings or hoists instead of legs to one hook.
    #[arg(long, conflicts_with_all = ["height", "first_leg", "second_leg"])]
    upright: bool,
}

impl Sum for OffCentreArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let Some(height) = self.height else {
            let worked = upright_shares(self.load, self.first, self.second).map_err(told)?;
            return Ok(Reckoning::of_danger(worked));
        };
        let run = |across, measured| LegRun { across, measured };
        let first = run(self.first, self.first_leg);
        let second = run(self.second, self.second_leg);
        let worked = off_centre(self.load, height, first, second).map_err(told)?;
        Ok(Reckoning::of_danger(worked))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon shackle --pull "30 deg""#)]
pub struct ShackleArgs {
    /// How far the pull is from in line with the shackle.
    #[arg(long)]
    pull: Angle,
    /// The angle between two slings in its bow.
    #[arg(long)]
    between: Option<Angle>,
}

impl Sum for ShackleArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        if let Some(between) = self.between {
            hold_bow(between).map_err(told)?;
        }
        let worked = shackle_share(self.pull).map_err(told)?;
        Ok(Reckoning::of_danger(worked))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon eyebolt --pull "30 deg""#)]
pub struct EyeboltArgs {
    /// How far the pull is from the eyebolt's axis.
    #[arg(long)]
    pull: Angle,
    /// The eyebolt has no shoulder.
    #[arg(long)]
    plain: bool,
}

impl Sum for EyeboltArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let eyebolt = if self.plain {
            Eyebolt::Plain
        } else {
            Eyebolt::Shouldered
        };
        let worked = eyebolt_share(eyebolt, self.pull).map_err(told)?;
        Ok(Reckoning::of_danger(worked))
    }
}

const LINK_FORM: &str = "a link is its name, its plate's limit and what it bears, such as \
                         \"strop: 1 t, bears 360 kg\" or \"shackle: 1 t, bears 230 kg, shackle at 30 deg\"";

/// Reads `left shackle: 1 t, bears 230 kg, shackle at 30 deg`.
fn link(text: &str) -> Result<Link, String> {
    let said = |error: crate::trade::quantity::QuantityError| error.to_string();
    let (name, rest) = two(text, ":").ok_or(LINK_FORM)?;
    let (limit, rest) = two(rest, ", bears ").ok_or(LINK_FORM)?;
    let (bears, pull) = match two(rest, ", ") {
        Some((bears, pull)) => (bears, Some(pull)),
        None => (rest, None),
    };
    let pull = match pull {
        None => Pull::AsRated,
        Some(pull) => {
            let (kind, angle) = two(pull, " at ").ok_or(LINK_FORM)?;
            let angle = angle.parse().map_err(said)?;
            match kind {
                "shackle" => Pull::Shackle(angle),
                "eyebolt" => Pull::Eyebolt(Eyebolt::Shouldered, angle),
                "plain eyebolt" => Pull::Eyebolt(Eyebolt::Plain, angle),
                _ => {
                    return Err(format!(
                        "{kind:?} is pulled in no known way: write shackle, eyebolt or plain eyebolt"
                    ));
                }
            }
        }
    };
    Ok(Link {
        name: name.into(),
        limit: limit.parse().map_err(said)?,
        bears: bears.parse().map_err(said)?,
        pull,
    })
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon weakest --link "strop: 1 t, bears 362 kg" \
      --link "left shackle: 500 kg, bears 230 kg, shackle at 30 deg" \
      --link "front eyebolt: 700 kg, bears 230 kg, eyebolt at 40 deg""#)]
pub struct WeakestArgs {
    /// A link: "NAME: LIMIT, bears LOAD", then ", shackle at ANGLE", ", eyebolt at ANGLE" or ", plain
    /// eyebolt at ANGLE" where it is pulled aslant; what it bears includes the rigging under it.
    #[arg(long, value_parser = link, required = true)]
    link: Vec<Link>,
}

impl Sum for WeakestArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = weakest_link(&self.link).map_err(told)?;
        let verdict = worked.result.verdict;
        Ok(Reckoning::of_danger(worked).judged(verdict))
    }
}
