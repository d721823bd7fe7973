//! Threads and bolts: what a thread bears, what a torque does to it, how deep it must hold.

use clap::{ArgGroup, Args};

use super::answer::Reckoning;
use super::given::{one_of, two};
use super::{Sum, missing, told};
use crate::complaint::Complaint;
use crate::trade::bearing::nut_travel;
use crate::trade::engagement::{Into as CutInto, needed_engagement, nut_turns};
use crate::trade::joint::{
    Friction, Head, Method, Preload, nut_factor, preload_at_yield_share, preload_by_friction,
    preload_for_torque, sanity, torque_by_friction, torque_for_preload,
};
use crate::trade::lubrication::{NutFactors, ThreadCondition, agree};
use crate::trade::quantity::{Angle, Force, Length, Share};
use crate::trade::strength::Strength;
use crate::trade::thread::Thread;
use crate::trade::torque::TorqueUnit;
use crate::trade::{Answer, Torque, Worked};

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon thread M12x1.5 --class 8.8"#)]
pub struct ThreadArgs {
    /// The thread: M12, M12x1.5, 3/8-16 or "3/8 UNF".
    thread: Thread,
    /// The class or grade on the bolt's head: 8.8, "grade 5"; gives the proof load.
    #[arg(long)]
    class: Option<Strength>,
}

impl Sum for ThreadArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let thread = self.thread;
        let mut parts = vec![
            ("thread", Answer::Words(thread.to_string())),
            ("diameter", thread.diameter().into()),
            ("pitch", thread.pitch().into()),
            ("pitch diameter", thread.pitch_diameter().into()),
            ("core diameter", thread.core_diameter().into()),
            ("stress area by table", thread.nominal_stress_area().into()),
            ("stress area by formula", thread.stress_area().into()),
        ];
        let Some(class) = self.class else {
            let (formula, source) = stress_area_formula(thread);
            return Ok(Reckoning::of(Worked::new(
                Answer::Named(parts),
                formula,
                source,
            )));
        };
        let worked = class.proof_load(thread).map_err(told)?;
        let stress = class.proof_stress(thread).map_err(told)?;
        Ok(Reckoning::of_danger(worked.map(|load| {
            parts.insert(0, ("proof load", load.into()));
            parts.push(("proof stress", stress.into()));
            Answer::Named(parts)
        })))
    }
}

/// Returns the formula of a stress area with the numbers in it, and its source.
fn stress_area_formula(thread: Thread) -> (String, &'static str) {
    let area = thread.stress_area();
    if thread.is_metric() {
        let (d2, d3) = (thread.pitch_diameter(), thread.core_diameter());
        let formula = format!("A_s = π/4·(({d2:.4} + {d3:.4})/2)² = {area:.4}");
        (formula, "ISO 724; ISO 898-1")
    } else {
        let (diameter, pitch) = (thread.diameter(), thread.pitch());
        let formula = format!("A_t = 0.7854·({diameter} − 0.9743 × {pitch:.4})² = {area:.4}");
        (formula, "ASME B1.1; SAE J429")
    }
}

const CONDITIONS: [(&str, ThreadCondition); 5] = [
    ("dry", ThreadCondition::Dry),
    ("oiled", ThreadCondition::Oiled),
    ("greased", ThreadCondition::Greased),
    ("anti-seize", ThreadCondition::AntiSeize),
    ("locked", ThreadCondition::Locked),
];

const METHODS: [(&str, Method); 5] = [
    ("by-feel", Method::ByFeel),
    ("torque-dry", Method::TorqueDry),
    ("torque-lubricated", Method::TorqueLubricated),
    ("turn-of-nut", Method::TurnOfNut),
    ("elongation", Method::Elongation),
];

fn nut_factors(text: &str) -> Result<NutFactors, String> {
    let number = |text: &str| {
        text.parse::<f64>().map_err(
            |_| "a nut factor is a plain number such as 0.2, or a range such as \"0.12 to 0.18\"",
        )
    };
    let factors = match two(text, " to ") {
        Some((least, most)) => NutFactors::between(number(least)?, number(most)?),
        None => NutFactors::exactly(number(text.trim())?),
    };
    factors.map_err(|error| error.to_string())
}

fn friction(text: &str) -> Result<Friction, String> {
    let coefficient = text.trim().parse();
    let coefficient = coefficient.map_err(|_| "a friction is a plain number such as 0.12")?;
    Friction::new(coefficient).map_err(|error| error.to_string())
}

