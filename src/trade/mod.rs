//! The trade's quantities and calculations: pure, each with its unit, range and source.

pub mod bolt_circle;
pub mod quantity;
pub mod torque;
pub mod worked;

pub use torque::Torque;
pub use worked::{Answer, Verdict, Worked};
