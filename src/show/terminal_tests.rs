use proptest::prelude::*;

use super::*;
use crate::show::view::{BoltView, CautionLine, EarsView, ListView, SayLine};

fn say(say: &str, does: &str, key: &str) -> SayLine {
    SayLine {
        say: say.to_string(),
        does: does.to_string(),
        key: key.to_string(),
        at_foot: true,
    }
}

fn view(tone: Tone) -> View {
    View {
        place: "Refit a road wheel · step 7 of 9".to_string(),
        tone,
        call: "Tighten nut 4 to 77 N·m".to_string(),
        detail: "Thread dry".to_string(),
        cautions: vec![CautionLine {
            signal: "WARNING".to_string(),
            text: "A wheel can work loose".to_string(),
        }],
        may_say: vec![
            say("work complete", "claims the nut as done", "Space"),
            say("say again", "repeats the call", "A"),
        ],
        heard: "next instruction".to_string(),
        outcome: "Say work complete".to_string(),
        taken: false,
        wants_digits: false,
        typed: String::new(),
        circle: Some(CircleView {
            torque: "77 N·m".to_string(),
            pass: "pass 2 of 3".to_string(),
            called: "nut".to_string(),
            columns: None,
            bolts: vec![
                BoltView {
                    number: 1,
                    state: BoltState::Done,
                },
                BoltView {
                    number: 2,
                    state: BoltState::Open,
                },
                BoltView {
                    number: 4,
                    state: BoltState::Next,
                },
            ],
        }),
        flash: false,
        waits: vec![WaitView {
            name: "flash off".to_string(),
            left: "12:30".to_string(),
            share: 0.4,
            over: false,
        }],
        list: ListView::default(),
        notices: vec!["No voice: espeak-ng is not installed".to_string()],
        ears: EarsView {
            state: "listening".to_string(),
            listening: true,
            level: 0.5,
            ..EarsView::default()
        },
    }
}

fn text(view: &View, width: usize, height: usize) -> String {
    let lines: Vec<String> = rows(view, 0.0, width, height)
        .into_iter()
        .map(|row| row.text)
        .collect();
    lines.join("\n")
}

#[test]
fn everything_of_the_view_is_on_an_ordinary_terminal() {
    for tone in [
        Tone::Step,
        Tone::Hold,
        Tone::Question,
        Tone::Waiting,
        Tone::Paused,
    ] {
        let text = text(&view(tone), 80, 24);
        let wanted = [
            "Refit a road wheel · step 7 of 9",
            "Tighten nut 4 to 77 N·m",
            "Thread dry",
            "WARNING: A wheel can work loose",
            "“work complete”",
            "[Space]",
            "say again [A]",
            "[x not taken] “next instruction” → Say work complete",
            "12:30  flash off",
            "No voice: espeak-ng is not installed",
            "ears: listening",
        ];
        for wanted in wanted {
            assert!(text.contains(wanted), "{tone:?} lacks {wanted}:\n{text}");
        }
    }
}

#[test]
fn the_next_bolt_stands_out_in_plain_text() {
    let text = text(&view(Tone::Step), 80, 24);
    assert!(
        text.contains("77 N·m pass 2 of 3: nut 1✓ 2 >>4<<"),
        "{text}"
    );
}

#[test]
fn a_hold_has_a_frame_and_nothing_else_has() {
    for tone in [Tone::Step, Tone::Question, Tone::Stopped, Tone::Finished] {
        assert!(!text(&view(tone), 80, 24).contains('║'));
    }
    let rows = rows(&view(Tone::Hold), 0.0, 80, 24);
    assert_eq!(rows.len(), 24);
    assert!(
        rows[1..23]
            .iter()
            .all(|row| row.text.starts_with('║') && row.text.ends_with('║'))
    );
    assert!(rows.iter().any(|row| row.text.contains("H O L D")));
}

#[test]
fn tones_are_told_apart_by_words() {
    for tone in [
        Tone::Question,
        Tone::Waiting,
        Tone::Paused,
        Tone::Stopped,
        Tone::Finished,
    ] {
        assert!(text(&view(tone), 80, 24).starts_with(&format!(" {} |", tone.word())));
    }
}

