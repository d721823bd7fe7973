//! Spoken numbers against the wordings of a library that has nothing to do with us;
//! `tests/published/spoken_numbers.py` writes them.

#![allow(clippy::unwrap_used, clippy::expect_used)]

#[macro_use]
#[path = "published/count.rs"]
mod count;

use benchcall::hear::{DigitCount, cardinals, numbers};
use benchcall::run::Figure;

/// Number, its wording as one, and digit by digit.
fn published() -> Vec<(String, String, String)> {
    let rows: Vec<_> = include_str!("published/spoken_numbers.csv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| {
            let fields: Vec<&str> = line.split(',').collect();
            let [number, worded, digits] = fields[..] else {
                panic!("{line}");
            };
            (number.into(), worded.into(), digits.into())
        })
        .collect();
    assert_eq!(rows.len(), 1_000 + 999);
    rows
}

fn count_of(number: &str) -> DigitCount {
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    DigitCount {
        whole: whole.len() as u8,
        decimals: decimals.len() as u8,
        cardinals: true,
    }
}

#[test]
fn digit_by_digit_both_ways() {
    for (number, _, digits) in published() {
        assert_eq!(numbers::digits(&digits).as_deref(), Some(number.as_str()));
        assert_eq!(numbers::words(&number).as_deref(), Some(digits.as_str()));
        let figure: Figure = number.parse().unwrap();
        assert_eq!(figure.spoken(), digits);
        let count = count_of(&number);
        assert_eq!(
            cardinals::reading(&digits, count).as_deref(),
            Some(number.as_str())
        );
    }
}

#[test]
fn cardinals_are_the_number_that_was_worded() {
    for (number, worded, _) in published() {
        let count = count_of(&number);
        // 20.0 is worded "twenty": what is not said is not filled in.
        let complete = !number.ends_with(".0");
        for worded in [worded.clone(), worded.replace(" and ", " ")] {
            let read = cardinals::reading(&worded, count);
            let wanted = complete.then_some(number.as_str());
            assert_eq!(read.as_deref(), wanted, "{worded}");
        }
    }
}

#[test]
fn a_cardinal_shorter_than_the_reading_is_filled_with_zeros() {
    for (number, worded, _) in published() {
        let own = count_of(&number);
        let wide = DigitCount { whole: 3, ..own };
        let read = cardinals::reading(&worded, wide);
        if own.whole == 1 || (own.decimals > 0 && number.ends_with(".0")) {
            // A lone digit is one of three, the others lost.
            assert_eq!(read, None, "{worded}");
        } else {
            let zeros = "0".repeat(usize::from(3 - own.whole));
            assert_eq!(read, Some(format!("{zeros}{number}")), "{worded}");
        }
    }
}

#[test]
fn no_wording_is_taken_for_another_number() {
    let rows = published();
    for whole in 1..=3 {
        for decimals in 0..=1 {
            let count = DigitCount {
                whole,
                decimals,
                cardinals: true,
            };
            for (number, worded, _) in &rows {
                let Some(read) = cardinals::reading(worded, count) else {
                    continue;
                };
                let (read, number): (f64, f64) = (read.parse().unwrap(), number.parse().unwrap());
                assert_eq!(read, number, "{worded}");
            }
        }
    }
}
