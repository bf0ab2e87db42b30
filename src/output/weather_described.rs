//! What was read of weather files: text with a small chart, and JSON.

use serde_json::{Value, json};

use super::json::{SCHEMA, rounded};
use super::prose::padded;
use super::screen::Screen;
use super::words::{hours, iso};
use crate::quantity::{format_count, format_duration, format_number, format_temperature};
use crate::weather::describe::{Described, Extreme, Month, OpenGap, Week};
use crate::weather::{Format, Station};

/// More gaps than these are counted.
const MOST_GAPS: usize = 5;

/// A file that was read: its name, and what it is like.
#[derive(Debug, Clone, PartialEq)]
pub struct File {
    /// Its name as typed.
    pub name: String,
    /// What it is like.
    pub described: Described,
}

/// Files that were read, and the names of those that a folder has besides.
#[must_use]
pub fn text(files: &[File], left_out: &[String], screen: Screen) -> String {
    let mut o = String::new();
    for (k, file) in files.iter().enumerate() {
        if k > 0 {
            o.push('\n');
        }
        one(&mut o, file, screen);
    }
    if !left_out.is_empty() {
        o.push('\n');
        let names = left_out.join(", ");
        screen.entry(
            &mut o,
            "left out",
            &format!("no weather by their names: {names}"),
        );
    }
    o
}

fn one(o: &mut String, file: &File, screen: Screen) {
    let d = &file.described;
    let kind = match d.format {
        Format::Table => "a table of times and temperatures".to_owned(),
        Format::Epw | Format::Tmy3 | Format::IsdLite => d.format.name().to_owned(),
    };
    let typical = if d.is_typical_year {
        ", a typical year"
    } else {
        ""
    };
    screen.paragraph(o, &format!("{}: {kind}{typical}", file.name));
    if let Some(station) = &d.station {
        screen.entry(o, "place", &place(station));
    }
    let every = format_duration(d.every_s);
    let rows = format_count(d.rows);
    let span = if d.is_typical_year {
        format!(
            "1 January to 31 December without a year, {rows} rows {every} apart; December is followed by January"
        )
    } else {
        format!(
            "{} to {}, {rows} rows {every} apart",
            d.span.0.strftime("%-d %b %Y %H:%M"),
            d.span.1.strftime("%-d %b %Y %H:%M")
        )
    };
    screen.entry(o, "span", &span);
    screen.entry(o, "clock", &d.clock);
    screen.entry(o, "coldest", &when(d, &d.coldest, screen));
    screen.entry(o, "warmest", &when(d, &d.warmest, screen));
    screen.entry(o, "mean", &format_temperature(d.mean_K, screen.system));
    let week = match &d.hottest_week {
        Some(week) => hottest(d, week, screen),
        None => "none: no seven days in a row are known well enough".to_owned(),
    };
    screen.entry(o, "hottest week", &week);
    screen.entry(o, "gaps", &gaps(d));
    if let Some(filled) = d.filled.words() {
        screen.entry(o, "filled", &filled);
    }
    if d.months.len() > 1 {
        o.push('\n');
        chart(o, &d.months, screen);
    }
}

/// A temperature and when it was; of a typical year, without the year.
fn when(d: &Described, extreme: &Extreme, screen: Screen) -> String {
    let how = if d.is_typical_year {
        "%-d %b %H:%M"
    } else {
        "%-d %b %Y %H:%M"
    };
    format!(
        "{} on {}",
        format_temperature(extreme.temperature_K, screen.system),
        extreme.at.strftime(how)
    )
}

fn hottest(d: &Described, week: &Week, screen: Screen) -> String {
    let how = if d.is_typical_year {
        "%-d %b"
    } else {
        "%-d %b %Y"
    };
    let mut text = format!(
        "{} to {}, mean {}, warmest {}",
        week.from.strftime("%-d %b"),
        week.to.strftime(how),
        format_temperature(week.mean_K, screen.system),
        when(d, &week.warmest, screen)
    );
    for (s, what) in [(week.missing_s, "missing"), (week.filled_s, "filled in")] {
        // Less than a minute is rounding.
        if s >= 60.0 {
            text += &format!(
                "; {} of it {what}, its peak may be higher",
                hours(s / 3600.0)
            );
        }
    }
    text
}

fn place(station: &Station) -> String {
    let mut parts: Vec<String> = [&station.name, &station.region]
        .into_iter()
        .filter(|part| !part.is_empty())
        .cloned()
        .collect();
    let of = |degrees: Option<f64>, positive: &str, negative: &str| {
        degrees.map(|d| {
            let side = if d < 0.0 { negative } else { positive };
            format!("{}° {side}", format_number(d.abs(), 2))
        })
    };
    parts.extend(of(station.latitude_deg, "N", "S"));
    parts.extend(of(station.longitude_deg, "E", "W"));
    parts.extend(
        station
            .elevation_m
            .map(|m| format!("{} m above the sea", format_number(m, 0))),
    );
    if parts.is_empty() {
        parts.push("not said".to_owned());
    }
    parts.join(", ")
}

