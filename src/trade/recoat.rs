//! The recoat window: not before one time, not after another, on two clocks.
//!
//! The earliest time is governed by the cold, so it runs by the age at the sheet's temperature. The
//! latest is killed by the hottest spell, so it is read from the column of that spell and counts plain
//! time.

use super::cure::{COLDEST, CureError, CureSheet, HOTTEST, LONGEST, SHORTEST, Spell};
use super::quantity::{Temperature, TimeSpan};
use super::range::hold;
use super::worked::{Answer, Verdict, Worked, neat};

const SOURCE: &str =
    "UFGS-09971: the column of the highest surface temperature sustained for an hour";

/// How long a temperature must be held to count as sustained (UFGS-09971).
const SUSTAINED: TimeSpan = TimeSpan::hours(1.0);
/// How long before the end the person is told, but never more than half the window (common practice,
/// no source).
const WARNING: TimeSpan = TimeSpan::hours(1.0);

/// A column of the sheet's recoat table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecoatColumn {
    pub least: Temperature,
    pub most: Temperature,
    pub earliest: TimeSpan,
    pub latest: TimeSpan,
}

/// A sheet's recoat table: columns of rising temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct RecoatTable(Vec<RecoatColumn>);

impl RecoatTable {
    /// Makes a table of `columns` in rising order.
    ///
    /// # Errors
    /// [`CureError::Column`] for a column whose temperatures or times run backwards, or that overlaps
    /// the one before; [`CureError::NoReading`] without a column.
    pub fn new(columns: Vec<RecoatColumn>) -> Result<RecoatTable, CureError> {
        let mut before: Option<Temperature> = None;
        for column in &columns {
            hold("The earliest time", column.earliest, SHORTEST, LONGEST)?;
            hold("The latest time", column.latest, SHORTEST, LONGEST)?;
            hold("A column's temperature", column.least, COLDEST, HOTTEST)?;
            hold("A column's temperature", column.most, COLDEST, HOTTEST)?;
            let rises = before.is_none_or(|most| column.least >= most);
            if !rises || column.least > column.most || column.earliest >= column.latest {
                return Err(CureError::Column {
                    least: column.least,
                    most: column.most,
                });
            }
            before = Some(column.most);
        }
        match before {
            Some(_) => Ok(RecoatTable(columns)),
            None => Err(CureError::NoReading),
        }
    }

    /// Returns the column for `at`. Between two columns (21 °C and 22 °C) the hotter one holds, whose
    /// latest time comes first.
    ///
    /// # Errors
    /// [`CureError::NotOnSheet`] below the first and above the last column.
    pub fn column(&self, at: Temperature) -> Result<RecoatColumn, CureError> {
        let not_on_sheet = CureError::NotOnSheet { at };
        match self.0.first() {
            Some(first) if at >= first.least => {}
            _ => return Err(not_on_sheet),
        }
        let column = self.0.iter().find(|column| at <= column.most);
        column.copied().ok_or(not_on_sheet)
    }
}

/// Where the work stands in its recoat window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Recoat {
    /// Not yet: so much longer at the temperature of now, or without end where it is too cold to cure.
    TooEarly { wait: Option<TimeSpan> },
    /// The next coat may go on for so long.
    Open { left: TimeSpan },
    /// The window closes soon: coat now or lose it.
    Closing { left: TimeSpan },
    /// The window has closed so long ago: roughen, or as the sheet says.
    Missed { by: TimeSpan },
}

impl Recoat {
    /// Returns whether the next coat may go on.
    pub fn verdict(self) -> Verdict {
        match self {
            Recoat::Open { .. } => Verdict::Go,
            Recoat::Closing { .. } => Verdict::Warn,
            Recoat::TooEarly { .. } | Recoat::Missed { .. } => Verdict::Refuse,
        }
    }
}

impl From<Recoat> for Answer {
    fn from(state: Recoat) -> Answer {
        let words = |words: &str| ("state", Answer::Words(words.into()));
        Answer::Named(match state {
            Recoat::TooEarly { wait: Some(wait) } => {
                vec![words("too early"), ("wait", wait.into())]
            }
            Recoat::TooEarly { wait: None } => vec![words("too early, and too cold to cure")],
            Recoat::Open { left } => vec![words("open"), ("left", left.into())],
            Recoat::Closing { left } => vec![words("closing"), ("left", left.into())],
            Recoat::Missed { by } => vec![words("missed"), ("by", by.into())],
        })
    }
}

