//! What another network's opinion makes of what the streams doubt or miss.

use super::*;

#[test]
fn what_the_streams_missed_is_believed_asked_back_or_left_by_another_networks_opinion() {
    for (phrase, gain, lead, sure) in [
        ("work complete", 7.0, 5.0, Some(true)),
        ("work complete", 5.5, 6.0, Some(false)),
        ("work complete", 7.0, 4.5, Some(false)),
        ("work complete", 7.0, 3.0, None),
        ("work complete", 4.0, 6.0, None),
        // A short one fits a single word too.
        ("say again", 7.0, 6.0, Some(false)),
        ("say again", 7.0, 8.0, Some(true)),
        // More hangs on it.
        ("wheel on the ground", 9.0, 7.0, Some(false)),
        ("wheel on the ground", 9.0, 9.0, Some(true)),
    ] {
        let decoder = spoken(vec![], phrase, gain, lead);
        // A pause shows 0.27 s after the end, and the opinion is had 0.24 s after that. What is asked back waits
        // until the streams had their time.
        let expected = sure.map(|sure| (if sure { 2_010 } else { 2_460 }, phrase, sure));
        let decoder = check_spoken(decoder, &Vec::from_iter(expected));
        assert_eq!(decoder.asked_at.len(), 1, "{phrase} {gain} {lead}");
    }
}

#[test]
fn what_the_streams_doubt_a_little_later_an_opinion_confirms_too() {
    for (until, gain, lead, expected) in [
        // It is had at 2.01 s, and what stands then is doubted from 2.11 s on.
        (1_660, 4.5, 2.5, (2_110, "work complete", true)),
        (1_660, 4.5, 1.0, (2_560, "work complete", false)),
        // Too late to be about the same.
        (2_100, 4.5, 2.5, (3_000, "work complete", false)),
    ] {
        let mut decoder = spoken(
            vec![(until, "work complete"), (until + 700, "")],
            "work complete",
            gain,
            lead,
        );
        decoder.closed = -6.0;
        check_spoken(decoder, &[expected]);
    }
}

#[test]
fn what_does_not_convince_as_captured_is_asked_about_with_only_a_voice_left_and_the_mean_counts() {
    let complete = |gain, lead| ("work complete", gain, lead);
    let again = |gain, lead| ("say again", gain, lead);
    for (first, then, expected, asked) in [
        // Each alone is left; the mean is believed from a lead of 8.0 on, asked back from 4.0 on.
        (complete(5.0, 3.0), complete(15.0, 15.0), Some(true), 2),
        (again(3.0, 1.0), complete(20.0, 20.0), Some(true), 2),
        (complete(5.0, 3.0), complete(11.0, 11.0), Some(false), 2),
        (complete(5.0, 3.0), complete(6.0, 3.5), None, 2),
        (complete(5.5, 6.0), again(5.0, 5.0), None, 2),
        // Nothing more is asked.
        (complete(7.0, 6.0), again(9.0, 9.0), Some(true), 1),
    ] {
        let (phrase, gain, lead) = then;
        let mut decoder = spoken(vec![], first.0, first.1, first.2);
        decoder.voice = true;
        decoder.thinks_then = Some(Opinion {
            phrase: phrase.into(),
            gain,
            lead,
        });
        let had = 2_010 + 240 * (asked - 1);
        let expected = expected.map(|sure| match sure {
            true => (had, "work complete", true),
            // The streams had their time meanwhile.
            false => (had + 210, "work complete", false),
        });
        let decoder = check_spoken(decoder, &Vec::from_iter(expected));
        assert_eq!(decoder.asked_at.len() as u64, asked, "{first:?} {then:?}");
    }
}

#[test]
fn an_opinion_confirms_what_is_in_doubt_and_never_replaces_it() {
    // Its score is in doubt: it would be asked back at 1.45 s.
    let doubted = |phrase, gain, lead| Scripted {
        closed: -6.0,
        speaks: 900..1_200,
        ..spoken(
            vec![(1_000, "work complete"), (1_700, "")],
            phrase,
            gain,
            lead,
        )
    };
    for (phrase, gain, lead, sure) in [
        ("work complete", 4.5, 2.5, true),
        ("work complete", 4.5, 1.0, false),
        ("say again", 20.0, 20.0, false),
    ] {
        check_spoken(
            doubted(phrase, gain, lead),
            &[(1_710, "work complete", sure)],
        );
    }
    let mut alone = doubted("work complete", 20.0, 20.0);
    alone.speaks = 0..0;
    // Nothing said was noticed, and no opinion comes.
    check_spoken(alone, &[(1_900, "work complete", false)]);
}

#[test]
fn a_thin_score_is_believed_where_an_opinion_confirms_it() {
    for (closed, thinks, gain, sure) in [
        (0.0, "work complete", 6.0, true),
        (0.0, "work complete", 4.0, false),
        (0.0, "say again", 6.0, false),
        (0.0, "say again", 4.0, false),
        // Clear enough by itself.
        (20.0, "say again", 6.0, true),
    ] {
        let shows = vec![(1_000, "work complete"), (1_700, "")];
        let mut decoder = Scripted {
            closed,
            ..spoken(shows, thinks, gain, 0.5)
        };
        let heard = run_with(phrases_alone(), &mut decoder);
        assert_eq!(heard.len(), 1, "{closed} {thinks}");
        let (at, heard) = &heard[0];
        assert_eq!((heard.text.as_str(), heard.sure), ("work complete", sure));
        assert!(sure == (*at == 1_300), "{at}");
    }
}

#[test]
fn a_thin_phrase_that_two_streams_show_is_asked_about_before_it_has_stood() {
    // Where it is not for the phrase, it is asked again when more was said.
    for (thinks, sure, asked_at) in [
        ("work complete", true, &[1_200][..]),
        ("say again", false, &[1_200, 1_300]),
    ] {
        let shows = || vec![(1_000, "work complete"), (1_700, "")];
        let mut decoder = Scripted {
            closed: 0.0,
            beside: [vec![(0, "")], shows()].concat(),
            ..spoken(shows(), thinks, 6.0, 0.5)
        };
        let heard = run_with(phrases_alone(), &mut decoder);
        let (at, heard) = &heard[0];
        assert_eq!((heard.text.as_str(), heard.sure), ("work complete", sure));
        assert!(sure == (*at == 1_300), "{at}");
        let asked = &decoder.asked_at;
        assert!(asked.starts_with(asked_at), "{asked:?}");
        assert!(!sure || asked.len() == 1, "{asked:?}");
    }
}
