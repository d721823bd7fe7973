use proptest::prelude::*;

use super::*;
use crate::show::view::EarsView;

fn line(say: &str, key: &str) -> SayLine {
    SayLine {
        say: say.to_string(),
        does: String::new(),
        key: key.to_string(),
        at_foot: true,
    }
}

fn view(tone: Tone, may_say: Vec<SayLine>) -> View {
    View {
        place: "step 3 of 9".to_string(),
        tone,
        call: "Lower the axle".to_string(),
        detail: String::new(),
        cautions: Vec::new(),
        may_say,
        heard: String::new(),
        outcome: String::new(),
        taken: false,
        wants_digits: false,
        typed: String::new(),
        circle: None,
        flash: false,
        waits: Vec::new(),
        list: ListView::default(),
        notices: Vec::new(),
        ears: EarsView::default(),
    }
}

fn step() -> View {
    view(
        Tone::Step,
        vec![
            line("work complete", "Space"),
            line("previous instruction", "Left"),
            line("say again", "A"),
        ],
    )
}

fn hold() -> View {
    view(
        Tone::Hold,
        vec![
            line("wheel on the ground", "hold Space"),
            line("previous instruction", "Left"),
            line("say again", "A"),
        ],
    )
}

fn wants_reading() -> View {
    View {
        wants_digits: true,
        ..step()
    }
}

fn say(index: usize) -> KeyAct {
    KeyAct::Say { index, held: false }
}

fn held(index: usize) -> KeyAct {
    KeyAct::Say { index, held: true }
}

fn ms(at: u64) -> Duration {
    Duration::from_millis(at)
}

/// Plays strokes (key, edge, time in ms) on one view and ticks every 50 ms, up to `until`.
fn play(keys: &mut Keys, view: &View, strokes: &[(Key, Edge, u64)], until: u64) -> Vec<KeyAct> {
    let mut acts = Vec::new();
    let mut ticked = strokes.first().map_or(until, |stroke| stroke.2);
    for (key, edge, at) in strokes {
        while ticked < *at {
            acts.extend(keys.tick(view, ms(ticked)));
            ticked += 50;
        }
        acts.extend(keys.stroke(
            view,
            Stroke {
                key: *key,
                edge: *edge,
                at: ms(*at),
            },
        ));
    }
    while ticked <= until {
        acts.extend(keys.tick(view, ms(ticked)));
        ticked += 50;
    }
    acts
}

#[track_caller]
fn check(view: &View, strokes: &[(Key, Edge, u64)], expected: &[KeyAct]) {
    let until = strokes.last().map_or(0, |stroke| stroke.2);
    assert_eq!(play(&mut Keys::new(), view, strokes, until), expected);
}

#[track_caller]
fn check_terminal(view: &View, strokes: &[(Key, Edge, u64)], expected: &[KeyAct]) {
    let until = strokes.last().map_or(0, |stroke| stroke.2) + 2000;
    assert_eq!(
        play(&mut Keys::without_release(), view, strokes, until),
        expected
    );
}

fn press(key: Key, from: u64, to: u64) -> [(Key, Edge, u64); 2] {
    [(key, Edge::Down, from), (key, Edge::Up, to)]
}

/// A key leaned on as a terminal tells it: one press after another.
fn leaned_in_terminal(key: Key, lasts: u64) -> Vec<(Key, Edge, u64)> {
    let mut strokes = vec![(key, Edge::Down, 0)];
    strokes.extend((500..=lasts).step_by(40).map(|at| (key, Edge::Down, at)));
    strokes
}

#[test]
fn a_short_press_acts_when_the_key_comes_up() {
    for key in [
        Key::PageDown,
        Key::Space,
        Key::Right,
        Key::Enter,
        Key::Line(0),
    ] {
        check(&step(), &[(key, Edge::Down, 0)], &[]);
        check(&step(), &press(key, 0, 120), &[say(0)]);
    }
}

