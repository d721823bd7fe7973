//! The person's wrench and adapter in hand, and what to dial on them for the called bolt.

use std::sync::Arc;

use super::Run;
use crate::trade::in_hand::{Dial, InHand};
use crate::trade::wrench::Tools;

/// The names of what is in hand.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Held {
    pub wrench: Option<String>,
    pub adapter: Option<String>,
}

impl Run {
    /// Lays the person's tools ready.
    pub fn set_tools(&mut self, tools: Arc<Tools>) {
        self.tools = tools;
    }

    /// Returns the person's tools.
    pub fn tools(&self) -> &Tools {
        &self.tools
    }

    /// Returns what is in hand when the tool of this name is taken: a wrench puts the adapter away. None
    /// where there is no such tool, or no wrench to put the adapter on.
    pub fn taking(&self, name: &str) -> Option<Held> {
        if self.tools.wrench(name).is_some() {
            return Some(Held {
                wrench: Some(name.to_owned()),
                adapter: None,
            });
        }
        self.tools.adapter(name)?;
        let wrench = self.state().held.wrench.clone()?;
        Some(Held {
            wrench: Some(wrench),
            adapter: Some(name.to_owned()),
        })
    }

    /// Returns the wrench in hand; none where nobody said, or the tools have it no more.
    pub fn in_hand(&self) -> Option<InHand<'_>> {
        let held = &self.state().held;
        let wrench = self.tools.wrench(held.wrench.as_deref()?)?;
        let adapter = match &held.adapter {
            None => None,
            Some(name) => Some(self.tools.adapter(name)?),
        };
        Some(InHand { wrench, adapter })
    }

    /// Returns what to dial on the wrench in hand for the called bolt.
    pub fn dial(&self) -> Option<Dial> {
        let called = self.bolt()?;
        let torque = called.torque?;
        // The band is that of the full torque: a light pass is not to prove it.
        let band = called.fasten.band.filter(|band| {
            let torque = torque.newton_metres();
            (band.least().newton_metres()..=band.most().newton_metres()).contains(&torque)
        });
        let in_hand = self.in_hand()?;
        Some(in_hand.dial(torque, band, called.fasten.turning))
    }
}
