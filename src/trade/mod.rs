//! The trade's quantities and calculations: pure, each with its unit, range and source.

pub mod bearing;
pub mod bolt_circle;
pub mod bolt_pattern;
pub mod brake;
pub mod engagement;
pub mod joint;
pub mod lubrication;
pub mod passes;
pub mod quantity;
pub mod strength;
pub mod thread;
pub mod torque;
pub mod torque_band;
pub mod valve;
pub mod worked;
pub mod wrench;

pub use torque::Torque;
pub use worked::{Answer, Verdict, Worked};
