//! The window's face, drawn by the real renderer and looked at by assertion.
//!
//! Letter height: h = 2·D·tan(θ/2). NUREG-0700 1.3.1-4 asks for at least 16 minutes of arc and
//! prefers 20 to 22; at 3 m that is 14.0 mm and 19.2 mm of capital height. On a 24-inch screen of
//! 1920x1080 (91.8 pixels an inch) these are 50.5 and 69.4 pixels. Contrast: WCAG 2, 7:1 for words,
//! 3:1 for the parts of a drawing.
#![allow(clippy::unwrap_used, clippy::expect_used)]

#[path = "support/headless.rs"]
mod headless;
#[path = "support/views.rs"]
mod views;

use std::sync::mpsc;

use benchcall::show::FaceNews;
use benchcall::show::keys::{Edge, Key};
use benchcall::show::view::{BoltState, SayLine, Tone, View};
use benchcall::show::window::Window;
use headless::{Shot, grey, shot, window, window_with_news};
use i_slint_backend_testing::ElementHandle;
use slint::ComponentHandle;
use slint::platform::{PointerEventButton, WindowEvent};

/// Capital height of B612 Bold as a share of the size of type, from the font's own table.
const CAPITAL: f32 = 0.75;

/// Capital height that subtends `minutes` of arc at 3 m, in pixels of a 24-inch 1080p screen.
fn capital_at_three_metres(minutes: f32) -> f32 {
    let height_mm = 2.0 * 3000.0 * (minutes / 60.0 / 2.0).to_radians().tan();
    height_mm / 25.4 * 91.8
}

/// The capital height of the call as drawn.
fn capital_of_call(view: &View) -> f32 {
    let window = window(1920, 1080, true);
    window.put(view, 0.0);
    window.component().get_call_size() * CAPITAL
}

#[test]
fn a_short_call_is_read_at_three_metres_with_ease() {
    let preferred = capital_at_three_metres(22.0);
    assert!((preferred - 69.4).abs() < 0.1, "{preferred}");
    for view in [
        views::step(),
        views::tightening(),
        views::hold(),
        views::question(),
    ] {
        let capital = capital_of_call(&view);
        assert!(capital >= preferred, "{}: {capital} px", view.call);
    }
}

#[test]
fn a_call_of_240_characters_is_read_at_three_metres() {
    let least = capital_at_three_metres(16.0);
    let call = views::long_call();
    assert_eq!(call.chars().count(), 240);
    let capital = capital_of_call(&View {
        call,
        ..views::step()
    });
    assert!(capital >= least, "{capital} px of {least}");
}

#[test]
fn the_way_forward_is_read_at_three_metres() {
    let window = window(1920, 1080, true);
    window.put(&views::step(), 0.0);
    assert!(window.component().get_way_size() * CAPITAL >= capital_at_three_metres(16.0));
}

/// The widths of words in 68 pixels of B612 Bold as another renderer sets them: ImageMagick's
/// `convert -font B612-Bold.otf -pointsize 68 -density 72 label:WORDS -format %w info:`. At 16 minutes of arc
/// the type is 67.3 pixels.
const WIDE_AT_68: [(&str, f32); 6] = [
    ("previous instruction", 650.0),
    ("assistance required", 620.0),
    ("cancel countdown", 589.0),
    ("add five minutes", 546.0),
    ("time remaining", 494.0),
    ("disregard", 302.0),
];

/// As many other words as the program puts there, the longest of them, on a step and at a hold.
#[test]
fn the_other_words_at_the_foot_are_read_at_three_metres() {
    for (view, others) in [
        (views::step(), &WIDE_AT_68[..4]),
        (views::waiting(), &WIDE_AT_68[2..]),
        (views::hold(), &WIDE_AT_68[..2]),
    ] {
        let mut view = view;
        view.may_say.truncate(1);
        view.may_say.extend(others.iter().map(|(say, _)| SayLine {
            say: (*say).to_string(),
            does: "does what it says".to_string(),
            key: "hold Z".to_string(),
            at_foot: true,
        }));
        for dark in [true, false] {
            let window = window(1920, 1080, dark);
            let shot = shot(
                &window,
                &view,
                0.0,
                &format!("foot-{}-{dark}", others.len()),
            );
            for (say, wide) in others {
                let place = shown(&window, say).pop().unwrap();
                let ink = ink_width(&shot, &place);
                assert!(
                    ink >= wide * 67.3 / 68.0 * 0.97,
                    "{say}: {ink} px of {wide}"
                );
            }
        }
    }
}

