//! Climate for painting: whether paint may go on now, what stops it, and what would cure it.

use super::dew_point::{
    LEAST_AIR, LEAST_HUMIDITY, MOST_AIR, MOST_HUMIDITY, air_celsius_for, dew_celsius, dew_point,
};
use super::quantity::{Humidity, Temperature, TemperatureDifference, TimeSpan};
use super::range::{OutOfRange, hold};
use super::worked::{Answer, Verdict, Worked, neat};

/// The margin of the metal over the dew point: ISO 8502-4 and ISO 12944-7 (as quoted by coating
/// inspection guides).
pub const STANDARD_MARGIN: TemperatureDifference = TemperatureDifference::degrees_celsius(3.0);
/// The least margin any published rule allows: 5 °F, on charts of the United States.
pub const LEAST_MARGIN: TemperatureDifference = TemperatureDifference::degrees_fahrenheit(5.0);
/// The humidity that must not be passed where the paint's sheet says nothing else: ISO 12944-7 (as
/// quoted by coating inspection guides).
pub const STANDARD_HUMIDITY: Humidity = Humidity::percent(85.0);
const GATE_SOURCE: &str =
    "ISO 8502-4 and ISO 12944-7 (3 °C over the dew point, 85 %), the paint's sheet for the rest";

/// Metal that cooled by more than this between two readings counts as cooling; less is the
/// thermometer (common practice, no source).
const COOLING: TemperatureDifference = TemperatureDifference::degrees_celsius(0.5);
/// Readings are taken anew every hour (UFGS-09971: hourly), and sooner where it is close or where
/// something was not right (common practice, no source).
const ASK_AGAIN: TimeSpan = TimeSpan::minutes(60.0);
const ASK_AGAIN_SOON: TimeSpan = TimeSpan::minutes(30.0);
const CLOSE: TemperatureDifference = TemperatureDifference::degrees_celsius(1.0);

/// What a paint's sheet asks of the climate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PaintLimits {
    /// Lowest temperature of air and metal.
    least: Temperature,
    /// Highest temperature of air and metal.
    most: Temperature,
    margin: TemperatureDifference,
    humidity: Humidity,
}

impl PaintLimits {
    /// Makes limits with the sheet's temperatures for air and metal, 3 °C over the dew point and 85 %.
    ///
    /// # Errors
    /// [`OutOfRange`] unless −20 °C ≤ `least` ≤ `most` ≤ 60 °C.
    pub fn new(least: Temperature, most: Temperature) -> Result<PaintLimits, OutOfRange> {
        hold(
            "Lowest painting temperature",
            least,
            Temperature::celsius(-20.0),
            MOST_AIR,
        )?;
        hold("Highest painting temperature", most, least, MOST_AIR)?;
        Ok(PaintLimits {
            least,
            most,
            margin: STANDARD_MARGIN,
            humidity: STANDARD_HUMIDITY,
        })
    }

    /// Sets the highest humidity the sheet allows.
    ///
    /// # Errors
    /// [`OutOfRange`] unless it is from 1 % to 100 %.
    pub fn with_humidity(self, humidity: Humidity) -> Result<PaintLimits, OutOfRange> {
        let humidity = hold("Highest humidity", humidity, LEAST_HUMIDITY, MOST_HUMIDITY)?;
        Ok(PaintLimits { humidity, ..self })
    }

    /// Sets the margin over the dew point that the sheet asks for.
    ///
    /// # Errors
    /// [`OutOfRange`] unless it is from 5 °F, the least that any published rule allows, to 30 °C.
    pub fn with_margin(self, margin: TemperatureDifference) -> Result<PaintLimits, OutOfRange> {
        let most = TemperatureDifference::degrees_celsius(30.0);
        let margin = hold("Margin over the dew point", margin, LEAST_MARGIN, most)?;
        Ok(PaintLimits { margin, ..self })
    }
}

/// What was read at the work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Readings {
    pub air: Temperature,
    pub humidity: Humidity,
    /// The coldest metal to be painted, by contact.
    pub metal: Temperature,
    /// The same metal when it was read last, if it was.
    pub metal_before: Option<Temperature>,
}

/// A limit of the climate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    MarginOverDewPoint,
    Humidity,
    MetalTooCold,
    MetalTooHot,
    AirTooCold,
    AirTooHot,
    MetalCooling,
}

