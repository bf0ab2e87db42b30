//! Weather series.

use super::{GOOD, load_with, says};
use crate::runfile::{Problem, load};
use std::fmt::Write as _;

/// Hourly from the 13th, 00:00, for so many hours; temperature 20 + hour of the day.
fn hourly(hours: usize) -> String {
    let mut text = "time,temperature_degC\n".to_owned();
    for hour in 0..hours {
        let (day, hour) = (13 + hour / 24, hour % 24);
        writeln!(text, "2026-07-{day:02}T{hour:02}:00,{}.5", 20 + hour / 2).expect("string");
    }
    text
}

fn only_problem(weather: &str) -> Problem {
    let problems = load_with(weather.as_bytes(), "").expect_err("refused");
    assert_eq!(problems.as_slice().len(), 1, "{problems}");
    problems.as_slice()[0].clone()
}

#[track_caller]
fn refused(weather: &str, at: (usize, usize), words: &[&str]) {
    let problem = only_problem(weather);
    assert!(problem.file.ends_with("weather.csv"), "{}", problem.file);
    assert_eq!(
        (problem.line, problem.column),
        (Some(at.0), Some(at.1)),
        "{}",
        problem.render(false)
    );
    says(&problem, words);
}

#[test]
fn rows_are_cut_to_the_run_and_counted_from_its_start() {
    let loaded = load_with(hourly(120).as_bytes(), "shift = \"2 K\"").expect("valid");
    let (times_s, temperatures_K): (Vec<f64>, Vec<f64>) = loaded.run.room.weather.points().unzip();
    // 07:00 on the 13th to 11:00 on the 17th, and what follows to the series' end at 23:00.
    assert_eq!(times_s.len(), 101 + 12);
    assert!(times_s[0].abs() < 1e-9 && (times_s[1] - 3_600.0).abs() < 1e-9);
    assert!((temperatures_K[0] - (273.15 + 23.5 + 2.0)).abs() < 1e-9);
}

/// Mean 30.9 and maximum 37.8 °C as stated with the data set's description of that week; they
/// are given to a tenth, hence the tolerance.
#[test]
fn a_real_heat_wave_in_fahrenheit_is_read() {
    let weather = include_str!("../../../tests/data/ewr-2013-07-14-20.csv");
    let folder = tempfile::tempdir().expect("temp dir");
    let run = GOOD
        .replace("2026-07-13 07:00", "2013-07-14 00:00")
        .replace("100 h", "167 h")
        .replace("temperature = \"31 degC\"", "series = \"ewr.csv\"");
    std::fs::write(folder.path().join("run.toml"), run).expect("write");
    std::fs::write(folder.path().join("ewr.csv"), weather).expect("write");
    let loaded = load(&folder.path().join("run.toml"), None).expect("valid");
    let (times_s, temperatures_K): (Vec<f64>, Vec<f64>) = loaded.run.room.weather.points().unzip();
    assert_eq!(times_s.len(), 168);
    let mean_K = temperatures_K.iter().sum::<f64>() / 168.0;
    let max_K = temperatures_K.iter().copied().fold(0.0, f64::max);
    assert!((mean_K - 304.05).abs() < 0.05, "{mean_K}");
    assert!((max_K - 310.95).abs() < 0.05, "{max_K}");
}

#[test]
fn spellings_of_header_and_file_that_are_no_mistake() {
    let plain = load_with(hourly(120).as_bytes(), "")
        .expect("valid")
        .run
        .room;
    for (text, more) in [
        (format!("\u{feff}{}", hourly(120).replace('\n', "\r\n")), ""),
        (
            hourly(120).replace("temperature_degC", "Temperature (°C)"),
            "",
        ),
        (
            hourly(120).replace("temperature_degC", "temperature [degC]"),
            "",
        ),
        (
            hourly(120)
                .replace("T0", " 0")
                .replace("T1", " 1")
                .replace("T2", " 2"),
            "",
        ),
        (
            hourly(120)
                .replace("time,", "when,")
                .replace("temperature_", "hall_"),
            "time_column = \"when\"\ntemperature_column = \"hall_degC\"",
        ),
        (hourly(120) + "\n\n", ""),
        (
            hourly(120)
                .replace(":00,", ":00\",")
                .replace("2026", "\"2026"),
            "",
        ),
    ] {
        let room = load_with(text.as_bytes(), more)
            .unwrap_or_else(|p| panic!("{p}"))
            .run
            .room;
        assert_eq!(room, plain);
    }
}

