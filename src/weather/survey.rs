//! One look at every row before any is read: in which order dates stand, whether times carry offsets from UTC,
//! how decimals are written, and where the table ends.

use super::asked::Asked;
use super::clock::offset_text;
use super::columns::TimeColumns;
use super::elapsed::{hands_s, number};
use super::frame::Frame;
use super::sample::epoch;
use super::steps::LONGEST_STEP_S;
use super::times::{DateOrder, Orders, Written, Zone, later, written};
use crate::keys::problem::Problem;
use crate::table::{Decimals, Line, Mistakes, Table};
use jiff::civil::{DateTime, datetime};
use std::ops::ControlFlow;

/// How it came out in which order dates stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum DatesBy {
    /// It can be seen in each.
    Shape,
    /// The run file says so.
    Asked,
    /// By one that can't be read otherwise.
    Row(String),
    /// Only so do the rows follow each other.
    Sequence,
    /// Only so do they lie where they must.
    Place,
}

/// What holds for all rows.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Survey {
    pub order: DateOrder,
    pub dates_by: DatesBy,
    pub decimals: Decimals,
    /// Number of the last row; lines below it are no rows.
    pub last: usize,
    /// How many lines stand below the last row.
    pub below: usize,
    /// Whether every time carries an offset from UTC, or counts from 1970 there.
    pub is_utc: bool,
}

impl Survey {
    /// Whether rows are written as in the program's examples.
    pub fn is_as_in_examples(&self) -> bool {
        self.order == DateOrder::YearMonthDay
            && self.dates_by == DatesBy::Shape
            && self.decimals == Decimals::Point
            && self.below == 0
            && !self.is_utc
    }
}

/// When a row says it is: what was written, seconds since 1970 in UTC, or since the log began.
pub(super) enum When {
    Written(Written),
    Epoch(f64),
    /// From where the log begins, s.
    Elapsed(f64),
    /// Hours and minutes without a date, as s.
    Hands(u32),
}

/// What stands in a row's columns of time; none if it is no time.
pub(super) fn when(line: &Line<'_>, columns: TimeColumns) -> Option<When> {
    let cell = |at| line.cell(at).unwrap_or_default();
    match columns {
        TimeColumns::One(at) => written(cell(at))
            .filter(|w| w.date.is_some())
            .map(When::Written),
        TimeColumns::Epoch(at) => epoch(cell(at)).map(|(_, seconds)| When::Epoch(seconds)),
        TimeColumns::Elapsed { at, unit } => {
            number(cell(at)).map(|count| When::Elapsed(unit.seconds() * count))
        }
        TimeColumns::Hands { at, .. } => hands_s(cell(at)).map(When::Hands),
        TimeColumns::Two { date, clock } => {
            let day = written(cell(date))?;
            let time = written(cell(clock)).filter(|w| w.date.is_none())?;
            Some(When::Written(Written {
                date: Some(day.date?),
                clock: time.clock,
                zone: time.zone.or(day.zone),
            }))
        }
    }
}

/// Seconds since 1970 as a moment on a clock so far ahead of UTC.
pub(super) fn of_epoch(seconds: f64, ahead_s: i32) -> Option<DateTime> {
    let since = jiff::SignedDuration::try_from_secs_f64(seconds).ok()?;
    later(
        datetime(1970, 1, 1, 0, 0, 0, 0).checked_add(since).ok()?,
        ahead_s,
    )
}

/// What the first pass over the rows gathers.
struct Gathered {
    alive: Orders,
    by_shape: Orders,
    /// For each order, a date that can't be read otherwise, and its line.
    decisive: [Option<(String, usize)>; 3],
    /// The first date that can't stand in any order in which all above it can, and its line.
    clash: Option<(String, usize)>,
    zoned: usize,
    plain: usize,
    zone: Option<(Zone, usize)>,
    commas: usize,
    points: usize,
    last: Option<usize>,
    lines_with_text: usize,
    /// A line below the last row that looks like a row.
    torn: Option<usize>,
}

/// Looks at every row. `values` are the columns with numbers that are going to be read.
pub(crate) fn survey(
    table: &Table,
    frame: &Frame,
    values: &[usize],
    asked: &Asked,
    mistakes: &mut Mistakes,
) -> Option<Survey> {
    let found = gather(table, frame, values);
    let is_epoch = matches!(frame.time, TimeColumns::Epoch(_));
    let is_utc = is_epoch || (found.zoned > 0 && found.plain == 0);
    let zones = zones_are_clear(table, frame, asked, &found, is_epoch, mistakes);
    let (order, dates_by) = order(table, frame, asked, &found, mistakes)?;
    zones.then_some(())?;
    let decimals = asked
        .decimals
        .unwrap_or_else(|| Decimals::of_counts(found.commas, found.points));
    // What looks like a row is read as one, and its mistake told; so is all where nothing is a row.
    let end = found.lines_with_text;
    let last = found.torn.or(found.last).unwrap_or(end);
    Some(Survey {
        order,
        dates_by,
        decimals,
        last,
        below: end.saturating_sub(last),
        is_utc,
    })
}