/// How many columns lie between the first and the last with ink in an element.
fn ink_width(shot: &Shot, element: &ElementHandle) -> f32 {
    let (ground, _) = ground_and_ink(shot, element);
    let (at, size) = (element.absolute_position(), element.size());
    let rows = at.y.max(0.0) as usize..((at.y + size.height) as usize).min(shot.height);
    let inked = |x: &usize| {
        let mut rows = rows.clone();
        rows.any(|y| (grey(shot.at(*x, y)) - grey(ground)).abs() > 0.3)
    };
    let columns = at.x.max(0.0) as usize..((at.x + size.width) as usize).min(shot.width);
    let inked: Vec<usize> = columns.filter(inked).collect();
    match (inked.first(), inked.last()) {
        (Some(first), Some(last)) => (last - first + 1) as f32,
        _ => 0.0,
    }
}

#[test]
fn one_very_long_word_shrinks_until_it_fits() {
    let word = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft";
    for view in [views::step(), views::tightening(), views::hold()] {
        let window = window(1920, 1080, true);
        shot(
            &window,
            &View {
                call: word.to_string(),
                ..view
            },
            0.0,
            "long-word",
        );
        let size = window.component().get_call_size();
        let shown = shown(&window, word);
        let widest = shown
            .iter()
            .map(|element| element.size().width)
            .fold(0.0, f32::max);
        // A letter of B612 Bold is on average wider than 0.45 of its size: the word on one line
        // must be at least that wide, so it was not broken, and must not be wider than its place.
        assert!(
            size * 0.45 * word.chars().count() as f32 <= widest,
            "{size} in {widest}"
        );
    }
}

/// The elements on the face that carry this label and can be seen.
fn shown(window: &Window, label: &str) -> Vec<ElementHandle> {
    ElementHandle::find_by_accessible_label(window.component(), label)
        .filter(|element| element.size().width > 0.0 && element.size().height > 0.0)
        .collect()
}

#[test]
fn everything_of_the_view_is_on_the_face() {
    for dark in [true, false] {
        let window = window(1920, 1080, dark);
        for (name, view) in views::all() {
            shot(
                &window,
                &view,
                0.0,
                &format!("{name}-{}", if dark { "dark" } else { "light" }),
            );
            let mut labels = vec![view.place.clone(), view.ears.state.clone()];
            if view.list.lines.is_empty() {
                labels.push(view.call.clone());
                labels.push(view.detail.clone());
                labels.extend(
                    view.cautions
                        .iter()
                        .flat_map(|c| [c.signal.clone(), c.text.clone()]),
                );
            }
            labels.push(view.list.title.clone());
            labels.extend(view.list.lines.iter().cloned());
            labels.extend(view.may_say.iter().skip(1).map(|line| line.say.clone()));
            let answer_hidden = view.tone == Tone::Hold && !view.list.lines.is_empty();
            if let Some(first) = view.may_say.first().filter(|_| !answer_hidden) {
                labels.extend([
                    format!("“{}”", first.say),
                    first.does.clone(),
                    first.key.clone(),
                ]);
            }
            labels.extend(view.may_say.iter().skip(1).map(|line| line.key.clone()));
            labels.extend(view.notices.iter().cloned());
            if view.typed.is_empty() {
                labels.extend([format!("“{}”", view.heard), view.outcome.clone()]);
                labels.push(if view.taken { "Taken" } else { "Not taken" }.to_string());
            }
            labels.push(view.typed.clone());
            labels.push(view.tone.word().to_string());
            if view.tone == Tone::Hold {
                labels.push("HOLD".to_string());
            }
            // A list, or what is called of a wait, has the face to itself.
            let beside = view.list.lines.is_empty() && view.tone != Tone::Due;
            for wait in view.waits.iter().filter(|_| beside) {
                labels.extend([wait.name.clone(), wait.left.clone()]);
            }
            if let Some(circle) = view.circle.as_ref().filter(|_| beside) {
                labels.push(format!("{} {}", circle.torque, circle.pass));
                labels.push(circle.pass.clone());
                labels.extend(circle.torque.split(' ').map(String::from));
                for bolt in &circle.bolts {
                    let state = match bolt.state {
                        BoltState::Open => "open",
                        BoltState::Next => "next",
                        BoltState::Done => "done",
                    };
                    labels.push(format!("{} {}: {state}", circle.called, bolt.number));
                }
            }
            if view.list.lines.is_empty() {
                assert_eq!(
                    shown(&window, &view.call).len(),
                    1,
                    "{name}: the call stands once"
                );
            }
            for label in labels.iter().filter(|label| !label.is_empty()) {
                assert!(!shown(&window, label).is_empty(), "{name} lacks “{label}”");
            }
        }
    }
}

