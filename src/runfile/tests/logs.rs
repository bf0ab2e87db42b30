//! Logs of a run, however they were saved. All invented; no maker's file is meant.

use super::{GOOD, run, says};
use crate::keys::problem::Problems;
use crate::run::{Log, Run};
use crate::runfile::load;
use crate::runfile::logs::{LogFile, Places, ReadLog, of_option, read_all};
use std::fmt::Write as _;

pub(super) const KELVIN: f64 = 273.15;

/// A row every five minutes from the run's start on, for eight hours: minutes from midnight, and what motor, gear and
/// room show, °C.
pub(super) fn rows() -> impl Iterator<Item = (usize, [f64; 3])> {
    (0..=96).map(|k| {
        let hours = k as f64 / 12.0;
        let ripple = (k % 3) as f64 / 10.0;
        let warm = 1.0 - f64::exp(-hours / 1.5);
        let shown = [31.0 + 24.0 * warm, 31.0 + 20.0 * warm, 30.6 + hours / 10.0];
        let tenths = shown.map(|t| ((t + ripple) * 10.0).round() / 10.0);
        (420 + 5 * k, tenths)
    })
}

pub(super) fn table(header: &str, row: impl Fn(usize, [f64; 3]) -> String) -> String {
    let mut text = format!("{header}\n");
    for (minute, shown) in rows() {
        writeln!(text, "{}", row(minute, shown)).expect("string");
    }
    text
}

pub(super) fn iso(minute: usize) -> String {
    format!("2026-07-13T{:02}:{:02}", minute / 60, minute % 60)
}

pub(super) const HEADER: &str = "time,feeder motor_degC,drive gear_degC,room_degC";

pub(super) fn plain() -> String {
    table(HEADER, |minute, [motor, gear, room]| {
        format!("{},{motor},{gear},{room}", iso(minute))
    })
}

/// A machine with a few places, by words in any order.
pub(super) fn read_as(
    files: &[LogFile],
    said: &[&str],
    run: &Run,
) -> Result<Vec<ReadLog>, Problems> {
    let names = ["feeder motor", "drive gear", "bed", "air top", "hotend"].map(str::to_owned);
    let sorted = |words: &str| {
        let mut words: Vec<String> = words.split(' ').map(str::to_lowercase).collect();
        words.sort();
        words
    };
    let find = |words: &str| {
        let mut all = names.iter();
        all.find(|name| sorted(name) == sorted(words)).cloned()
    };
    let places = Places {
        find: &find,
        names: &names,
    };
    let said: Vec<_> = said
        .iter()
        .map(|line| of_option(line).expect(line))
        .collect();
    read_all(files, &said, run, &places)
}

pub(super) fn read_bytes(text: &[u8], said: &[&str], of: &Run) -> Result<ReadLog, Problems> {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = folder.path().join("evening.csv");
    std::fs::write(&path, text).expect("write");
    let mut read = read_as(&[LogFile::at(path)], said, of)?;
    Ok(read.remove(0))
}

#[track_caller]
pub(super) fn read(text: &str, said: &[&str]) -> ReadLog {
    let read = read_bytes(text.as_bytes(), said, &run(GOOD).run);
    read.unwrap_or_else(|problems| panic!("should be read:\n{problems}"))
}

/// The only problem, at this place, says these words.
#[track_caller]
pub(super) fn refused(text: &str, said: &[&str], at: (usize, usize), words: &[&str]) {
    let problems =
        read_bytes(text.as_bytes(), said, &run(GOOD).run).expect_err("should be refused");
    let found = problems.as_slice();
    assert_eq!(found.len(), 1, "one problem expected:\n{problems}");
    let place = (found[0].line, found[0].column);
    assert_eq!(place, (Some(at.0), Some(at.1)), "{problems}");
    says(&found[0], words);
}

