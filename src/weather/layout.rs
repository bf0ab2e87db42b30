//! Where in a logger's file the table is, and which of its columns say when and how warm.
//!
//! Columns are known by what stands in them: the one with dates and times says when. A header is the line of
//! words above the first row, with perhaps a line of units between. What can't be told apart is asked for.

use super::asked::Asked;
use super::columns::{self, Temperature, TimeColumns};
use super::sample::{Look, Sample, look};
use crate::keys::problem::Problem;
use crate::table::{Mistakes, Separator, Table};

/// Where the table is, and what its columns are.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Layout {
    /// Line of the file, from 1, with the names of the columns.
    pub header_line: usize,
    /// Number of the first row.
    pub first: usize,
    pub names: Vec<String>,
    pub time: TimeColumns,
    pub temperature: Temperature,
    /// Whether the file is laid out as the program's own examples are.
    pub is_plain: bool,
}

const FIRST_LINE: &str = "put a line time,temperature_degC (or _degF, _K) before the first row";

/// Looks at a table's first lines.
pub(super) fn layout(
    plain: Table,
    asked: &Asked,
    mistakes: &mut Mistakes,
) -> Option<(Table, Layout)> {
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
        None => Sample::best(&plain).unwrap_or_else(|| {
            let sample = Sample::of(&plain);
            (plain, sample)
        }),
    };
    if sample.lines.is_empty() {
        mistakes.push(Problem::in_file(table.source.name.clone(), "this weather series is empty").help(
            "its first line is time,temperature_degC and each further line an hour, such as 2026-07-13T07:00,24.5",
        ));
        return None;
    }
    let row = first_row(&sample);
    let Some(place) = header(&sample, row) else {
        table.line(row.unwrap_or(0), |line| {
            let message = if row == Some(0) {
                "the first line does not name the columns"
            } else {
                "no line above this first row names the columns"
            };
            mistakes.push(line.problem_of_all(message).help(FIRST_LINE));
        });
        return None;
    };
    table.line(place.header, |line| {
        let names: Vec<String> = line.cells().map(str::to_owned).collect();
        let units = place.units.map(|at| sample.lines[at].as_slice());
        let time = columns::time(line, &names, asked, &sample, mistakes);
        let is_time = |at| time.is_some_and(|time| time.is(at));
        let temperature = columns::temperature(line, &names, units, asked, &is_time, mistakes);
        let (time, temperature) = (time?, temperature?);
        let is_plain = place.header == 0
            && place.units.is_none()
            && table.separator == Separator::Comma
            && matches!(time, TimeColumns::One(_))
            && temperature.is_named_so;
        let layout = Layout {
            header_line: line.number(),
            first: place.units.unwrap_or(place.header) + 1,
            names,
            time,
            temperature,
            is_plain,
        };
        Some((table.clone(), layout))
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
    line.iter().any(|cell| columns::unit_alone(cell).is_some())
        && line.iter().all(|cell| cell.chars().count() <= 16)
}
