//! Logs: what a logger wrote during a run, as `[[log]]` tables of a run file or an option name it.
//!
//! `said` is what somebody said of a log, `begin` when one began that does not say so itself, `columns` finds out what each
//! column holds, `rows` reads them, `span`
//! compares their times with the run's, `switches` makes of a column what the machine did, `heater`
//! what the bed took, `units`, `probes`, `jumped`, `fallen` and `stuck` look at what the numbers say of
//! thermometers: a unit that can't be, a wire that is broken, an error value, a probe that came off or froze, and `twice` at
//! rows that two logs share. What is left
//! is a plain [`Log`] on the run's clock. This folder knows no chamber: whoever asks says which places the machine has
//! ([`Places`]).

mod begin;
mod columns;
mod fallen;
mod forms;
mod half_line;
mod heater;
mod jumped;
mod no_value;
mod places;
mod probes;
mod rows;
mod said;
mod span;
mod stuck;
mod switches;
mod twice;
mod units;

pub use begin::Begins;
pub use places::Places;
pub use said::{LogFile, Said, of_option};
pub(super) use said::{named, take};

use crate::keys::problem::{Problem, Problems};
use crate::plain::plain;
use crate::run::{Log, LogColumn, Run, Switched};
use crate::table::{DataFile, Mistakes};
use crate::weather::asked::Asked;
use crate::weather::clock::Clock;
use crate::weather::frame::framed;
use crate::weather::survey::survey;
use crate::weather::understood::{as_written, column_name, how_many};
use columns::{Columns, Seen};
use places::Holds;
use rows::Rows;

/// A log, and what there is to say of it.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadLog {
    /// What was measured.
    pub log: Log,
    /// What was understood of the file, in one line.
    pub understood: String,
    /// What was left out and why, each in one line.
    pub notes: Vec<String>,
    /// What only those want to know who ask for more.
    pub details: Vec<String>,
}

/// Reads logs of a run. `more` is what was said of columns beside the files' own tables: each of these must be a
/// column of at least one of the files.
///
/// # Errors
/// Everything that is wrong with any of them.
pub fn read_all(
    files: &[LogFile],
    more: &[Said],
    run: &Run,
    places: &Places<'_>,
) -> Result<Vec<ReadLog>, Problems> {
    let (mut problems, mut logs) = (Vec::new(), Vec::new());
    let mut seen = Seen::default();
    for file in files {
        let mut mistakes = Mistakes::default();
        let read = match DataFile::read(&file.path) {
            Ok(data) => read(data, file, more, run, places, &mut seen, &mut mistakes),
            Err(problem) => {
                mistakes.push(file.can_not_be_opened(*problem));
                None
            }
        };
        if mistakes.is_empty() {
            logs.extend(read);
        } else {
            mistakes.report(&mut problems);
        }
    }
    problems.extend(twice::same_rows(&logs));
    // A log whose header could not be found may have the column.
    if seen.logs == files.len() {
        problems.extend(more.iter().filter_map(|said| seen.missing(said)));
    }
    if problems.is_empty() {
        Ok(logs)
    } else {
        Err(Problems::new(problems))
    }
}

