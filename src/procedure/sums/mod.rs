//! The trade's sums inside a step: a small, named piece each, with its quantities and the names of the
//! readings it needs.
//!
//! A sum with readings is worked out when the last of them is taken; one without is part of the call, and
//! the checker works it out. A new sum is a module with its fields and its [`Work`], and a line in
//! `pieces!`. All arithmetic is in `trade`; here stands what is said of it.

mod alarm;
mod band;
mod bearing;
mod climate;
mod crane;
mod cure;
mod disc;
mod engagement;
mod field;
mod film;
mod fluid;
mod joint;
mod lift;
mod mixing;
mod shim;
mod sling;
mod stands;
mod taken;
mod wheels_off;

use serde::{Deserialize, Serialize};

use super::fields::{Fields, Shape};
use super::relying::Timing;
use super::values::{Lasting, StepId};
use crate::trade::jacking::Stage;
use crate::trade::quantity::{Mass, Share};
use crate::trade::{Answer, Verdict, Worked};
use field::Field;
pub(crate) use field::{Need, Part, Trail};
pub use taken::Taken;

/// What a sum comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoned {
    pub verdict: Verdict,
    /// The result in one short sentence, as shown and spoken.
    pub result: String,
    /// What would cure it and what to beware of, in whole sentences.
    pub more: Vec<String>,
    /// The formula with the numbers in it.
    pub formula: String,
    pub source: String,
    /// How long its readings hold: after that they are taken anew.
    pub again: Option<Lasting>,
    /// The step that is called only for this result.
    pub leads_to: Option<StepId>,
}

impl Reckoned {
    /// Takes what `worked` came to, said as `result`, with its cautions.
    fn of<T>(worked: &Worked<T>, verdict: Verdict, result: impl Into<String>) -> Reckoned {
        Reckoned {
            verdict,
            result: result.into(),
            more: worked.cautions.clone(),
            formula: worked.formula.clone(),
            source: worked.source.into(),
            again: None,
            leads_to: None,
        }
    }

    /// Takes the working that led to this sum's figures with it; its cautions come first.
    fn after<T>(mut self, earlier: &Worked<T>) -> Reckoned {
        self.formula = format!("{}; {}", earlier.formula, self.formula);
        if !self.source.contains(earlier.source) {
            self.source = format!("{}; {}", earlier.source, self.source);
        }
        let mut cautions = earlier.cautions.clone();
        cautions.append(&mut self.more);
        self.more = cautions;
        self
    }

    /// Makes what stands in for a sum that cannot be worked out: it refuses, and says why.
    fn impossible(why: String) -> Reckoned {
        Reckoned {
            verdict: Verdict::Refuse,
            result: why,
            more: Vec::new(),
            formula: String::new(),
            source: String::new(),
            again: None,
            leads_to: None,
        }
    }

    /// Returns the sentences for the voice: the verdict where it is not plainly good, the result, and
    /// then what cures it and what to beware of.
    pub fn sentences(&self) -> String {
        let lead = match self.verdict {
            Verdict::Go => "",
            Verdict::Warn => "Take care. ",
            Verdict::Refuse => "Not allowed. ",
        };
        let more = if self.verdict == Verdict::Go {
            &[][..]
        } else {
            &self.more
        };
        let mut said = format!("{lead}{}", self.result);
        if !said.ends_with(['.', '?', '!']) {
            said.push('.');
        }
        for sentence in more {
            said.push(' ');
            said.push_str(sentence);
        }
        said
    }
}

/// A piece of the trade's work.
trait Work: Field {
    /// Works it out with the readings taken.
    ///
    /// # Errors
    /// Why it cannot be worked out, in one sentence that says what to do.
    fn work(&self, taken: &Taken) -> Result<Reckoned, String>;

    /// Returns what of it goes by the clock.
    fn timing(&self) -> Timing<'_> {
        Timing::default()
    }
}

/// Makes the enum of sums, and the way from each to its fields and its work.
macro_rules! pieces {
    ($($(#[$doc:meta])* $piece:ident($type:ty), $called:literal;)+) => {
        /// A sum in a step.
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
        pub enum Sum {
            $($(#[$doc])* $piece($type),)+
        }

        impl Sum {
            /// The names that a sum begins with.
            pub const NAMES: &'static [&'static str] = &[$(stringify!($piece)),+];

            /// Returns the table of the fields of the sum that begins with `name`.
            pub(crate) fn fields(name: &str) -> Option<&'static Fields> {
                let shape = match name {
                    $(stringify!($piece) => <$type as Field>::SHAPE,)+
                    _ => return None,
                };
                match shape {
                    Shape::Fields(fields) => Some(fields),
                    _ => None,
                }
            }

            /// Returns the name that the sum begins with.
            pub fn name(&self) -> &'static str {
                match self {
                    $(Sum::$piece(_) => stringify!($piece),)+
                }
            }

            /// Returns what the sum is called, as shown and recorded.
            pub fn called(&self) -> &'static str {
                match self {
                    $(Sum::$piece(_) => $called,)+
                }
            }

            fn piece(&self) -> &dyn Piece {
                match self {
                    $(Sum::$piece(piece) => piece,)+
                }
            }
        }
    };
}