fn gather(table: &Table, frame: &Frame, values: &[usize]) -> Gathered {
    let mut found = Gathered {
        alive: Orders::ANY,
        by_shape: Orders::ANY,
        decisive: [const { None }; 3],
        clash: None,
        zoned: 0,
        plain: 0,
        zone: None,
        commas: 0,
        points: 0,
        last: None,
        lines_with_text: frame.first,
        torn: None,
    };
    table.lines(|line| {
        if line.at < frame.first || line.is_blank() {
            return ControlFlow::Continue(());
        }
        let when = when(line, frame.time);
        found.lines_with_text = line.at;
        match &when {
            Some(_) => {
                found.last = Some(line.at);
                found.torn = None;
            }
            None => {
                let time = line.cell(frame.time.at()).unwrap_or_default();
                let words = || {
                    line.cells()
                        .any(|cell| cell.starts_with(char::is_alphabetic))
                };
                let is_row =
                    time.starts_with(|c: char| c.is_ascii_digit()) || (time.is_empty() && !words());
                if is_row {
                    found.torn = Some(line.at);
                }
            }
        }
        if let Some(When::Written(written)) = when {
            dates(&mut found, line, frame, &written);
            match written.zone {
                Some(zone) => {
                    found.zoned += 1;
                    found.zone.get_or_insert((zone, line.at));
                }
                None => found.plain += 1,
            }
        }
        for text in values.iter().filter_map(|at| line.cell(*at)) {
            found.commas += usize::from(text.contains(','));
            found.points += usize::from(text.contains('.'));
        }
        ControlFlow::Continue(())
    });
    found
}

fn dates(found: &mut Gathered, line: &Line<'_>, frame: &Frame, written: &Written) {
    let Some(date) = written.date.filter(|date| !date.orders.is_empty()) else {
        return;
    };
    found.alive = found.alive.both(date.orders);
    found.by_shape = found.by_shape.both(date.by_shape);
    let here = || {
        let text = line.cell(frame.time.at()).unwrap_or_default();
        (text.to_owned(), line.at)
    };
    if let Some(only) = date.orders.single() {
        found.decisive[only as usize].get_or_insert_with(here);
    }
    if found.alive.is_empty() {
        found.clash.get_or_insert_with(here);
    }
}

/// The order in which dates stand; none where it can't be told, which then has been reported.
fn order(
    table: &Table,
    frame: &Frame,
    asked: &Asked,
    found: &Gathered,
    mistakes: &mut Mistakes,
) -> Option<(DateOrder, DatesBy)> {
    if let Some(order) = asked.dates {
        return Some((order, DatesBy::Asked));
    }
    if let Some(order) = found.by_shape.single() {
        return Some((order, DatesBy::Shape));
    }
    if let Some(order) = found.alive.single() {
        let row = found.decisive[order as usize]
            .as_ref()
            .map(|(text, _)| text.clone());
        return Some((order, row.map_or(DatesBy::Shape, DatesBy::Row)));
    }
    if found.alive.is_empty() {
        contradiction(table, frame, asked, found, mistakes);
        return None;
    }
    if found.alive == Orders::ANY && found.plain + found.zoned == 0 {
        // No date at all: rows say so one by one, or count from 1970.
        return Some((DateOrder::YearMonthDay, DatesBy::Shape));
    }
    let smooth: Vec<DateOrder> = found
        .alive
        .iter()
        .filter(|order| follow_each_other(table, frame, *order, found.last.unwrap_or_default()))
        .collect();
    if let [one] = smooth[..] {
        return Some((one, DatesBy::Sequence));
    }
    let mut placed = found.alive.iter().filter(|order| {
        let first = first_moment(table, frame, *order);
        let within = asked.lies_within.zip(first);
        within.is_some_and(|((from, to), first)| (from..=to).contains(&first))
    });
    if let (Some(one), None) = (placed.next(), placed.next()) {
        return Some((one, DatesBy::Place));
    }
    let words: Vec<String> = found
        .alive
        .iter()
        .map(|order| format!("dates = \"{}\"", order.word()))
        .collect();
    table.line(frame.first, |line| {
        let text = line.cell(frame.time.at()).unwrap_or_default();
        let message = format!(
            "\"{text}\" may be more than one day, and no other row tells which number is the month"
        );
        let help = format!(
            "write {} under {} in the run file",
            words.join(" or "),
            asked.by.table()
        );
        mistakes.push(line.problem(frame.time.at(), message).help(help));
    });
    None
}

