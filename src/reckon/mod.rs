//! The trade's sums on the command line: reads what a person types, lets `trade` work it out and writes
//! the answer. No sum is done here.

mod answer;
mod bolts;
mod crane;
mod given;
mod jacking;
mod lifting;
mod measuring;
mod mixing;
mod painting;
mod reading;
mod tightening;
mod topics;
mod wrench;

use std::io::IsTerminal;
use std::process::ExitCode;

use clap::Args;

use crate::complaint::Complaint;

use answer::Reckoning;
use topics::Topic;

/// The exit code of a sum that says no.
const REFUSED: u8 = 5;

const HELP: &str = "\
Quantities are typed with their unit, as people write them: \"80 ft-lb\", \"1 1/2 in\", \"18 °C\".

The maker's data come first: a sum judges whether a figure can be right, it specifies none.

--json prints {\"result\", \"unit\", \"formula\", \"source\", \"cautions\"}. A result of several parts is an
object of them; a part with a unit is {\"result\", \"unit\"} itself.

Exit code 0 where there is a result, 5 where the sum says no (refuse, stop, not proved, too early),
1 where a figure is outside what the sum is good for, 2 where a word or a unit cannot be read.";

#[derive(Debug, Args)]
#[command(after_help = HELP)]
pub struct ReckonArgs {
    #[command(subcommand)]
    topic: Topic,
    /// Print result, unit, formula, source and cautions as JSON.
    #[arg(long, global = true)]
    json: bool,
}

/// A sum as it was typed.
trait Sum {
    /// Works it out.
    ///
    /// # Errors
    /// What cannot be reckoned, with the range and what to type instead.
    fn reckon(&self) -> Result<Reckoning, Complaint>;
}

/// Works out what was asked for and prints it. The exit code is 5 where the answer is no.
///
/// # Errors
/// What cannot be reckoned, with the range and what to type instead.
pub fn reckon(args: &ReckonArgs) -> Result<ExitCode, Complaint> {
    let reckoning = args.topic.sum().reckon()?;
    if args.json {
        let written = reckoning.json().map_err(|error| {
            Complaint::machine("Cannot write the answer as JSON").because(error.to_string())
        })?;
        println!("{written}");
    } else {
        print!("{}", reckoning.text(std::io::stdout().is_terminal()));
    }
    Ok(if reckoning.says_no() {
        ExitCode::from(REFUSED)
    } else {
        ExitCode::SUCCESS
    })
}

/// Makes a complaint of what a sum says against its figures.
fn told(error: impl std::fmt::Display) -> Complaint {
    Complaint::input(error.to_string())
}

/// Complains of an argument that the command line itself should have asked for.
fn missing() -> Complaint {
    Complaint::input("Something is missing from what was asked").cure("See the topic's --help")
}
