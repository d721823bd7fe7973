//! Whether every step can be read from afar: each of its pictures is laid out as the window does it, on a
//! window that nobody sees, and the type of call and cautions is measured.

use super::compose::{self, Surroundings};
use super::view::{EarsView, View};
use super::window::{self, Window};
use crate::clock::Hours;
use crate::procedure::{Procedure, Requirement, Step};
use crate::run::{Event, Figure, Run, Time};
use crate::trade::legibility::{Apparent, Screen};
use crate::trade::quantity::{Length, Share};
use crate::wording::Wording;

/// Of the face's font, the part its capitals are high: from the font's own table.
const CAPITALS: Share = Share::percent(75.0);

/// The size at which a caution stands where it has room, as a part of the screen's height.
const FULL_CAUTION: f64 = 70.0 / 1080.0;

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

/// Finds what of `procedure` cannot be read: for each step its call and its cautions, where too small. The
/// least angle of NUREG-0700 counts, 16 minutes of arc.
///
/// # Errors
/// A distance or a screen that cannot be, or a window that cannot be made.
pub fn too_small(procedure: &Procedure, from: ReadFrom) -> Result<Vec<TooSmall>, String> {
    let screen = Screen::by_diagonal(from.across, from.down, from.diagonal);
    let screen = screen.map_err(|error| error.to_string())?;
    let smallest = screen.smallest_type(from.distance, Apparent::Least, CAPITALS);
    let needed = smallest.map_err(|error| error.to_string())?.result.font.0;
    // The platform of a window belongs to its thread: this one must not take the face's.
    std::thread::scope(|scope| {
        let measuring = scope.spawn(|| {
            let window = window::unseen(from.across, from.down)?;
            let steps = 0..procedure.steps.len();
            let found = steps.flat_map(|step| measured(&window, procedure, step, from, needed));
            Ok(found.collect())
        });
        let found = measuring.join();
        found.unwrap_or_else(|_| Err("The measuring of type broke off".into()))
    })
}

/// Returns the smallest type of each part of a step that is too small.
fn measured(
    window: &Window,
    procedure: &Procedure,
    step: usize,
    from: ReadFrom,
    needed: u32,
) -> Vec<TooSmall> {
    let unit = f64::from(from.down).min(f64::from(from.across) * 9.0 / 16.0);
    let full = (FULL_CAUTION * unit) as f32 - 1.0;
    let mut smallest: [Option<f32>; 2] = [None, None];
    for view in pictures(procedure, step) {
        window.put(&view, 0.0);
        let (call, cautions) = window.type_sizes();
        for (known, size) in smallest.iter_mut().zip([Some(call), cautions]) {
            *known = [*known, size].into_iter().flatten().reduce(f32::min);
        }
    }
    let [call, cautions] = smallest;
    let crowded = cautions.filter(|size| *size < full);
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

/// Returns the pictures of a step: one for each thing that it asks for.
fn pictures(procedure: &Procedure, number: usize) -> Vec<View> {
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
    run.apply(&Event::Began);
    let mut pictures = Vec::new();
    for part in 0..parts {
        pictures.push(compose::view(&run, Time::UNIX_EPOCH, &surroundings()));
        let next = match run.requirement() {
            // Some figure within the limits: what comes of it is laid out too.
            Some(Requirement::Reading(reading)) => {
                let decimals = usize::from(reading.decimals);
                let width = usize::from(reading.digits) + decimals + usize::from(decimals > 0);
                let middle = f64::midpoint(reading.low, reading.high);
                let figure = format!("{middle:0width$.decimals$}").parse::<Figure>();
                figure.ok().map(|figure| Event::ReadingTaken {
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

fn surroundings() -> Surroundings {
    Surroundings {
        heard: String::new(),
        outcome: String::new(),
        taken: true,
        notices: Vec::new(),
        ears: EarsView::default(),
        hours: Hours {
            offset: chrono::Offset::fix(&chrono::Utc),
            change: None,
        },
        drowned: false,
        wording: Wording::default(),
    }
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

    const CAUTION: &str =
        "(signal: Danger, say: \"From here until it is down only the jack carries: no hand.\"),";

    fn hold(cautions: usize) -> String {
        format!(
            "(id: \"lower\", say: \"Lower it.\", cautions: [{}],
              hold: (ask: \"What carries the load now?\", answer: \"tyre carries load\"))",
            CAUTION.repeat(cautions)
        )
    }

    #[test]
    fn a_short_call_is_read_across_the_shop_and_not_across_the_yard() {
        let step = "(id: \"spin\", say: \"Turn the wheel by hand.\")";
        assert_eq!(small(step, 3.0), []);
        assert_eq!(small(step, 20.0), [(0, Part::Call)]);
    }

    #[test]
    fn a_hold_with_four_cautions_is_found() {
        assert_eq!(small(&hold(4), 3.0), [(0, Part::Crowded)]);
        assert_eq!(small(&hold(1), 3.0), []);
        assert_eq!(small(&hold(1), 1.5), []);
    }
}
