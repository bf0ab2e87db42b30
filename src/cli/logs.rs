//! Logs of a run, as the command line and the run file name them.

use std::path::PathBuf;

use super::common::{Failure, note};
use super::terminal;
use crate::answer::calibrate;
use crate::run::{Log, Reading};
use crate::runfile::Loaded;

/// Logs, and what their columns hold.
#[derive(Debug, Clone, clap::Args)]
pub struct LogOptions {
    /// What a logger wrote during the run: a table of times and temperatures, .csv or a spreadsheet; may be
    /// repeated.
    #[arg(long, value_name = "FILE")]
    pub log: Vec<PathBuf>,
    /// When the logs named here began, "Mon 19:00", or "0 h" for with the run: for those whose rows count from there, as
    /// in a column time_s.
    #[arg(long, value_name = "WHEN", allow_hyphen_values = true)]
    pub log_begins: Option<String>,
    /// What a column of the logs holds: "T1 = feeder motor", "T1 = feeder motor within 0.5 K in degF",
    /// "T4 = room", "F = fan" (on or off), "L = lid" or "D = door" (open or closed), "P = bed heater in W" (or in %),
    /// "T5 = nothing"; may be repeated.
    /// Columns whose headers name a place, fan, lid, door or bed power need none.
    #[arg(long, value_name = "COLUMN")]
    pub column: Vec<String>,
}

impl LogOptions {
    /// Reads the logs of the run file and those that the options name, tells what was understood and what was left
    /// out. All that is wrong with any of them comes at once. `readings` are those of the same run.
    pub fn read(&self, loaded: &Loaded, readings: &[Reading]) -> Result<Vec<Log>, Failure> {
        let logs = calibrate::logs(loaded, &self.log, self.log_begins.as_deref(), &self.column)?;
        for read in &logs {
            note(&format!("read {}", read.understood));
            read.notes.iter().for_each(|text| note(text));
            read.details.iter().for_each(|text| terminal::detail(text));
        }
        calibrate::some_place(&logs, readings, &loaded.run)?;
        Ok(logs.into_iter().map(|read| read.log).collect())
    }
}