/// When the first row is if dates stand in that order.
fn first_moment(table: &Table, frame: &Frame, order: DateOrder) -> Option<DateTime> {
    let first = table.line(frame.first, |line| when(line, frame.time))??;
    match first {
        When::Written(written) => written.moment(order),
        When::Epoch(_) | When::Elapsed(_) | When::Hands(_) => None,
    }
}

/// Reports dates of which some can only stand in one order and some only in another.
fn contradiction(
    table: &Table,
    frame: &Frame,
    asked: &Asked,
    found: &Gathered,
    mistakes: &mut Mistakes,
) {
    let mut decisive: Vec<(DateOrder, &String, usize)> = DateOrder::ALL
        .into_iter()
        .filter_map(|order| {
            let (text, at) = found.decisive[order as usize].as_ref()?;
            Some((order, text, *at))
        })
        .collect();
    decisive.sort_by_key(|(_, _, at)| *at);
    let &[(first, earlier, _), (second, text, at), ..] = &decisive[..] else {
        // A date that may be one of two, in none of which those above it can stand.
        if let Some((text, at)) = &found.clash {
            table.line(*at, |line| {
                let message = format!("\"{text}\" can't be a date in the order of those above it");
                let help = "write all dates in one way, such as 2026-07-13";
                mistakes.push(line.problem(frame.time.at(), message).help(help));
            });
        }
        return;
    };
    table.line(at, |line| {
        let message = format!(
            "\"{text}\" can only be {}, but \"{earlier}\" further up only {}",
            second.word(),
            first.word()
        );
        let help = format!(
            "write all dates in one way, or dates = \"{}\" under {} to see which rows break it",
            first.word(),
            asked.by.table()
        );
        mistakes.push(line.problem(frame.time.at(), message).help(help));
    });
}

/// Whether rows rise and have no gap if dates stand in that order.
fn follow_each_other(table: &Table, frame: &Frame, order: DateOrder, last: usize) -> bool {
    let mut before: Option<DateTime> = None;
    let mut smooth = true;
    table.lines(|line| {
        if line.at < frame.first {
            return ControlFlow::Continue(());
        }
        if let Some(When::Written(written)) = when(line, frame.time)
            && let Some(moment) = written.moment(order)
        {
            if let Some(before) = before {
                let step_s = moment.duration_since(before).as_secs_f64();
                smooth = smooth && step_s > 0.0 && step_s <= LONGEST_STEP_S;
            }
            before = Some(moment);
        }
        if smooth && line.at < last {
            ControlFlow::Continue(())
        } else {
            ControlFlow::Break(())
        }
    });
    smooth
}

/// Whether it is clear what times mean on the run's clock; if not, that has been reported. Single rows with
/// an offset among others without are told one by one.
fn zones_are_clear(
    table: &Table,
    frame: &Frame,
    asked: &Asked,
    found: &Gathered,
    is_epoch: bool,
    mistakes: &mut Mistakes,
) -> bool {
    let under = asked.by.table();
    const AHEAD: &str = "how far the clock of this run, that of run.start, is ahead of UTC; the times are then moved to it";
    let (at, message, help) = match (is_epoch, found.zone) {
        _ if asked.rows_ahead_s().is_some() && !matches!(found.zone, Some((Zone::Named, _))) => {
            return true;
        }
        (true, _) => (
            frame.first,
            "these times count from 1970 in UTC, and the run's clock is local".to_owned(),
            format!("write utc_offset = \"+02:00\" under {under} in the run file: {AHEAD}"),
        ),
        (false, Some((Zone::Offset(s), at))) if found.plain == 0 => {
            let sample = if s == 0 { 7_200 } else { s };
            (
                at,
                format!(
                    "these times carry an offset from UTC, {}, and the run's clock is local",
                    offset_text(s)
                ),
                format!(
                    "write utc_offset = \"{}\" under {under} in the run file: {AHEAD}",
                    offset_text(sample)
                ),
            )
        }
        (false, Some((Zone::Named, at))) if found.plain == 0 => (
            at,
            "these times carry the name of a time zone, which the program does not know".to_owned(),
            "save local times without it, or times with an offset such as +02:00 instead"
                .to_owned(),
        ),
        _ => return true,
    };
    table.line(at, |line| {
        mistakes.push(line.problem(frame.time.at(), message).help(help));
    });
    false
}

/// A problem in the column of times.
pub(super) fn at_time(line: &Line<'_>, frame: &Frame, message: String, help: &str) -> Problem {
    line.problem(frame.time.at(), message).help(help)
}
