//! What a torque does to a bolt: preload as a range, and its share of the proof load.
//!
//! These sums judge whether a figure can be right; they specify none. The torque is the document's.

use serde::{Deserialize, Serialize};

use super::lubrication::{NutFactors, ThreadCondition};
use super::quantity::{Force, Length, Share};
use super::strength::{Strength, StrengthError};
use super::thread::Thread;
use super::torque::TorqueUnit;
use super::worked::{Verdict, neat};
use super::{Answer, Torque, Worked};

/// How a bolt is tightened, and so how far its preload scatters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Method {
    ByFeel,
    TorqueDry,
    TorqueLubricated,
    TurnOfNut,
    Elongation,
}

impl Method {
    /// Returns the method of a torque wrench on threads in this condition.
    pub fn by_torque(threads: ThreadCondition) -> Method {
        match threads {
            ThreadCondition::Dry => Method::TorqueDry,
            _ => Method::TorqueLubricated,
        }
    }

    /// Returns by how much the preload may differ from the mean, to either side.
    ///
    /// Source: torque dry ±35 %, lubricated ±25 %, elongation ±5 %: NASA NSTS 08307; by feel ±35 %,
    /// turn of nut ±15 %: Machinery's Handbook.
    pub fn scatter(self) -> Share {
        Share::percent(match self {
            Method::ByFeel | Method::TorqueDry => 35.0,
            Method::TorqueLubricated => 25.0,
            Method::TurnOfNut => 15.0,
            Method::Elongation => 5.0,
        })
    }
}

/// A friction coefficient of threads or head, from 0.03 to 0.5.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Friction(f64);

/// Why a number is no friction coefficient.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("A friction coefficient goes from 0.03 to 0.5, not {0}: oiled steel is about 0.12")]
pub struct FrictionError(f64);

impl Friction {
    /// Makes a friction coefficient.
    ///
    /// # Errors
    /// [`FrictionError`] unless it is 0.03 to 0.5.
    pub fn new(coefficient: f64) -> Result<Friction, FrictionError> {
        if (0.03..=0.5).contains(&coefficient) {
            Ok(Friction(coefficient))
        } else {
            Err(FrictionError(coefficient))
        }
    }
}

/// The force a bolt may be tightened with, from the least to the most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Preload {
    pub least: Force,
    /// At the middle of the nut factors, without scatter.
    pub middle: Force,
    pub most: Force,
}

impl From<Preload> for Answer {
    fn from(preload: Preload) -> Answer {
        Answer::Named(vec![
            ("least", preload.least.into()),
            ("middle", preload.middle.into()),
            ("most", preload.most.into()),
        ])
    }
}

/// Returns the torque for `preload`: T = K·d·F, at the middle of `factors`.
///
/// Source: Shigley, 9th ed., eq. 8-27; Mott, example 19.1.
pub fn torque_for_preload(
    preload: Force,
    diameter: Length,
    factors: NutFactors,
    unit: TorqueUnit,
) -> Worked<Torque> {
    let newton_metres =
        factors.middle() * diameter.in_millimetres() / 1000.0 * preload.in_newtons();
    let torque = Torque::computed(newton_metres / unit.newton_metres(), unit);
    let formula = format!(
        "{} × {diameter} × {preload} = {} {}",
        neat(factors.middle()),
        neat(torque.value_in(unit)),
        unit.symbol()
    );
    Worked::new(torque, formula, "T = K·d·F: Shigley, 9th ed., eq. 8-27")
        .caution("A check of whether a figure can be right, not a specification.")
}

/// Returns the preload that `torque` makes, as a range: (1 ∓ scatter)·T/(K·d), over the whole range
/// of nut factors. In kN for metric threads, lbf for unified ones.
///
/// Source: NASA NSTS 08307 (scatter); Shigley, 9th ed., eq. 8-27.
pub fn preload_for_torque(
    torque: Torque,
    thread: Thread,
    factors: NutFactors,
    method: Method,
) -> Worked<Preload> {
    let scatter = method.scatter().in_ones();
    let arm = thread.diameter().in_millimetres() / 1000.0;
    let newtons = |factor: f64| torque.newton_metres() / (factor * arm);
    let shown = |newtons: f64| in_system(thread, newtons);
    let preload = Preload {
        least: shown(newtons(factors.most()) * (1.0 - scatter)),
        middle: shown(newtons(factors.middle())),
        most: shown(newtons(factors.least()) * (1.0 + scatter)),
    };
    let unit = preload.most.unit();
    let formula = format!(
        "(1 ∓ {}) × {torque} / ({} to {} × {}) = {} to {} {}",
        neat(scatter),
        neat(factors.most()),
        neat(factors.least()),
        thread.diameter(),
        neat(preload.least.value_in(unit)),
        neat(preload.most.value_in(unit)),
        unit.symbol(),
    );
    Worked::new(
        preload,
        formula,
        "T = K·d·F: Shigley, 9th ed., eq. 8-27; scatter: NASA NSTS 08307, Machinery's Handbook",
    )
}