/// Returns where the work stands after `spells`, the last of which reaches to now.
///
/// Range: spells within −20 °C to 80 °C, at most 366 days each. Source: UFGS-09971.
///
/// # Errors
/// [`CureError::NoReading`] without a spell; [`CureError::NotOnSheet`] where the table has no column for
/// the hottest spell or for the sheet's own temperature.
pub fn recoat(
    sheet: &CureSheet,
    table: &RecoatTable,
    spells: &[Spell],
) -> Result<Worked<Recoat>, CureError> {
    let age = sheet.age_to_wait_by(spells)?;
    let now = spells.last().ok_or(CureError::NoReading)?;
    let earliest = table.column(sheet.reference())?.earliest;
    let hottest = hottest_sustained(spells).ok_or(CureError::NoReading)?;
    let elapsed = TimeSpan::hours(spells.iter().map(|spell| spell.lasted.in_hours()).sum());
    // In a cold that the table does not speak of, the first column's latest time is the strictest that
    // can be meant.
    let column = match (table.column(hottest), table.0.first()) {
        (Err(_), Some(first)) if hottest < first.least => *first,
        (column, _) => column?,
    };
    let left = column.latest - elapsed;
    let half = (column.latest - column.earliest) / 2.0;
    let warning = if half < WARNING { half } else { WARNING };
    let state = if left.in_hours() < 0.0 {
        Recoat::Missed {
            by: elapsed - column.latest,
        }
    } else if age.result < earliest {
        let missing = earliest - age.result;
        Recoat::TooEarly {
            wait: match sheet.time_at(missing, now.at) {
                Ok(time) if time.result > missing => Some(time.result),
                Err(CureError::TooCold { .. }) => None,
                _ => Some(missing),
            },
        }
    } else if left <= warning {
        Recoat::Closing { left }
    } else {
        Recoat::Open { left }
    };
    let formula = format!(
        "age {} against {} h at {}; stood {} h against {} h at {:.1}",
        age.formula,
        neat(earliest.in_hours()),
        sheet.reference(),
        neat(elapsed.in_hours()),
        neat(column.latest.in_hours()),
        hottest,
    );
    let mut worked = Worked::new(state, formula, SOURCE);
    worked.cautions = age.cautions;
    Ok(match state {
        Recoat::Missed { .. } => worked.caution(
            "Too late for a coat to bond by itself: take the gloss off with 150 to 200 grit, or do as \
             the sheet says.",
        ),
        Recoat::TooEarly { .. } if left < earliest - age.result => worked.caution(
            "By the time it has cured enough the window will have closed: be ready to roughen it.",
        ),
        _ => worked,
    })
}

/// Returns the highest temperature that was held, or passed, for an hour on end; the highest of all
/// where the coat has not stood that long.
fn hottest_sustained(spells: &[Spell]) -> Option<Temperature> {
    let held = |at: Temperature| {
        let mut run = 0.0;
        spells.iter().any(|spell| {
            run = if spell.at >= at {
                run + spell.lasted.in_hours()
            } else {
                0.0
            };
            run >= SUSTAINED.in_hours()
        })
    };
    let hotter = |a: Temperature, b: Temperature| if b > a { b } else { a };
    let all = spells.iter().map(|spell| spell.at);
    let sustained = all.clone().filter(|&at| held(at)).reduce(hotter);
    sustained.or(all.reduce(hotter))
}

#[cfg(test)]
mod tests {
    use super::super::cure::SpeedLaw;
    use super::*;
    use proptest::prelude::*;

    fn celsius(celsius: f64) -> Temperature {
        Temperature::celsius(celsius)
    }

    fn column(least: f64, most: f64, earliest: f64, latest: f64) -> RecoatColumn {
        RecoatColumn {
            least: celsius(least),
            most: celsius(most),
            earliest: TimeSpan::hours(earliest),
            latest: TimeSpan::hours(latest),
        }
    }