/// Reads one log; `None` when something is wrong, which then is among the mistakes.
fn read(
    data: DataFile,
    file: &LogFile,
    more: &[Said],
    run: &Run,
    places: &Places<'_>,
    seen: &mut Seen,
    mistakes: &mut Mistakes,
) -> Option<ReadLog> {
    let table = data
        .unpacked()
        .and_then(|data| data.table(file.asked.sheet.as_deref()));
    let (table, encoding) = match table {
        Ok(table) => table,
        Err(problem) => {
            mistakes.push(*problem);
            return None;
        }
    };
    let mut problems = Vec::new();
    let begins = file.begins.as_ref();
    let begins = begins.and_then(|begins| begins.at(run, &mut problems));
    let is_clear = problems.is_empty();
    problems.into_iter().for_each(|p| mistakes.push(p));
    is_clear.then_some(())?;
    let clock = Clock::of_rows(file.asked.clock.as_ref());
    let asked = Asked {
        lies_within: Some(span::around(run)),
        begins: begins.map(|begins| clock.of_file(begins)),
        ..file.asked.clone()
    };
    let (table, frame, columns) = framed(table, &asked, mistakes, |head, mistakes| {
        columns::found(head, file, more, places, seen, mistakes)
    })?;
    let Columns {
        used,
        switches,
        heaters,
        told,
    } = columns;
    let values: Vec<usize> = used
        .iter()
        .map(|column| column.at)
        .chain(switches.iter().map(|column| column.at))
        .chain(heaters.iter().map(|column| column.at))
        .collect();
    let mut details = Vec::new();
    let table = match half_line::without(&table, &frame, &values) {
        Some(whole) => {
            details.push("the last line is half written and left out".to_owned());
            whole
        }
        None => table,
    };
    let survey = survey(&table, &frame, &values, &asked, mistakes)?;
    let columns = (&used[..], switches, heaters);
    let rows = rows::read(
        &table, &frame, &survey, &asked, columns, run.start, mistakes,
    );
    let rows = rows.filter(|_| mistakes.is_empty())?;
    let mut parts = as_written(&table, &frame, &survey, encoding);
    parts.extend(used.iter().map(|column| {
        let (what, unit) = (column.holds.name(), column.unit.symbol);
        format!(
            "{what} in column {}, {unit}",
            column_name(&frame, column.at)
        )
    }));
    let at_header = |at: usize, message: String| {
        let told = table.line(frame.header, |line| line.problem(at, message.clone()));
        let name = table.source.name.clone();
        told.unwrap_or_else(|| Problem::in_file(name, message))
    };
    // Rows of thermometers are as far apart as the logger's clock makes them: a change lies between two. A row of a log
    // that has none may stand for the change itself.
    let before_s = if used.is_empty() {
        0.0
    } else {
        0.5 * rows.usual_s()
    };
    let (switched, lines) = switches::done(&rows.switches, run, before_s, &at_header, mistakes);
    parts.extend(lines);
    let is_sampled = !used.is_empty();
    let (powers, lines, left_out) =
        heater::powers(&rows.heaters, run, is_sampled, &at_header, mistakes);
    parts.extend(lines);
    let (first, last) = (rows.time(rows.first_s()), rows.time(rows.last_s()));
    parts.extend(how_many(rows.times_s.len(), first, last, &survey));
    let name = table.source.name.clone();
    let line = |text: &str| plain(&format!("{name}: {text}")).into_owned();
    let mut notes: Vec<String> = told.iter().map(|told| line(told)).collect();
    if asked.begins.is_some() && !frame.time.counts() {
        notes.push(line(
            "its rows say when they are, and what was said of its begin is not needed",
        ));
    }
    if switches::are_both_open(&switched) {
        notes.push(line(
            "lid and door are open at once: taken for the lid alone, through which more goes",
        ));
    }
    notes.extend(left_out.iter().map(|text| line(text)));
    let mut log = judged(rows, &name, run, switched, &at_header, &mut notes, mistakes)?;
    log.powers = powers;
    Some(ReadLog {
        log,
        understood: line(&parts.join("; ")),
        notes,
        details: details.iter().map(|detail| line(detail)).collect(),
    })
}

/// What is left of the rows once each column has been looked at; `None` when something is wrong with one.
fn judged(
    mut rows: Rows,
    name: &str,
    run: &Run,
    switched: Vec<Switched>,
    at_header: &dyn Fn(usize, String) -> Problem,
    notes: &mut Vec<String>,
    mistakes: &mut Mistakes,
) -> Option<Log> {
    let mut note = |text: String| notes.push(plain(&format!("{name}: {text}")).into_owned());
    if let Some(problem) = span::outside(&rows, name, run) {
        mistakes.push(problem);
        return None;
    }
    if rows.torn > 0 {
        let torn = probes::counted(rows.torn);
        note(format!("left out: {torn} with fewer cells than the others"));
    }
    // What a probe shows is judged by what was done.
    let run = &run.as_switched(&switched);
    units::check(&rows, run, at_header, mistakes);
    if !mistakes.is_empty() {
        return None;
    }
    probes::without_open(&mut rows, run, &mut note);
    span::cut(&mut rows, run, &mut note);
    span::gaps(&rows, &mut note);
    probes::check(&rows, name, run, at_header, &mut note, mistakes);
    jumped::without(&mut rows, run, &mut note);
    fallen::without(&mut rows, run, &mut note);
    // Last: a probe that came off may lie in a room that does not change.
    stuck::without(&mut rows, run, &mut note);
    if !mistakes.is_empty() {
        return None;
    }
    let missing: Vec<String> = rows
        .columns
        .iter()
        .filter(|column| !column.missing_s.is_empty())
        .map(|column| format!("'{}' {}", column.header, column.missing_s.len()))
        .collect();
    if !missing.is_empty() {
        note(format!("rows without a value: {}", missing.join(", ")));
    }
    let mut log = Log {
        name: name.to_owned(),
        columns: Vec::new(),
        room: Vec::new(),
        switched,
        powers: Vec::new(),
    };
    for column in rows.columns {
        match column.holds {
            Holds::Room => log.room = column.rows,
            Holds::Place(_) if column.rows.is_empty() => {}
            Holds::Place(sensor) => log.columns.push(LogColumn {
                header: plain(&column.header).into_owned(),
                sensor,
                within_K: column.within_K,
                rows: column.rows,
            }),
        }
    }
    Some(log)
}
