//! Typical years of version 3 (TMY3) as CSV: a line that names the place, a line that names the columns, and a
//! line for every hour, its months from different years.
//!
//! Hours are labelled by their ends, 01:00 to 24:00, in the place's standard time all year; the dry-bulb
//! temperature is the one at the time indicated. Source: S. Wilcox, W. Marion, Users Manual for TMY3 Data Sets,
//! NREL/TP-581-43156 (2008), tables 1-1 to 1-3. The years are left out of account: months and days make one nominal
//! year, in which 28 February, 24:00 is 1 March, 00:00, whether the February was a leap year's or not.

use super::hourly::{Air, Hours, NominalYear, TextLine, air, rounded, wrong_cells};
use super::rows::{Format, Rows};
use super::station::Station;
use crate::keys::problem::Source;
use crate::table::Mistakes;
use std::sync::Arc;

/// What marks a missing number.
const MISSING: [f64; 2] = [-9900.0, -9999.0];

/// Whether a text is of this format.
pub(super) fn is_tmy3(text: &str) -> bool {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty());
    lines.nth(1).is_some_and(|names| {
        names
            .trim_start()
            .get(..6)
            .is_some_and(|b| b.eq_ignore_ascii_case("Date ("))
            && names.to_ascii_lowercase().contains("dry-bulb")
    })
}

/// The hours of a file.
pub(super) fn read(source: &Arc<Source>, mistakes: &mut Mistakes) -> Option<Rows> {
    let mut lines = TextLine::all(source);
    let (header, names) = (lines.next()?, lines.next()?);
    let columns = names.cells();
    let begins = |word: &str| {
        names
            .text
            .split(',')
            .position(|name| name.trim().to_ascii_lowercase().starts_with(word))
    };
    let (Some(date), Some(time), Some(dry_bulb)) =
        (begins("date ("), begins("time ("), begins("dry-bulb (c)"))
    else {
        mistakes.push(
            names
                .problem(
                    0..names.text.len(),
                    "this TMY3 file lacks one of the columns Date, Time and Dry-bulb (C)",
                )
                .help("fetch it again: its second line names the columns"),
        );
        return None;
    };
    let station = station(&header, mistakes);
    let hours: Vec<TextLine<'_>> = lines.collect();
    let has_leap_day = hours.iter().any(|line| line.text.starts_with("02/29/"));
    let year = NominalYear::new(has_leap_day);
    let mut read = Hours::new();
    for (at, line) in hours.iter().enumerate() {
        if line.cells() != columns {
            wrong_cells(line, columns, mistakes);
            continue;
        }
        let mut cells = line.text.split(',');
        let (mut date_text, mut time_text, mut air_text) = ("", "", "");
        for (column, cell) in cells
            .by_ref()
            .take(dry_bulb.max(date).max(time) + 1)
            .enumerate()
        {
            if column == date {
                date_text = cell;
            } else if column == time {
                time_text = cell;
            } else if column == dry_bulb {
                air_text = cell;
            }
        }
        let stamp = line.cell(date).start..line.cell(time).end;
        let Some(time_s) = moment_s(year, date_text, time_text, at == 0) else {
            mistakes.add("hours that can't be read", || {
                let message = format!(
                    "\"{date_text} {time_text}\" is no month/day/year and hour from 01:00 to 24:00"
                );
                line.problem(stamp.clone(), message)
                    .help("write it as 07/13/1988,14:00")
            });
            continue;
        };
        match dry_bulb_of(air_text) {
            Ok(air) => read.push(line, time_s, stamp, air, mistakes),
            Err((kind, message, help)) => {
                mistakes.add(kind, || {
                    line.problem(line.cell(dry_bulb), message).help(help)
                });
            }
        }
    }
    let mut rows = read.rows(Format::Tmy3, source, year.begin(), mistakes)?;
    if mistakes.is_empty() {
        rounded(&mut rows, year, mistakes);
    }
    rows.station = Some(station);
    Some(rows)
}

/// `07/13/1988` and `14:00` in a nominal year; midnight may be written 24:00, or 00:00 of the next day.
fn moment_s(year: NominalYear, date: &str, time: &str, is_first: bool) -> Option<f64> {
    let mut parts = date.trim().split('/');
    let mut next = || parts.next()?.trim().parse::<i16>().ok();
    let (month, day, _) = (next()?, next()?, next()?);
    let (hour, minute) = time.trim().split_once(':')?;
    let (hour, minute): (i8, i8) = (hour.parse().ok()?, minute.parse().ok()?);
    if minute != 0 || !(0..=24).contains(&hour) {
        return None;
    }
    let time_s = year.hour_s(
        month.try_into().ok()?,
        day.try_into().ok()?,
        f64::from(hour),
    )?;
    // A file whose last row is 1 January, 00:00 says the year's end so.
    Some(if time_s == 0.0 && !is_first {
        year.lasts_s()
    } else {
        time_s
    })
}

fn dry_bulb_of(text: &str) -> Result<Air, (&'static str, String, &'static str)> {
    let text = text.trim();
    match text.parse::<f64>() {
        Ok(degC) if MISSING.contains(&degC) || degC.abs() >= 999.0 => Ok(Air::Absent),
        Ok(degC) => air(degC, text),
        Err(_) if text.is_empty() => Ok(Air::Absent),
        Err(_) => Err((
            "temperatures that are no number",
            format!("the dry-bulb temperature \"{text}\" is no number"),
            "write degrees Celsius with a decimal point, or leave the cell empty where it is not known",
        )),
    }
}

/// `number,"name",state,hours ahead of UTC,latitude,longitude,elevation`.
fn station(line: &TextLine<'_>, mistakes: &mut Mistakes) -> Station {
    let cells = line.quoted_cells();
    let text = |at: usize| cells.get(at).map_or("", String::as_str);
    let number = |at: usize| text(at).parse::<f64>().ok().filter(|n| n.is_finite());
    let ahead_h = number(3).filter(|h| (-14.0..=14.0).contains(h));
    if ahead_h.is_none() {
        let message = "this header does not say how far the place's standard time is ahead of UTC";
        mistakes.push(
            line.problem(0..line.text.len(), message).help(
                "its fourth cell is hours ahead of UTC: -5.0 for a place five hours behind it",
            ),
        );
    }
    Station {
        name: text(1).to_owned(),
        region: text(2).to_owned(),
        latitude_deg: number(4),
        longitude_deg: number(5),
        elevation_m: number(6),
        standard_time_s: ahead_h.map(|h| (h * 3_600.0).round() as i32),
    }
}