#[test]
fn back_says_the_line_that_carries_a_back_key() {
    for key in [Key::PageUp, Key::Left, Key::Backspace] {
        check(&step(), &press(key, 0, 120), &[say(1)]);
        let alone = view(Tone::Step, vec![line("work complete", "Space")]);
        check(&alone, &press(key, 0, 120), &[]);
    }
}

#[test]
fn a_letter_says_its_own_line() {
    check(&step(), &press(Key::Letter('a'), 0, 100), &[say(2)]);
    check(&step(), &press(Key::Letter('x'), 0, 100), &[]);
    check(&step(), &press(Key::Line(2), 0, 100), &[say(2)]);
    check(&step(), &press(Key::Line(9), 0, 100), &[]);
    let stop = view(
        Tone::Step,
        vec![line("work complete", "Space"), line("stop stop", "Esc")],
    );
    check(&stop, &press(Key::Escape, 0, 100), &[say(1)]);
}

#[test]
fn a_hold_opens_only_by_a_press_of_a_second() {
    for key in [
        Key::PageDown,
        Key::Space,
        Key::Right,
        Key::Enter,
        Key::Line(0),
    ] {
        check(&hold(), &press(key, 0, 120), &[say(0)]);
        check(&hold(), &press(key, 0, 990), &[say(0)]);
        check(&hold(), &press(key, 0, 1000), &[held(0)]);
        check(&hold(), &press(key, 0, 4000), &[held(0)]);
    }
}

#[test]
fn a_hold_opens_as_soon_as_the_second_is_over() {
    let mut keys = Keys::new();
    let acts = play(&mut keys, &hold(), &[(Key::Space, Edge::Down, 0)], 1050);
    assert_eq!(acts, [held(0)]);
}

#[test]
fn repeats_of_the_keyboard_are_no_presses() {
    let mut strokes = vec![(Key::Space, Edge::Down, 0)];
    strokes.extend(
        (300..900)
            .step_by(30)
            .map(|at| (Key::Space, Edge::Repeat, at)),
    );
    strokes.push((Key::Space, Edge::Up, 900));
    check(&step(), &strokes, &[say(0)]);
    check(&hold(), &strokes, &[say(0)]);
    // A repeat without a press before it, as after the window got the focus.
    check(
        &hold(),
        &[(Key::Space, Edge::Repeat, 0), (Key::Space, Edge::Up, 3000)],
        &[],
    );
}

#[test]
fn many_short_presses_do_not_open_a_hold() {
    let strokes: Vec<_> = (0..20)
        .flat_map(|n| press(Key::Space, n * 200, n * 200 + 150))
        .collect();
    check(&hold(), &strokes, &vec![say(0); 20]);
}

#[test]
fn a_key_leaned_on_says_nothing() {
    check(&step(), &press(Key::Space, 0, 1500), &[say(0)]);
    check(&step(), &press(Key::Space, 0, 1501), &[KeyAct::LeanedOn]);
    check(&step(), &press(Key::Space, 0, 60_000), &[KeyAct::LeanedOn]);
}

#[test]
fn a_press_that_began_before_the_hold_does_not_open_it() {
    let mut keys = Keys::new();
    play(&mut keys, &step(), &[(Key::Space, Edge::Down, 0)], 200);
    let strokes = [
        (Key::Space, Edge::Repeat, 300),
        (Key::Space, Edge::Up, 5000),
    ];
    assert_eq!(play(&mut keys, &hold(), &strokes, 5000), []);
}

#[test]
fn two_keys_at_once_mean_nothing() {
    let sleeve = [
        (Key::Space, Edge::Down, 0),
        (Key::Letter('x'), Edge::Down, 20),
        (Key::Letter('x'), Edge::Up, 3000),
        (Key::Space, Edge::Up, 3000),
    ];
    check(&hold(), &sleeve, &[]);
    check(&step(), &sleeve, &[]);
}

#[test]
fn a_touch_whose_line_went_away_does_not_stay_down() {
    let mut keys = Keys::new();
    play(&mut keys, &step(), &[(Key::Line(0), Edge::Down, 0)], 100);
    // The voice moved on, and the touch's end is never told.
    let acts = play(&mut keys, &hold(), &press(Key::Space, 3000, 4100), 4100);
    assert_eq!(acts, [held(0)]);
}

