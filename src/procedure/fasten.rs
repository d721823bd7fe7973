//! Bolts that are tightened in turn, what stands on their threads, and which way round they go.

use serde::{Deserialize, Serialize};

use super::values::{BoltCount, Share, Text};
use crate::trade::Torque;
use crate::trade::bolt_pattern::BoltPattern;
use crate::trade::lubrication::ThreadCondition;
use crate::trade::torque_band::TorqueBand;
use crate::trade::wrench::Turning;

/// A bolt circle, called bolt by bolt and pass by pass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fasten {
    pub bolts: BoltCount,
    #[serde(default)]
    pub order: BoltOrder,
    /// The full torque, of which passes may be shares.
    #[serde(default)]
    pub torque: Option<Torque>,
    /// One round each; empty means one pass at the full torque.
    #[serde(default)]
    pub passes: Vec<Pass>,
    /// The state of the threads that the figures hold for.
    #[serde(default)]
    pub threads: Threads,
    /// What the fasteners are called: `nut`, `bolt`, `screw`.
    #[serde(default)]
    pub called: Fastener,
    /// Which fasteners they are, where a step that puts something on their threads must name them:
    /// `wheel nuts`.
    #[serde(default)]
    pub name: Option<Text>,
    /// What the full torque may be off, for whether the wrench in hand can prove it: `77 ± 6 N·m`.
    #[serde(default)]
    pub band: Option<TorqueBand>,
    /// Which way they are tightened.
    #[serde(default)]
    pub turning: Turning,
    /// They are slackened: the order backwards, without a torque.
    #[serde(default)]
    pub slackens: bool,
    /// After the passes one more at the full torque, all the way round, until nothing moves.
    #[serde(default)]
    pub check_round: bool,
}

/// The order of a circle.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub enum BoltOrder {
    /// Across and across.
    #[default]
    Star,
    /// Round the circle: 1, 2, 3.
    Around,
    /// A circle of which so many neighbours are tightened as one, across and across: large flanges.
    Together(u32),
    /// No circle but so many rows, numbered along each from the top left: from the centre outwards.
    Rows(u32),
    /// By hand: every bolt once.
    Given(Vec<u32>),
}

/// One round of the circle at one torque: `0.7` (a share of `torque`) or `(torque: "20 N·m")`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pass {
    Share(Share),
    Torque(Torque),
}

/// The state of the threads that a torque figure holds for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Threads {
    Dry,
    Oiled,
    AntiSeize,
    LockingCompound,
    /// As the maker's data say; the program does not know more.
    #[default]
    AsDocumented,
}

/// What the fasteners of a circle are called.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Fastener {
    #[default]
    Bolt,
    Nut,
    Screw,
}

/// What a step puts on the threads of fasteners.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Applied {
    pub what: Put,
    /// The name of the fasteners, as their `fasten` has it.
    pub to: Text,
}

/// What is put on threads, or that they are cleaned of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Put {
    Oil,
    Grease,
    AntiSeize,
    LockingCompound,
    /// Clean and dry again.
    Nothing,
}

impl Fasten {
    /// Returns a circle that has only what every one must have: started by hand, across and across.
    pub fn new(bolts: BoltCount) -> Fasten {
        Fasten {
            bolts,
            order: BoltOrder::Star,
            torque: None,
            passes: Vec::new(),
            threads: Threads::AsDocumented,
            called: Fastener::Bolt,
            name: None,
            band: None,
            turning: Turning::Clockwise,
            slackens: false,
            check_round: false,
        }
    }

    /// Returns the torque of each pass, in order. At least one entry; `None` is a pass without a
    /// figure (started by hand), which only a circle with neither torque nor passes has.
    pub fn torques(&self) -> Vec<Option<Torque>> {
        let mut torques: Vec<Option<Torque>> = match self.passes.as_slice() {
            [] => vec![self.torque],
            passes => passes.iter().map(|pass| self.torque_of(*pass)).collect(),
        };
        if self.check_round {
            torques.push(self.torque.or(torques.last().copied().flatten()));
        }
        torques
    }

    fn torque_of(&self, pass: Pass) -> Option<Torque> {
        match pass {
            Pass::Torque(torque) => Some(torque),
            Pass::Share(share) => self.torque.map(|full| full.share(share.get())),
        }
    }

    /// Returns how many passes there are; at least one.
    pub fn rounds(&self) -> u32 {
        self.passes.len().max(1) as u32 + u32::from(self.check_round)
    }

    /// Returns how many times a bolt is called, over all passes.
    pub fn turns(&self) -> u32 {
        self.bolts.get() * self.rounds()
    }

