//! Painting: the climate, the cure and its clocks.

use clap::{ArgGroup, Args};

use super::answer::Reckoning;
use super::given::two;
use super::{Sum, missing, told};
use crate::complaint::Complaint;
use crate::trade::climate::{PaintLimits, Readings, may_paint};
use crate::trade::cure::{CureSheet, SpeedLaw, Spell, readable};
use crate::trade::dew_point::{MOST_AIR, dew_point, humidity_by_wet_bulb};
use crate::trade::quantity::{
    ActivationEnergy, Humidity, Temperature, TemperatureDifference, TimeSpan,
};
use crate::trade::recoat::{RecoatColumn, RecoatTable, recoat};

#[derive(Debug, Args)]
#[command(
    after_help = r#"Examples:
  benchcall reckon dew-point --air "18 °C" --humidity "70 %"
  benchcall reckon dew-point --air "20 °C" --wet-bulb "15 °C""#,
    group = ArgGroup::new("moisture").required(true).args(["humidity", "wet_bulb"])
)]
pub struct DewPointArgs {
    /// The temperature of the air.
    #[arg(long)]
    air: Temperature,
    /// The relative humidity.
    #[arg(long)]
    humidity: Option<Humidity>,
    /// The wet thermometer of a whirling hygrometer instead: gives the humidity first.
    #[arg(long)]
    wet_bulb: Option<Temperature>,
}

impl Sum for DewPointArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let Some(wet) = self.wet_bulb else {
            let humidity = self.humidity.ok_or_else(missing)?;
            return Ok(Reckoning::of(dew_point(self.air, humidity).map_err(told)?));
        };
        let humidity = humidity_by_wet_bulb(self.air, wet).map_err(told)?;
        let worked = dew_point(self.air, humidity.result).map_err(told)?;
        Ok(Reckoning::of(worked).after(&humidity))
    }
}

/// The widest limits a paint may have, for who does not give the sheet's.
const COLDEST_PAINT: Temperature = Temperature::celsius(-20.0);

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon climate --air "18 °C" --humidity "70 %" --metal "16 °C" \
      --least "10 °C" --most "30 °C""#)]
pub struct ClimateArgs {
    /// The temperature of the air.
    #[arg(long)]
    air: Temperature,
    /// The relative humidity.
    #[arg(long)]
    humidity: Humidity,
    /// The coldest metal that will be painted, by contact.
    #[arg(long)]
    metal: Temperature,
    /// The same metal when it was read last.
    #[arg(long)]
    metal_before: Option<Temperature>,
    /// The sheet's lowest temperature for air and metal.
    #[arg(long)]
    least: Option<Temperature>,
    /// The sheet's highest temperature for air and metal.
    #[arg(long)]
    most: Option<Temperature>,
    /// The sheet's margin over the dew point; else 3 °C.
    #[arg(long)]
    margin: Option<TemperatureDifference>,
    /// The sheet's highest humidity; else 85 %.
    #[arg(long)]
    most_humidity: Option<Humidity>,
}

impl Sum for ClimateArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let least = self.least.unwrap_or(COLDEST_PAINT);
        let mut limits = PaintLimits::new(least, self.most.unwrap_or(MOST_AIR)).map_err(told)?;
        if let Some(margin) = self.margin {
            limits = limits.with_margin(margin).map_err(told)?;
        }
        if let Some(humidity) = self.most_humidity {
            limits = limits.with_humidity(humidity).map_err(told)?;
        }
        let readings = Readings {
            air: self.air,
            humidity: self.humidity,
            metal: self.metal,
            metal_before: self.metal_before,
        };
        let mut worked = may_paint(&limits, &readings).map_err(told)?;
        if self.least.is_none() || self.most.is_none() {
            worked = worked.caution(
                "The paint's own temperatures were not given in full: read its sheet, and give --least \
                 and --most.",
            );
        }
        let verdict = worked.result.verdict();
        Ok(Reckoning::of(worked).judged(verdict))
    }
}

/// What the paint's sheet says of its cure.
#[derive(Debug, Args)]
pub struct SheetArgs {
    /// The temperature the sheet's times hold at.
    #[arg(long, default_value = "23 °C")]
    sheet_at: Temperature,
    /// The lowest temperature the sheet speaks of.
    #[arg(long)]
    least: Temperature,
    /// The highest temperature the sheet speaks of.
    #[arg(long)]
    most: Temperature,
    /// The activation energy of the sheet, such as "50 kJ/mol"; else twice as fast for every 10 °C.
    #[arg(long)]
    energy: Option<ActivationEnergy>,
}

impl SheetArgs {
    fn sheet(&self) -> Result<CureSheet, Complaint> {
        let law = self
            .energy
            .map_or(SpeedLaw::TwicePerTenDegrees, SpeedLaw::Activation);
        CureSheet::new(self.sheet_at, law, self.least, self.most).map_err(told)
    }
}

