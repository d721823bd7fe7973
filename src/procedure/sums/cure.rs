//! The clocks of a coat: cure, recoat window and pot life, by the temperatures read.

use super::field::{Given, fields};
use super::{Reckoned, Taken, Timing, Work, shown, told};
use crate::procedure::ByClock;
use crate::procedure::values::{Lasting, StepId};
use crate::trade::Verdict;
use crate::trade::cure::{CureSheet, SpeedLaw, Spell, readable};
use crate::trade::quantity::{ActivationEnergy, Temperature, TimeSpan};
use crate::trade::recoat::{self, RecoatColumn, RecoatTable};

fields! {
    /// What the paint's sheet says of its cure.
    Sheet, a "sheet",
    must {
        /// The lowest and the highest temperature that the sheet speaks of.
        least: Temperature,
        most: Temperature,
    }
    may {
        /// The temperature that the sheet's times hold at; else 23 °C.
        at: Temperature,
        /// The activation energy of the sheet; else twice as fast for every 10 °C.
        energy: ActivationEnergy,
    }
}

/// The temperature that paint sheets state their times at where they do not say (ISO 3270).
const STANDARD: Temperature = Temperature::celsius(23.0);

impl Sheet {
    fn cures(&self) -> Result<CureSheet, String> {
        let law = match self.energy {
            Some(energy) => SpeedLaw::Activation(energy),
            None => SpeedLaw::TwicePerTenDegrees,
        };
        CureSheet::new(self.at.unwrap_or(STANDARD), law, self.least, self.most).map_err(told)
    }
}

fields! {
    /// How long a coat stood at which temperature.
    Stood, a "spell",
    must {
        lasted: Given<TimeSpan>,
        at: Given<Temperature>,
    }
    may {}
}

fn spells(stood: &[Stood], taken: &Taken) -> Result<Vec<Spell>, String> {
    let spell = |stood: &Stood| {
        Ok(Spell {
            lasted: stood.lasted.from(taken)?,
            at: stood.at.from(taken)?,
        })
    };
    stood.iter().map(spell).collect()
}

fields! {
    /// A column of the sheet's recoat table.
    Column, a "column",
    must {
        least: Temperature,
        most: Temperature,
        earliest: TimeSpan,
        latest: TimeSpan,
    }
    may {}
}

fields! {
    /// Whether the next coat may go on.
    Recoat, a "recoat window",
    must {
        sheet: Sheet,
        /// In rising order of temperature.
        table: Vec<Column>,
        /// In order, the last one up to now.
        stood: Vec<Stood>,
    }
    may {
        /// When to read again; else when the window opens or closes.
        again: Lasting,
        /// The last step that relies on these readings; else the step after this one.
        until: StepId,
        /// The step that laid the coat: where it was done in this run, the clock gives the hours since
        /// then, and the last of `stood` lasted what they leave over from the others.
        since: StepId,
        /// The step that does what the sheet asks for once the window has closed. It is called only
        /// then; without it a closed window leads on to nothing.
        missed: StepId,
    }
}

