//! Other runs in the room: files beside the run file, each with its start.

use super::{GOOD, says};
use crate::keys::problem::{Problem, Problems};
use crate::run::{ArrangementKind, Run};
use crate::runfile::{Loaded, load};

/// The other run: 40 h from Monday 13 July, 19:00, in a room of its own description.
const OTHER: &str = r#"[run]
start = "2026-07-13 19:00"
duration = "40 h"
[machine]
name = "bench-60"
[material]
name = "petg"
[part]
mass = "0.5 kg"
[room]
temperature = "21 degC"
[arrangement]
kind = "extracting"
flow = "20 m3/h"
"#;

/// The good run (100 h from Monday 13 July, 07:00) in a room with these entries, and the other run beside it.
fn loaded(lines: &str, other: &str) -> Result<Loaded, Problems> {
    let folder = tempfile::tempdir().expect("temp dir");
    let text = GOOD.replace(
        "temperature = \"31 degC\"\n",
        &format!(
            "mean = \"27 degC\"\nswing = \"3 K\"\n[room.building]\nvolume = \"120 m3\"\nenvelope = \"150 W/K\"\n{lines}"
        ),
    );
    std::fs::write(folder.path().join("run.toml"), text).expect("write");
    std::fs::write(folder.path().join("other.toml"), other).expect("write");
    load(&folder.path().join("run.toml"), None)
}

fn entry(lines: &str) -> String {
    format!("[[room.building.machine]]\nrun = \"other.toml\"\n{lines}")
}

fn shared(lines: &str) -> Run {
    let loaded = loaded(lines, OTHER).unwrap_or_else(|problems| panic!("{problems}"));
    loaded.run
}

fn sun_W(run: &Run, hour: f64) -> f64 {
    let building = run.room.building.as_ref().expect("given");
    building.sun_W.at(3600.0 * hour).0
}

#[track_caller]
fn refused(lines: &str, other: &str, words: &[&str]) {
    let problems = loaded(lines, other).expect_err("refused");
    let found: &[Problem] = problems.as_slice();
    assert_eq!(found.len(), 1, "{problems}");
    says(&found[0], words);
    assert!(found[0].line.is_some(), "{problems}");
}

/// It keeps its machine, job and arrangement, and stands in this room: in its weather, on its own clock, among its
/// walls. Once done it stands there to the end of this run, switched off and shut.
#[test]
fn another_run_stands_in_this_room() {
    let sun = "[[room.building.sun]]\nat = \"12:00\"\nuntil = \"13:00\"\nevery = \"day\"\nheat = \"600 W\"\n";
    let ours = shared(&(entry("machines = 2\n") + sun));
    let [other] = &ours.neighbours[..] else {
        panic!("one")
    };
    assert_eq!((other.machines, other.begins_s), (2, 12.0 * 3600.0));
    let run = &other.run;
    assert_eq!(run.material.name, "petg");
    let its = run.room.building.as_ref().expect("ours");
    assert_eq!((its.volume_m3, its.machines), (120.0, 2));
    assert!(run.neighbours.is_empty());
    // Warmest at 16:00: 9 h after this run's start, 3 h before the other's. The sun of Tuesday noon.
    assert!((run.room.weather.at(-3.0 * 3600.0).0 - 303.15).abs() < 1e-9);
    assert_eq!((sun_W(run, 17.5), sun_W(&ours, 29.5)), (600.0, 600.0));
    let until_s = 88.0 * 3600.0;
    assert_eq!(run.duration_s, until_s);
    let last = run.phases.last().expect("phases");
    assert_eq!(
        (last.begin_s, last.end_s, last.powered),
        (40.0 * 3600.0, until_s, false)
    );
    let shut = run.schedule.last().expect("shut");
    assert_eq!(shut.begin_s, 40.0 * 3600.0);
    assert!(matches!(shut.arrangement.kind, ArrangementKind::Closed));
    assert!(matches!(
        run.arrangement.kind,
        ArrangementKind::Extracting { .. }
    ));
}

