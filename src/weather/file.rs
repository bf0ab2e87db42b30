//! Reads a weather series: a table of local times and temperatures, as the program's examples have it or as
//! loggers write it.

use super::absent::is_mark;
use super::asked::Asked;
use super::clock::Clock;
use super::fill::Fill;
use super::layout::{Layout, layout};
use super::rows::{Format, PLAUSIBLE_K, Places, Rows};
use super::stamp::Stamp;
use super::survey::{Survey, survey};
use super::understood::{TableRows, understood};
use crate::keys::problem::Problem;
use crate::quantity::Unit;
use crate::table::{Decimals, Encoding, Line, Mistakes, Table};
use jiff::civil::DateTime;
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
    let clock = Clock::of_rows(asked.clock.as_ref());
    Some(Rows {
        format: Format::Table,
        understood: understood(&read, encoding, &clock),
        is_plain,
        places: Places::Table {
            first_line: read.layout.frame.first,
            time_at: read.layout.frame.time.at(),
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
    let values = [layout.temperature.at];
    let survey = survey(&table, &layout.frame, &values, asked, mistakes)?;
    let (mut begin, mut before) = (None, None);
    let guess = table.source.text.len() / 24;
    let (mut times_s, mut temperatures_K) = (Vec::with_capacity(guess), Vec::with_capacity(guess));
    let mut absent: Vec<DateTime> = Vec::new();
    table.lines(|line| {
        if line.at < layout.frame.first || line.is_blank() {
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
        let stamp = Stamp {
            line,
            frame: &layout.frame,
            survey: &survey,
            asked,
        };
        let names = layout.frame.names.len();
        // The comma of a decimal comma in the last column.
        let is_split = line.len() == names + 1 && layout.temperature.at + 1 == names;
        let is_asked_for = is_split && asked.decimals == Some(Decimals::Comma);
        if !is_asked_for && stamp.has_too_many_cells(table.separator, is_split, mistakes) {
            return ControlFlow::Continue(());
        }
        let time = stamp.time(before, mistakes);
        let value = reading.temperature(mistakes);
        if let (Some(time), Some(value)) = (time, value) {
            if let Some(before) = before
                && time <= before
            {
                stamp.disorder(before, time, mistakes);
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

impl Reading<'_, '_> {
    /// A temperature, K; an inner none where the row says that it has none, and a rule fills it.
    fn temperature(&self, mistakes: &mut Mistakes) -> Option<Option<f64>> {
        let at = self.layout.temperature.at;
        let text = self.line.cell(at).unwrap_or_default();
        // Asked for by `decimal`: the comma that ends cells is in this number too.
        let rest = self.line.cell(at + 1).filter(|_| {
            at + 1 == self.layout.frame.names.len() && self.asked.decimals == Some(Decimals::Comma)
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
