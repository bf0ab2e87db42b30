//! Weather series as loggers write them. All invented; no maker's file is meant.

use super::{GOOD, load_with, says};
use crate::run::Room;
use crate::runfile::load;
use std::fmt::Write as _;

/// Day of July, hour of the day and temperature of every row: 120 h from the 13th, 00:00.
fn rows() -> impl Iterator<Item = (usize, usize, f64)> {
    (0..120).map(|h| (13 + h / 24, h % 24, 20.0 + (h % 24) as f64 / 2.0 + 0.25))
}

fn table(header: &str, row: impl Fn(usize, usize, f64) -> String) -> String {
    let mut text = header.to_owned();
    for (day, hour, value) in rows() {
        writeln!(text, "{}", row(day, hour, value)).expect("string");
    }
    text
}

fn plain() -> String {
    table("time,temperature_degC\n", |d, h, t| {
        format!("2026-07-{d}T{h:02}:00,{t}")
    })
}

fn comma(t: f64) -> String {
    format!("{t}").replace('.', ",")
}

/// Hours of twelve, and which half of the day.
fn twelve(h: usize) -> (usize, &'static str) {
    ((h + 11) % 12 + 1, if h < 12 { "AM" } else { "PM" })
}

#[track_caller]
fn room(weather: &[u8], more: &str) -> (Room, String) {
    let loaded = load_with(weather, more).unwrap_or_else(|p| panic!("should be read:\n{p}"));
    let told = loaded.series[0].understood().to_owned();
    (loaded.run.room, told)
}

/// Reads as the plain file does, and says these words of what was understood.
#[track_caller]
fn same(weather: &str, more: &str, words: &[&str]) {
    same_bytes(weather.as_bytes(), more, words);
}

#[track_caller]
fn same_bytes(weather: &[u8], more: &str, words: &[&str]) {
    let (want, _) = room(plain().as_bytes(), "");
    let (got, told) = room(weather, more);
    let points = |room: &Room| room.weather.points().collect::<Vec<_>>();
    let (got, want) = (points(&got), points(&want));
    assert_eq!(got.len(), want.len(), "{told}");
    for (got, want) in got.iter().zip(&want) {
        // Degrees Fahrenheit come and go with a rounding.
        assert!(
            (got.0 - want.0).abs() < 1e-6 && (got.1 - want.1).abs() < 1e-9,
            "{got:?} {want:?}"
        );
    }
    for word in words {
        assert!(told.contains(word), "\"{word}\" is missing in {told}");
    }
}

#[track_caller]
fn refused(weather: &str, more: &str, at: (usize, usize), words: &[&str]) {
    let problems = load_with(weather.as_bytes(), more).expect_err("refused");
    let first = &problems.as_slice()[0];
    assert_eq!(
        (first.line, first.column),
        (Some(at.0), Some(at.1)),
        "{problems}"
    );
    says(first, words);
}

#[test]
fn a_plain_file_needs_no_words() {
    let loaded = load_with(plain().as_bytes(), "").expect("valid");
    assert!(loaded.series[0].is_plain());
    assert_eq!(loaded.series[0].thinned(), None);
}

#[test]
fn separators_and_decimal_commas() {
    let semicolons = table("Zeit;Temperatur (°C);Feuchte (%)\n", |d, h, t| {
        format!("{d}.07.2026 {h:02}:00;{};45,1", comma(t))
    });
    let told = [
        "semicolons",
        "decimal commas",
        "day, month, year",
        "'Temperatur (°C)'",
        "120 rows from 2026-07-13 00:00 to 2026-07-17 23:00",
    ];
    same(&semicolons, "", &told);
    same(
        &semicolons.replace(';', "\t").replace('\n', "\r\n"),
        "",
        &["tabs"],
    );
    let quoted = table("\"Date\",\"Temp\",\"°C\"\n", |_, _, _| String::new());
    assert!(load_with(quoted.as_bytes(), "").is_err());
    let quoted = table("\"Date and time\",\"Temp, °C\"\n", |d, h, t| {
        format!("\"2026/07/{d} {h}:00:00\",\"{}\"", comma(t))
    });
    same(&quoted, "", &["decimal commas"]);
    // Blank cells at the ends of lines, and lines of nothing else.
    let mut blank = semicolons.replace('\n', ";;\n");
    blank.insert_str(
        blank.len() / 2 + blank[blank.len() / 2..].find('\n').expect("a line") + 1,
        ";;;;\n",
    );
    same(&(blank + ";;;;\n;;;;\n"), "", &[]);
    same(&semicolons.replace('\n', ";;\n"), "", &[]);
}

