//! Mixing and film thickness against published examples and tables.
#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

use benchcall::trade::film::{coverage, dry_film, paint_for, wet_film};
use benchcall::trade::mixing::{MixRatio, Thinner};
use benchcall::trade::quantity::{Area, Length, Share, Volume};

/// Source: a public calculator's example table for two-pack paint, waste included in the total. The
/// figures are exact.
#[test]
fn portions_agree_with_a_published_job_table() {
    // (ratio, total ml, base, hardener, reducer)
    for (ratio, total, base, hardener, thinner) in [
        ("4:1:1", 630.0, 420.0, 105.0, 105.0),
        ("4:1", 1100.0, 880.0, 220.0, 0.0),
        ("3:1:1", 1620.0, 972.0, 324.0, 324.0),
        // Another calculator's: 600 ml of 4:1:1, one part is 100 ml.
        ("4:1:1", 600.0, 400.0, 100.0, 100.0),
    ] {
        let ratio: MixRatio = ratio.parse().unwrap();
        let mix = ratio.for_total(Volume::millilitres(total)).unwrap().result;
        for (found, expected) in [
            (mix.base, base),
            (mix.hardener, hardener),
            (mix.thinner, thinner),
        ] {
            assert!(
                (found.in_millilitres() - expected).abs() < 1e-6,
                "{ratio}: {mix:?}"
            );
        }
    }
}

/// Source: a published mixing ratio chart, to 32 parts of base by volume; tenths.
#[test]
fn hardener_for_a_base_agrees_with_a_published_chart() {
    for (ratio, hardener, total) in [
        ("1:1", 32.0, 64.0),
        ("2:1", 16.0, 48.0),
        ("3:1", 10.7, 42.7),
        ("4:1", 8.0, 40.0),
        ("4:1:1", 8.0, 48.0),
        ("8:1:1", 4.0, 40.0),
    ] {
        let ratio: MixRatio = ratio.parse().unwrap();
        let mix = ratio.for_base(Volume::millilitres(32.0)).unwrap().result;
        let all = mix.base + mix.hardener + mix.thinner;
        assert!(
            (mix.hardener.in_millilitres() - hardener).abs() <= 0.05,
            "{ratio}"
        );
        assert!((all.in_millilitres() - total).abs() <= 0.05, "{ratio}");
    }
}

/// Source: a public calculator's definition: thinner = (base + hardener)·percent, "10 % thinner" after
/// 2:1 as painters write it. Worked here for 100 ml of base.
#[test]
fn thinner_of_the_mix_is_a_share_of_base_and_hardener() {
    let tenth = Thinner::OfMix(Share::percent(10.0));
    let mix = MixRatio::new(2, 1, tenth)
        .unwrap()
        .for_base(Volume::millilitres(100.0))
        .unwrap()
        .result;
    assert!((mix.hardener.in_millilitres() - 50.0).abs() < 1e-9);
    assert!((mix.thinner.in_millilitres() - 15.0).abs() < 1e-9);
}

/// Source: each row's own. Tolerance: half of the last figure printed.
#[test]
fn wet_films_agree_with_published_examples() {
    let none = Share::percent(0.0);
    // A coating maker's formulae: 100 µm dry at 62 % are 161 µm wet, and 161 wet are 100 dry.
    let wet = wet_film(Length::micrometres(100.0), Share::percent(62.0), none).unwrap();
    assert_eq!(wet.result.in_micrometres().round(), 161.0);
    let dry = dry_film(Length::micrometres(161.0), Share::percent(62.0), none).unwrap();
    assert_eq!(dry.result.in_micrometres().round(), 100.0);
    // An expert's answer, 2003: 1.5 mil dry at 42 % are 3.57 mil wet.
    let wet = wet_film(Length::thous(1.5), Share::percent(42.0), none).unwrap();
    assert!((wet.result.in_thous() - 3.57).abs() <= 0.005);
    // A paint maker's article, 2014: 4 mil wet at 50 % are 2 mil dry.
    let dry = dry_film(Length::thous(4.0), Share::percent(50.0), none).unwrap();
    assert!((dry.result.in_thous() - 2.0).abs() < 1e-9);
    // A maker of gauges: 10 % of reducer asks for 10 % more wet film.
    let thinned = wet_film(
        Length::thous(2.0),
        Share::percent(50.0),
        Share::percent(10.0),
    )
    .unwrap();
    assert!((thinned.result.in_thous() - 4.4).abs() < 1e-9);
}