#[test]
fn nothing_comes_of_a_press_when_the_keys_are_lost() {
    let strokes = [
        (Key::Space, Edge::Down, 0),
        (Key::Space, Edge::Lost, 100),
        (Key::Space, Edge::Up, 3000),
    ];
    check(&hold(), &strokes, &[]);
}

#[test]
fn holding_shows_how_far_a_press_has_come() {
    let mut keys = Keys::new();
    assert_eq!(keys.holding(&hold(), ms(0)), 0.0);
    keys.stroke(
        &hold(),
        Stroke {
            key: Key::Space,
            edge: Edge::Down,
            at: ms(1000),
        },
    );
    assert!((keys.holding(&hold(), ms(1500)) - 0.5).abs() < 0.001);
    assert_eq!(keys.holding(&hold(), ms(9000)), 1.0);
    let mut keys = Keys::new();
    keys.stroke(
        &step(),
        Stroke {
            key: Key::Space,
            edge: Edge::Down,
            at: ms(0),
        },
    );
    assert_eq!(keys.holding(&step(), ms(500)), 0.0);
}

#[test]
fn back_held_opens_the_list_and_two_pedals_say_any_line() {
    let mut keys = Keys::new();
    let view = step();
    assert_eq!(
        play(&mut keys, &view, &press(Key::PageUp, 0, 1100), 1200),
        [KeyAct::Look]
    );
    let list = keys.list(&view).unwrap();
    assert_eq!((list.marked, list.lines.len()), (Some(0), 3));
    play(&mut keys, &view, &press(Key::PageDown, 2000, 2100), 2200);
    play(&mut keys, &view, &press(Key::PageDown, 2300, 2400), 2500);
    assert_eq!(keys.list(&view).unwrap().marked, Some(2));
    play(&mut keys, &view, &press(Key::PageUp, 2600, 2700), 2800);
    assert_eq!(keys.list(&view).unwrap().marked, Some(1));
    let chosen = play(&mut keys, &view, &press(Key::PageDown, 3000, 4100), 4200);
    assert_eq!(chosen, [say(1)]);
    assert_eq!(keys.list(&view), None);
}

#[test]
fn back_held_closes_the_list() {
    let mut keys = Keys::new();
    let view = step();
    play(&mut keys, &view, &press(Key::PageUp, 0, 1100), 1200);
    play(&mut keys, &view, &press(Key::PageUp, 2000, 3100), 3200);
    assert_eq!(keys.list(&view), None);
}

#[test]
fn a_list_does_not_outlive_its_lines() {
    let mut keys = Keys::new();
    play(&mut keys, &step(), &press(Key::PageUp, 0, 1100), 1200);
    assert_eq!(keys.list(&hold()), None);
    assert_eq!(keys.tick(&hold(), ms(1300)), None);
    assert_eq!(keys.list(&step()), None);
}

#[test]
fn the_list_does_not_open_a_hold() {
    let mut keys = Keys::new();
    let view = hold();
    play(&mut keys, &view, &press(Key::PageUp, 0, 1100), 1200);
    let chosen = play(&mut keys, &view, &press(Key::PageDown, 2000, 9000), 9000);
    assert_eq!(chosen, [KeyAct::Look]);
    assert_eq!(keys.list(&view), None);
    assert_eq!(
        play(
            &mut keys,
            &view,
            &press(Key::PageDown, 9500, 10_600),
            10_600
        ),
        [held(0)]
    );
}

#[test]
fn a_reading_is_keyed_in_and_sent() {
    let mut keys = Keys::new();
    let view = wants_reading();
    let typed = "78,.55".chars().enumerate();
    let strokes: Vec<_> = typed
        .flat_map(|(n, c)| press(Key::Letter(c), n as u64 * 100, n as u64 * 100 + 60))
        .collect();
    play(&mut keys, &view, &strokes, 600);
    assert_eq!(keys.typed(), "78.55");
    play(&mut keys, &view, &press(Key::Backspace, 700, 750), 800);
    assert_eq!(keys.typed(), "78.5");
    let sent = play(&mut keys, &view, &press(Key::Enter, 900, 950), 1000);
    assert_eq!(sent, [KeyAct::Reading("78.5".to_string())]);
    assert_eq!(keys.typed(), "");
}

