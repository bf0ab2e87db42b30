//! Files of the standard formats: a line for every hour, each with its cells at known places.
//!
//! A reader of a format tells line by line when it is and how warm; here the hours are put in order, what is
//! wrong is collected, and each row keeps its place.

use super::clock::Clock;
use super::rows::{Format, PLAUSIBLE_K, Places, Rows};
use crate::keys::problem::{Mark, Problem, Source};
use crate::table::Mistakes;
use jiff::civil::{DateTime, date};
use std::ops::Range;
use std::sync::Arc;

pub(super) const HOUR_S: f64 = 3_600.0;
/// The nominal year of hours that come from several: no leap year, and its first day is a Monday.
const NOMINAL: i16 = 2001;
/// The same with a 29 February.
const NOMINAL_LEAP: i16 = 2000;

/// A line of a text, without its end.
#[derive(Debug, Clone, Copy)]
pub(super) struct TextLine<'a> {
    pub source: &'a Arc<Source>,
    /// Its first byte.
    pub begin: usize,
    pub text: &'a str,
}

impl<'a> TextLine<'a> {
    /// The lines of a text that are not blank.
    pub fn all(source: &'a Arc<Source>) -> impl Iterator<Item = Self> {
        let mut begin = 0;
        source.text.split_inclusive('\n').filter_map(move |whole| {
            let line = Self {
                source,
                begin,
                text: whole.trim_end_matches(['\n', '\r']),
            };
            begin += whole.len();
            (!line.text.trim().is_empty()).then_some(line)
        })
    }

    /// An error in a part of it.
    pub fn problem(&self, part: Range<usize>, message: impl Into<String>) -> Problem {
        let mark = Mark {
            source: Arc::clone(self.source),
            span: self.begin + part.start..self.begin + part.end,
        };
        Problem::at(&mark, message)
    }

    /// Where a cell stands, parted by commas; at the line's end where there is none.
    pub fn cell(&self, at: usize) -> Range<usize> {
        let mut begin = 0;
        for (k, cell) in self.text.split(',').enumerate() {
            let end = begin + cell.len();
            if k == at {
                return begin..end;
            }
            begin = end + 1;
        }
        self.text.len()..self.text.len()
    }

    /// How many cells it has, parted by commas.
    pub fn cells(&self) -> usize {
        self.text.bytes().filter(|byte| *byte == b',').count() + 1
    }

    /// The cells of a header, in which names may stand in quotes.
    pub fn quoted_cells(&self) -> Vec<String> {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_reader(self.text.as_bytes());
        let mut record = csv::StringRecord::new();
        match reader.read_record(&mut record) {
            Ok(true) => record.iter().map(|cell| cell.trim().to_owned()).collect(),
            _ => Vec::new(),
        }
    }
}

/// What a line says of how warm it was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Air {
    /// K.
    Known(f64),
    Absent,
}

/// Air of so many degrees Celsius, unless it is none; what is wrong and what to write otherwise.
pub(super) fn air(degC: f64, text: &str) -> Result<Air, (&'static str, String, &'static str)> {
    let kelvin = degC + 273.15;
    if PLAUSIBLE_K.contains(&kelvin) {
        return Ok(Air::Known(kelvin));
    }
    Err((
        "temperatures that are no weather",
        format!("{text} is no air temperature on Earth"),
        "if it marks a missing hour, write the format's own mark; else correct it",
    ))
}

/// Collects the hours of a file.
#[derive(Debug)]
pub(super) struct Hours {
    stamps: Vec<Range<usize>>,
    times_s: Vec<f64>,
    temperatures_K: Vec<f64>,
    absent_s: Vec<f64>,
    before: Option<(f64, String)>,
}

impl Hours {
    pub fn new() -> Self {
        let year = 8_784;
        Self {
            stamps: Vec::with_capacity(year),
            times_s: Vec::with_capacity(year),
            temperatures_K: Vec::with_capacity(year),
            absent_s: Vec::new(),
            before: None,
        }
    }

    /// One more line: a time, s after whatever the reader counts from, where it says so, and how warm it was.
    pub fn push(
        &mut self,
        line: &TextLine<'_>,
        time_s: f64,
        stamp: Range<usize>,
        air: Air,
        mistakes: &mut Mistakes,
    ) {
        let text = &line.text[stamp.clone()];
        if let Some((before_s, before)) = &self.before {
            if time_s == *before_s {
                mistakes.add("hours that are there twice", || {
                    line.problem(
                        stamp.clone(),
                        format!("the hour \"{}\" is there twice", text.trim()),
                    )
                    .help(
                        "keep one row for each hour; a file put together from two may repeat some",
                    )
                });
                return;
            }
            if time_s < *before_s {
                mistakes.add("hours out of order", || {
                    line.problem(
                        stamp.clone(),
                        format!(
                            "the hour \"{}\" comes after \"{}\"",
                            text.trim(),
                            before.trim()
                        ),
                    )
                    .help("sort the rows by time, January first")
                });
                return;
            }
        }
        match &mut self.before {
            Some((before_s, before)) => {
                *before_s = time_s;
                before.clear();
                before.push_str(text);
            }
            None => self.before = Some((time_s, text.to_owned())),
        }
        match air {
            Air::Known(kelvin) => {
                self.stamps
                    .push(line.begin + stamp.start..line.begin + stamp.end);
                self.times_s.push(time_s);
                self.temperatures_K.push(kelvin);
            }
            Air::Absent => self.absent_s.push(time_s),
        }
    }

