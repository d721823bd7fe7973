//! Cure, pot life and recoat windows against published values and a library of chemical kinetics.
#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

use benchcall::trade::cure::{CureError, CureSheet, SpeedLaw, Spell};
use benchcall::trade::quantity::{ActivationEnergy, Temperature, TimeSpan};
use benchcall::trade::recoat::{Recoat, RecoatColumn, RecoatTable, recoat};

fn sheet(reference: f64, law: SpeedLaw) -> CureSheet {
    let (least, most) = (Temperature::celsius(-20.0), Temperature::celsius(80.0));
    CureSheet::new(Temperature::celsius(reference), law, least, most).unwrap()
}

fn spell(hours: f64, celsius: f64) -> Spell {
    Spell {
        lasted: TimeSpan::hours(hours),
        at: Temperature::celsius(celsius),
    }
}

/// Source: each row's own. Tolerance: the figure's rounding.
#[test]
fn pot_life_halves_and_doubles_as_published() {
    // (hours on the sheet, at °C, hours, at °C, source)
    let published = [
        (
            4.0,
            23.0,
            8.0,
            13.0,
            "a coating maker's article on pot life",
        ),
        (4.0, 23.0, 2.0, 33.0, "the same"),
        (4.0, 23.0, 1.0, 43.0, "the same"),
        (
            2.0,
            20.0,
            1.0,
            30.0,
            "a paint maker's hints on two-pack paint, 2015",
        ),
        (2.0, 20.0, 0.5, 40.0, "the same"),
        (
            4.0,
            21.0,
            2.0,
            31.0,
            "UFGS-09971 3.7.1.3, epoxy: halved by 10 °C up",
        ),
        (
            4.0,
            21.0,
            8.0,
            11.0,
            "UFGS-09971 3.7.1.3, epoxy: doubled by 10 °C down",
        ),
        (
            2.0,
            21.0,
            1.0,
            31.0,
            "UFGS-09971 3.7.1.3, polyurethane topcoat",
        ),
        (
            2.0,
            21.0,
            4.0,
            11.0,
            "UFGS-09971 3.7.1.3, polyurethane topcoat",
        ),
        (
            3.0,
            21.0,
            1.5,
            31.0,
            "UFGS-09970, fluoropolyurethane topcoat",
        ),
    ];
    for (on_sheet, reference, expected, at, source) in published {
        let sheet = sheet(reference, SpeedLaw::TwicePerTenDegrees);
        let found = sheet
            .pot_life(TimeSpan::hours(on_sheet), Temperature::celsius(at))
            .unwrap()
            .result
            .in_hours();
        assert!(
            (found - expected).abs() < 1e-9,
            "{at} °C: {found} h ({source})"
        );
    }
}

/// Source: each row's own.
#[test]
fn times_scale_with_temperature_as_published() {
    let twice = |on_sheet, reference, at| {
        sheet(reference, SpeedLaw::TwicePerTenDegrees)
            .time_at(on_sheet, Temperature::celsius(at))
            .unwrap()
            .result
    };
    // A maker of thermosetting plastics: full hardness after 7 days at room temperature, half at 30 °C.
    assert!((twice(TimeSpan::days(7.0), 20.0, 30.0).in_days() - 3.5).abs() < 1e-9);
    // A testing laboratory's stability table, Q10 = 2: a year at 23 °C is 79 days at 45 °C (whole days,
    // reckoned with a factor rounded to 4.6).
    let days = twice(TimeSpan::days(365.0), 23.0, 45.0).in_days();
    assert!((days - 79.0).abs() <= 0.5, "{days}");
    // The same: 12 months are 2.6 months.
    assert!((days / 365.0 * 12.0 - 2.6).abs() <= 0.05);
    // A coating maker's guide: cure at 10 °C takes twice as long as at 20 °C, at 30 °C half.
    assert!((twice(TimeSpan::hours(16.0), 20.0, 10.0).in_hours() - 32.0).abs() < 1e-9);
    assert!((twice(TimeSpan::hours(16.0), 20.0, 30.0).in_hours() - 8.0).abs() < 1e-9);
}

/// Source: Cantera, see `published/cure.py`. Tolerance 1 part in 100 000: the file has six places.
#[test]
fn arrhenius_agrees_with_a_library() {
    let text = include_str!("published/cure.csv");
    let mut count = 0;
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        let row: Vec<f64> = line.split(',').map(|n| n.parse().unwrap()).collect();
        let energy = ActivationEnergy::kilojoules_per_mole(row[0]);
        let sheet = sheet(20.0, SpeedLaw::Activation(energy));
        let time = sheet
            .time_at(TimeSpan::hours(1.0), Temperature::celsius(row[1]))
            .unwrap();
        let speed = 1.0 / time.result.in_hours();
        assert!((speed / row[2] - 1.0).abs() <= 1e-5, "{line}: {speed}");
        let age = sheet.equivalent_age(&[spell(1.0, row[1])]).unwrap();
        assert!(
            (age.result.in_hours() / row[2] - 1.0).abs() <= 1e-5,
            "{line}"
        );
        count += 1;
    }
    assert_eq!(count, 84);
}

