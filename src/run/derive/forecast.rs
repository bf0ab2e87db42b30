//! From the highs and lows under `[[room.day]]` to the weather of a run.

use super::notes::Notes;
use crate::course::Course;
use crate::keys::moment::Span;
use crate::keys::section::Section;
use crate::weather::forecast::{Day, course};
use jiff::civil::Date;

/// Dates that an error names in full.
const MOST_NAMED: usize = 5;

/// The weather of the days that a room lists, when they cover a span. Days without a date count from `undated` on.
pub(super) fn weather(
    room: &Section,
    span: &Span,
    undated: Date,
    notes: &mut Notes<'_>,
) -> Option<Course> {
    let days = days(room, undated, notes)?;
    let (first, last) = (span.start.date(), last_day(span));
    let has = |date: Date| days.iter().any(|day| day.date == date);
    let missing: Vec<Date> = first
        .series(jiff::Span::new().days(1))
        .take_while(|date| *date <= last)
        .filter(|date| !has(*date))
        .collect();
    if !missing.is_empty() {
        let named: Vec<String> = missing
            .iter()
            .take(MOST_NAMED)
            .map(Date::to_string)
            .collect();
        let more = match missing.len().saturating_sub(MOST_NAMED) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let message = format!("no [[room.day]] for {}{more}", named.join(", "));
        let help = format!(
            "the run goes from {first} to {last}: add high and low for each day of it, or change run.start or run.duration"
        );
        notes.error(room.mark_of("day"), message, help);
        return None;
    }
    course(&around(&days, first), span.start)
}

/// The last day of which the run has more than its first moment.
fn last_day(span: &Span) -> Date {
    let end = span.date_time(span.duration_s);
    let date = end.date();
    if end == date.to_datetime(jiff::civil::Time::midnight()) && date > span.start.date() {
        date.yesterday().unwrap_or(date)
    } else {
        date
    }
}

/// The days that follow each other without a gap around one of them.
fn around(days: &[Day], date: Date) -> Vec<Day> {
    let at = days.iter().position(|day| day.date == date).unwrap_or(0);
    let follows = |k: usize| days[k - 1].date.tomorrow().ok() == Some(days[k].date);
    let first = (1..=at)
        .rev()
        .take_while(|k| follows(*k))
        .last()
        .map_or(at, |k| k - 1);
    let last = (at + 1..days.len())
        .take_while(|k| follows(*k))
        .last()
        .unwrap_or(at);
    days[first..=last].to_vec()
}

/// The days in order, from what was written.
fn days(room: &Section, undated: Date, notes: &mut Notes<'_>) -> Option<Vec<Day>> {
    let list = room.list("day");
    if list.is_empty() {
        let help = "add [[room.day]] with high = \"34 degC\" and low = \"22 degC\" for each day";
        notes.error(room.mark_of("day"), "`room.day` lists no days", help);
        return None;
    }
    let known = notes.errors();
    let dated = list.iter().filter(|day| day.has("date")).count();
    let mut days: Vec<Day> = Vec::new();
    for (at, section) in list.iter().enumerate() {
        let date = section.date_time("date").map(|time| time.date());
        if dated > 0 && !section.has("date") {
            let help = "write a date for every day or for none: without, they follow each other from the run's first day on";
            notes.error(
                section.mark.as_ref(),
                "this day has no date and others have",
                help,
            );
        }
        let Some(date) = date.or_else(|| nth_day(undated, at).filter(|_| dated == 0)) else {
            continue;
        };
        let (Some(low_K), Some(high_K)) = (section.number("low"), section.number("high")) else {
            continue;
        };
        if low_K > high_K {
            let help = "write the day's highest temperature as high, the lowest as low";
            notes.error(
                section.mark_of("low"),
                "this day's low lies above its high",
                help,
            );
        }
        if days.last().is_some_and(|before| before.date >= date) {
            let message = format!("{date} does not come after the day before it");
            notes.error(
                section.mark_of("date"),
                message,
                "list each day once, in order",
            );
        }
        days.push(Day {
            date,
            low_K,
            high_K,
        });
    }
    (notes.errors() == known && days.len() == list.len()).then_some(days)
}

/// The day so many after a first one.
pub(crate) fn nth_day(first: Date, after: usize) -> Option<Date> {
    let days = i64::try_from(after).ok()?;
    first
        .checked_add(jiff::Span::new().try_days(days).ok()?)
        .ok()
}
