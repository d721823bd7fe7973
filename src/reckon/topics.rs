//! The topics that can be asked for.

use clap::{Command, Subcommand};

use super::Sum;
use super::bolts::{
    BoltTorqueArgs, EngagementArgs, LubricantArgs, NutTravelArgs, NutTurnsArgs, PreloadArgs,
    ThreadArgs,
};
use super::tightening::{BandArgs, OrderArgs, PassesArgs, TorqueArgs, WrenchArgs};

/// Makes the enum of topics, and the way from each to its sum.
macro_rules! topics {
    ($($(#[$doc:meta])* $topic:ident($args:ty),)+) => {
        /// What is to be reckoned.
        #[derive(Debug, Subcommand)]
        #[command(mut_subcommands = with_signs)]
        pub enum Topic {
            $($(#[$doc])* $topic($args),)+
        }

        impl Topic {
            /// Returns the sum that was asked for.
            pub fn sum(&self) -> &dyn Sum {
                match self {
                    $(Topic::$topic(args) => args,)+
                }
            }
        }
    };
}

/// Lets a topic take "-5 °C" for a value, not for an option.
fn with_signs(topic: Command) -> Command {
    topic.mut_args(|arg| {
        let takes_values = arg.get_action().takes_values();
        arg.allow_hyphen_values(takes_values)
    })
}

topics! {
    /// A torque in another unit, and the mark to dial for it.
    Torque(TorqueArgs),
    /// Whether a wrench can prove that a torque was met.
    Band(BandArgs),
    /// The order in which bolts are tightened.
    Order(OrderArgs),
    /// In how many rounds a joint is drawn down, and to what torque in each.
    Passes(PassesArgs),
    /// What to dial on a torque wrench, with or without an adapter.
    Wrench(WrenchArgs),
    /// A thread's sizes, stress area and proof load.
    Thread(ThreadArgs),
    /// The preload that a torque makes, and whether the bolt bears it.
    Preload(PreloadArgs),
    /// The torque for a preload: a check of a figure, not a specification.
    BoltTorque(BoltTorqueArgs),
    /// Whether a torque holds for what is on the threads.
    Lubricant(LubricantArgs),
    /// How deep a thread must hold.
    Engagement(EngagementArgs),
    /// How many turns a wheel nut must go on its stud.
    NutTurns(NutTurnsArgs),
    /// How far a nut travels when it is turned.
    NutTravel(NutTravelArgs),
}
