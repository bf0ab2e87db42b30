//! What the command line promises of `calibrate --plan`, and whether a plan keeps its word.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use dogdays::integrate::Options;
use dogdays::runfile::load;
use dogdays::study::calibrate::sensors::Sensor;
use dogdays::study::many::up_to;
use serde_json::Value;
use std::path::Path;
use unicode_width::UnicodeWidthStr;

fn dogdays(arguments: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("dogdays")
        .expect("built")
        .env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .env_remove("XDG_DATA_HOME")
        .args(arguments)
        .assert()
}

fn stdout(a: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&a.get_output().stdout).into_owned()
}

fn stderr(a: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&a.get_output().stderr).into_owned()
}

fn json(arguments: &[&str]) -> Value {
    let a = dogdays(arguments).code(0);
    serde_json::from_slice(&a.get_output().stdout).expect("one JSON object")
}

fn number(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"))
}

#[test]
fn json_has_what_others_rely_on() {
    let v = json(&["calibrate", "--plan", "--json"]);
    assert_eq!(v["schema"], 1);
    for key in ["run", "station", "left", "first", "half_width_left_K"] {
        assert!(v.get(key).is_some(), "{key}");
    }
    let before_K = number(&v, "half_width_before_K");
    let candidates = v["candidates"].as_array().expect("a list");
    for c in candidates {
        for key in ["kind", "meanwhile", "sensors", "at", "from", "to", "learns"] {
            assert!(c.get(key).is_some(), "{key} in {c}");
        }
        let sum = number(c, "half_width_after_K") + number(c, "gain_K");
        assert!((sum - before_K).abs() < 1e-3, "{c}");
        assert!(c["readings"].as_u64() >= Some(1), "{c}");
    }
    let kinds: Vec<&str> = candidates
        .iter()
        .filter_map(|c| c["kind"].as_str())
        .collect();
    for kind in [
        "one reading",
        "two readings",
        "two thermometers",
        "log",
        "evening test",
    ] {
        assert!(kinds.contains(&kind), "{kind} in {kinds:?}");
    }
    // The demo's machine must stay closed.
    assert!(candidates.iter().all(|c| c["meanwhile"] != "lid off"));
    assert!(candidates.iter().any(|c| c["meanwhile"] == "bed off"));
}

/// The screen of a terminal that nobody has made larger: 24 lines of 80 columns, one of them for the prompt.
#[test]
fn the_plan_fits_a_screen_and_says_what_to_type() {
    let text = stdout(&dogdays(&["calibrate", "--plan"]).code(0));
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines.len() <= 23, "{} lines:\n{text}", lines.len());
    assert!(lines.iter().all(|l| l.width() <= 80), "{text}");
    for word in [
        "nine runs of ten",
        "--reading \"feeder motor = ... degC at Mon ",
        "Mind: fix probes before the start",
        "coefficients.soft_length",
        "--sensitivity",
    ] {
        assert!(text.contains(word), "{word} in\n{text}");
    }
    // What it says to type is a reading as soon as the dots are a number.
    let typed = text.split("--reading \"").nth(1).expect("a reading");
    let typed = typed
        .split('"')
        .next()
        .expect("its end")
        .replace("...", "50");
    dogdays(&["calibrate", "--reading", &typed]).code(0);
    let quiet = stdout(&dogdays(&["calibrate", "--plan", "--quiet"]).code(0));
    assert!(text.starts_with(&quiet), "{quiet}");
    let verbose = stdout(&dogdays(&["calibrate", "--plan", "--verbose"]).code(0));
    assert!(verbose.contains("instructions"), "{verbose}");
    let us = stdout(&dogdays(&["calibrate", "--plan", "--units", "us"]).code(0));
    assert!(us.contains("degF"), "{us}");
}

/// Readings taken are where the next plan begins; what makes no sense beside it is refused.
#[test]
fn readings_already_taken_count_and_the_rest_is_refused() {
    let motor = "feeder motor = 50 degC at Mon 11:00";
    let fresh = json(&["calibrate", "--plan", "--json"]);
    let then = json(&["calibrate", "--plan", "--json", "--reading", motor]);
    assert_eq!(then["readings_taken"], 1);
    let key = "filament_half_width_before_K";
    assert!(number(&then, key) < 0.8 * number(&fresh, key));
    for (arguments, word) in [
        (&["--write", "x.toml"][..], "--write"),
        (&["--parameter", "coefficients.leakage"], "--parameter"),
        (&["--and", "vented.toml"], "--and"),
    ] {
        let a = dogdays(&[&["calibrate", "--plan"][..], arguments].concat()).code(2);
        assert!(stderr(&a).contains(word));
        assert!(a.get_output().stdout.is_empty());
    }
    let a = dogdays(&["calibrate", "--plan", "--reading", "oven = 50 degC at 9 h"]).code(2);
    assert!(stderr(&a).contains("no place \"oven\""));
    let a = dogdays(&["calibrate"]).code(2);
    assert!(stderr(&a).contains("--plan"));
}

