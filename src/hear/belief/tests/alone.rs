//! What is said inside of more, or said by itself.

use super::*;

#[test]
fn a_phrase_inside_other_words_is_nothing() {
    for text in ["work complete [unk]", "work complete next", "[unk] work"] {
        check(
            Scripted {
                shows: vec![(1_000, text)],
                again: vec![(0, "work complete")],
                ..Scripted::default()
            },
            &[],
        );
    }
}

#[test]
fn a_phrase_after_other_words_is_asked_back_and_after_a_bang_believed() {
    for (talk, expected) in [
        (true, (1_650, "work complete", false)),
        (false, (1_500, "work complete", true)),
    ] {
        check(
            Scripted {
                shows: vec![(1_000, "[unk] work complete"), (1_900, "")],
                again: vec![(0, "work complete")],
                talk,
                ..Scripted::default()
            },
            &[expected],
        );
    }
}

#[test]
fn a_phrase_right_after_words_as_loud_is_asked_back() {
    // What is decoded again begins 0.9 s before it was seen, and its words with it.
    for (sound, talk, sure) in [
        ((600, 1_000, 1_000), true, false),
        ((600, 500, 1_000), true, false),
        ((600, 1_000, 1_000), false, true),
        ((600, 300, 1_000), true, true),
        ((600, 0, 1_000), true, true),
    ] {
        let scripted = |text: &'static str| Scripted {
            shows: vec![(1_500, text), (2_300, "")],
            again: vec![(0, text)],
            sound,
            talk,
            ..Scripted::default()
        };
        let heard = run(&mut scripted("work complete"));
        assert_eq!(heard.len(), 1, "{sound:?}");
        assert_eq!(heard[0].1.sure, sure, "{sound:?} {talk}");
        // What only says something is believed all the same.
        assert!(run(&mut scripted("say again"))[0].1.sure);
        // A stop is obeyed from whoever gives it, also in the middle of a sentence.
        assert!(run(&mut scripted("stop stop"))[0].1.sure);
    }
}

#[test]
fn what_another_stream_shows_at_the_end_of_more_is_asked_back_unless_that_is_softer_or_it_is_a_stop()
 {
    const LOUD: i16 = 1_000;
    const SOFT: i16 = 300;
    for (said, beside, until, before, expected) in [
        (
            "work complete",
            "[unk] work complete",
            1_700,
            LOUD,
            (1_450, false),
        ),
        (
            "work complete",
            "the work complete",
            1_700,
            LOUD,
            (1_450, false),
        ),
        (
            "work complete",
            "[unk] work complete",
            1_700,
            SOFT,
            (1_300, true),
        ),
        // It was shown so for a moment only.
        (
            "work complete",
            "[unk] work complete",
            1_350,
            LOUD,
            (1_450, true),
        ),
        ("say again", "ground say again", 1_700, LOUD, (1_350, false)),
        ("stop stop", "[unk] stop stop", 1_700, LOUD, (1_300, true)),
    ] {
        let (at, sure) = expected;
        check(
            Scripted {
                shows: vec![(1_000, said), (1_700, "")],
                beside: vec![(0, ""), (1_100, beside), (until, "")],
                again: vec![(0, said)],
                // The words begin at 0.1 s; their score is clear.
                sound: (100, before, LOUD),
                closed: 8.0,
                ..Scripted::default()
            },
            &[(at, said, sure)],
        );
    }
}

#[test]
fn a_phrase_is_no_part_of_a_longer_sentence() {
    for (speaks, words, sure) in [
        (900..1_800, 2, Some((2_310, true))),
        (900..2_100, 2, Some((2_610, true))),
        // Its twelve letters would be drawn out.
        (900..2_280, 2, None),
        // Other words fit better, and it is long for so few letters.
        (900..2_100, 4, None),
    ] {
        let mut decoder = spoken(vec![], "work complete", 9.0, 9.0);
        decoder.speaks = speaks;
        decoder.words = words;
        let expected = sure.map(|(at, sure)| (at, "work complete", sure));
        check_spoken(decoder, &Vec::from_iter(expected));
    }
}

#[test]
fn what_opens_a_hold_is_not_believed_where_more_was_said_in_one_breath() {
    let grave = "wheel on the ground";
    for (begins, said, at, sure) in [
        (1_000, grave, 2_500, true),
        (300, grave, 2_650, false),
        // What only goes on is believed all the same.
        (300, "work complete", 2_300, true),
    ] {
        let decoder = Scripted {
            shows: vec![(2_000, said), (at + 50, "")],
            again: vec![(0, said)],
            speaks: begins..2_700,
            ..Scripted::default()
        };
        check(decoder, &[(at, said, sure)]);
    }
}

#[test]
fn a_phrase_is_believed_once_a_pause_shows_after_it() {
    const ENDED: Option<u64> = Some(2_200);
    for (said, speaks, ended, expected) in [
        // What is decoded again begins 0.9 s before it was seen.
        ("work complete", 1_100..2_100, ENDED, Some((2_300, true))),
        ("work complete", 1_100..2_400, ENDED, Some((2_480, true))),
        ("say again", 1_100..2_400, ENDED, Some((2_480, true))),
        // In 0.35 s none shows.
        ("work complete", 1_100..2_900, ENDED, Some((2_560, false))),
        // Its last word is drawn out.
        ("work complete", 1_100..2_650, None, Some((2_720, true))),
        // Other words are shown before one does.
        ("work complete", 1_100..2_550, ENDED, None),
        ("stop stop", 1_100..2_900, ENDED, Some((2_300, true))),
    ] {
        let gone = if expected.is_some() { 2_800 } else { 2_500 };
        let decoder = Scripted {
            shows: vec![(2_000, said), (gone, "wheel")],
            again: vec![(0, said)],
            ended,
            speaks,
            voice: true,
            ..Scripted::default()
        };
        let heard = expected.map(|(at, sure)| (at, said, sure));
        check(decoder, &Vec::from_iter(heard));
    }
}

#[test]
fn a_radio_beside_that_talks_on_hides_no_pause() {
    for (room, at, sure) in [(300, 2_300, true), (700, 2_450, false)] {
        let decoder = Scripted {
            shows: vec![(2_000, "work complete"), (2_700, "")],
            again: vec![(0, "work complete")],
            speaks: 1_100..2_100,
            room,
            voice: true,
            ..Scripted::default()
        };
        check(decoder, &[(at, "work complete", sure)]);
    }
}

#[test]
fn a_phrase_into_which_a_voice_runs_is_asked_back() {
    for (said, begins, at, sure) in [
        ("work complete", 1_100, 2_300, true),
        ("work complete", 950, 2_450, false),
        ("say again", 950, 2_350, false),
        ("stop stop", 950, 2_300, true),
    ] {
        let decoder = Scripted {
            shows: vec![(2_000, said), (2_700, "")],
            again: vec![(0, said)],
            speaks: begins..2_100,
            voice: true,
            ..Scripted::default()
        };
        check(decoder, &[(at, said, sure)]);
    }
}