#[test]
fn a_text_that_no_size_can_hold_is_told_to_be_cut() {
    let window = window(1920, 1080, true);
    let call = "Lower the axle slowly. ".repeat(300);
    window.put(
        &View {
            call: call.clone(),
            ..views::step()
        },
        0.0,
    );
    let call = shown(&window, &call).pop().unwrap();
    assert_eq!(call.accessible_description().unwrap(), "cut short");
}

#[test]
fn no_text_is_cut_or_sticks_out() {
    for (width, height) in [(1920, 1080), (1280, 720), (1024, 768)] {
        let window = window(width, height, true);
        for (name, view) in views::all() {
            window.put(&view, 0.0);
            for text in texts(&window) {
                let label = text.accessible_label().unwrap_or_default();
                let told = text.accessible_description().unwrap_or_default();
                assert!(told.is_empty(), "{name} at {width}: “{label}” is {told}");
                let (at, size) = (text.absolute_position(), text.size());
                let inside = at.x >= -0.5
                    && at.y >= -0.5
                    && at.x + size.width <= width as f32 + 0.5
                    && at.y + size.height <= height as f32 + 0.5;
                assert!(
                    inside,
                    "{name} at {width}: “{label}” sticks out: {at:?} {size:?}"
                );
            }
        }
    }
}

/// Every text that can be seen and has letters.
fn texts(window: &Window) -> Vec<ElementHandle> {
    ElementHandle::find_by_element_type_name(window.component(), "Text")
        .filter(|text| text.size().width > 0.0 && text.size().height > 0.0)
        .filter(|text| {
            text.accessible_label()
                .is_some_and(|label| !label.is_empty())
        })
        .collect()
}

#[test]
fn no_two_texts_overlap() {
    let window = window(1920, 1080, true);
    for (name, view) in views::all() {
        window.put(&view, 0.0);
        let texts = texts(&window);
        for (index, one) in texts.iter().enumerate() {
            for other in &texts[index + 1..] {
                let (a, b) = (one.absolute_position(), other.absolute_position());
                let wide = (a.x + one.size().width).min(b.x + other.size().width) - a.x.max(b.x);
                let tall = (a.y + one.size().height).min(b.y + other.size().height) - a.y.max(b.y);
                assert!(
                    wide <= 1.0 || tall <= 8.0,
                    "{name}: “{}” and “{}” overlap by {wide} x {tall}",
                    one.accessible_label().unwrap_or_default(),
                    other.accessible_label().unwrap_or_default(),
                );
            }
        }
    }
}

