//! Torque: units, bands, orders and passes.

use clap::{ArgGroup, Args};

use super::answer::Reckoning;
use super::given::{count, one_of, two};
use super::{Sum, told};
use crate::complaint::Complaint;
use crate::trade::bolt_pattern::{BoltPattern, Place};
use crate::trade::conversion::convert;
use crate::trade::passes::{GASKET, Goal, LARGE_GASKET, PassOrder, WHEEL, passes};
use crate::trade::quantity::Share;
use crate::trade::torque::TorqueUnit;
use crate::trade::torque_band::{TorqueBand, deviation};
use crate::trade::{Answer, Torque, Worked};

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon torque "80 ft-lb" --in N·m --step "5 N·m""#)]
pub struct TorqueArgs {
    /// The torque as it is written, such as "80 ft-lb" or "11 mkg".
    torque: Torque,
    /// The unit wanted: N·m, lbf·ft, lbf·in, kgf·m or kgf·cm; else that of --step, or N·m.
    #[arg(long = "in", value_name = "UNIT")]
    unit: Option<TorqueUnit>,
    /// The wrench's scale from mark to mark: the mark is never above the torque.
    #[arg(long)]
    step: Option<Torque>,
}

impl Sum for TorqueArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let of_step = self.step.map(Torque::unit);
        let unit = self.unit.or(of_step).unwrap_or(TorqueUnit::NewtonMetre);
        let worked = convert(self.torque, unit, self.step).map_err(told)?;
        Ok(Reckoning::of_danger(worked))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon band "47 ± 5 N·m" --class "4 %""#)]
pub struct BandArgs {
    /// The band, such as "47 ± 5 N·m", "47 N·m ± 10 %" or "42 to 52 N·m".
    band: TorqueBand,
    /// By how much the wrench may deviate from its setting, to either side.
    #[arg(long)]
    class: Share,
    /// What the wrench is set to; else the middle of the band.
    #[arg(long)]
    setting: Option<Torque>,
}

impl Sum for BandArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let setting = self.setting.unwrap_or(self.band.target());
        let worked = self
            .band
            .proved_by(setting, deviation(self.class).map_err(told)?);
        let proved = worked.result.proved;
        Ok(Reckoning::of_danger(worked).refused_if(!proved))
    }
}

#[derive(Debug, Args)]
#[command(
    after_help = r#"Example:
  benchcall reckon order --bolts 12"#,
    group = ArgGroup::new("pattern").required(true).args(["bolts", "rows", "place"])
)]
pub struct OrderArgs {
    /// How many bolts stand in the circle, 1 to 64.
    #[arg(long, value_parser = count)]
    bolts: Option<u32>,
    /// How many neighbours are tightened as one, for large flanges.
    #[arg(long, requires = "bolts", value_parser = count)]
    together: Option<u32>,
    /// The order the document prints, which wins over the rule: 1,3,5,2,4.
    #[arg(
        long,
        requires = "bolts",
        conflicts_with = "together",
        value_delimiter = ','
    )]
    by_hand: Vec<u32>,
    /// Rows of a grid of bolts, numbered along the rows from the top left.
    #[arg(long, requires = "columns", value_parser = count)]
    rows: Option<u32>,
    #[arg(long, requires = "rows", value_parser = count)]
    columns: Option<u32>,
    /// Where a bolt of a cover is, across and up: "120 mm, 40 mm"; once for each bolt.
    #[arg(long, value_name = "ACROSS, UP", value_parser = place)]
    place: Vec<Place>,
    /// The order of slackening instead: the reverse.
    #[arg(long)]
    slacken: bool,
}

fn place(text: &str) -> Result<Place, String> {
    let (across, up) = two(text, ", ")
        .ok_or("a place is how far across and how far up, such as \"120 mm, 40 mm\"")?;
    Ok(Place {
        across: across.parse().map_err(|e| format!("{e}"))?,
        up: up.parse().map_err(|e| format!("{e}"))?,
    })
}

