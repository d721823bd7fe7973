//! What must be seen and heard: letters, contrast, alarms.

use clap::Args;

use super::answer::Reckoning;
use super::given::one_of;
use super::{Sum, told};
use crate::complaint::Complaint;
use crate::trade::alarm::{Noise, alarm_over};
use crate::trade::contrast::{Colour, ContrastLevel, contrast};
use crate::trade::legibility::{Apparent, CAPITALS_OF_FONT, Screen, letter_height};
use crate::trade::quantity::{Length, SoundLevel};

const LOOKS: [(&str, Apparent); 4] = [
    ("least", Apparent::Least),
    ("preferred", Apparent::Preferred),
    ("large", Apparent::Large),
    ("bad-light", Apparent::BadLight),
];

#[derive(Debug, Args)]
#[command(after_help = r#"Examples:
  benchcall reckon letters "3 m"
  benchcall reckon letters "3 m" --screen 1920x1080 --diagonal "24 in""#)]
pub struct LettersArgs {
    /// The distance the letters are read from.
    distance: Length,
    /// How large they must look.
    #[arg(long, value_parser = one_of(&LOOKS), default_value = "preferred")]
    looks: Apparent,
    /// The screen's pixels across and down: gives the smallest type.
    #[arg(long, value_parser = pixels, value_name = "ACROSSxDOWN", requires = "diagonal")]
    screen: Option<(u32, u32)>,
    /// The screen's diagonal.
    #[arg(long, requires = "screen")]
    diagonal: Option<Length>,
}

/// Reads `1920x1080`.
fn pixels(text: &str) -> Result<(u32, u32), &'static str> {
    let shape = text.to_lowercase().replace('×', "x");
    let sides = shape.split_once('x');
    sides
        .and_then(|(across, down)| Some((across.trim().parse().ok()?, down.trim().parse().ok()?)))
        .ok_or("a screen is its pixels across and down, such as 1920x1080")
}

impl Sum for LettersArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        if let (Some((across, down)), Some(diagonal)) = (self.screen, self.diagonal) {
            let screen = Screen::by_diagonal(across, down, diagonal).map_err(told)?;
            let worked = screen.smallest_type(self.distance, self.looks, CAPITALS_OF_FONT);
            return Ok(Reckoning::of(worked.map_err(told)?));
        }
        let worked = letter_height(self.distance, self.looks).map_err(told)?;
        Ok(Reckoning::of(worked))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r##"Example:
  benchcall reckon contrast "#000000" "#ffa500""##)]
pub struct ContrastArgs {
    /// A colour: "#" and six figures from 0 to f.
    one: Colour,
    /// The other colour; their order does not matter.
    other: Colour,
}

impl Sum for ContrastArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let worked = contrast(self.one, self.other);
        let insufficient = worked.result.level() == ContrastLevel::Insufficient;
        Ok(Reckoning::of(worked).refused_if(insufficient))
    }
}

#[derive(Debug, Args)]
#[command(after_help = r#"Example:
  benchcall reckon alarm --noise "68 dB(A)" --lasting "82 dB(A)""#)]
pub struct AlarmArgs {
    /// The average noise at the ear.
    #[arg(long)]
    noise: SoundLevel,
    /// The loudest noise that lasts for a minute or more.
    #[arg(long)]
    lasting: Option<SoundLevel>,
}

impl Sum for AlarmArgs {
    fn reckon(&self) -> Result<Reckoning, Complaint> {
        let noise = Noise {
            average: self.noise,
            lasting: self.lasting,
        };
        Ok(Reckoning::of(alarm_over(noise).map_err(told)?))
    }
}
