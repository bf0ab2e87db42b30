//! Reads a weather series: a table of local times and temperatures, as the program's examples have it or as
//! loggers write it.

use super::absent::is_mark;
use super::asked::Asked;
use super::clock::{Clock, ShopClock};
use super::columns::TimeColumns;
use super::fill::Fill;
use super::layout::{Layout, layout};
use super::rows::{Format, PLAUSIBLE_K, Places, Rows};
use super::survey::{Survey, When, at_time, of_epoch, survey, when};
use super::times::{Zone, later};
use super::understood::{TableRows, understood};
use crate::keys::problem::Problem;
use crate::quantity::Unit;
use crate::table::{Decimals, Encoding, Line, Mistakes, Separator, Table};
use jiff::civil::DateTime;
use jiff::tz::{Offset, TimeZone};
use std::ops::ControlFlow;

/// The rows of a series; `None` when something is wrong, which then has been reported.
pub(super) fn read(
    table: Table,
    encoding: Encoding,
    asked: &Asked,
    mistakes: &mut Mistakes,
) -> Option<Rows> {
    let name = table.source.name.clone();
    let read = rows(table, asked, mistakes);
    if read.is_none() && mistakes.is_empty() {
        mistakes.push(
            Problem::in_file(name, "this file can't be read as a weather series")
                .help("write it as time,temperature_degC with rows such as 2026-07-13T07:00,24.5"),
        );
    }
    let read = read.filter(|_| mistakes.is_empty())?;
    let is_plain = read.layout.is_plain
        && encoding == Encoding::Utf8
        && read.survey.is_as_in_examples()
        && *asked
            == Asked {
                by: asked.by,
                ..Asked::default()
            };
    let clock = match &asked.clock {
        Some(zone @ ShopClock::Zone(_)) => Clock::Shop(zone.clone(), 0),
        Some(ShopClock::Ahead(_)) | None => Clock::Same,
    };
    Some(Rows {
        format: Format::Table,
        understood: understood(&read, encoding, &clock),
        is_plain,
        places: Places::Table {
            first_line: read.layout.first,
            time_at: read.layout.time.at(),
            temperature_at: read.layout.temperature.at,
            table: read.table,
        },
        begin: read.begin,
        times_s: read.times_s,
        temperatures_K: read.temperatures_K,
        absent_s: read.absent_s,
        round_s: None,
        clock,
        station: None,
    })
}

fn rows(table: Table, asked: &Asked, mistakes: &mut Mistakes) -> Option<TableRows> {
    let (table, layout) = layout(table, asked, mistakes)?;
    let survey = survey(&table, &layout, asked, mistakes)?;
    let (mut begin, mut before) = (None, None);
    let guess = table.source.text.len() / 24;
    let (mut times_s, mut temperatures_K) = (Vec::with_capacity(guess), Vec::with_capacity(guess));
    let mut absent: Vec<DateTime> = Vec::new();
    table.lines(|line| {
        if line.at < layout.first || line.is_blank() {
            return ControlFlow::Continue(());
        }
        if line.at > survey.last {
            return ControlFlow::Break(());
        }
        let reading = Reading {
            line,
            layout: &layout,
            survey: &survey,
            asked,
        };
        if reading.has_too_many_cells(table.separator, mistakes) {
            return ControlFlow::Continue(());
        }
        let time = reading.time(before, mistakes);
        let value = reading.temperature(mistakes);
        if let (Some(time), Some(value)) = (time, value) {
            if let Some(before) = before
                && time <= before
            {
                disorder(line, &layout, before, time, mistakes);
            }
            before = Some(time);
            match value {
                Some(temperature_K) => {
                    let begin = *begin.get_or_insert(time);
                    times_s.push(time.duration_since(begin).as_secs_f64());
                    temperatures_K.push(temperature_K);
                }
                None => absent.push(time),
            }
        }
        ControlFlow::Continue(())
    });
    if times_s.len() < 2 && mistakes.is_empty() {
        mistakes.push(
            Problem::in_file(
                table.source.name.clone(),
                "this weather series has fewer than two rows",
            )
            .help("it needs a row for every hour or so of the run"),
        );
    }
    times_s.shrink_to_fit();
    temperatures_K.shrink_to_fit();
    let begin = begin?;
    let absent_s = absent.iter().map(|t| t.duration_since(begin).as_secs_f64());
    Some(TableRows {
        begin,
        absent_s: absent_s.collect(),
        table,
        layout,
        survey,
        times_s,
        temperatures_K,
    })
}

/// A row that is being read.
struct Reading<'a, 'b> {
    line: &'a Line<'b>,
    layout: &'a Layout,
    survey: &'a Survey,
    asked: &'a Asked,
}

const WRITE_TIMES: &str = "write local times such as 2026-07-13T07:00";

impl Reading<'_, '_> {
    /// A comma for a decimal point cuts a number in two where commas part the columns, and its end would be lost.
    fn has_too_many_cells(&self, separator: Separator, mistakes: &mut Mistakes) -> bool {
        let (cells, names) = (self.line.len(), self.layout.names.len());
        let is_blank = |at| self.line.cell(at).is_none_or(str::is_empty);
        if separator != Separator::Comma || (names..cells).all(is_blank) {
            return false;
        }
        let is_split = cells == names + 1 && self.layout.temperature.at + 1 == names;
        if is_split && self.asked.decimals == Some(Decimals::Comma) {
            return false;
        }
        mistakes.add("rows with more cells than the header", || {
            let message = format!("this row has more than the header's {names} cells");
            let help = if is_split {
                "if these are decimal commas, write decimal = \"comma\" under [room] in the run file; if the last cell is a column of its own, give it a name in the header"
            } else {
                "a comma ends a cell: write numbers with a decimal point, or save the file with semicolons between its columns; and give each column a name"
            };
            self.line.problem(names, message).help(help)
        });
        true
    }

