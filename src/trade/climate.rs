//! Climate for painting: dew point, and whether paint may go on now.

use super::quantity::{Humidity, Temperature, TemperatureDifference, TimeSpan};
use super::range::{OutOfRange, hold};
use super::worked::{Worked, neat};

/// Constants of the Magnus form over water: WMO No. 8 (Guide to Meteorological Instruments), after
/// Sonntag 1990; good from −45 °C to 60 °C.
const MAGNUS_A: f64 = 17.62;
const MAGNUS_B: f64 = 243.12;
const DEW_POINT_SOURCE: &str = "Magnus form over water, constants of WMO No. 8 (Sonntag 1990)";

/// The air temperatures the Magnus form is good for.
pub const LEAST_AIR: Temperature = Temperature::celsius(-45.0);
pub const MOST_AIR: Temperature = Temperature::celsius(60.0);
/// Below this no reading of a workshop hygrometer means anything (common practice, no source).
pub const LEAST_HUMIDITY: Humidity = Humidity::percent(1.0);
pub const MOST_HUMIDITY: Humidity = Humidity::percent(100.0);

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

/// Returns the temperature at which air of this temperature and humidity lays dew, over water.
///
/// Range: air −45 °C to 60 °C, humidity 1 % to 100 %. Below 0 °C it is the dew point of supercooled
/// water, not the frost point. Result in °C, within 0.04 °C of psychrolib 2.5.0 above 0 °C.
///
/// # Errors
/// [`OutOfRange`] outside the range.
pub fn dew_point(air: Temperature, humidity: Humidity) -> Result<Worked<Temperature>, OutOfRange> {
    hold("Air temperature", air, LEAST_AIR, MOST_AIR)?;
    hold(
        "Relative humidity",
        humidity,
        LEAST_HUMIDITY,
        MOST_HUMIDITY,
    )?;
    let dew = dew_celsius(air.in_celsius(), humidity.in_percent());
    let formula = format!(
        "γ = ln({h}/100) + {MAGNUS_A}·{t}/({MAGNUS_B} + {t}); \
         dew point = {MAGNUS_B}·γ/({MAGNUS_A} − γ) = {d} °C",
        h = neat(humidity.in_percent()),
        t = neat(air.in_celsius()),
        d = neat(dew),
    );
    Ok(Worked::new(
        Temperature::celsius(dew),
        formula,
        DEW_POINT_SOURCE,
    ))
}

fn magnus(celsius: f64) -> f64 {
    MAGNUS_A * celsius / (MAGNUS_B + celsius)
}

fn dew_celsius(air: f64, percent: f64) -> f64 {
    let gamma = (percent / 100.0).ln() + magnus(air);
    MAGNUS_B * gamma / (MAGNUS_A - gamma)
}

/// Returns the air temperature at which moisture with this dew point makes this humidity.
fn air_celsius_for(dew: f64, percent: f64) -> f64 {
    let gamma = magnus(dew) - (percent / 100.0).ln();
    MAGNUS_B * gamma / (MAGNUS_A - gamma)
}

/// Returns the relative humidity from a dry and a wet thermometer in moved air (a whirling
/// hygrometer), at sea level.
///
/// Range: dry 0 °C to 50 °C, wet 0 °C up to the dry reading. Result within 2 % relative humidity of
/// psychrolib 2.5.0. Source: psychrometer formula of WMO No. 8, annex 4.B (from memory; the wet-bulb
/// row of a paint inspection guide and psychrolib agree with it).
///
/// # Errors
/// [`OutOfRange`] outside the range, or where air so dry cannot be.
pub fn humidity_by_wet_bulb(
    dry: Temperature,
    wet: Temperature,
) -> Result<Worked<Humidity>, OutOfRange> {
    let freezing = Temperature::celsius(0.0);
    hold("Dry thermometer", dry, freezing, Temperature::celsius(50.0))?;
    hold("Wet thermometer", wet, freezing, dry)?;
    let (t, w) = (dry.in_celsius(), wet.in_celsius());
    const SEA_LEVEL_HPA: f64 = 1013.25;
    let saturated = |celsius: f64| 6.112 * magnus(celsius).exp();
    let vapour =
        saturated(w) - 6.53e-4 * (1.0 + 9.44e-4 * w) * SEA_LEVEL_HPA * (t - w);
    let percent = 100.0 * vapour / saturated(t);
    let humidity = hold(
        "Relative humidity from these thermometers",
        Humidity::percent(percent.min(100.0)),
        LEAST_HUMIDITY,
        MOST_HUMIDITY,
    )?;
    let formula = format!(
        "e = {e_w} − 6.53e-4·(1 + 9.44e-4·{w})·{SEA_LEVEL_HPA}·({t} − {w}) = {e} hPa; \
         humidity = 100·{e}/{e_s} = {h} %",
        e_w = neat(saturated(w)),
        e = neat(vapour),
        e_s = neat(saturated(t)),
        h = neat(humidity.in_percent()),
        w = neat(w),
        t = neat(t),
    );
    Ok(Worked::new(
        humidity,
        formula,
        "psychrometer formula of WMO No. 8, annex 4.B (from memory)",
    ))
}

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
        hold("Lowest painting temperature", least, Temperature::celsius(-20.0), MOST_AIR)?;
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

/// Decides by the readings whether paint may go on, which limit binds, what would cure it, and when to
/// read again.
///
/// Range: as [`dew_point`]; metal −45 °C to 100 °C. The cures are rounded to the safe side, to half a
/// degree. Source: ISO 8502-4, ISO 12944-7 and the paint's sheet.
///
/// # Errors
/// [`OutOfRange`] for readings outside the range.
pub fn may_paint(
    limits: &PaintLimits,
    readings: &Readings,
) -> Result<Worked<Climate>, OutOfRange> {
    let hottest_metal = Temperature::celsius(100.0);
    hold("Metal temperature", readings.metal, LEAST_AIR, hottest_metal)?;
    if let Some(before) = readings.metal_before {
        hold("Earlier metal temperature", before, LEAST_AIR, hottest_metal)?;
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
        (Limit::MarginOverDewPoint, margin - limits.margin.in_degrees_celsius()),
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
                neat(up(needed.max(least)))
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
            format!("Wait until the metal has cooled to at most {} °C.", neat(most))
        }
        Limit::AirTooCold => format!("Warm the air to at least {} °C.", neat(least)),
        Limit::AirTooHot => {
            format!("Wait until the air has cooled to at most {} °C.", neat(most))
        }
        Limit::MetalCooling => format!(
            "The metal is cooling, from {:.1} to {:.1}. Wait until it no longer does.",
            readings.metal_before.unwrap_or(readings.metal),
            readings.metal
        ),
    }
}