impl Limit {
    /// Returns the limit as it is called.
    pub fn called(self) -> &'static str {
        match self {
            Limit::MarginOverDewPoint => "the margin over the dew point",
            Limit::Humidity => "the humidity of the air",
            Limit::MetalTooCold => "the lowest temperature of the metal",
            Limit::MetalTooHot => "the highest temperature of the metal",
            Limit::AirTooCold => "the lowest temperature of the air",
            Limit::AirTooHot => "the highest temperature of the air",
            Limit::MetalCooling => "the metal is cooling",
        }
    }
}

/// A limit that is not kept, and what would cure it.
#[derive(Debug, Clone, PartialEq)]
pub struct Breach {
    pub limit: Limit,
    /// Whole sentences for the voice.
    pub cure: String,
}

/// Whether paint may go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Decision {
    Go,
    Stop,
}

/// What the readings come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    pub decision: Decision,
    pub dew_point: Temperature,
    /// How far the metal is over the dew point.
    pub margin: TemperatureDifference,
    /// The limit that is passed furthest, or that is nearest where none is passed.
    pub binding: Limit,
    /// Every limit that is passed, furthest first; empty for `Go`.
    pub breaches: Vec<Breach>,
    /// When the readings must be taken anew.
    pub ask_again: TimeSpan,
}

impl Climate {
    /// Returns what the gate says.
    pub fn verdict(&self) -> Verdict {
        match self.decision {
            Decision::Go => Verdict::Go,
            Decision::Stop => Verdict::Refuse,
        }
    }
}

impl From<Climate> for Answer {
    fn from(climate: Climate) -> Answer {
        let decision = match climate.decision {
            Decision::Go => "go",
            Decision::Stop => "stop",
        };
        let cures = climate
            .breaches
            .into_iter()
            .map(|breach| Answer::Words(breach.cure));
        Answer::Named(vec![
            ("decision", Answer::Words(decision.into())),
            ("binding", Answer::Words(climate.binding.called().into())),
            ("dew point", climate.dew_point.into()),
            ("margin", climate.margin.into()),
            ("cures", Answer::List(cures.collect())),
            ("read again in", climate.ask_again.into()),
        ])
    }
}

/// Decides by the readings whether paint may go on, which limit binds, what would cure it, and when to
/// read again.
///
/// Range: as [`dew_point`]; metal −45 °C to 100 °C. The cures are rounded to the safe side, to half a
/// degree. Source: ISO 8502-4, ISO 12944-7 and the paint's sheet.
///
/// # Errors
/// [`OutOfRange`] for readings outside the range.
pub fn may_paint(limits: &PaintLimits, readings: &Readings) -> Result<Worked<Climate>, OutOfRange> {
    let hottest_metal = Temperature::celsius(100.0);
    hold(
        "Metal temperature",
        readings.metal,
        LEAST_AIR,
        hottest_metal,
    )?;
    if let Some(before) = readings.metal_before {
        hold(
            "Earlier metal temperature",
            before,
            LEAST_AIR,
            hottest_metal,
        )?;
    }
    let dew = dew_point(readings.air, readings.humidity)?;
    let margin = readings.metal.shown_in(dew.result.unit()) - dew.result;
    let mut rooms = rooms(limits, readings, dew.result);
    rooms.sort_by(|a, b| a.1.total_cmp(&b.1));
    let (binding, nearest) = rooms
        .first()
        .copied()
        .unwrap_or((Limit::MarginOverDewPoint, f64::NEG_INFINITY));
    let breaches: Vec<Breach> = rooms
        .iter()
        .filter(|(_, room)| *room < 0.0)
        .map(|&(limit, _)| Breach {
            limit,
            cure: cure(limit, limits, readings, dew.result),
        })
        .collect();
    let go = breaches.is_empty();
    let roomy = go && nearest >= CLOSE.in_degrees_celsius();
    let formula = format!(
        "{}; margin = {} − {} = {} °C, at least {} °C; humidity {} %, at most {} %",
        dew.formula,
        neat(readings.metal.in_celsius()),
        neat(dew.result.in_celsius()),
        neat(margin.in_degrees_celsius()),
        neat(limits.margin.in_degrees_celsius()),
        neat(readings.humidity.in_percent()),
        neat(limits.humidity.in_percent()),
    );
    let climate = Climate {
        decision: if go { Decision::Go } else { Decision::Stop },
        dew_point: dew.result,
        margin,
        binding,
        breaches,
        ask_again: if roomy { ASK_AGAIN } else { ASK_AGAIN_SOON },
    };
    Ok(Worked::new(climate, formula, GATE_SOURCE)
        .caution("Read the coldest metal that will be painted, not the nearest."))
}

