//! The workshop crane: what it may lift at a hole, and where its hook goes.

use clap::{ArgGroup, Args};

use super::answer::Reckoning;
use super::given::two;
use super::{Sum, missing, told};
use crate::complaint::Complaint;
use crate::trade::crane::{Boom, BoomHole, MomentCheck, at_hole, check_moment};
use crate::trade::quantity::{Angle, Length, Mass};

/// Reads `A: 500 kg`.
fn hole(text: &str) -> Result<BoomHole, String> {
    let (name, limit) =
        two(text, ":").ok_or("a hole is its name and its limit, such as \"A: 500 kg\"")?;
    Ok(BoomHole {
        name: name.into(),
        limit: limit.parse().map_err(|e| format!("{e}"))?,
    })
}

#[derive(Debug, Args)]
#[command(
    after_help = r#"Examples:
  benchcall reckon crane "350 kg" --rigging "12 kg" --plate "A: 1 t" \
      --plate "B: 500 kg" --hole B
  benchcall reckon crane "350 kg" --limit "1 t" --limit-reach "0.9 m" --reach "1.4 m""#,
    group = ArgGroup::new("by").required(true).args(["hole", "limit"])
)]
pub struct CraneArgs {
    /// The load; with --limit, all that hangs.
    load: Mass,
    /// What slings, shackles and beam weigh.
    #[arg(long, default_value = "0 kg", conflicts_with = "limit")]
    rigging: Mass,
    /// The boom's hole in use.
    #[arg(long, requires = "plate")]
    hole: Option<String>,
    /// A hole as the crane's plate names it, with its limit: "A: 1 t".
    #[arg(long, value_parser = hole, requires = "hole")]
    plate: Vec<BoomHole>,
    /// A limit of the plate, for an estimate by moment that may only refuse.
    #[arg(long, requires_all = ["limit_reach", "reach"])]
    limit: Option<Mass>,
    /// The reach that the limit is for.
    #[arg(long, requires = "limit")]
    limit_reach: Option<Length>,
    /// The reach of the load.
    #[arg(long, requires = "limit")]
    reach: Option<Length>,
}

impl Sum for CraneArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        if let (Some(limit), Some(limit_reach), Some(reach)) =
            (self.limit, self.limit_reach, self.reach)
        {
            let worked = check_moment(limit, limit_reach, self.load, reach).map_err(told)?;
            let refused = matches!(worked.result, MomentCheck::Refused { .. });
            return Ok(Reckoning::of_danger(worked).refused_if(refused));
        }
        let hole = self.hole.as_deref().ok_or_else(missing)?;
        let worked = at_hole(&self.plate, hole, self.load, self.rigging).map_err(told)?;
        let verdict = worked.result.verdict;
        Ok(Reckoning::of_danger(worked).judged(verdict))
    }
}

#[derive(Debug, Args)]
#[command(
    after_help = r#"Examples:
  benchcall reckon hook --pivot "1.5 m" --boom "1.2 m" --angle "30 deg"
  benchcall reckon hook --pivot "1.5 m" --boom "1.2 m" --height "1.8 m"
  benchcall reckon hook --pivot "1.5 m" --boom "1.2 m" --height "1.2 m" --to "2.2 m""#,
    group = ArgGroup::new("place").required(true).args(["angle", "height"])
)]
pub struct HookArgs {
    /// The height of the boom's pivot over the floor.
    #[arg(long)]
    pivot: Length,
    /// From the pivot to the hook's pin, at the hole in use.
    #[arg(long)]
    boom: Length,
    /// From the hook's pin down to the hook.
    #[arg(long, default_value = "0 mm")]
    drop: Length,
    /// The boom's angle from level: gives height and reach of the hook.
    #[arg(long)]
    angle: Option<Angle>,
    /// The hook's height over the floor: gives the boom's angle.
    #[arg(long)]
    height: Option<Length>,
    /// The height the hook goes to: gives how far and which way to roll the crane.
    #[arg(long, requires = "height")]
    to: Option<Length>,
}

impl Sum for HookArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let boom = Boom {
            pivot_height: self.pivot,
            length: self.boom,
            hook_drop: self.drop,
        };
        match (self.height, self.to) {
            (Some(from), Some(to)) => {
                let worked = boom.roll(from, to).map_err(told)?;
                Ok(Reckoning::of_danger(worked))
            }
            (Some(height), None) => {
                let worked = boom.angle_for(height).map_err(told)?;
                Ok(Reckoning::of_danger(worked))
            }
            (None, _) => {
                let angle = self.angle.ok_or_else(missing)?;
                let worked = boom.hook(angle).map_err(told)?;
                Ok(Reckoning::of_danger(worked))
            }
        }
    }
}
