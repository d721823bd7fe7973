//! Whether every step can be read from afar: each of its pictures is laid out as the window does it, on a
//! window that nobody sees, and the type of call and cautions is measured.

use super::compose::{self, Surroundings};
use super::view::View;
use super::window::{self, Window};
use crate::procedure::{Procedure, Requirement, Step};
use crate::run::cautions::Lines;
use crate::run::{Event, Figure, Room, Run, Time};
use crate::trade::legibility::{Apparent, Screen};
use crate::trade::quantity::{Length, Share};

/// Of the face's font, the part its capitals are high: from the font's own table.
const CAPITALS: Share = Share::percent(75.0);

/// The height of the face in its own units: all sizes of its files are in them.
const UNITS_DOWN: f64 = 1080.0;

/// The size at which a caution stands beside a call where it has room, and on a page of its own, in units.
const FULL_CAUTION: f64 = 70.0;
const FULL_PAGE: f64 = 150.0;

/// The size at which a short call stands, in units.
const FULL_CALL: f64 = 190.0;

/// The sizes that text is set in, as shares of the largest (`ui/fit-text.slint`).
const SIZES: [f64; 14] = [
    1.0, 0.88, 0.77, 0.68, 0.60, 0.53, 0.46, 0.41, 0.36, 0.31, 0.26, 0.22, 0.18, 0.14,
];

/// Of the face's font, the height of a line, and the width of a letter in English text with some to spare,
/// as parts of its size: measured on it.
const LINE: f64 = 1.27;
const LETTER: f64 = 0.52;
const BOLD: f64 = 0.58;

/// From where the face is to be read, and how it is seen.
#[derive(Debug, Clone, Copy)]
pub struct ReadFrom {
    pub distance: Length,
    /// The screen's diagonal.
    pub diagonal: Length,
    pub across: u32,
    pub down: u32,
}

/// What of a step stands in type that is too small.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    Call,
    /// Cautions that are shrunk by their number or their length.
    Crowded,
    /// Cautions at the face's full size.
    Cautions,
}

/// Type of a step that cannot be read from the distance.
#[derive(Debug, Clone, PartialEq)]
pub struct TooSmall {
    /// The number of the step, from 0.
    pub step: usize,
    pub part: Part,
    /// The size of the font, in pixels.
    pub size: f32,
    pub needed: u32,
    /// From where it can be read.
    pub readable: Length,
}

impl ReadFrom {
    /// Returns the smallest size of type that can be read, in pixels. The least angle of NUREG-0700 counts,
    /// 16 minutes of arc.
    fn needed(self) -> Result<u32, String> {
        let screen = Screen::by_diagonal(self.across, self.down, self.diagonal);
        let screen = screen.map_err(|error| error.to_string())?;
        let smallest = screen.smallest_type(self.distance, Apparent::Least, CAPITALS);
        Ok(smallest.map_err(|error| error.to_string())?.result.font.0)
    }

    /// Returns one of the face's units in pixels.
    fn unit(self) -> f64 {
        f64::from(self.down).min(f64::from(self.across) * 9.0 / 16.0) / UNITS_DOWN
    }
}

/// Returns how much fits beside a call in type that can be read from there, by the measures of
/// `ui/face.slint`, `call.slint` and `hold.slint`. Letters are counted with some to spare: what is taken to
/// fit does, though not all that would is.
///
/// # Errors
/// A distance or a screen that cannot be.
pub fn room(from: ReadFrom) -> Result<Room, String> {
    let least = (f64::from(from.needed()?) - 0.5) / from.unit();
    let sizes = SIZES.iter().rev().map(|share| share * FULL_CAUTION);
    let Some(size) = sizes.into_iter().find(|size| *size >= least) else {
        let none = Vec::new;
        return Ok(Room {
            open: none(),
            with_waits: none(),
            drawn: none(),
            long: none(),
            held: none(),
        });
    };
    const ACROSS: f64 = 1824.0;
    const DOWN: f64 = 554.0;
    const WAITS: f64 = 440.0 + 36.0;
    let drawing = DOWN + 36.0;
    let detail = 0.15 * DOWN;
    let of_call = |count: f64| match count {
        1.0 => f64::min(250.0, 0.4 * DOWN),
        _ => f64::min(count * 196.0, 0.65 * DOWN),
    };
    // A call is bold.
    let of_calls = SIZES.iter().rev().map(|share| share * FULL_CALL);
    let call = of_calls.into_iter().find(|size| *size >= least);
    let place = |across: f64, detail: f64, down: &dyn Fn(f64) -> f64| {
        let fits = |count: u8| {
            let left = DOWN - down(count.into()) - detail - 16.0;
            let (call_lines, call_letters) = call.map_or((0, 0), |size| {
                let lines = (left / (LINE * size)).max(0.0);
                (lines as usize, (across / (BOLD * size)) as usize)
            });
            let panel = (down(count.into()) - f64::from(count - 1) * 10.0) / f64::from(count);
            let scale = f64::min(1.75, panel / 82.0);
            Lines {
                lines: ((panel - 10.0) / (LINE * size)).max(0.0) as usize,
                letters: ((across - 306.0 * scale) / (LETTER * size)).max(0.0) as usize,
                call_lines,
                call_letters,
            }
        };
        (1..=MOST_BESIDE).map(fits).collect::<Vec<Lines>>()
    };
    Ok(Room {
        open: place(ACROSS, detail, &of_call),
        with_waits: place(ACROSS - WAITS, detail, &of_call),
        drawn: place(ACROSS - drawing, detail, &of_call),
        long: place(ACROSS - drawing, 0.2 * DOWN, &|count| {
            f64::min(count * 80.0, 0.46 * DOWN)
        }),
        held: place(1688.0, 294.0, &|_| 190.0),
    })
}