#[test]
fn dates_in_every_order() {
    let in_order = |row: &dyn Fn(usize, usize) -> String| {
        table("No.,Time,Temp (°C)\n", |d, h, t| {
            format!("{},{},{t}", d * 24 + h, row(d, h))
        })
    };
    same(
        &in_order(&|d, h| format!("07/{d}/2026 {h}:00")),
        "",
        &["month, day, year (because of \"07/13/2026 0:00\")"],
    );
    same(
        &in_order(&|d, h| format!("{d}/07/2026 {h}:00:00")),
        "",
        &["day, month, year"],
    );
    same(
        &in_order(&|d, h| format!("2026/07/{d} {h:02}:00:00.000")),
        "",
        &["year, month, day"],
    );
    same(
        &in_order(&|d, h| format!("{d}-Jul-2026 {h:02}:00")),
        "",
        &[],
    );
    same(&in_order(&|d, h| format!("{d}.7.26 {h:02}.00")), "", &[]);
    same(
        &in_order(&|d, h| format!("202607{d}T{h:02}:00:00")),
        "",
        &[],
    );
    same(
        &in_order(&|d, h| {
            let (hour, half) = twelve(h);
            format!("7/{d}/26 {hour}:00:00 {half}")
        }),
        "",
        &[],
    );
}

/// The same week in April, 3rd to 7th: no day is after the 12th.
fn april(row: impl Fn(usize, usize) -> String) -> String {
    table("Time,Temp (°C)\n", |d, h, t| {
        format!("{},{t}", row(d - 10, h))
    })
}

#[test]
fn an_order_that_no_row_tells_is_told_by_the_sequence_or_asked_for() {
    let run_in = |text: &str, more: &str| {
        let folder = tempfile::tempdir().expect("temp dir");
        let run = GOOD.replace("2026-07-13", "2026-04-03").replace(
            "temperature = \"31 degC\"",
            &format!("series = \"w.csv\"\n{more}"),
        );
        std::fs::write(folder.path().join("run.toml"), run).expect("write");
        std::fs::write(folder.path().join("w.csv"), text).expect("write");
        load(&folder.path().join("run.toml"), None)
    };
    let days_first = april(|d, h| format!("{d:02}/04/2026 {h:02}:00"));
    let loaded = run_in(&days_first, "").expect("told by the sequence");
    let told = loaded.series[0].understood();
    assert!(
        told.contains("day, month, year (only so do the rows follow each other)"),
        "{told}"
    );
    let month_first = april(|d, h| format!("04/{d:02}/2026 {h:02}:00"));
    assert_eq!(
        run_in(&month_first, "").expect("told").run.room,
        loaded.run.room
    );
    // Within one day, nothing tells.
    let day: String = days_first
        .lines()
        .take(25)
        .map(|l| format!("{l}\n"))
        .collect();
    let problems = run_in(&day, "").expect_err("asked for");
    let problem = &problems.as_slice()[0];
    assert_eq!((problem.line, problem.column), (Some(2), Some(1)));
    says(
        problem,
        &[
            "03/04/2026 00:00",
            "dates = \"day/month/year\" or dates = \"month/day/year\"",
            "[room]",
        ],
    );
    let short = |more| run_in(&day, more).expect_err("too short").to_string();
    assert!(short("dates = \"day/month/year\"").contains("2026-04-03 00:00 to 2026-04-03 23:00"));
    assert!(short("dates = \"month/day/year\"").contains("2026-03-04 00:00 to 2026-03-04 23:00"));
}

#[test]
fn dates_that_contradict_each_other_are_shown() {
    let text = table("Time,Temp (°C)\n", |d, h, t| {
        if d < 15 {
            format!("{d}/07/2026 {h}:00,{t}")
        } else {
            format!("07/{d}/2026 {h}:00,{t}")
        }
    });
    refused(
        &text,
        "",
        (50, 1),
        &[
            "07/15/2026 0:00",
            "only be month/day/year",
            "13/07/2026 0:00",
            "day/month/year",
        ],
    );
    refused(
        &text,
        "dates = \"day/month/year\"",
        (50, 1),
        &["no such day"],
    );
}

/// A date that may be one of two, in none of which the others can stand.
#[test]
fn a_date_that_no_order_of_the_others_fits_is_shown() {
    let text = plain().replace("2026-07-13T12:00,", "6-07-12T12:00,");
    refused(
        &text,
        "",
        (14, 1),
        &["6-07-12T12:00", "in the order of those above it"],
    );
}

