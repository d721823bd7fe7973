//! What is on the threads, and whether a torque was meant for it.
//!
//! Published factors for the same surface differ by half, so a torque is never corrected for what is on
//! the threads: the program stops or asks, and the document decides.

use serde::{Deserialize, Serialize};

use super::Worked;
use super::quantity::Share;
use super::worked::{Verdict, neat};

/// What is on the threads and under the head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum ThreadCondition {
    /// Clean and dry.
    Dry,
    Oiled,
    Greased,
    /// Assembly paste against seizing.
    AntiSeize,
    /// Locking compound.
    Locked,
}

impl ThreadCondition {
    pub const ALL: [ThreadCondition; 5] = [
        ThreadCondition::Dry,
        ThreadCondition::Oiled,
        ThreadCondition::Greased,
        ThreadCondition::AntiSeize,
        ThreadCondition::Locked,
    ];

    /// Returns the word shown and spoken.
    pub fn word(self) -> &'static str {
        match self {
            ThreadCondition::Dry => "dry",
            ThreadCondition::Oiled => "oiled",
            ThreadCondition::Greased => "greased",
            ThreadCondition::AntiSeize => "with anti-seize paste",
            ThreadCondition::Locked => "with locking compound",
        }
    }

    /// Returns the published range of nut factors for plain steel in this condition.
    ///
    /// Dry 0.18 to 0.30: Shigley, 9th ed., table 8-15 (0.30); Bickford and Nassar, table 1 (0.20); a
    /// supplier's chart (0.18 to 0.27). Oiled and greased 0.10 to 0.26: the same chart; Shigley 0.18.
    /// Anti-seize 0.12 to 0.16: Shigley 0.12; trade figures. Locking compound differs from product to
    /// product: the wide range of oil is taken (common practice, no source).
    pub fn nut_factors(self) -> NutFactors {
        let (least, most) = match self {
            ThreadCondition::Dry => (0.18, 0.30),
            ThreadCondition::Oiled | ThreadCondition::Greased | ThreadCondition::Locked => {
                (0.10, 0.26)
            }
            ThreadCondition::AntiSeize => (0.12, 0.16),
        };
        NutFactors { least, most }
    }
}

/// A range of nut factors K in T = K·d·F; plain numbers from 0.05 to 0.5.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NutFactors {
    least: f64,
    most: f64,
}

/// Why numbers are no nut factors.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "Nut factors go from 0.05 to 0.5, the smaller one first, not {least} to {most}: dry steel is 0.2"
)]
pub struct NutFactorError {
    least: f64,
    most: f64,
}

impl NutFactors {
    /// Makes a range of nut factors.
    ///
    /// # Errors
    /// [`NutFactorError`] unless 0.05 ≤ `least` ≤ `most` ≤ 0.5.
    pub fn between(least: f64, most: f64) -> Result<NutFactors, NutFactorError> {
        if 0.05 <= least && least <= most && most <= 0.5 {
            Ok(NutFactors { least, most })
        } else {
            Err(NutFactorError { least, most })
        }
    }

    /// Makes a range of one factor.
    ///
    /// # Errors
    /// As [`NutFactors::between`].
    pub fn exactly(factor: f64) -> Result<NutFactors, NutFactorError> {
        NutFactors::between(factor, factor)
    }

    /// Makes a range of one factor that frictions within their range came to.
    pub(in crate::trade) fn computed(factor: f64) -> NutFactors {
        NutFactors {
            least: factor,
            most: factor,
        }
    }

    /// Returns the least factor: the most preload.
    pub fn least(self) -> f64 {
        self.least
    }

    /// Returns the largest factor: the least preload.
    pub fn most(self) -> f64 {
        self.most
    }

    /// Returns the factor halfway between.
    pub fn middle(self) -> f64 {
        (self.least + self.most) / 2.0
    }
}