/// Returns how far each limit is from being passed, in °C; a humidity as the rise of the dew point that
/// would reach it, so that all compare.
fn rooms(limits: &PaintLimits, readings: &Readings, dew: Temperature) -> Vec<(Limit, f64)> {
    let (air, metal) = (readings.air.in_celsius(), readings.metal.in_celsius());
    let (least, most) = (limits.least.in_celsius(), limits.most.in_celsius());
    let dew_at_limit = dew_celsius(air, limits.humidity.in_percent());
    let margin = metal - dew.in_celsius();
    let mut rooms = vec![
        (
            Limit::MarginOverDewPoint,
            margin - limits.margin.in_degrees_celsius(),
        ),
        (Limit::Humidity, dew_at_limit - dew.in_celsius()),
        (Limit::MetalTooCold, metal - least),
        (Limit::MetalTooHot, most - metal),
        (Limit::AirTooCold, air - least),
        (Limit::AirTooHot, most - air),
    ];
    if let Some(before) = readings.metal_before {
        let cooled = before.in_celsius() - metal;
        // Cooling is no distance to a limit: it either goes on or it does not.
        if cooled > COOLING.in_degrees_celsius() {
            rooms.push((Limit::MetalCooling, -cooled));
        }
    }
    rooms
}

/// Rounds up to half a degree, so that what is asked for is never less than what is needed.
fn up(celsius: f64) -> f64 {
    (celsius * 2.0 - 1e-9).ceil() / 2.0
}

