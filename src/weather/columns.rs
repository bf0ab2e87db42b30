//! Which columns say when.

use super::asked::{Asked, By};
use super::elapsed::{self, Hands, TimeUnit, hands_s};
use super::sample::{Look, Sample};
use crate::keys::problem::nearest;
use crate::table::{Line, Mistakes};
use jiff::civil::DateTime;

/// What says when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TimeColumns {
    /// One column, of dates and times.
    One(usize),
    /// A column of dates and one of times of day.
    Two { date: usize, clock: usize },
    /// One column, of seconds or parts of them since 1970.
    Epoch(usize),
    /// One column, that counts from where the log begins.
    Elapsed { at: usize, unit: TimeUnit },
    /// One column, of hours and minutes without a date, from where the log begins.
    Hands { at: usize, hands: Hands },
}

impl TimeColumns {
    /// The column by which a row is shown.
    pub const fn at(self) -> usize {
        match self {
            Self::One(at)
            | Self::Epoch(at)
            | Self::Elapsed { at, .. }
            | Self::Hands { at, .. }
            | Self::Two { date: at, .. } => at,
        }
    }

    /// Whether rows count from where the log begins.
    pub const fn counts(self) -> bool {
        matches!(self, Self::Elapsed { .. } | Self::Hands { .. })
    }

    pub const fn is(self, column: usize) -> bool {
        match self {
            Self::One(at) | Self::Epoch(at) | Self::Elapsed { at, .. } | Self::Hands { at, .. } => {
                at == column
            }
            Self::Two { date, clock } => date == column || clock == column,
        }
    }
}

/// The columns that say when.
pub(super) fn time_columns(
    header: &Line<'_>,
    names: &[String],
    asked: &Asked,
    sample: &Sample,
    mistakes: &mut Mistakes,
) -> Option<TimeColumns> {
    let by = asked.by;
    let date = named(header, names, asked.date.as_deref(), by, mistakes)?;
    let time = named(header, names, asked.time.as_deref(), by, mistakes)?;
    if let (Some(date), Some(clock)) = (date, time) {
        return Some(TimeColumns::Two { date, clock });
    }
    let is = |column: usize, look| sample.count(column, &[look]) > 0;
    let (_, mut moments) = sample.columns_of(&[Look::DateTime]);
    let (_, dates) = sample.columns_of(&[Look::Date]);
    let (_, clocks) = sample.columns_of(&[Look::Clock]);
    let (_, epochs) = sample.columns_of(&[Look::Epoch]);
    if let Some(date) = date {
        return match clocks[..] {
            [clock] if !is(date, Look::DateTime) => Some(TimeColumns::Two { date, clock }),
            [] => Some(TimeColumns::One(date)),
            _ => which(
                header,
                names,
                &clocks,
                "times of day",
                "time_column",
                by,
                mistakes,
            ),
        };
    }
    if by == By::Log && moments.is_empty() && dates.is_empty() && epochs.is_empty() {
        let column = match time {
            Some(time) => Some(time).filter(|at| elapsed::rises(sample, *at)),
            None => elapsed::column(names, sample),
        };
        if let Some(at) = column {
            return counted(header, names, at, asked, mistakes);
        }
        if let ([at], Some(begins)) = (&clocks[..], asked.begins) {
            return with_hands(header, *at, begins, sample, mistakes);
        }
    }
    if let Some(time) = time {
        return if is(time, Look::Epoch) {
            Some(TimeColumns::Epoch(time))
        } else if is(time, Look::Clock) && !is(time, Look::DateTime) {
            match dates[..] {
                [date] => Some(TimeColumns::Two { date, clock: time }),
                [] => Some(TimeColumns::One(time)),
                _ => which(header, names, &dates, "dates", "date_column", by, mistakes),
            }
        } else {
            Some(TimeColumns::One(time))
        };
    }
    let plain = names
        .iter()
        .position(|name| name.eq_ignore_ascii_case("time"));
    if moments.len() > 1
        && let Some(plain) = plain.filter(|at| moments.contains(at))
    {
        moments = vec![plain];
    }
    match (&moments[..], &dates[..], &clocks[..], &epochs[..]) {
        ([one], ..) => Some(TimeColumns::One(*one)),
        ([], [date], [clock], _) => Some(TimeColumns::Two {
            date: *date,
            clock: *clock,
        }),
        ([], [date], [], _) => Some(TimeColumns::One(*date)),
        ([], [], [], [one]) => Some(TimeColumns::Epoch(*one)),
        ([], [], [], []) if plain.is_some() => plain.map(TimeColumns::One),
        ([], [], [], []) => {
            named(header, names, Some("time"), by, mistakes)?;
            None
        }
        ([], [], [_, ..], []) => {
            let message = "the rows have a time of day and no date";
            let mut help = format!(
                "a column with dates is needed: name it in the run file, date_column = \"...\" under {}",
                by.table()
            );
            if by == By::Log {
                help.push_str("; or say when the first row was, --log-begins \"Mon 19:00\", or begins under [[log]]");
            }
            mistakes.push(header.problem_of_all(message).help(help));
            None
        }
        ([], [_, _, ..], ..) => which(header, names, &dates, "dates", "date_column", by, mistakes),
        ([], [_], ..) => which(
            header,
            names,
            &clocks,
            "times of day",
            "time_column",
            by,
            mistakes,
        ),
        ([], [], ..) => which(
            header,
            names,
            &epochs,
            "moments",
            "time_column",
            by,
            mistakes,
        ),
        _ => which(
            header,
            names,
            &moments,
            "dates and times",
            "time_column",
            by,
            mistakes,
        ),
    }
}

