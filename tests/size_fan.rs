//! What the command line promises of `size-fan`.

use assert_cmd::Command;
use std::path::Path;

fn dogdays(arguments: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("dogdays")
        .expect("built")
        .arg("size-fan")
        .args(arguments)
        .assert()
}

fn stderr(a: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&a.get_output().stderr).into_owned()
}

fn write(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("written");
    path.display().to_string()
}

#[test]
fn json_has_what_others_rely_on() {
    let a = dogdays(&["--json", "--fan", "axial-80", "--fan", "axial-40"]).code(0);
    let v: serde_json::Value =
        serde_json::from_slice(&a.get_output().stdout).expect("one JSON object");
    for key in [
        "schema",
        "run",
        "reachable",
        "coolest_peak_degC",
        "needed_flow_m3_per_h",
        "at_pressure_Pa",
        "most_flow_m3_per_h",
        "fans",
    ] {
        assert!(v.get(key).is_some(), "{key}");
    }
    assert!(v["most_flow_m3_per_h"].is_null(), "PLA can't be too cool");
    let fans = v["fans"].as_array().expect("a list");
    assert_eq!(fans.len(), 2);
    for key in [
        "fan",
        "flow_m3_per_h",
        "pressure_Pa",
        "power_W",
        "margin_K",
        "verdict",
    ] {
        assert!(fans[0].get(key).is_some(), "{key}");
    }
}

#[test]
fn exit_code_20_when_no_fan_is_enough() {
    let folder = tempfile::tempdir().expect("temp dir");
    let weak = write(
        folder.path(),
        "weak.csv",
        "flow_m3_per_h,pressure_Pa\n0,0.02\n1,0\n",
    );
    let a = dogdays(&["--fan", &weak]).code(20);
    let text = String::from_utf8_lossy(&a.get_output().stdout).into_owned();
    assert!(text.contains("no fan looked at is enough"), "{text}");
}

#[test]
fn bad_curves_are_refused_with_words() {
    let folder = tempfile::tempdir().expect("temp dir");
    const H: &str = "flow_m3_per_h,pressure_Pa\n";
    for (text, words) in [
        (String::new(), "empty"),
        (format!("{H}0,46\n40,20\n30,10\n"), "bad.csv:4"),
        (format!("{H}0,10\n30,20\n60,40\n"), "rises everywhere"),
        (
            format!("{H}0,46\n30,-2\n"),
            "-2 Pa: 0 to 20 kPa are possible",
        ),
    ] {
        let path = write(folder.path(), "bad.csv", &text);
        let said = stderr(&dogdays(&["--fan", &path]).code(2));
        assert!(said.contains(words), "{words}: {said}");
        assert!(said.contains("flow_m3_per_h,pressure_Pa"), "{said}");
    }
    let said = stderr(&dogdays(&["--fan", "axial-8"]).code(2));
    assert!(said.contains("did you mean \"axial-80\""), "{said}");
    let said = stderr(&dogdays(&["--fan", "nowhere.csv"]).code(2));
    assert!(said.contains("no such file"), "{said}");
}

const RUN: &str = r#"[run]
start = "2026-07-13 07:00"
duration = "30 h"
[machine]
name = "bench-220"
[material]
name = "pla"
[part]
mass = "1 kg"
footprint = "180 cm2"
[room]
temperature = "33 degC"
"#;

#[test]
fn bad_systems_are_refused_with_words() {
    let folder = tempfile::tempdir().expect("temp dir");
    for (line, words) in [
        ("duct_length = \"0 m\"", "duct_length"),
        ("duct_diameter = \"0 mm\"", "duct_diameter"),
        (
            "filter_clean = \"30 Pa\"\nfilter_loaded = \"20 Pa\"",
            "holds back less",
        ),
        ("filter_stops = \"odours\"", "filter_stops"),
    ] {
        let path = write(
            folder.path(),
            "run.toml",
            &format!("{RUN}[system]\n{line}\n"),
        );
        let said = stderr(&dogdays(&[&path]).code(2));
        assert!(said.contains(words), "{words}: {said}");
    }
}

#[test]
fn an_impossible_margin_is_an_answer() {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = write(
        folder.path(),
        "run.toml",
        &format!("{RUN}[require]\nmargin = \"40 K\"\n"),
    );
    let a = dogdays(&[&path, "--json", "--fan", "inline-100"]).code(20);
    let v: serde_json::Value =
        serde_json::from_slice(&a.get_output().stdout).expect("one JSON object");
    assert_eq!(v["reachable"], false);
    assert!(v["needed_flow_m3_per_h"].is_null());
}

#[test]
fn table_and_picture_are_written() {
    let folder = tempfile::tempdir().expect("temp dir");
    let file = |name: &str| folder.path().join(name).display().to_string();
    let (csv, svg) = (file("fans.csv"), file("fans.svg"));
    dogdays(&["--fan", "axial-80", "--csv", &csv, "--plot", &svg]).code(0);
    let table = std::fs::read_to_string(csv).expect("written");
    assert!(table.starts_with("fan,filter,flow_m3_per_h,pressure_Pa,power_W,margin_K,verdict"));
    assert_eq!(table.lines().count(), 3);
    assert!(
        std::fs::read_to_string(svg)
            .expect("written")
            .contains("</svg>")
    );
    let said = stderr(&dogdays(&["--plot", &file("fans.gif")]).code(2));
    assert!(said.contains(".svg or .png"), "{said}");
}

/// The answer ends in what a shop can buy: the fans of the catalogue are not to be had.
#[test]
fn says_what_to_ask_a_supplier_for() {
    let a = dogdays(&["--fan", "axial-80"]).code(0);
    let text = String::from_utf8_lossy(&a.get_output().stdout).into_owned();
    for words in [
        "What to ask a supplier for",
        "of static pressure, in air of",
        "dB(A)",
        "to a duct of",
        "are invented",
        "a filter for particles and fumes",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    let a = dogdays(&["--fan", "axial-80", "--json"]).code(0);
    let v: serde_json::Value =
        serde_json::from_slice(&a.get_output().stdout).expect("one JSON object");
    let number = |key: &str| v["ask_for"][key].as_f64().expect("a number");
    assert_eq!(v["ask_for"]["flow_m3_per_h"], v["needed_flow_m3_per_h"]);
    let loaded = v["at_pressure_Pa"].as_f64().expect("a number");
    assert!((number("static_pressure_Pa") - loaded).abs() < 0.01);
    let warmest = number("warmest_air_degC");
    assert!(warmest >= number("air_degC"));
    assert!((10.0..15.0).contains(&(number("rated_for_degC") - warmest)));
}