/// What makes the nut hard to turn.
#[derive(Debug, Args)]
#[command(group = ArgGroup::new("turning").required(true).args(["condition", "nut_factor", "friction"]))]
pub struct TurningArgs {
    /// What is on the threads.
    #[arg(long, value_parser = one_of(&CONDITIONS))]
    condition: Option<ThreadCondition>,
    /// The nut factor K instead, or a range of it: 0.2, "0.12 to 0.18".
    #[arg(long, value_parser = nut_factors, value_name = "K")]
    nut_factor: Option<NutFactors>,
    /// The friction of the threads instead, such as 0.12.
    #[arg(long, value_parser = friction, value_name = "µ")]
    friction: Option<Friction>,
    /// The friction under the head; else that of the threads.
    #[arg(long, value_parser = friction, value_name = "µ", requires = "friction")]
    head_friction: Option<Friction>,
}

impl TurningArgs {
    fn factors(&self, thread: Thread) -> Option<NutFactors> {
        let by_friction = self
            .frictions()
            .map(|(threads, head)| nut_factor(thread, threads, head));
        let by_condition = self.condition.map(ThreadCondition::nut_factors);
        self.nut_factor.or(by_condition).or(by_friction)
    }

    fn frictions(&self) -> Option<(Friction, Friction)> {
        let threads = self.friction?;
        Some((threads, self.head_friction.unwrap_or(threads)))
    }

    /// Returns the frictions and the head's ring, where both are known.
    fn ring(&self, thread: Thread) -> Option<(Head, Friction, Friction)> {
        let (threads, head) = self.frictions()?;
        Some((Head::hexagon(thread)?, threads, head))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Examples:
  benchcall reckon preload "80 N·m" --thread M12 --condition oiled --class 8.8
  benchcall reckon preload "80 N·m" --thread M12 --friction 0.12"#)]
pub struct PreloadArgs {
    /// The torque.
    torque: Torque,
    #[arg(long)]
    thread: Thread,
    #[command(flatten)]
    turning: TurningArgs,
    /// How it is tightened, which says how far the preload scatters; else by a torque wrench, dry for
    /// dry threads.
    #[arg(long, value_parser = one_of(&METHODS))]
    method: Option<Method>,
    /// The class or grade on the bolt's head: judges the preload against the proof load.
    #[arg(long)]
    class: Option<Strength>,
}

impl Sum for PreloadArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let thread = self.thread;
        let worked = match self.turning.ring(thread) {
            Some((head, threads, under_head)) if self.method.is_none() => {
                let worked = preload_by_friction(self.torque, thread, head, threads, under_head);
                if self.class.is_none() {
                    return Ok(Reckoning::of_danger(worked));
                }
                worked.map(|force| Preload {
                    least: force,
                    middle: force,
                    most: force,
                })
            }
            _ => {
                let factors = self.turning.factors(thread).ok_or_else(missing)?;
                let condition = self.turning.condition.unwrap_or(ThreadCondition::Dry);
                let method = self.method.unwrap_or(Method::by_torque(condition));
                preload_for_torque(self.torque, thread, factors, method)
            }
        };
        let Some(class) = self.class else {
            return Ok(Reckoning::of_danger(worked));
        };
        let judged = sanity(worked.result, thread, class).map_err(told)?;
        let verdict = judged.result.verdict;
        let shown = judged.map(|sanity| {
            Answer::Named(vec![
                ("verdict", verdict.into()),
                ("share of proof", sanity.middle.into()),
                ("least share", sanity.least.into()),
                ("most share", sanity.most.into()),
                ("preload", worked.result.into()),
            ])
        });
        let reckoning = Reckoning::of_danger(shown).after(&worked);
        Ok(reckoning.judged(verdict))
    }
}

