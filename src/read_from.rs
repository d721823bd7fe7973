//! `--read-from`: whether each step of a procedure can be read from where the person stands.

use std::ops::Range;
use std::str::FromStr;

use clap::Args;

use crate::complaint::Complaint;
use crate::procedure::{Finding, Procedure, StepId};
use crate::run::Room;
use crate::show::far::{Part, ReadFrom, TooSmall, room, too_small};
use crate::trade::quantity::Length;

/// From where the screen is read.
#[derive(Debug, Clone, Args)]
pub struct ReadFromArgs {
    /// From how far the screen is read, such as 3m: a step whose type is too small is refused.
    #[arg(long, value_name = "DISTANCE")]
    read_from: Option<Length>,
    /// The screen's diagonal.
    #[arg(long, value_name = "LENGTH", default_value = "24 in")]
    screen: Length,
    /// The screen's pixels across and down.
    #[arg(long, value_name = "PIXELS", default_value = "1920x1080")]
    pixels: Pixels,
}

impl Default for ReadFromArgs {
    fn default() -> ReadFromArgs {
        ReadFromArgs {
            read_from: None,
            screen: Length::inches(24.0),
            pixels: Pixels {
                across: 1920,
                down: 1080,
            },
        }
    }
}

/// From how far the screen is read where nobody says.
const ACROSS_THE_BENCH: Length = Length::metres(3.0);

/// Pixels across and down: `1920x1080`.
#[derive(Debug, Clone, Copy)]
struct Pixels {
    across: u32,
    down: u32,
}

impl FromStr for Pixels {
    type Err = String;

    fn from_str(text: &str) -> Result<Pixels, String> {
        let sides = text.split_once(['x', '×']);
        let sides = sides.and_then(|(across, down)| {
            let side = |side: &str| side.trim().parse::<u32>().ok();
            Some((side(across)?, side(down)?))
        });
        let held = |side: u32| (100..=20_000).contains(&side);
        match sides {
            Some((across, down)) if held(across) && held(down) => Ok(Pixels { across, down }),
            _ => Err("pixels are two numbers from 100 to 20000, such as 1920x1080".into()),
        }
    }
}

impl ReadFromArgs {
    fn from(&self, distance: Length) -> ReadFrom {
        ReadFrom {
            distance,
            diagonal: self.screen,
            across: self.pixels.across,
            down: self.pixels.down,
        }
    }

    /// Returns how much fits beside a call in type that can be read from there; where no distance was
    /// given, from 3 m.
    ///
    /// # Errors
    /// A distance or a screen that cannot be.
    pub fn room(&self) -> Result<Room, Complaint> {
        let distance = self.read_from.unwrap_or(ACROSS_THE_BENCH);
        room(self.from(distance)).map_err(cannot_tell)
    }

    /// Returns a finding for each step of the procedure in `source` that cannot be read from there, by
    /// its name; none where no distance was given.
    ///
    /// # Errors
    /// A distance or a screen that cannot be, or type that cannot be measured.
    pub fn findings(&self, procedure: &Procedure, source: &str) -> Result<Vec<Finding>, Complaint> {
        let Some(distance) = self.read_from else {
            return Ok(Vec::new());
        };
        let small = too_small(procedure, self.from(distance)).map_err(cannot_tell)?;
        let (plain, others): (Vec<TooSmall>, Vec<TooSmall>) = small
            .into_iter()
            .partition(|small| small.part == Part::Cautions);
        let mut findings: Vec<Finding> = others
            .iter()
            .map(|small| finding(small, procedure, source, distance))
            .collect();
        // At its full size a caution is as large as the face makes it: no step can mend that.
        let nearest = plain.iter().min_by(|a, b| a.size.total_cmp(&b.size));
        findings.extend(nearest.map(|small| {
            let id = &procedure.steps[small.step].id;
            let message = format!(
                "Cautions can be read from {:.1} m, not from {distance}: they are spoken before the call",
                small.readable.in_metres()
            );
            Finding::advice(place(source, id), message).label("here, and wherever there is one")
        }));
        findings.sort_by_key(|finding| finding.span.start);
        Ok(findings)
    }
}

fn cannot_tell(why: String) -> Complaint {
    Complaint::input("Cannot tell what can be read from there").because(why)
}

fn finding(small: &TooSmall, procedure: &Procedure, source: &str, distance: Length) -> Finding {
    let step = &procedure.steps[small.step];
    let (what, cure) = match small.part {
        Part::Call => (
            "its call stands",
            "split the step, or say it in fewer words",
        ),
        Part::Crowded | Part::Cautions => (
            "its cautions stand",
            "say the caution in fewer words, or as two",
        ),
    };
    let message = format!(
        "Step `{}` cannot be read from {distance}: {what} in type of {:.0} pixels, and {} are the least",
        step.id, small.size, small.needed
    );
    Finding::error(place(source, &step.id), message)
        .label(format!(
            "can be read from {:.1} m",
            small.readable.in_metres()
        ))
        .help(cure)
}

/// Returns where the id of a step stands in the file.
fn place(source: &str, id: &StepId) -> Range<usize> {
    let written = format!("\"{id}\"");
    let mut places = source.match_indices(&written);
    let found = places.find(|(at, _)| {
        let before = source[..*at].trim_end();
        let before = before.strip_suffix(':').map(str::trim_end);
        before.is_some_and(|before| before.ends_with("id"))
    });
    found.map_or(0..0, |(at, _)| at..at + written.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_is_found_where_it_is_given() {
        let id = StepId::try_from("b".to_string()).unwrap();
        let source = "(id: \"a\", before: [\"b\"]), (id : \"b\")";
        let place = place(source, &id);
        assert_eq!(&source[place.clone()], "\"b\"");
        assert_eq!(place.start, source.len() - 4);
    }

    #[test]
    fn pixels_are_two_numbers() {
        assert!("1920x1080".parse::<Pixels>().is_ok());
        for wrong in ["1920", "1920x", "0x0", "x", "99999x99999"] {
            assert!(wrong.parse::<Pixels>().is_err(), "{wrong}");
        }
    }
}