#[test]
fn a_small_screen_keeps_the_call_and_the_way_forward() {
    for tone in [Tone::Step, Tone::Hold] {
        let text = text(&view(tone), 44, 10);
        for wanted in ["Tighten nut 4", "work complete"] {
            assert!(text.contains(wanted), "{tone:?} lacks {wanted}:\n{text}");
        }
    }
}

#[test]
fn the_list_stands_in_place_of_the_call_with_its_mark() {
    let mut view = view(Tone::Step);
    view.list = ListView {
        title: "To gather".to_string(),
        lines: vec!["chalk".to_string(), "four chocks".to_string()],
        marked: Some(1),
        plan: None,
    };
    let text = text(&view, 80, 24);
    assert!(
        text.contains("To gather") && text.contains("    chalk") && text.contains("→ four chocks")
    );
    assert!(!text.contains("Tighten nut 4"));
}

#[test]
fn a_press_and_hold_shows_how_far_it_has_come() {
    let bar = |holding| {
        let rows = rows(&view(Tone::Step), holding, 80, 24);
        rows.iter()
            .find(|row| row.text.contains('░'))
            .map(|row| row.text.matches('█').count())
    };
    assert_eq!(bar(0.0), None);
    assert_eq!(bar(0.5), Some(40));
}

#[test]
fn a_word_wider_than_the_screen_is_broken_and_not_lost() {
    let word = "x".repeat(95);
    let lines = wrap(&format!("a {word} b"), 40);
    assert_eq!(
        lines,
        [
            "a",
            &"x".repeat(40),
            &"x".repeat(40),
            &format!("{} b", "x".repeat(15))
        ]
    );
}

#[test]
fn a_plain_block_is_new_only_when_more_than_time_has_passed() {
    let first = view(Tone::Waiting);
    let mut later = first.clone();
    later.waits[0].left = "12:29".to_string();
    later.waits[0].share = 0.41;
    later.ears.level = 0.9;
    assert_eq!(block(&first, false), block(&later, false));
    assert_ne!(block(&first, true), block(&later, true));
    later.outcome = "Repeated".to_string();
    assert_ne!(block(&first, false), block(&later, false));
}

proptest! {
    /// No screen is too small, and no text too long: never a panic, never a row that sticks out.
    #[test]
    fn rows_keep_within_any_screen(
        width in 1_usize..130,
        height in 1_usize..40,
        call in "[a-zäß·° ]{0,300}",
        list in prop::collection::vec("[a-z ]{0,60}", 0..40),
        is_hold: bool,
        holding in 0.0_f32..1.0,
    ) {
        let mut view = view(if is_hold { Tone::Hold } else { Tone::Step });
        view.call = call;
        view.list.lines = list;
        let rows = rows(&view, holding, width, height);
        prop_assert!(rows.len() <= height, "{} rows in {height}", rows.len());
        for row in rows {
            prop_assert!(row.text.chars().count() <= width, "{:?} in {width}", row.text);
        }
    }
}

/// What is called of a wait has the screen to itself, and flashes as a whole.
#[test]
fn a_called_end_takes_the_whole_screen() {
    let mut view = view(Tone::Due);
    let calm = rows(&view, 0.0, 80, 24);
    let text = |rows: &[Row]| -> Vec<String> {
        let trimmed = rows.iter().map(|row| row.text.trim_end().to_string());
        trimmed.collect()
    };
    assert!(text(&calm).iter().any(|row| row.contains("Time | ")));
    assert!(!text(&calm).iter().any(|row| row.contains("flash off")));
    view.flash = true;
    let turned = rows(&view, 0.0, 80, 24);
    assert_eq!(text(&calm), text(&turned), "the words stay where they are");
    assert!(turned.iter().all(|row| row.weight == Weight::Turned));
    assert!(turned.iter().all(|row| row.text.chars().count() == 80));
}

/// As in the window: the rest is found under "assistance required".
#[test]
fn the_foot_shows_only_what_matters_now() {
    let mut view = view(Tone::Step);
    view.may_say.push(SayLine {
        at_foot: false,
        ..say("parts list", "shows what to gather", "G")
    });
    let screen = super::super::render(&view, 80, 24).join("\n");
    assert!(
        screen.contains("say again [A]") && !screen.contains("parts list"),
        "{screen}"
    );
    let lines = block(&view, true).join("\n");
    assert!(
        lines.contains("say again") && !lines.contains("parts list"),
        "{lines}"
    );
}
