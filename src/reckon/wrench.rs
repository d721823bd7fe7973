//! What to dial on a torque wrench: from its figures, or from the person's file of tools.

use std::path::PathBuf;

use clap::Args;

use super::answer::Reckoning;
use super::{Sum, missing, told};
use crate::complaint::Complaint;
use crate::tools;
use crate::trade::Torque;
use crate::trade::quantity::{Angle, Length, Share};
use crate::trade::torque_band;
use crate::trade::wrench::{Adapter, Between, Measures, Turning, Wrench, shown_by_lever};

#[derive(Debug, Args)]
#[command(after_help = r#"Examples:
  benchcall reckon wrench --torque "110 N·m" --length "400 mm" --adapter "80 mm" \
      --angle "45 deg"
  benchcall reckon wrench --torque "110 N·m" --length "400 mm" --adapter "80 mm" \
      --lowest "40 N·m" --highest "200 N·m" --step "1 N·m" --class "4 %"

A file of tools (invented data), for --tools tools.ron --with "the open end":
  (
      wrenches: [(name: "the long wrench", length: "450 mm", lowest: "40 N·m",
                  highest: "200 N·m", step: "1 N·m", deviation: "4 %")],
      adapters: [(name: "the open end", length: "50 mm", angle: "0°", most: "120 N·m")],
  )"#)]
pub struct WrenchArgs {
    /// The torque wanted at the fastener.
    #[arg(long)]
    torque: Torque,
    /// The wrench, from the centre of its square to the mark on the grip.
    #[arg(long, required_unless_present = "tools")]
    length: Option<Length>,
    /// An adapter, from the centre of the square to the centre of the fastener.
    #[arg(long)]
    adapter: Option<Length>,
    /// How the adapter stands: 0° straight ahead, 90° square to the handle, 180° back along it.
    #[arg(long, default_value = "0°", requires = "adapter")]
    angle: Angle,
    /// The most the adapter is rated for at the fastener.
    #[arg(long, requires = "adapter")]
    adapter_most: Option<Torque>,
    /// The lowest mark of the scale; with --highest, --step and --class the mark to dial is given.
    #[arg(long, requires_all = ["highest", "step", "class"])]
    lowest: Option<Torque>,
    /// The highest mark of the scale.
    #[arg(long, requires = "lowest")]
    highest: Option<Torque>,
    /// From mark to mark.
    #[arg(long, requires = "lowest")]
    step: Option<Torque>,
    /// By how much the wrench may deviate from its setting, to either side.
    #[arg(long, requires = "lowest")]
    class: Option<Share>,
    /// The wrench's plate says that it measures both ways.
    #[arg(long, requires = "lowest")]
    both_ways: bool,
    /// The person's own wrenches and adapters, a RON file, instead of the figures above.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["length", "adapter", "lowest"])]
    tools: Option<PathBuf>,
    /// The wrench of the file; may be left out where there is one.
    #[arg(long, value_name = "NAME", requires = "tools")]
    wrench: Option<String>,
    /// The adapter of the file.
    #[arg(long, value_name = "NAME", requires = "tools")]
    with: Option<String>,
    /// The fastener is tightened anticlockwise.
    #[arg(long)]
    anticlockwise: bool,
}

impl Sum for WrenchArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        if let Some(path) = &self.tools {
            let kit = tools::read(path)?;
            let wrench = match &self.wrench {
                None if kit.wrenches.len() == 1 => &kit.wrenches[0],
                name => tools::named(&kit.wrenches, |w| &w.name, "--wrench", name.as_deref())?,
            };
            let adapter = match self.with.as_deref() {
                None => None,
                name => Some(tools::named(&kit.adapters, |a| &a.name, "--with", name)?),
            };
            return self.dial(wrench, adapter);
        }
        let length = self.length.ok_or_else(missing)?;
        let adapter = self.adapter.map(|length| Adapter {
            name: "the adapter".into(),
            length,
            angle: self.angle,
            most: self.adapter_most,
        });
        let (Some(lowest), Some(highest), Some(step), Some(deviation)) =
            (self.lowest, self.highest, self.step, self.class)
        else {
            let between = adapter.as_ref().map_or(Between::Nothing, Between::Adapter);
            let mut worked = shown_by_lever(self.torque, length, between).map_err(told)?;
            if self.anticlockwise {
                worked = worked
                    .caution("Tighten anticlockwise, with a wrench whose plate says both ways.");
            }
            return Ok(Reckoning::of_danger(worked));
        };
        let deviation = torque_band::deviation(deviation).map_err(told)?;
        let measures = if self.both_ways {
            Measures::BothWays
        } else {
            Measures::Clockwise
        };
        let wrench = Wrench {
            name: "the wrench".into(),
            length,
            lowest,
            highest,
            step,
            deviation,
            measures,
        };
        self.dial(&wrench, adapter.as_ref())
    }
}

impl WrenchArgs {
    fn dial(&self, wrench: &Wrench, adapter: Option<&Adapter>) -> Result<Reckoning, Complaint> {
        let between = adapter.map_or(Between::Nothing, Between::Adapter);
        let turning = if self.anticlockwise {
            Turning::Anticlockwise
        } else {
            Turning::Clockwise
        };
        let worked = wrench.setting(self.torque, between, turning);
        Ok(Reckoning::of_danger(worked.map_err(told)?))
    }
}
