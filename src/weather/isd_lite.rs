//! NOAA ISD-Lite: a line for every hour that a station reported, in columns of fixed width, in UTC.
//!
//! Columns by the format's description (NCEI, ISD-Lite format document): year 1-4, month 6-7, day 9-10, hour
//! 12-13, air temperature 14-19 in tenths of a degree Celsius, dew point 20-25, and so on to 61; -9999 is
//! missing. The report is the one nearest to the hour and is taken as that hour's value. Hours without a report are not there.

use super::hourly::{Air, Hours, TextLine, air};
use super::rows::{Format, Rows};
use crate::keys::problem::Source;
use crate::table::Mistakes;
use jiff::civil::{Date, DateTime, date};
use std::ops::Range;
use std::sync::Arc;

/// Bytes of a line that say when.
const STAMP: Range<usize> = 0..13;
const TEMPERATURE: Range<usize> = 13..19;
/// Bytes of a whole line.
const WIDTH: usize = 61;
const MISSING: i32 = -9999;

/// Whether a text is of this format: its first line is twelve whole numbers, of which four say when.
pub(super) fn is_isd_lite(text: &str) -> bool {
    let Some(line) = text.lines().find(|line| !line.trim().is_empty()) else {
        return false;
    };
    let numbers: Option<Vec<i32>> = line
        .split_ascii_whitespace()
        .map(|n| n.parse().ok())
        .collect();
    matches!(numbers.as_deref(), Some([1900..=2100, 1..=12, 1..=31, 0..=23, rest @ ..]) if rest.len() == 8)
}

/// The hours of a file, in UTC.
pub(super) fn read(source: &Arc<Source>, mistakes: &mut Mistakes) -> Option<Rows> {
    let mut read = Hours::new();
    let mut first: Option<DateTime> = None;
    let mut days = Days::default();
    for line in TextLine::all(source) {
        let text = line.text.trim_end();
        if text.len() != WIDTH || !text.is_ascii() {
            mistakes.add("rows of another width", || {
                let message = format!(
                    "this row is {} characters wide and should be {WIDTH}",
                    text.chars().count()
                );
                let is_last = line.begin + line.text.len() + 2 >= source.text.len();
                let help = if is_last {
                    "the file was cut off here: fetch it again"
                } else {
                    "columns are told by their places: fetch the file again and leave its blanks as they are"
                };
                line.problem(text.len()..text.len(), message).help(help)
            });
            continue;
        }
        let Some(time) = days.moment(text) else {
            mistakes.add("hours that can't be read", || {
                let message = format!(
                    "\"{}\" is no year, month, day and hour from 0 to 23",
                    &text[STAMP]
                );
                line.problem(STAMP, message)
                    .help("write it as 2016 07 28 22")
            });
            continue;
        };
        let begin = *first.get_or_insert(time);
        let cell = text[TEMPERATURE].trim();
        match temperature(cell) {
            Ok(air) => {
                let time_s = time.duration_since(begin).as_secs() as f64;
                read.push(&line, time_s, STAMP, air, mistakes);
            }
            Err((kind, message, help)) => {
                mistakes.add(kind, || line.problem(TEMPERATURE, message).help(help));
            }
        }
    }
    read.rows(
        Format::IsdLite,
        source,
        first.unwrap_or(date(1970, 1, 1).at(0, 0, 0, 0)),
        mistakes,
    )
}

/// Reads moments; of rows in order most are of the same day.
#[derive(Default)]
struct Days {
    known: Option<(i16, i8, i8, Date)>,
}

impl Days {
    fn moment(&mut self, text: &str) -> Option<DateTime> {
        let year: i16 = text[..4].trim().parse().ok()?;
        let number = |part: Range<usize>| text[part].trim().parse::<i8>().ok();
        let (month, day, hour) = (number(5..7)?, number(8..10)?, number(11..13)?);
        let date = match self.known {
            Some((y, m, d, date)) if (y, m, d) == (year, month, day) => date,
            _ => Date::new(year, month, day).ok()?,
        };
        self.known = Some((year, month, day, date));
        (0..24).contains(&hour).then(|| date.at(hour, 0, 0, 0))
    }
}

fn temperature(text: &str) -> Result<Air, (&'static str, String, &'static str)> {
    match text.parse::<i32>() {
        Ok(MISSING) => Ok(Air::Absent),
        Ok(tenths) => air(
            f64::from(tenths) / 10.0,
            &format!("{:.1} °C", f64::from(tenths) / 10.0),
        ),
        Err(_) => Err((
            "temperatures that are no number",
            format!("\"{text}\" is no temperature in tenths of a degree"),
            "write 354 for 35.4 °C, or -9999 where it is not known",
        )),
    }
}
