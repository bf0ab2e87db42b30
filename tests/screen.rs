//! The answer stays on the screen, and every text holds the screen's width.
#![cfg(feature = "cli")]

use std::path::Path;

use assert_cmd::Command;
use dogdays::catalogue::{Catalogue, Kind};
use dogdays::chamber::IntegratorKind;
use dogdays::integrate::Options;
use dogdays::output::{self, screen::Screen};
use dogdays::quantity::System;
use dogdays::runfile::{Loaded, demo};
use dogdays::study::choices::{Choices, choices};
use dogdays::study::compare::{Row, compare, usual};
use dogdays::study::remedies::{Remedies, remedies};
use dogdays::study::size_fan::{Sizing, size_fan};
use dogdays::study::{Findings, check};
use unicode_width::UnicodeWidthStr;

/// What a command prints on a screen of so many columns; the number of none is a pipe's.
fn text(arguments: &[&str], columns: Option<usize>) -> String {
    let mut c = Command::cargo_bin("dogdays").expect("the program is built with its tests");
    c.env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .env_remove("XDG_DATA_HOME");
    if let Some(columns) = columns {
        c.env("COLUMNS", columns.to_string());
    }
    let output = c.args(arguments).output().expect("it starts");
    assert!(output.status.code() != Some(2), "{arguments:?}: {output:?}");
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// A run file that is the demo's with a text replaced.
fn changed(folder: &Path, from: &str, to: &str) -> String {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    std::fs::copy(demo.join("weather.csv"), folder.join("weather.csv")).expect("copied");
    let file = std::fs::read_to_string(demo.join("run.toml")).expect("read");
    assert!(file.contains(from), "the demo no longer has {from:?}");
    let path = folder.join("changed.toml");
    std::fs::write(&path, file.replacen(from, to, 1)).expect("written");
    path.to_str().expect("UTF-8").to_owned()
}

#[test]
fn the_answer_of_the_demo_at_80_and_at_40_columns() {
    let usual = text(&["check"], None);
    insta::assert_snapshot!("check_demo_80", usual);
    assert_eq!(usual, text(&["check"], Some(80)));
    insta::assert_snapshot!("check_demo_40", text(&["check"], Some(40)));
    insta::assert_snapshot!("check_demo_verbose", text(&["check", "--verbose"], None));
    insta::assert_snapshot!("compare_demo_40", text(&["compare"], Some(40)));
}

/// The screen of a terminal that nobody has made larger: 24 lines of 80 columns.
#[test]
fn the_answer_fits_a_screen_whatever_the_verdict() {
    let folder = tempfile::tempdir().expect("a folder");
    let cases = [
        ("kind = \"closed\"", "kind = \"closed\"", "softens"),
        (
            "kind = \"closed\"",
            "kind = \"extracting\"\nflow = \"40 m3/h\"",
            "holds",
        ),
        (
            "kind = \"closed\"",
            "kind = \"extracting\"\nflow = \"20 m3/h\"",
            "tight",
        ),
        ("duration = \"121 h\"", "duration = \"4 h\"", "cannot run"),
        (
            "name = \"bench-220\"",
            "name = \"bench-220\"\nhotend = { max_power = \"1000 W\" }",
            "softens",
        ),
    ];
    for (from, to, verdict) in cases {
        let run = changed(folder.path(), from, to);
        for units in ["si", "us"] {
            let text = text(&["check", &run, "--units", units], None);
            assert!(text.starts_with(verdict), "{text}");
            let lines = text.lines().count();
            assert!(lines <= 24, "{lines} lines: {text}");
            assert!(text.contains("Mind: an estimate"), "{text}");
            assert!(text.contains("--verbose"), "{text}");
        }
    }
}

/// What the short answer leaves out, and where it stands.
#[test]
fn verbose_says_everything() {
    let short = text(&["check"], None);
    let all = text(&["check", "--verbose"], None);
    for head in [
        "Chamber, °C",
        "Heat in, mean W",
        "Cautions",
        "Not enough alone",
    ] {
        assert!(!short.contains(head), "{short}");
        assert!(all.contains(head), "{all}");
    }
    assert!(
        all.contains("unattended heat needs the fire precautions"),
        "{all}"
    );
    let rest = short.lines().find(|l| l.contains(" more")).expect("a line");
    assert!(rest.contains("--verbose"), "{rest}");
}

/// What all commands say about a run, and of the catalogue, on a screen.
struct Answers {
    loaded: Loaded,
    findings: Findings,
    remedies: Remedies,
    choices: Choices,
    rows: Vec<Row>,
    sizing: Sizing,
    catalogue: Catalogue,
}

impl Answers {
    fn of_the_demo() -> Self {
        let (loaded, options) = (demo(), Options::default());
        let inputs = &loaded.inputs;
        let catalogue = Catalogue::embedded();
        let findings = check(&loaded.run, IntegratorKind::Rosenbrock, &options).expect("checked");
        Self {
            remedies: remedies(inputs, &catalogue.materials(), &options).expect("remedies"),
            choices: choices(&findings),
            rows: compare(
                usual(inputs, &options).expect("usual").candidates,
                None,
                &options,
            )
            .expect("compared"),
            sizing: size_fan(inputs, &catalogue.fans().expect("fans"), None, &options)
                .expect("sized"),
            findings,
            loaded,
            catalogue,
        }
    }

    fn texts(&self, screen: Screen) -> Vec<String> {
        let (run, f, r) = (&self.loaded.run, &self.findings, &self.remedies);
        let setting = output::compare::Setting { flow: None };
        let entries = Kind::ALL.iter().flat_map(|kind| self.catalogue.list(*kind));
        let mut texts: Vec<String> = entries
            .map(|entry| output::catalogue::show(entry, screen))
            .collect();
        texts.extend([
            output::brief::check(run, f, Some(r), screen),
            output::report::check(run, f, screen),
            output::remedies::text(run, r, screen),
            output::explain::text(&self.loaded, f, &self.choices, 0.003, screen),
            output::compare::text(&self.rows, setting, screen),
            output::size_fan::text(run, &self.sizing, screen),
            output::catalogue::list(&self.catalogue, screen),
        ]);
        texts
    }
}

/// Down to 40 columns no line is too wide, and none ends with a number whose unit the next one begins with.
#[test]
fn every_text_holds_its_width() {
    let answers = Answers::of_the_demo();
    for system in [System::Si, System::Us] {
        for width in 40..=100 {
            for text in answers.texts(Screen::new(width, system)) {
                for line in text.lines() {
                    // The name of a key or of a source is one word, however long.
                    let fits = line.width() <= width || !line.trim().contains(' ');
                    assert!(fits, "at {width}: {line}");
                }
                for (line, next) in text.lines().zip(text.lines().skip(1)) {
                    let last = line.split(' ').next_back().unwrap_or("");
                    let first = next.trim_start().split([' ', ',', ';', '.']).next();
                    let is_unit = first.is_some_and(|word| UNITS.contains(&word));
                    let parted = last.parse::<f64>().is_ok() && is_unit;
                    assert!(!parted, "at {width}: {line:?}, {next:?}");
                }
            }
        }
    }
}

/// Units in texts for people.
const UNITS: [&str; 20] = [
    "°C", "degC", "°F", "K", "h", "min", "s", "m³/h", "cfm", "Pa", "inH2O", "W", "W/K", "kWh",
    "kg", "mm", "cm²", "in", "%", "m2",
];

#[test]
fn columns_say_the_width_of_what_is_no_terminal() {
    // Narrower than that, or nonsense: as far as it goes.
    let at = |columns| text(&["catalogue", "pla"], columns);
    assert_eq!(at(Some(3)), at(Some(40)));
    assert_eq!(at(Some(0)), at(None));
    assert_ne!(at(Some(40)), at(None));
}

#[test]
fn heads_of_the_remedies_stand_apart_in_both_systems() {
    for (units, head) in [
        ("si", "  gain, K  margin, K  "),
        ("us", "  gain, °F  margin, °F  "),
    ] {
        let text = text(&["check", "--units", units], None);
        assert!(text.contains(head), "{text}");
    }
}
