//! Where in a logger's file the table is, what its columns are called, and which of them say when.
//!
//! Columns are known by what stands in them: the one with dates and times says when. A header is the line of
//! words above the first row, with perhaps a line of units between. What can't be told apart is asked for.

use super::asked::{Asked, By};
use super::columns::{TimeColumns, time_columns};
use super::header_units::{unit_alone, unit_of_header};
use super::sample::{Look, Sample, is_numbered, look};
use crate::keys::problem::Problem;
use crate::quantity::Unit;
use crate::table::{Line, Mistakes, Separator, Table};

/// Where the table is, and which columns say when.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Frame {
    /// Line of the file, from 1, with the names of the columns.
    pub header_line: usize,
    /// Number of that line.
    pub header: usize,
    /// Number of the first row.
    pub first: usize,
    pub names: Vec<String>,
    pub time: TimeColumns,
}

/// The head of a table, before it is known what its columns hold.
pub(crate) struct Head<'a> {
    /// The line that names the columns.
    pub line: &'a Line<'a>,
    pub names: &'a [String],
    /// The line of units below it, where there is one.
    pub units: Option<&'a [String]>,
    /// The columns that say when; none if something is wrong with them, which then has been reported.
    pub time: Option<TimeColumns>,
    /// Whether it is the first line, without a line of units, commas between its names.
    pub is_plain: bool,
}

impl Head<'_> {
    /// Whether a column is one of those that say when.
    pub fn is_time(&self, at: usize) -> bool {
        self.time.is_some_and(|time| time.is(at))
    }

    /// Whether the line of units has something else for a column.
    pub fn has_other_unit(&self, at: usize) -> bool {
        let below = self.units.and_then(|units| units.get(at));
        below.is_some_and(|cell| !cell.is_empty() && unit_alone(cell).is_none())
    }

    /// The unit of temperature in a column's name or in the line of units.
    pub fn unit(&self, at: usize) -> Option<&'static Unit> {
        let below = self.units.and_then(|units| units.get(at));
        unit_of_header(&self.names[at]).or_else(|| below.and_then(|cell| unit_alone(cell)))
    }
}

/// Looks at a table's first lines. What its columns hold, beside times, is found by `columns`; none where that has
/// reported something.
pub(crate) fn framed<T>(
    plain: Table,
    asked: &Asked,
    mistakes: &mut Mistakes,
    columns: impl FnOnce(&Head<'_>, &mut Mistakes) -> Option<T>,
) -> Option<(Table, Frame, T)> {
    let (table, sample) = match asked.separator {
        _ if plain.is_sheet() => {
            let sample = Sample::of(&plain);
            (plain, sample)
        }
        Some(separator) => {
            let table = plain.parted_by(separator);
            let sample = Sample::of(&table);
            (table, sample)
        }
        None => {
            let counted = || (asked.by == By::Log).then(|| Sample::best_numbered(&plain));
            let best = Sample::best(&plain).or_else(|| counted().flatten());
            best.unwrap_or_else(|| {
                let sample = Sample::of(&plain);
                (plain, sample)
            })
        }
    };
    if sample.lines.is_empty() {
        let (what, help) = asked.by.example();
        let message = format!("this {what} is empty");
        mistakes.push(Problem::in_file(table.source.name.clone(), message).help(help));
        return None;
    }
    let counted = || (asked.by == By::Log).then(|| first_counted(&sample));
    let row = first_row(&sample).or_else(|| counted().flatten());
    let Some(place) = header(&sample, row) else {
        table.line(row.unwrap_or(0), |line| {
            let message = if row == Some(0) {
                "the first line does not name the columns"
            } else {
                "no line above this first row names the columns"
            };
            mistakes.push(line.problem_of_all(message).help(asked.by.first_line()));
        });
        return None;
    };
    table.line(place.header, |line| {
        let names: Vec<String> = line.cells().map(str::to_owned).collect();
        let units = place.units.map(|at| sample.lines[at].as_slice());
        let time = time_columns(line, &names, asked, &sample, mistakes);
        let head = Head {
            line,
            names: &names,
            units,
            time,
            is_plain: place.header == 0
                && place.units.is_none()
                && table.separator == Separator::Comma
                && matches!(time, Some(TimeColumns::One(_))),
        };
        let found = columns(&head, mistakes);
        let (time, found) = (time?, found?);
        let frame = Frame {
            header_line: line.number(),
            header: place.header,
            first: place.units.unwrap_or(place.header) + 1,
            names,
            time,
        };
        Some((table.clone(), frame, found))
    })?
}

/// The first line that says when and has as many cells as the lines that do mostly have: lines above a table
/// may tell when the logger was started.
fn first_row(sample: &Sample) -> Option<usize> {
    let dated = |line: &[String]| {
        let says_when =
            |cell: &String| matches!(look(cell), Look::DateTime | Look::Date | Look::Epoch);
        line.len() > 1 && line.iter().any(says_when)
    };
    let mut lengths: Vec<(usize, usize)> = Vec::new();
    for line in sample.lines.iter().filter(|line| dated(line)) {
        match lengths.iter_mut().find(|(length, _)| *length == line.len()) {
            Some((_, count)) => *count += 1,
            None => lengths.push((line.len(), 1)),
        }
    }
    let (usual, _) = lengths.into_iter().rev().max_by_key(|(_, count)| *count)?;
    sample
        .lines
        .iter()
        .position(|line| {
            // A logger's start stands beside words, a row's time beside numbers.
            line.len() >= usual && dated(line) && is_row(line)
        })
        .or_else(|| {
            sample
                .lines
                .iter()
                .position(|line| line.len() >= usual && dated(line))
        })
}

/// The first of the rows of numbers that have as many cells as most of them, where no line says when by date.
fn first_counted(sample: &Sample) -> Option<usize> {
    let rows = || {
        sample
            .lines
            .iter()
            .enumerate()
            .filter(|(_, line)| is_numbered(line))
    };
    let mut lengths: Vec<usize> = rows().map(|(_, line)| line.len()).collect();
    lengths.sort_unstable();
    let usual = *lengths.get(lengths.len() / 2)?;
    rows()
        .find(|(_, line)| line.len() == usual)
        .map(|(at, _)| at)
}

fn is_row(line: &[String]) -> bool {
    line.iter().any(|cell| look(cell) == Look::Number)
        && !line.first().is_some_and(|cell| look(cell) == Look::Text)
}

struct Place {
    header: usize,
    units: Option<usize>,
}

/// The nearest line of words above the first row; the first line where no row was found.
fn header(sample: &Sample, row: Option<usize>) -> Option<Place> {
    let Some(row) = row else {
        return Some(Place {
            header: 0,
            units: None,
        });
    };
    let length = sample.lines[row].len();
    let mut units = None;
    for at in (0..row).rev() {
        let line = &sample.lines[at];
        let looks: Vec<Look> = line.iter().map(|cell| look(cell)).collect();
        let names = looks.iter().all(|l| matches!(l, Look::Text | Look::Blank))
            && looks.contains(&Look::Text)
            && line.len() > 1
            && (line.len() + 1 >= length || (at + 1 == row && 2 * line.len() > length));
        if !names {
            continue;
        }
        if units.is_none() && is_units(line) {
            units = Some(at);
            continue;
        }
        return Some(Place { header: at, units });
    }
    // What looked like units are all the names there are.
    units.map(|header| Place {
        header,
        units: None,
    })
}

/// A line of nothing but units: short, a temperature's among them.
fn is_units(line: &[String]) -> bool {
    line.iter().any(|cell| unit_alone(cell).is_some())
        && line.iter().all(|cell| cell.chars().count() <= 16)
}
