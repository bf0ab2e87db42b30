//! What the command line says of how sure it is.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use serde_json::Value;

/// A run of a day that holds, in a machine that extracts, and whose verdict is no sure thing.
const RUN: &str = r#"
[run]
start = "2026-07-13 07:00"
duration = "20 h"
[machine]
name = "bench-220"
[material]
name = "pla"
[part]
mass = "0.4 kg"
footprint = "100 cm2"
[job]
bed = "60 degC"
[room]
temperature = "30 degC"
[arrangement]
kind = "extracting"
flow = "25 m3/h"
"#;

fn said(run: &str, arguments: &[&str]) -> (String, String, Option<i32>) {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("run.toml");
    std::fs::write(&file, run).expect("written");
    let mut command = Command::cargo_bin("dogdays").expect("built");
    command.current_dir(folder.path()).args(arguments);
    let output = command.output().expect("it ran");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (
        text(output.stdout),
        text(output.stderr),
        output.status.code(),
    )
}

fn json(run: &str, arguments: &[&str]) -> Value {
    let arguments: Vec<&str> = ["check", "run.toml", "--json"]
        .iter()
        .chain(arguments)
        .copied()
        .collect();
    let (out, err, _) = said(run, &arguments);
    serde_json::from_str(&out).unwrap_or_else(|e| panic!("{e}: {out}{err}"))
}

#[test]
fn json_says_between_what_the_peak_lies_and_how_likely_it_softens() {
    let found = json(RUN, &["--samples", "64"]);
    let number = |at: &str| {
        found
            .pointer(at)
            .and_then(Value::as_f64)
            .unwrap_or_else(|| panic!("{at}"))
    };
    let (low, middle, high) = (
        number("/peak/p05_degC"),
        number("/peak/p50_degC"),
        number("/peak/p95_degC"),
    );
    assert!(low < middle && middle < high, "{low}, {middle}, {high}");
    // The best estimate is no sample, and near the middle of them.
    let best = number("/peak/filament_degC");
    assert!((best - middle).abs() < 1.0, "{best}, {middle}");
    assert!((0.0..=1.0).contains(&number("/chance_softens")));
    assert_eq!(
        (found["samples"].as_u64(), found["seed"].as_u64()),
        (Some(64), Some(1))
    );
    // The same seed is the same result, another one another.
    assert_eq!(found, json(RUN, &["--samples", "64"]));
    assert_ne!(
        found["peak"],
        json(RUN, &["--samples", "64", "--seed", "2"])["peak"]
    );
    let without = json(RUN, &["--no-band"]);
    assert!(without["peak"].get("p05_degC").is_none() && without.get("chance_softens").is_none());
    assert_eq!(
        without["margin_K"], found["margin_K"],
        "the verdict is the best estimate's"
    );
}

/// A chance of softening above what is put up with stands in the verdict's own sentence; below it does not.
#[test]
fn what_holds_and_may_soften_says_so_in_the_same_sentence() {
    let sentence = |chance: &str| {
        let run = format!("{RUN}[require]\nchance = \"{chance}\"\nmargin = \"0.5 K\"\n");
        let (out, err, code) = said(&run, &["check", "run.toml", "--quiet", "--samples", "64"]);
        assert_eq!(code, Some(0), "it holds: {out}{err}");
        out.replace('\n', " ")
    };
    let strict = sentence("1 %");
    let first = strict.split(". ").next().expect("a sentence");
    assert!(
        first.starts_with("holds: ") && first.contains(", but "),
        "{strict}"
    );
    assert!(first.ends_with("such runs soften"), "{strict}");
    let easy = sentence("50 %");
    assert!(!easy.contains("but") && easy.contains("soften."), "{easy}");
}

/// What is known better is less in doubt: all that matters for the room known to a tenth of a kelvin.
#[test]
fn a_value_that_is_known_better_makes_the_band_narrower() {
    let width = |run: &str| {
        let found = json(run, &["--samples", "128"]);
        let at = |name: &str| found["peak"][name].as_f64().expect("a number");
        at("p95_degC") - at("p05_degC")
    };
    let known = RUN.replace("\"30 degC\"", "\"30 ± 0.1 degC\"");
    let (usual, narrower) = (width(RUN), width(&known));
    assert!(narrower < 0.97 * usual, "{narrower} of {usual}");
    let wider = RUN.replace("\"30 degC\"", "\"30 degC +- 6 K\"");
    assert!(width(&wider) > 1.3 * usual);
}

#[test]
fn options_that_make_no_sense_are_refused() {
    for arguments in [
        &["check", "run.toml", "--samples", "1"][..],
        &["check", "run.toml", "--samples", "70000"],
        &["check", "run.toml", "--no-band", "--samples", "10"],
        &["check", "run.toml", "--no-band", "--sensitivity"],
    ] {
        let (_, err, code) = said(RUN, arguments);
        assert_eq!(code, Some(2), "{arguments:?}: {err}");
    }
}