/// Source: each row's own. Tolerance: the figure's rounding.
#[test]
fn coverage_agrees_with_published_examples() {
    let goes = |solids, micrometres| {
        coverage(Length::micrometres(micrometres), Share::percent(solids))
            .unwrap()
            .result
            .in_square_metres_per_litre()
    };
    // A coating maker's general information: 65 % at 125 µm, 5.2 m²/L.
    assert!((goes(65.0, 125.0) - 5.2).abs() <= 0.05);
    // A paint merchant: 28 % at 18 µm, 15.55 m²/L (cut off after two places).
    assert!((goes(28.0, 18.0) - 15.55).abs() <= 0.01);
    // The same coating maker: 65 % at 5.0 mil, 208.52 square feet per US gallon, reckoned with 1604
    // rounded from 1604.17.
    let area = Area::square_feet(208.52);
    let paint = paint_for(
        area,
        Length::thous(5.0),
        Share::percent(65.0),
        Share::percent(0.0),
    );
    assert!((paint.unwrap().result.in_us_gallons() - 1.0).abs() <= 2e-4);
    // A maker of gauges: 10 mil wet film, 160.417 square feet per US gallon.
    let area = Area::square_feet(160.417);
    let paint = paint_for(
        area,
        Length::thous(10.0),
        Share::percent(100.0),
        Share::percent(0.0),
    );
    assert!((paint.unwrap().result.in_us_gallons() - 1.0).abs() <= 5e-6);
}

/// Source: a yacht paint maker's table "theoretical spreading rate" in m²/L, by solids % and dry film
/// µm, from 100 % down to 45 %; printed to a tenth. Tolerance 0.05, and the last figure for values that
/// end on 5.
#[test]
fn coverage_agrees_with_a_makers_table() {
    let films = [
        25.0, 50.0, 75.0, 100.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 400.0,
    ];
    let table: [(f64, [f64; 12]); 12] = [
        (
            100.0,
            [
                40.0, 20.0, 13.3, 10.0, 8.0, 6.7, 5.7, 5.0, 4.4, 4.0, 3.3, 2.5,
            ],
        ),
        (
            95.0,
            [
                38.0, 19.0, 12.7, 9.5, 7.6, 6.3, 5.4, 4.8, 4.2, 3.8, 3.2, 2.4,
            ],
        ),
        (
            90.0,
            [
                36.0, 18.0, 12.0, 9.0, 7.2, 6.0, 5.1, 4.5, 4.0, 3.6, 3.0, 2.3,
            ],
        ),
        (
            85.0,
            [
                34.0, 17.0, 11.3, 8.5, 6.8, 5.7, 4.9, 4.3, 3.8, 3.4, 2.8, 2.1,
            ],
        ),
        (
            80.0,
            [
                32.0, 16.0, 10.7, 8.0, 6.4, 5.3, 4.6, 4.0, 3.6, 3.2, 2.7, 2.0,
            ],
        ),
        (
            75.0,
            [
                30.0, 15.0, 10.0, 7.5, 6.0, 5.0, 4.3, 3.8, 3.3, 3.0, 2.5, 1.9,
            ],
        ),
        (
            70.0,
            [28.0, 14.0, 9.3, 7.0, 5.6, 4.7, 4.0, 3.5, 3.1, 2.8, 2.3, 1.8],
        ),
        (
            65.0,
            [26.0, 13.0, 8.7, 6.5, 5.2, 4.3, 3.7, 3.3, 2.9, 2.6, 2.2, 1.6],
        ),
        (
            60.0,
            [24.0, 12.0, 8.0, 6.0, 4.8, 4.0, 3.4, 3.0, 2.7, 2.4, 2.0, 1.5],
        ),
        (
            55.0,
            [22.0, 11.0, 7.3, 5.5, 4.4, 3.7, 3.1, 2.8, 2.4, 2.2, 1.8, 1.4],
        ),
        (
            50.0,
            [20.0, 10.0, 6.7, 5.0, 4.0, 3.3, 2.9, 2.5, 2.2, 2.0, 1.7, 1.3],
        ),
        (
            45.0,
            [18.0, 9.0, 6.0, 4.5, 3.6, 3.0, 2.6, 2.3, 2.0, 1.8, 1.5, 1.1],
        ),
    ];
    for (solids, row) in table {
        for (film, printed) in films.into_iter().zip(row) {
            let found = coverage(Length::micrometres(film), Share::percent(solids))
                .unwrap()
                .result
                .in_square_metres_per_litre();
            assert!(
                (found - printed).abs() <= 0.05 + 1e-9,
                "{solids} %, {film} µm: {found}, not {printed}"
            );
        }
    }
}