/// Source: EN 1992-1-1 equation B.10 (CEB-FIP Model Code 1990), the temperature-adjusted age of
/// concrete: t = Σ Δt·exp(13.65 − 4000/(273 + T)). The same law with an activation energy of 4000 K·R =
/// 33.26 kJ/mol. Tolerance 0.4 %: its 13.65 and 273 are rounded.
#[test]
fn equivalent_age_agrees_with_the_concrete_code() {
    let by_code = |spells: &[Spell]| -> f64 {
        let terms = spells.iter().map(|spell| {
            let speed = 13.65 - 4000.0 / (273.0 + spell.at.in_celsius());
            spell.lasted.in_hours() * speed.exp()
        });
        terms.sum()
    };
    let energy = ActivationEnergy::kilojoules_per_mole(4000.0 * 8.314e-3);
    let sheet = sheet(20.0, SpeedLaw::Activation(energy));
    for spells in [
        vec![spell(24.0, 5.0)],
        vec![spell(24.0, 10.0)],
        vec![spell(24.0, 30.0)],
        vec![spell(24.0, 40.0)],
        vec![spell(4.0, 15.0), spell(10.0, 10.0), spell(8.0, 20.0)],
        vec![
            spell(6.0, 12.0),
            spell(6.0, 25.0),
            spell(12.0, 8.0),
            spell(3.0, 35.0),
        ],
    ] {
        let found = sheet.equivalent_age(&spells).unwrap().result.in_hours();
        let expected = by_code(&spells);
        assert!(
            (found / expected - 1.0).abs() <= 0.004,
            "{found}, not {expected}"
        );
    }
}

/// Source: UFGS-09971 table "Recoat windows", polyurethane over polyurethane, and the table's row "tack
/// coat recoat window": hours, by the highest surface temperature in °C sustained for an hour.
const COLUMNS: [(f64, f64); 6] = [
    (16.0, 21.0),
    (22.0, 27.0),
    (28.0, 32.0),
    (33.0, 38.0),
    (39.0, 43.0),
    (44.0, 49.0),
];
const POLYURETHANE: [(f64, f64); 6] = [
    (8.0, 48.0),
    (6.0, 48.0),
    (4.0, 36.0),
    (3.0, 24.0),
    (2.0, 12.0),
    (1.0, 2.0),
];
const TACK_COAT: [(f64, f64); 6] = [
    (24.0, 96.0),
    (24.0, 72.0),
    (16.0, 48.0),
    (12.0, 36.0),
    (10.0, 24.0),
    (8.0, 16.0),
];

fn table(windows: [(f64, f64); 6]) -> RecoatTable {
    let columns = COLUMNS
        .iter()
        .zip(windows)
        .map(|(&(least, most), window)| RecoatColumn {
            least: Temperature::celsius(least),
            most: Temperature::celsius(most),
            earliest: TimeSpan::hours(window.0),
            latest: TimeSpan::hours(window.1),
        });
    RecoatTable::new(columns.collect()).unwrap()
}

#[test]
fn the_recoat_window_is_the_published_one() {
    for windows in [POLYURETHANE, TACK_COAT] {
        let table = table(windows);
        for ((least, most), (earliest, latest)) in COLUMNS.into_iter().zip(windows) {
            for at in [least, most] {
                let column = table.column(Temperature::celsius(at)).unwrap();
                assert_eq!(column.earliest.in_hours(), earliest, "{at} °C");
                assert_eq!(column.latest.in_hours(), latest, "{at} °C");
            }
        }
        for outside in [15.9, 49.1] {
            assert!(matches!(
                table.column(Temperature::celsius(outside)),
                Err(CureError::NotOnSheet { .. })
            ));
        }
    }
}

/// Source: UFGS-09971: "choose recoat window based on the highest surface temperature that was sustained
/// for one or more hours between coats".
#[test]
fn the_hottest_sustained_spell_chooses_the_published_latest_time() {
    let table = table(POLYURETHANE);
    let sheet = CureSheet::new(
        Temperature::celsius(21.0),
        SpeedLaw::TwicePerTenDegrees,
        Temperature::celsius(16.0),
        Temperature::celsius(49.0),
    )
    .unwrap();
    let state = |spells: &[Spell]| recoat(&sheet, &table, spells).unwrap().result;
    // Thirty hours at 20 °C lie inside 8 to 48.
    assert!(matches!(state(&[spell(30.0, 20.0)]), Recoat::Open { .. }));
    // An hour at 35 °C among them closes the window at 24.
    let with_heat = [spell(14.0, 20.0), spell(1.0, 35.0), spell(15.0, 20.0)];
    assert!(matches!(state(&with_heat), Recoat::Missed { by } if by.in_hours() == 6.0));
    // Half an hour at 35 °C does not.
    let flash = [spell(14.0, 20.0), spell(0.5, 35.0), spell(15.5, 20.0)];
    assert!(matches!(state(&flash), Recoat::Open { .. }));
}
