//! What stands, is decoded again and scored, and when a stream begins anew.

use super::*;

#[test]
fn a_phrase_is_believed_when_it_has_stood_and_is_decoded_again() {
    check(
        Scripted {
            shows: vec![(1_000, "work"), (1_200, "work complete"), (1_600, "")],
            again: vec![(0, "work complete")],
            ..Scripted::default()
        },
        &[(1_500, "work complete", true)],
    );
}

#[test]
fn what_hangs_on_a_grave_phrase_makes_it_stand_longer() {
    check(
        Scripted {
            shows: vec![(1_000, "wheel on the ground"), (1_600, "")],
            again: vec![(0, "wheel on the ground")],
            ..Scripted::default()
        },
        &[(1_500, "wheel on the ground", true)],
    );
}

#[test]
fn what_only_says_something_is_believed_sooner() {
    check(
        Scripted {
            shows: vec![(1_000, "say again"), (1_600, "")],
            again: vec![(0, "say again")],
            ..Scripted::default()
        },
        &[(1_200, "say again", true)],
    );
}

#[test]
fn of_what_was_decoded_ahead_only_the_rest_is_decoded() {
    // When the words end before what is decoded ahead does, their score is made anew: again and the two
    // graphs were begun ahead, then the two graphs once more.
    for (ended, begun) in [(1_100, 3), (980, 5)] {
        let decoder = check(
            Scripted {
                shows: vec![(1_000, "work complete"), (1_500, "")],
                again: vec![(0, "work complete")],
                ended: Some(ended),
                ..Scripted::default()
            },
            &[(1_300, "work complete", true)],
        );
        assert_eq!(decoder.decodes, 0);
        assert_eq!((decoder.begun.len(), decoder.ended_begun), (begun, 3));
    }
}

#[test]
fn one_update_is_not_enough() {
    let decoder = check(
        Scripted {
            shows: vec![(1_000, "work complete"), (1_240, "work complete [unk]")],
            again: vec![(0, "work complete")],
            ..Scripted::default()
        },
        &[],
    );
    // It was decoded, so as to be ready.
    assert_eq!((decoder.begun.len(), decoder.ended_begun), (3, 3));
}

#[test]
fn what_stands_is_verified_so_as_to_be_ready_when_it_has_stood_its_time() {
    check(
        Scripted {
            shows: vec![(1_000, "work complete"), (1_500, "")],
            again: vec![(0, "[unk]"), (1_170, "work complete"), (1_200, "[unk]")],
            ..Scripted::default()
        },
        &[(1_300, "work complete", true)],
    );
}

#[test]
fn where_only_a_stop_may_be_said_other_sounds_may_go_before_it() {
    let mut stops = vocabulary();
    stops.phrases.retain(|phrase| phrase.weight == Weight::Stop);
    stops.digits = None;
    for text in ["[unk] stop stop", "stop [unk] stop stop"] {
        let scripted = |until| Scripted {
            shows: vec![(1_000, text), (until, "")],
            again: vec![(0, text)],
            ..Scripted::default()
        };
        let heard = run_with(stops.clone(), &mut scripted(1_350));
        let [(1_300, heard)] = heard.as_slice() else {
            panic!("{text}: {heard:?}");
        };
        assert!(heard.text == "stop stop" && heard.sure);
        assert!(run(&mut scripted(1_900)).is_empty());
    }
}

#[test]
fn the_end_of_a_phrase_is_only_asked_about() {
    for text in ["complete", "[unk] complete"] {
        let mut decoder = Scripted {
            shows: vec![(1_000, text), (1_900, "")],
            again: vec![(0, "complete")],
            ..Scripted::default()
        };
        let heard = run(&mut decoder);
        let [(_, heard)] = heard.as_slice() else {
            panic!("{heard:?}");
        };
        assert!(heard.is_part && !heard.sure, "{heard:?}");
        assert_eq!(heard.text, "complete");
    }
}

#[test]
fn where_the_first_word_is_lost_the_quiet_before_it_is_decoded_too() {
    for (until, expected) in [(100, vec![(2_300, "work complete", true)]), (1_500, vec![])] {
        check(
            Scripted {
                shows: vec![
                    (0, "ground"),
                    (until, ""),
                    (2_000, "work complete"),
                    (2_600, ""),
                ],
                again: vec![(0, "work complete")],
                needs: 2_000,
                ..Scripted::default()
            },
            &expected,
        );
    }
}

#[test]
fn a_phrase_not_said_to_its_end_yet_is_looked_at_again() {
    check(
        Scripted {
            shows: vec![(1_000, "work complete"), (2_000, "")],
            again: vec![(0, "work [unk]"), (1_380, "work complete")],
            ..Scripted::default()
        },
        &[(1_450, "work complete", true)],
    );
}

#[test]
fn what_never_decodes_again_is_given_up() {
    let decoder = check(
        Scripted {
            shows: vec![(1_000, "work complete")],
            again: vec![(0, "[unk]")],
            ..Scripted::default()
        },
        &[],
    );
    // Each time also with the quiet before it.
    assert_eq!(decoder.decodes, 2 * usize::from(MOST_LOOKS));
}

#[test]
fn the_end_of_an_utterance_is_looked_at_at_once() {
    check(
        Scripted {
            shows: vec![
                (1_000, "work complete"),
                (1_100, "work complete."),
                (1_110, ""),
            ],
            again: vec![(0, "work complete")],
            ..Scripted::default()
        },
        &[(1_100, "work complete", true)],
    );
}

