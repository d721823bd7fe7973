//! The readings of a step as a sum takes them: figure and unit together.

use super::super::model::Reading;
use super::super::values::Text;
use super::field::Takes;
use crate::trade::quantity::TimeSpan;

/// Readings that were taken, each with its unit.
#[derive(Debug, Clone, Default)]
pub struct Taken<'a> {
    written: Vec<(&'a Text, String)>,
    /// The times that the run's own clock gave, by the name of the reading that each stands for.
    passed: Vec<(&'a Text, TimeSpan)>,
}

impl<'a> Taken<'a> {
    /// Adds the figure that was taken for `reading`; a later one replaces it.
    pub fn add(&mut self, reading: &'a Reading, figure: &str) {
        let written = format!("{figure} {}", reading.unit);
        self.written.retain(|(name, _)| **name != reading.name);
        self.written.push((&reading.name, written));
    }

    /// Adds the time that the run's own clock gives in place of the reading `name`.
    pub fn add_passed(&mut self, name: &'a Text, passed: TimeSpan) {
        self.passed.push((name, passed));
    }

    /// Returns the time that the run's own clock gave in place of the reading `name`.
    pub(super) fn passed(&self, name: &Text) -> Option<TimeSpan> {
        let found = self.passed.iter().find(|(known, _)| *known == name);
        found.map(|(_, passed)| *passed)
    }

    /// Returns what was read as `name`.
    pub(super) fn read<T: Takes>(&self, name: &Text) -> Result<T, String> {
        let found = self.written.iter().find(|(known, _)| *known == name);
        let (_, written) = found.ok_or_else(|| format!("The reading \"{name}\" was not taken"))?;
        written.parse().map_err(|why: T::Err| why.to_string())
    }
}