/// Sensors with their rows, and the room, to a tenth of a millikelvin.
pub(super) fn values(log: &Log) -> Vec<(String, Vec<(i64, i64)>)> {
    let whole = |rows: &[(f64, f64)]| {
        let each = rows.iter();
        each.map(|(t, v)| (t.round() as i64, (v * 1e4).round() as i64))
            .collect()
    };
    let columns = log.columns.iter();
    let mut all: Vec<_> = columns
        .map(|c| (c.sensor.clone(), whole(&c.rows)))
        .collect();
    all.push(("room".to_owned(), whole(&log.room)));
    all
}

/// Reads as the plain log does, and says these words of what was understood.
#[track_caller]
fn same(text: &str, said: &[&str], words: &[&str]) {
    same_bytes(text.as_bytes(), said, words);
}

#[track_caller]
fn same_bytes(text: &[u8], said: &[&str], words: &[&str]) {
    let found = read_bytes(text, said, &run(GOOD).run)
        .unwrap_or_else(|problems| panic!("should be read:\n{problems}"));
    assert_eq!(values(&found.log), values(&read(&plain(), &[]).log));
    for word in words {
        let told = &found.understood;
        assert!(told.contains(word), "\"{word}\" is missing in {told}");
    }
}

#[test]
fn a_plain_log_is_read() {
    let found = read(&plain(), &[]);
    assert!(found.notes.is_empty(), "{:?}", found.notes);
    let Log { columns, room, .. } = &found.log;
    let sensors: Vec<&str> = columns.iter().map(|c| c.sensor.as_str()).collect();
    assert_eq!(sensors, ["feeder motor", "drive gear"]);
    assert_eq!((columns[0].rows.len(), room.len()), (97, 97));
    assert!(columns.iter().all(|column| column.within_K == 1.0));
    // 31.0 at the start, and 8 h later 24 (1 - exp(-8/1.5)) more, to a tenth.
    let (first, last) = (columns[0].rows[0], columns[0].rows[96]);
    assert!((first.0).abs() < 1e-9 && (first.1 - (KELVIN + 31.0)).abs() < 1e-9);
    assert!((last.0 - 28_800.0).abs() < 1e-9 && (last.1 - (KELVIN + 54.9)).abs() < 0.11);
    let told = &found.understood;
    for word in [
        "feeder motor in column 'feeder motor_degC', degC",
        "97 rows from 2026-07-13 07:00 to 2026-07-13 15:00",
    ] {
        assert!(told.contains(word), "{told}");
    }
}

#[test]
fn separators_dates_encodings_and_orders_of_columns() {
    let comma = |t: f64| format!("{t}").replace('.', ",");
    let german = table(
        "Nr;Datum;Zeit;Room (°C);Motor feeder (°C);Drive_Gear (°C);Duty",
        |m, [a, b, c]| {
            let (h, min) = (m / 60, m % 60);
            format!(
                "{m};13.07.2026;{h}:{min:02};{};{};{};55",
                comma(c),
                comma(a),
                comma(b)
            )
        },
    );
    same(
        &german,
        &[],
        &["semicolons", "decimal commas", "day, month, year"],
    );
    same(
        &german.replace(';', "\t").replace('\n', "\r\n"),
        &[],
        &["tabs"],
    );
    let latin: Vec<u8> = german.chars().map(|c| c as u8).collect();
    same_bytes(&latin, &[], &["Latin-1"]);
    let wide: Vec<u8> = german.encode_utf16().flat_map(u16::to_le_bytes).collect();
    same_bytes(&wide, &[], &["UTF-16"]);
    let american = table(
        "Started 07/13/2026\nDate,Feeder Motor,Drive Gear,Ambient\n,degF,degF,degF",
        |m, shown| {
            let [a, b, c] = shown.map(|t| format!("{:.2}", t * 1.8 + 32.0));
            let half = if m < 720 { "AM" } else { "PM" };
            format!(
                "07/13/2026 {}:{:02} {half},{a},{b},{c}",
                (m / 60 + 11) % 12 + 1,
                m % 60
            )
        },
    );
    same(&american, &[], &["month, day, year", "degF", "line 2"]);
}

