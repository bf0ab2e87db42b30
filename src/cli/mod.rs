//! The command line: one file a subcommand, each from typed options to a library call to output.
//! Only `main.rs` calls in here.

mod check;
mod common;
mod size_fan;

use clap::{Parser, Subcommand};
use std::ffi::OsString;

use common::{Failure, Outcome};

/// Will a days-long run in a closed chamber keep its filament solid in this heat?
#[derive(Debug, Parser)]
#[command(
    name = "dogdays",
    version,
    about,
    after_help = "Exit codes: 0 holds, 10 tight, 20 softens, 2 wrong input or usage, 1 anything else.",
    arg_required_else_help = true,
    max_term_width = 100
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Will it hold? A verdict, the stations, where heat comes from and goes.
    Check(check::CheckOptions),
    /// Which fan is enough? Least flow, pressure, and each fan over the whole run.
    SizeFan(size_fan::SizeFanOptions),
}

/// Runs the program and returns its exit code.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let parsed = match Arguments::try_parse_from(arguments) {
        Ok(parsed) => parsed,
        Err(e) => {
            // Printing may fail when the reader has gone; the exit code still says it all.
            let _ = e.print();
            return if e.use_stderr() {
                common::WRONG_INPUT
            } else {
                0
            };
        }
    };
    let outcome = match parsed.command {
        Command::Check(options) => check::run(&options),
        Command::SizeFan(options) => size_fan::run(&options),
    };
    match outcome {
        Ok(Outcome { exit_code }) => exit_code,
        Err(failure) => failure.report(),
    }
}

impl From<Failure> for u8 {
    fn from(f: Failure) -> Self {
        f.report()
    }
}
