//! The topics that can be asked for.

use clap::{Command, Subcommand};

use super::Sum;
use super::bolts::{
    BoltTorqueArgs, EngagementArgs, LubricantArgs, NutTravelArgs, NutTurnsArgs, PreloadArgs,
    ThreadArgs,
};
use super::crane::{CraneArgs, HookArgs};
use super::jacking::{ChocksArgs, StandsArgs, WheelsOffArgs};
use super::lifting::{
    EyeboltArgs, OffCentreArgs, ShackleArgs, SlingArgs, SlingLimitArgs, WeakestArgs,
};
use super::measuring::{
    BrakeFluidArgs, DiscArgs, DiscPositionArgs, EndFloatArgs, RunOutArgs, ShimArgs,
};
use super::mixing::{CoverageArgs, FilmArgs, MixArgs};
use super::painting::{ClimateArgs, CureArgs, DewPointArgs, PotLifeArgs, RecoatArgs};
use super::reading::{AlarmArgs, ContrastArgs, LettersArgs};
use super::tightening::{BandArgs, OrderArgs, PassesArgs, TorqueArgs};
use super::wrench::WrenchArgs;

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
    /// The dew point of the air.
    DewPoint(DewPointArgs),
    /// Whether paint may go on now, what stops it, and what would cure it.
    Climate(ClimateArgs),
    /// How the temperature stretches a paint sheet's times.
    Cure(CureArgs),
    /// How long mixed paint can be used, and how much of that is left.
    PotLife(PotLifeArgs),
    /// Whether the next coat may go on.
    Recoat(RecoatArgs),
    /// How much base, hardener and thinner make a mix, and the marks of the cup.
    Mix(MixArgs),
    /// The wet film for a dry one, or the dry film a wet one leaves.
    Film(FilmArgs),
    /// How far paint goes, and how much an area takes.
    Coverage(CoverageArgs),
    /// What the hook and each leg of a sling bear.
    Sling(SlingArgs),
    /// How much a sling may lift, by the limit of one leg.
    SlingLimit(SlingLimitArgs),
    /// What each leg bears of a load whose centre is not in the middle.
    OffCentre(OffCentreArgs),
    /// The share of its limit that a shackle keeps when pulled aslant.
    Shackle(ShackleArgs),
    /// The share of its limit that an eyebolt keeps when pulled aslant.
    Eyebolt(EyeboltArgs),
    /// Which link of a lift is loaded nearest to its limit, or over it.
    Weakest(WeakestArgs),
    /// Whether the workshop crane may lift a load with its boom as it is.
    Crane(CraneArgs),
    /// Where the crane's hook is, and how far to roll the crane.
    Hook(HookArgs),
    /// Whether two stands may hold up an axle.
    Stands(StandsArgs),
    /// Which wheels to chock.
    Chocks(ChocksArgs),
    /// The stages of a job with the wheels off, in the order they must come.
    WheelsOff(WheelsOffArgs),
    /// Whether a brake disc is thick and even enough.
    Disc(DiscArgs),
    /// Whether a disc or rim runs true.
    RunOut(RunOutArgs),
    /// At which position on its hub a disc runs truest.
    DiscPosition(DiscPositionArgs),
    /// The end float of a wheel bearing, against its limits.
    EndFloat(EndFloatArgs),
    /// Which shim brings a valve clearance right.
    Shim(ShimArgs),
    /// Whether a brake fluid may be poured on another.
    BrakeFluid(BrakeFluidArgs),
    /// How large letters must be to be read from a distance.
    Letters(LettersArgs),
    /// The contrast of two colours of the screen.
    Contrast(ContrastArgs),
    /// How loud an alarm must be over the noise.
    Alarm(AlarmArgs),
}
