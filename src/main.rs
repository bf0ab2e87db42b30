//! The `dogdays` program: arguments in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(dogdays::cli::run(std::env::args_os()))
}