#[test]
fn dates_and_times_in_columns_of_their_own() {
    let text = table("Datum;Uhrzeit;T1 [°C]\n", |d, h, t| {
        format!("{d}.07.2026;{h}:00:00;{}", comma(t))
    });
    same(
        &text,
        "",
        &[
            "dates in column 'Datum', day, month, year, times in column 'Uhrzeit'",
            "'T1 [°C]'",
        ],
    );
    let halves = table("Date,Time,Temp °C\n", |d, h, t| {
        let (hour, half) = twelve(h);
        format!("7/{d}/2026,{hour}:00 {half},{t}")
    });
    same(&halves, "", &[]);
    let two = text
        .replace("Datum;", "Export;Datum;")
        .replace("\n13.", "\n01.08.2026;13.");
    let two = [14, 15, 16, 17].iter().fold(two, |text, d| {
        text.replace(&format!("\n{d}."), &format!("\n01.08.2026;{d}."))
    });
    refused(
        &two,
        "",
        (1, 1),
        &["several columns hold dates: Export, Datum", "date_column"],
    );
    same(&two, "date_column = \"Datum\"", &[]);
    let undated = table("Time,Temp °C\n", |_, h, t| format!("{h}:00,{t}"));
    refused(&undated, "", (1, 1), &["no date", "date_column"]);
}

#[test]
fn lines_above_and_below_the_table_units_and_row_numbers() {
    let text = table(
        "Serial number;4711\nStarted;13.07.2026 00:00\n\nInterval;60 min\nNr.;Zeit;Temperatur;Feuchte\n;;°C;%rF\n",
        |d, h, t| format!("{};{d}.07.2026 {h}:00;{};45", 24 * d + h, comma(t)),
    ) + "\nMinimum;;20,25;\nMaximum;;31,75;\nEnd of data\n";
    same(
        &text,
        "",
        &[
            "the columns' names in line 5",
            "degC",
            "3 lines below them left out",
        ],
    );
    // A mistake in it is still shown at its own line.
    refused(
        &text.replace("13.07.2026 5:00;22,75", "13.07.2026 5:00;22.75"),
        "",
        (12, 21),
        &["point", "22,75"],
    );
    refused(
        &text.replace("13.07.2026 5:00", "13.07.2026 5 Uhr"),
        "",
        (12, 5),
        &["13.07.2026 5 Uhr"],
    );
    // Torn off in the middle of a row.
    let torn = table("Zeit;Temp °C\n", |d, h, t| {
        format!("{d}.07.2026 {h}:00;{t}")
    }) + "18.07.20";
    refused(&torn, "", (122, 9), &["temperature is missing"]);
    refused(
        &text.replace("Nr.;Zeit;Temperatur;Feuchte\n;;°C;%rF\n", ""),
        "",
        (5, 1),
        &["names the columns"],
    );
}

#[test]
fn degrees_fahrenheit_and_units_asked_for() {
    let fahrenheit = |t: f64| t * 1.8 + 32.0;
    let text = table("Date Time;Temp °F\n", |d, h, t| {
        format!("7/{d}/2026 {h}:00;{}", fahrenheit(t))
    });
    same(&text, "", &["'Temp °F', degF"]);
    let bare = text.replace("Temp °F", "Temp");
    refused(&bare, "", (1, 11), &["in which unit", "temperature_unit"]);
    same(&bare, "temperature_unit = \"degF\"", &[]);
    refused(
        &text,
        "temperature_unit = \"degC\"",
        (1, 11),
        &["says degF", "temperature_unit"],
    );
}

#[test]
fn several_temperatures_are_asked_for() {
    let text = table("Time;T1 [°C];T2 [°C]\n", |d, h, t| {
        format!("2026-07-{d} {h:02}:00;{t};30")
    });
    refused(
        &text,
        "",
        (1, 1),
        &["T1 [°C], T2 [°C]", "temperature_column = \"T1 [°C]\""],
    );
    same(&text, "temperature_column = \"t1 [°c]\"", &[]);
    let dew = table("Time;Room [°C];Dew point [°C]\n", |d, h, t| {
        format!("2026-07-{d} {h:02}:00;{t};12")
    });
    same(&dew, "", &["'Room [°C]'"]);
    let only_dew = table("Time;Dew point [°C];Humidity\n", |d, h, t| {
        format!("2026-07-{d} {h:02}:00;{t};12")
    });
    refused(
        &only_dew,
        "",
        (1, 1),
        &["temperature_column", "Dew point [°C]"],
    );
}