/// More cautions than this are never looked for beside a call.
const MOST_BESIDE: u8 = 6;

/// Finds what of `procedure` cannot be read: for each step its call and its cautions, where too small.
///
/// # Errors
/// A distance or a screen that cannot be, or a window that cannot be made.
pub fn too_small(procedure: &Procedure, from: ReadFrom) -> Result<Vec<TooSmall>, String> {
    let needed = from.needed()?;
    let room = room(from)?;
    // The platform of a window belongs to its thread: this one must not take the face's.
    std::thread::scope(|scope| {
        let measuring = scope.spawn(|| {
            let window = window::unseen(from.across, from.down)?;
            let steps = 0..procedure.steps.len();
            let found = steps.flat_map(|step| {
                let pictures = pictures(procedure, step, &room);
                measured(&window, step, &pictures, from, needed)
            });
            Ok(found.collect())
        });
        let found = measuring.join();
        found.unwrap_or_else(|_| Err("The measuring of type broke off".into()))
    })
}

/// Returns the smallest type of each part of a step that is too small.
fn measured(
    window: &Window,
    step: usize,
    pictures: &[View],
    from: ReadFrom,
    needed: u32,
) -> Vec<TooSmall> {
    let (mut call, mut cautions, mut crowded) = (None, None, None);
    let least = |known: &mut Option<f32>, size: f32| {
        *known = Some(known.map_or(size, |known: f32| known.min(size)));
    };
    for view in pictures {
        window.put(view, 0.0);
        let (size, caution) = window.type_sizes();
        let page = view.call.is_empty();
        if !page {
            least(&mut call, size);
        }
        let full = if page { FULL_PAGE } else { FULL_CAUTION };
        let full = (full * from.unit()) as f32 - 1.0;
        if let Some(size) = caution {
            least(&mut cautions, size);
            if size < full {
                least(&mut crowded, size);
            }
        }
    }
    let parts = [
        (Part::Call, call),
        (Part::Crowded, crowded),
        (Part::Cautions, cautions.filter(|_| crowded.is_none())),
    ];
    let small = parts.into_iter().filter_map(|(part, size)| {
        let size = size.filter(|size| f64::from(*size) < f64::from(needed) - 0.5)?;
        Some(TooSmall {
            step,
            part,
            size,
            needed,
            readable: from.distance * (f64::from(size) / f64::from(needed)),
        })
    });
    small.collect()
}

