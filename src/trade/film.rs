//! Thickness of the paint film, wet and dry, and how far the paint goes.

use super::quantity::{Area, Coverage, Length, Share, Volume};
use super::range::{OutOfRange, hold};
use super::worked::{Worked, neat};

const SOURCE: &str = "\
    wet film = dry film·(1 + thinner)/solids by volume (practice of coating inspection; worked \
    examples of coating makers)";
const COVERAGE_SOURCE: &str =
    "coverage = 10·solids %/dry film in µm (practice of coating inspection; makers' tables)";

const LEAST_FILM: Length = Length::micrometres(1.0);
const MOST_FILM: Length = Length::millimetres(10.0);
const LEAST_SOLIDS: Share = Share::percent(1.0);
const ALL: Share = Share::percent(100.0);
const NOTHING: Share = Share::percent(0.0);

/// Returns the wet film that dries to `dry`.
///
/// Range: `dry` 1 µm to 10 mm; `solids` by volume, of the unthinned paint, 1 % to 100 %; `thinner` 0 %
/// to 100 % of the paint.
///
/// # Errors
/// [`OutOfRange`] outside the range.
pub fn wet_film(dry: Length, solids: Share, thinner: Share) -> Result<Worked<Length>, OutOfRange> {
    hold("Dry film", dry, LEAST_FILM, MOST_FILM)?;
    let stretch = stretch(solids, thinner)?;
    let wet = dry * stretch;
    let formula = format!(
        "{} µm·(1 + {})/{} = {} µm",
        neat(dry.in_micrometres()),
        neat(thinner.in_ones()),
        neat(solids.in_ones()),
        neat(wet.in_micrometres()),
    );
    Ok(Worked::new(wet, formula, SOURCE).caution("Read the comb at once, while the film is wet."))
}

/// Returns the dry film that a wet film of `wet` leaves.
///
/// Range: `wet` 1 µm to 10 mm; shares as for [`wet_film`].
///
/// # Errors
/// [`OutOfRange`] outside the range.
pub fn dry_film(wet: Length, solids: Share, thinner: Share) -> Result<Worked<Length>, OutOfRange> {
    hold("Wet film", wet, LEAST_FILM, MOST_FILM)?;
    let dry = wet / stretch(solids, thinner)?;
    let formula = format!(
        "{} µm·{}/(1 + {}) = {} µm",
        neat(wet.in_micrometres()),
        neat(solids.in_ones()),
        neat(thinner.in_ones()),
        neat(dry.in_micrometres()),
    );
    Ok(Worked::new(dry, formula, SOURCE))
}

fn stretch(solids: Share, thinner: Share) -> Result<f64, OutOfRange> {
    hold("Solids by volume", solids, LEAST_SOLIDS, ALL)?;
    hold("Thinner", thinner, NOTHING, ALL)?;
    Ok((1.0 + thinner.in_ones()) / solids.in_ones())
}

/// Returns how far a litre of unthinned paint goes on a smooth surface without loss.
///
/// Range: `dry` 1 µm to 10 mm, `solids` by volume 1 % to 100 %.
///
/// # Errors
/// [`OutOfRange`] outside the range.
pub fn coverage(dry: Length, solids: Share) -> Result<Worked<Coverage>, OutOfRange> {
    hold("Dry film", dry, LEAST_FILM, MOST_FILM)?;
    hold("Solids by volume", solids, LEAST_SOLIDS, ALL)?;
    let coverage =
        Coverage::square_metres_per_litre(10.0 * solids.in_percent() / dry.in_micrometres());
    let formula = format!(
        "10·{}/{} = {} m²/L",
        neat(solids.in_percent()),
        neat(dry.in_micrometres()),
        neat(coverage.in_square_metres_per_litre()),
    );
    Ok(Worked::new(coverage, formula, COVERAGE_SOURCE))
}

/// Returns the unthinned paint for one coat on `area`, with the share `loss` of it lost in the gun, the
/// pot and the air.
///
/// Range: `area` 1 cm² to 1000 m², `dry` and `solids` as for [`coverage`], `loss` 0 % to 90 %.
///
/// # Errors
/// [`OutOfRange`] outside the range.
pub fn paint_for(
    area: Area,
    dry: Length,
    solids: Share,
    loss: Share,
) -> Result<Worked<Volume>, OutOfRange> {
    let (least, most) = (Area::square_centimetres(1.0), Area::square_metres(1000.0));
    hold("The area", area, least, most)?;
    hold("Loss", loss, NOTHING, Share::percent(90.0))?;
    let coverage = coverage(dry, solids)?.result.in_square_metres_per_litre();
    let paint = Volume::litres(area.in_square_metres() / coverage / (1.0 - loss.in_ones()));
    let formula = format!(
        "{} m²/{} m²/L/(1 − {}) = {} L",
        neat(area.in_square_metres()),
        neat(coverage),
        neat(loss.in_ones()),
        neat(paint.in_litres()),
    );
    Ok(Worked::new(paint, formula, COVERAGE_SOURCE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn loss_takes_more_paint() {
        let film = Length::micrometres(60.0);
        let paint = |loss| {
            let area = Area::square_metres(10.0);
            let paint = paint_for(area, film, Share::percent(50.0), Share::percent(loss));
            paint.unwrap().result.in_litres()
        };
        assert!((paint(0.0) - 1.2).abs() < 1e-9);
        assert!((paint(40.0) - 2.0).abs() < 1e-9);
        let all_lost = paint_for(Area::square_metres(1.0), film, Share::percent(50.0), ALL);
        assert!(all_lost.is_err());
    }

    proptest! {
        #[test]
        fn wet_and_dry_undo_each_other(dry in 1.0..1000.0, solids in 10.0..100.0, thinner in 0.0..50.0) {
            let (solids, thinner) = (Share::percent(solids), Share::percent(thinner));
            let film = Length::micrometres(dry);
            let wet = wet_film(film, solids, thinner).unwrap().result;
            if let Ok(back) = dry_film(wet, solids, thinner) {
                prop_assert!((back.result / film - 1.0).abs() < 1e-9);
            }
        }

        #[test]
        fn no_number_panics(film: f64, solids: f64, thinner: f64, area: f64) {
            let (film, solids) = (Length::micrometres(film), Share::percent(solids));
            let thinner = Share::percent(thinner);
            let _ = wet_film(film, solids, thinner);
            let _ = dry_film(film, solids, thinner);
            let _ = paint_for(Area::square_metres(area), film, solids, thinner);
        }
    }
}
