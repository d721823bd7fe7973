//! The trade's quantities and calculations: pure, each with its unit, range and source.

pub mod bolt_circle;
pub mod torque;

pub use torque::Torque;