/// A log is where the next plan begins, and one that is not of this run is no beginning.
#[test]
fn a_log_already_taken_counts() {
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data");
    let run = format!("{demo}/run.toml");
    let log = format!("{demo}/first-day.csv");
    let fresh = json(&["calibrate", &run, "--plan", "--json"]);
    let then = json(&["calibrate", &run, "--plan", "--json", "--log", &log]);
    assert_eq!(fresh["rows_logged"], 0);
    assert_eq!(then["rows_logged"], 867);
    // The motor and the air above are known then; what a cold end bears no thermometer tells.
    let key = "half_width_before_K";
    assert!(number(&then, key) < number(&fresh, key) - 0.2);
    assert_eq!(
        (&fresh["station"], &then["station"]),
        (&"drive gear".into(), &"cold end".into())
    );
    let text = stdout(&dogdays(&["calibrate", &run, "--plan", "--verbose", "--log", &log]).code(0));
    assert!(text.contains("867 rows logged already"), "{text}");
    let folder = tempfile::tempdir().expect("a folder");
    let rows = (0..120).map(|k| {
        // Up and down, as no motor ever was.
        let (h, min, shows) = (7 + k / 12, 5 * (k % 12), 24 + (k % 40).min(40 - k % 40));
        format!("2026-07-13 {h:02}:{min:02},{shows}\n")
    });
    let text = format!("time,feeder motor_degC\n{}", rows.collect::<String>());
    let other = write(folder.path(), "other.csv", &text);
    let a = dogdays(&["calibrate", &run, "--plan", "--log", &other]).code(2);
    assert!(
        stderr(&a).contains("no values make the model what was logged"),
        "{}",
        stderr(&a)
    );
    assert!(a.get_output().stdout.is_empty());
}

/// The drive gear decides, because what the cold end bears is known.
const RUN: &str = r#"[run]
start = "2026-07-13 07:00"
duration = "30 h"
[machine]
name = "bench-220"
[material]
name = "pla"
[part]
mass = "0.5 kg"
footprint = "180 cm2"
[room]
temperature = "31 ± 0.2 degC"
[coefficients]
soft_length = "2 mm ± 0.05 mm"
bore_contact = "60 ± 1 W/(m2 K)"
"#;

fn write(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("written");
    path.display().to_string()
}

/// Half of what nine runs of ten lie between at the station that decides, K.
fn band_K(run: &str) -> f64 {
    let a = dogdays(&["check", run, "--json"]);
    let v: Value = serde_json::from_slice(&a.get_output().stdout).expect("one JSON object");
    0.5 * (number(&v["peak"], "p95_degC") - number(&v["peak"], "p05_degC"))
}

/// A machine whose motor is warmer than believed is read as the plan says, fitted, and checked again: its band is narrower,
/// by most of what was promised and no more than that. Most, because the file carries twelve values, and of the machine's
/// only: seen here, 0.63 of the width where 0.45 were promised.
#[test]
fn what_a_plan_promises_comes_true() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = write(folder.path(), "run.toml", RUN);
    let plan = json(&["calibrate", &path, "--plan", "--json"]);
    let at = plan["first"].as_u64().expect("something to do");
    let first = &plan["candidates"][usize::try_from(at).expect("few")];
    assert_eq!(first["kind"], "one reading");
    let (sensor, at) = (
        first["sensors"][0].as_str().expect("a place"),
        first["at"][0].as_str().expect("a moment"),
    );
    let mut truth = load(Path::new(&path), None).expect("a run").inputs;
    for (key, si) in [
        ("coefficients.feeder_heat", 1.15),
        ("coefficients.leakage", 1.3),
    ] {
        let input = truth.input(key).expect("a key");
        truth.set(&input, si).expect("within limits");
    }
    let run = truth.to_run().expect("a run");
    let moment: jiff::civil::DateTime = at.parse().expect("a date and time");
    let at_s = moment.duration_since(run.start).as_secs_f64();
    let shown = up_to(&[run], at_s, &Options::fine(), |s| {
        let sensor = Sensor::find(sensor, &s.chamber).expect("a place");
        sensor.shows_K(s, at_s) - 273.15
    });
    let shown = shown.into_iter().next().expect("one").expect("runs");
    let machines = folder.path().join("my-models/machines");
    std::fs::create_dir_all(&machines).expect("folders");
    let machine = machines.join("mine.toml").display().to_string();
    let reading = format!("{sensor} = {shown:.2} degC at {}", at.replace('T', " "));
    dogdays(&[
        "calibrate",
        &path,
        "--reading",
        &reading,
        "--write",
        &machine,
    ])
    .code(0);
    let again = write(
        folder.path(),
        "again.toml",
        &RUN.replace("bench-220", "mine"),
    );
    let (before_K, after_K) = (band_K(&path), band_K(&again));
    let promised = number(first, "filament_half_width_after_K")
        / number(&plan, "filament_half_width_before_K");
    let kept = after_K / before_K;
    println!("{before_K:.2} K to {after_K:.2} K, {kept:.2}; promised {promised:.2}");
    assert!(promised < 0.6, "{promised}");
    assert!(
        1.0 - kept > 0.5 * (1.0 - promised),
        "{kept}, promised {promised}"
    );
    assert!(kept > 0.8 * promised, "{kept}, promised {promised}");
}
