//! Dew point and humidity, from what a workshop's thermometers and hygrometers show.

use super::quantity::{Humidity, Temperature};
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

/// Returns the temperature at which air of this temperature and humidity lays dew, over water.
///
/// Range: air −45 °C to 60 °C, humidity 1 % to 100 %. Below 0 °C it is the dew point of supercooled
/// water, not the frost point. Result in °C, within 0.04 °C of psychrolib 2.5.0 above 0 °C.
///
/// # Errors
/// [`OutOfRange`] outside the range.
pub fn dew_point(air: Temperature, humidity: Humidity) -> Result<Worked<Temperature>, OutOfRange> {
    hold("Air temperature", air, LEAST_AIR, MOST_AIR)?;
    hold("Relative humidity", humidity, LEAST_HUMIDITY, MOST_HUMIDITY)?;
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

pub(in crate::trade) fn dew_celsius(air: f64, percent: f64) -> f64 {
    let gamma = (percent / 100.0).ln() + magnus(air);
    MAGNUS_B * gamma / (MAGNUS_A - gamma)
}

/// Returns the air temperature at which moisture with this dew point makes this humidity.
pub(in crate::trade) fn air_celsius_for(dew: f64, percent: f64) -> f64 {
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
    let vapour = saturated(w) - 6.53e-4 * (1.0 + 9.44e-4 * w) * SEA_LEVEL_HPA * (t - w);
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn refusals_name_the_range() {
        let said = |air: f64, humidity: f64| {
            let air = Temperature::celsius(air);
            dew_point(air, Humidity::percent(humidity))
                .unwrap_err()
                .to_string()
        };
        assert_eq!(
            said(70.0, 50.0),
            "Air temperature must be from -45 °C to 60 °C, not 70 °C: try 60 °C"
        );
        assert_eq!(
            said(20.0, 0.0),
            "Relative humidity must be from 1 % to 100 %, not 0 %: try 1 %"
        );
    }

    proptest! {
        #[test]
        fn air_warmed_from_its_dew_point_has_the_humidity(air in -10.0..40.0, percent in 5.0..100.0) {
            let back = air_celsius_for(dew_celsius(air, percent), percent);
            prop_assert!((back - air).abs() < 1e-6);
        }

        #[test]
        fn dew_is_never_warmer_than_the_air(air in -45.0..60.0, percent in 1.0..100.0) {
            prop_assert!(dew_celsius(air, percent) <= air + 1e-9);
        }

        #[test]
        fn no_number_panics(air: f64, humidity: f64, wet: f64) {
            let air = Temperature::celsius(air);
            let _ = dew_point(air, Humidity::percent(humidity));
            let _ = humidity_by_wet_bulb(air, Temperature::celsius(wet));
        }
    }
}
