//! The trade's quantities and calculations: pure, each with its unit, range and source.

pub mod alarm;
pub mod bearing;
pub mod bolt_circle;
pub mod bolt_pattern;
pub mod brake;
pub mod climate;
pub mod contrast;
pub mod conversion;
pub mod crane;
pub mod cure;
pub mod dew_point;
pub mod engagement;
pub mod film;
pub mod in_hand;
pub mod jacking;
pub mod joint;
pub mod legibility;
pub mod lifting;
pub mod lubrication;
pub mod mixing;
pub mod off_centre;
pub mod passes;
pub mod pot_life;
pub mod quantity;
pub mod range;
pub mod recoat;
pub mod rigging;
pub mod strength;
pub mod thread;
pub mod torque;
pub mod torque_band;
pub mod valve;
pub mod worked;
pub mod wrench;

pub use torque::Torque;
pub use worked::{Answer, Verdict, Worked};