/// Returns the pictures of a step: the cautions before its call, and one for each thing that it asks for.
fn pictures(procedure: &Procedure, number: usize, room: &Room) -> Vec<View> {
    let step = Step {
        after: Some(Vec::new()),
        before: Vec::new(),
        needs: Vec::new(),
        forbidden_while: Vec::new(),
        ..procedure.steps[number].clone()
    };
    let id = step.id.clone();
    let parts = step.requirements().len();
    let mut alone = Procedure::new(
        procedure.title.clone(),
        procedure.subject.clone(),
        vec![step.clone()],
    );
    if number == 0 {
        alone.cautions = procedure.cautions.clone();
    }
    let mut run = Run::new(alone);
    run.show_in(room.clone());
    run.apply(&Event::Began);
    let mut pictures = Vec::new();
    while let Some(page) = run.caution_page() {
        let known = Event::CautionKnown {
            step: id.clone(),
            caution: page.caution.say.clone(),
            at: Time::UNIX_EPOCH,
        };
        pictures.push(compose::view(
            &run,
            Time::UNIX_EPOCH,
            &Surroundings::quiet(),
        ));
        run.apply(&known);
    }
    for part in 0..parts {
        pictures.push(compose::view(
            &run,
            Time::UNIX_EPOCH,
            &Surroundings::quiet(),
        ));
        let next = match run.requirement() {
            // Some figure within the limits: what comes of it is laid out too.
            Some(Requirement::Reading(reading)) => {
                let figure = Figure::of(reading, f64::midpoint(reading.low, reading.high));
                figure.map(|figure| Event::ReadingTaken {
                    step: id.clone(),
                    name: reading.name.clone(),
                    figure,
                })
            }
            _ => None,
        };
        if part + 1 < parts {
            run.apply(&next.unwrap_or(Event::WentBack {
                to: id.clone(),
                part: part + 1,
                tightened: 0,
            }));
        }
    }
    pictures
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dictionary::CmuDict;
    use crate::procedure::{NoModel, Speech, read};

    fn small(steps: &str, metres: f64) -> Vec<(usize, Part)> {
        let text = format!("(title: \"t\", subject: \"s\", steps: [{steps}])");
        let speech = Speech::standard(&NoModel, &CmuDict);
        let procedure = read("far.ron", text.as_bytes(), &speech).unwrap();
        let from = ReadFrom {
            distance: Length::metres(metres),
            diagonal: Length::inches(24.0),
            across: 1920,
            down: 1080,
        };
        let found = too_small(&procedure, from).unwrap();
        found.iter().map(|small| (small.step, small.part)).collect()
    }

    const CAUTIONS: [&str; 4] = [
        "From here until it is down only the jack carries: no hand.",
        "Nobody leans on the vehicle, nobody lies beneath it.",
        "Wet paint gives off vapour that burns: no spark and no flame.",
        "Fingers away from between wheel and drum.",
    ];

    fn cautions(count: usize) -> String {
        let caution = |say: &&str| format!("(signal: Danger, say: \"{say}\"),");
        let all: String = CAUTIONS.iter().take(count).map(caution).collect();
        format!("cautions: [{all}]")
    }

    fn hold(count: usize) -> String {
        format!(
            "(id: \"lower\", say: \"Lower it.\", {},
              hold: (ask: \"What carries the load now?\", answer: \"tyre carries load\"))",
            cautions(count)
        )
    }

    #[test]
    fn a_short_call_is_read_across_the_shop_and_not_across_the_yard() {
        let step = "(id: \"spin\", say: \"Turn the wheel by hand.\")";
        assert_eq!(small(step, 3.0), []);
        assert_eq!(small(step, 20.0), [(0, Part::Call)]);
    }

    #[test]
    fn cautions_that_do_not_fit_are_read_on_pages_of_their_own() {
        for count in 1..=4 {
            assert_eq!(small(&hold(count), 3.0), []);
            assert_eq!(small(&hold(count), 1.5), []);
        }
        let long = "Keep every hand and every foot out from beneath it. ".repeat(4);
        let step = format!(
            "(id: \"spin\", say: \"Turn it.\", cautions: [(signal: Danger, say: \"{long}\")])"
        );
        assert_eq!(small(&step, 3.0), [(0, Part::Crowded)]);
    }

    /// What is taken to fit beside a call does, and a third of what would is taken to at least.
    #[test]
    fn what_is_taken_to_fit_does() {
        let window = std::thread::spawn(|| {
            let from = ReadFrom {
                distance: Length::metres(2.0),
                diagonal: Length::inches(24.0),
                across: 1920,
                down: 1080,
            };
            let needed = from.needed().unwrap() as f32 - 0.5;
            let window = window::unseen(from.across, from.down).unwrap();
            let (mut taken, mut would) = (0, 0);
            let round =
                "fasten: (bolts: 4, order: Star, torque: \"40 N·m\", passes: [1.0], threads: Dry)";
            let long = "Turn it by hand until it stops. ".repeat(4);
            let ask = "hold: (ask: \"What carries it?\", answer: \"tyre carries load\")";
            let kinds = [
                ("Turn it.", ""),
                ("Turn it.", round),
                (long.as_str(), ""),
                ("Turn it.", ask),
            ];
            for (say, more) in kinds {
                for (count, first) in
                    (1..=4).flat_map(|count| (0..4).map(move |first| (count, first)))
                {
                    let mut texts: Vec<&str> = CAUTIONS.to_vec();
                    texts.rotate_left(first);
                    let all = texts
                        .iter()
                        .take(count)
                        .map(|say| format!("(signal: Danger, say: \"{say}\"),"));
                    let text = format!(
                        "(title: \"t\", subject: \"s\", steps: [(id: \"a\", say: \"{say}\", {more}{} cautions: [{}])])",
                        if more.is_empty() { "" } else { "," },
                        all.collect::<String>()
                    );
                    let speech = Speech::standard(&NoModel, &CmuDict);
                    let procedure = read("far.ron", text.as_bytes(), &speech).unwrap();
                    let mut run = Run::new(procedure);
                    run.apply(&Event::Began);
                    window.put(
                        &compose::view(&run, Time::UNIX_EPOCH, &Surroundings::quiet()),
                        0.0,
                    );
                    let fits = window.type_sizes().1.is_some_and(|size| size >= needed);
                    run.show_in(room(from).unwrap());
                    let thought = run.caution_page().is_none();
                    assert!(fits || !thought, "{text}");
                    taken += u32::from(thought);
                    would += u32::from(fits);
                }
            }
            (taken, would)
        });
        let (taken, would) = window.join().unwrap();
        assert!(taken * 3 >= would, "{taken} of {would}");
    }
}