fn in_system(thread: Thread, newtons: f64) -> Force {
    if thread.is_metric() {
        Force::kilonewtons(newtons / 1000.0)
    } else {
        Force::pounds_force(Force::newtons(newtons).in_pounds_force())
    }
}

/// What a preload means for a bolt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sanity {
    pub verdict: Verdict,
    /// Shares of the proof load: least, middle, most.
    pub least: Share,
    pub middle: Share,
    pub most: Share,
}

impl From<Sanity> for Answer {
    fn from(sanity: Sanity) -> Answer {
        Answer::Named(vec![
            ("verdict", sanity.verdict.into()),
            ("least", sanity.least.into()),
            ("middle", sanity.middle.into()),
            ("most", sanity.most.into()),
        ])
    }
}

/// Judges a preload against the proof load of the bolt.
///
/// Go up to 75 % of proof at the middle, warn up to 100 %, refuse beyond: then the figure, its unit or
/// the bolt is most likely another one. The ends of the range are in the cautions: with published
/// factors as wide as they are, the most reaches the proof load for many right figures.
///
/// # Errors
/// [`StrengthError`] when strength and thread do not belong together.
///
/// Source: F_i = 0.75·F_p for joints that are opened again: Shigley, 9th ed., eq. 8-31, and suppliers'
/// tables.
pub fn sanity(
    preload: Preload,
    thread: Thread,
    strength: Strength,
) -> Result<Worked<Sanity>, StrengthError> {
    let proof = strength.proof_load(thread)?.result;
    let share = |force: Force| Share::of_one(force / proof);
    let (least, middle, most) = (
        share(preload.least),
        share(preload.middle),
        share(preload.most),
    );
    // A preload that comes to three quarters by tables counts as three quarters.
    const SLACK: f64 = 0.005;
    let verdict = match middle.in_ones() {
        part if part <= 0.75 + SLACK => Verdict::Go,
        part if part <= 1.0 => Verdict::Warn,
        _ => Verdict::Refuse,
    };
    let sanity = Sanity {
        verdict,
        least,
        middle,
        most,
    };
    let formula = format!(
        "{:.4} / {:.4} = {} % of proof ({} to {} %)",
        preload.middle,
        proof,
        neat(middle.in_percent().round()),
        neat(least.in_percent().round()),
        neat(most.in_percent().round()),
    );
    let worked = Worked::new(
        sanity,
        formula,
        "F_i = 0.75·F_p: Shigley, 9th ed., eq. 8-31; proof load: ISO 898-1 or SAE J429",
    );
    Ok(match verdict {
        Verdict::Refuse => worked.caution(format!(
            "A {strength} {thread} bolt would be stretched for good: check the figure, its unit (lbf·in \
             or lbf·ft) and the bolt."
        )),
        _ if most.in_ones() > 1.0 => worked.caution(
            "With the smoothest threads published for this condition the bolt would pass its proof load: \
             keep to the condition the document states.",
        ),
        _ => worked,
    })
}

/// The bearing ring under a hexagon head or nut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Head {
    /// Outer diameter of the bearing face.
    pub face: Length,
    /// Diameter of the hole under it.
    pub hole: Length,
}

impl Head {
    /// Returns the ring of a standard hexagon head over a medium clearance hole, M6 to M24.
    ///
    /// Source: faces ISO 4014, holes ISO 273 medium (M6 and M18 to M24 from memory).
    pub fn hexagon(thread: Thread) -> Option<Head> {
        const RINGS: [(f64, f64, f64); 10] = [
            (6.0, 8.88, 6.6),
            (8.0, 11.63, 9.0),
            (10.0, 14.63, 11.0),
            (12.0, 16.63, 13.5),
            (14.0, 19.64, 15.5),
            (16.0, 22.49, 17.5),
            (18.0, 25.34, 20.0),
            (20.0, 28.19, 22.0),
            (22.0, 31.71, 24.0),
            (24.0, 33.61, 26.0),
        ];
        let ring = RINGS
            .iter()
            .find(|(d, ..)| thread.is_metric() && thread.diameter() == Length::millimetres(*d))?;
        Some(Head {
            face: Length::millimetres(ring.1),
            hole: Length::millimetres(ring.2),
        })
    }
}

