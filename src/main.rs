//! The command line, nothing else.

use std::process::ExitCode;

use benchcall::command_line::CommandLine;
use clap::Parser;

fn main() -> ExitCode {
    match benchcall::launch::launch(CommandLine::parse()) {
        Ok(code) => code,
        Err(complaint) => {
            eprintln!("{complaint}");
            ExitCode::from(complaint.exit_code())
        }
    }
}