impl OrderArgs {
    fn pattern(&self) -> BoltPattern {
        match (self.bolts, self.together, self.rows, self.columns) {
            (Some(bolts), Some(together), ..) => BoltPattern::Groups { bolts, together },
            (Some(bolts), None, ..) if self.by_hand.is_empty() => BoltPattern::Circle { bolts },
            (Some(bolts), None, ..) => BoltPattern::ByHand {
                bolts,
                order: self.by_hand.clone(),
            },
            (None, _, Some(rows), Some(columns)) => BoltPattern::Grid { rows, columns },
            _ => BoltPattern::Cover {
                places: self.place.clone(),
            },
        }
    }
}

impl Sum for OrderArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let pattern = self.pattern();
        let order = if self.slacken {
            pattern.slackening()
        } else {
            pattern.order()
        };
        let order = order.map_err(told)?;
        let (rule, source) = rule(&pattern);
        let numbers = order.iter().map(|bolt| Answer::Figure {
            value: f64::from(*bolt),
            unit: "",
        });
        let formula = if self.slacken {
            format!("{} bolts, {rule}, in reverse", order.len())
        } else {
            format!("{} bolts, {rule}", order.len())
        };
        let worked = Worked::new(Answer::List(numbers.collect()), formula, source);
        Ok(Reckoning::of_danger(worked))
    }
}

/// Returns by which rule a pattern is ordered, and where it stands.
fn rule(pattern: &BoltPattern) -> (&'static str, &'static str) {
    const STAR: &str = "one rule that gives the published tables for 4 to 32 bolts";
    const OUTWARDS: &str = "from memory: general practice; the document's order wins";
    match pattern {
        BoltPattern::Circle { .. } => (
            "numbered clockwise: sets that face each other, each next as far as can be from those before",
            STAR,
        ),
        BoltPattern::Groups { .. } => (
            "numbered clockwise: groups in star order, the bolts of each one after another",
            "a bolting contractor's published guide",
        ),
        BoltPattern::Grid { .. } => ("from the centre outwards, changing sides", OUTWARDS),
        BoltPattern::Cover { .. } => ("from the centre outwards, changing sides", OUTWARDS),
        BoltPattern::ByHand { .. } => ("each called once", "the document's own order"),
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon passes "110 N·m" --joint gasket --step "5 N·m""#)]
pub struct PassesArgs {
    /// The full torque.
    torque: Torque,
    /// The usual passes of a joint.
    #[arg(long, value_parser = one_of(&JOINTS), default_value = "wheel")]
    joint: &'static [Goal],
    /// The shares of the passes instead: "30 %,60 %,100 %".
    #[arg(long, value_delimiter = ',', conflicts_with = "joint")]
    shares: Vec<Share>,
    /// A last pass at full torque all the way round, after --shares.
    #[arg(long, requires = "shares")]
    check: bool,
    /// The wrench's scale from mark to mark.
    #[arg(long)]
    step: Option<Torque>,
}

const JOINTS: [(&str, &[Goal]); 3] = [
    ("wheel", &WHEEL),
    ("gasket", &GASKET),
    ("large-gasket", &LARGE_GASKET),
];

impl Sum for PassesArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let mut goals: Vec<Goal> = self.shares.iter().copied().map(Goal::Share).collect();
        if self.check {
            goals.push(Goal::Check);
        }
        let (goals, source) = if goals.is_empty() {
            (
                self.joint.to_vec(),
                "public piping practice; wheels: common practice, no source",
            )
        } else {
            (goals, "the shares as given")
        };
        let worked_out = passes(self.torque, &goals, self.step).map_err(told)?;
        let listed = worked_out.iter().map(|pass| {
            let order = match pass.order {
                PassOrder::Pattern => "by the pattern",
                PassOrder::Round => "all the way round, until nothing moves",
            };
            Answer::Named(vec![
                ("torque", pass.torque.into()),
                ("order", Answer::Words(order.into())),
            ])
        });
        let shares: Vec<String> = goals
            .iter()
            .map(|goal| match goal {
                Goal::Share(share) => share.to_string(),
                Goal::Torque(torque) => torque.to_string(),
                Goal::Check => "check".into(),
            })
            .collect();
        let formula = format!("{} of {}, down to a mark", shares.join(", "), self.torque);
        let worked = Worked::new(Answer::List(listed.collect()), formula, source);
        Ok(Reckoning::of_danger(worked))
    }
}
