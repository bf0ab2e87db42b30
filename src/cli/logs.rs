//! Logs of a run, as the command line and the run file name them.

use std::path::PathBuf;

use super::common::{Failure, note};
use super::terminal;
use crate::keys::problem::Problems;
use crate::run::Log;
use crate::runfile::Loaded;
use crate::runfile::logs::{LogFile, Places, of_option, read_all};
use crate::study::calibrate::sensors::{Sensor, chamber_of};

/// Logs, and what their columns hold.
#[derive(Debug, Clone, clap::Args)]
pub struct LogOptions {
    /// What a logger wrote during the run: a table of times and temperatures, .csv or a spreadsheet; may be
    /// repeated.
    #[arg(long, value_name = "FILE")]
    pub log: Vec<PathBuf>,
    /// What a column of the logs holds: "T1 = feeder motor", "T1 = feeder motor within 0.5 K in degF",
    /// "T4 = room", "F = fan" (on or off), "L = lid" or "D = door" (open or closed), "P = bed heater in W" (or in %),
    /// "T5 = nothing"; may be repeated.
    /// Columns whose headers name a place, fan, lid, door or bed power need none.
    #[arg(long, value_name = "COLUMN")]
    pub column: Vec<String>,
}

impl LogOptions {
    /// Reads the logs of the run file and those that the options name, tells what was understood and what was left
    /// out. All that is wrong with any of them comes at once.
    pub fn read(&self, loaded: &Loaded) -> Result<Vec<Log>, Failure> {
        let mut problems = Vec::new();
        let mut said = Vec::new();
        for line in &self.column {
            match of_option(line) {
                Ok(one) => said.push(one),
                Err(found) => problems.extend_from_slice(found.as_slice()),
            }
        }
        if !problems.is_empty() {
            return Err(Failure::Input(Problems::new(problems)));
        }
        let named = self.log.iter().cloned().map(LogFile::at);
        let files: Vec<LogFile> = loaded.logs.iter().cloned().chain(named).collect();
        if files.is_empty() {
            return match said.is_empty() {
                true => Ok(Vec::new()),
                false => Err(Failure::Usage(
                    "--column says what a column of a log holds: name the log too, --log FILE"
                        .to_owned(),
                )),
            };
        }
        let chamber = chamber_of(&loaded.run)?;
        // What lies within a panel nobody measures.
        let places = Sensor::all(&chamber).into_iter().map(|place| place.name);
        let names: Vec<String> = places.filter(|name| !name.contains("slice")).collect();
        let find = |words: &str| Sensor::find(words, &chamber).ok().map(|found| found.name);
        let places = Places {
            find: &find,
            names: &names,
        };
        let logs = read_all(&files, &said, &loaded.run, &places).map_err(Failure::Input)?;
        for read in &logs {
            note(&format!("read {}", read.understood));
            read.notes.iter().for_each(|text| note(text));
            read.details.iter().for_each(|text| terminal::detail(text));
        }
        if logs.iter().all(|read| read.log.columns.is_empty()) {
            return Err(Failure::Usage(format!(
                "no column of {} is a place of this machine; say what one holds, --column \"T1 = feeder motor\": places are {}",
                logs.first()
                    .map_or("the log", |read| read.log.name.as_str()),
                names.join(", ")
            )));
        }
        Ok(logs.into_iter().map(|read| read.log).collect())
    }
}