impl Work for Recoat {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let sheet = self.sheet.cures()?;
        let columns = self.table.iter().map(|column| RecoatColumn {
            least: column.least,
            most: column.most,
            earliest: column.earliest,
            latest: column.latest,
        });
        let table = RecoatTable::new(columns.collect()).map_err(told)?;
        let spells = self.spells(taken)?;
        let worked = recoat::recoat(&sheet, &table, &spells).map_err(told)?;
        let state = worked.result;
        let time = |time| shown(readable(time));
        let result = match state {
            recoat::Recoat::Open { left } => {
                format!("The next coat may go on, for {}", time(left))
            }
            recoat::Recoat::Closing { left } => {
                format!("The window closes in {}: coat now", time(left))
            }
            recoat::Recoat::TooEarly { wait: Some(wait) } => {
                format!("Too early for the next coat: wait {}", time(wait))
            }
            recoat::Recoat::TooEarly { wait: None } => {
                "Too early, and too cold to cure: warm the work".into()
            }
            recoat::Recoat::Missed { by } => {
                format!("The window closed {} ago", time(by))
            }
        };
        let mended = self.missed.is_some() && matches!(state, recoat::Recoat::Missed { .. });
        let verdict = if mended {
            Verdict::Warn
        } else {
            state.verdict()
        };
        let mut reckoned = Reckoned::of(&worked, verdict, result);
        if mended {
            let next = "What must be done before the next coat is called now.";
            reckoned.more.insert(0, next.into());
            reckoned.leads_to = self.missed.clone();
            return Ok(reckoned);
        }
        reckoned.again = match state {
            recoat::Recoat::TooEarly { wait } => self.again.or(wait.and_then(in_whole_minutes)),
            recoat::Recoat::Open { left } | recoat::Recoat::Closing { left } => {
                let left = within_minutes(left);
                let sooner = self.again.into_iter().chain(left);
                sooner.min_by_key(|again| again.seconds())
            }
            recoat::Recoat::Missed { .. } => self.again,
        };
        Ok(reckoned)
    }

    fn timing(&self) -> Timing<'_> {
        Timing {
            asks_again: true,
            until: self.until.as_ref(),
            since: self.since.as_ref(),
            by_clock: self.by_clock(),
            leads_to: self.missed.as_ref(),
        }
    }
}

impl Recoat {
    /// Returns the reading that the run's own clock can give.
    fn by_clock(&self) -> Option<ByClock<'_>> {
        Some(ByClock {
            since: self.since.as_ref()?,
            reading: self.stood.last()?.lasted.reading()?,
        })
    }

    /// Returns how long the coat stood at which temperatures. Where the clock knows how long it stood in
    /// all, the last spell is what the others leave over.
    fn spells(&self, taken: &Taken) -> Result<Vec<Spell>, String> {
        let passed = self
            .by_clock()
            .and_then(|clock| taken.passed(clock.reading));
        let (Some(passed), [others @ .., last]) = (passed, &self.stood[..]) else {
            return spells(&self.stood, taken);
        };
        let mut spells = spells(others, taken)?;
        let before = TimeSpan::hours(spells.iter().map(|spell| spell.lasted.in_hours()).sum());
        let lasted = passed - before;
        if lasted.in_hours() < 0.0 {
            return Err(format!(
                "The coat has stood for {} by the clock, but its spells are {} together: say each again",
                shown(readable(passed)),
                shown(readable(before))
            ));
        }
        let at = last.at.from(taken)?;
        spells.push(Spell { lasted, at });
        Ok(spells)
    }
}

/// Returns a time as whole minutes, rounded down, at least one; none where it is too long for a wait.
fn within_minutes(time: TimeSpan) -> Option<Lasting> {
    let minutes = time.in_minutes().floor().max(1.0);
    Lasting::try_from(format!("{minutes} min")).ok()
}

/// Returns a time as a wait: whole minutes, rounded up; none where it is too long for one.
fn in_whole_minutes(time: TimeSpan) -> Option<Lasting> {
    let minutes = (time.in_minutes() - 1e-9).ceil().max(1.0);
    Lasting::try_from(format!("{minutes} min")).ok()
}

fields! {
    /// How long a coat cures at the temperature read.
    Cure, a "curing time",
    must {
        sheet: Sheet,
        /// The sheet's time at its own temperature.
        time: TimeSpan,
        at: Given<Temperature>,
    }
    may {}
}

impl Work for Cure {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let at = self.at.from(taken)?;
        let worked = self.sheet.cures()?.time_at(self.time, at).map_err(told)?;
        let time = shown(readable(worked.result));
        let result = format!("At {at:.1} the coat cures in {time}");
        Ok(Reckoned::of(&worked, Verdict::Go, result))
    }
}

fields! {
    /// How long mixed paint can be used at its temperature.
    PotLife, a "pot life",
    must {
        sheet: Sheet,
        /// The sheet's pot life.
        time: TimeSpan,
        /// The temperature of the paint, not of the air.
        at: Given<Temperature>,
    }
    may {
        /// How long it has stood at that temperature since it was mixed.
        mixed_for: Given<TimeSpan>,
    }
}