fn gaps(d: &Described) -> String {
    if d.gaps.is_empty() {
        return if d.filled.gaps == 0 {
            "none".to_owned()
        } else {
            "none that is not filled".to_owned()
        };
    }
    let sum = |of: fn(&OpenGap) -> usize| format_count(d.gaps.iter().map(of).sum());
    let missing_s: f64 = d.gaps.iter().map(|gap| gap.missing_s).sum();
    let shown: Vec<String> = d
        .gaps
        .iter()
        .take(MOST_GAPS)
        .map(|gap| {
            format!(
                "{} before line {} ({})",
                hours(gap.missing_s / 3600.0),
                gap.line,
                gap.from.strftime("%-d %b %H:%M")
            )
        })
        .collect();
    let more = match d.gaps.len().saturating_sub(MOST_GAPS) {
        0 => String::new(),
        more => format!("; and {} no longer", format_count(more)),
    };
    format!(
        "{}, {} in all ({} rows not there, {} without a value), the longest first: {}{more}",
        format_count(d.gaps.len()),
        hours(missing_s / 3600.0),
        sum(|gap| gap.rows_absent),
        sum(|gap| gap.values_absent),
        shown.join("; ")
    )
}

const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// A line a month: from its lowest to its highest, with its mean.
fn chart(o: &mut String, months: &[Month], screen: Screen) {
    let shown = |kelvin: f64| screen.system.temperature(kelvin);
    let low = months
        .iter()
        .map(|m| shown(m.min_K))
        .fold(f64::INFINITY, f64::min);
    let high = months
        .iter()
        .map(|m| shown(m.max_K))
        .fold(f64::NEG_INFINITY, f64::max);
    let numbers = |a: &str, b: &str, c: &str| format!("{a:>7}{b:>7}{c:>8}  ");
    let head = format!("{}{}", padded("", 3), numbers("lowest", "mean", "highest"));
    let width = screen.width.saturating_sub(head.len()).max(8);
    let place = |t: f64| {
        let x = (t - low) / (high - low).max(1e-9);
        (x * (width - 1) as f64).round() as usize
    };
    o.push_str(&format!("{head}{}\n", screen.system.temperature_unit()));
    for month in months {
        let name = MONTHS
            .get(usize::try_from(month.month - 1).unwrap_or(0))
            .unwrap_or(&"");
        let values = [month.min_K, month.mean_K, month.max_K].map(shown);
        let texts = values.map(|v| format_number(v, 1));
        let [first, mean, last] = values.map(place);
        let bar: String = (0..=last)
            .map(|x| match x {
                x if x < first => ' ',
                x if x == mean => 'o',
                _ => '-',
            })
            .collect();
        o.push_str(&format!(
            "{name}{}{bar}\n",
            numbers(&texts[0], &texts[1], &texts[2])
        ));
    }
}

/// The same for other programs.
#[must_use]
pub fn json(files: &[File], left_out: &[String]) -> Value {
    json!({
        "schema": SCHEMA,
        "weather": files.iter().map(one_json).collect::<Vec<_>>(),
        "left_out": left_out,
    })
}

fn degC(kelvin: f64) -> Value {
    rounded(kelvin - 273.15, 4)
}

fn one_json(file: &File) -> Value {
    let d = &file.described;
    let extreme =
        |e: &Extreme| json!({ "temperature_degC": degC(e.temperature_K), "at": iso(e.at) });
    let h = |s: f64| rounded(s / 3600.0, 4);
    json!({
        "file": file.name,
        "format": d.format.name(),
        "place": d.station.as_ref().map(|s| json!({
            "name": s.name,
            "region": s.region,
            "latitude_deg": s.latitude_deg,
            "longitude_deg": s.longitude_deg,
            "elevation_m": s.elevation_m,
            "standard_time_ahead_of_utc_h": s.standard_time_s.map(|s| h(f64::from(s))),
        })),
        "typical_year": d.is_typical_year,
        "begin": iso(d.span.0),
        "end": iso(d.span.1),
        "clock": d.clock,
        "rows": d.rows,
        "every_h": h(d.every_s),
        "mean_degC": degC(d.mean_K),
        "coldest": extreme(&d.coldest),
        "warmest": extreme(&d.warmest),
        "hottest_week": d.hottest_week.as_ref().map(|week| json!({
            "from": week.from.to_string(),
            "to": week.to.to_string(),
            "mean_degC": degC(week.mean_K),
            "warmest": extreme(&week.warmest),
            "missing_h": h(week.missing_s),
            "filled_h": h(week.filled_s),
        })),
        "gaps": d.gaps.iter().map(|gap| json!({
            "from": iso(gap.from),
            "to": iso(gap.to),
            "missing_h": h(gap.missing_s),
            "line": gap.line,
            "rows_absent": gap.rows_absent,
            "values_absent": gap.values_absent,
        })).collect::<Vec<_>>(),
        "filled": {
            "rule": d.filled.rule.words(),
            "gaps": d.filled.gaps,
            "values": d.filled.values(),
            "rows_absent": d.filled.rows_absent,
            "values_absent": d.filled.values_absent,
            "longest_h": h(d.filled.longest_s),
        },
        "months": d.months.iter().map(|month| json!({
            "month": month.month,
            "min_degC": degC(month.min_K),
            "mean_degC": degC(month.mean_K),
            "max_degC": degC(month.max_K),
        })).collect::<Vec<_>>(),
    })
}