/// By its own file, by the date, or by this run's clock; before its start the sun and the weather are known too.
#[test]
fn each_has_a_start_of_its_own() {
    for (start, hours) in [
        ("", 12.0),
        ("start = \"2026-07-12 07:00\"\n", -24.0),
        ("start = \"-10 h\"\n", -10.0),
        ("start = \"3 h\"\n", 3.0),
    ] {
        assert_eq!(
            shared(&entry(start)).neighbours[0].begins_s,
            hours * 3600.0,
            "{start}"
        );
    }
    let sun = "[[room.building.sun]]\nat = \"12:00\"\nuntil = \"13:00\"\nevery = \"day\"\nheat = \"600 W\"\n";
    let ours = shared(&(entry("start = \"-24 h\"\n") + sun));
    // Noon of the day before.
    assert_eq!(sun_W(&ours.neighbours[0].run, 5.5), 600.0);
    assert_eq!(sun_W(&ours, 5.5), 600.0);
    refused(&entry("start = \"Mon 12:00\"\n"), OTHER, &["date", "-10 h"]);
}

/// A study that warms the weather or starts later has the others in the weather of then.
#[test]
fn studies_take_the_others_along() {
    let inputs = loaded(&entry(""), OTHER)
        .unwrap_or_else(|p| panic!("{p}"))
        .inputs;
    let other = |mut run: Run| run.neighbours.remove(0);
    let mut warmer = inputs.clone();
    warmer.warm(5.0);
    let (now, then) = (
        other(inputs.to_run().expect("valid")),
        other(warmer.to_run().expect("valid")),
    );
    let warmed_K = then.run.room.weather.at(0.0).0 - now.run.room.weather.at(0.0).0;
    assert!((warmed_K - 5.0).abs() < 1e-9);
    let mut later = inputs.clone();
    later.start_later(5);
    let later = other(later.to_run().expect("valid"));
    assert_eq!(later.begins_s, 7.0 * 3600.0);
    assert_eq!(later.run.start, now.run.start);
}

#[test]
fn what_is_not_there_while_this_run_is_there_is_left_out() {
    for (start, words) in [
        ("start = \"-50 h\"\n", "over at"),
        ("start = \"2026-08-13 07:00\"\n", "begins at"),
    ] {
        let loaded = loaded(&entry(start), OTHER).unwrap_or_else(|p| panic!("{p}"));
        says(&loaded.warnings[0], &[words]);
        assert!(loaded.run.neighbours.is_empty());
    }
}

#[test]
fn a_room_is_in_no_room() {
    let own = OTHER.replace(
        "[arrangement]",
        "[room.building]\nvolume = \"60 m3\"\nenvelope = \"90 W/K\"\n[[room.building.machine]]\nrun = \"third.toml\"\n[arrangement]",
    );
    refused(
        &entry(""),
        &own,
        &["other.toml", "itself", "without its own list"],
    );
    let several = OTHER.replace(
        "[arrangement]",
        "[room.building]\nvolume = \"60 m3\"\nenvelope = \"90 W/K\"\nmachines = 2\n[arrangement]",
    );
    refused(&entry(""), &several, &["machines = 2 here"]);
    let itself = entry("").replace("other.toml", "run.toml");
    refused(
        &itself,
        OTHER,
        &["this run file itself", "room.building.machines"],
    );
}

/// Mistakes in the other file are shown there, and a file that is missing where it is named.
#[test]
fn mistakes_are_shown_where_they_are() {
    refused(
        &entry("").replace("other.toml", "nowhere.toml"),
        OTHER,
        &["nowhere.toml", "no such file"],
    );
    let wrong = OTHER.replace("bench-60", "bench-61");
    let problems = loaded(&entry(""), &wrong).expect_err("refused");
    let first = &problems.as_slice()[0];
    assert!(first.file.ends_with("other.toml"), "{problems}");
    assert_eq!(first.line, Some(5));
    // What only comes out when the run is made.
    let wrong = OTHER.replace(
        "kind = \"extracting\"\nflow = \"20 m3/h\"",
        "kind = \"extracting\"",
    );
    let problems = loaded(&entry(""), &wrong).expect_err("refused");
    assert!(
        problems.as_slice()[0].file.ends_with("other.toml"),
        "{problems}"
    );
}

