//! Whole years made here, into which the cut-outs' rows are laid as they are, and how they are read.

use dogdays::keys::Problems;
use dogdays::weather::{Fill, Rules, Series, read_years};
use jiff::civil::{DateTime, date};
use std::fmt::Write as _;
use std::sync::Arc;

const TMY3_CUT: &str = include_str!("../data/tmy3-cut.csv");
const EPW_CUT: &str = include_str!("../data/epw-cut.epw");
const ISD_CUT: &str = include_str!("../data/isd-lite-cut.txt");

/// What the made hours say: another value each, warm in summer, °C to a tenth.
pub fn made_degC(day: usize, hour: usize) -> f64 {
    let summer = -((day as f64 - 15.0) / 365.0 * std::f64::consts::TAU).cos();
    let afternoon = -((hour as f64 - 3.0) / 24.0 * std::f64::consts::TAU).cos();
    ((12.0 + 10.0 * summer + 5.0 * afternoon) * 10.0).round() / 10.0
}

/// Month, day, number of the day and hour from 1 to 24 of every hour of a year.
pub fn hours(year: i16) -> Vec<(i8, i8, usize, usize)> {
    let mut hours = Vec::new();
    let mut day = date(year, 1, 1);
    let mut number = 0;
    while day.year() == year {
        hours.extend((1..=24).map(|hour| (day.month(), day.day(), number, hour)));
        day = day.tomorrow().expect("a date");
        number += 1;
    }
    hours
}

/// A whole year as EPW, with the cut-out's header and its rows in their places.
pub fn epw(is_leap: bool) -> String {
    let cut: Vec<&str> = EPW_CUT.lines().collect();
    let mut text = cut[..8].join("\n") + "\n";
    let sample: Vec<&str> = cut[8].split(',').collect();
    for (month, day, number, hour) in hours(if is_leap { 2000 } else { 2001 }) {
        let stamp = format!(",{month},{day},{hour},");
        if let Some(row) = cut[8..].iter().find(|row| row[4..].starts_with(&stamp)) {
            text += row;
        } else {
            let (before, after) = (sample[4..6].join(","), sample[7..].join(","));
            let air = made_degC(number, hour);
            write!(text, "1990,{month},{day},{hour},{before},{air:.1},{after}").expect("string");
        }
        text.push('\n');
    }
    text
}

/// A whole year as TMY3, likewise.
pub fn tmy3() -> String {
    let cut: Vec<&str> = TMY3_CUT.lines().collect();
    let mut text = cut[..2].join("\n") + "\n";
    let sample: Vec<&str> = cut[2].split(',').collect();
    for (month, day, number, hour) in hours(2001) {
        let (begin, end) = (format!("{month:02}/{day:02}/"), format!(",{hour:02}:00,"));
        let known = |row: &&&str| row.starts_with(&begin) && row[10..].starts_with(&end);
        if let Some(row) = cut[2..].iter().find(known) {
            text += row;
        } else {
            let (before, after) = (sample[2..31].join(","), sample[32..].join(","));
            let air = made_degC(number, hour);
            write!(text, "{begin}1990{end}{before},{air:.1},{after}").expect("string");
        }
        text.push('\n');
    }
    text
}

/// 2016 as ISD-Lite from its first hour to its last; the cut-out's rows replace those of its days from 13:00 on 5
/// February to 00:00 on 6 February.
pub fn isd_lite() -> String {
    let cut: Vec<&str> = ISD_CUT.lines().collect();
    let mut text = String::new();
    for (month, day, number, hour) in hours(2016) {
        let hour = hour - 1;
        let stamp = format!("2016 {month:02} {day:02} {hour:02}");
        if let Some(row) = cut.iter().find(|row| row.starts_with(&stamp)) {
            text += row;
            text.push('\n');
        } else if !((month, day) == (2, 5) && hour >= 13) {
            let tenths = (made_degC(number, hour) * 10.0).round();
            writeln!(
                text,
                "{stamp}{tenths:>6}   -83 10299 -9999    15     0     0 -9999"
            )
            .expect("string");
        }
    }
    text
}

pub fn read_as(name: &str, bytes: &[u8], rules: &Rules) -> Result<Arc<Series>, Problems> {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).expect("written");
    read_years(&[path], rules).map(|years| Arc::clone(&years.series[0].series))
}

pub fn looked_at() -> Rules {
    Rules {
        is_only_looked_at: true,
        ..Rules::default()
    }
}

#[track_caller]
pub fn read(name: &str, text: &str) -> Arc<Series> {
    read_as(name, text.as_bytes(), &looked_at()).unwrap_or_else(|p| panic!("{p}"))
}

/// The only problem, where it stands, and words that it says.
#[track_caller]
pub fn refused(name: &str, text: &str, line: Option<usize>, words: &[&str]) {
    let problems = read_as(name, text.as_bytes(), &looked_at()).expect_err("refused");
    let [problem] = problems.as_slice() else {
        panic!("{problems}");
    };
    assert_eq!(problem.line, line, "{problems}");
    let help = problem.help.as_deref().expect("a remedy");
    for word in words {
        let told = format!("{} {help}", problem.message);
        assert!(told.contains(word), "{word}: {told}");
    }
}

#[track_caller]
pub fn air_is(series: &Series, at: DateTime, degC: f64) {
    let air = series.temperature_K(at).map(|kelvin| kelvin - 273.15);
    assert!(
        air.is_some_and(|air| (air - degC).abs() < 1e-6),
        "{at}: {air:?}, not {degC}"
    );
}

/// Every hour has its own value at its label; half an hour on, the mean of two.
#[track_caller]
pub fn follows_the_hours(series: &Series, year: i16, label: impl Fn(usize) -> Option<f64>) {
    let begin = date(year, 1, 1).at(0, 0, 0, 0);
    let mut before = None;
    for hour in 0..24 * 365 {
        let at = begin.saturating_add(jiff::Span::new().hours(hour as i64));
        let value = label(hour);
        if let Some(value) = value {
            air_is(series, at, value);
        }
        if let (Some(a), Some(b)) = (before, value) {
            let half = at.saturating_sub(jiff::Span::new().minutes(30));
            air_is(series, half, 0.5 * (a + b));
        }
        before = value;
    }
}

/// The made value of an hour label, from 0 on: label 0 is the last hour of the day before; none on the days of
/// cut-outs.
pub fn made(hour: usize) -> Option<f64> {
    let (day, hour) = match hour {
        0 => return None,
        hour => ((hour - 1) / 24, (hour - 1) % 24 + 1),
    };
    let of_cuts = [0, 58, 59, 188, 198, 364];
    (!of_cuts.contains(&day)).then(|| made_degC(day, hour))
}

pub fn linear(up_to_h: f64) -> Rules {
    Rules {
        fill: Fill::Linear {
            up_to_s: up_to_h * 3_600.0,
        },
        ..looked_at()
    }
}