#[test]
fn figures_mean_nothing_where_no_reading_is_wanted() {
    check(&step(), &press(Key::Letter('7'), 0, 60), &[]);
}

#[test]
fn figures_are_forgotten_with_the_question() {
    let mut keys = Keys::new();
    play(
        &mut keys,
        &wants_reading(),
        &press(Key::Letter('7'), 0, 60),
        100,
    );
    keys.tick(&step(), ms(200));
    assert_eq!(keys.typed(), "");
}

#[test]
fn two_pedals_key_in_a_reading() {
    let mut keys = Keys::new();
    let view = wants_reading();
    play(&mut keys, &view, &press(Key::PageUp, 0, 1100), 1200);
    let mut at = 2000;
    // The list wraps: one back from the first line is the last, which sends.
    let mut go_to = |keys: &mut Keys, wanted: &str| {
        while keys
            .list(&view)
            .is_some_and(|list| list.lines[list.marked.unwrap()] != wanted)
        {
            play(keys, &view, &press(Key::PageUp, at, at + 80), at + 100);
            at += 200;
        }
        let acts = play(keys, &view, &press(Key::PageDown, at, at + 1100), at + 1200);
        at += 2000;
        acts
    };
    assert_eq!(go_to(&mut keys, "7"), [KeyAct::Look]);
    assert_eq!(go_to(&mut keys, "point"), [KeyAct::Look]);
    assert_eq!(go_to(&mut keys, "5"), [KeyAct::Look]);
    assert_eq!(
        go_to(&mut keys, "enter 7.5"),
        [KeyAct::Reading("7.5".to_string())]
    );
}

#[test]
fn a_tap_on_the_list_chooses_its_line() {
    let mut keys = Keys::new();
    let view = step();
    play(&mut keys, &view, &press(Key::PageUp, 0, 1100), 1200);
    assert_eq!(
        play(&mut keys, &view, &press(Key::Choice(2), 2000, 2080), 2100),
        [say(2)]
    );
}

#[test]
fn the_line_of_escape_is_said_at_once_whatever_else_is_down() {
    let mut view = wants_reading();
    view.may_say.push(line("stop stop", "Esc"));
    check(&view, &[(Key::Escape, Edge::Down, 0)], &[say(3)]);
    check(&view, &press(Key::Escape, 0, 9000), &[say(3)]);
    check(
        &view,
        &[(Key::Space, Edge::Down, 0), (Key::Escape, Edge::Down, 50)],
        &[say(3)],
    );
    check_terminal(&view, &leaned_in_terminal(Key::Escape, 3000), &[say(3)]);
    let mut keys = Keys::new();
    play(&mut keys, &view, &press(Key::PageUp, 0, 1100), 1200);
    assert!(keys.list(&view).is_some());
    assert_eq!(
        play(&mut keys, &view, &press(Key::Escape, 2000, 2050), 2100),
        [say(3)]
    );
}

#[test]
fn in_a_terminal_enter_leaned_on_sends_a_reading_and_nothing_more() {
    let mut keys = Keys::without_release();
    let view = wants_reading();
    let sevens = [0, 150].map(|at| (Key::Letter('7'), Edge::Down, at));
    play(&mut keys, &view, &sevens, 1000);
    assert_eq!(keys.typed(), "77");
    let acts = play(
        &mut keys,
        &view,
        &leaned_in_terminal(Key::Enter, 4000),
        6000,
    );
    assert_eq!(acts, [KeyAct::Reading("77".to_string())]);
}

#[test]
fn quitting_works_everywhere() {
    check(&hold(), &[(Key::Quit, Edge::Down, 0)], &[KeyAct::Quit]);
    check_terminal(&step(), &[(Key::Quit, Edge::Down, 0)], &[KeyAct::Quit]);
}

