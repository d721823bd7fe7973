//! Brakes, bearings and valves: what readings say.

use clap::Args;

use super::answer::Reckoning;
use super::given::{Readings, one_of};
use super::{Sum, told};
use crate::complaint::Complaint;
use crate::trade::Answer;
use crate::trade::bearing::end_float;
use crate::trade::brake::{BrakeFluid, best_position, disc_thickness, pour, run_out};
use crate::trade::quantity::{Length, LengthDifference};
use crate::trade::valve::{Clearance, choose_shim, sizes};

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon disc "22.05 22.03 22.04 22.05 22.02 22.04 22.03 22.05 mm" \
      --minimum "20.5 mm" --variation "0.02 mm""#)]
pub struct DiscArgs {
    /// Eight readings or more evenly round the disc, the unit once at the end.
    readings: Readings<Length>,
    /// The minimum stamped on the disc.
    #[arg(long)]
    minimum: Length,
    /// The most the thickness may vary.
    #[arg(long)]
    variation: Option<Length>,
}

impl Sum for DiscArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked =
            disc_thickness(&self.readings.0, self.minimum, self.variation).map_err(told)?;
        let verdict = worked.result.verdict;
        Ok(Reckoning::of_danger(worked).judged(verdict))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon run-out "0.00 0.03 0.05 0.01 -0.02 mm" --limit "0.1 mm""#)]
pub struct RunOutArgs {
    /// The dial's readings over a whole turn, the unit once at the end.
    readings: Readings<LengthDifference>,
    /// The most allowed.
    #[arg(long)]
    limit: Length,
}

impl Sum for RunOutArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = run_out(&self.readings.0, self.limit).map_err(told)?;
        let verdict = worked.result.verdict;
        Ok(Reckoning::of_danger(worked).judged(verdict))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon disc-position "0.08 0.05 0.11 0.09 0.12 mm""#)]
pub struct DiscPositionArgs {
    /// The run-out at each position of the disc on its hub, in order, the unit once at the end.
    run_outs: Readings<Length>,
}

impl Sum for DiscPositionArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = best_position(&self.run_outs.0).map_err(told)?;
        let positions = self.run_outs.0.len();
        Ok(Reckoning::of_danger(worked.map(|(at, run_out)| {
            let position = format!("{} of {positions}", at + 1);
            Answer::Named(vec![
                ("position", Answer::Words(position)),
                ("run-out", run_out.into()),
            ])
        })))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon end-float --pulled "0.06 mm" --pushed "-0.02 mm" --least "0.03 mm" \
      --most "0.13 mm""#)]
pub struct EndFloatArgs {
    /// The dial while the hub is pulled and rocked.
    #[arg(long)]
    pulled: LengthDifference,
    /// The dial while it is pushed and rocked.
    #[arg(long)]
    pushed: LengthDifference,
    /// The least the manual allows.
    #[arg(long)]
    least: Length,
    /// The most the manual allows.
    #[arg(long)]
    most: Length,
}

impl Sum for EndFloatArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = end_float(self.pulled, self.pushed, self.least, self.most).map_err(told)?;
        let verdict = worked.result.verdict;
        Ok(Reckoning::of_danger(worked).judged(verdict))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon shim "2.40 mm" --measured "0.28 mm" --least "0.15 mm" \
      --most "0.25 mm" --smallest "2 mm" --largest "3 mm" --step "0.05 mm""#)]
pub struct ShimArgs {
    /// The shim that is in.
    old: Length,
    /// The gap measured with it.
    #[arg(long)]
    measured: Length,
    /// The smallest gap wanted.
    #[arg(long)]
    least: Length,
    /// The largest gap wanted.
    #[arg(long)]
    most: Length,
    /// The thinnest shim there is.
    #[arg(long)]
    smallest: Length,
    /// The thickest shim there is.
    #[arg(long)]
    largest: Length,
    /// From one size to the next.
    #[arg(long)]
    step: Length,
}

impl Sum for ShimArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let wanted = Clearance::between(self.least, self.most).map_err(told)?;
        let sizes = sizes(self.smallest, self.largest, self.step).map_err(told)?;
        let worked = choose_shim(self.old, self.measured, wanted, &sizes).map_err(told)?;
        Ok(Reckoning::of_danger(worked))
    }
}

const FLUIDS: [(&str, BrakeFluid); 4] = [
    ("dot3", BrakeFluid::Dot3),
    ("dot4", BrakeFluid::Dot4),
    ("dot5", BrakeFluid::Dot5),
    ("dot5.1", BrakeFluid::Dot5_1),
];

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon brake-fluid --inside dot4 --poured dot5"#)]
pub struct BrakeFluidArgs {
    /// The fluid in the system; nothing where it is not known.
    #[arg(long, value_parser = one_of(&FLUIDS), ignore_case = true)]
    inside: Option<BrakeFluid>,
    /// The fluid in the can.
    #[arg(long, value_parser = one_of(&FLUIDS), ignore_case = true)]
    poured: BrakeFluid,
}

impl Sum for BrakeFluidArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = pour(self.inside, self.poured);
        let verdict = worked.result;
        Ok(Reckoning::of_danger(worked).judged(verdict))
    }
}
