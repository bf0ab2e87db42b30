//! A log's times beside the run's: rows outside it, wrong clocks, gaps.

use super::places::Holds;
use super::probes::counted;
use super::rows::Rows;
use crate::keys::problem::Problem;
use crate::quantity::format_duration;
use crate::run::Run;
use crate::weather::understood::{moment, stamp};
use jiff::civil::DateTime;

const HOUR_S: f64 = 3_600.0;
const DAY_S: f64 = 24.0 * HOUR_S;
/// Clocks of the Earth differ by so many hours at most.
const MOST_HOURS: i32 = 14;
/// A clock that was moved fits if so much of what it could share with the run lies within.
const FITS: f64 = 0.9;
/// A step so many times longer than the usual one is told.
const GAP: f64 = 10.0;
/// So many gaps are told by their times.
const TOLD: usize = 3;

/// The run with a day before and after it, in which a log of it begins.
pub(super) fn around(run: &Run) -> (DateTime, DateTime) {
    let end_s = run.duration_s + DAY_S;
    (moment(run.start, -DAY_S), moment(run.start, end_s))
}

/// An error where no row lies within the run.
pub(super) fn outside(rows: &Rows, name: &str, run: &Run) -> Option<Problem> {
    let within = |t_s: &f64| (0.0..=run.duration_s).contains(t_s);
    if rows.times_s.iter().any(within) {
        return None;
    }
    let (first, last) = (rows.time(rows.first_s()), rows.time(rows.last_s()));
    let message = format!(
        "no row of this log lies within the run: it lasts from {} to {}, the run from {} to {}",
        stamp(first),
        stamp(last),
        stamp(run.start),
        stamp(moment(run.start, run.duration_s))
    );
    let why = moved(rows, run).map_or_else(String::new, |moved| {
        format!("; moved by {moved} it would lie within: was a clock wrong?")
    });
    let help = format!("run.start and run.duration must be those of the run that was logged{why}");
    Some(Problem::in_file(name, message).help(help))
}

/// By how much a clock would have to be moved: hours, else years, else days.
fn moved(rows: &Rows, run: &Run) -> Option<String> {
    let (first_s, last_s) = (rows.first_s(), rows.last_s());
    let fits = |by_s: f64| {
        let (from_s, to_s) = (first_s + by_s, last_s + by_s);
        let shared_s = to_s.min(run.duration_s) - from_s.max(0.0);
        shared_s >= FITS * (last_s - first_s).min(run.duration_s) && shared_s >= 0.0
    };
    let told = |count: i64, word: &str| {
        let (sign, plural) = (
            if count < 0 { '-' } else { '+' },
            if count.abs() == 1 { "" } else { "s" },
        );
        format!("{sign}{} {word}{plural}", count.abs())
    };
    let hours = (1..=MOST_HOURS).flat_map(|hours| [hours, -hours]);
    if let Some(hours) = hours.into_iter().find(|h| fits(f64::from(*h) * HOUR_S)) {
        return Some(told(hours.into(), "hour"));
    }
    let first = rows.time(first_s);
    let years = i32::from(run.start.year()) - i32::from(first.year());
    let by_years = [years, years - 1, years + 1].into_iter().find(|years| {
        let other = first.checked_add(jiff::Span::new().years(*years));
        *years != 0 && other.is_ok_and(|other| fits(other.duration_since(first).as_secs_f64()))
    });
    if let Some(years) = by_years {
        return Some(told(years.into(), "year"));
    }
    #[expect(clippy::cast_possible_truncation, reason = "days of the calendar")]
    let days = [
        (-first_s / DAY_S).ceil() as i64,
        ((run.duration_s - last_s) / DAY_S).floor() as i64,
    ];
    let mut days: Vec<i64> = days.into_iter().filter(|d| *d != 0).collect();
    days.sort_by_key(|days| days.abs());
    #[expect(clippy::cast_precision_loss, reason = "days of the calendar")]
    let day = days.into_iter().find(|days| fits(*days as f64 * DAY_S))?;
    Some(told(day, "day"))
}

/// Leaves out what lies before the run or after it. Of the room what came before is kept.
pub(super) fn cut(rows: &mut Rows, run: &Run, note: &mut dyn FnMut(String)) {
    let end_s = run.duration_s;
    let before = rows.times_s.partition_point(|t_s| *t_s < 0.0);
    let after = rows.times_s.len() - rows.times_s.partition_point(|t_s| *t_s <= end_s);
    let has_room = rows.columns.iter().any(|c| c.holds == Holds::Room);
    let mut parts = Vec::new();
    if before > 0 {
        let but = if has_room {
            " (the room's are kept)"
        } else {
            ""
        };
        let start = stamp(run.start);
        parts.push(format!(
            "{} before the run's start, {start}{but}",
            counted(before)
        ));
    }
    if after > 0 {
        let end = stamp(moment(run.start, end_s));
        parts.push(format!("{} after its end, {end}", counted(after)));
    }
    if !parts.is_empty() {
        note(format!("left out: {}", parts.join(", and ")));
    }
    let within = |t_s: f64| (0.0..=end_s).contains(&t_s);
    rows.times_s.retain(|t_s| within(*t_s));
    for column in &mut rows.columns {
        let is_room = column.holds == Holds::Room;
        column
            .rows
            .retain(|(t_s, _)| within(*t_s) || (is_room && *t_s < 0.0));
        column.missing_s.retain(|t_s| within(*t_s));
    }
}

/// Tells where rows are missing.
pub(super) fn gaps(rows: &Rows, note: &mut dyn FnMut(String)) {
    let usual_s = rows.usual_s();
    let gaps: Vec<String> = rows
        .times_s
        .windows(2)
        .filter(|pair| pair[1] - pair[0] > GAP * usual_s)
        .map(|pair| {
            format!(
                "from {} to {}",
                stamp(rows.time(pair[0])),
                stamp(rows.time(pair[1]))
            )
        })
        .collect();
    if gaps.is_empty() {
        return;
    }
    let more = match gaps.len().saturating_sub(TOLD) {
        0 => String::new(),
        more => format!(" and {more} times more"),
    };
    note(format!(
        "no rows {}{more}; usually there is one every {}",
        gaps[..gaps.len().min(TOLD)].join(", "),
        format_duration(usual_s)
    ));
}
