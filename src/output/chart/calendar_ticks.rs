//! Days and months along a calendar.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use super::axis::Label;
use super::calendar_grid::Span;
use super::time_axis::TimeTicks;

/// A day, s.
pub const DAY_S: f64 = 86_400.0;
/// Fewest days a month has.
const SHORTEST_MONTH: f64 = 28.0;
/// Forms of a month, the first that fits all of them is used.
const MONTHS: [&str; 3] = ["%B %Y", "%B", "%b"];

/// Numbers of days, of all or of Mondays, and below them months; years where months have no room.
///
/// `measure` gives the width of a label, `gap` is the least space between two, both in px as `width`.
pub fn ticks(span: Span, width: f64, measure: &dyn Fn(&str) -> f64, gap: f64) -> TimeTicks {
    let day = width / span.days as f64;
    let dates: Vec<(usize, Date)> = (0..span.days)
        .filter_map(|n| Some((n, span.first.checked_add((n as i64).days()).ok()?)))
        .collect();
    let mondays = dates.iter().filter(|(_, d)| d.weekday() == Weekday::Monday);
    let mut ticks = TimeTicks {
        days: days(&dates, day, measure, gap),
        ..TimeTicks::default()
    };
    if 7.0 * day >= 5.0 {
        ticks.fine = mondays
            .map(|(n, _)| label(*n as f64, String::new()))
            .collect();
    }
    months(&dates, day, measure, gap, &mut ticks);
    // A month's tick reaches down beside the days: it goes through none of them.
    let is_crossed = |label: &Label| {
        let reach = DAY_S * (measure(&label.text) / 2.0 + 2.0) / day;
        let mut ticks = ticks.date_ticks.iter();
        ticks.any(|tick| (tick - label.at).abs() < reach)
    };
    let crossed: Vec<bool> = ticks.days.iter().map(is_crossed).collect();
    let mut crossed = crossed.into_iter();
    ticks.days.retain(|_| crossed.next() == Some(false));
    ticks
}

fn label(days: f64, text: String) -> Label {
    let at = DAY_S * days;
    Label { at, text }
}

/// Numbers in the middle of their days.
fn days(dates: &[(usize, Date)], day: f64, measure: &dyn Fn(&str) -> f64, gap: f64) -> Vec<Label> {
    let (every_day, form) = if day >= measure("Wed 30") + gap {
        (true, "%a %-d")
    } else if day >= measure("30") + 0.4 * gap {
        (true, "%-d")
    } else if 7.0 * day >= measure("Mon 30") + gap {
        (false, "%a %-d")
    } else if 7.0 * day >= measure("30") + 0.6 * gap {
        (false, "%-d")
    } else {
        return Vec::new();
    };
    let half = |text: &str| measure(text) / 2.0 - day / 2.0;
    let last = dates.len() as f64 * day;
    dates
        .iter()
        .filter(|(_, date)| every_day || date.weekday() == Weekday::Monday)
        .map(|(n, date)| (*n as f64, date.strftime(form).to_string()))
        .filter(|(n, text)| n * day >= half(text) && (n + 1.0) * day + half(text) <= last)
        .map(|(n, text)| label(n + 0.5, text))
        .collect()
}

/// Names at the begins of months; that of a part of a month is left out if it has no room.
fn months(
    dates: &[(usize, Date)],
    day: f64,
    measure: &dyn Fn(&str) -> f64,
    gap: f64,
    ticks: &mut TimeTicks,
) {
    let room = |form: &&str| {
        let names = (1..=12).filter_map(|month| Date::new(2000, month, 1).ok());
        let widths = names.map(|date| measure(&date.strftime(form).to_string()));
        SHORTEST_MONTH * day >= widths.fold(0.0, f64::max) + 1.7 * gap
    };
    let form = MONTHS.into_iter().find(room);
    let is_begin = |date: &Date| date.day() == 1 && (form.is_some() || date.month() == 1);
    let begins: Vec<usize> = (0..dates.len())
        .filter(|k| *k == 0 || is_begin(&dates[*k].1))
        .collect();
    for (k, begin) in begins.iter().enumerate() {
        let (n, date) = dates[*begin];
        if is_begin(&date) {
            ticks.date_ticks.push(DAY_S * n as f64);
        }
        let end = begins.get(k + 1).map_or(dates.len(), |next| *next);
        // Nothing stands right of the last.
        let beyond = if end == dates.len() { gap } else { 0.0 };
        let space = (end - begin) as f64 * day - 1.3 * gap + beyond;
        // A part of a month may have less room than a whole one.
        let forms = form.map_or(["%Y"; 2], |form| [form, "%b"]);
        let mut texts = forms.iter().map(|form| date.strftime(form).to_string());
        if let Some(text) = texts.find(|text| measure(text) <= space) {
            ticks.dates.push(label(n as f64, text));
        }
    }
}
