//! What do thermometers say of the machine?

use super::AnswerError;
use crate::chamber::Chamber;
use crate::keys::problem::Problems;
use crate::run::{Log, Reading, Run};
use crate::runfile::logs::{Begins, LogFile, Places, ReadLog, of_option, read_all};
use crate::runfile::{Loaded, readings};
use crate::study::calibrate::sensors::{Sensor, chamber_of};
use std::path::PathBuf;

/// What was measured in one run.
#[derive(Debug, Clone, Default)]
pub struct Measured {
    /// What thermometers showed once.
    pub readings: Vec<Reading>,
    /// What they showed row by row.
    pub logs: Vec<Log>,
}

impl Measured {
    /// Whether nothing was.
    #[must_use]
    pub fn is_nothing(&self) -> bool {
        self.readings.is_empty() && self.logs.is_empty()
    }
}

/// There is nothing to fit to.
#[must_use]
pub fn nothing_measured() -> AnswerError {
    AnswerError::Asked(
        "there is nothing to fit to: give a log, --log evening.csv, or readings, --reading \"feeder motor = 49 degC at Wed 15:20\", or [[log]] or [[reading]] tables in the run file; what is worth measuring says --plan".to_owned(),
    )
}

/// The readings of the run file and those of `lines`, each such as `feeder motor = 49 degC at Wed 15:20`; all that is
/// wrong with the latter at once.
///
/// # Errors
/// When a line is no reading of this run.
pub fn taken(loaded: &Loaded, lines: &[String]) -> Result<Vec<Reading>, AnswerError> {
    let mut all = loaded.readings.clone();
    all.extend(every(lines, |line| readings::of_line(line, &loaded.run))?);
    Ok(all)
}

/// Reads the logs of the run file and the files named; `begins` says when the latter began, for those whose rows count from
/// there, and `columns` what columns hold, as in `T1 = feeder motor`.
/// All that is wrong with any of them comes at once.
///
/// # Errors
/// When a file or a column's words are wrong, or no column is a place of the machine.
pub fn logs(
    loaded: &Loaded,
    files: &[PathBuf],
    begins: Option<&str>,
    columns: &[String],
) -> Result<Vec<ReadLog>, AnswerError> {
    let said = every(columns, of_option)?;
    let begins = begins.map(Begins::of_option).transpose()?;
    if begins.is_some() && files.is_empty() {
        return Err(AnswerError::Asked(
            "--log-begins says when a log began: name the log too, --log FILE".to_owned(),
        ));
    }
    let named = files.iter().cloned().map(LogFile::at);
    let named = named.map(|file| file.begun(begins.clone()));
    let files: Vec<LogFile> = loaded.logs.iter().cloned().chain(named).collect();
    if files.is_empty() {
        return match said.is_empty() {
            true => Ok(Vec::new()),
            false => Err(AnswerError::Asked(
                "--column says what a column of a log holds: name the log too, --log FILE"
                    .to_owned(),
            )),
        };
    }
    let chamber = chamber_of(&loaded.run)?;
    let names = places(&chamber);
    let find = |words: &str| Sensor::find(words, &chamber).ok().map(|found| found.name);
    let places = Places {
        find: &find,
        names: &names,
    };
    Ok(read_all(&files, &said, &loaded.run, &places)?)
}

/// Refuses logs of which no column tells anything that was measured: one that only says what was done may stand beside
/// readings.
///
/// # Errors
/// When there are logs and none has a column that counts, nor is there a reading.
pub fn some_place(logs: &[ReadLog], readings: &[Reading], run: &Run) -> Result<(), AnswerError> {
    let counts = |read: &ReadLog| !read.log.columns.is_empty() || !read.log.powers.is_empty();
    if logs.is_empty() || !readings.is_empty() || logs.iter().any(counts) {
        return Ok(());
    }
    let names = places(&chamber_of(run)?);
    Err(AnswerError::Asked(format!(
        "no column of {} says what was measured: none is a place of this machine or what the bed's heater took; say what one holds, --column \"T1 = feeder motor\": places are {}",
        logs.first()
            .map_or("the log", |read| read.log.name.as_str()),
        names.join(", ")
    )))
}

/// Where a thermometer can be; what lies within a panel nobody measures.
fn places(chamber: &Chamber) -> Vec<String> {
    let all = Sensor::all(chamber).into_iter().map(|place| place.name);
    all.filter(|name| !name.contains("slice")).collect()
}

/// Each line read; all that is wrong with any of them at once.
fn every<T>(
    lines: &[String],
    read: impl Fn(&str) -> Result<T, Problems>,
) -> Result<Vec<T>, AnswerError> {
    let (mut all, mut problems) = (Vec::new(), Vec::new());
    for line in lines {
        match read(line) {
            Ok(one) => all.push(one),
            Err(found) => problems.extend_from_slice(found.as_slice()),
        }
    }
    if problems.is_empty() {
        Ok(all)
    } else {
        Err(Problems::new(problems).into())
    }
}