fn cure(limit: Limit, limits: &PaintLimits, readings: &Readings, dew: Temperature) -> String {
    let least = limits.least.in_celsius();
    let most = limits.most.in_celsius();
    match limit {
        Limit::MarginOverDewPoint => {
            let needed = dew.in_celsius() + limits.margin.in_degrees_celsius();
            if needed > most {
                return format!(
                    "The metal would have to be warmer than the paint allows. \
                     Dry the air, or wait until the dew point is at most {} °C.",
                    neat(-up(limits.margin.in_degrees_celsius() - most))
                );
            }
            format!(
                "Warm the metal to at least {} °C, or wait until the air is drier.",
                // Half a degree up must not pass the paint's own highest.
                neat(up(needed.max(least)).min(most))
            )
        }
        Limit::Humidity => {
            let percent = limits.humidity.in_percent();
            let warmer = up(air_celsius_for(dew.in_celsius(), percent));
            let waits = format!("wait until the humidity is at most {} %", neat(percent));
            if warmer <= most {
                format!(
                    "Warm the air to at least {} °C without a flame, dry it, or {waits}.",
                    neat(warmer)
                )
            } else {
                format!("Dry the air, or {waits}.")
            }
        }
        Limit::MetalTooCold => format!("Warm the metal to at least {} °C.", neat(least)),
        Limit::MetalTooHot => {
            format!(
                "Wait until the metal has cooled to at most {} °C.",
                neat(most)
            )
        }
        Limit::AirTooCold => format!("Warm the air to at least {} °C.", neat(least)),
        Limit::AirTooHot => {
            format!(
                "Wait until the air has cooled to at most {} °C.",
                neat(most)
            )
        }
        Limit::MetalCooling => format!(
            "The metal is cooling, from {:.1} to {:.1}. Wait until it no longer does.",
            readings.metal_before.unwrap_or(readings.metal),
            readings.metal
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn limits() -> PaintLimits {
        PaintLimits::new(Temperature::celsius(10.0), Temperature::celsius(30.0)).unwrap()
    }

    fn readings(air: f64, humidity: f64, metal: f64) -> Readings {
        Readings {
            air: Temperature::celsius(air),
            humidity: Humidity::percent(humidity),
            metal: Temperature::celsius(metal),
            metal_before: None,
        }
    }

    fn decide(readings: Readings) -> Climate {
        may_paint(&limits(), &readings).unwrap().result
    }

    /// With the metal as warm as the air the margin is lost before the humidity limit is reached.
    #[test]
    fn the_margin_binds_before_the_humidity() {
        assert_eq!(decide(readings(15.0, 82.0, 15.0)).decision, Decision::Go);
        let lost = decide(readings(15.0, 83.0, 15.0));
        assert_eq!(lost.decision, Decision::Stop);
        assert_eq!(lost.binding, Limit::MarginOverDewPoint);
        assert_eq!(lost.breaches.len(), 1);
        assert_eq!(
            lost.breaches[0].cure,
            "Warm the metal to at least 15.5 °C, or wait until the air is drier."
        );
    }

    #[test]
    fn each_limit_has_its_cure() {
        let cure = |readings, limit| {
            let climate = decide(readings);
            let breach = climate.breaches.iter().find(|b| b.limit == limit);
            breach.map(|b| b.cure.clone()).unwrap_or_default()
        };
        let humid = cure(readings(20.0, 90.0, 28.0), Limit::Humidity);
        assert!(
            humid.starts_with("Warm the air to at least 21 °C"),
            "{humid}"
        );
        assert!(humid.contains("at most 85 %"), "{humid}");
        let cold = cure(readings(15.0, 40.0, 9.0), Limit::MetalTooCold);
        assert_eq!(cold, "Warm the metal to at least 10 °C.");
        let hot = cure(readings(15.0, 40.0, 31.0), Limit::MetalTooHot);
        assert_eq!(hot, "Wait until the metal has cooled to at most 30 °C.");
        let muggy = cure(readings(30.0, 95.0, 30.0), Limit::MarginOverDewPoint);
        assert!(muggy.contains("dew point is at most 27 °C"), "{muggy}");
    }

    #[test]
    fn cooling_metal_stops_the_work() {
        let mut cooling = readings(20.0, 50.0, 18.0);
        cooling.metal_before = Some(Temperature::celsius(18.4));
        assert_eq!(decide(cooling).decision, Decision::Go);
        cooling.metal_before = Some(Temperature::celsius(19.0));
        let climate = decide(cooling);
        assert_eq!(climate.binding, Limit::MetalCooling);
        assert!(climate.breaches[0].cure.contains("from 19.0 °C to 18.0 °C"));
    }

    #[test]
    fn close_readings_are_taken_anew_sooner() {
        assert_eq!(
            decide(readings(20.0, 50.0, 20.0)).ask_again,
            TimeSpan::minutes(60.0)
        );
        assert_eq!(
            decide(readings(20.0, 80.0, 20.0)).ask_again,
            TimeSpan::minutes(30.0)
        );
        assert_eq!(
            decide(readings(20.0, 90.0, 20.0)).ask_again,
            TimeSpan::minutes(30.0)
        );
    }

    #[test]
    fn a_margin_under_any_published_rule_is_refused() {
        let narrow = TemperatureDifference::degrees_celsius(2.0);
        assert!(limits().with_margin(narrow).is_err());
        let american = TemperatureDifference::degrees_fahrenheit(5.0);
        assert!(limits().with_margin(american).is_ok());
    }

    proptest! {
        #[test]
        fn a_go_keeps_every_limit(air in -50.0..65.0, humidity in 0.0..101.0, metal in -50.0..65.0) {
            if let Ok(worked) = may_paint(&limits(), &readings(air, humidity, metal)) {
                let climate = worked.result;
                let kept = metal - climate.dew_point.in_celsius() >= 3.0
                    && humidity <= 85.0
                    && (10.0..=30.0).contains(&air)
                    && (10.0..=30.0).contains(&metal);
                // A humidity within a rounding of the limit may fall either way.
                prop_assert!((humidity - 85.0).abs() < 1e-6 || kept == (climate.decision == Decision::Go));
                prop_assert_eq!(climate.breaches.is_empty(), climate.decision == Decision::Go);
            }
        }

        #[test]
        fn warming_the_metal_as_told_cures_the_margin(air in 10.0..30.0, humidity in 20.0..85.0) {
            let dew = dew_celsius(air, humidity);
            let told = up((dew + 3.0).max(10.0));
            if told <= 30.0 {
                let cured = decide(readings(air, humidity, told));
                let binds = cured.breaches.iter().any(|b| b.limit == Limit::MarginOverDewPoint);
                prop_assert!(!binds);
            }
        }

        #[test]
        fn no_number_panics(air: f64, humidity: f64, metal: f64, before: f64) {
            let mut readings = readings(air, humidity, metal);
            readings.metal_before = Some(Temperature::celsius(before));
            let _ = may_paint(&limits(), &readings);
            let _ = PaintLimits::new(readings.air, readings.metal);
        }
    }
}