/// [`Work`] without the parts that belong to the type alone.
trait Piece {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String>;
    fn needs<'a>(&'a self, at: &Trail, needs: &mut Vec<Need<'a>>);
    fn timing(&self) -> Timing<'_>;
}

impl<T: Work> Piece for T {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        Work::work(self, taken)
    }

    fn needs<'a>(&'a self, at: &Trail, needs: &mut Vec<Need<'a>>) {
        Field::needs(self, at, needs);
    }

    fn timing(&self) -> Timing<'_> {
        Work::timing(self)
    }
}

pieces! {
    /// Whether paint may go on.
    Climate(climate::Climate), "climate for painting";
    /// Whether the next coat may go on.
    Recoat(cure::Recoat), "recoat window";
    /// How long a coat cures at the temperature read.
    Cure(cure::Cure), "curing time";
    /// How long mixed paint can be used at its temperature.
    PotLife(cure::PotLife), "pot life";
    /// What goes into a mix, and the marks of the cup.
    Mix(mixing::Mix), "mix";
    /// The wet film for a dry one, or the dry film that a wet one leaves.
    Film(film::Film), "paint film";
    /// How much paint an area takes.
    Coverage(film::Coverage), "paint needed";
    /// What hook, legs and links bear of a load under one hook.
    Lift(lift::Lift), "lift";
    /// What two legs bear of a load whose centre is not in the middle.
    OffCentre(lift::OffCentre), "off-centre lift";
    /// How much a sling may lift by the limit of one leg.
    SlingLimit(sling::SlingLimit), "sling limit";
    /// Whether the workshop crane may lift it with its boom as it is.
    Crane(crane::Crane), "workshop crane";
    /// How far to roll the crane while its hook goes from one height to another.
    Roll(crane::Roll), "crane's roll";
    /// Whether two stands may hold up an axle.
    Stands(stands::Stands), "stands";
    /// Which wheels to chock.
    Chocks(stands::Chocks), "chocks";
    /// Which stage of a job with the wheels off it is.
    WheelsOff(wheels_off::WheelsOff), "wheels-off stage";
    /// Whether a brake disc is thick and even enough.
    Disc(disc::Disc), "disc thickness";
    /// Whether a disc, drum or rim runs true.
    RunOut(disc::RunOut), "run-out";
    /// At which place on its hub a disc runs truest.
    DiscPosition(disc::DiscPosition), "disc position";
    /// The end float of a wheel bearing.
    EndFloat(bearing::EndFloat), "end float";
    /// Which shim brings a valve clearance right.
    Shim(shim::Shim), "valve shim";
    /// Whether a brake fluid may be poured on another.
    Fluid(fluid::Fluid), "brake fluid";
    /// Whether a thread holds deep enough.
    Engagement(engagement::Engagement), "thread engagement";
    /// Whether a wheel nut goes on far enough.
    NutTurns(engagement::NutTurns), "turns of the nut";
    /// Whether the wrench can prove that a torque was met.
    Band(band::Band), "torque band";
    /// Whether a bolt bears the torque it is given.
    Joint(joint::Joint), "joint";
    /// Whether an alarm is heard over the noise.
    Alarm(alarm::Alarm), "alarm level";
}

impl Sum {
    /// Works the sum out with the readings taken. One that cannot be worked out refuses.
    pub fn reckon(&self, taken: &Taken) -> Reckoned {
        self.try_reckon(taken).unwrap_or_else(Reckoned::impossible)
    }

    /// Works the sum out with the readings taken.
    ///
    /// # Errors
    /// Why it cannot be worked out.
    pub(crate) fn try_reckon(&self, taken: &Taken) -> Result<Reckoned, String> {
        self.piece().work(taken)
    }

