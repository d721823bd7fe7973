//! Paint: mixing by ratio, film thickness and how far it goes.

use clap::{ArgGroup, Args};

use super::answer::Reckoning;
use super::{Sum, missing, told};
use crate::complaint::Complaint;
use crate::trade::film::{coverage, dry_film, paint_for, wet_film};
use crate::trade::mixing::MixRatio;
use crate::trade::quantity::{Area, Length, Share, Volume};

#[derive(Debug, Args)]
#[command(
    after_help = r#"Examples:
  benchcall reckon mix 4:1 --total "750 ml"
  benchcall reckon mix "2:1 + 10 % of mix" --total "600 ml" --mark "50 ml""#,
    group = ArgGroup::new("amount").required(true).args(["total", "base"])
)]
pub struct MixArgs {
    /// Parts of base and hardener by volume: 4:1, 4:1:1, "2:1 + 10 % of mix", "3:1 + 5 % of base".
    ratio: MixRatio,
    /// The mix wanted, thinner included.
    #[arg(long)]
    total: Option<Volume>,
    /// The base there is.
    #[arg(long)]
    base: Option<Volume>,
    /// The cup's scale from mark to mark: gives the marks to fill it to, for at least --total.
    #[arg(long, requires = "total")]
    mark: Option<Volume>,
}

impl Sum for MixArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        match (self.total, self.mark, self.base) {
            (Some(total), Some(mark), _) => {
                let worked = self.ratio.cup_marks(total, mark).map_err(told)?;
                Ok(Reckoning::of(worked))
            }
            (Some(total), None, _) => {
                let worked = self.ratio.for_total(total).map_err(told)?;
                Ok(Reckoning::of(worked))
            }
            (None, _, base) => {
                let base = base.ok_or_else(missing)?;
                let worked = self.ratio.for_base(base).map_err(told)?;
                Ok(Reckoning::of(worked))
            }
        }
    }
}

#[derive(Debug, Args)]
#[command(
    after_help = r#"Examples:
  benchcall reckon film --dry "60 µm" --solids "50 %" --thinner "10 %"
  benchcall reckon film --wet "120 µm" --solids "50 %""#,
    group = ArgGroup::new("known").required(true).args(["dry", "wet"])
)]
pub struct FilmArgs {
    /// The dry film wanted: gives the wet one.
    #[arg(long)]
    dry: Option<Length>,
    /// The wet film on the comb: gives the dry one.
    #[arg(long)]
    wet: Option<Length>,
    /// Solids by volume of the unthinned paint.
    #[arg(long)]
    solids: Share,
    /// Thinner, as a share of the paint.
    #[arg(long, default_value = "0 %")]
    thinner: Share,
}

impl Sum for FilmArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = match (self.dry, self.wet) {
            (None, Some(wet)) => dry_film(wet, self.solids, self.thinner),
            (dry, _) => wet_film(dry.ok_or_else(missing)?, self.solids, self.thinner),
        };
        Ok(Reckoning::of(worked.map_err(told)?))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Examples:
  benchcall reckon coverage --dry "60 µm" --solids "50 %"
  benchcall reckon coverage --dry "60 µm" --solids "50 %" --area "12 m²" --loss "30 %""#)]
pub struct CoverageArgs {
    /// The dry film.
    #[arg(long)]
    dry: Length,
    /// Solids by volume of the unthinned paint.
    #[arg(long)]
    solids: Share,
    /// The area to coat: gives the paint for it.
    #[arg(long)]
    area: Option<Area>,
    /// What is lost in the gun, the pot and the air.
    #[arg(long, default_value = "0 %", requires = "area")]
    loss: Share,
}

impl Sum for CoverageArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        match self.area {
            Some(area) => {
                let worked = paint_for(area, self.dry, self.solids, self.loss).map_err(told)?;
                Ok(Reckoning::of(worked))
            }
            None => {
                let worked = coverage(self.dry, self.solids).map_err(told)?;
                Ok(Reckoning::of(worked))
            }
        }
    }
}
