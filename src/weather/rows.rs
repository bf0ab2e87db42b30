//! What every kind of file is read into: rows in order of time, and where in the file each of them stands.

use super::clock::Clock;
use super::station::Station;
use crate::keys::problem::{Mark, Problem, Source};
use crate::table::Table;
use jiff::civil::DateTime;
use std::ops::{ControlFlow, Range};
use std::sync::Arc;

/// Air this cold or hot is a slip of the unit: the records on Earth are -89 and 57 °C.
pub(super) const PLAUSIBLE_K: Range<f64> = 183.15..333.15;

/// The rows of a file that say how warm it was, in order of time, and how they were read.
#[derive(Debug)]
pub(super) struct Rows {
    pub format: Format,
    pub places: Places,
    /// Time of the first row on the file's clock.
    pub begin: DateTime,
    /// Times of the rows from the first, s.
    pub times_s: Vec<f64>,
    pub temperatures_K: Vec<f64>,
    /// Times of rows without a value, s, rising; those before the first row are below 0.
    pub absent_s: Vec<f64>,
    /// What a year lasts whose end is followed by its beginning, s.
    pub round_s: Option<f64>,
    pub clock: Clock,
    pub station: Option<Station>,
    pub understood: String,
    /// Whether the file is laid out as the program's own examples are.
    pub is_plain: bool,
}

/// Kinds of files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// A table of times and temperatures.
    Table,
    /// The open hourly format of building simulation.
    Epw,
    /// A typical year of version 3.
    Tmy3,
    /// Integrated surface data, lite: fixed columns in UTC.
    IsdLite,
}

impl Format {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Table => "table",
            Self::Epw => "EPW",
            Self::Tmy3 => "TMY3",
            Self::IsdLite => "ISD-Lite",
        }
    }
}

/// Where in its file each row with a value stands.
#[derive(Debug, PartialEq)]
pub(super) enum Places {
    /// Counted anew when somebody asks: a logger's file may have millions.
    Table {
        table: Table,
        first_line: usize,
        time_at: usize,
        temperature_at: usize,
    },
    /// Bytes from and to of what says when.
    Lines {
        source: Arc<Source>,
        stamps: Vec<Range<usize>>,
    },
}

impl Places {
    /// The file's name.
    pub fn name(&self) -> &str {
        match self {
            Self::Table { table, .. } => &table.source.name,
            Self::Lines { source, .. } => &source.name,
        }
    }

    /// An error at a row with a value, by its number.
    pub fn problem(&self, row: usize, message: &str) -> Problem {
        let told = match self {
            Self::Lines { source, stamps } => stamps.get(row).map(|stamp| {
                let mark = Mark {
                    source: Arc::clone(source),
                    span: stamp.clone(),
                };
                Problem::at(&mark, message)
            }),
            Self::Table { time_at, .. } => {
                self.at_line(row, |line| line.problem(*time_at, message))
            }
        };
        told.unwrap_or_else(|| Problem::in_file(self.name(), message))
    }

    /// The line of a row with a value, from 1.
    pub fn line(&self, row: usize) -> usize {
        let line = match self {
            Self::Lines { source, stamps } => stamps
                .get(row)
                .map(|stamp| source.line_and_column(stamp.start).0),
            Self::Table { .. } => self.at_line(row, |line| line.number()),
        };
        line.unwrap_or_default()
    }

    fn at_line<T>(&self, row: usize, give: impl FnOnce(&crate::table::Line<'_>) -> T) -> Option<T> {
        let Self::Table {
            table,
            first_line,
            temperature_at,
            ..
        } = self
        else {
            return None;
        };
        let (mut give, mut given, mut rows) = (Some(give), None, 0);
        table.lines(|line| {
            let has_value = line
                .cell(*temperature_at)
                .is_some_and(|cell| !super::absent::is_mark(cell));
            if line.at < *first_line || !has_value {
                return ControlFlow::Continue(());
            }
            rows += 1;
            if rows <= row {
                return ControlFlow::Continue(());
            }
            given = give.take().map(|give| give(line));
            ControlFlow::Break(())
        });
        given
    }
}
