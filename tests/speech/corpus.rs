//! Makes recordings with transcripts, to measure with them how well the program hears.
//!
//! `cargo run --example speech_corpus -- --help` says what there is. Everything is drawn from one
//! seed: the same machine with the same voices always makes the same files.

#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used))]

mod clips;
mod commands;
mod corpus_file;
mod digits;
mod echo;
mod mixing;
mod mouth;
mod noises;
mod people;
mod readings;
mod sentences;
mod split;
mod talk;
mod texts;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;
use clap::ValueEnum;

use crate::corpus_file::Folder;
use crate::split::Part;

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Parts {
    Tuning,
    HeldOut,
    Both,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Kinds {
    Commands,
    Readings,
    Talk,
    People,
    All,
}

/// Makes recordings with transcripts, to measure with them how well the program hears
///
/// Synthetic voices speak commands, readings and other talk, in machine noise and in a modelled
/// workshop room; with a folder of real sound there are real noises, digits, talk and people too.
/// Each NAME.wav (16 kHz mono) has a NAME.txt beside it that tells how it was made and what is said
/// when.
#[derive(Debug, Parser)]
#[command(after_help = SIZES)]
struct Args {
    /// Folder for the recordings; is made where it is missing
    out: PathBuf,
    /// The voices and noises to take: those that thresholds are set on, or those that none was set on
    #[arg(long, value_enum, default_value = "both")]
    part: Parts,
    /// What to make
    #[arg(long, value_enum, default_value = "all")]
    kind: Kinds,
    /// Folder of real sound, with any of the folders noise, digits, talk and words in it
    #[arg(long, env = "BENCHCALL_SOUND")]
    sound: Option<PathBuf>,
    /// Everything random is drawn from it
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// About a tenth of everything: to try things out
    #[arg(long)]
    small: bool,
    /// Every command has the usual call sign before it, and only with it may be said
    #[arg(long)]
    call_sign: bool,
    /// Commands are the lines of this file instead, each open beside the standard phrases as the answer to
    /// a hold: to choose between words
    #[arg(long, conflicts_with = "call_sign")]
    phrases: Option<PathBuf>,
}

const SIZES: &str = "\
With a folder of real sound and --small a part is about 130 recordings, 2.3 h and 260 MB, made in two to \
five minutes on two busy cores: 750 commands, 400 readings by synthetic voices and 260 of real digits, 125 \
phrases of real people, and 0.9 h of what is no command. Without --small it is some six times that. What is \
missing on this machine (a voice, a noise, real sound) is left out, with a line that says so; \
./models-fetch.sh --voices gets every voice.";

/// What the makers of the kinds share.
#[derive(Debug)]
struct Order {
    part: Part,
    seed: u64,
    small: bool,
    call_sign: bool,
    /// A file of phrases to try.
    phrases: Option<PathBuf>,
}

impl Order {
    /// Says that something is missing; the corpus is made without it.
    fn left_out(&self, what: &str) {
        println!("Left out of the {} part: {what}", self.part);
    }

    /// A source of random numbers for one thing, whatever else is made before it.
    fn random(&self, what: &str) -> fastrand::Rng {
        // FNV-1a (Fowler, Noll, Vo), 64 bit.
        let key = format!("{} {} {what}", self.seed, self.part);
        let hash = key.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
        fastrand::Rng::with_seed(hash)
    }
}

fn main() -> ExitCode {
    match run(&Args::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

fn run(args: &Args) -> Result<(), String> {
    let parts: &[Part] = match args.part {
        Parts::Tuning => &[Part::Tuning],
        Parts::HeldOut => &[Part::HeldOut],
        Parts::Both => &[Part::Tuning, Part::HeldOut],
    };
    let wanted = |kind| args.kind == kind || args.kind == Kinds::All;
    let mut folder = Folder::new(&args.out)?;
    for &part in parts {
        let order = Order {
            part,
            seed: args.seed,
            small: args.small,
            call_sign: args.call_sign,
            phrases: args.phrases.clone(),
        };
        let mut mouth = mouth::Mouth::new(&order);
        let sound = args.sound.as_deref();
        let noises = noises::Noises::new(&order, sound, &mut mouth);
        if wanted(Kinds::Commands) {
            commands::make(&order, &mut mouth, &noises, &mut folder)?;
        }
        if wanted(Kinds::Readings) {
            readings::make(&order, &mut mouth, &noises, &mut folder)?;
            digits::make(&order, sound, &noises, &mut folder)?;
        }
        if wanted(Kinds::Talk) {
            talk::make(&order, sound, &mut mouth, &noises, &mut folder)?;
        }
        if wanted(Kinds::People) {
            people::make(&order, sound, &noises, &mut folder)?;
        }
    }
    Ok(())
}
