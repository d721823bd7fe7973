//! Where the values of a procedure stand in its file.

use std::ops::Range;

use super::outline::{Group, Kind, Node};

/// The places of a procedure's values.
pub(crate) struct Places<'a> {
    pub source: &'a str,
    pub root: &'a Node,
    /// One for each step of the procedure, in the same order.
    pub steps: Vec<&'a Node>,
}

/// The place of one value. Asked for a part that is not written, it stays where it is.
#[derive(Clone, Copy)]
pub(crate) struct Place<'a> {
    source: &'a str,
    node: &'a Node,
}

impl<'a> Places<'a> {
    /// Returns the place of the whole procedure.
    pub(crate) fn root(&self) -> Place<'a> {
        Place {
            source: self.source,
            node: self.root,
        }
    }

    /// Returns the place of the step with this number, from 0.
    pub(crate) fn step(&self, number: usize) -> Place<'a> {
        Place {
            source: self.source,
            node: self.steps.get(number).unwrap_or(&self.root),
        }
    }

    /// Returns the line, from 1, on which the step with this number begins.
    pub(crate) fn line_of_step(&self, number: usize) -> usize {
        let start = self.step(number).node.span.start;
        self.source[..start].matches('\n').count() + 1
    }
}

impl<'a> Place<'a> {
    /// Returns the place of the value of field `name`.
    pub(crate) fn field(self, name: &str) -> Place<'a> {
        let found = self.group().and_then(|group| {
            group.entries.iter().find(|entry| {
                let key = entry.key.clone();
                key.is_some_and(|key| &self.source[key] == name)
            })
        });
        Place {
            node: found.map_or(self.node, |entry| &entry.value),
            ..self
        }
    }

    /// Returns the place of the list's entry with this number, from 0.
    pub(crate) fn entry(self, number: usize) -> Place<'a> {
        let found = self.group().and_then(|group| group.entries.get(number));
        Place {
            node: found.map_or(self.node, |entry| &entry.value),
            ..self
        }
    }

    /// Returns the bytes to point at: of something in brackets its opening bracket alone.
    pub(crate) fn span(self) -> Range<usize> {
        match self.group() {
            Some(group) => group.open.clone(),
            None => self.node.span.clone(),
        }
    }

    fn group(self) -> Option<&'a Group> {
        match &self.node.kind {
            Kind::Group(group) => Some(group),
            _ => None,
        }
    }
}