#[test]
fn the_score_makes_sure_asks_back_or_rejects() {
    // The words fill the 1.2 s before 1.3 s: 40 frames.
    for (closed, expected) in [
        (-3.0, vec![(1_300, "work complete", true)]),
        (-7.0, vec![(1_450, "work complete", false)]),
        (-30.0, vec![]),
    ] {
        check(
            Scripted {
                shows: vec![(1_000, "work complete"), (1_600, "")],
                again: vec![(0, "work complete")],
                closed,
                ..Scripted::default()
            },
            &expected,
        );
    }
}

#[test]
fn what_another_stream_contradicts_is_asked_back_unless_its_score_is_clear() {
    // The words fill the 1.2 s before 1.3 s: 40 frames.
    for (beside, closed, expected) in [
        ("complete", 0.0, (1_300, "work complete", true)),
        ("[unk] complete", 0.0, (1_300, "work complete", true)),
        ("the ground", 0.0, (1_450, "work complete", false)),
        ("the ground", 8.0, (1_300, "work complete", true)),
    ] {
        check(
            Scripted {
                shows: vec![(1_000, "work complete"), (1_600, "")],
                beside: vec![(0, ""), (1_100, beside), (1_600, "")],
                again: vec![(0, "work complete")],
                closed,
                ..Scripted::default()
            },
            &[expected],
        );
    }
}

#[test]
fn an_ordinary_phrase_that_two_streams_show_is_believed_sooner_where_its_score_is_clear() {
    for (said, shared_from, closed, at) in [
        ("work complete", 1_050, 8.0, 1_200),
        // The first stream is looked at before the other shows it.
        ("work complete", 1_250, 8.0, 1_260),
        ("work complete", 1_700, 8.0, 1_300),
        ("work complete", 1_050, 1.0, 1_300),
        ("wheel on the ground", 1_050, 8.0, 1_500),
    ] {
        let ends = at + 150;
        check(
            Scripted {
                shows: vec![(1_000, said), (ends, "")],
                beside: vec![(0, ""), (shared_from, said), (ends.max(shared_from), "")],
                again: vec![(0, said)],
                closed,
                ..Scripted::default()
            },
            &[(at, said, true)],
        );
    }
}

#[test]
fn after_belief_the_ears_rest_and_begin_anew() {
    let decoder = check(
        Scripted {
            shows: vec![(1_000, "work complete")],
            again: vec![(0, "work complete")],
            ..Scripted::default()
        },
        &[
            (1_300, "work complete", true),
            (1_850, "work complete", true),
            (2_400, "work complete", true),
            (2_950, "work complete", true),
            (3_500, "work complete", true),
            (4_050, "work complete", true),
            (4_600, "work complete", true),
        ],
    );
    assert_eq!(decoder.restarts[2], 1_550);
}

#[test]
fn a_lone_unknown_that_sticks_starts_the_stream_afresh() {
    let decoder = check(
        Scripted {
            shows: vec![(1_000, "[unk]"), (1_600, "")],
            ..Scripted::default()
        },
        &[],
    );
    // And again when it has shown nothing for long.
    assert_eq!(decoder.restarts[2..], [1_500, 4_600]);
}

#[test]
fn a_long_phrase_is_decoded_from_where_it_began() {
    let decoder = check(
        Scripted {
            shows: vec![
                (1_500, "wheel"),
                (3_000, "wheel on the ground"),
                (3_600, ""),
            ],
            again: vec![(0, "wheel on the ground")],
            ..Scripted::default()
        },
        &[(3_500, "wheel on the ground", true)],
    );
    assert!(decoder.kept > 2_500, "{}", decoder.kept);
}

#[test]
fn deaf_ears_hear_nothing_and_begin_a_moment_after() {
    let mut decoder = Scripted {
        shows: vec![(0, "work complete")],
        again: vec![(0, "work complete")],
        ..Scripted::default()
    };
    let mut belief = Belief::new(RATE, true, &mut decoder);
    belief.listen_for(vocabulary(), &mut decoder);
    let mut heard = Vec::new();
    for now in (10..3_000).step_by(10) {
        decoder.now = now;
        match now {
            100 => belief.set_deaf(true),
            2_000 => belief.set_deaf(false),
            _ => {}
        }
        if belief.hear([&[0; 10], &[], &[]], &mut decoder).is_some() {
            heard.push(now);
        }
    }
    assert_eq!(heard.first(), Some(&2_540));
}

#[test]
fn the_grammar_holds_only_what_the_library_bears() {
    let mut vocabulary = vocabulary();
    for words in ["a\"b", "tool 2", "", "naïve", "[unk]"] {
        vocabulary.phrases.push(Expected {
            words: words.into(),
            weight: Weight::Ordinary,
        });
    }
    let grammar = grammar(&vocabulary);
    assert_eq!(
        grammar[..4],
        [
            "work complete",
            "wheel on the ground",
            "say again",
            "stop stop"
        ]
    );
    assert_eq!(grammar.len(), 4 + 10 + 1);
}

#[test]
fn of_the_streams_that_show_a_phrase_one_is_verified_before_it_has_stood() {
    let shows = || vec![(1_000, "work complete"), (1_700, "")];
    let verified = |beside| {
        let decoder = Scripted {
            beside,
            closed: 1.0,
            ..spoken(shows(), "work complete", 6.0, 0.5)
        };
        let decoder = check_spoken(decoder, &[(1_300, "work complete", true)]);
        decoder.decodes + decoder.ended_begun
    };
    let late = [vec![(0, "")], vec![(1_290, "work complete"), (1_700, "")]].concat();
    let (alone, both) = (verified(late), verified([vec![(0, "")], shows()].concat()));
    assert_eq!(both, alone + 3, "one more, of three decodes");
}