/// Returns the torque for `preload` by friction: M = F·[P/2π + d₂·μ_G/(2·cos 30°) + D_Km/2·μ_K].
///
/// Source: VDI 2230-1, ISO 16047.
pub fn torque_by_friction(
    preload: Force,
    thread: Thread,
    head: Head,
    threads: Friction,
    under_head: Friction,
) -> Worked<Torque> {
    let arm = friction_arm(thread, head, threads, under_head);
    let torque = Torque::computed(preload.in_newtons() * arm / 1000.0, TorqueUnit::NewtonMetre);
    let formula = format!(
        "{preload:.2} × {} mm (pitch, threads at {}, head at {}) = {} N·m",
        neat(arm),
        threads.0,
        under_head.0,
        neat(torque.newton_metres())
    );
    Worked::new(torque, formula, "VDI 2230-1, ISO 16047")
        .caution("A check of whether a figure can be right, not a specification.")
}

/// Returns the preload that `torque` makes by friction: the sum of [`torque_by_friction`] turned round.
///
/// Source: VDI 2230-1, ISO 16047.
pub fn preload_by_friction(
    torque: Torque,
    thread: Thread,
    head: Head,
    threads: Friction,
    under_head: Friction,
) -> Worked<Force> {
    let arm = friction_arm(thread, head, threads, under_head);
    let force = Force::kilonewtons(torque.newton_metres() / arm);
    let formula = format!(
        "{torque} / {} mm (pitch, threads at {}, head at {}) = {} kN",
        neat(arm),
        threads.0,
        under_head.0,
        neat(force.in_kilonewtons())
    );
    Worked::new(force, formula, "VDI 2230-1, ISO 16047")
}

/// Returns the arm in mm at which a preload acts against the wrench.
fn friction_arm(thread: Thread, head: Head, threads: Friction, under_head: Friction) -> f64 {
    use std::f64::consts::{FRAC_PI_6, TAU};
    let ring = (head.face.in_millimetres() + head.hole.in_millimetres()) / 2.0;
    thread.pitch().in_millimetres() / TAU
        + thread.pitch_diameter().in_millimetres() * threads.0 / (2.0 * FRAC_PI_6.cos())
        + ring / 2.0 * under_head.0
}

/// Returns the preload at which stretching and twisting together use `share` of the yield strength:
/// F = A₀·ν·R_p0.2 / √(1 + 3·[1.5·(d₂/d₀)·(P/(π·d₂) + 1.155·μ_G)]²), d₀ = (d₂ + d₃)/2.
///
/// # Errors
/// [`StrengthError::NoYield`] for others than 8.8, 10.9 and 12.9.
///
/// Source: VDI 2230-1:2003; its tables use ν = 90 %.
pub fn preload_at_yield_share(
    thread: Thread,
    strength: Strength,
    threads: Friction,
    share: Share,
) -> Result<Worked<Force>, StrengthError> {
    let d2 = thread.pitch_diameter().in_millimetres();
    let d0 = (d2 + thread.core_diameter().in_millimetres()) / 2.0;
    let area = thread.stress_area().in_square_millimetres();
    let limit = strength.yield_strength(thread)?;
    let lead = thread.pitch().in_millimetres() / (std::f64::consts::PI * d2);
    let twist = 1.5 * (d2 / d0) * (lead + 1.155 * threads.0);
    let newtons =
        area * share.in_ones() * limit.in_megapascals() / (1.0 + 3.0 * twist * twist).sqrt();
    let force = Force::kilonewtons(newtons / 1000.0);
    let formula = format!(
        "{} mm² × {share} × {limit} / √(1 + 3 × {}²) = {} kN",
        neat(area),
        neat(twist),
        neat(force.in_kilonewtons())
    );
    Ok(Worked::new(force, formula, "VDI 2230-1:2003"))
}

/// Returns the nut factor that frictions make: K = (d_m/2d)·(tan λ + f·sec α)/(1 − f·tan λ·sec α) +
/// 0.625·f_c, with d_m the mean of outer and core diameter and α = 30°.
///
/// Source: Shigley, 9th ed., eq. 8-26.
pub fn nut_factor(thread: Thread, threads: Friction, under_head: Friction) -> NutFactors {
    let d = thread.diameter().in_millimetres();
    let mean = (d + thread.core_diameter().in_millimetres()) / 2.0;
    let lead = thread.pitch().in_millimetres() / (std::f64::consts::PI * mean);
    let wedge = threads.0 / std::f64::consts::FRAC_PI_6.cos();
    let factor = mean / (2.0 * d) * (lead + wedge) / (1.0 - lead * wedge) + 0.625 * under_head.0;
    NutFactors::computed(factor)
}