    /// Tells whether a pass, from 0, is the one all the way round.
    pub fn is_check_round(&self, pass: u32) -> bool {
        self.check_round && pass + 1 == self.rounds()
    }

    /// Returns how the bolts lie, and by what they are ordered.
    pub fn pattern(&self) -> BoltPattern {
        let bolts = self.bolts.get();
        match &self.order {
            BoltOrder::Star => BoltPattern::Circle { bolts },
            BoltOrder::Around => BoltPattern::ByHand {
                bolts,
                order: (1..=bolts).collect(),
            },
            BoltOrder::Together(together) => BoltPattern::Groups {
                bolts,
                together: *together,
            },
            BoltOrder::Rows(rows) => BoltPattern::Grid {
                rows: *rows,
                columns: bolts / (*rows).max(1),
            },
            BoltOrder::Given(order) => BoltPattern::ByHand {
                bolts,
                order: order.clone(),
            },
        }
    }

    /// Returns the bolts in the order they are called in a pass, from 0, each once.
    pub fn order(&self, pass: u32) -> Vec<u32> {
        let pattern = self.pattern();
        let order = if self.is_check_round(pass) {
            pattern.round()
        } else if self.slackens {
            pattern.slackening()
        } else {
            pattern.order()
        };
        // The checker lets no pattern pass that has no order.
        order.unwrap_or_else(|_| (1..=self.bolts.get()).collect())
    }
}

impl Fastener {
    /// Returns the fastener's name in the singular.
    pub fn word(self) -> &'static str {
        match self {
            Fastener::Bolt => "bolt",
            Fastener::Nut => "nut",
            Fastener::Screw => "screw",
        }
    }
}

impl Threads {
    /// Returns the thread condition in words, as shown and spoken.
    pub fn words(self) -> &'static str {
        match self {
            Threads::Dry => "threads dry",
            Threads::Oiled => "threads oiled",
            Threads::AntiSeize => "anti-seize on the threads",
            Threads::LockingCompound => "locking compound on the threads",
            Threads::AsDocumented => "threads as the maker's data say",
        }
    }

    /// Returns the condition of the trade's tables; none where only the maker's data know it.
    pub fn condition(self) -> Option<ThreadCondition> {
        match self {
            Threads::Dry => Some(ThreadCondition::Dry),
            Threads::Oiled => Some(ThreadCondition::Oiled),
            Threads::AntiSeize => Some(ThreadCondition::AntiSeize),
            Threads::LockingCompound => Some(ThreadCondition::Locked),
            Threads::AsDocumented => None,
        }
    }
}

impl Put {
    /// Returns the condition that the threads are in afterwards.
    pub fn leaves(self) -> ThreadCondition {
        match self {
            Put::Oil => ThreadCondition::Oiled,
            Put::Grease => ThreadCondition::Greased,
            Put::AntiSeize => ThreadCondition::AntiSeize,
            Put::LockingCompound => ThreadCondition::Locked,
            Put::Nothing => ThreadCondition::Dry,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle(bolts: u32) -> Fasten {
        Fasten::new(BoltCount::try_from(bolts).unwrap())
    }

    #[test]
    fn what_was_tightened_is_slackened_backwards() {
        let tightened = circle(5).order(0);
        let mut slackened = Fasten {
            slackens: true,
            ..circle(5)
        }
        .order(0);
        slackened.reverse();
        assert_eq!(slackened, tightened);
    }

    #[test]
    fn rows_go_from_the_centre_outwards_and_groups_as_one() {
        let rows = Fasten {
            order: BoltOrder::Rows(2),
            ..circle(10)
        };
        let order = rows.order(0);
        assert!([3, 8].contains(&order[0]), "{order:?}");
        assert!([1, 5, 6, 10].contains(&order[9]), "{order:?}");
        let groups = Fasten {
            order: BoltOrder::Together(2),
            ..circle(8)
        };
        assert_eq!(groups.order(0)[..2], [1, 2]);
    }

    #[test]
    fn the_check_goes_all_the_way_round_at_the_full_torque() {
        let full: Torque = "77 N·m".parse().unwrap();
        let checked = Fasten {
            torque: Some(full),
            passes: vec![
                Pass::Share(Share::try_from(0.5).unwrap()),
                Pass::Torque(full),
            ],
            check_round: true,
            ..circle(4)
        };
        assert_eq!(checked.turns(), 12);
        assert_eq!(checked.torques().last(), Some(&Some(full)));
        assert_ne!(checked.order(1), [1, 2, 3, 4]);
        assert_eq!(checked.order(2), [1, 2, 3, 4]);
    }
}