/// Reads `4 h at 15 °C`.
fn spell(text: &str) -> Result<Spell, String> {
    let (lasted, at) = two(text, " at ")
        .ok_or("a spell is how long at which temperature, such as \"4 h at 15 °C\"")?;
    Ok(Spell {
        lasted: lasted.parse().map_err(|e| format!("{e}"))?,
        at: at.parse().map_err(|e| format!("{e}"))?,
    })
}

#[derive(Debug, Args)]
#[command(
    after_help = r#"Examples:
  benchcall reckon cure "8 h" --at "13 °C" --least "5 °C" --most "35 °C"
  benchcall reckon cure --spell "4 h at 15 °C" --spell "6 h at 21 °C" --least "5 °C" \
      --most "35 °C""#,
    group = ArgGroup::new("asked").required(true).args(["time", "spell"])
)]
pub struct CureArgs {
    /// The sheet's time; gives the time at --at.
    #[arg(requires = "at")]
    time: Option<TimeSpan>,
    /// The temperature of the painted surface.
    #[arg(long, requires = "time")]
    at: Option<Temperature>,
    /// How long the coat stood at a temperature, "4 h at 15 °C", in order; gives its age at the sheet's.
    #[arg(long, value_parser = spell)]
    spell: Vec<Spell>,
    #[command(flatten)]
    sheet: SheetArgs,
}

impl Sum for CureArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let sheet = self.sheet.sheet()?;
        let worked = match (self.time, self.at) {
            (Some(time), Some(at)) => sheet.time_at(time, at),
            _ => sheet.equivalent_age(&self.spell),
        };
        Ok(Reckoning::of(worked.map_err(told)?.map(readable)))
    }
}

#[derive(Debug, Args)]
#[command(
    after_help = r#"Examples:
  benchcall reckon pot-life "2 h" --at "28 °C" --least "5 °C" --most "35 °C"
  benchcall reckon pot-life "2 h" --spell "40 min at 28 °C" --least "5 °C" \
      --most "35 °C""#,
    group = ArgGroup::new("asked").required(true).args(["at", "spell"])
)]
pub struct PotLifeArgs {
    /// The sheet's pot life.
    time: TimeSpan,
    /// The temperature of the paint, not of the air.
    #[arg(long)]
    at: Option<Temperature>,
    /// How long the paint stood at a temperature, in order; gives what is left.
    #[arg(long, value_parser = spell)]
    spell: Vec<Spell>,
    #[command(flatten)]
    sheet: SheetArgs,
}

impl Sum for PotLifeArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let sheet = self.sheet.sheet()?;
        if let Some(at) = self.at {
            let worked = sheet.pot_life(self.time, at).map_err(told)?;
            return Ok(Reckoning::of(worked.map(readable)));
        }
        let worked = sheet.pot_life_left(self.time, &self.spell).map_err(told)?;
        let gone = worked.result <= TimeSpan::seconds(0.0);
        Ok(Reckoning::of(worked.map(readable)).refused_if(gone))
    }
}

/// Reads `10 °C to 20 °C: 8 h to 5 days`.
fn column(text: &str) -> Result<RecoatColumn, String> {
    const FORM: &str =
        "a column is temperatures and times, such as \"10 °C to 20 °C: 8 h to 5 days\"";
    let (temperatures, times) = two(text, ":").ok_or(FORM)?;
    let (least, most) = two(temperatures, " to ").ok_or(FORM)?;
    let (earliest, latest) = two(times, " to ").ok_or(FORM)?;
    let temperature = |text: &str| text.parse::<Temperature>().map_err(|e| e.to_string());
    let time = |text: &str| text.parse::<TimeSpan>().map_err(|e| e.to_string());
    Ok(RecoatColumn {
        least: temperature(least)?,
        most: temperature(most)?,
        earliest: time(earliest)?,
        latest: time(latest)?,
    })
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon recoat --column "10 °C to 20 °C: 8 h to 5 days" \
      --column "20 °C to 30 °C: 4 h to 3 days" --spell "10 h at 23 °C" --least "5 °C" \
      --most "35 °C""#)]
pub struct RecoatArgs {
    /// A column of the sheet's recoat table, in rising order.
    #[arg(long, value_parser = column, required = true)]
    column: Vec<RecoatColumn>,
    /// How long the coat has stood at a temperature, in order, up to now.
    #[arg(long, value_parser = spell, required = true)]
    spell: Vec<Spell>,
    #[command(flatten)]
    sheet: SheetArgs,
}

impl Sum for RecoatArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let sheet = self.sheet.sheet()?;
        let table = RecoatTable::new(self.column.clone()).map_err(told)?;
        let worked = recoat(&sheet, &table, &self.spell).map_err(told)?;
        let verdict = worked.result.verdict();
        Ok(Reckoning::of(worked).judged(verdict))
    }
}
