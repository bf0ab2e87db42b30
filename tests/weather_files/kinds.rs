//! Broken files, other kinds of files, spellings that are no mistake, folders.

use dogdays::weather::read_years;
use jiff::civil::datetime;

use crate::made::{air_is, epw, isd_lite, looked_at, read, read_as, refused, tmy3};

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

/// What a logger tells above its table makes no other kind of file of it.
#[test]
fn a_logger_in_a_location_is_a_logger() {
    let text = "LOCATION,Hall 3\nStarted,2026-07-13\ntime,temperature_degC\n2026-07-13T07:00,24.5\n2026-07-13T08:00,25.5\n";
    let series = read("a.csv", text);
    assert!(!series.is_typical_year());
    air_is(&series, datetime(2026, 7, 13, 7, 30, 0, 0), 25.0);
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
