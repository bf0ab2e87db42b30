//! `dogdays season --describe`.

use std::path::PathBuf;

use super::weather::ReadingOptions;
use crate::cli::common::{Failure, Outcome, print};
use crate::cli::terminal;
use crate::output::weather_described::{File, json, text};
use crate::plain::plain;
use crate::weather::{Rules, read_years};

/// Reads files and folders, and prints what they hold.
pub fn run(paths: &[PathBuf], options: &ReadingOptions, as_json: bool) -> Result<Outcome, Failure> {
    let rules = Rules {
        is_only_looked_at: true,
        ..options.rules()?
    };
    let years = read_years(paths, &rules).map_err(Failure::Input)?;
    let shown = |path: &PathBuf| plain(&path.display().to_string()).into_owned();
    let files: Vec<File> = years
        .series
        .iter()
        .filter_map(|year| {
            Some(File {
                name: shown(&year.path),
                described: year.series.describe()?,
            })
        })
        .collect();
    let left_out: Vec<String> = years.left_out.iter().map(shown).collect();
    if as_json {
        print(&format!("{:#}\n", json(&files, &left_out)))?;
    } else {
        print(&text(&files, &left_out, terminal::screen()))?;
    }
    Ok(Outcome { exit_code: 0 })
}