#[test]
fn columns_are_said_where_headers_do_not() {
    let bare = table("time,T1,T2 (°C),T3,T4 °C,RH %", |m, [a, b, c]| {
        let a = format!("{:.2}", a * 1.8 + 32.0);
        format!("{},{a},{b},{c},{b},50", iso(m))
    });
    let said = [
        "T1 = motor feeder within 0.5 K in °F",
        "T2 = drive gear",
        "T3 = room in degC",
    ];
    same(&bare, &said, &[]);
    let found = read(&bare, &said);
    assert_eq!(found.log.columns[0].within_K, 0.5);
    let [left_out] = &found.notes[..] else {
        panic!("{:?}", found.notes)
    };
    for word in ["'T4 °C'", "--column \"T4 °C = ", "no temperatures: 'RH %'"] {
        assert!(left_out.contains(word), "{left_out}");
    }
    // Two thermometers of one place, where somebody says so; and one that is left out.
    let both = [&said[..], &["T4 = drive gear"]].concat();
    assert_eq!(read(&bare, &both).log.columns.len(), 3);
    let nothing = [&said[..], &["T4 = nothing", "RH % = nothing"]].concat();
    assert!(read(&bare, &nothing).notes.is_empty());
    let near = plain().replace("drive gear_degC", "drve gear_degC");
    let note = &read(&near, &[]).notes[0];
    assert!(note.contains("did you mean \"drive gear\"?"), "{note}");
}

#[test]
fn what_is_said_of_columns_may_be_wrong() {
    let bare = plain().replace("feeder motor_degC", "T1");
    refused(
        &bare.replace("T1", "feeder motor"),
        &[],
        (1, 6),
        &["does not say in which unit", "in degC\""],
    );
    for (said, words) in [
        (&["T9 = bed"][..], &["no log has a column \"T9\"", "T1"][..]),
        (
            &["T1 = feder motor in degC"],
            &["no place \"feder motor\"", "\"feeder motor\""],
        ),
        (&["T1 = bed in degC", "t1 = room"], &["twice"]),
        (&["room = room within 1 K"], &["within"]),
        (
            &["T1 = drive gear in degC"],
            &["both of the drive gear", "nothing"],
        ),
        (&["T1 = room in degC"], &["both of the room", "nothing"]),
    ] {
        let problems = read_bytes(bare.as_bytes(), said, &run(GOOD).run).expect_err("refused");
        assert_eq!(problems.as_slice().len(), 1, "{said:?}\n{problems}");
        says(&problems.as_slice()[0], words);
    }
    let none = plain()
        .replace("feeder motor", "T1")
        .replace("drive gear", "T2")
        .replace("room", "T3");
    refused(
        &none,
        &[],
        (1, 1),
        &["names a place", "--column \"T1_degC = ", "air top"],
    );
    let problems = read_bytes(b"", &[], &run(GOOD).run).expect_err("empty");
    says(
        &problems.as_slice()[0],
        &["this log is empty", "time,feeder motor_degC"],
    );
}

