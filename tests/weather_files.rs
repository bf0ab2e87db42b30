//! Weather files of the standard formats: whole years made here, into which the rows of the cut-outs under
//! `tests/data` are laid as they are, and whole real files where `DOGDAYS_WEATHER_DATA` names their folder
//! (`tests/data/fetch.sh` fetches them).

use dogdays::keys::Problems;
use dogdays::weather::{Fill, Rules, Series, ShopClock, read_years};
use jiff::civil::{DateTime, date, datetime};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

const TMY3_CUT: &str = include_str!("data/tmy3-cut.csv");
const EPW_CUT: &str = include_str!("data/epw-cut.epw");
const ISD_CUT: &str = include_str!("data/isd-lite-cut.txt");

/// What the made hours say: another value each, warm in summer, °C to a tenth.
fn made_degC(day: usize, hour: usize) -> f64 {
    let summer = -((day as f64 - 15.0) / 365.0 * std::f64::consts::TAU).cos();
    let afternoon = -((hour as f64 - 3.0) / 24.0 * std::f64::consts::TAU).cos();
    ((12.0 + 10.0 * summer + 5.0 * afternoon) * 10.0).round() / 10.0
}

/// Month, day, number of the day and hour from 1 to 24 of every hour of a year.
fn hours(year: i16) -> Vec<(i8, i8, usize, usize)> {
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
fn epw(is_leap: bool) -> String {
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
fn tmy3() -> String {
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
fn isd_lite() -> String {
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

fn read_as(name: &str, bytes: &[u8], rules: &Rules) -> Result<Arc<Series>, Problems> {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = folder.path().join(name);
    std::fs::write(&path, bytes).expect("written");
    read_years(&[path], rules).map(|years| Arc::clone(&years.series[0].series))
}

fn looked_at() -> Rules {
    Rules {
        is_only_looked_at: true,
        ..Rules::default()
    }
}

#[track_caller]
fn read(name: &str, text: &str) -> Arc<Series> {
    read_as(name, text.as_bytes(), &looked_at()).unwrap_or_else(|p| panic!("{p}"))
}

/// The only problem, where it stands, and words that it says.
#[track_caller]
fn refused(name: &str, text: &str, line: Option<usize>, words: &[&str]) {
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
fn air_is(series: &Series, at: DateTime, degC: f64) {
    let air = series.temperature_K(at).map(|kelvin| kelvin - 273.15);
    assert!(
        air.is_some_and(|air| (air - degC).abs() < 1e-6),
        "{at}: {air:?}, not {degC}"
    );
}

/// Every hour has its own value at its label; half an hour on, the mean of two.
#[track_caller]
fn follows_the_hours(series: &Series, year: i16, label: impl Fn(usize) -> Option<f64>) {
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
fn made(hour: usize) -> Option<f64> {
    let (day, hour) = match hour {
        0 => return None,
        hour => ((hour - 1) / 24, (hour - 1) % 24 + 1),
    };
    let of_cuts = [0, 58, 59, 188, 198, 364];
    (!of_cuts.contains(&day)).then(|| made_degC(day, hour))
}

#[test]
fn typical_years_say_how_warm_it_is_at_the_end_of_each_labelled_hour() {
    for (name, text) in [("a.epw", epw(false)), ("a.csv", tmy3())] {
        let series = read(name, &text);
        assert!(series.is_typical_year());
        follows_the_hours(&series, 2023, made);
    }
}

/// Pinned by hand from the raw rows.
#[test]
fn rows_of_the_cut_outs_are_where_they_belong() {
    let series = read("a.csv", &tmy3());
    // 01/01/1988,01:00 10.0; 02/28/1996,23:00 10.4, 24:00 9.2; 03/01/1990,01:00 8.0; 07/08 at 15:00; 12/31/1980,24:00 2.2.
    for (at, degC) in [
        (datetime(2026, 1, 1, 1, 0, 0, 0), 10.0),
        (datetime(2026, 2, 28, 23, 0, 0, 0), 10.4),
        (datetime(2026, 3, 1, 0, 0, 0, 0), 9.2),
        (datetime(2026, 3, 1, 1, 0, 0, 0), 8.0),
        (datetime(2026, 12, 31, 23, 0, 0, 0), 2.8),
        (datetime(2027, 1, 1, 0, 0, 0, 0), 2.2),
        // The typical year has no 29 February: a start on it has 1 March's weather.
        (datetime(2028, 2, 29, 1, 0, 0, 0), 8.0),
    ] {
        air_is(&series, at, degC);
    }
    let series = read("a.epw", &epw(false));
    // 2018,1,1,1 2.04; 2007,2,28,24 8.87; 2009,3,1,1 8.38; 2011,7,18,15 25.95; 2016,12,31,24 2.10.
    for (at, degC) in [
        (datetime(2026, 1, 1, 1, 0, 0, 0), 2.04),
        (datetime(2026, 3, 1, 0, 0, 0, 0), 8.87),
        (datetime(2026, 3, 1, 1, 0, 0, 0), 8.38),
        (datetime(2026, 7, 18, 15, 0, 0, 0), 25.95),
        (datetime(2027, 1, 1, 0, 0, 0, 0), 2.10),
    ] {
        air_is(&series, at, degC);
    }
    let series = read("a.txt", &isd_lite());
    for (at, degC) in [
        (datetime(2016, 1, 1, 1, 0, 0, 0), -2.8),
        (datetime(2016, 2, 5, 15, 0, 0, 0), -2.2),
        (datetime(2016, 7, 28, 22, 0, 0, 0), 38.3),
        (datetime(2016, 7, 29, 0, 0, 0, 0), 36.7),
    ] {
        air_is(&series, at, degC);
    }
    assert!(!series.is_typical_year());
    assert_eq!(
        series.span(),
        (
            datetime(2016, 1, 1, 0, 0, 0, 0),
            datetime(2016, 12, 31, 23, 0, 0, 0)
        )
    );
}

/// From 30 December into January: the last hours of the year, then its first.
#[test]
fn a_typical_year_goes_on_in_january() {
    let series = read("a.epw", &epw(false));
    let begin = datetime(2026, 12, 30, 12, 0, 0, 0);
    for hours in 0..=84 {
        let at = begin.saturating_add(jiff::Span::new().hours(hours));
        let day = (at.date().day_of_year() - 1) as usize;
        let hour = at.hour() as usize;
        let degC = match (at.month(), at.day(), hour) {
            (1, 1, 0) | (12, 31, 22 | 23) | (1, 1, 1..=3) => continue,
            (_, _, 0) => made_degC(day - 1, 24),
            _ => made_degC(day, hour),
        };
        air_is(&series, at, degC);
    }
    let (first, last) = series.span();
    assert_eq!(last.duration_since(first).as_hours(), 8_760);
    // A real year ends.
    let real = read("a.txt", &isd_lite());
    assert!(
        real.temperature_K(datetime(2016, 12, 31, 22, 30, 0, 0))
            .is_some()
    );
    assert_eq!(
        real.temperature_K(datetime(2016, 12, 31, 23, 30, 0, 0)),
        None
    );
    assert_eq!(real.temperature_K(datetime(2017, 7, 1, 12, 0, 0, 0)), None);
    // Unless it is asked to.
    let wraps = Rules {
        wraps: true,
        ..looked_at()
    };
    let round = read_as("a.txt", isd_lite().as_bytes(), &wraps).expect("read");
    assert!(round.is_typical_year());
    air_is(
        &round,
        datetime(2017, 7, 1, 12, 0, 0, 0),
        made_degC(182, 12),
    );
    let seam = 0.5 * (made_degC(365, 23) + made_degC(0, 0));
    air_is(&round, datetime(2026, 12, 31, 23, 30, 0, 0), seam);
    let half: String = isd_lite().split_inclusive('\n').take(4_000).collect();
    let told = read_as("a.txt", half.as_bytes(), &wraps).expect_err("refused");
    assert!(told.to_string().contains("no whole year"), "{told}");
}

#[test]
fn leap_years_have_their_day() {
    let series = read("a.epw", &epw(true));
    let (first, last) = series.span();
    assert_eq!(last.duration_since(first).as_hours(), 8_784);
    air_is(
        &series,
        datetime(2028, 2, 29, 12, 0, 0, 0),
        made_degC(59, 12),
    );
    // Of a year without it the run passes through the weather's 29 February.
    air_is(
        &series,
        datetime(2026, 3, 1, 12, 0, 0, 0),
        made_degC(60, 12),
    );
    let real = read("a.txt", &isd_lite());
    air_is(&real, datetime(2016, 2, 29, 12, 0, 0, 0), made_degC(59, 12));
}

#[test]
fn clocks_of_file_and_shop_are_told_apart() {
    let of = |clock: &str| Rules {
        clock: Some(ShopClock::parse(clock).expect("a clock")),
        ..Rules::default()
    };
    // ISD-Lite is in UTC: the hour 22 of 28 July is 15:00 by summer time on the Pacific coast.
    for (clock, at) in [
        ("Z", datetime(2016, 7, 28, 22, 0, 0, 0)),
        ("-07:00", datetime(2016, 7, 28, 15, 0, 0, 0)),
        ("America/Los_Angeles", datetime(2016, 7, 28, 15, 0, 0, 0)),
    ] {
        let series = read_as("a.txt", isd_lite().as_bytes(), &of(clock)).expect("read");
        air_is(&series, at, 38.3);
    }
    let zone = read_as("a.txt", isd_lite().as_bytes(), &of("America/Los_Angeles")).expect("read");
    // In winter eight hours behind UTC.
    air_is(&zone, datetime(2015, 12, 31, 17, 0, 0, 0), -2.8);
    let without = read_as("a.txt", isd_lite().as_bytes(), &Rules::default()).expect_err("no clock");
    assert!(without.to_string().contains("--time-zone"), "{without}");
    // The typical year of a place five hours behind UTC: in July the shop's clock is an hour ahead of it.
    let series = read_as("a.csv", tmy3().as_bytes(), &of("America/New_York")).expect("read");
    air_is(
        &series,
        datetime(2026, 7, 20, 15, 0, 0, 0),
        made_degC(200, 14),
    );
    air_is(
        &series,
        datetime(2026, 1, 20, 15, 0, 0, 0),
        made_degC(19, 15),
    );
    let plain = read("a.csv", &tmy3());
    air_is(
        &plain,
        datetime(2026, 7, 20, 15, 0, 0, 0),
        made_degC(200, 15),
    );
}

fn linear(up_to_h: f64) -> Rules {
    Rules {
        fill: Fill::Linear {
            up_to_s: up_to_h * 3_600.0,
        },
        ..looked_at()
    }
}

#[test]
fn gaps_are_errors_and_filled_by_a_rule_only() {
    let text = isd_lite();
    let series = read("a.txt", &text);
    let gap = datetime(2016, 2, 5, 19, 0, 0, 0);
    assert_eq!(series.temperature_K(gap), None);
    let gaps = series.gaps();
    let [problem] = &gaps[..] else {
        panic!("{gaps:?}")
    };
    // Hour 17 is there, 18 to 20 are not, 21 has no value; 16 is not there either.
    for words in [
        "2 gaps, 5 h in all",
        "the longest first: 4 h before line 859 (2016-02-05T17:00:00 to 2016-02-05T22:00:00, 1 without a value, 3 not there); 60 min before line 857",
    ] {
        assert!(
            problem.message.contains(words),
            "{words}: {}",
            problem.message
        );
    }
    assert!(
        problem
            .help
            .as_deref()
            .is_some_and(|h| h.contains("--fill linear")),
        "{problem:?}"
    );
    // Up to three hours, only the short one.
    let short = read_as("a.txt", text.as_bytes(), &linear(3.0)).expect("read");
    assert_eq!((short.filled().gaps, short.filled().values()), (1, 1));
    air_is(
        &short,
        datetime(2016, 2, 5, 16, 0, 0, 0),
        0.5 * (-2.2 + 1.7),
    );
    assert_eq!(short.temperature_K(gap), None);
    assert!(short.gaps()[0].message.contains("there is a gap between"));
    let whole = read_as("a.txt", text.as_bytes(), &linear(4.0)).expect("read");
    let filled = whole.filled();
    assert_eq!(
        (
            filled.gaps,
            filled.rows_absent,
            filled.values_absent,
            filled.longest_s
        ),
        (2, 4, 1, 4.0 * 3_600.0)
    );
    air_is(&whole, gap, 1.7 + (11.7 - 1.7) * 0.4);
    assert!(whole.gaps().is_empty(), "{:?}", whole.gaps());
    assert!(whole.has_filled(datetime(2016, 2, 5, 12, 0, 0, 0), 86_400.0));
    assert!(!whole.has_filled(datetime(2016, 2, 6, 0, 0, 0, 0), 86_400.0));
    let warmer = Rules {
        fill: Fill::parse("warmer", Some("6 h")).expect("a rule"),
        ..looked_at()
    };
    let warmer = read_as("a.txt", text.as_bytes(), &warmer).expect("read");
    air_is(&warmer, gap, 11.7);
    air_is(&warmer, datetime(2016, 2, 5, 18, 0, 0, 0), 11.7);
    for (rule, up_to) in [
        ("linear", "2 day"),
        ("linear", "0 h"),
        ("cubic", "3 h"),
        ("linear", "3"),
    ] {
        let told = Fill::parse(rule, Some(up_to)).expect_err("refused");
        assert!(told.len() > 20, "{told}");
    }
}

/// A year with 8,759 hours, in its midst and at its end.
#[test]
fn a_missing_hour_of_a_typical_year_is_a_gap() {
    let whole = epw(false);
    for (stamp, before, after, at) in [
        (
            ",8,10,14,",
            made_degC(221, 13),
            made_degC(221, 15),
            datetime(2026, 8, 10, 14, 0, 0, 0),
        ),
        (",12,31,24,", 2.17, 2.04, datetime(2027, 1, 1, 0, 0, 0, 0)),
        (",1,1,1,", 2.10, 1.98, datetime(2027, 1, 1, 1, 0, 0, 0)),
    ] {
        let text: String = whole
            .split_inclusive('\n')
            .filter(|line| !line.get(4..).is_some_and(|rest| rest.starts_with(stamp)))
            .collect();
        assert_eq!(text.lines().count(), 8 + 8_759);
        let series = read("a.epw", &text);
        let gaps = series.gaps();
        assert_eq!(gaps.len(), 1, "{stamp} {gaps:?}");
        assert!(
            gaps[0].message.contains("there is a gap between"),
            "{gaps:?}"
        );
        assert_eq!(series.temperature_K(at), None, "{stamp}");
        let filled = read_as("a.epw", text.as_bytes(), &linear(3.0)).expect("read");
        assert_eq!(filled.filled().values(), 1, "{stamp}");
        assert!(filled.gaps().is_empty());
        air_is(&filled, at, 0.5 * (before + after));
        // In the year after it, too.
        air_is(
            &filled,
            at.saturating_add(jiff::Span::new().years(1)),
            0.5 * (before + after),
        );
    }
    // 99.9 is no air, and whatever is not below it is none.
    let row = format!(
        ",8,10,14,0,{},",
        whole
            .lines()
            .nth(8)
            .expect("row")
            .split(',')
            .nth(5)
            .expect("cell")
    );
    let degC = made_degC(221, 14);
    for mark in ["99.9", "100.0", "999", ""] {
        let text = whole.replace(&format!("{row}{degC:.1},"), &format!("{row}{mark},"));
        assert_ne!(text, whole);
        let series = read("a.epw", &text);
        assert!(
            series.gaps()[0].message.contains("1 without a value"),
            "{:?}",
            series.gaps()
        );
    }
    let text = whole.replace(&format!("{row}{degC:.1},"), &format!("{row}85.0,"));
    refused(
        "a.epw",
        &text,
        Some(8 + 221 * 24 + 14),
        &["85.0 is no air temperature"],
    );
}

#[test]
fn broken_files_are_refused_in_words() {
    let (epw, tmy3, isd) = (epw(false), tmy3(), isd_lite());
    let first =
        |text: &str, lines: usize| -> String { text.split_inclusive('\n').take(lines).collect() };
    // Cut off after a whole line, and in the midst of one.
    refused(
        "a.epw",
        &first(&epw, 4_000),
        Some(4_000),
        &["ends on 16 June", "3992 of a year's 8760 hours", "fetch"],
    );
    let line = |text: &str| Some(text.lines().count());
    let cut = &epw[..500_000];
    refused(
        "a.epw",
        cut,
        line(cut),
        &["cells and should have 35", "cut off"],
    );
    refused(
        "a.csv",
        &first(&tmy3, 4_000),
        Some(4_000),
        &["ends on 16 June"],
    );
    let cut = &tmy3[..900_000];
    refused(
        "a.csv",
        cut,
        line(cut),
        &["cells and should have", "cut off"],
    );
    refused(
        "a.txt",
        &isd[..isd.len() - 30],
        Some(isd.lines().count()),
        &["characters wide and should be 61", "cut off"],
    );
    refused("a.epw", &first(&epw, 8), None, &["fewer than two hours"]);
    refused("a.epw", &first(&epw, 7), None, &["DATA PERIODS"]);
    // Two records of one hour, and two that changed places.
    let lines: Vec<&str> = epw.lines().collect();
    let mut twice = lines.clone();
    twice.insert(100, lines[100]);
    refused(
        "a.epw",
        &twice.join("\n"),
        Some(102),
        &["is there twice", "2018,1,4,21".trim_start_matches("2018")],
    );
    let mut swapped = lines.clone();
    swapped.swap(100, 101);
    refused("a.epw", &swapped.join("\n"), Some(102), &["comes after"]);
    // All mistakes, counted by kind.
    let many = tmy3.replace(",10,A,7,10,A,7,1", ",10,A,7,10,A,7,x1");
    let problems = read_as("a.csv", many.as_bytes(), &looked_at()).expect_err("refused");
    assert_eq!(problems.as_slice().len(), 11);
    assert!(
        problems
            .to_string()
            .contains("temperatures that are no number"),
        "{problems}"
    );
    let half_hourly = epw.replace("DATA PERIODS,1,1,", "DATA PERIODS,1,2,");
    refused("a.epw", &half_hourly, Some(8), &["one row for every hour"]);
    let no_zone = epw.replacen(",1,250", ",x,250", 1);
    refused("a.epw", &no_zone, Some(1), &["ahead of UTC"]);
}

#[test]
fn another_kind_of_file_named_epw_says_what_it_looks_like() {
    let without_header: String = epw(false).split_inclusive('\n').skip(8).collect();
    for (text, words) in [
        (tmy3(), "a TMY3 file"),
        (isd_lite(), "an ISD-Lite file"),
        ("<!DOCTYPE html>\n<html>".to_owned(), "a web page"),
        (
            "time,temperature_degC\n2026-07-13T07:00,24.5\n".to_owned(),
            "a table",
        ),
        ("{\"error\": 404}".to_owned(), "JSON"),
        ("not found".to_owned(), "another text"),
        (without_header, "without its header"),
    ] {
        refused("town.EPW", &text, Some(1), &[words, "named .epw"]);
    }
    refused("town.epw", "", None, &["an empty file"]);
}

#[test]
fn names_in_quotes_other_letters_and_more_header_lines_are_read() {
    let text = epw(false)
        .replacen(
            "LOCATION,unknown,-,unknown",
            "LOCATION,\"Söderby, Hafen\",-,XXX",
            1,
        )
        .replacen("COMMENTS 1", "COMMENTS 0,one more line\nCOMMENTS 1", 1);
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    for bytes in [
        text.clone().into_bytes(),
        latin,
        text.replace('\n', "\r\n").into_bytes(),
    ] {
        let series = read_as("a.epw", &bytes, &looked_at()).unwrap_or_else(|p| panic!("{p}"));
        let station = series.station().expect("a place");
        assert_eq!(
            (station.name.as_str(), station.region.as_str()),
            ("Söderby, Hafen", "XXX")
        );
        assert_eq!(
            (
                station.latitude_deg,
                station.elevation_m,
                station.standard_time_s
            ),
            (Some(45.0), Some(250.0), Some(3_600))
        );
        air_is(&series, datetime(2026, 7, 18, 15, 0, 0, 0), 25.95);
    }
}

#[test]
fn folders_are_read_by_name_and_what_is_left_out_is_told() {
    let folder = tempfile::tempdir().expect("temp dir");
    let put = |name: &str, bytes: &[u8]| {
        std::fs::write(folder.path().join(name), bytes).expect("written");
    };
    put("b-2001.epw", epw(false).as_bytes());
    put("a-2002.csv", tmy3().as_bytes());
    put("notes.md", b"none");
    put(".hidden", b"none");
    let years = read_years(&[folder.path().to_owned()], &looked_at()).expect("read");
    let names: Vec<&str> = years.series.iter().map(|year| year.name.as_str()).collect();
    assert_eq!(names, ["a-2002", "b-2001"]);
    assert_eq!(years.left_out, [folder.path().join("notes.md")]);
    // One that can't be read is told, with its file.
    put("c.csv", b"time,temperature_degC\n2026-07-13T07:00,x\n");
    let problems = read_years(&[folder.path().to_owned()], &looked_at()).expect_err("refused");
    assert!(problems.to_string().contains("c.csv"), "{problems}");
    let empty = tempfile::tempdir().expect("temp dir");
    let problems = read_years(&[empty.path().to_owned()], &looked_at()).expect_err("refused");
    assert!(
        problems
            .to_string()
            .contains("no weather file in this folder"),
        "{problems}"
    );
}

#[test]
fn what_a_file_holds_is_described() {
    // A plain table: ten days of a square day, 20 and 30 °C for twelve hours each, and a warm week's end.
    let mut text = "time,temperature_degC\n".to_owned();
    for hour in 0..240 {
        let (day, hour) = (1 + hour / 24, hour % 24);
        let warm = if day > 8 { 2.0 } else { 0.0 };
        let degC = if (9..21).contains(&hour) { 30.0 } else { 20.0 } + warm;
        writeln!(text, "2026-07-{day:02}T{hour:02}:00,{degC:.1}").expect("string");
    }
    let described = read("a.csv", &text).describe().expect("rows");
    assert_eq!((described.rows, described.every_s), (240, 3_600.0));
    assert_eq!(described.warmest.at, datetime(2026, 7, 9, 9, 0, 0, 0));
    assert_eq!(described.coldest.at, datetime(2026, 7, 1, 0, 0, 0, 0));
    let week = described.hottest_week.expect("a week");
    assert_eq!((week.from, week.to), (date(2026, 7, 4), date(2026, 7, 10)));
    // Twelve of 24 hours at 30 °C and as many at 20, the steps up and down in the middle of an hour; two days 2 K
    // warmer, from half an hour before midnight on; the last hour of the last day is not there.
    let by_hand = (25.0 * 168.0 + 2.0 * 47.5 - 22.0 + 0.5) / 167.0;
    assert!(
        (week.mean_K - 273.15 - by_hand).abs() < 0.01,
        "{} {by_hand}",
        week.mean_K - 273.15
    );
    assert_eq!(week.missing_s, 3_600.0);
    assert_eq!(described.months.len(), 1);
    // Filled hours of the hottest week are said to be.
    let gap: String = text
        .split_inclusive('\n')
        .filter(|line| !line.starts_with("2026-07-09T1"))
        .collect();
    let filled = read_as("a.csv", gap.as_bytes(), &linear(12.0)).expect("read");
    let week = filled
        .describe()
        .and_then(|d| d.hottest_week)
        .expect("a week");
    assert_eq!(week.filled_s, 11.0 * 3_600.0);
    let open = read("a.csv", &gap).describe().expect("rows");
    assert_eq!(open.gaps.len(), 1);
    assert_eq!((open.gaps[0].rows_absent, open.gaps[0].line), (10, 204));
    assert_eq!(open.hottest_week.expect("a week").missing_s, 12.0 * 3_600.0);
}

/// The hottest week of a place south of the equator may lie across New Year.
#[test]
fn the_hottest_week_may_go_over_new_year() {
    let south: String = epw(false)
        .split_inclusive('\n')
        .map(|line| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            if cells.len() == 35 && ["1", "12"].contains(&cells[1].as_str()) {
                let warm = (cells[1] == "1" && cells[2].len() == 1 && cells[2] < "4".to_owned())
                    || (cells[1] == "12" && cells[2].as_str() > "27" && cells[2].len() == 2);
                cells[6] = if warm { "33.0" } else { "25.0" }.to_owned();
            }
            cells.join(",")
        })
        .collect();
    let week = read("a.epw", &south)
        .describe()
        .and_then(|d| d.hottest_week);
    let week = week.expect("a week");
    assert_eq!((week.from, week.to), (date(2001, 12, 28), date(2001, 1, 3)));
}

/// The program, with an environment that no user's settings reach.
fn dogdays(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_dogdays"))
        .args(arguments)
        .env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .output()
        .expect("runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (
        output.status.code(),
        text(&output.stdout),
        text(&output.stderr),
    )
}

#[test]
fn season_describes_files_in_text_and_json() {
    let folder = tempfile::tempdir().expect("temp dir");
    let put = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).expect("written");
        path.display().to_string()
    };
    put("a.epw", &epw(false));
    put("b.txt", &isd_lite());
    put("notes.md", "none");
    let folder = folder.path().display().to_string();
    let (code, text, _) = dogdays(&["season", "--describe", &folder]);
    assert_eq!(code, Some(0), "{text}");
    for words in [
        "a.epw: EPW, a typical year",
        "ISD-Lite",
        "hottest week",
        "left out",
        "notes.md",
        "Jul ",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    assert!(
        text.lines().all(|line| line.chars().count() <= 80
            || line.contains("/a.epw")
            || line.contains("/b.txt")
            || line.contains("notes.md")),
        "{text}"
    );
    let (code, text, _) = dogdays(&[
        "season",
        "--describe",
        &folder,
        "--json",
        "--fill",
        "linear",
        "--fill-up-to",
        "6 h",
    ]);
    assert_eq!(code, Some(0));
    let json: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(json["schema"], 1);
    assert_eq!(json["weather"][0]["typical_year"], true);
    assert_eq!(json["weather"][1]["filled"]["values"], 5);
    assert_eq!(json["weather"][1]["warmest"]["temperature_degC"], 38.3);
    let (code, _, told) = dogdays(&["season", "--describe", &folder, "--fill", "cubic"]);
    assert_eq!(code, Some(2));
    assert!(told.contains("linear") && told.contains("warmer"), "{told}");
}

#[test]
fn a_run_takes_its_weather_from_a_typical_year() {
    let folder = tempfile::tempdir().expect("temp dir");
    std::fs::write(folder.path().join("town.epw"), epw(false)).expect("written");
    let run = |start: &str, more: &str| {
        let text = format!(
            "run = {{ start = \"{start}\", duration = \"48 h\" }}\nmachine.name = \"bench-220\"\nmaterial.name = \"petg\"\npart.mass = \"1 kg\"\npart.footprint = \"180 cm2\"\n[room]\nseries = \"town.epw\"\n{more}\n"
        );
        std::fs::write(folder.path().join("run.toml"), text).expect("written");
        dogdays::runfile::load(&folder.path().join("run.toml"), None)
    };
    let loaded = run("2026-12-30 20:00", "").unwrap_or_else(|p| panic!("{p}"));
    let course = &loaded.run.room.weather;
    assert!((course.at(0.0).0 - 273.15 - made_degC(363, 20)).abs() < 1e-9);
    assert!((course.at(40.0 * 3_600.0).0 - 273.15 - made_degC(0, 12)).abs() < 1e-9);
    assert!(
        loaded.series[0].understood().contains("EPW"),
        "{}",
        loaded.series[0].understood()
    );
    // Paris is on the clock of the header, but for its summer time.
    let loaded =
        run("2026-07-20 15:00", "time_zone = \"Europe/Paris\"").unwrap_or_else(|p| panic!("{p}"));
    assert!((loaded.run.room.weather.at(0.0).0 - 273.15 - made_degC(200, 14)).abs() < 1e-9);
    for (more, words) in [
        ("fill_up_to = \"3 h\"", "needs a rule"),
        ("time_zone = \"CEST\"", "is no time zone"),
        (
            "time_zone = \"+01:00\"\nutc_offset = \"+01:00\"",
            "one of utc_offset and time_zone",
        ),
    ] {
        let told = run("2026-07-20 15:00", more)
            .expect_err("refused")
            .to_string();
        assert!(told.contains(words), "{told}");
    }
    // What is filled in the run's own hours is told with the run.
    let gap = epw(false)
        .replace(",7,20,20,", ",7,20,21,")
        .replacen(",7,20,21,", "X", 1);
    let gap: String = gap
        .split_inclusive('\n')
        .filter(|line| !line.contains('X'))
        .collect();
    std::fs::write(folder.path().join("town.epw"), gap).expect("written");
    assert!(run("2026-07-20 15:00", "").is_err());
    let loaded = run("2026-07-20 15:00", "fill = \"warmer\"").unwrap_or_else(|p| panic!("{p}"));
    assert!(
        loaded.warnings[0].message.contains("filled in"),
        "{:?}",
        loaded.warnings
    );
    assert!(
        loaded.series[0].understood().contains("1 value filled in"),
        "{}",
        loaded.series[0].understood()
    );
    let loaded = run("2026-08-20 15:00", "fill = \"warmer\"").unwrap_or_else(|p| panic!("{p}"));
    assert!(loaded.warnings.is_empty(), "{:?}", loaded.warnings);
}

/// The folder of whole real files; none elsewhere, which is said.
fn real(name: &str) -> Option<PathBuf> {
    let folder = std::env::var_os("DOGDAYS_WEATHER_DATA");
    let path = folder.map(|folder| Path::new(&folder).join(name));
    if path.is_none() {
        println!(
            "skipped: DOGDAYS_WEATHER_DATA names no folder with {name} (tests/data/fetch.sh fetches it)"
        );
    }
    path
}

fn read_real(name: &str, rules: &Rules) -> Option<Arc<Series>> {
    let years = read_years(&[real(name)?], rules).unwrap_or_else(|p| panic!("{p}"));
    Some(Arc::clone(&years.series[0].series))
}

/// Rows pinned by hand from the raw file, and its numbers as they are published with it.
#[test]
fn a_whole_typical_year_is_read() {
    let Some(series) = read_real("723170TYA.CSV", &Rules::default()) else {
        return;
    };
    for (at, degC) in [
        (datetime(2026, 1, 1, 1, 0, 0, 0), 10.0),
        (datetime(2026, 3, 1, 0, 0, 0, 0), 9.2),
        (datetime(2026, 3, 1, 1, 0, 0, 0), 8.0),
        (datetime(2027, 1, 1, 0, 0, 0, 0), 2.2),
    ] {
        air_is(&series, at, degC);
    }
    assert!(series.gaps().is_empty());
    let described = series.describe().expect("rows");
    let week = described.hottest_week.expect("a week");
    assert_eq!((week.from, week.to), (date(2001, 7, 8), date(2001, 7, 14)));
    // Stated to a tenth.
    assert!(
        (week.mean_K - 273.15 - 28.6).abs() < 0.05,
        "{}",
        week.mean_K
    );
    assert!((week.warmest.temperature_K - 273.15 - 35.6).abs() < 1e-9);
    assert!((described.coldest.temperature_K - 273.15 + 16.7).abs() < 1e-9);
    assert_eq!(
        series.station().map(|s| s.name.as_str()),
        Some("GREENSBORO PIEDMONT TRIAD INT")
    );
}

/// 2018,1,1,1 2.04; 2009,3,1,1 8.38; 2006,6,30,16 34.33, the year's highest.
#[test]
fn a_whole_epw_file_is_read() {
    let Some(series) = read_real("tmy_45.000_8.000_2005_2023.epw", &Rules::default()) else {
        return;
    };
    air_is(&series, datetime(2026, 1, 1, 1, 0, 0, 0), 2.04);
    air_is(&series, datetime(2026, 3, 1, 1, 0, 0, 0), 8.38);
    let warmest = series.describe().expect("rows").warmest;
    assert_eq!(warmest.at, datetime(2001, 6, 30, 16, 0, 0, 0));
    assert!((warmest.temperature_K - 273.15 - 34.33).abs() < 1e-9);
}

#[test]
fn a_whole_real_year_is_read_with_its_gaps() {
    let rules = Rules {
        clock: Some(ShopClock::parse("America/Los_Angeles").expect("a zone")),
        ..linear(3.0)
    };
    let Some(series) = read_real(
        "725957-2016.gz",
        &Rules {
            fill: Fill::Never,
            ..rules.clone()
        },
    ) else {
        return;
    };
    // 2016 07 28 22, 383 tenths, is 15:00 by the shop's clock; hour 23 of 31 December 3.3.
    air_is(&series, datetime(2016, 7, 28, 15, 0, 0, 0), 38.3);
    air_is(&series, datetime(2015, 12, 31, 17, 0, 0, 0), -2.8);
    assert_eq!(series.span().1, datetime(2016, 12, 31, 15, 0, 0, 0));
    // Eleven marks in six stretches, one of them beside rows that are not there; two more of those.
    assert!(
        series.gaps()[0].message.contains("9 gaps, 16 h in all"),
        "{:?}",
        series.gaps()
    );
    let warmest = series.describe().expect("rows").warmest;
    assert!((warmest.temperature_K - 273.15 - 38.3).abs() < 1e-9);
    let filled = read_real("725957-2016.gz", &rules).expect("read");
    assert_eq!(
        (
            filled.filled().gaps,
            filled.filled().rows_absent,
            filled.filled().values_absent
        ),
        (8, 2, 10)
    );
}
