//! The rows of a log.

use super::columns::Used;
use super::heater::HeaterColumn;
use super::no_value::is_no_value;
use super::places::Holds;
use super::switches::SwitchColumn;
use crate::quantity::Unit;
use crate::table::{Mistakes, Table};
use crate::weather::asked::Asked;
use crate::weather::clock::Clock;
use crate::weather::frame::Frame;
use crate::weather::stamp::Stamp;
use crate::weather::survey::Survey;
use crate::weather::understood::moment;
use jiff::civil::DateTime;
use std::collections::BTreeMap;
use std::ops::ControlFlow;

/// The rows of a log in order of time.
#[derive(Debug)]
pub(super) struct Rows {
    /// The run's start on the rows' clock.
    start: DateTime,
    clock: Clock,
    /// Times of all rows, s from the start of the run.
    pub times_s: Vec<f64>,
    pub columns: Vec<Column>,
    /// Columns that say what the machine did.
    pub switches: Vec<SwitchColumn>,
    /// Columns that say what the bed's heater took.
    pub heaters: Vec<HeaterColumn>,
    /// How many lines were torn: fewer cells than nearly all others have.
    pub torn: usize,
}

/// One column's rows.
#[derive(Debug)]
pub(super) struct Column {
    pub at: usize,
    pub header: String,
    pub holds: Holds,
    pub unit: &'static Unit,
    pub within_K: f64,
    /// (s from the start of the run, K).
    pub rows: Vec<(f64, f64)>,
    /// Times of the rows without a value, s.
    pub missing_s: Vec<f64>,
}

impl Column {
    /// How it is named in messages: 'T1' (feeder motor).
    pub fn words(&self) -> String {
        format!("'{}' ({})", self.header, self.holds.name())
    }
}

impl Rows {
    pub fn first_s(&self) -> f64 {
        self.times_s.first().copied().unwrap_or_default()
    }

    pub fn last_s(&self) -> f64 {
        self.times_s.last().copied().unwrap_or_default()
    }

    /// The usual step between rows, s: the middle one by length.
    pub fn usual_s(&self) -> f64 {
        let pairs = self.times_s.windows(2);
        let mut steps_s: Vec<f64> = pairs.map(|pair| pair[1] - pair[0]).collect();
        let middle = steps_s.len() / 2;
        if steps_s.is_empty() {
            return 0.0;
        }
        *steps_s.select_nth_unstable_by(middle, f64::total_cmp).1
    }

    /// A time by the clock of the shop.
    pub fn time(&self, at_s: f64) -> DateTime {
        self.clock.of_shop(moment(self.start, at_s))
    }
}

/// Reads the rows; none where there is none. What is wrong with them is added to the mistakes.
pub(super) fn read(
    table: &Table,
    frame: &Frame,
    survey: &Survey,
    asked: &Asked,
    (used, switches, heaters): (&[Used], Vec<SwitchColumn>, Vec<HeaterColumn>),
    start: DateTime,
    mistakes: &mut Mistakes,
) -> Option<Rows> {
    let clock = Clock::of_rows(asked.clock.as_ref());
    let columns = used.iter().map(|column| Column {
        at: column.at,
        header: column.header.clone(),
        holds: column.holds.clone(),
        unit: column.unit,
        within_K: column.within_K,
        rows: Vec::new(),
        missing_s: Vec::new(),
    });
    let mut rows = Rows {
        start: clock.of_file(start),
        clock,
        times_s: Vec::new(),
        columns: columns.collect(),
        switches,
        heaters,
        torn: 0,
    };
    let least = least_cells(table, frame, survey);
    let mut before = None;
    table.lines(|line| {
        if line.at < frame.first || line.is_blank() {
            return ControlFlow::Continue(());
        }
        if line.at > survey.last {
            return ControlFlow::Break(());
        }
        // Half a number is none.
        if line.len() < least {
            rows.torn += 1;
            return ControlFlow::Continue(());
        }
        let stamp = Stamp {
            line,
            frame,
            survey,
            asked,
        };
        if stamp.has_too_many_cells(table.separator, false, mistakes) {
            return ControlFlow::Continue(());
        }
        let time = stamp.time(before, mistakes);
        if let (Some(before), Some(time)) = (before, time)
            && time <= before
        {
            stamp.disorder(before, time, mistakes);
        }
        before = time.or(before);
        // Cells are looked at even where the time is wrong, so that all mistakes are told at once.
        let at_s = time.map(|time| time.duration_since(rows.start).as_secs_f64());
        rows.times_s.extend(at_s);
        for column in &mut rows.switches {
            column.read(line, survey.decimals, at_s, mistakes);
        }
        for column in &mut rows.heaters {
            column.read(line, survey.decimals, at_s, mistakes);
        }
        for column in &mut rows.columns {
            let text = line.cell(column.at).unwrap_or_default();
            if is_no_value(text) {
                column.missing_s.extend(at_s);
                continue;
            }
            match survey.decimals.number(text, column.unit.symbol) {
                Ok(number) => {
                    let kelvin = column.unit.to_si(number);
                    column.rows.extend(at_s.map(|at_s| (at_s, kelvin)));
                }
                Err((message, help)) => mistakes.add("temperatures that are no number", || {
                    line.problem(column.at, message).help(help)
                }),
            }
        }
        ControlFlow::Continue(())
    });
    if rows.times_s.is_empty() && mistakes.is_empty() {
        table.line(frame.header, |line| {
            let (_, help) = asked.by.example();
            mistakes.push(line.problem_of_all("no row follows this header").help(help));
        });
    }
    (!rows.times_s.is_empty()).then_some(rows)
}

/// So many cells a row has that is whole: as many as most have. None where more than one in ten has fewer: then empty
/// cells at the end of a line are not saved.
fn least_cells(table: &Table, frame: &Frame, survey: &Survey) -> usize {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    table.lines(|line| {
        if line.at > survey.last {
            return ControlFlow::Break(());
        }
        if line.at >= frame.first && !line.is_blank() {
            *counts.entry(line.len()).or_default() += 1;
        }
        ControlFlow::Continue(())
    });
    let usual = counts.iter().max_by_key(|(_, count)| **count);
    let usual = usual.map_or(0, |(cells, _)| *cells);
    let all: usize = counts.values().sum();
    let shorter: usize = counts.range(..usual).map(|(_, count)| *count).sum();
    if 10 * shorter > all { 0 } else { usual }
}
