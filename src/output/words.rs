//! Times and spans in the words of a technician.

use jiff::civil::DateTime;
use jiff::{SignedDuration, ToSpan};

/// The local date and time `t_s` seconds into a run, rounded to the second.
#[must_use]
pub fn moment(start: DateTime, t_s: f64) -> DateTime {
    start.saturating_add(SignedDuration::from_secs(t_s.round() as i64))
}

/// ISO 8601, local, to the second.
#[must_use]
pub fn iso(t: DateTime) -> String {
    t.strftime("%Y-%m-%dT%H:%M:%S").to_string()
}

/// "day 3 at 16:40": days count by the calendar, the start's being day 1.
#[must_use]
pub fn day_and_time(start: DateTime, t_s: f64) -> String {
    // To the minute, as a clock shows it.
    let t = moment(start, (t_s / 60.0).round() * 60.0);
    let days = start.date().until(t.date()).map_or(0, |s| s.get_days());
    format!("day {} at {:02}:{:02}", days + 1, t.hour(), t.minute())
}

/// "Wed 15 Jul 16:40".
#[must_use]
pub fn date_and_time(start: DateTime, t_s: f64) -> String {
    moment(start, (t_s / 60.0).round() * 60.0)
        .strftime("%a %-d %b %H:%M")
        .to_string()
}

/// A span in hours: "14 h", "3.5 h", "12 min". What is not nothing does not look like it.
#[must_use]
pub fn hours(h: f64) -> String {
    if h >= 9.95 {
        format!("{h:.0} h")
    } else if h >= 1.0 {
        format!("{h:.1} h")
    } else if h > 0.0 && h * 60.0 < 0.5 {
        "less than a minute".to_owned()
    } else {
        format!("{:.0} min", h * 60.0)
    }
}

/// One day after a date and time; used for shading nights.
#[must_use]
pub fn next_day(t: DateTime) -> DateTime {
    t.saturating_add(1.day())
}
