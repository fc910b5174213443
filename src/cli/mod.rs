//! The command line: words in, exit code out. The only module that knows `clap`.
//!
//! Each subcommand is one file with its arguments and a `run` that writes to the terminal it is
//! given; nothing here decides anything about water.

mod checks;
mod convert;
mod draft;
mod gather;
mod join;
mod look;
mod mappings;
mod progress;
mod summary;
mod terminal;
mod terms;

pub use terminal::Terminal;

use crate::error::Result;
use clap::{Parser, Subcommand};
use std::process::ExitCode;

#[derive(Debug, Parser)]
#[command(name = "wellread", version, about, long_about = None, arg_required_else_help = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Read reports into one clean, checked dataset
    Gather(gather::Arguments),
    /// Bring the parts that several runs wrote together into one dataset
    Join(join::Arguments),
    /// Show how a report is seen, without writing anything
    Look(look::Arguments),
    /// Write a mapping for a report that none fits, to be edited
    Draft(draft::Arguments),
    /// List, check or describe the mapping files
    Mappings(mappings::Arguments),
    /// What the program knows: analytes, names, units, bases
    Terms(terms::Arguments),
    /// Convert a number between units and bases of an analyte
    Convert(convert::Arguments),
    /// What is checked, with limits and sources
    Checks(checks::Arguments),
}

/// How a command ended; the exit code is made from it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// Exit code 0.
    Done,
    /// Exit code 1: done, with findings at or above the chosen severity.
    Findings,
}

/// Reads the command line and does what it says. Exit code 0: done; 1: done, with findings at or
/// above `--fail-on`; 2: not done.
pub fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let mut terminal = Terminal::open();
    match dispatch(&arguments.command, &mut terminal) {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::Findings) => ExitCode::from(1),
        Err(error) if terminal::is_broken_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            terminal.error(&error);
            ExitCode::from(2)
        }
    }
}

fn dispatch(command: &Command, terminal: &mut Terminal) -> Result<Outcome> {
    match command {
        Command::Gather(arguments) => gather::run(arguments, terminal),
        Command::Join(arguments) => join::run(arguments, terminal),
        Command::Look(arguments) => look::run(arguments, terminal),
        Command::Draft(arguments) => draft::run(arguments, terminal),
        Command::Mappings(arguments) => mappings::run(arguments, terminal),
        Command::Terms(arguments) => terms::run(arguments, terminal),
        Command::Convert(arguments) => convert::run(arguments, terminal),
        Command::Checks(arguments) => checks::run(arguments, terminal),
    }
}
