//! What was understood of a series, in one line, so that a misreading is seen.

use super::clock::{Clock, offset_words};
use super::columns::TimeColumns;
use super::elapsed::Hands;
use super::frame::Frame;
use super::layout::Layout;
use super::rows::Rows;
use super::survey::{DatesBy, Survey};
use super::times::DateOrder;
use crate::plain::plain;
use crate::quantity::format_count;
use crate::table::{Decimals, Encoding, Separator, Table};
use jiff::civil::DateTime;

/// The rows of a table in order of time, and how it was read.
pub(super) struct TableRows {
    pub table: Table,
    pub layout: Layout,
    pub survey: Survey,
    pub begin: DateTime,
    /// Times of the rows from the first, s.
    pub times_s: Vec<f64>,
    pub temperatures_K: Vec<f64>,
    /// Times of rows without a value, s.
    pub absent_s: Vec<f64>,
}

/// How a table is written and which of its columns say when: separators, decimals, dates.
pub(crate) fn as_written(
    table: &Table,
    frame: &Frame,
    survey: &Survey,
    encoding: Encoding,
) -> Vec<String> {
    let name = |at| column_name(frame, at);
    let mut parts: Vec<String> = Vec::new();
    match encoding {
        Encoding::Utf8 | Encoding::Sheet => {}
        Encoding::Utf16 => parts.push("UTF-16 text".to_owned()),
        Encoding::Windows1252 => parts.push("Latin-1 text".to_owned()),
    }
    let separators = match table.separator {
        _ if encoding == Encoding::Sheet => "spreadsheet",
        Separator::Comma => "commas",
        Separator::Semicolon => "semicolons",
        Separator::Tab => "tabs",
    };
    parts.push(separators.to_owned());
    if survey.decimals == Decimals::Comma {
        parts.push("decimal commas".to_owned());
    }
    if frame.header_line > 1 {
        parts.push(format!("the columns' names in line {}", frame.header_line));
    }
    parts.push(match frame.time {
        TimeColumns::One(at) => format!("times in column {}, {}", name(at), dates(survey)),
        TimeColumns::Two { date, clock } => {
            format!(
                "dates in column {}, {}, times in column {}",
                name(date),
                dates(survey),
                name(clock)
            )
        }
        TimeColumns::Epoch(at) => format!("moments since 1970 in column {}", name(at)),
        TimeColumns::Elapsed { at, unit } => {
            format!("{} since its begin in column {}", unit.plural(), name(at))
        }
        TimeColumns::Hands { at, hands } => match hands {
            Hands::Since => format!("hours and minutes since its begin in column {}", name(at)),
            Hands::OfDay { .. } => {
                format!("times of day from its begin on in column {}", name(at))
            }
        },
    });
    if survey.is_utc {
        parts.push("moved from UTC to the run's clock".to_owned());
    }
    parts
}

/// A column's name in quotes.
pub(crate) fn column_name(frame: &Frame, at: usize) -> String {
    format!("'{}'", frame.names.get(at).map_or("", String::as_str))
}

/// How many rows there are from when to when, and how many lines below them were left out.
pub(crate) fn how_many(
    rows: usize,
    first: DateTime,
    last: DateTime,
    survey: &Survey,
) -> Vec<String> {
    let mut parts = vec![format!(
        "{} rows from {} to {}",
        format_count(rows),
        stamp(first),
        stamp(last)
    )];
    match survey.below {
        0 => {}
        1 => parts.push("a line below them left out".to_owned()),
        lines => parts.push(format!("{lines} lines below them left out")),
    }
    parts
}

/// One line: separators, decimals, dates, columns, rows.
pub(super) fn understood(rows: &TableRows, encoding: Encoding, clock: &Clock) -> String {
    let TableRows {
        table,
        layout,
        survey,
        ..
    } = rows;
    let mut parts = as_written(table, &layout.frame, survey, encoding);
    let unit = layout.temperature.unit.symbol;
    parts.push(format!(
        "temperatures in column {}, {unit}",
        column_name(&layout.frame, layout.temperature.at)
    ));
    let last_s = rows.times_s.last().copied().unwrap_or_default();
    parts.extend(how_many(
        rows.times_s.len(),
        clock.of_shop(rows.begin),
        clock.of_shop(moment(rows.begin, last_s)),
        survey,
    ));
    plain(&format!("{}: {}", table.source.name, parts.join("; "))).into_owned()
}

/// One line of a file of the standard formats: what it is, of which place, by which clock, how many hours.
pub(super) fn hours_understood(rows: &Rows) -> String {
    let mut parts = vec![format!("{} hours", rows.format.name())];
    let zone = rows.station.as_ref().map(|s| {
        if !s.name.is_empty() {
            parts.push(s.name.clone());
        }
        s.standard_time_s
    });
    let theirs = match zone {
        Some(Some(ahead_s)) => format!("the place's standard time, {}", offset_words(ahead_s)),
        Some(None) => "the place's standard time".to_owned(),
        None => "UTC".to_owned(),
    };
    parts.push(match &rows.clock {
        Clock::Same => format!("in {theirs}, taken as the clock of the run"),
        Clock::Shop(shop, _) => format!("moved from {theirs} to {}", shop.words()),
    });
    if rows.round_s.is_some() {
        parts.push(
            "a year without a date of its own, whose December is followed by its January"
                .to_owned(),
        );
    } else {
        let last_s = rows.times_s.last().copied().unwrap_or_default();
        parts.push(format!(
            "{} hours from {} to {}",
            format_count(rows.times_s.len()),
            stamp(rows.clock.of_shop(rows.begin)),
            stamp(rows.clock.of_shop(moment(rows.begin, last_s)))
        ));
    }
    plain(&format!("{}: {}", rows.places.name(), parts.join("; "))).into_owned()
}

fn dates(survey: &Survey) -> String {
    let order = match survey.order {
        DateOrder::YearMonthDay => "year, month, day",
        DateOrder::DayMonthYear => "day, month, year",
        DateOrder::MonthDayYear => "month, day, year",
    };
    match &survey.dates_by {
        DatesBy::Shape | DatesBy::Asked => order.to_owned(),
        DatesBy::Row(text) => format!("{order} (because of \"{text}\")"),
        DatesBy::Sequence => format!("{order} (only so do the rows follow each other)"),
        DatesBy::Place => format!("{order} (only so do the rows lie within the run)"),
    }
}

/// A moment so many seconds after another.
pub(crate) fn moment(begin: DateTime, after_s: f64) -> DateTime {
    jiff::SignedDuration::try_from_secs_f64(after_s)
        .ok()
        .and_then(|after| begin.checked_add(after).ok())
        .unwrap_or(DateTime::MAX)
}

pub(crate) fn stamp(time: DateTime) -> String {
    time.strftime("%Y-%m-%d %H:%M").to_string()
}
