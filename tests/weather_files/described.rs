//! What is told of a file, and what a run takes from it.
#![cfg(feature = "cli")]

use jiff::civil::{date, datetime};
use std::fmt::Write as _;

use crate::made::{epw, isd_lite, linear, made_degC, read, read_as};

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
                let warm = (cells[1] == "1" && cells[2].len() == 1 && cells[2].as_str() < "4")
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