#[test]
fn a_missing_file_is_shown_where_it_is_named() {
    let text = GOOD.replace("temperature = \"31 degC\"", "series = \"wether.csv\"");
    let folder = tempfile::tempdir().expect("temp dir");
    std::fs::write(folder.path().join("run.toml"), text).expect("write");
    std::fs::write(folder.path().join("weather.csv"), hourly(120)).expect("write");
    let problems = load(&folder.path().join("run.toml"), None).expect_err("refused");
    let problem = &problems.as_slice()[0];
    assert_eq!((problem.line, problem.column), (Some(14), Some(10)));
    says(problem, &["no such file", "did you mean", "weather.csv"]);
}

#[test]
fn a_file_without_rows_or_header_is_refused() {
    says(&only_problem(""), &["empty", "time,temperature_degC"]);
    says(
        &only_problem("time,temperature_degC\n"),
        &["fewer than two rows"],
    );
    refused(
        "2026-07-13T00:00,20.0\n2026-07-13T01:00,20.5\n",
        (1, 1),
        &[
            "first line does not name the columns",
            "time,temperature_degC",
        ],
    );
}

#[test]
fn headers_need_their_columns_and_a_unit() {
    refused(
        &hourly(120).replace("temperature_degC", "air"),
        (1, 1),
        &["no column's header begins with temperature"],
    );
    refused(
        &hourly(120).replace("temperature_degC", "temperature"),
        (1, 6),
        &["in which unit", "temperature_degC"],
    );
    refused(
        &hourly(120).replace("temperature_degC", "temperature_bar"),
        (1, 6),
        &["in which unit"],
    );
    let asked = load_with(
        hourly(120).replace("time,", "tyme,").as_bytes(),
        "time_column = \"time\"",
    );
    says(
        &asked.expect_err("refused").as_slice()[0],
        &["no column \"time\"", "did you mean \"tyme\""],
    );
    refused(
        &hourly(120)
            .replace("time,", "tyme,")
            .replace("2026-", "26 "),
        (1, 1),
        &["no column \"time\"", "did you mean \"tyme\""],
    );
    refused(
        &hourly(120).replace("time,", "time,temperature_in_degC,"),
        (1, 1),
        &["several columns", "temperature_column"],
    );
}

#[test]
fn text_in_numbers_is_shown_with_line_and_column() {
    refused(
        &hourly(120).replacen("T10:00,25.5", "T10:00,warm", 1),
        (12, 18),
        &["\"warm\" is not a number"],
    );
    refused(
        &hourly(120).replacen("T10:00,25.5", "T10:00,NaN", 1),
        (12, 18),
        &["temperature is missing", "\"NaN\" marks it", "fill ="],
    );
    refused(
        &hourly(120).replacen("T10:00,25.5", "T10:00,", 1),
        (12, 18),
        &["temperature is missing"],
    );
    refused(
        &hourly(120).replacen("T10:00,25.5", "T10:00", 1),
        (12, 17),
        &["temperature is missing"],
    );
    refused(
        &hourly(120).replacen("T10:00,25.5", "T10:00,\"25,5\"", 1),
        (12, 19),
        &["comma", "25.5"],
    );
    refused(
        &hourly(120).replacen("T10:00,25.5", "T10:00,255", 1),
        (12, 18),
        &["no weather on Earth", "unit"],
    );
    refused(
        &hourly(120).replacen("2026-07-13T10:00", "noon", 1),
        (12, 1),
        &["\"noon\" is no date"],
    );
    refused(
        &hourly(120).replacen("T10:00", "T10:00Z", 1),
        (12, 1),
        &["time zone"],
    );
}

