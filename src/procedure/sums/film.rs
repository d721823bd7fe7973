//! The film of a coat, and how much paint an area takes.

use super::field::{Given, fields};
use super::{Reckoned, Taken, Work, shown, told};
use crate::trade::Verdict;
use crate::trade::film::{dry_film, paint_for, wet_film};
use crate::trade::quantity::{Area, Length, LengthUnit, Share};

fields! {
    /// The wet film for a dry one, or the dry film that the wet one leaves.
    Film, a "paint film",
    must {
        /// Solids by volume of the unthinned paint.
        solids: Share,
    }
    may {
        /// The dry film wanted: gives the wet one.
        dry: Length,
        /// The wet film on the comb: gives the dry one.
        wet: Given<Length>,
        /// Thinner, as a share of the paint.
        thinner: Share,
        /// The least and the most that the dry film may be, to judge what the comb shows.
        least: Length,
        most: Length,
    }
}

const NONE: Share = Share::percent(0.0);

fn micrometres(film: Length) -> String {
    format!("{:.0}", film.shown_in(LengthUnit::Micrometre))
}

impl Work for Film {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let thinner = self.thinner.unwrap_or(NONE);
        match (self.dry, &self.wet) {
            (Some(dry), None) => {
                let worked = wet_film(dry, self.solids, thinner).map_err(told)?;
                let (wet, dry) = (micrometres(worked.result), micrometres(dry));
                let result = format!("{wet} on the wet comb gives {dry} dry");
                Ok(Reckoned::of(&worked, Verdict::Go, result))
            }
            (None, Some(wet)) => {
                let wet = wet.from(taken)?;
                let worked = dry_film(wet, self.solids, thinner).map_err(told)?;
                let dry = worked.result;
                let thin = self.least.is_some_and(|least| dry < least);
                let thick = self.most.is_some_and(|most| dry > most);
                let mut result = format!("{} wet gives {} dry", micrometres(wet), micrometres(dry));
                let verdict = match (thin, thick) {
                    (true, _) => {
                        result.push_str(": too thin, go over it while it is wet");
                        Verdict::Warn
                    }
                    (_, true) => {
                        result.push_str(": too thick, it may run and stays soft");
                        Verdict::Warn
                    }
                    _ => Verdict::Go,
                };
                Ok(Reckoned::of(&worked, verdict, result))
            }
            _ => Err("A film is known either `dry` or `wet`: write one of them".into()),
        }
    }
}

fields! {
    /// How much paint an area takes.
    Coverage, a "coverage",
    must {
        area: Given<Area>,
        dry: Length,
        solids: Share,
    }
    may {
        /// What is lost in the gun, the pot and the air.
        loss: Share,
    }
}

impl Work for Coverage {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let area = self.area.from(taken)?;
        let loss = self.loss.unwrap_or(NONE);
        let worked = paint_for(area, self.dry, self.solids, loss).map_err(told)?;
        let result = format!(
            "{area} takes {} of paint for one coat",
            shown(worked.result)
        );
        Ok(Reckoned::of(&worked, Verdict::Go, result))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    #[test]
    fn wet_and_dry() {
        let wet = outcome("Film(solids: \"50 %\", dry: \"60 µm\")", &[]);
        assert_eq!(wet.result, "120 µm on the wet comb gives 60 µm dry");
        let comb = "Film(solids: \"50 %\", wet: \"comb\", least: \"50 µm\", most: \"80 µm\")";
        let thin = outcome(comb, &[("comb", "µm", "090")]);
        assert_eq!(thin.verdict, Verdict::Warn);
        assert!(
            thin.result.contains("45 µm dry: too thin"),
            "{}",
            thin.result
        );
        assert_eq!(outcome(comb, &[("comb", "µm", "120")]).verdict, Verdict::Go);
        assert_eq!(
            outcome(comb, &[("comb", "µm", "180")]).verdict,
            Verdict::Warn
        );
        refused("Film(solids: \"50 %\")", &[]);
    }

    /// 10·50/60 = 8.33 m²/L; 12 m² with a third lost take 2.16 L.
    #[test]
    fn an_area_takes_paint() {
        let paint = outcome(
            "Coverage(area: \"12 m²\", dry: \"60 µm\", solids: \"50 %\", loss: \"33 %\")",
            &[],
        );
        assert_eq!(paint.result, "12 m² takes 2.149 L of paint for one coat");
    }
}