    fn table() -> RecoatTable {
        RecoatTable::new(vec![
            column(10.0, 20.0, 8.0, 48.0),
            column(20.0, 30.0, 4.0, 24.0),
        ])
        .unwrap()
    }

    fn sheet() -> CureSheet {
        let law = SpeedLaw::TwicePerTenDegrees;
        CureSheet::new(celsius(20.0), law, celsius(10.0), celsius(30.0)).unwrap()
    }

    fn spell(hours: f64, at: f64) -> Spell {
        Spell {
            lasted: TimeSpan::hours(hours),
            at: celsius(at),
        }
    }

    fn state(spells: &[Spell]) -> Recoat {
        recoat(&sheet(), &table(), spells).unwrap().result
    }

    #[test]
    fn the_cold_delays_the_earliest_time() {
        let Recoat::TooEarly { wait: Some(wait) } = state(&[spell(8.0, 10.0)]) else {
            panic!("eight hours at 10 °C are four of the eight at 20 °C");
        };
        assert!((wait.in_hours() - 8.0).abs() < 1e-9);
        assert!(matches!(state(&[spell(16.0, 10.0)]), Recoat::Open { .. }));
        let frozen = state(&[spell(2.0, 20.0), spell(8.0, 5.0)]);
        assert_eq!(frozen, Recoat::TooEarly { wait: None });
    }

    #[test]
    fn warmth_does_not_shorten_the_wait() {
        let Recoat::TooEarly { wait: Some(wait) } = state(&[spell(5.0, 30.0)]) else {
            panic!("five hours of eight");
        };
        assert!((wait.in_hours() - 3.0).abs() < 1e-9);
    }

    #[test]
    fn the_end_is_told_before_it_comes() {
        assert_eq!(
            state(&[spell(47.5, 18.0)]),
            Recoat::Closing {
                left: TimeSpan::hours(0.5)
            }
        );
        let late = recoat(&sheet(), &table(), &[spell(49.0, 18.0)]).unwrap();
        assert_eq!(
            late.result,
            Recoat::Missed {
                by: TimeSpan::hours(1.0)
            }
        );
        assert!(late.cautions.iter().any(|c| c.contains("150 to 200 grit")));
    }

    #[test]
    fn a_window_that_will_close_first_is_foreseen() {
        let worked = recoat(&sheet(), &table(), &[spell(1.0, 25.0), spell(22.0, 5.0)]).unwrap();
        assert!(matches!(worked.result, Recoat::TooEarly { .. }));
        assert!(
            worked
                .cautions
                .iter()
                .any(|c| c.contains("the window will have closed"))
        );
    }

    #[test]
    fn a_table_that_cannot_be_true_is_refused() {
        let table = |columns| RecoatTable::new(columns).map_err(|e| e.to_string());
        assert!(table(vec![]).is_err());
        let backwards = table(vec![column(10.0, 20.0, 8.0, 4.0)]).unwrap_err();
        assert!(
            backwards.contains("check it against the sheet"),
            "{backwards}"
        );
        assert!(
            table(vec![
                column(10.0, 20.0, 8.0, 48.0),
                column(15.0, 30.0, 4.0, 24.0)
            ])
            .is_err()
        );
        let hot = recoat(&sheet(), &super::tests::table(), &[spell(10.0, 31.0)]);
        assert!(matches!(hot, Err(CureError::NotOnSheet { .. })));
    }

    proptest! {
        #[test]
        fn no_number_panics(least: f64, most: f64, earliest: f64, latest: f64, hours: f64, at: f64) {
            let _ = RecoatTable::new(vec![column(least, most, earliest, latest)]);
            let _ = recoat(&sheet(), &table(), &[spell(hours, at), spell(1.0, 20.0)]);
            let _ = table().column(celsius(at));
        }

        #[test]
        fn an_open_window_lies_between_both_clocks(
            spells in prop::collection::vec((0.0..20.0, 0.0..30.0), 1..6)
        ) {
            let spells: Vec<_> = spells.into_iter().map(|(hours, at)| spell(hours, at)).collect();
            let clock: f64 = spells.iter().map(|spell| spell.lasted.in_hours()).sum();
            if let Recoat::Open { .. } | Recoat::Closing { .. } = state(&spells) {
                prop_assert!((8.0 - 1e-9..=48.0).contains(&clock));
            }
        }
    }
}
