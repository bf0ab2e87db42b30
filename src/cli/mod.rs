//! The command line: one file a subcommand, each from typed options to a library call to output.
//! Only `main.rs` calls in here.

mod calibrate;
mod catalogue;
mod check;
mod common;
mod compare;
mod dialogue;
mod ended;
mod explain;
mod follow;
mod logs;
mod manual;
mod new;
mod outputs;
mod page;
mod plan;
mod question;
mod season;
mod sheet;
mod size_fan;
mod sure;
mod terminal;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use std::ffi::OsString;

use common::Outcome;

/// Will a days-long run in a closed chamber keep its filament solid in this heat?
#[derive(Debug, Parser)]
#[command(
    name = "dogdays",
    version,
    about,
    after_help = EXIT_CODES,
    after_long_help = EXIT_CODES,
    max_term_width = 100
)]
struct Arguments {
    #[command(flatten)]
    manners: terminal::Manners,
    #[command(subcommand)]
    command: Option<Command>,
}

const EXIT_CODES: &str = "Exit codes: 0 holds, 10 tight, 20 softens, 30 cannot run, 2 wrong input or usage, 1 anything else.";

/// What `dogdays` alone says.
const WELCOME: &str = "\
Will a days-long run in a closed chamber keep its filament solid in this heat?
  dogdays check                 look at the built-in demo
  dogdays new my.toml           describe your own run; it asks what matters
  dogdays check my.toml         will it hold, and if not, what would help?
  dogdays size-fan my.toml      which fan is enough?
  dogdays --help                everything else
";

#[derive(Debug, Subcommand)]
enum Command {
    /// Will it hold? A verdict, the stations, where heat comes from and goes.
    Check(check::CheckOptions),
    /// What machines, materials and panels are known, with values and sources.
    Catalogue(catalogue::CatalogueOptions),
    /// What the keys of a run file mean, found by name or word.
    Explain(explain::ExplainOptions),
    /// Write a run file to begin with.
    New(Box<new::NewOptions>),
    /// Completions for a shell.
    Completions(manual::CompletionOptions),
    /// The manual page.
    Manual(manual::ManualOptions),
    /// Arrangements side by side: verdicts, margins, and up to which room temperature each holds.
    Compare(compare::CompareOptions),
    /// Which fan is enough? Least flow, pressure, and each fan over the whole run.
    SizeFan(size_fan::SizeFanOptions),
    /// What thermometers showed: fits the machine to it.
    Calibrate(calibrate::CalibrateOptions),
    /// A run in progress: what its log says so far, what is to come, and when to act.
    Follow(follow::FollowOptions),
    /// When is it safe to start? The run started at every hour of a season.
    Season(season::SeasonOptions),
    /// Turn the run's knobs on a page in the browser; verdict and plot follow.
    Page(page::PageOptions),
}

/// Runs the program and returns its exit code.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let color = terminal::color_of_raw(&arguments);
    let program = Arguments::command().color(color);
    let parsed = program
        .try_get_matches_from(arguments)
        .and_then(|matches| Arguments::from_arg_matches(&matches));
    let parsed = match parsed {
        Ok(parsed) => parsed,
        Err(e) => {
            if e.use_stderr() {
                terminal::usage(&e.render(), color);
                return common::WRONG_INPUT;
            }
            // Printing may fail when the reader has gone; the exit code still says it all.
            let _ = e.print();
            return 0;
        }
    };
    parsed.manners.settle();
    let outcome = match parsed.command {
        None => common::print(WELCOME).map(|()| Outcome { exit_code: 0 }),
        Some(Command::Check(options)) => check::run(&options),
        Some(Command::Catalogue(options)) => catalogue::run(&options),
        Some(Command::Explain(options)) => explain::run(&options),
        Some(Command::New(options)) => new::run(&options),
        Some(Command::Completions(options)) => manual::completions(&options, Arguments::command()),
        Some(Command::Manual(_)) => manual::manual(Arguments::command()),
        Some(Command::Compare(options)) => compare::run(&options),
        Some(Command::SizeFan(options)) => size_fan::run(&options),
        Some(Command::Calibrate(options)) => calibrate::run(&options),
        Some(Command::Follow(options)) => follow::run(&options),
        Some(Command::Season(options)) => season::run(&options),
        Some(Command::Page(options)) => page::run(&options),
    };
    match outcome {
        Ok(Outcome { exit_code }) => exit_code,
        Err(failure) => failure.report(),
    }
}
