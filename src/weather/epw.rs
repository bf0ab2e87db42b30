//! EPW, the open hourly format of building simulation: eight lines of header, then a line of 35 cells for every
//! hour. Header lines are known by their first word, whatever their number.
//!
//! Hour 1 is the hour that ends at 01:00, and the dry-bulb temperature is the one at the time indicated: the
//! value of hour 1 is that of 01:00, the value of hour 24 that of the following midnight. Times are the place's
//! standard time all year. Source: the format's data dictionary (fields N1 to N6), by which 99.9 marks a
//! missing dry-bulb temperature; whatever is not below the mark is taken for it.

use super::hourly::{Air, Hours, NominalYear, TextLine, air, rounded, wrong_cells};
use super::rows::{Format, Rows};
use super::station::Station;
use crate::keys::problem::{Problem, Source};
use crate::table::Mistakes;
use std::sync::Arc;

/// Cells of a line of an hour.
const CELLS: usize = 35;
/// The cell of the dry-bulb temperature, from 0.
const DRY_BULB: usize = 6;
/// What is not below this is missing, °C.
const MISSING_DEGC: f64 = 99.9;

/// Whether a text is of this format: its first line is a whole LOCATION. A logger's may tell of one, too.
pub(super) fn is_epw(text: &str) -> bool {
    let first = text.trim_start().lines().next().unwrap_or_default();
    let begins = first
        .get(..9)
        .is_some_and(|begin| begin.eq_ignore_ascii_case("LOCATION,"));
    begins && first.matches(',').count() >= 9
}

/// Whether a line looks like one of an hour.
pub(super) fn is_hour(line: &TextLine<'_>) -> bool {
    line.cells() == CELLS
        && line
            .text
            .trim_start()
            .starts_with(|c: char| c.is_ascii_digit())
}

/// The hours of a file.
pub(super) fn read(source: &Arc<Source>, mistakes: &mut Mistakes) -> Option<Rows> {
    let mut lines = TextLine::all(source).peekable();
    let mut station = Station::default();
    let mut has_periods = false;
    while let Some(line) = lines.next_if(|line| {
        !line
            .text
            .trim_start()
            .starts_with(|c: char| c.is_ascii_digit())
    }) {
        let cells = line.quoted_cells();
        let is = |word: &str| {
            cells
                .first()
                .is_some_and(|cell| cell.eq_ignore_ascii_case(word))
        };
        if is("LOCATION") {
            station = location(&line, &cells, mistakes);
        } else if is("DATA PERIODS") {
            has_periods = true;
            let per_hour = cells.get(2).and_then(|cell| cell.parse::<i32>().ok());
            if per_hour != Some(1) {
                let message = "this file has not one row for every hour";
                mistakes.push(
                    line.problem(line.cell(2), message).help(
                        "use an hourly file: its line DATA PERIODS has a 1 in its third cell",
                    ),
                );
                return None;
            }
        }
    }
    if !has_periods {
        let message = "this EPW file has no line DATA PERIODS above its hours";
        mistakes.push(
            Problem::in_file(source.name.clone(), message)
                .help("fetch it again: its header, or all below it, was cut off"),
        );
        return None;
    }
    let hours: Vec<TextLine<'_>> = lines.collect();
    let month_and_day = |line: &TextLine<'_>| {
        let mut cells = line.text.split(',').skip(1);
        let mut next = || cells.next()?.trim().parse::<i8>().ok();
        Some((next()?, next()?))
    };
    let has_leap_day = hours
        .iter()
        .any(|line| month_and_day(line) == Some((2, 29)));
    let year = NominalYear::new(has_leap_day);
    let mut read = Hours::new();
    for line in &hours {
        if line.cells() != CELLS {
            wrong_cells(line, CELLS, mistakes);
            continue;
        }
        let mut cells = line.text.split(',');
        let _year = cells.next();
        let mut number = || cells.next()?.trim().parse::<i8>().ok();
        let (month, day, hour) = (number(), number(), number());
        let end = line.cell(3).end;
        let time_s = match (month, day, hour) {
            (Some(month), Some(day), Some(hour @ 1..=24)) => {
                year.hour_s(month, day, f64::from(hour))
            }
            _ => None,
        };
        let Some(time_s) = time_s else {
            mistakes.add("hours that can't be read", || {
                let message = format!(
                    "\"{}\" is no year, month, day and hour from 1 to 24",
                    &line.text[..end]
                );
                line.problem(0..end, message)
                    .help("write it as 1995,7,13,14")
            });
            continue;
        };
        let text = cells.nth(DRY_BULB - 4).unwrap_or_default();
        match dry_bulb(text) {
            Ok(air) => read.push(line, time_s, 0..end, air, mistakes),
            Err((kind, message, help)) => mistakes.add(kind, || {
                line.problem(line.cell(DRY_BULB), message).help(help)
            }),
        }
    }
    let mut rows = read.rows(Format::Epw, source, year.begin(), mistakes)?;
    if mistakes.is_empty() {
        rounded(&mut rows, year, mistakes);
    }
    rows.station = Some(station);
    Some(rows)
}

fn dry_bulb(text: &str) -> Result<Air, (&'static str, String, &'static str)> {
    let text = text.trim();
    match text.parse::<f64>() {
        Ok(degC) if degC >= MISSING_DEGC => Ok(Air::Absent),
        Ok(degC) => air(degC, text),
        Err(_) if text.is_empty() => Ok(Air::Absent),
        Err(_) => Err((
            "temperatures that are no number",
            format!("the dry-bulb temperature \"{text}\" is no number"),
            "write degrees Celsius with a decimal point, or 99.9 where it is not known",
        )),
    }
}

/// `LOCATION,name,region,country,source,number,latitude,longitude,hours ahead of UTC,elevation`.
fn location(line: &TextLine<'_>, cells: &[String], mistakes: &mut Mistakes) -> Station {
    let text = |at: usize| cells.get(at).map_or("", String::as_str);
    let number = |at: usize| text(at).parse::<f64>().ok().filter(|n| n.is_finite());
    let ahead_h = number(8).filter(|h| (-14.0..=14.0).contains(h));
    if ahead_h.is_none() {
        let message = "this header does not say how far the place's standard time is ahead of UTC";
        mistakes.push(line.problem(0..line.text.len().min(8), message).help(
            "the ninth cell of LOCATION is hours ahead of UTC: -5 for a place five hours behind it",
        ));
    }
    let region: Vec<&str> = [text(2), text(3)]
        .into_iter()
        .filter(|part| !part.is_empty() && *part != "-")
        .collect();
    Station {
        name: text(1).to_owned(),
        region: region.join(", "),
        latitude_deg: number(6),
        longitude_deg: number(7),
        elevation_m: number(9),
        standard_time_s: ahead_h.map(|h| (h * 3_600.0).round() as i32),
    }
}
