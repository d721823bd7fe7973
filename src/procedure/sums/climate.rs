//! Climate for painting: a gate that opens only on what was read.

use super::field::{Read, fields};
use super::{Reckoned, Taken, Timing, Work, told};
use crate::procedure::values::{Lasting, StepId};
use crate::trade::climate::{PaintLimits, Readings, may_paint};
use crate::trade::quantity::{Humidity, Temperature, TemperatureDifference};

fields! {
    /// Whether paint may go on now.
    Climate, a "climate",
    must {
        air: Read<Temperature>,
        humidity: Read<Humidity>,
        /// The coldest metal that will be painted, by contact.
        metal: Read<Temperature>,
        /// The sheet's lowest temperature for air and metal.
        least: Temperature,
        /// The sheet's highest temperature for air and metal.
        most: Temperature,
    }
    may {
        /// The same metal when it was read before: paint does not go on while it cools.
        metal_before: Read<Temperature>,
        /// The sheet's margin over the dew point; else 3 °C.
        margin: TemperatureDifference,
        /// The sheet's highest humidity; else 85 %.
        most_humidity: Humidity,
        /// When to read again; else half an hour, or ten minutes near a limit.
        again: Lasting,
        /// The last step that relies on these readings; else the step after this one.
        until: StepId,
    }
}

impl Work for Climate {
    fn work(&self, taken: &Taken) -> Result<Reckoned, String> {
        let mut limits = PaintLimits::new(self.least, self.most).map_err(told)?;
        if let Some(margin) = self.margin {
            limits = limits.with_margin(margin).map_err(told)?;
        }
        if let Some(humidity) = self.most_humidity {
            limits = limits.with_humidity(humidity).map_err(told)?;
        }
        let before = self.metal_before.as_ref();
        let readings = Readings {
            air: self.air.from(taken)?,
            humidity: self.humidity.from(taken)?,
            metal: self.metal.from(taken)?,
            metal_before: before.map(|read| read.from(taken)).transpose()?,
        };
        let worked = may_paint(&limits, &readings).map_err(told)?;
        let climate = &worked.result;
        let again = match self.again {
            Some(again) => again,
            None => Lasting::try_from(climate.ask_again.to_string())?,
        };
        // Rounded down: a margin that is just missed is not shown as met.
        let margin = (climate.margin.in_degrees_celsius() * 10.0).floor() / 10.0;
        let facts = format!(
            "dew point {:.1}, metal {margin} °C over it",
            climate.dew_point
        );
        let mut reckoned = if climate.breaches.is_empty() {
            let result = format!("Paint may go on: {facts}. Read again in {again}");
            Reckoned::of(&worked, climate.verdict(), result)
        } else {
            let result = format!("Do not paint: {} binds, {facts}", climate.binding.called());
            Reckoned::of(&worked, climate.verdict(), result)
        };
        let cures = climate.breaches.iter().map(|breach| breach.cure.clone());
        reckoned.more = cures.chain(reckoned.more).collect();
        reckoned.again = Some(again);
        Ok(reckoned)
    }

    fn timing(&self) -> Timing<'_> {
        Timing {
            asks_again: true,
            until: self.until.as_ref(),
            ..Timing::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{outcome, refused};
    use crate::trade::Verdict;

    const GATE: &str = "Climate(air: \"air\", humidity: \"humidity\", metal: \"metal\", \
                        least: \"10 °C\", most: \"30 °C\", again: \"20 min\")";

    /// 18 °C and 70 % have their dew point at 12.4 °C by the tables of published_climate.
    #[test]
    fn it_opens_only_with_the_margin() {
        let with = |metal| {
            outcome(
                GATE,
                &[
                    ("air", "°C", "18.0"),
                    ("humidity", "%", "70"),
                    ("metal", "°C", metal),
                ],
            )
        };
        let open = with("16.0");
        assert_eq!(open.verdict, Verdict::Go);
        assert!(open.result.contains("dew point 12.4 °C"), "{}", open.result);
        let shut = with("15.0");
        assert_eq!(shut.verdict, Verdict::Refuse);
        assert!(shut.result.contains("margin over the dew point"));
        assert!(shut.more[0].contains("Warm the metal to at least 15.5 °C"));
        assert_eq!(shut.again.map(|again| again.seconds()), Some(1200));
    }

    #[test]
    fn it_opens_on_nothing_but_readings() {
        refused(GATE, &[("air", "°C", "18.0"), ("humidity", "%", "70")]);
    }
}
