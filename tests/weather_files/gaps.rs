//! Gaps, and how they are filled.

use dogdays::weather::{Fill, Rules};
use jiff::civil::datetime;
use std::fmt::Write as _;

use crate::made::{air_is, epw, isd_lite, linear, looked_at, made_degC, read, read_as, refused};

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
    assert!(
        problem
            .help
            .as_deref()
            .is_some_and(|help| help.contains("--fill-up-to \"4 h\"")),
        "{problem:?}"
    );
    // Half a day is not bridged by a straight line, and more than a day by nothing.
    for (hours, words) in [
        (12, "--fill warmer --fill-up-to \"12 h\""),
        (40, "no rule fills"),
    ] {
        let lines: Vec<&str> = text.lines().collect();
        let from = lines
            .iter()
            .position(|line| line.starts_with("2016 05 01 00"));
        let (before, after) = lines.split_at(from.expect("there"));
        let gap = [before, &after[hours..]].concat().join("\n");
        let told = read("a.txt", &gap).gaps();
        let help = told[0].help.as_deref().unwrap_or_default();
        assert!(help.contains(words), "{help}");
    }
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

/// Ten days of hours as a logger saves them, each another value.
fn logged() -> String {
    let mut text = "time,temperature_degC\n".to_owned();
    for hour in 0..240 {
        let degC = made_degC(180 + hour / 24, hour % 24);
        writeln!(
            text,
            "2026-07-{:02}T{:02}:00,{degC:.1}",
            1 + hour / 24,
            hour % 24
        )
        .expect("string");
    }
    text
}

/// Rows without a value are mistakes until a rule is named; then they are counted apart from rows that are not
/// there, and every missing row counts.
#[test]
fn gaps_of_tables_are_filled_too() {
    let value = |hour: usize| made_degC(180 + hour / 24, hour % 24);
    let with = |hour: usize, mark: &str| {
        let stamp = format!("2026-07-{:02}T{:02}:00,", 1 + hour / 24, hour % 24);
        logged().replace(
            &format!("{stamp}{:.1}", value(hour)),
            &format!("{stamp}{mark}"),
        )
    };
    for mark in ["", "NA", "-9999", "9999.0", "null"] {
        let text = with(60, mark);
        refused(
            "a.csv",
            &text,
            Some(62),
            &["the temperature is missing", "--fill linear"],
        );
        let series = read_as("a.csv", text.as_bytes(), &linear(3.0)).expect("read");
        let filled = series.filled();
        assert_eq!((filled.values_absent, filled.rows_absent), (1, 0), "{mark}");
        let at = datetime(2026, 7, 3, 12, 0, 0, 0);
        air_is(&series, at, 0.5 * (value(59) + value(61)));
    }
    // What is no mark stays a mistake: a hot afternoon in °F is not one, air of 99.9 °C is no weather.
    let text = with(60, "99.9");
    let told = read_as("a.csv", text.as_bytes(), &linear(3.0)).expect_err("refused");
    assert!(told.to_string().contains("no weather on Earth"), "{told}");
    let fahrenheit = text.replace("degC", "degF");
    assert!(read_as("a.csv", fahrenheit.as_bytes(), &linear(3.0)).is_ok());
    // One row that a logger missed is bridged in a table, and counted as soon as a rule is named.
    let text: String = logged()
        .split_inclusive('\n')
        .filter(|line| !line.starts_with("2026-07-03T12"))
        .collect();
    assert!(read("a.csv", &text).gaps().is_empty());
    let series = read_as("a.csv", text.as_bytes(), &linear(3.0)).expect("read");
    assert_eq!(
        (series.filled().values_absent, series.filled().rows_absent),
        (0, 1)
    );
    // A gap before rows without a value is shown at the right line all the same.
    let text: String = with(30, "-9999")
        .split_inclusive('\n')
        .filter(|line| {
            !["03T10", "03T11", "03T12", "03T13", "03T14"].contains(&line.get(8..13).unwrap_or(""))
        })
        .collect();
    let series = read_as("a.csv", text.as_bytes(), &linear(2.0)).expect("read");
    let gaps = series.gaps();
    assert_eq!((gaps.len(), gaps[0].line), (1, Some(60)), "{gaps:?}");
}
