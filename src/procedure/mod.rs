//! The procedure: what to gather, the steps, and the rules between them.
//!
//! These types are both the file format (RON) and what the run works on. A rule about one value is
//! kept by that value's own type; rules between values are in `check`. Only `read` makes a
//! procedure from text, and it makes none from text that breaks a rule.

pub mod model;
pub mod values;

pub use model::*;
pub use values::*;