#[test]
fn in_a_terminal_one_press_says_one_line() {
    check_terminal(&step(), &[(Key::Space, Edge::Down, 0)], &[say(0)]);
    check_terminal(&step(), &leaned_in_terminal(Key::Space, 8000), &[say(0)]);
    check_terminal(
        &step(),
        &[(Key::Space, Edge::Down, 0), (Key::Space, Edge::Down, 800)],
        &[say(0), say(0)],
    );
    check_terminal(&step(), &[(Key::Left, Edge::Down, 0)], &[say(1)]);
}

#[test]
fn in_a_terminal_a_hold_needs_repeats_without_a_gap() {
    check_terminal(&hold(), &[(Key::Space, Edge::Down, 0)], &[say(0)]);
    check_terminal(&hold(), &leaned_in_terminal(Key::Space, 1400), &[]);
    check_terminal(&hold(), &leaned_in_terminal(Key::Space, 1540), &[held(0)]);
    check_terminal(&hold(), &leaned_in_terminal(Key::Space, 6000), &[held(0)]);
    let with_gap = [(Key::Space, Edge::Down, 0), (Key::Space, Edge::Down, 2000)];
    check_terminal(&hold(), &with_gap, &[say(0), say(0)]);
}

const ALL: [Key; 12] = [
    Key::PageDown,
    Key::PageUp,
    Key::Space,
    Key::Right,
    Key::Left,
    Key::Enter,
    Key::Escape,
    Key::Letter('a'),
    Key::Letter('7'),
    Key::Line(0),
    Key::Choice(0),
    Key::Down,
];

fn any_stroke() -> impl Strategy<Value = (usize, Edge, u64)> {
    let edge = prop_oneof![
        4 => Just(Edge::Down), 3 => Just(Edge::Repeat), 4 => Just(Edge::Up), 1 => Just(Edge::Lost)
    ];
    (0..ALL.len(), edge, 0_u64..1300)
}

proptest! {
    /// Whatever is struck, a hold opens only after a press of its own: the key went down at least
    /// a second ago, has not come up since, and no other key was down or went down meanwhile.
    #[test]
    fn random_strokes_never_open_a_hold(strokes in prop::collection::vec(any_stroke(), 1..60)) {
        let mut keys = Keys::new();
        let view = hold();
        let (mut at, mut down, mut alone) = (0, Vec::<Key>::new(), None::<(Key, u64)>);
        for (key, edge, later) in strokes {
            let key = ALL[key];
            at += later;
            let before = keys.tick(&view, ms(at));
            if before == Some(held(0)) {
                prop_assert!(alone.is_some_and(|(_, since)| at - since >= 1000), "at {at}");
                alone = None;
            }
            let act = keys.stroke(&view, Stroke { key, edge, at: ms(at) });
            if act == Some(held(0)) {
                prop_assert!(alone.is_some_and(|(own, since)| own == key && at - since >= 1000));
            }
            match edge {
                Edge::Down => {
                    down.retain(|other| *other != key);
                    alone = down.is_empty().then_some((key, at));
                    // A touch on the list ends with the list, whether its end is told or not.
                    if key != Key::Choice(0) {
                        down.push(key);
                    }
                }
                Edge::Up => {
                    down.retain(|other| *other != key);
                    alone = alone.filter(|(own, _)| *own != key);
                }
                Edge::Lost => (down, alone) = (Vec::new(), None),
                Edge::Repeat => {}
            }
        }
    }

    /// In a terminal, strokes more than a gap apart never open a hold.
    #[test]
    fn random_terminal_taps_never_open_a_hold(
        taps in prop::collection::vec((0..ALL.len(), 701_u64..3000), 1..60)
    ) {
        let mut keys = Keys::without_release();
        let mut at = 0;
        for (key, later) in taps {
            at += later;
            let stroke = Stroke { key: ALL[key], edge: Edge::Down, at: ms(at) };
            prop_assert_ne!(keys.stroke(&hold(), stroke), Some(held(0)));
            prop_assert_ne!(keys.tick(&hold(), ms(at + 650)), Some(held(0)));
        }
    }
}