/// A column that counts from where the log begins; none where nobody says when that was, or in what it counts.
fn counted(
    header: &Line<'_>,
    names: &[String],
    at: usize,
    asked: &Asked,
    mistakes: &mut Mistakes,
) -> Option<TimeColumns> {
    let unit = TimeUnit::of_header(&names[at]);
    if unit.is_none() {
        let message = format!(
            "the column '{}' counts, and does not say in what",
            names[at]
        );
        let help = "write the unit in the header, such as time_s, time_min or time_h";
        mistakes.push(header.problem(at, message).help(help));
    }
    if asked.begins.is_none() {
        let message = format!(
            "the column '{}' counts from where this log begins, and nothing says when that was",
            names[at]
        );
        let help = "say it: --log-begins \"Mon 19:00\", or begins = \"Mon 19:00\" under [[log]] in the run file; \"0 h\" where it began with the run";
        mistakes.push(header.problem(at, message).help(help));
    }
    asked
        .begins
        .and(unit)
        .map(|unit| TimeColumns::Elapsed { at, unit })
}

/// A column of hours and minutes of a log that begins then; none where its first row fits neither way.
fn with_hands(
    header: &Line<'_>,
    at: usize,
    begins: DateTime,
    sample: &Sample,
    mistakes: &mut Mistakes,
) -> Option<TimeColumns> {
    let cells = sample.lines.iter().filter_map(|line| line.get(at));
    let (first, first_s) = cells
        .filter_map(|cell| Some((cell, hands_s(cell)?)))
        .next()?;
    let hands = Hands::of(first_s, begins);
    if hands.is_none() {
        let message = format!(
            "the log's first row is at {first}, and it is said to begin on {}",
            begins.strftime("%Y-%m-%d at %H:%M")
        );
        let help = "say the day and time of its first row, by the clock of the log";
        mistakes.push(header.problem(at, message).help(help));
    }
    hands.map(|hands| TimeColumns::Hands { at, hands })
}

/// Asks which of several columns is meant.
fn which<T>(
    header: &Line<'_>,
    names: &[String],
    columns: &[usize],
    what: &str,
    key: &str,
    by: By,
    mistakes: &mut Mistakes,
) -> Option<T> {
    let found: Vec<&str> = columns
        .iter()
        .map(|at| names.get(*at).map_or("(without a name)", String::as_str))
        .collect();
    let message = format!("several columns hold {what}: {}", found.join(", "));
    let help = format!(
        "write {key} = \"{}\" (or another) under {} in the run file",
        found[0],
        by.table()
    );
    mistakes.push(header.problem_of_all(message).help(help));
    None
}

/// The column of a name that was asked for; inside none where none was. None at all if there is no such column.
pub(super) fn named(
    header: &Line<'_>,
    names: &[String],
    asked: Option<&str>,
    by: By,
    mistakes: &mut Mistakes,
) -> Option<Option<usize>> {
    let Some(name) = asked else {
        return Some(None);
    };
    if let Some(at) = names.iter().position(|n| n.eq_ignore_ascii_case(name)) {
        return Some(Some(at));
    }
    let near = nearest(name, names.iter().map(String::as_str));
    let help = near.map_or_else(
        || {
            format!(
                "its columns are {}; name the right one in the run file under {}",
                names.join(", "),
                by.table()
            )
        },
        |near| {
            let table = by.table();
            format!("did you mean \"{near}\"? Name it in the run file under {table}")
        },
    );
    mistakes.push(
        header
            .problem_of_all(format!("there is no column \"{name}\""))
            .help(help),
    );
    None
}
