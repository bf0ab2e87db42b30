//! What the command line promises of `calibrate`.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use std::path::Path;

fn dogdays(arguments: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("dogdays")
        .expect("built")
        .args(arguments)
        .assert()
}

fn stderr(a: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&a.get_output().stderr).into_owned()
}

fn json(a: &assert_cmd::assert::Assert) -> serde_json::Value {
    serde_json::from_slice(&a.get_output().stdout).expect("one JSON object")
}

const READINGS: [&str; 4] = [
    "--reading",
    "feeder motor = 57 degC at Wed 17:00",
    "--reading",
    "air top = 49 degC at Wed 17:00 within 1.5 K",
];

#[test]
fn json_has_what_others_rely_on() {
    let a = dogdays(&[&["calibrate", "--json"][..], &READINGS].concat()).code(0);
    let v = json(&a);
    for key in [
        "schema",
        "run",
        "rows",
        "rms_before_K",
        "rms_after_K",
        "parameters",
    ] {
        assert!(v.get(key).is_some(), "{key}");
    }
    assert_eq!(v["rows"], 2);
    assert!(v["rms_after_K"].as_f64() < v["rms_before_K"].as_f64());
    let parameters = v["parameters"].as_array().expect("a list");
    assert!(!parameters.is_empty());
    for key in [
        "name",
        "unit",
        "start",
        "value",
        "std",
        "prior_std",
        "identified",
    ] {
        assert!(parameters[0].get(key).is_some(), "{key}");
    }
}

/// One line or more, each with the words by which the user learns what to do.
#[test]
fn readings_that_can_not_be_are_told() {
    for (reading, words) in [
        ("feeder motor = 49 at Wed 15:20", &["49", "degC"][..]),
        (
            "feeder motor = 49 degC at 15:20",
            &["comes 5 times", "2026-07-13 15:20"],
        ),
        (
            "feeder motor = 49 degC at 400 h",
            &["400 h", "after the run"],
        ),
        (
            "feeder motor = 49 degC at 2026-08-13 15:20",
            &["after the run"],
        ),
        ("feeder motor = 49 degC", &["at"]),
        ("feeder motor 49 degC", &["no reading", "within 1 K"]),
        ("feder motor = 49 degC at Wed 15:20", &["\"feeder motor\""]),
        ("feeder motor = 49 degC at Wed 15:20 within 0 K", &["±"]),
        ("feeder motor = 49 kg at Wed 15:20", &["mass"]),
    ] {
        let a = dogdays(&["calibrate", "--reading", reading]).code(2);
        assert!(a.get_output().stdout.is_empty(), "{reading}");
        let said = stderr(&a);
        for word in words {
            assert!(said.contains(word), "{reading}: {word} in\n{said}");
        }
    }
    let a = dogdays(&["calibrate"]).code(2);
    assert!(stderr(&a).contains("--reading"));
    let a = dogdays(
        &[
            &["calibrate", "--parameter", "coefficients.lekage"][..],
            &READINGS,
        ]
        .concat(),
    );
    assert!(stderr(&a.code(2)).contains("coefficients.leakage"));
    let a = dogdays(&[&["calibrate", "--write", "x.csv"][..], &READINGS].concat()).code(2);
    assert!(stderr(&a).contains(".toml"));
}

fn write(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("written");
    path.display().to_string()
}

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
temperature = "31 degC ± 0.2 degC"
[[reading]]
sensor = "feeder motor"
temperature = "53 degC ± 1 K"
at = "9 h"
"#;

/// Fitted, written, taken by name: `check` then would have shown what was measured.
#[test]
fn the_machine_that_is_written_is_taken_by_name() {
    let folder = tempfile::tempdir().expect("temp dir");
    let run = write(folder.path(), "run.toml", RUN);
    std::fs::create_dir_all(folder.path().join("my-models/machines")).expect("made");
    let machine = folder.path().join("my-models/machines/mine.toml");
    let machine = machine.display().to_string();
    let a = dogdays(&["calibrate", &run, "--write", &machine, "--json"]).code(0);
    let found = json(&a);
    assert!(stderr(&a).contains("name = \"mine\""), "{}", stderr(&a));
    let own = write(folder.path(), "own.toml", &RUN.replace("bench-220", "mine"));
    let again = json(&dogdays(&["calibrate", &own, "--json"]).code(0));
    let before = again["rms_before_K"].as_f64().expect("a number");
    let after = found["rms_after_K"].as_f64().expect("a number");
    // What is the room's and the part's is not in the machine's file.
    assert!((before - after).abs() < 0.3, "{before} {after}");
    assert!(before < 0.5 * found["rms_before_K"].as_f64().expect("a number"));
    // What a run is read from is never written over.
    let a = dogdays(&["calibrate", &own, "--write", &machine]).code(2);
    assert!(stderr(&a).contains("choose another name"), "{}", stderr(&a));
}

