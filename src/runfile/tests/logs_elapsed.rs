//! Logs whose rows count from where they begin.

use super::logs::{HEADER, plain, read, read_as, table};
use super::{GOOD, run, says};
use crate::keys::problem::Problems;
use crate::runfile::logs::{Begins, LogFile, ReadLog};

/// Rows that count from the log's begin: the same log, once somebody says when that was.
#[test]
fn rows_may_count_from_the_begin_of_the_log() {
    let dated = plain();
    let want = &read(&dated, &[]).log.columns;
    let since = |unit: &str, decimal: &str, separator: &str, one_s: f64| {
        let header = HEADER.replace("time", unit).replace(',', separator);
        table(&header, |minute, [motor, gear, room]| {
            let count = 60.0 * (minute as f64 - 420.0) / one_s;
            let cells = [count, motor, gear, room].map(|n| n.to_string().replace('.', decimal));
            cells.join(separator)
        })
    };
    for (text, words) in [
        (
            since("time_s", ".", ",", 1.0),
            "seconds since its begin in column 'time_s'",
        ),
        (
            since("Elapsed (min)", ",", ";", 60.0),
            "minutes since its begin",
        ),
        (since("t [h]", ".", "\t", 3_600.0), "hours since its begin"),
    ] {
        // With the run, which begins at 7:00.
        for said in ["0 h", "Mon 07:00", "2026-07-13 07:00"] {
            let found = begun(&text, Some(said)).unwrap_or_else(|e| panic!("{text}\n{e}"));
            assert!(found.understood.contains(words), "{}", found.understood);
            for (column, want) in found.log.columns.iter().zip(want) {
                assert_eq!(column.rows.len(), want.rows.len());
                for (row, want) in column.rows.iter().zip(&want.rows) {
                    assert!((row.0 - want.0).abs() < 0.5 && (row.1 - want.1).abs() < 1e-9);
                }
            }
        }
        // An hour before it, so that twelve rows lie before the run.
        let found = begun(&text, Some("2026-07-13 06:00")).expect("a log");
        assert_eq!(found.log.columns[0].rows[0].0, 0.0);
        assert_eq!(found.log.columns[0].rows.len(), want[0].rows.len() - 12);
        let problems = begun(&text, None).expect_err("nobody says when");
        says(
            &problems.as_slice()[0],
            &["nothing says when that was", "--log-begins"],
        );
    }
    let text = since("time", ".", ",", 1.0);
    let problems = begun(&text, Some("0 h")).expect_err("nobody says what counts");
    says(
        &problems.as_slice()[0],
        &["does not say in what", "time_min"],
    );
    // Several days of the run have it; a year ago there was no such run.
    let text = since("time_s", ".", ",", 1.0);
    let problems = begun(&text, Some("07:00")).expect_err("which day");
    says(&problems.as_slice()[0], &["comes 5 times", "say which"]);
    let problems = begun(&text, Some("2025-07-13 07:00")).expect_err("another year");
    says(
        &problems.as_slice()[0],
        &["no row of this log lies within the run", "run.start"],
    );
    let problems = begun(&text, Some("yesterday")).expect_err("no moment");
    says(&problems.as_slice()[0], &["yesterday", "Wed 14:00"]);
    // What has dates needs no begin, and a column of numbers beside them is none.
    let found = begun(&dated, Some("0 h")).expect("a log");
    assert!(
        found.notes.iter().any(|n| n.contains("not needed")),
        "{:?}",
        found.notes
    );
    let torn = since("time_s", ".", ",", 1.0).replace("\n600,", "\nsoon,");
    let problems = begun(&torn, Some("0 h")).expect_err("a row without a time");
    says(&problems.as_slice()[0], &["no count of time", "a number"]);
}

/// Hours and minutes without a date are those of the day where the first row is when the log begins, over midnight too;
/// else they are time since then.
#[test]
fn hours_and_minutes_may_count_from_the_begin_of_the_log() {
    let dated = table(HEADER, |minute, [motor, gear, room]| {
        let of_evening = minute + 13 * 60;
        let (day, minute) = (13 + of_evening / 1_440, of_evening % 1_440);
        let time = format!("2026-07-{day}T{:02}:{:02}", minute / 60, minute % 60);
        format!("{time},{motor},{gear},{room}")
    });
    let want = &read(&dated, &[]).log.columns;
    let with = |time: &dyn Fn(usize) -> String| {
        table(HEADER, |minute, [motor, gear, room]| {
            format!("{},{motor},{gear},{room}", time(minute))
        })
    };
    // From 20:00 on, to 4:00 the next morning.
    let of_day = with(&|minute| {
        let minute = (minute + 13 * 60) % 1_440;
        format!("{}:{:02}", minute / 60, minute % 60)
    });
    let since = with(&|minute| {
        let minute = minute - 420;
        format!("{:02}:{:02}:00", minute / 60, minute % 60)
    });
    for (text, words) in [
        (&of_day, "times of day from its begin on in column 'time'"),
        (&since, "hours and minutes since its begin"),
    ] {
        let found = begun(text, Some("Mon 20:00")).unwrap_or_else(|e| panic!("{text}\n{e}"));
        assert!(found.understood.contains(words), "{}", found.understood);
        for (column, want) in found.log.columns.iter().zip(want) {
            assert_eq!(column.rows.len(), want.rows.len());
            for (row, want) in column.rows.iter().zip(&want.rows) {
                assert!((row.0 - want.0).abs() < 0.5 && (row.1 - want.1).abs() < 1e-9);
            }
        }
    }
    // Below what a logger writes above its table, with semicolons and decimal commas.
    let saved = of_day.replace(',', ";").replace('.', ",");
    let saved = format!("Logger 7;\nStarted;yes\n\n{saved}");
    let found = begun(&saved, Some("Mon 20:00")).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(found.log.columns[0].rows.len(), want[0].rows.len());
    assert!(
        found.understood.contains("names in line 4"),
        "{}",
        found.understood
    );
    let problems = begun(&of_day, None).expect_err("nobody says when");
    says(&problems.as_slice()[0], &["no date", "--log-begins"]);
    let problems = begun(&of_day, Some("Mon 19:00")).expect_err("another time");
    says(
        &problems.as_slice()[0],
        &["first row is at 20:00", "by the clock of the log"],
    );
    let turned = of_day.replacen("\n20:10,", "\n20:01,", 1);
    let problems = begun(&turned, Some("Mon 20:00")).expect_err("out of order");
    says(&problems.as_slice()[0], &["comes after", "sort the rows"]);
}

fn begun(text: &str, begins: Option<&str>) -> Result<ReadLog, Problems> {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = folder.path().join("log.csv");
    std::fs::write(&path, text).expect("written");
    let begins = begins.map(Begins::of_option).transpose()?;
    let mut read = read_as(&[LogFile::at(path).begun(begins)], &[], &run(GOOD).run)?;
    Ok(read.remove(0))
}
