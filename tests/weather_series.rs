//! Weather series of many rows: what they cost, and what they are worth.

use dogdays::keys::Problems;
use dogdays::runfile::{self, Loaded};
use dogdays::study;
use std::fmt::Write as _;

/// A run of so many hours from 1 July 2026, 00:00, beside this series.
fn load(hours: usize, weather: &str) -> Result<Loaded, Problems> {
    let folder = tempfile::tempdir().expect("temp dir");
    let run = format!(
        "run = {{ start = \"2026-07-01 00:00\", duration = \"{hours} h\" }}\n\
         machine.name = \"bench-220\"\nmaterial.name = \"petg\"\npart.mass = \"2.3 kg\"\n\
         part.footprint = \"180 cm2\"\nroom.series = \"weather.csv\"\n"
    );
    std::fs::write(folder.path().join("run.toml"), run).expect("write");
    std::fs::write(folder.path().join("weather.csv"), weather).expect("write");
    runfile::load(&folder.path().join("run.toml"), None)
}

/// Days of a swing of 12 K with a row every so many seconds, rounded to a resolution. Each day is another one.
fn days(days: usize, every_s: usize, resolution: f64) -> String {
    let mut text = "time,temperature_degC\n".to_owned();
    let begin = jiff::civil::datetime(2026, 7, 1, 0, 0, 0, 0);
    for row in 0..=days * 86_400 / every_s {
        let s = row * every_s;
        let h = s as f64 / 3600.0;
        let swing = 5.0 + (h / 24.0).floor() % 3.0;
        let t = 26.0 + swing * ((h - 15.0) / 24.0 * std::f64::consts::TAU).cos();
        let t = (t / resolution).round() * resolution;
        let time = begin.saturating_add(jiff::SignedDuration::from_secs(s as i64));
        writeln!(text, "{time},{t:.3}").expect("string");
    }
    text
}

/// Every kink costs a step. 60 days of minutes may cost three times what their hours do, and must come to the
/// same: the hours' straight lines lie up to 0.06 K below so round an afternoon, the minutes' up to 0.02 K
/// above; rounded to tenths they lie 0.1 K above on average.
#[test]
fn minutes_cost_little_more_than_hours_and_come_to_the_same() {
    let check = |weather: &str| {
        let loaded = load(60 * 24, weather).unwrap_or_else(|p| panic!("{p}"));
        let findings = study::check(
            &loaded.run,
            dogdays::chamber::IntegratorKind::Rosenbrock,
            &dogdays::integrate::Options::fine(),
        )
        .expect("simulated");
        (findings.effort.steps, findings.outcome.margin_K)
    };
    let (hours, margin_K) = check(&days(60, 3600, 0.001));
    for (resolution, warmer_K) in [(0.001, 0.09), (0.1, 0.25)] {
        let (minutes, with_minutes_K) = check(&days(60, 60, resolution));
        assert!(
            minutes <= 3 * hours,
            "{minutes} steps for minutes, {hours} for hours"
        );
        let warmer = margin_K - with_minutes_K;
        assert!(
            (-0.01..=warmer_K).contains(&warmer),
            "{resolution}: {warmer} K warmer"
        );
    }
}

#[test]
fn what_was_thinned_is_told() {
    let loaded = load(48, &days(3, 60, 0.001)).unwrap_or_else(|p| panic!("{p}"));
    let thinned = loaded.series[0].thinned().expect("thinned");
    for words in ["4,321 rows", "nowhere cooler", "at most 0.02 K warmer"] {
        assert!(thinned.contains(words), "{thinned}");
    }
    assert_eq!(
        load(48, &days(3, 3600, 0.1)).expect("valid").series[0].thinned(),
        None
    );
}

/// A year of minutes, each in the wrong place: minutes of waiting if the place of every mistake were looked
/// for from the start of the file.
#[test]
fn a_year_of_mistakes_is_told_at_once() {
    let year = days(365, 60, 0.1);
    let (header, rows) = year.split_once('\n').expect("lines");
    let mut newest_first: Vec<&str> = rows.lines().collect();
    newest_first.reverse();
    let text = format!("{header}\n{}\n", newest_first.join("\n"));
    let problems = load(48, &text).expect_err("refused");
    assert_eq!(problems.as_slice().len(), 11);
    let last = problems.as_slice().last().expect("some");
    // 525,601 rows have 525,600 pairs, ten of which are shown.
    assert_eq!(
        last.message,
        "from here on, 525,590 more rows like this: 525,590 times out of order"
    );
    assert_eq!(last.line, Some(13));
}

#[test]
fn doubled_quotes_cost_nothing() {
    let text = days(70, 60, 0.1)
        .replace("temperature_degC", "temperature_degC,note")
        .replace("00,", "00,x")
        .replace("\n2026", ",\"a \"\"word\"\" or two\"\n2026");
    let problems = load(48, &text).expect_err("refused");
    let last = problems.as_slice().last().expect("some");
    assert!(
        last.message.contains("100,791 more rows"),
        "{}",
        last.message
    );
}

/// Memory follows the number of points, not of rows: a second's rows of ten days become a few hundred.
#[test]
fn a_row_a_second_is_kept_as_few_points() {
    let loaded = load(200, &days(10, 1, 0.01)).unwrap_or_else(|p| panic!("{p}"));
    let points = loaded.run.room.weather.points().count();
    assert!(points <= 2 * 240, "{points}");
}