    /// Returns the readings that the sum asks for; none for one that is part of the call.
    pub(crate) fn needs(&self) -> Vec<Need<'_>> {
        let mut needs = Vec::new();
        self.piece().needs(&Trail::default(), &mut needs);
        needs
    }

    /// Returns what of the sum goes by the clock.
    pub(super) fn timing(&self) -> Timing<'_> {
        self.piece().timing()
    }

    /// Returns the step that is called only where the result leads there.
    pub fn leads_to(&self) -> Option<&StepId> {
        self.timing().leads_to
    }

    /// Returns the stages of a job with the wheels off that the step does.
    pub(super) fn stages(&self) -> &[Stage] {
        match self {
            Sum::WheelsOff(piece) => &piece.stages,
            _ => &[],
        }
    }

    /// Tells whether the sum asks for readings.
    pub fn reads(&self) -> bool {
        !self.needs().is_empty()
    }
}

/// Returns an error of the trade as the sentence it is.
fn told(error: impl std::fmt::Display) -> String {
    error.to_string()
}

/// Returns a quantity in four figures with its unit.
fn shown(quantity: impl Into<Answer>) -> String {
    quantity.into().to_string()
}

/// Returns a mass in whole kilograms, rounded up: plates and scales are read in them.
fn kilograms(mass: Mass) -> String {
    format!("{} kg", (mass.in_kilograms() - 1e-6).ceil())
}

/// Returns a share in whole percent, rounded up: nothing looks less loaded than it is.
fn percent(share: Share) -> String {
    format!("{} %", (share.in_percent() - 1e-6).ceil())
}

#[cfg(test)]
mod tests {
    use super::super::fields::ron_options;
    use super::super::model::Reading;
    use super::*;

    /// Reads `sum` and works it out with readings of name, unit and figure.
    #[track_caller]
    fn work(sum: &str, read: &[(&str, &str, &str)]) -> Result<Reckoned, String> {
        let sum: Sum = match ron_options().from_str(sum) {
            Ok(sum) => sum,
            Err(error) => panic!("{sum}: {error}"),
        };
        let reading = |(name, unit, _): &(&str, &str, &str)| {
            let written =
                format!("(name: \"{name}\", unit: \"{unit}\", low: 0, high: 1, digits: 1)");
            ron_options().from_str::<Reading>(&written).unwrap()
        };
        let readings: Vec<Reading> = read.iter().map(reading).collect();
        let mut taken = Taken::default();
        for (reading, (_, _, figure)) in readings.iter().zip(read) {
            taken.add(reading, figure);
        }
        let reckoned = sum.try_reckon(&taken);
        if let Ok(reckoned) = &reckoned {
            assert!(!reckoned.source.is_empty() && !reckoned.formula.is_empty());
            assert!(!reckoned.result.ends_with('.'), "{}", reckoned.result);
        }
        reckoned
    }

    #[track_caller]
    pub(super) fn outcome(sum: &str, read: &[(&str, &str, &str)]) -> Reckoned {
        work(sum, read).unwrap()
    }

    #[track_caller]
    pub(super) fn refused(sum: &str, read: &[(&str, &str, &str)]) {
        let why = work(sum, read).unwrap_err();
        assert!(why.chars().next().is_some_and(char::is_uppercase), "{why}");
    }

    #[test]
    fn every_name_has_its_fields() {
        for name in Sum::NAMES {
            let fields = Sum::fields(name).unwrap();
            assert_eq!(fields.name, *name);
            assert!(!fields.must.is_empty());
        }
        assert!(Sum::fields("Guess").is_none());
    }

    /// The words that the tables name are those that the types read.
    #[test]
    fn every_word_is_read() {
        fn all<T: serde::de::DeserializeOwned + Field>() {
            let Shape::OneOf(words) = T::SHAPE else {
                panic!("no words");
            };
            for word in words {
                assert!(ron_options().from_str::<T>(word).is_ok(), "{word}");
            }
        }
        all::<lift::Bears>();
        all::<lift::Made>();
        all::<crate::trade::lifting::Legs>();
        all::<crate::trade::engagement::Into>();
        all::<crate::trade::joint::Method>();
        all::<crate::trade::jacking::End>();
        all::<Stage>();
        all::<crate::trade::lubrication::ThreadCondition>();
    }

    #[test]
    fn the_voice_leads_with_the_verdict() {
        let worked = Worked::new((), "f", "s").caution("Mind the gap.");
        let said = |verdict| Reckoned::of(&worked, verdict, "It is so").sentences();
        assert_eq!(said(Verdict::Go), "It is so.");
        assert_eq!(said(Verdict::Warn), "Take care. It is so. Mind the gap.");
        assert_eq!(
            said(Verdict::Refuse),
            "Not allowed. It is so. Mind the gap."
        );
    }
}
