//! Letter height and contrast against published values and two libraries; published ratios that are
//! wrong are contradicted.
#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

use benchcall::trade::contrast::{Colour, ContrastLevel, contrast};
use benchcall::trade::legibility::{Apparent, letter_height};
use benchcall::trade::quantity::Length;

fn ratio(one: &str, other: &str) -> f64 {
    let colour = |text: &str| text.parse::<Colour>().unwrap();
    contrast(colour(one), colour(other)).result.to_one()
}

/// Source: NUREG-0700 1.3.1-4, "height = 6.283·D·MA/21600", for its 16, 20 and 22 minutes of arc.
/// Tolerance 0.02 %: its 6.283 is rounded.
#[test]
fn letter_heights_agree_with_the_published_formula() {
    for distance in [0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0] {
        for (apparent, minutes) in [
            (Apparent::Least, 16.0),
            (Apparent::Preferred, 20.0),
            (Apparent::Large, 22.0),
        ] {
            let height = letter_height(Length::metres(distance), apparent).unwrap();
            let published = 6283.0 * distance * minutes / 21_600.0;
            let off = height.result.in_millimetres() / published - 1.0;
            assert!(off.abs() <= 2e-4, "{distance} m, {minutes}′: {off}");
        }
    }
}

/// Source: each row's own. Tolerance: the figure's rounding.
#[test]
fn letter_heights_agree_with_published_rules() {
    let height = |distance, apparent| letter_height(distance, apparent).unwrap().result;
    let of_distance = |apparent| height(Length::metres(1.0), apparent).in_metres();
    // NUREG-0700 11.4.1.5-1: 20 minutes, the distance times 0.006.
    assert!((of_distance(Apparent::Preferred) - 0.006).abs() <= 0.0005);
    // An aviation authority's course on displays: as a rough estimate 1/200 of the distance, from 20
    // minutes down to 16 to be avoided.
    assert!(of_distance(Apparent::Least) < 1.0 / 200.0);
    assert!(of_distance(Apparent::Preferred) > 1.0 / 200.0);
    // An eye chart's letter of 5 minutes is 9 mm at 6 m (a lecture), 0.35 in at 20 ft (a sign makers'
    // guide): a quarter of one of 20 minutes.
    let at_6_m = height(Length::metres(6.0), Apparent::Preferred).in_millimetres() / 4.0;
    assert_eq!(at_6_m.round(), 9.0);
    let at_20_ft = height(Length::feet(20.0), Apparent::Preferred).in_inches() / 4.0;
    assert!((at_20_ft - 0.35).abs() <= 0.005);
}

/// Source: coloraide and wcag-contrast-ratio, see `published/contrast.py`. Tolerance 0.001, by which
/// the two libraries differ.
#[test]
fn contrast_agrees_with_two_libraries() {
    let text = include_str!("published/contrast.csv");
    let mut count = 0;
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        let row: Vec<&str> = line.split(',').collect();
        for expected in &row[2..] {
            let expected: f64 = expected.parse().unwrap();
            let found = ratio(row[0], row[1]);
            assert!((found - expected).abs() <= 0.001, "{line}: {found}");
            count += 1;
        }
    }
    assert_eq!(count, 392);
}

/// Source: WCAG 2.2 and pages on it, each row as printed there. Tolerance: half of the last figure
/// printed.
#[test]
fn contrast_agrees_with_published_ratios() {
    for (one, other, printed, half) in [
        ("#000000", "#ffffff", 21.0, 0.5),
        ("#ffffff", "#ffffff", 1.0, 0.5),
        ("#767676", "#ffffff", 4.54, 0.005),
        ("#999999", "#ffffff", 2.85, 0.005),
        ("#595959", "#ffffff", 7.0, 0.05),
        ("#0000ff", "#ffffff", 8.59, 0.005),
        ("#0000ff", "#ff0000", 2.15, 0.005),
        ("#ffff00", "#ffffff", 1.07, 0.005),
        ("#94a3b8", "#ffffff", 2.6, 0.05),
    ] {
        let found = ratio(one, other);
        assert!(
            (found - printed).abs() <= half,
            "{one} on {other}: {found}, not {printed}"
        );
    }
}

/// Source: WCAG 2.2, success criteria 1.4.3 and 1.4.6. A ratio is not rounded up: #777777 on white,
/// 4.478, fails 4.5.
#[test]
fn levels_are_the_published_ones() {
    let level = |one: &str, other: &str| {
        let colour = |text: &str| text.parse::<Colour>().unwrap();
        contrast(colour(one), colour(other)).result.level()
    };
    assert_eq!(level("#595959", "#ffffff"), ContrastLevel::Enhanced);
    assert_eq!(level("#767676", "#ffffff"), ContrastLevel::Sufficient);
    assert_eq!(level("#777777", "#ffffff"), ContrastLevel::LargeOnly);
    assert_eq!(level("#999999", "#ffffff"), ContrastLevel::Insufficient);
}

/// Ratios that public pages print and that are wrong. The two libraries of `published/contrast.py` give
/// the same as the program for #949494 and white, 3.03.
#[test]
fn wrong_published_ratios_are_contradicted() {
    for (one, other, printed, truth) in [
        // A glossary's mauve.
        ("#e0b0ff", "#ffffff", 1.85, 1.776),
        // A wiki's coral on black.
        ("#ff7f50", "#000000", 4.66, 8.404),
        // A blog's table of common ratios, which says that 4.95 fails for type of ordinary size.
        ("#707070", "#ffffff", 3.12, 4.952),
        ("#949494", "#ffffff", 2.44, 3.033),
        ("#333333", "#cccccc", 6.64, 7.868),
        // A site's specification.
        ("#1a1a1a", "#ffffff", 16.1, 17.404),
        ("#0b5fff", "#ffffff", 6.4, 5.128),
    ] {
        let found = ratio(one, other);
        assert!((found - printed).abs() > 0.05, "{one} on {other}");
        assert!((found - truth).abs() <= 0.001, "{one} on {other}: {found}");
    }
}
