//! When a reading is believed, digit by digit.

use super::*;

#[test]
fn a_reading_needs_its_full_count_and_a_margin() {
    for (said, margin, expected) in [
        ("one one zero", 5.0, vec![(1_500, "110", true)]),
        ("one one zero", 2.0, vec![(1_700, "110", false)]),
        ("one one", 5.0, vec![]),
        ("one one zero nine", 5.0, vec![]),
    ] {
        check(
            Scripted {
                shows: vec![(1_000, said), (1_740, "")],
                again: vec![(0, said)],
                margin,
                ..Scripted::default()
            },
            &expected,
        );
    }
}

#[test]
fn a_reading_goes_on_after_a_pause_between_two_digits() {
    let whole = vec![(2_500, "110", true)];
    for (next, expected) in [(2_000, whole), (3_000, vec![])] {
        let scripted = |first: &'static str, last: &'static str| Scripted {
            shows: vec![
                (1_000, first),
                (1_700, last),
                (1_710, ""),
                (next, "zero"),
                (next + 510, "zero."),
                (next + 520, ""),
            ],
            again: vec![(0, "one one"), (next, "one one zero")],
            // Without its first part it is too short, with the noise that is put around it.
            needs: 3_080,
            margin: 5.0,
            ..Scripted::default()
        };
        check(scripted("one one", "one one."), &expected);
        check(scripted("one one", ""), &expected);
        // A digit may be shown as a word that is none, which sticks.
        check(scripted("[unk]", "[unk]"), &expected);
    }
}

#[test]
fn what_takes_too_long_for_a_reading_is_none() {
    let pair = DigitCount {
        whole: 2,
        ..DigitCount::default()
    };
    let vocabulary = Vocabulary {
        digits: Some(pair),
        ..vocabulary()
    };
    for (begun, expected) in [(200, vec![(3_600, "10", true)]), (90, vec![])] {
        let decoder = Scripted {
            shows: vec![
                (begun, "one"),
                (2_800, "one."),
                (2_810, ""),
                (3_100, "zero"),
                (3_610, "zero."),
                (3_620, ""),
            ],
            again: vec![(0, "one"), (3_100, "one zero")],
            needs: 3_080,
            margin: 5.0,
            ..Scripted::default()
        };
        check_with(vocabulary.clone(), decoder, &expected);
    }
}

#[test]
fn what_was_still_being_said_when_a_reading_ended_is_looked_at_a_little_later() {
    let scripted = |at| Scripted {
        shows: vec![(1_000, "one one"), (1_300, "one one."), (1_310, "")],
        again: vec![(0, "one one"), (at, "one one zero")],
        margin: 5.0,
        ..Scripted::default()
    };
    check(scripted(1_400), &[(1_550, "110", true)]);
    check(scripted(1_600), &[(1_900, "110", true)]);
    check(scripted(2_000), &[]);
}

#[test]
fn a_reading_of_which_digits_are_missing_is_asked_back_where_the_opinion_is_one_of_its_alternatives()
 {
    for (other, thinks, lead, expected) in [
        (
            "one one zero",
            "one one zero",
            1.5,
            vec![(1_900, "110", false)],
        ),
        (
            "one [unk] one zero",
            "one one zero",
            9.0,
            vec![(1_900, "110", false)],
        ),
        ("one one zero", "one one zero", 1.4, vec![]),
        ("one one zero", "one one nine", 9.0, vec![]),
        ("one one zero nine", "one one zero nine", 9.0, vec![]),
    ] {
        let shows = vec![(1_000, "one one"), (1_300, "one one."), (1_310, "")];
        let decoder = Scripted {
            again: vec![(0, "one one")],
            other,
            ..spoken(shows, thinks, 9.0, lead)
        };
        check(decoder, &expected);
    }
}

#[test]
fn while_a_reading_is_wanted_nothing_is_believed_by_an_opinion_alone() {
    let decoder = check(spoken(vec![], "one one zero", 20.0, 20.0), &[]);
    assert!(decoder.asked_at.is_empty());
}

#[test]
fn an_opinion_confirms_a_reading_in_doubt_and_asks_for_another_where_it_is_rather_that() {
    for (margin, thinks, lead, expected) in [
        (2.0, "one one zero", 6.0, (1_500, "110", true)),
        (2.0, "one one zero", 1.5, (1_700, "110", false)),
        // Both lead by little.
        (1.0, "one one zero", 3.5, (1_700, "110", false)),
        (1.0, "one one zero", 5.5, (1_500, "110", true)),
        (3.9, "one one zero", 2.5, (1_700, "110", false)),
        (0.0, "one one zero", 9.0, (1_700, "110", false)),
        (5.0, "one one zero", 0.1, (1_500, "110", true)),
        (5.0, "one one nine", 6.0, (1_700, "119", false)),
        (5.0, "one one nine", 0.5, (1_700, "110", false)),
        // What is none keeps nothing back.
        (5.0, "say again", 6.0, (1_500, "110", true)),
    ] {
        let shows = vec![(1_000, "one one zero"), (1_740, "")];
        let decoder = Scripted {
            again: vec![(0, "one one zero")],
            margin,
            ..spoken(shows, thinks, 9.0, lead)
        };
        let decoder = check(decoder, &[expected]);
        assert_eq!(decoder.looked_at, ["one one zero"]);
    }
}

#[test]
fn no_opinion_makes_an_eight_sure_that_may_be_a_six() {
    // Sound of 1 kHz has no s.
    let shows = vec![(1_000, "one eight zero"), (1_740, "")];
    let decoder = Scripted {
        again: vec![(0, "one eight zero")],
        margin: 2.0,
        ..spoken(shows, "one eight zero", 9.0, 6.0)
    };
    check(decoder, &[(1_700, "180", false)]);
}

#[test]
fn a_phrase_that_may_be_a_reading_is_asked_back_where_one_is_wanted() {
    // A score that is thin, and one that is clear by itself.
    for closed in [0.0, 20.0] {
        for (thinks, lead, sure) in [
            ("one one zero", 0.5, false),
            ("work complete", 1.9, false),
            ("work complete", 2.0, true),
        ] {
            let shows = vec![(1_000, "work complete"), (1_700, "")];
            let mut decoder = Scripted {
                closed,
                ..spoken(shows, thinks, 6.0, lead)
            };
            let heard = run(&mut decoder);
            assert_eq!(heard.len(), 1, "{thinks}");
            assert_eq!(
                (heard[0].1.text.as_str(), heard[0].1.sure),
                ("work complete", sure),
                "{closed} {lead}"
            );
            assert_eq!(decoder.looked_at, ["work complete"]);
        }
    }
}

#[test]
fn of_numbers_in_one_no_opinion_is_asked_for() {
    let digits = DigitCount {
        whole: 3,
        cardinals: true,
        ..DigitCount::default()
    };
    let vocabulary = Vocabulary {
        digits: Some(digits),
        ..vocabulary()
    };
    let shows = vec![(1_000, "one one zero"), (1_740, "")];
    let decoder = Scripted {
        again: vec![(0, "one one zero")],
        margin: 5.0,
        ..spoken(shows, "one one nine", 9.0, 9.0)
    };
    let decoder = check_with(vocabulary, decoder, &[(1_500, "110", true)]);
    assert!(decoder.asked_at.is_empty());
}