/// A comma for a decimal point and for the next column: half a kelvin would be lost in silence.
#[test]
fn commas_for_both_are_asked_for() {
    let text = table("time,temp_degC\n", |d, h, t| {
        format!("2026-07-{d}T{h:02}:00,{}", comma(t))
    });
    refused(
        &text,
        "",
        (2, 21),
        &["more than the header's 2 cells", "decimal = \"comma\""],
    );
    same(&text, "decimal = \"comma\"", &["decimal commas"]);
    let more = table("time,temp_degC,rh\n", |d, h, t| {
        format!("2026-07-{d}T{h:02}:00,{},45,1", comma(t))
    });
    refused(&more, "decimal = \"comma\"", (2, 24), &["semicolons"]);
}

#[test]
fn texts_in_other_encodings() {
    let text = table("Größe;Zeit;Temp °C\n", |d, h, t| {
        format!("x;{d}.07.2026 {h}:00;{}", comma(t))
    });
    let latin: Vec<u8> = text.chars().map(|c| c as u8).collect();
    same_bytes(&latin, "", &["Latin-1", "'Temp °C'"]);
    let utf16: Vec<u8> = "\u{feff}"
        .encode_utf16()
        .chain(text.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    same_bytes(&utf16, "", &["UTF-16"]);
    same_bytes(&utf16[2..], "", &["UTF-16"]);
    same(&format!("\u{feff}{text}"), "", &[]);
}

/// 13 July 2026, 00:00 at an offset of +02:00, is 1783893600 s after 1970.
#[test]
fn moments_in_utc_are_moved_to_the_clock_that_was_asked_for() {
    let begin = 1_783_893_600;
    let text = table("ts,temp_degC\n", |d, h, t| {
        format!("{},{t}", begin + ((d - 13) * 24 + h) * 3600)
    });
    refused(&text, "", (2, 1), &["1970", "utc_offset = \"+02:00\""]);
    same(
        &text,
        "utc_offset = \"+02:00\"",
        &["moments since 1970", "UTC"],
    );
    let millis = table("ts,temp_degC\n", |d, h, t| {
        format!("{}000,{t}", begin + ((d - 13) * 24 + h) * 3600)
    });
    same(&millis, "utc_offset = \"+02:00\"", &[]);
    for zone in ["Z", "[UTC]", " UTC"] {
        let text = table("time,temp_degC\n", |d, h, t| {
            let at = (d - 12) * 24 + h - 2;
            format!("2026-07-{}T{:02}:00{zone},{t}", 12 + at / 24, at % 24)
        });
        refused(&text, "", (2, 1), &["offset from UTC", "utc_offset"]);
        same(&text, "utc_offset = \"+02:00\"", &["moved from UTC"]);
    }
    let ahead = table("time,temp_degC\n", |d, h, t| {
        format!("2026-07-{d}T{h:02}:00+02:00,{t}")
    });
    refused(&ahead, "", (2, 1), &["+02:00", "utc_offset = \"+02:00\""]);
    same(&ahead, "utc_offset = \"+02:00\"", &[]);
    let named = ahead.replace("+02:00", "[Europe/Orvelsby]");
    refused(
        &named,
        "utc_offset = \"+02:00\"",
        (2, 1),
        &["name of a time zone"],
    );
    let problems = load_with(ahead.as_bytes(), "utc_offset = \"summer\"").expect_err("refused");
    says(&problems.as_slice()[0], &["no offset from UTC", "+02:00"]);
}

/// Made by hand for this test, invented: a line of words in B2, names in B4 and C4, 120 rows below.
#[test]
#[cfg(feature = "spreadsheets")]
fn a_sheet_of_a_spreadsheet() {
    let book = include_bytes!("../../../tests/data/logger.xlsx");
    same_bytes(book, "", &["spreadsheet", "names in line 4", "'Temp °C'"]);
    same_bytes(book, "sheet = \"log\"", &[]);
    let problems = load_with(book, "sheet = \"Notes\"").expect_err("no cells there");
    says(
        &problems.as_slice()[0],
        &["no sheet \"Notes\" with cells", "its sheets are Log"],
    );
    let problems = load_with(book, "temperature_column = \"T\"").expect_err("no such column");
    assert!(
        problems.as_slice()[0]
            .file
            .ends_with("weather.csv, sheet \"Log\", cell B4"),
        "{problems}"
    );
    let problems = load_with(&book[..2_000], "").expect_err("torn");
    says(&problems.as_slice()[0], &["can't be read", "CSV"]);
}
