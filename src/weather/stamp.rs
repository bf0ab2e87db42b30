//! When a row of a table is.

use super::asked::Asked;
use super::clock::ShopClock;
use super::columns::TimeColumns;
use super::frame::Frame;
use super::survey::{Survey, When, at_time, of_epoch, when};
use super::times::{Zone, later};
use crate::table::{Line, Mistakes, Separator};
use jiff::civil::DateTime;
use jiff::tz::{Offset, TimeZone};

/// A row whose time is being read.
pub(crate) struct Stamp<'a, 'b> {
    pub line: &'a Line<'b>,
    pub frame: &'a Frame,
    pub survey: &'a Survey,
    pub asked: &'a Asked,
}

const WRITE_TIMES: &str = "write local times such as 2026-07-13T07:00";
const WRITE_COUNTS: &str = "write a number, as the rows above it have";

impl Stamp<'_, '_> {
    /// A comma for a decimal point cuts a number in two where commas part the columns, and its end would be lost.
    /// `is_split`: it may be the last one.
    pub fn has_too_many_cells(
        &self,
        separator: Separator,
        is_split: bool,
        mistakes: &mut Mistakes,
    ) -> bool {
        let (cells, names) = (self.line.len(), self.frame.names.len());
        let is_blank = |at| self.line.cell(at).is_none_or(str::is_empty);
        if separator != Separator::Comma || (names..cells).all(is_blank) {
            return false;
        }
        mistakes.add("rows with more cells than the header", || {
            let message = format!("this row has more than the header's {names} cells");
            let help = if is_split {
                let under = self.asked.by.table();
                format!("if these are decimal commas, write decimal = \"comma\" under {under} in the run file; if the last cell is a column of its own, give it a name in the header")
            } else {
                "a comma ends a cell: write numbers with a decimal point, or save the file with semicolons between its columns; and give each column a name".to_owned()
            };
            self.line.problem(names, message).help(help)
        });
        true
    }

    /// When it is, on the clock of [`Asked::rows_ahead_s`] where that is known. Of a local time that comes twice,
    /// when clocks are put back, the one after the row before is meant.
    pub fn time(&self, before: Option<DateTime>, mistakes: &mut Mistakes) -> Option<DateTime> {
        let Self {
            line,
            frame,
            survey,
            asked,
        } = self;
        let text = || match frame.time {
            TimeColumns::One(at)
            | TimeColumns::Epoch(at)
            | TimeColumns::Elapsed { at, .. }
            | TimeColumns::Hands { at, .. } => line.cell(at).unwrap_or_default().to_owned(),
            TimeColumns::Two { date, clock } => [date, clock]
                .map(|at| line.cell(at).unwrap_or_default())
                .join(" ")
                .trim()
                .to_owned(),
        };
        let unread = |mistakes: &mut Mistakes| {
            mistakes.add("times that can't be read", || {
                let text = text();
                let counts = frame.time.counts();
                let (message, help) = match (text.is_empty(), counts) {
                    (true, _) => ("the time is missing".to_owned(), WRITE_TIMES),
                    (_, true) => (format!("\"{text}\" is no count of time"), WRITE_COUNTS),
                    (_, false) => (
                        format!("\"{text}\" is no date and time, or there is no such day"),
                        WRITE_TIMES,
                    ),
                };
                at_time(line, frame, message, help)
            });
            None
        };
        match when(line, frame.time) {
            None => unread(mistakes),
            Some(When::Epoch(seconds)) => {
                of_epoch(seconds, asked.rows_ahead_s().unwrap_or_default())
                    .or_else(|| unread(mistakes))
            }
            Some(When::Elapsed(seconds)) => self.after_begin(seconds).or_else(|| unread(mistakes)),
            Some(When::Hands(shown_s)) => {
                let before_s = before
                    .zip(asked.begins)
                    .map(|(before, begins)| before.duration_since(begins).as_secs_f64());
                let after_s = match frame.time {
                    TimeColumns::Hands { hands, .. } => hands.after_s(shown_s, before_s),
                    _ => f64::from(shown_s),
                };
                self.after_begin(after_s).or_else(|| unread(mistakes))
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
                            at_time(line, frame, message, WRITE_TIMES)
                        });
                        None
                    }
                }
            }
        }
    }

    /// The moment so long after the log began, s; none where nobody said when that was.
    fn after_begin(&self, after_s: f64) -> Option<DateTime> {
        let after = jiff::SignedDuration::try_from_secs_f64(after_s).ok()?;
        self.asked.begins?.checked_add(after).ok()
    }

    /// Reports a time that is not later than the row before.
    pub fn disorder(&self, before: DateTime, time: DateTime, mistakes: &mut Mistakes) {
        if time == before {
            mistakes.add("times that are there twice", || {
                let help = "keep one row for each time; where clocks were put back, write standard time throughout";
                at_time(self.line, self.frame, format!("the time {time} is there twice"), help)
            });
        } else {
            mistakes.add("times out of order", || {
                let message = format!("the time {time} comes after {before}");
                at_time(
                    self.line,
                    self.frame,
                    message,
                    "sort the rows by time, oldest first",
                )
            });
        }
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
