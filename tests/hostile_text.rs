//! Text that others wrote - names, files, mistakes in them - never acts on the terminal of who reads about it.
#![cfg(feature = "cli")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

/// As TOML writes it: clears the screen, sets the title, forges a line, turns the direction of reading.
const HOSTILE: &str = r"A\u001b[2J\u001b]0;x\u0007\nholds: everything is fine\r\u202e\u009b31m";

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_dogdays"))
        .args(arguments)
        .current_dir(folder)
        .env("XDG_DATA_HOME", "/nonexistent")
        .stdin(Stdio::null())
        .output()
        .expect("starts")
}

/// Everything that was said, which must not act.
#[track_caller]
fn harmless(output: &Output) -> String {
    let said = [output.stdout.as_slice(), &output.stderr].concat();
    let said = String::from_utf8(said).expect("UTF-8");
    for c in said.chars() {
        let is_bidi = ('\u{202a}'..='\u{202e}').contains(&c);
        assert!(
            (!c.is_control() || c == '\n') && !is_bidi,
            "{c:?} in {said}"
        );
    }
    assert!(
        !said
            .lines()
            .any(|line| line.starts_with("holds: everything")),
        "a forged line in {said}"
    );
    said
}

fn shop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let run_file = format!(
        "run = {{ name = \"{HOSTILE}\", start = \"2026-07-13 07:00\", duration = \"2 h\" }}
machine.name = \"bench-60\"
material = {{ name = \"own\", softening_basis = \"{HOSTILE}\" }}
part.mass = \"20 g\"
room.temperature = \"24 degC\"
[[compare]]
name = \"=1+1{HOSTILE}\"
room.temperature = \"25 degC\"
"
    );
    let material = run(folder.path(), &["catalogue", "petg", "--file"]);
    let material = String::from_utf8(material.stdout).expect("UTF-8");
    let title = material
        .lines()
        .find(|l| l.starts_with("title"))
        .expect("a title")
        .to_owned();
    let material = material.replace(&title, &format!("title = \"{HOSTILE}\""));
    fs::create_dir_all(folder.path().join("models/materials")).expect("made");
    fs::write(folder.path().join("models/materials/own.toml"), material).expect("written");
    fs::write(folder.path().join("run.toml"), run_file).expect("written");
    folder
}

#[test]
fn names_bases_and_titles_do_nothing_in_any_report() {
    let folder = shop();
    let at = folder.path();
    for arguments in [
        ["check", "run.toml"].as_slice(),
        &["check", "run.toml", "--explain"],
        &["check", "run.toml", "--json"],
        &[
            "check",
            "run.toml",
            "--plot",
            "out.svg",
            "--export-network",
            "out.json",
        ],
        &[
            "compare",
            "run.toml",
            "--csv",
            "compare.csv",
            "--plot",
            "compare.svg",
        ],
        &["compare", "run.toml", "--json"],
        &["size-fan", "run.toml"],
    ] {
        let output = run(at, &[arguments, &["--models", "models"]].concat());
        let said = harmless(&output);
        assert_ne!(output.status.code(), Some(2), "{said}");
        assert!(said.contains("A␛[2J␛]0;x␇ holds"), "{said}");
    }
    for arguments in [["catalogue"].as_slice(), &["catalogue", "own"]] {
        harmless(&run(at, &[arguments, &["--models", "models"]].concat()));
    }
    for file in ["out.svg", "compare.svg", "out.json"] {
        let text = fs::read_to_string(at.join(file)).expect("UTF-8");
        assert!(
            !text.contains(|c: char| c.is_control() && c != '\n'),
            "{file}"
        );
    }
    let csv = fs::read_to_string(at.join("compare.csv")).expect("UTF-8");
    assert!(csv.contains("\r\n'=1+1A␛"), "no formula: {csv}");
    assert_eq!(csv.lines().count(), 3, "{csv}");
}

#[test]
fn mistakes_are_shown_without_what_acts() {
    let folder = shop();
    let at = folder.path();
    let good = fs::read_to_string(at.join("run.toml")).expect("there");
    for bad in [
        good.replace(
            "part.mass",
            "\"\\u001b[2J\\nholds: everything\" = 1\npart.mass",
        ),
        good.replace("\"bench-60\"", "\"\\u001b[31m\\nholds: everything\""),
        good.replace("\"20 g\"", "\"20 \\u001b[31m\\nholds: everything\""),
        good.replace(
            "room.temperature",
            "\u{1b}[31m\u{9b}2J\u{202e}room.temperature",
        ),
        good.replace("\"24 degC\"", "\"24 degC\" \u{1b}]0;x\u{7}"),
        good.replace(
            "room.temperature",
            "room.series = \"\\u001b[2J\\nholds: everything\" #",
        ),
    ] {
        fs::write(at.join("bad.toml"), bad).expect("written");
        let output = run(at, &["check", "bad.toml", "--models", "models"]);
        let said = harmless(&output);
        assert_eq!(output.status.code(), Some(2), "{said}");
    }
}

#[test]
fn file_names_and_arguments_do_nothing_either() {
    let folder = shop();
    let at = folder.path();
    let wild = "no\u{1b}[2J\u{9b}\u{202e}such\rfile.toml";
    for arguments in [
        ["check", wild].as_slice(),
        &["check", "--csv", &format!("{wild}/out")],
        &["check", &format!("--{wild}")],
        &["check", "--every", wild],
        &["catalogue", wild],
        &["size-fan", "--fan", wild],
        &["catalogue", "--models", wild],
        &[
            "new",
            "--machine",
            wild,
            "--material",
            "pla",
            "--duration",
            "2 h",
        ],
    ] {
        let output = run(at, arguments);
        let said = harmless(&output);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
    }
    let written = run(at, &["check", "--csv", "\u{1b}[2J\nholds: everything"]);
    harmless(&written);
    assert!(at.join("\u{1b}[2J\nholds: everything").exists());
}