#[derive(Debug, Args)]
#[command(
    after_help = r#"Example:
  benchcall reckon bolt-torque --preload "36.7 kN" --thread M12 --condition dry"#,
    group = ArgGroup::new("aim").required(true).args(["preload", "proof_share", "yield_share"])
)]
pub struct BoltTorqueArgs {
    /// The preload wanted.
    #[arg(long)]
    preload: Option<Force>,
    /// The share of the proof load wanted instead, such as "75 %".
    #[arg(long, requires = "class")]
    proof_share: Option<Share>,
    /// The share of the yield strength wanted instead, such as "90 %"; with --friction.
    #[arg(long, requires_all = ["class", "friction"])]
    yield_share: Option<Share>,
    #[arg(long)]
    thread: Thread,
    /// The class or grade on the bolt's head.
    #[arg(long)]
    class: Option<Strength>,
    #[command(flatten)]
    turning: TurningArgs,
    /// The unit wanted; N·m otherwise.
    #[arg(long = "in", value_name = "UNIT", default_value = "N·m")]
    unit: TorqueUnit,
}

impl BoltTorqueArgs {
    /// Works out the preload where it is given as a share.
    fn aim(&self) -> Result<Worked<Force>, Complaint> {
        let class = self.class.ok_or_else(missing)?;
        if let Some(share) = self.proof_share {
            return class.proof_share(self.thread, share).map_err(told);
        }
        let (threads, _) = self.turning.frictions().ok_or_else(missing)?;
        let share = self.yield_share.ok_or_else(missing)?;
        preload_at_yield_share(self.thread, class, threads, share).map_err(told)
    }
}

impl Sum for BoltTorqueArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let aim = match self.preload {
            Some(_) => None,
            None => Some(self.aim()?),
        };
        let preload = self.preload.or(aim.as_ref().map(|aim| aim.result));
        let preload = preload.ok_or_else(missing)?;
        let worked = match self.turning.ring(self.thread) {
            Some((head, threads, under_head)) if self.unit == TorqueUnit::NewtonMetre => {
                torque_by_friction(preload, self.thread, head, threads, under_head)
            }
            _ => {
                let factors = self.turning.factors(self.thread).ok_or_else(missing)?;
                torque_for_preload(preload, self.thread.diameter(), factors, self.unit)
            }
        };
        let reckoning = Reckoning::of_danger(worked);
        Ok(match &aim {
            Some(aim) => reckoning.after(aim),
            None => reckoning,
        })
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon lubricant --stated dry --actual greased"#)]
pub struct LubricantArgs {
    /// The threads that the document's torque holds for; nothing where it does not say.
    #[arg(long, value_parser = one_of(&CONDITIONS))]
    stated: Option<ThreadCondition>,
    /// What is on the threads.
    #[arg(long, value_parser = one_of(&CONDITIONS))]
    actual: ThreadCondition,
}

impl Sum for LubricantArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = agree(self.stated, self.actual);
        let verdict = worked.result.verdict;
        let shown = worked.map(|agreement| {
            let mut parts = vec![("verdict", verdict.into())];
            if let Some(question) = agreement.question {
                parts.push(("question", Answer::Words(question)));
            }
            Answer::Named(parts)
        });
        Ok(Reckoning::of_danger(shown).judged(verdict))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon engagement M10 --into aluminium"#)]
pub struct EngagementArgs {
    thread: Thread,
    /// What the thread is cut into: the rule of thumb for it; else the formula for equal strength.
    #[arg(long, value_parser = one_of(&CUT_INTO))]
    into: Option<CutInto>,
}

const CUT_INTO: [(&str, CutInto); 3] = [
    ("steel", CutInto::SteelOrIron),
    ("iron", CutInto::SteelOrIron),
    ("aluminium", CutInto::Aluminium),
];

impl Sum for EngagementArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = needed_engagement(self.thread, self.into);
        Ok(Reckoning::of_danger(worked))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon nut-turns M14x1.5 --counted "8 turns""#)]
pub struct NutTurnsArgs {
    thread: Thread,
    /// How deep the nut must hold; else one diameter.
    #[arg(long)]
    depth: Option<Length>,
    /// The turns counted.
    #[arg(long)]
    counted: Option<Angle>,
}

impl Sum for NutTurnsArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = nut_turns(self.thread, self.depth, self.counted).map_err(told)?;
        let verdict = worked.result.verdict();
        Ok(Reckoning::of_danger(worked).judged(verdict))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon nut-travel "90 deg" --thread M20x1.5"#)]
pub struct NutTravelArgs {
    /// How far the nut is turned: "90 deg", "1.5 turns".
    turned: Angle,
    #[arg(long)]
    thread: Thread,
}

impl Sum for NutTravelArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = nut_travel(self.turned, self.thread.pitch());
        Ok(Reckoning::of_danger(worked))
    }
}