/// The key language reads lists in lists: each table is told by its number.
#[test]
fn a_run_file_names_logs() {
    let folder = tempfile::tempdir().expect("temp dir");
    let write = |name: &str, text: &str| {
        std::fs::write(folder.path().join(name), text).expect("write");
        folder.path().join(name)
    };
    let utc = table("t;A;B;C", |m, [a, b, c]| {
        // Seven in the morning there is five o'clock in UTC.
        format!("03/07/2026 {:02}:{:02}Z;{a};{b};{c}", m / 60 - 2, m % 60)
    });
    let log = write("evening.txt", &utc);
    let tables = "[[log]]\nfile = \"evening.txt\"\ndates = \"day/month/year\"\nutc_offset = \"+02:00\"\ntemperature_unit = \"degC\"\n[[log.column]]\nname = \"A\"\nsensor = \"feeder motor\"\nwithin = \"2 K\"\n[[log.column]]\nname = \"B\"\nsensor = \"drive gear\"\n[[log.column]]\nname = \"C\"\nsensor = \"room\"\n";
    let good = GOOD.replace("07-13", "07-03") + tables;
    let loaded = load(&write("run.toml", &good), None).expect("valid");
    assert!(loaded.files.contains(&log), "no output may replace it");
    let read = read_as(&loaded.logs, &[], &loaded.run).expect("valid");
    assert_eq!(
        values(&read[0].log),
        values(&super::logs::read(&plain(), &[]).log)
    );
    assert_eq!(read[0].log.columns[0].within_K, 2.0);
    for (line, by, at, words) in [
        (
            "sensor = \"drive gear\"",
            "sensro = \"bed\"",
            26,
            &["log.1.column.2", "sensor"][..],
        ),
        (
            "within = \"2 K\"",
            "within = \"2 degC\"",
            23,
            &["difference"],
        ),
        ("\"+02:00\"", "\"two\"", 18, &["log.utc_offset"]),
        (
            "\"day/month/year\"",
            "\"day first\"",
            17,
            &["day/month/year"],
        ),
    ] {
        let bad = write("bad.toml", &good.replace(line, by));
        let problems = load(&bad, None).expect_err("refused");
        let first = &problems.as_slice()[0];
        assert_eq!(first.line, Some(at), "{problems}");
        says(first, words);
    }
    for (line, by, at, words) in [
        (
            "evening.txt",
            "morning.txt",
            16,
            &["morning.txt", "evening.txt?"][..],
        ),
        (
            "name = \"B\"",
            "name = \"D\"",
            25,
            &["does not have a column \"D\""],
        ),
        ("drive gear", "drive geer", 26, &["\"drive gear\""]),
    ] {
        let bad = write("bad.toml", &good.replace(line, by));
        let loaded = load(&bad, None).expect("the tables are right");
        let problems = read_as(&loaded.logs, &[], &loaded.run).expect_err("refused");
        let first = &problems.as_slice()[0];
        assert_eq!(first.line, Some(at), "{problems}");
        says(first, words);
    }
    // The run tells which number is the month, unless it lasts through both days.
    let unsaid = good.replace("dates = \"day/month/year\"\n", "");
    let loaded = load(&write("run.toml", &unsaid), None).expect("valid");
    let read = read_as(&loaded.logs, &[], &loaded.run).expect("valid");
    assert!(read[0].understood.contains("within the run"), "{read:?}");
    assert_eq!(read[0].log.columns[0].rows[0].0, 0.0);
    let long = unsaid
        .replace("2026-07-03", "2026-03-01")
        .replace("100 h", "180 day");
    let loaded = load(&write("bad.toml", &long), None).expect("the tables are right");
    let problems = read_as(&loaded.logs, &[], &loaded.run).expect_err("refused");
    says(
        &problems.as_slice()[0],
        &["more than one day", "dates = \"day/month/year\"", "[[log]]"],
    );
}

/// At this size anything but linear takes minutes.
#[test]
fn a_long_log_is_read() {
    let names = [
        "feeder motor",
        "drive gear",
        "bed",
        "air top",
        "hotend",
        "room",
    ];
    let mut text = "time".to_owned();
    for name in names {
        write!(text, ",{name}_degC").expect("string");
    }
    text.push_str(",T7 (°C),T8 (°C)\n");
    let begin = jiff::civil::datetime(2026, 7, 13, 7, 0, 0, 0);
    for k in 0..100_000_i64 {
        let at = begin + jiff::Span::new().seconds(3 * k);
        let t = 31.0 + (k % 7) as f64 / 10.0;
        writeln!(text, "{at},{t},{t},{t},{t},{t},{t},{t},{t}").expect("string");
    }
    let found = read(
        &text,
        &[
            "bed_degC = bed",
            "T7 = bed",
            "air top_degC = air top",
            "T8 = air top",
        ],
    );
    let rows: usize = found.log.columns.iter().map(|c| c.rows.len()).sum();
    assert_eq!((rows, found.log.room.len()), (700_000, 100_000));
}