/// The contrast of two colours by WCAG 2.
fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let luminance = |colour: [u8; 3]| {
        let [r, g, b] = colour.map(|part| {
            let part = f64::from(part) / 255.0;
            if part <= 0.04045 {
                part / 12.92
            } else {
                ((part + 0.055) / 1.055).powf(2.4)
            }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (luminance(one), luminance(other));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn contrast_agrees_with_published_values() {
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 0.01);
    assert!((contrast([0x76; 3], [255; 3]) - 4.54).abs() < 0.01);
    assert!((contrast([0, 0, 255], [255; 3]) - 8.59).abs() < 0.01);
}

/// The ground of an element (its commonest pixel) and the pixel that differs most from it.
fn ground_and_ink(shot: &Shot, element: &ElementHandle) -> ([u8; 3], [u8; 3]) {
    let (at, size) = (element.absolute_position(), element.size());
    let mut pixels = Vec::new();
    for y in at.y as usize..((at.y + size.height) as usize).min(shot.height) {
        let row = y * shot.width;
        let end = ((at.x + size.width) as usize).min(shot.width);
        pixels.extend_from_slice(&shot.pixels[row + at.x as usize..row + end]);
    }
    pixels.sort_unstable();
    let runs = pixels.chunk_by(|a, b| a == b);
    let counts: Vec<([u8; 3], usize)> = runs.map(|run| (run[0], run.len())).collect();
    let ground = counts.iter().max_by_key(|(_, count)| *count).unwrap().0;
    let by_contrast = |a: &&([u8; 3], usize), b: &&([u8; 3], usize)| {
        contrast(a.0, ground).total_cmp(&contrast(b.0, ground))
    };
    (ground, counts.iter().max_by(by_contrast).unwrap().0)
}

#[test]
fn words_stand_out_from_their_ground_as_drawn() {
    for dark in [true, false] {
        let window = window(1920, 1080, dark);
        for (name, view) in views::all() {
            let shot = shot(&window, &view, 0.0, "measured");
            for text in texts(&window) {
                // White on the safety red and blue is large type, for which 4.5:1 is the same grade.
                let label = text.accessible_label().unwrap_or_default();
                let signal = ["DANGER", "WARNING", "CAUTION", "NOTICE"].contains(&label.as_str());
                let least = if signal { 4.5 } else { 7.0 };
                let (ground, ink) = ground_and_ink(&shot, &text);
                let found = contrast(ground, ink);
                assert!(
                    found >= least,
                    "{name}, dark {dark}: “{label}” has {found:.1}:1"
                );
            }
        }
    }
}

#[test]
fn a_hold_differs_from_a_step_by_far_and_by_its_frame() {
    for dark in [true, false] {
        let window = window(1920, 1080, dark);
        let hold = shot(&window, &views::hold(), 0.0, "measured");
        for (name, view) in views::all() {
            if view.tone == Tone::Hold {
                continue;
            }
            let other = shot(&window, &view, 0.0, "measured");
            let share = hold.differs_from(&other);
            assert!(share > 0.5, "{name}, dark {dark}: only {share:.2} differs");
            assert!(!framed(&other), "{name} has the frame of a hold");
        }
        assert!(framed(&hold));
    }
}

/// Whether a band of one colour runs around the face and differs plainly from the ground within.
fn framed(shot: &Shot) -> bool {
    let edge = shot.at(10, 10);
    let (w, h) = (shot.width, shot.height);
    let around = (0..w).flat_map(|x| [(x, 10), (x, h - 11)]);
    let around = around.chain((0..h).flat_map(|y| [(10, y), (w - 11, y)]));
    around.into_iter().all(|(x, y)| shot.at(x, y) == edge)
        && (grey(edge) - grey(shot.at(36, h / 2))).abs() > 0.5
}

#[test]
fn a_hold_is_told_by_shape_with_its_ground_turned_back() {
    // The hold of the light theme has the dark theme's ground: the colours are the same, and what
    // differs is form alone.
    let dark = window(1920, 1080, true);
    let step = shot(&dark, &views::step(), 0.0, "measured");
    let light = window(1920, 1080, false);
    let hold = shot(&light, &views::hold(), 0.0, "measured");
    assert!(
        hold.differs_from(&step) > 0.12,
        "{}",
        hold.differs_from(&step)
    );
    assert!(framed(&hold) && !framed(&step));
}

#[test]
fn tones_differ_from_each_other_in_grey() {
    let window = window(1920, 1080, true);
    // The same words under each tone, so that only the tone's own shape can differ.
    let mut shots = Vec::new();
    for tone in [
        Tone::Step,
        Tone::Question,
        Tone::Waiting,
        Tone::Paused,
        Tone::Stopped,
        Tone::Finished,
    ] {
        let view = View {
            tone,
            ..views::step()
        };
        shots.push((tone, shot(&window, &view, 0.0, "measured")));
    }
    for (index, (tone, one)) in shots.iter().enumerate() {
        for (other_tone, other) in &shots[index + 1..] {
            let share = one.differs_from(other);
            assert!(share > 0.01, "{tone:?} and {other_tone:?}: {share:.4}");
        }
    }
}

/// Middle and size of every bolt that is drawn, by label.
fn spots(window: &Window) -> std::collections::HashMap<String, (f32, f32, f32)> {
    let spots = ElementHandle::find_by_element_type_name(window.component(), "Spot");
    let seen = spots.filter(|spot| {
        spot.accessible_label()
            .is_some_and(|label| !label.is_empty())
    });
    seen.map(|spot| {
        let (at, size) = (spot.absolute_position(), spot.size().width);
        let label = spot.accessible_label().unwrap_or_default().to_string();
        (label, (at.x + size / 2.0, at.y + size / 2.0, size))
    })
    .collect()
}

#[test]
fn the_next_bolt_is_found_without_colour() {
    for dark in [true, false] {
        for bolts in [3, 5, 8, 24, 64] {
            let window = window(1920, 1080, dark);
            let done: Vec<u32> = (1..=bolts).filter(|number| number % 3 == 0).collect();
            let next = 1 + bolts / 2;
            let mut view = views::tightening();
            view.circle = Some(views::circle(bolts, &done, next));
            let shot = shot(&window, &view, 0.0, &format!("circle-{bolts}-{dark}"));
            let ground = grey(shot.at(1900, 300));
            let spots = spots(&window);
            let spot = |number: u32, state: &str| spots[&format!("nut {number}: {state}")];
            // How far the fill, between the number and the rim, stands out from the ground.
            let fill = |(x, y, size): (f32, f32, f32)| {
                (grey(shot.at(x as usize, (y - size * 0.37) as usize)) - ground).abs()
            };
            let next = spot(next, "next");
            for number in (1..=bolts).filter(|number| *number != 1 + bolts / 2) {
                let other = spot(
                    number,
                    if done.contains(&number) {
                        "done"
                    } else {
                        "open"
                    },
                );
                assert!(
                    next.2 > other.2 * 1.2,
                    "{bolts} bolts: {number} is as big as the next"
                );
                // Where there are many, the next one lies over its neighbours.
                let covered = (next.0 - other.0).hypot(next.1 - other.1) < next.2 * 0.7;
                assert!(
                    covered || fill(next) > fill(other) + 0.2,
                    "{bolts} bolts: {number}"
                );
            }
        }
    }
}

#[test]
fn bolts_do_not_touch_each_other() {
    let window = window(1920, 1080, true);
    for bolts in 1..=64 {
        let mut view = views::tightening();
        view.circle = Some(views::circle(bolts, &[], 1));
        window.put(&view, 0.0);
        let spots = spots(&window);
        let spot = |number: u32| spots[&format!("nut {number}: open")];
        // Between open bolts; the next one may lie over its neighbours where there are many.
        for number in 2..bolts {
            let (a, b) = (spot(number), spot(number + 1));
            let apart = (a.0 - b.0).hypot(a.1 - b.1);
            assert!(
                apart > (a.2 + b.2) / 2.0,
                "{bolts} bolts: {number} touches the next"
            );
        }
    }
}

/// Counted along the rows from the top left, each where its number says, apart from all others.
#[test]
fn bolts_in_rows_stand_where_they_are() {
    let window = window(1920, 1080, true);
    for (bolts, columns) in [(2, 1), (3, 3), (6, 3), (10, 5), (20, 4), (64, 16), (64, 4)] {
        let mut view = views::in_rows();
        view.circle = Some(views::rows(bolts, columns, &[], 1));
        window.put(&view, 0.0);
        let spots = spots(&window);
        let spot = |number: u32| {
            let state = if number == 1 { "next" } else { "open" };
            spots[&format!("nut {number}: {state}")]
        };
        for a in 1..=bolts {
            for b in a + 1..=bolts {
                let (one, other) = (spot(a), spot(b));
                let apart = (one.0 - other.0).hypot(one.1 - other.1);
                assert!(apart > (one.2 + other.2) / 2.0, "{a} touches {b}");
                let row = |number: u32| (number - 1) / columns;
                let column = |number: u32| (number - 1) % columns;
                let (right, down) = (other.0 - one.0, other.1 - one.1);
                assert_eq!(row(a) == row(b), down.abs() < 1.0, "{a} and {b}");
                assert_eq!(column(a) < column(b), right > 1.0, "{a} and {b}");
            }
        }
    }
}

#[test]
fn pressing_and_holding_is_seen() {
    for view in [views::hold(), views::step()] {
        let window = window(1920, 1080, true);
        let before = shot(&window, &view, 0.0, "measured");
        let half = shot(&window, &view, 0.5, "half-held");
        let full = shot(&window, &view, 1.0, "measured");
        assert!(half.differs_from(&before) > 0.001);
        assert!(full.differs_from(&half) > 0.001);
    }
}

#[test]
fn nothing_of_an_earlier_view_stays_on_the_face() {
    let used = window(640, 360, true);
    let views = views::all();
    // There and back, so that every view follows one of each neighbour.
    for (name, view) in views.iter().chain(views.iter().rev()) {
        let after_another = shot(&used, view, 0.0, "measured");
        let alone = shot(&window(640, 360, true), view, 0.0, "measured");
        assert!(
            after_another.pixels == alone.pixels,
            "{name} shows something of the view before"
        );
    }
}

#[test]
fn a_new_picture_is_told_once_when_it_is_drawn() {
    let (sender, news) = mpsc::channel();
    let window = window_with_news(640, 360, true, move |one| sender.send(one).unwrap());
    let drawn = || {
        window.picture().unwrap();
        slint::platform::update_timers_and_animations();
        news.try_iter()
            .filter(|one| *one == FaceNews::Drawn)
            .count()
    };
    window.put(&views::step(), 0.0);
    assert_eq!(news.try_iter().count(), 0, "nothing is drawn yet");
    assert_eq!(drawn(), 1);
    assert_eq!(drawn(), 0, "the same picture again is no news");
    window.put(&views::hold(), 0.0);
    assert_eq!(drawn(), 1);
}

#[test]
fn keys_and_touches_are_told_as_strokes() {
    let (sender, news) = mpsc::channel();
    let window = window_with_news(1920, 1080, true, move |one| sender.send(one).unwrap());
    shot(&window, &views::step(), 0.0, "measured");
    let told = || {
        let strokes = news.try_iter().filter_map(|one| match one {
            FaceNews::Stroke(stroke) => Some((stroke.key, stroke.edge)),
            FaceNews::Drawn | FaceNews::Closed => None,
        });
        strokes.collect::<Vec<_>>()
    };
    told();
    let surface = window.component().window();
    let key = |text: slint::SharedString| {
        surface.dispatch_event(WindowEvent::KeyPressed { text: text.clone() });
        surface.dispatch_event(WindowEvent::KeyPressRepeated { text: text.clone() });
        surface.dispatch_event(WindowEvent::KeyReleased { text });
    };
    key(slint::platform::Key::PageDown.into());
    let edges = [Edge::Down, Edge::Repeat, Edge::Up];
    assert_eq!(told(), edges.map(|edge| (Key::PageDown, edge)));
    key("A".into());
    assert_eq!(told(), edges.map(|edge| (Key::Letter('a'), edge)));

    let line = shown(&window, "say again").pop().unwrap();
    let position = slint::LogicalPosition::new(
        line.absolute_position().x + 8.0,
        line.absolute_position().y + 8.0,
    );
    let button = PointerEventButton::Left;
    surface.dispatch_event(WindowEvent::PointerPressed { position, button });
    surface.dispatch_event(WindowEvent::PointerReleased { position, button });
    assert_eq!(
        told(),
        [(Key::Line(2), Edge::Down), (Key::Line(2), Edge::Up)]
    );
}

#[test]
fn the_compiler_of_the_face_found_no_binding_loop() {
    // Cargo keeps what the build script said next to its output directory.
    let said = std::fs::read_to_string(concat!(env!("OUT_DIR"), "/../output")).unwrap();
    assert!(
        said.contains("cargo:"),
        "this is not the output of a build script"
    );
    assert!(!said.to_lowercase().contains("binding loop"), "{said}");
}
