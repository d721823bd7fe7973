//! Jacking: stands, chocks and the order of a wheels-off job.

use clap::Args;

use super::answer::Reckoning;
use super::given::one_of;
use super::{Sum, told};
use crate::complaint::Complaint;
use crate::trade::jacking::{End, ORDER, StandRating, chocking, stands_under_axle};
use crate::trade::quantity::Mass;
use crate::trade::{Answer, Worked};

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon stands "1500 kg per stand" --axle "1.4 t" --vehicle "2.6 t""#)]
pub struct StandsArgs {
    /// What the plate says, and for how many stands: "1500 kg per stand", "3 t per pair".
    rating: StandRating,
    /// What the axle bears that the two stands hold up.
    #[arg(long)]
    axle: Mass,
    /// The mass of the whole vehicle.
    #[arg(long)]
    vehicle: Mass,
}

impl Sum for StandsArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = stands_under_axle(self.rating, self.axle, self.vehicle).map_err(told)?;
        let verdict = worked.result.verdict;
        Ok(Reckoning::of_danger(worked).judged(verdict))
    }
}

const ENDS: [(&str, End); 2] = [("front", End::Front), ("rear", End::Rear)];

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon chocks --raised front --brake-on rear"#)]
pub struct ChocksArgs {
    /// The end that goes up.
    #[arg(long, value_parser = one_of(&ENDS))]
    raised: End,
    /// The end the parking brake acts on; nothing where it is not known to hold.
    #[arg(long, value_parser = one_of(&ENDS))]
    brake_on: Option<End>,
}

impl Sum for ChocksArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = chocking(self.raised, self.brake_on);
        Ok(Reckoning::of_danger(worked))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon wheels-off"#)]
pub struct WheelsOffArgs {}

impl Sum for WheelsOffArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let stages = ORDER
            .iter()
            .map(|stage| Answer::Words(format!("{}, because {}", stage.called(), stage.why())));
        let worked = Worked::new(
            Answer::List(stages.collect()),
            format!("{} stages, none before the one above it", ORDER.len()),
            "HSE INDG434 for brake, chocks, stands and ground; the rest common practice, no source",
        )
        .caution("Never go under what only a jack holds up.");
        Ok(Reckoning::of_danger(worked))
    }
}