    /// When it is, on the clock of [`Asked::rows_ahead_s`] where that is known. Of a local time that comes twice,
    /// when clocks are put back, the one after the row before is meant.
    fn time(&self, before: Option<DateTime>, mistakes: &mut Mistakes) -> Option<DateTime> {
        let Self {
            line,
            layout,
            survey,
            asked,
        } = self;
        let text = || match layout.time {
            TimeColumns::One(at) | TimeColumns::Epoch(at) => {
                line.cell(at).unwrap_or_default().to_owned()
            }
            TimeColumns::Two { date, clock } => [date, clock]
                .map(|at| line.cell(at).unwrap_or_default())
                .join(" ")
                .trim()
                .to_owned(),
        };
        let unread = |mistakes: &mut Mistakes| {
            mistakes.add("times that can't be read", || {
                let text = text();
                let message = if text.is_empty() {
                    "the time is missing".to_owned()
                } else {
                    format!("\"{text}\" is no date and time, or there is no such day")
                };
                at_time(line, layout, message, WRITE_TIMES)
            });
            None
        };
        match when(line, layout.time) {
            None => unread(mistakes),
            Some(When::Epoch(seconds)) => {
                of_epoch(seconds, asked.rows_ahead_s().unwrap_or_default())
                    .or_else(|| unread(mistakes))
            }
            Some(When::Written(written)) => {
                let Some(moment) = written.moment(survey.order) else {
                    return unread(mistakes);
                };
                match (written.zone, asked.rows_ahead_s()) {
                    (None, _) => match &asked.clock {
                        Some(ShopClock::Zone(zone)) => {
                            in_utc(zone, moment, before).or_else(|| unread(mistakes))
                        }
                        Some(ShopClock::Ahead(_)) | None => Some(moment),
                    },
                    (Some(Zone::Offset(theirs_s)), Some(ours_s)) => {
                        later(moment, ours_s - theirs_s).or_else(|| unread(mistakes))
                    }
                    (Some(_), _) => {
                        mistakes.add("times with a time zone", || {
                            let message = format!("\"{}\" carries a time zone, but times here are local: leave the zone away", text());
                            at_time(line, layout, message, WRITE_TIMES)
                        });
                        None
                    }
                }
            }
        }
    }

    /// A temperature, K; an inner none where the row says that it has none, and a rule fills it.
    fn temperature(&self, mistakes: &mut Mistakes) -> Option<Option<f64>> {
        let at = self.layout.temperature.at;
        let text = self.line.cell(at).unwrap_or_default();
        // Asked for by `decimal`: the comma that ends cells is in this number too.
        let rest = self.line.cell(at + 1).filter(|_| {
            at + 1 == self.layout.names.len() && self.asked.decimals == Some(Decimals::Comma)
        });
        let whole = rest
            .filter(|rest| !rest.is_empty())
            .map(|rest| format!("{text},{rest}"));
        if self.asked.fill != Fill::Never && whole.is_none() && is_mark(text) {
            return Some(None);
        }
        match self.value(
            whole.as_deref().unwrap_or(text),
            self.layout.temperature.unit,
        ) {
            Ok(kelvin) => Some(Some(kelvin)),
            Err((kind, message, help)) => {
                mistakes.add(kind, || self.line.problem(at, message).help(help));
                None
            }
        }
    }

    /// A temperature, K; else the kind of mistake, what is wrong, and what to write.
    fn value(&self, text: &str, unit: &Unit) -> Result<f64, (&'static str, String, String)> {
        if is_mark(text) {
            let message = if text.is_empty() {
                "the temperature is missing".to_owned()
            } else {
                format!("the temperature is missing: \"{text}\" marks it")
            };
            let help = format!(
                "{}; or take the row out if its neighbours are close enough",
                self.asked.by.fill(Fill::USUAL_S)
            );
            return Err(("temperatures missing", message, help));
        }
        let number = self.survey.decimals.number(text, unit.symbol);
        let number =
            number.map_err(|(message, help)| ("temperatures that are no number", message, help))?;
        let kelvin = unit.to_si(number);
        if PLAUSIBLE_K.contains(&kelvin) {
            return Ok(kelvin);
        }
        Err((
            "temperatures that are no weather",
            format!("{text} {} is no weather on Earth", unit.symbol),
            "check the unit at the end of the column's header: _degC, _degF or _K".to_owned(),
        ))
    }
}

/// A local time in UTC.
fn in_utc(zone: &TimeZone, local: DateTime, before: Option<DateTime>) -> Option<DateTime> {
    let utc = |moment| Offset::UTC.to_datetime(moment);
    let maybe = zone.to_ambiguous_timestamp(local);
    let earlier = utc(maybe.compatible().ok()?);
    if before.is_some_and(|before| earlier <= before) && maybe.is_ambiguous() {
        return maybe.later().ok().map(utc);
    }
    Some(earlier)
}

fn disorder(
    line: &Line<'_>,
    layout: &Layout,
    before: DateTime,
    time: DateTime,
    mistakes: &mut Mistakes,
) {
    if time == before {
        mistakes.add("times that are there twice", || {
            let help = "keep one row for each time; where clocks were put back, write standard time throughout";
            at_time(line, layout, format!("the time {time} is there twice"), help)
        });
    } else {
        mistakes.add("times out of order", || {
            let message = format!("the time {time} comes after {before}");
            at_time(line, layout, message, "sort the rows by time, oldest first")
        });
    }
}