    /// The rows, their times counted from the first; none where there are fewer than two.
    pub fn rows(
        mut self,
        format: Format,
        source: &Arc<Source>,
        counted_from: DateTime,
        mistakes: &mut Mistakes,
    ) -> Option<Rows> {
        if self.times_s.len() < 2 {
            if mistakes.is_empty() {
                let message = format!(
                    "this {} file has fewer than two hours with a temperature",
                    format.name()
                );
                mistakes.push(
                    Problem::in_file(source.name.clone(), message)
                        .help("fetch it again: it may have been cut off"),
                );
            }
            return None;
        }
        let first_s = self.times_s[0];
        for time_s in self.times_s.iter_mut().chain(&mut self.absent_s) {
            *time_s -= first_s;
        }
        self.stamps.shrink_to_fit();
        Some(Rows {
            format,
            places: Places::Lines {
                source: Arc::clone(source),
                stamps: self.stamps,
            },
            begin: super::understood::moment(counted_from, first_s),
            times_s: self.times_s,
            temperatures_K: self.temperatures_K,
            absent_s: self.absent_s,
            round_s: None,
            clock: Clock::Same,
            station: None,
            understood: String::new(),
            is_plain: false,
        })
    }
}

/// A year put together from others, or one without a year: months and days alone count.
#[derive(Debug, Clone, Copy)]
pub(super) struct NominalYear(i16);

impl NominalYear {
    pub const fn new(has_leap_day: bool) -> Self {
        Self(if has_leap_day { NOMINAL_LEAP } else { NOMINAL })
    }

    /// What it lasts, s.
    pub fn lasts_s(self) -> f64 {
        let days = if self.0 == NOMINAL_LEAP { 366.0 } else { 365.0 };
        days * 24.0 * HOUR_S
    }

    /// Its first midnight.
    pub fn begin(self) -> DateTime {
        date(self.0, 1, 1).at(0, 0, 0, 0)
    }

    /// Seconds from its first midnight to one hour label, 1 to 24 on a day: the last hour of 28 February is the
    /// first moment of 1 March where there is no 29th.
    pub fn hour_s(self, month: i8, day: i8, hour: f64) -> Option<f64> {
        let day = jiff::civil::Date::new(self.0, month, day).ok()?;
        Some((f64::from(day.day_of_year()) - 1.0) * 24.0 * HOUR_S + hour * HOUR_S)
    }
}

/// Makes rows of one nominal year round, so that January follows December. A file that does not reach from the
/// first day to the last was cut off.
pub(super) fn rounded(rows: &mut Rows, year: NominalYear, mistakes: &mut Mistakes) {
    /// A longer time without an hour at either end is no gap but another length.
    const AT_AN_END_S: f64 = 24.0 * HOUR_S;
    let (Some(last_s), period_s) = (rows.times_s.last().copied(), year.lasts_s()) else {
        return;
    };
    rows.round_s = Some(period_s);
    let first_s = rows.begin.duration_since(year.begin()).as_secs_f64();
    let hours = rows.times_s.len() + rows.absent_s.len();
    let of = (period_s / HOUR_S).round();
    let told = |what: String| format!("{what}: {hours} of a year's {of} hours are there");
    if first_s > AT_AN_END_S {
        let message = told(format!("this year begins on {}", day(rows.begin)));
        mistakes.push(rows.places.problem(0, &message).help(WHOLE));
    } else if first_s + last_s < period_s - AT_AN_END_S {
        let end = super::understood::moment(rows.begin, last_s);
        let message = told(format!("this year ends on {}", day(end)));
        let last = rows.times_s.len() - 1;
        mistakes.push(rows.places.problem(last, &message).help(WHOLE));
    }
}

const WHOLE: &str = "a typical year goes from 1 January to 31 December: fetch the file again, it may have been cut off";

fn day(time: DateTime) -> String {
    time.strftime("%-d %B").to_string()
}

/// Reports a line with another number of cells than it should have.
pub(super) fn wrong_cells(line: &TextLine<'_>, should: usize, mistakes: &mut Mistakes) {
    mistakes.add("rows with too few or too many cells", || {
        let cells = line.cells();
        let message = format!("this row has {cells} cells and should have {should}");
        let is_last = line.begin + line.text.len() + 2 >= line.source.text.len();
        let help = if is_last && cells < should {
            "the file was cut off here: fetch it again"
        } else {
            "fetch the file again, or take out what was added by hand"
        };
        let end = line.text.len();
        let from = if cells > should {
            line.cell(should).start
        } else {
            end
        };
        line.problem(from..end, message).help(help)
    });
}