/// How what is on the threads agrees with what the torque was meant for.
#[derive(Debug, Clone, PartialEq)]
pub struct Agreement {
    pub verdict: Verdict,
    /// What to ask the person; none when they agree.
    pub question: Option<String>,
}

/// Judges a torque that holds for `stated` threads against threads that are `actual`.
///
/// Go where they agree. Refuse where the torque is for dry threads and these are not: the bolt may be
/// stretched for good. Warn, with a question, for every other difference and where the torque does not
/// say. The figure itself is never changed: the person's document decides.
///
/// Source: Shigley, 9th ed., eq. 8-27 (T = K·d·F, so at one torque the preload goes as 1/K); US Army TB
/// 9-2320-279-13&P states its torques for clean dry threads.
pub fn agree(stated: Option<ThreadCondition>, actual: ThreadCondition) -> Worked<Agreement> {
    const SOURCE: &str = "T = K·d·F: Shigley, 9th ed., eq. 8-27, K as published per condition";
    let Some(stated) = stated else {
        let question = format!(
            "The torque does not say for which threads it holds, and these are {}. What does the \
             document say?",
            actual.word()
        );
        let asked = Agreement {
            verdict: Verdict::Warn,
            question: Some(question),
        };
        return Worked::new(asked, "no condition stated", SOURCE);
    };
    if stated == actual {
        let agreed = Agreement {
            verdict: Verdict::Go,
            question: None,
        };
        return Worked::new(agreed, format!("{0} = {0}", stated.word()), SOURCE);
    }
    let question = format!(
        "The torque is for threads {}, and these are {}. What does the document say?",
        stated.word(),
        actual.word()
    );
    let verdict = if stated == ThreadCondition::Dry {
        Verdict::Refuse
    } else {
        Verdict::Warn
    };
    let (was, is) = (stated.nut_factors(), actual.nut_factors());
    let (fewest, most) = (was.least() / is.most(), was.most() / is.least());
    let formula = format!(
        "F₂/F₁ = K₁/K₂ = {}–{} / {}–{} = {} to {}",
        neat(was.least()),
        neat(was.most()),
        neat(is.least()),
        neat(is.most()),
        neat(fewest),
        neat(most),
    );
    let agreement = Agreement {
        verdict,
        question: Some(question),
    };
    Worked::new(agreement, formula, SOURCE).caution(format!(
        "At the same torque the bolt may carry {} to {} times the tension meant: do not guess a figure.",
        neat(fewest),
        neat(most)
    ))
}

/// Returns what the preload becomes when the nut factor goes from `was` to `is` at the same torque.
///
/// Source: Shigley, 9th ed., eq. 8-27.
pub fn preload_at_same_torque(was: NutFactors, is: NutFactors) -> Worked<Share> {
    let share = Share::of_one(was.middle() / is.middle());
    let formula = format!(
        "K₁/K₂ = {} / {} = {}",
        neat(was.middle()),
        neat(is.middle()),
        neat(share.in_ones())
    );
    Worked::new(share, formula, "T = K·d·F: Shigley, 9th ed., eq. 8-27")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lubricated_thread_stops_a_dry_torque() {
        let stopped = agree(Some(ThreadCondition::Dry), ThreadCondition::Greased);
        assert_eq!(stopped.result.verdict, Verdict::Refuse);
        assert!(
            stopped
                .result
                .question
                .unwrap()
                .contains("these are greased")
        );
        assert!(!stopped.cautions.is_empty());
    }

    #[test]
    fn agreement_needs_no_question_and_silence_needs_one() {
        for condition in ThreadCondition::ALL {
            let agreed = agree(Some(condition), condition).result;
            assert_eq!(agreed.verdict, Verdict::Go);
            assert_eq!(agreed.question, None);
            let silent = agree(None, condition).result;
            assert_eq!(silent.verdict, Verdict::Warn);
            assert!(silent.question.is_some());
        }
        let less = agree(Some(ThreadCondition::Oiled), ThreadCondition::Dry).result;
        assert_eq!(less.verdict, Verdict::Warn);
    }
}
