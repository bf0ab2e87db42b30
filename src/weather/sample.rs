//! The first lines of a table, and what their cells look like.

use super::times::{Written, written};
use crate::table::number::is_number;
use crate::table::{Separator, Table};
use std::ops::{ControlFlow, RangeInclusive};

/// So many lines tell what a file is like: headers of loggers have some ten.
const LINES: usize = 400;

/// Moments as seconds since 1970, from 1990 to 2100: no temperature and no row's number is so large.
const EPOCH_S: RangeInclusive<f64> = 631_152_000.0..=4_102_444_800.0;

/// The first lines of a table.
#[derive(Debug)]
pub(super) struct Sample {
    pub lines: Vec<Vec<String>>,
}

/// What a cell looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Look {
    Blank,
    DateTime,
    Date,
    Clock,
    /// Seconds or milliseconds since 1970.
    Epoch,
    Number,
    Text,
}

/// How a moment is counted since 1970, if a text is one: parts of a second, and seconds.
pub(super) fn epoch(text: &str) -> Option<(f64, f64)> {
    if !is_number(text) || text.contains(',') {
        return None;
    }
    let number: f64 = text.parse().ok()?;
    [1.0, 1e3, 1e6].into_iter().find_map(|parts| {
        let seconds = number / parts;
        EPOCH_S.contains(&seconds).then_some((parts, seconds))
    })
}

pub(super) fn look(text: &str) -> Look {
    if text.is_empty() {
        return Look::Blank;
    }
    match written(text) {
        Some(Written {
            date: Some(_),
            clock: Some(_),
            ..
        }) => Look::DateTime,
        Some(Written { date: Some(_), .. }) => Look::Date,
        Some(_) => Look::Clock,
        None if epoch(text).is_some() => Look::Epoch,
        None if is_number(text) => Look::Number,
        None => Look::Text,
    }
}

/// Whether a line begins with a number, or hours and minutes, and has more numbers.
pub(super) fn is_numbered(line: &[String]) -> bool {
    let Some((first, rest)) = line.split_first() else {
        return false;
    };
    matches!(look(first), Look::Number | Look::Clock)
        && rest.iter().any(|cell| look(cell) == Look::Number)
}

impl Sample {
    pub fn of(table: &Table) -> Self {
        let mut lines = Vec::new();
        table.lines(|line| {
            lines.push(line.cells().map(str::to_owned).collect());
            if lines.len() < LINES {
                ControlFlow::Continue(())
            } else {
                ControlFlow::Break(())
            }
        });
        Self { lines }
    }

    /// How many cells of a column look like one of these, in lines of several cells.
    pub fn count(&self, column: usize, looks: &[Look]) -> usize {
        let several = self.lines.iter().filter(|line| line.len() > 1);
        several
            .filter(|line| {
                line.get(column)
                    .is_some_and(|cell| looks.contains(&look(cell)))
            })
            .count()
    }

    pub fn columns(&self) -> usize {
        self.lines.iter().map(Vec::len).max().unwrap_or(0)
    }

    /// The columns that look like one of these as often as any, or at least half as often.
    pub fn columns_of(&self, looks: &[Look]) -> (usize, Vec<usize>) {
        let counts: Vec<usize> = (0..self.columns()).map(|c| self.count(c, looks)).collect();
        let most = counts.iter().copied().max().unwrap_or(0);
        let columns = (0..counts.len())
            .filter(|c| most > 0 && 2 * counts[*c] >= most)
            .collect();
        (most, columns)
    }

    /// In how many lines something says when.
    fn dated(&self) -> usize {
        let dates = [Look::DateTime, Look::Date, Look::Epoch];
        self.columns_of(&dates).0
    }

    /// How many lines are rows of several numbers.
    fn numbered(&self) -> usize {
        self.lines.iter().filter(|line| is_numbered(line)).count()
    }

    /// The table whose separator makes most lines say when; none where no line does.
    pub fn best(table: &Table) -> Option<(Table, Self)> {
        Self::best_by(table, Self::dated)
    }

    /// The table whose separator makes most lines rows of several numbers; none where none is.
    pub fn best_numbered(table: &Table) -> Option<(Table, Self)> {
        Self::best_by(table, Self::numbered)
    }

    fn best_by(table: &Table, rows: impl Fn(&Self) -> usize) -> Option<(Table, Self)> {
        let mut best: Option<(usize, Table, Self)> = None;
        for separator in Separator::ALL {
            let table = table.parted_by(separator);
            let sample = Self::of(&table);
            let count = rows(&sample);
            if count > 0 && best.as_ref().is_none_or(|b| count > b.0) {
                best = Some((count, table, sample));
            }
        }
        best.map(|(_, table, sample)| (table, sample))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_known_by_their_looks() {
        for (text, want) in [
            ("", Look::Blank),
            ("2026-07-13T07:00", Look::DateTime),
            ("13.07.2026", Look::Date),
            ("7:00", Look::Clock),
            ("1783926000", Look::Epoch),
            ("1783926000123", Look::Epoch),
            ("24,5", Look::Number),
            ("-24.5", Look::Number),
            ("17", Look::Number),
            ("warm", Look::Text),
        ] {
            assert_eq!(look(text), want, "{text}");
        }
        assert_eq!(epoch("1783926000500"), Some((1e3, 1_783_926_000.5)));
    }
}
