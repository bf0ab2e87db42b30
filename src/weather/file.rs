//! Reads a weather series: a table of local times and temperatures, as the program's examples have it or as
//! loggers write it.

use super::asked::Asked;
use super::columns::TimeColumns;
use super::layout::{Layout, layout};
use super::survey::{Survey, When, at_time, of_epoch, survey, when};
use super::times::{Zone, later};
use crate::keys::problem::Problem;
use crate::quantity::Unit;
use crate::table::{Decimals, Line, Mistakes, Separator, Table};
use jiff::civil::DateTime;
use std::ops::{ControlFlow, Range};

/// Air this cold or hot is a slip of the unit: the records on Earth are -89 and 57 °C.
const PLAUSIBLE_K: Range<f64> = 183.15..333.15;

/// The rows of a file in order of time, and how it was read.
pub(super) struct Rows {
    pub table: Table,
    pub layout: Layout,
    pub survey: Survey,
    pub begin: DateTime,
    /// Times of the rows from the first, s.
    pub times_s: Vec<f64>,
    pub temperatures_K: Vec<f64>,
}

/// The rows of a series; `None` when something is wrong, which then has been reported.
pub(super) fn read(table: Table, asked: &Asked, problems: &mut Vec<Problem>) -> Option<Rows> {
    let mut mistakes = Mistakes::default();
    let name = table.source.name.clone();
    let rows = rows(table, asked, &mut mistakes);
    if rows.is_none() && mistakes.is_empty() {
        mistakes.push(
            Problem::in_file(name, "this file can't be read as a weather series")
                .help("write it as time,temperature_degC with rows such as 2026-07-13T07:00,24.5"),
        );
    }
    if mistakes.is_empty() {
        return rows;
    }
    mistakes.report(problems);
    None
}

fn rows(table: Table, asked: &Asked, mistakes: &mut Mistakes) -> Option<Rows> {
    let (table, layout) = layout(table, asked, mistakes)?;
    let survey = survey(&table, &layout, asked, mistakes)?;
    let (mut begin, mut before) = (None, None);
    let guess = table.source.text.len() / 24;
    let (mut times_s, mut temperatures_K) = (Vec::with_capacity(guess), Vec::with_capacity(guess));
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
        let time = reading.time(mistakes);
        let value = reading.temperature(mistakes);
        if let (Some(time), Some(temperature_K)) = (time, value) {
            if let Some(before) = before
                && time <= before
            {
                disorder(line, &layout, before, time, mistakes);
            }
            before = Some(time);
            let begin = *begin.get_or_insert(time);
            times_s.push(time.duration_since(begin).as_secs_f64());
            temperatures_K.push(temperature_K);
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
    Some(Rows {
        begin: begin?,
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

    fn time(&self, mistakes: &mut Mistakes) -> Option<DateTime> {
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
            Some(When::Epoch(seconds)) => of_epoch(seconds, asked.utc_offset_s.unwrap_or_default())
                .or_else(|| unread(mistakes)),
            Some(When::Written(written)) => {
                let Some(moment) = written.moment(survey.order) else {
                    return unread(mistakes);
                };
                match (written.zone, asked.utc_offset_s) {
                    (None, _) => Some(moment),
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

    fn temperature(&self, mistakes: &mut Mistakes) -> Option<f64> {
        let at = self.layout.temperature.at;
        let text = self.line.cell(at).unwrap_or_default();
        // Asked for by `decimal`: the comma that ends cells is in this number too.
        let rest = self.line.cell(at + 1).filter(|_| {
            at + 1 == self.layout.names.len() && self.asked.decimals == Some(Decimals::Comma)
        });
        let whole = rest
            .filter(|rest| !rest.is_empty())
            .map(|rest| format!("{text},{rest}"));
        match self.value(
            whole.as_deref().unwrap_or(text),
            self.layout.temperature.unit,
        ) {
            Ok(kelvin) => Some(kelvin),
            Err((kind, message, help)) => {
                mistakes.add(kind, || self.line.problem(at, message).help(help));
                None
            }
        }
    }

    /// A temperature, K; else the kind of mistake, what is wrong, and what to write.
    fn value(&self, text: &str, unit: &Unit) -> Result<f64, (&'static str, String, String)> {
        if text.is_empty() {
            let help = "fill the gap by a rule you choose, or take the row out if its neighbours are close enough";
            let message = "the temperature is missing".to_owned();
            return Err(("temperatures missing", message, help.to_owned()));
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