/// A screen of 24 lines holds the answer.
#[test]
fn the_answer_fits_a_screen() {
    let a = dogdays(&[&["calibrate"][..], &READINGS].concat()).code(0);
    let text = String::from_utf8_lossy(&a.get_output().stdout).into_owned();
    assert!(text.lines().count() <= 24, "{text}");
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    assert!(text.starts_with("2 readings: "), "{text}");
}

/// What nobody could believe is shown, called what it is, and never made a machine of.
#[test]
fn a_reading_that_can_not_be_makes_no_machine() {
    let folder = tempfile::tempdir().expect("temp dir");
    let machine = folder.path().join("mine.toml");
    let machine = machine.to_str().expect("UTF-8");
    for reading in [
        "drive gear = 444 degC at Mon 09:00",
        "drive gear = 10 degC at 2 h",
    ] {
        let asked = ["calibrate", "--reading", reading];
        let a = dogdays(&[&asked[..], &["--quiet"]].concat()).code(0);
        let told = String::from_utf8_lossy(&a.get_output().stdout).into_owned();
        let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains("so don't trust them"), "{reading}: {told}");
        assert_eq!(
            json(&dogdays(&[&asked[..], &["--json"]].concat()).code(0))["fits"],
            false
        );
        let a = dogdays(&[&asked[..], &["--write", machine]].concat()).code(2);
        assert!(
            stderr(&a).contains("no machine is written"),
            "{}",
            stderr(&a)
        );
        assert!(!Path::new(machine).exists());
    }
}

/// A machine of one's own may be written anew while a run does not use it; the catalogue's names are taken.
#[test]
fn a_machine_is_written_anew_and_never_over_the_catalogue() {
    let folder = tempfile::tempdir().expect("temp dir");
    let machines = folder.path().join("my-models/machines");
    std::fs::create_dir_all(&machines).expect("folders");
    let path = write(folder.path(), "run.toml", RUN);
    let write_to = |name: &str, more: &[&str]| {
        let machine = machines.join(name).display().to_string();
        dogdays(&[&["calibrate", &path, "--write", &machine][..], more].concat())
    };
    let force = &["--force"][..];
    write_to("mine.toml", &[]).code(0);
    let first = std::fs::read(machines.join("mine.toml")).expect("written");
    let a = write_to("mine.toml", &[]).code(2);
    assert!(stderr(&a).contains("--force"), "{}", stderr(&a));
    let a = write_to("mine.toml", force).code(0);
    let told = stderr(&a);
    assert!(
        told.contains("they are this run's and not the machine's"),
        "{told}"
    );
    let again = std::fs::read(machines.join("mine.toml")).expect("written");
    assert_eq!(again, first);
    // The machine that the run is read from stays as it is.
    write(folder.path(), "run.toml", &RUN.replace("bench-220", "mine"));
    let a = write_to("mine.toml", force).code(2);
    assert!(
        stderr(&a).contains("this run is read from"),
        "{}",
        stderr(&a)
    );
    // So does a run file in a folder that is called like theirs.
    let run = write(&machines, "week.toml", RUN);
    let a = dogdays(&["calibrate", &run, "--write", &run, "--force"]).code(2);
    assert!(
        stderr(&a).contains("this run is read from"),
        "{}",
        stderr(&a)
    );
    assert_eq!(std::fs::read_to_string(&run).expect("there"), RUN);
    std::fs::remove_file(&run).expect("removed");
    let a = write_to("bench-220.toml", force).code(2);
    assert!(
        stderr(&a).contains("is a machine of the catalogue"),
        "{}",
        stderr(&a)
    );
}
