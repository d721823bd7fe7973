//! The command line: what can be asked for, and the words that teach it.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::hear::Aid;
use crate::measure::{Beside, By, Kind, Part};
use crate::plan::TimeOfDay;
use crate::read_from::ReadFromArgs;
use crate::reckon::ReckonArgs;
use crate::rehearse::room::Decibel;
use crate::tools::ToolsArgs;

const ABOUT: &str = "\
Calls workshop steps aloud and in big type; you answer by voice, pedal or key.

  benchcall run procedures/wheel-refit.ron        follow a procedure
  benchcall rehearse procedures/wheel-refit.ron   hear a synthetic person do it by voice
  benchcall check procedures/*.ron                find what is wrong in procedure files

The maker's data, local codes and licensed practice come first. The program calls what the
procedure says; it cannot see the work.";

const SAY: &str = "\
What you say: \"work complete\" when a thing is done, \"next instruction\" when it was only to be
known, \"say again\", \"previous instruction\", \"standing by\" and \"resume procedure\", \"disregard\" to
take back, \"assistance required\" for everything that may be said now. A hold opens only by the
words it shows. \"Stop, stop\" stops everything.

Keys: Space or the forward pedal (Page Down) goes on, Left or the back pedal (Page Up) goes back,
a hold wants Space pressed and held; the other keys stand beside the words. Holding the back pedal
opens a list of everything that may be said.";

/// The command line.
#[derive(Debug, Parser)]
#[command(name = "benchcall", version, about = ABOUT, after_help = SAY)]
pub struct CommandLine {
    #[command(subcommand)]
    pub command: Ask,
}

/// What is asked for.
#[derive(Debug, Subcommand)]
pub enum Ask {
    /// Follow a procedure, from its file to its record.
    Run(RunArgs),
    /// Run the whole job with a synthetic person who speaks every answer.
    ///
    /// The answers go as sound into the real recogniser and the real run. Waits pass in no time.
    /// Ends with a summary; the exit code is 4 where the job could not be finished by voice.
    Rehearse(RehearseArgs),
    /// Find every error in procedure files, and prove them safe to run.
    ///
    /// Several files are looked at each by itself, and as if all were open together on one piece of
    /// work. Exit code 0 where nothing is wrong, 1 otherwise.
    Check(CheckArgs),
    /// Plan procedures: when each step starts, when all is finished, what is critical.
    ///
    /// Exit code 1 where there is no such plan; what clashes is said, and what would cure it.
    Plan(PlanArgs),
    /// List every phrase: what it does, the nearest other one, and what is wrong with your own words.
    ///
    /// Exit code 1 where a phrase is refused.
    Phrases(PhrasesArgs),
    /// Check the microphone and the room, or measure how well recordings are heard.
    Hear(HearArgs),
    /// Do one of the trade's sums: torque, bolts, paint, slings, brakes, with formula and source.
    Reckon(ReckonArgs),
    /// List microphones and loudspeakers by the names that --microphone and --loudspeaker take.
    Devices,
    /// Print shell completions.
    Completions { shell: clap_complete::Shell },
    /// The recogniser's own process; started by the program itself.
    #[command(hide = true)]
    Ears {
        #[arg(trailing_var_arg = true, allow_hyphen_values = true)]
        rest: Vec<String>,
    },
}

#[derive(Debug, Args)]
pub struct RunArgs {
    /// The procedure, a RON file; further files are open beside it on the same piece of work.
    #[arg(required = true, value_name = "FILE.ron")]
    pub files: Vec<PathBuf>,
    /// Procedures that are not open but can be opened by their names (`called`) while the work goes on, such
    /// as in a wait; a folder stands for the procedures in it.
    #[arg(long, value_name = "FILE.ron", num_args = 1..)]
    pub shelf: Vec<PathBuf>,
    /// Go on with the unfinished job of this file without asking.
    #[arg(long, conflicts_with = "new")]
    pub resume: bool,
    /// Follow a written history instead of a person, show where it leads, and end: one line for each
    /// thing said, as `check` prints them. Nothing is recorded.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["resume", "new", "hear"])]
    pub replay: Option<PathBuf>,
    /// Begin a new job without asking; an unfinished one stays in the record.
    #[arg(long)]
    pub new: bool,
    /// Hear a WAV recording instead of the microphone.
    #[arg(long, value_name = "FILE.wav")]
    pub hear: Option<PathBuf>,
    /// Play --hear as fast as it decodes instead of in its own time.
    #[arg(long, requires = "hear")]
    pub fast: bool,
    /// End the program as soon as the job is finished or the recording is at its end.
    #[arg(long)]
    pub until_done: bool,
    #[command(flatten)]
    pub tools: ToolsArgs,
    #[command(flatten)]
    pub read_from: ReadFromArgs,
    #[command(flatten)]
    pub machine: MachineArgs,
}

#[derive(Debug, Args)]
pub struct RehearseArgs {
    /// The procedure, a RON file; further files are open beside it on the same piece of work.
    #[arg(required = true, value_name = "FILE.ron")]
    pub files: Vec<PathBuf>,
    /// The synthetic person's voice, such as flite:slt; may be given several times, in turn.
    #[arg(long, value_name = "ENGINE:NAME")]
    pub voice: Vec<String>,
    /// Machine noise in the room, as the speech's level above it: 20dB is quiet, 5dB is loud.
    #[arg(long, value_name = "LEVEL")]
    pub noise: Option<Decibel>,
    /// In real time, with the program's own voice, instead of as fast as it can.
    #[arg(long)]
    pub paced: bool,
    /// The seed of the noise.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    #[command(flatten)]
    pub machine: MachineArgs,
}

#[derive(Debug, Args)]
pub struct HearArgs {
    /// Hear the recordings in this folder and print how well they were understood.
    ///
    /// Beside each NAME.wav lies NAME.txt with what is said in it: START<TAB>END<TAB>words in
    /// seconds, or `nothing`; see the README.
    #[arg(long, value_name = "FOLDER", verbatim_doc_comment)]
    pub measure: Option<PathBuf>,
    /// Print the measurements as JSON, with everything said and heard.
    #[arg(long, requires = "measure")]
    pub json: bool,
    /// Only recordings of this part.
    #[arg(long, requires = "measure", value_enum)]
    pub part: Option<Part>,
    /// Only recordings of this kind; may be given several times.
    #[arg(long, requires = "measure", value_enum)]
    pub kind: Vec<Kind>,
    /// Only recordings with this in their path below the folder.
    #[arg(long, requires = "measure", value_name = "SUBSTRING")]
    pub only: Option<String>,
    /// What to make rows by.
    #[arg(
        long,
        requires = "measure",
        value_enum,
        value_delimiter = ',',
        default_value = "kind,ratio,room,onset"
    )]
    pub by: Vec<By>,
    /// Let this hear the same beside; may be given several times.
    #[arg(long, requires = "measure", value_enum)]
    pub beside: Vec<Beside>,
    /// Measure without this aid; may be given several times.
    #[arg(long, requires = "measure", value_enum)]
    pub without: Vec<Aid>,
    /// How many recordings are heard at once.
    #[arg(long, requires = "measure", value_name = "N", default_value_t = 1,
        value_parser = clap::value_parser!(u8).range(1..=64))]
    pub jobs: u8,
    /// The microphone, by name (see `benchcall devices`) [default: the system's].
    #[arg(long, value_name = "NAME", conflicts_with = "measure")]
    pub microphone: Option<String>,
    /// Check this WAV recording instead of the microphone.
    #[arg(long, value_name = "FILE.wav", conflicts_with_all = ["measure", "microphone"])]
    pub from: Option<PathBuf>,
    /// Measure levels only; ask for no phrases.
    #[arg(long, conflicts_with = "measure")]
    pub quick: bool,
    /// Draw the spectra of speech and noise.
    #[arg(long, value_name = "FILE.svg", conflicts_with = "measure")]
    pub picture: Option<PathBuf>,
    /// Do not speak the phrases, only show them.
    #[arg(long, conflicts_with = "measure")]
    pub silent: bool,
}

/// What of the machine is used, and how.
#[derive(Debug, Clone, Default, Args)]
pub struct MachineArgs {
    /// The folder of the record [default: the platform's data folder].
    #[arg(long, env = "BENCHCALL_DATA", value_name = "FOLDER")]
    pub data: Option<PathBuf>,
    /// Your settings: own words, call sign [default: settings.ron in the platform's configuration
    /// folder].
    #[arg(long, env = "BENCHCALL_SETTINGS", value_name = "FILE.ron")]
    pub settings: Option<PathBuf>,
    /// Append a JSON line per event to this file, as it happens.
    #[arg(long, value_name = "FILE")]
    pub trace: Option<PathBuf>,
    /// The microphone, by name (see `benchcall devices`) [default: the system's].
    #[arg(long, value_name = "NAME")]
    pub microphone: Option<String>,
    /// The loudspeaker, by name [default: the system's].
    #[arg(long, value_name = "NAME")]
    pub loudspeaker: Option<String>,
    /// Do not speak.
    #[arg(long)]
    pub silent: bool,
    /// Do not listen.
    #[arg(long)]
    pub deaf: bool,
    /// Show on the terminal even where there is a display.
    #[arg(long)]
    pub text: bool,
    /// Fill the screen.
    #[arg(long)]
    pub full: bool,
    /// The face's colours.
    #[arg(long, value_enum, default_value_t)]
    pub look: Look,
}

/// The face's colours.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub enum Look {
    /// Dark type on a light ground, for bright places.
    #[default]
    Light,
    /// Light type on a dark ground.
    Dark,
}

#[derive(Debug, Args)]
pub struct CheckArgs {
    /// Procedure files.
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// Look at each file by itself alone: they are for different pieces of work.
    #[arg(long)]
    pub apart: bool,
    /// The settings whose own words the answers of holds are told from [default: settings.ron in
    /// the platform's configuration folder].
    #[arg(long, env = "BENCHCALL_SETTINGS", value_name = "FILE.ron")]
    pub settings: Option<PathBuf>,
    /// Write all of them, open together, as a model for the model checker SPIN into this file.
    #[arg(long, value_name = "FILE.pml", conflicts_with = "apart")]
    pub promela: Option<PathBuf>,
    #[command(flatten)]
    pub read_from: ReadFromArgs,
}

#[derive(Debug, Args)]
pub struct PlanArgs {
    /// The procedures, RON files; several are planned as open together.
    #[arg(required = true)]
    pub files: Vec<PathBuf>,
    /// How many people there are [default: as many as the most demanding step takes].
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=20))]
    pub people: Option<u32>,
    /// When the work begins; without it times count from the beginning.
    #[arg(long, value_name = "HH:MM")]
    pub start: Option<TimeOfDay>,
    /// Draw the plan.
    #[arg(long, value_name = "FILE.svg")]
    pub svg: Option<PathBuf>,
    /// Print the plan as JSON; times in seconds from the beginning.
    #[arg(long)]
    pub json: bool,
    /// The settings whose own words the answers of holds are told from [default: settings.ron in
    /// the platform's configuration folder].
    #[arg(long, env = "BENCHCALL_SETTINGS", value_name = "FILE.ron")]
    pub settings: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct PhrasesArgs {
    /// The settings to try [default: settings.ron in the platform's configuration folder].
    #[arg(long, env = "BENCHCALL_SETTINGS", value_name = "FILE.ron")]
    pub settings: Option<PathBuf>,
}