/// Rows of the weather, every hour from one to another of July 2026.
fn rows(from: (i8, i8), hours: usize) -> String {
    let start = jiff::civil::date(2026, 7, from.0).at(from.1, 0, 0, 0);
    let row = |k: usize| {
        let at = start + jiff::SignedDuration::from_hours(k as i64);
        format!("{},{}\n", at.strftime("%Y-%m-%dT%H:%M"), 25 + k % 5)
    };
    "time,temperature_degC\n".to_owned() + &(0..hours).map(row).collect::<String>()
}

/// A series and a forecast reach back to the first start; days without a date count from this run's own.
#[test]
fn the_weather_reaches_back_to_the_first_start() {
    let folder = tempfile::tempdir().expect("temp dir");
    let text = |weather: &str| {
        let room = format!(
            "[room.building]\nvolume = \"120 m3\"\nenvelope = \"150 W/K\"\n{}",
            entry("start = \"-24 h\"\n")
        );
        GOOD.replace(
            "[room]\ntemperature = \"31 degC\"\n",
            &format!("[room]\n{weather}{room}"),
        )
    };
    let load_it = |text: String, weather: String| {
        std::fs::write(folder.path().join("run.toml"), text).expect("write");
        std::fs::write(folder.path().join("other.toml"), OTHER).expect("write");
        std::fs::write(folder.path().join("weather.csv"), weather).expect("write");
        load(&folder.path().join("run.toml"), None)
    };
    let series = text("series = \"weather.csv\"\n");
    let run = load_it(series.clone(), rows((12, 0), 140))
        .unwrap_or_else(|p| panic!("{p}"))
        .run;
    let other = &run.neighbours[0].run;
    for hour in [0.0, 3.5, 24.0, 60.0] {
        let (theirs, ours) = (
            other.room.weather.at(hour * 3600.0).0,
            run.room.weather.at((hour - 24.0) * 3600.0).0,
        );
        assert!((theirs - ours).abs() < 1e-9, "{hour} h");
    }
    // 07:00 of the 13th: row 31 of the series.
    assert!((run.room.weather.at(0.0).0 - 299.15).abs() < 1e-6);
    let problems = load_it(series, rows((13, 0), 140)).expect_err("too short");
    says(
        &problems.as_slice()[0],
        &["what else is in its room", "2026-07-12 07:00"],
    );
    let day = "[[room.day]]\nhigh = \"34 degC\"\nlow = \"22 degC\"\n";
    let problems = load_it(text(&day.repeat(5)), String::new()).expect_err("a day too few");
    says(&problems.as_slice()[0], &["2026-07-12"]);
}

/// The room at the start is what an earlier run has made it.
#[test]
fn the_room_at_the_start_is_said_once() {
    let hints = |start: &str| {
        let lines = entry(start) + "[initial]\nroom = \"30 degC\"\n";
        loaded(&lines, OTHER)
            .unwrap_or_else(|p| panic!("{p}"))
            .warnings
    };
    assert!(hints("start = \"0 h\"\n").is_empty());
    says(
        &hints("start = \"-1 h\"\n")[0],
        &["`initial.room` has no effect", "begins earlier"],
    );
}

/// The workshop of the demo is read, and so is the run that it lists, which also stands alone.
#[test]
fn the_demos_workshop_is_read() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let shop = load(&folder.join("workshop.toml"), None).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(shop.warnings, []);
    let building = shop.run.room.building.as_ref().expect("given");
    let [other] = &shop.run.neighbours[..] else {
        panic!("one")
    };
    assert_eq!((building.machines, other.begins_s), (2, -13.0 * 3600.0));
    let clips = load(&folder.join("cable-clips.toml"), None).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(clips.run.name, other.run.name);
}
