//! The trade's quantities and calculations: pure, each with its unit, range and source.

pub mod alarm;
pub mod bolt_circle;
pub mod climate;
pub mod contrast;
pub mod crane;
pub mod cure;
pub mod dew_point;
pub mod film;
pub mod jacking;
pub mod legibility;
pub mod lifting;
pub mod mixing;
pub mod off_centre;
pub mod pot_life;
pub mod quantity;
pub mod range;
pub mod recoat;
pub mod rigging;
pub mod torque;
pub mod worked;

pub use torque::Torque;
pub use worked::{Answer, Verdict, Worked};