impl Work for PotLife {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let sheet = self.sheet.cures()?;
        let at = self.at.from(taken)?;
        let Some(mixed_for) = &self.mixed_for else {
            let worked = sheet.pot_life(self.time, at).map_err(told)?;
            let time = shown(readable(worked.result));
            let result = format!("At {at:.1} the paint can be used for {time}");
            return Ok(Reckoned::of(&worked, Verdict::Go, result));
        };
        let lasted = mixed_for.from(taken)?;
        let spells = [Spell { lasted, at }];
        let worked = sheet.pot_life_left(self.time, &spells).map_err(told)?;
        Ok(if worked.result <= TimeSpan::seconds(0.0) {
            let result = "The pot life is over: throw the mix away, and never thin it again";
            Reckoned::of(&worked, Verdict::Refuse, result)
        } else {
            let left = shown(readable(worked.result));
            Reckoned::of(
                &worked,
                Verdict::Go,
                format!("The mix can be used for {left} more"),
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::outcome;
    use crate::trade::Verdict;

    const SHEET: &str = "sheet: (least: \"5 °C\", most: \"35 °C\")";

    fn window(hours: &str) -> super::Reckoned {
        let sum = format!(
            "Recoat({SHEET}, table: [(least: \"10 °C\", most: \"30 °C\", earliest: \"4 h\", \
             latest: \"72 h\")], stood: [(lasted: \"since the coat\", at: \"23 °C\")])"
        );
        outcome(&sum, &[("since the coat", "h", hours)])
    }

    #[test]
    fn the_window_opens_and_shuts() {
        let early = window("1");
        assert_eq!(early.verdict, Verdict::Refuse);
        assert!(early.result.contains("wait 3 h"), "{}", early.result);
        assert_eq!(early.again.map(|again| again.seconds()), Some(3 * 3600));
        assert_eq!(window("10").verdict, Verdict::Go);
        assert_eq!(window("71.5").verdict, Verdict::Warn);
        let missed = window("80");
        assert_eq!(missed.verdict, Verdict::Refuse);
        assert!(missed.more.iter().any(|m| m.contains("grit")), "{missed:?}");
    }

    /// What the sheet asks for then leads on; where it was not written, nothing does.
    #[test]
    fn a_closed_window_leads_to_the_step_that_mends_it() {
        let sum = format!(
            "Recoat({SHEET}, table: [(least: \"10 °C\", most: \"30 °C\", earliest: \"4 h\", \
             latest: \"72 h\")], stood: [(lasted: \"hours\", at: \"23 °C\")], missed: \"key\")"
        );
        let with = |hours| outcome(&sum, &[("hours", "h", hours)]);
        let missed = with("80");
        assert_eq!(missed.verdict, Verdict::Warn);
        assert_eq!(missed.leads_to.as_ref().map(|id| id.as_str()), Some("key"));
        assert_eq!(missed.again, None, "it does not open again");
        assert_eq!(with("10").leads_to, None);
        assert_eq!(with("1").verdict, Verdict::Refuse);
    }

    /// Twice as long for every 10 °C colder, as the law says.
    #[test]
    fn cold_cures_slowly_and_warm_paint_is_used_soon() {
        let cure = format!("Cure({SHEET}, time: \"8 h\", at: \"panel\")");
        let slow = outcome(&cure, &[("panel", "°C", "13")]);
        assert!(slow.result.ends_with("16 h"), "{}", slow.result);
        let pot = format!("PotLife({SHEET}, time: \"2 h\", at: \"paint\")");
        let short = outcome(&pot, &[("paint", "°C", "33")]);
        assert!(short.result.ends_with("60 min"), "{}", short.result);
        let pot = format!("PotLife({SHEET}, time: \"2 h\", at: \"23 °C\", mixed_for: \"age\")");
        assert_eq!(
            outcome(&pot, &[("age", "min", "125")]).verdict,
            Verdict::Refuse
        );
    }
}