#[test]
fn gaps_say_between_which_times() {
    let gap = hourly(120).replace("2026-07-14T05:00,22.5\n2026-07-14T06:00,23.5\n", "");
    refused(
        &gap,
        (31, 1),
        &[
            "gap between 2026-07-14T04:00:00 and 2026-07-14T07:00:00",
            "60 min apart",
        ],
    );
    // One missing hour makes a step of twice the usual: that is no gap yet.
    let small = hourly(120).replace("2026-07-14T05:00,22.5\n", "");
    assert!(load_with(small.as_bytes(), "").is_ok());
    // A gap before the run begins does no harm.
    let before = hourly(120).replace("2026-07-13T02:00,21.5\n2026-07-13T03:00,21.5\n", "");
    assert!(load_with(before.as_bytes(), "").is_ok());
    let coarse: String = hourly(145)
        .lines()
        .enumerate()
        .filter(|(at, _)| *at == 0 || at % 6 == 1)
        .map(|(_, line)| format!("{line}\n"))
        .collect();
    says(
        &only_problem(&coarse),
        &["rows are 6 h apart", "every 3 hours"],
    );
}

#[test]
fn unsorted_and_repeated_times_are_refused() {
    let swapped = hourly(120).replace(
        "2026-07-14T05:00,22.5\n2026-07-14T06:00,23.5\n",
        "2026-07-14T06:00,23.5\n2026-07-14T05:00,22.5\n",
    );
    refused(
        &swapped,
        (32, 1),
        &[
            "2026-07-14T05:00:00 comes after 2026-07-14T06:00:00",
            "sort",
        ],
    );
    let twice = hourly(120).replace("2026-07-14T06:00", "2026-07-14T05:00");
    refused(
        &twice,
        (32, 1),
        &["2026-07-14T05:00:00 is there twice", "standard time"],
    );
}

#[test]
fn a_series_too_short_says_what_it_covers_and_what_is_needed() {
    let problem = only_problem(&hourly(90));
    assert_eq!(
        (problem.line, problem.column),
        (Some(14), Some(10)),
        "where the series is named"
    );
    says(
        &problem,
        &[
            "2026-07-13 00:00 to 2026-07-16 17:00",
            "2026-07-13 07:00 to 2026-07-17 11:00",
        ],
    );
}

#[test]
fn text_that_is_not_utf8_says_where() {
    // A letter of two bytes before it: this was meant to be UTF-8.
    let mut bytes = hourly(120)
        .replace("temperature_degC", "temperature_°C")
        .into_bytes();
    bytes[30] = 0xFF;
    let problems = load_with(&bytes, "").expect_err("refused");
    says(&problems.as_slice()[0], &["not UTF-8", "byte 30", "line 2"]);
    assert_eq!(
        (problems.as_slice()[0].line, problems.as_slice()[0].column),
        (Some(2), Some(10))
    );
    // Without one it may be Latin-1, and the row is wrong.
    let mut bytes = hourly(120).into_bytes();
    bytes[30] = 0xFF;
    let problems = load_with(&bytes, "").expect_err("refused");
    assert_eq!(problems.as_slice()[0].line, Some(2));
    says(&problems.as_slice()[0], &["no date and time"]);
}

#[test]
fn a_file_full_of_mistakes_does_not_flood_the_screen() {
    let problems =
        load_with(hourly(120).replace(".5", ".5 C").as_bytes(), "").expect_err("refused");
    assert_eq!(problems.as_slice().len(), 11);
    assert!(
        problems.to_string().contains("110 more rows like this"),
        "{problems}"
    );
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(64))]
    #[test]
    fn no_series_makes_it_panic(at in 0usize..400, len in 0usize..40, by in "[0-9,;\"T:é\n\r -]{0,12}") {
        let chars: Vec<char> = hourly(120).chars().collect();
        let end = (at + len).min(chars.len());
        let text: String = chars[..at].iter().copied().chain(by.chars()).chain(chars[end..].iter().copied()).collect();
        let _ = load_with(text.as_bytes(), "").map_err(|problems| problems.render(true));
    }
}
