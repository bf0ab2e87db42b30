//! What the command line promises of `compare` and of the remedies in `check`.
#![cfg(feature = "cli")]

use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;
use serde_json::Value;

fn dogdays(arguments: &[&str]) -> Output {
    let mut command = Command::cargo_bin("dogdays").expect("the program is built with its tests");
    command.args(arguments).output().expect("it starts")
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).expect("one JSON object and nothing else on stdout")
}

fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A short run in a room of constant temperature, with lines added.
fn run_file(folder: &Path, more: &str) -> PathBuf {
    let text = format!(
        r#"[run]
name = "Short one"
start = "2026-07-13 07:00"
duration = "10 h"
[machine]
name = "bench-220"
[material]
name = "pla"
[part]
mass = "200 g"
[job]
bed = "60 degC"
nozzle = "210 degC"
[room]
temperature = "33 degC"
[require]
margin = "3 K"
must_stay_closed = true
{more}"#
    );
    let path = folder.join("run.toml");
    std::fs::write(&path, text).expect("the folder can be written to");
    path
}

fn with_run(more: &str, check: impl Fn(&str)) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = run_file(folder.path(), more);
    check(path.to_str().expect("a plain path"));
}

fn with_run_that(more: &str, check: &mut dyn FnMut(&str)) {
    let folder = tempfile::tempdir().expect("a temporary folder");
    check(
        run_file(folder.path(), more)
            .to_str()
            .expect("a plain path"),
    );
}

#[test]
fn json_has_the_promised_fields() {
    let output = dogdays(&["compare", "--json"]);
    let value = json(&output);
    assert_eq!(value["schema"], 1);
    assert!(value["run"].is_string());
    let rows = value["arrangements"].as_array().expect("a list");
    let names: Vec<&str> = rows.iter().filter_map(|r| r["name"].as_str()).collect();
    assert_eq!(
        names,
        [
            "closed",
            "lid off",
            "door open",
            "extracting",
            "blowing in",
            "recirculating"
        ]
    );
    for row in rows {
        for key in ["margin_K", "change_K", "heaters_kWh"] {
            assert!(row[key].is_f64(), "{key} of {row}");
        }
        for key in ["filament_degC", "station", "at", "at_h"] {
            assert!(!row["peak"][key].is_null(), "peak.{key} of {row}");
        }
        let opens = row["name"] == "lid off" || row["name"] == "door open";
        assert_eq!(row["stays_closed"], !opens);
        assert_eq!(row["allowed"], !opens, "the demo must stay closed");
        let limit = row["peak"]["limit_degC"].as_f64().expect("a number");
        let peak = row["peak"]["filament_degC"].as_f64().expect("a number");
        let margin = row["margin_K"].as_f64().expect("a number");
        // Each is rounded to four decimals.
        assert!((limit - peak - margin).abs() < 2e-4, "{row}");
    }
    assert_eq!(rows[0]["change_K"], 0.0);
}

/// The exit code is the verdict of the run as it is: the design's 0, 10, 20.
#[test]
fn exits_with_the_verdict_of_the_first_row() {
    for (more, kind) in [
        ("", "closed"),
        (
            "[arrangement]\nkind = \"extracting\"\nflow = \"60 m3/h\"\n",
            "extracting",
        ),
    ] {
        with_run(more, |path| {
            let output = dogdays(&["compare", path, "--json"]);
            let first = &json(&output)["arrangements"][0];
            assert_eq!(first["name"], kind);
            let code = match first["verdict"].as_str() {
                Some("holds") => 0,
                Some("tight") => 10,
                Some("softens") => 20,
                other => panic!("no verdict: {other:?}"),
            };
            assert_eq!(output.status.code(), Some(code));
        });
    }
}

/// In a room of constant temperature the break-even is that room's temperature; a run in it, a
/// little cooler and a little warmer, shows on which side it holds.
#[test]
fn a_room_at_the_break_even_just_holds() {
    with_run("", |path| {
        let output = dogdays(&["compare", path, "--json"]);
        let first = json(&output)["arrangements"][0].clone();
        let found = first["breakeven_room_degC"].as_f64().expect("a number");
        for (shift, verdict) in [(-0.001, "holds"), (0.051, "tight")] {
            let room = found + shift;
            let more =
                format!("[[compare]]\nname = \"x\"\nroom.temperature = \"{room:.4} degC\"\n");
            with_run(&more, |path| {
                let row = json(&dogdays(&["compare", path, "--json"]))["arrangements"][1].clone();
                assert_eq!(row["verdict"], verdict, "at {room} °C: {row}");
            });
        }
    });
}

#[test]
fn text_fits_eighty_columns_and_marks_what_is_not_allowed() {
    let long = "[[compare]]\nname = \"with the lid off and a name that is far too long for its column\"\narrangement.kind = \"lid off\"\n";
    with_run(long, |path| {
        for arguments in [vec!["compare", path], vec!["compare"], vec!["check"]] {
            let output = dogdays(&arguments);
            let text = String::from_utf8(output.stdout).expect("UTF-8");
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "{arguments:?}: {line}");
            }
        }
        let text = String::from_utf8(dogdays(&["compare", path]).stdout).expect("UTF-8");
        assert!(text.contains("far too long for its column *\n"), "{text}");
        assert!(text.contains("not allowed for this run"), "{text}");
    });
}

#[test]
fn named_variants_change_what_they_name_and_nothing_else() {
    let more = r#"
[[compare]]
name = "cooler bed"
job.bed = "50 degC"

[[compare]]
name = "petg"
material.name = "petg"

[[compare]]
name = "fan"
[compare.arrangement]
kind = "extracting"
flow = "40 m3/h"
"#;
    with_run(more, |path| {
        let value = json(&dogdays(&["compare", path, "--json"]));
        let rows = value["arrangements"].as_array().expect("a list");
        let names: Vec<&str> = rows.iter().filter_map(|r| r["name"].as_str()).collect();
        assert_eq!(names, ["closed", "cooler bed", "petg", "fan"]);
        assert!(
            rows[1]["change_K"].as_f64() > Some(0.0),
            "a cooler bed warms the chamber less"
        );
        assert_eq!(
            rows[1]["softening_limit_degC"],
            rows[0]["softening_limit_degC"]
        );
        // The catalogue's limit for petg, 75 degC dry and 2 K less damp.
        assert_eq!(rows[2]["softening_limit_degC"], 73.0);
        assert_eq!(rows[3]["arrangement"], "extracting");
        assert_eq!(rows[3]["flow_m3_per_h"], 40.0);
    });
}

/// Wrong `[[compare]]` tables: exit code 2, the line, and what to write instead.
#[test]
fn wrong_variants_are_refused_with_their_line() {
    let cases = [
        (
            "[[compare]]\nname = \"x\"\njob.bedd = \"50 degC\"\n",
            "did you mean `bed`",
        ),
        (
            "[[compare]]\nname = \"x\"\njob.bed = \"50\"\n",
            "has no unit",
        ),
        (
            "[[compare]]\nname = \"x\"\njob.bed = \"5000 degC\"\n",
            "has to lie between",
        ),
        ("[[compare]]\njob.bed = \"50 degC\"\n", "needs a `name`"),
        ("[[compare]]\nname = \"\"\n", "is empty"),
        (
            "[[compare]]\nname = \"x\"\n[[compare]]\nname = \"x\"\n",
            "two [[compare]] of the name",
        ),
        (
            "[[compare]]\nname = \"x\"\narrangement.kind = \"extracting\"\n",
            "[[compare]] \"x\": \"extracting\" needs the flow",
        ),
        ("[compare]\nname = \"x\"\n", "should be a list of tables"),
        (
            "[[compare]]\nname = \"x\"\n[[compare.compare]]\nname = \"y\"\n",
            "`compare` is not a key",
        ),
    ];
    for (more, said) in cases {
        with_run(more, |path| {
            let output = dogdays(&["compare", path]);
            let text = stderr(&output);
            assert_eq!(output.status.code(), Some(2), "{more}: {text}");
            assert!(text.contains(said), "{more}: {text}");
            assert!(text.contains("run.toml:"), "no line: {text}");
            assert!(output.stdout.is_empty());
        });
    }
}

#[test]
fn writes_table_and_pictures() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = |name: &str| folder.path().join(name).display().to_string();
    let (csv, svg, png) = (file("c.csv"), file("c.svg"), file("c.png"));
    assert_eq!(
        dogdays(&["compare", "--csv", &csv, "--plot", &svg])
            .status
            .code(),
        Some(20)
    );
    assert_eq!(
        dogdays(&["compare", "--plot", &png]).status.code(),
        Some(20)
    );
    let mut rows = csv::Reader::from_path(&csv).expect("a CSV");
    let header = rows.headers().expect("a header").clone();
    assert!(header.iter().any(|h| h == "breakeven_room_degC"));
    assert_eq!(rows.records().filter_map(Result::ok).count(), 6);
    let svg = std::fs::read_to_string(&svg).expect("a picture");
    assert!(svg.starts_with("<svg") || svg.starts_with("<?xml"));
    assert!(svg.contains("lid off *: holds"));
    let png = std::fs::read(&png).expect("a picture");
    // The signature of the PNG specification (ISO/IEC 15948).
    assert_eq!(png[..8], [137, 80, 78, 71, 13, 10, 26, 10]);
    let output = dogdays(&["compare", "--plot", "c.jpg"]);
    assert_eq!(output.status.code(), Some(2));
}

#[test]
fn check_names_remedies_when_it_does_not_hold() {
    let value = json(&dogdays(&["check", "--json"]));
    assert_eq!(value["verdict"], "softens");
    let found = value["remedies"]["found"].as_array().expect("a list");
    assert!(!found.is_empty());
    let first_forbidden = found.iter().position(|r| r["allowed"] == false);
    for (k, r) in found.iter().enumerate() {
        assert_eq!(r["verdict"], "holds", "{r}");
        let is_after = first_forbidden.is_some_and(|first| k >= first);
        assert_eq!(r["allowed"], !is_after, "what is not allowed comes last");
    }
    assert!(
        first_forbidden.is_some(),
        "the demo must stay closed: lid off is marked"
    );
}

#[test]
fn a_run_that_holds_needs_no_remedy() {
    with_run("", |path| {
        let cool = std::fs::read_to_string(path)
            .expect("the run")
            .replace("33 degC", "18 degC");
        std::fs::write(path, cool).expect("it can be written");
        let plain = json(&dogdays(&["check", path, "--json"]));
        assert_eq!(plain["verdict"], "holds");
        assert!(plain.get("remedies").is_none());
        let asked = json(&dogdays(&["check", path, "--json", "--remedies"]));
        assert_eq!(asked["remedies"]["needed"], false);
        let text =
            String::from_utf8(dogdays(&["check", path, "--remedies"]).stdout).expect("UTF-8");
        assert!(text.contains("none needed"), "{text}");
    });
}

/// A room warmer than the material can bear: the answer names the floor, and the floor is no lower
/// than the room's own temperature, since the filament comes from the room and passes a warm motor.
#[test]
fn a_room_too_warm_names_the_floor() {
    with_run("", |path| {
        let text = std::fs::read_to_string(path).expect("the run");
        let hot = text
            .replace("33 degC", "50 degC")
            .replace("\"3 K\"", "\"25 K\"");
        std::fs::write(path, hot).expect("it can be written");
        let output = dogdays(&["check", path, "--json"]);
        let remedies = json(&output)["remedies"].clone();
        let floor = remedies["floor"]["peak_degC"].as_f64().expect("a floor");
        assert!(floor >= 50.0 - 0.01, "{remedies}");
        assert!(remedies["nearest"]["margin_K"].as_f64() < Some(25.0));
        let text = String::from_utf8(dogdays(&["check", path]).stdout).expect("UTF-8");
        assert!(text.contains("the room itself is too warm"), "{text}");
        assert!(
            text.lines().all(|line| line.chars().count() <= 80),
            "{text}"
        );
    });
}

/// A schedule is the first row's alone: the others hold for the whole run, as their names say.
#[test]
fn usual_arrangements_hold_throughout() {
    let schedule = |kind: &str| {
        format!(
            "[arrangement]\nkind = \"closed\"\n[[arrangement.schedule]]\nat = \"2 h\"\nduration = \"7 h\"\nkind = \"{kind}\"\n"
        )
    };
    let margins = |more: &str| {
        let mut found = std::collections::BTreeMap::new();
        let mut text = String::new();
        with_run_that(more, &mut |path| {
            for row in json(&dogdays(&["compare", path, "--json"]))["arrangements"]
                .as_array()
                .expect("a list")
            {
                let name = row["name"].as_str().expect("a name").to_owned();
                found.insert(name, row["margin_K"].as_f64().expect("a number"));
            }
            text = String::from_utf8(dogdays(&["compare", path]).stdout).expect("UTF-8");
        });
        (found, text)
    };
    let (plain, text) = margins("");
    assert!(!text.contains("as in the run file"), "{text}");
    let (scheduled, text) = margins(&schedule("door open"));
    assert_eq!(scheduled.len(), 7);
    for (name, margin_K) in &plain {
        let other_K = scheduled[name];
        assert!(
            (margin_K - other_K).abs() < 1e-3,
            "{name}: {margin_K} {other_K}"
        );
    }
    assert!(scheduled["as in the run file"] > scheduled["closed"] + 0.1);
    let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("every other row holds for the whole run"),
        "{text}"
    );
}

/// Where the shell is too tight for any small fan, nobody is told that extraction is fine.
#[test]
fn what_no_fan_can_do_is_not_called_fine() {
    let more = r#"
[[compare]]
name = "extracting"
machine.leak_area = "0 cm2"
machine.vent = [{ area = "3 cm2", height = "50 mm" }]
arrangement = { kind = "extracting", flow = "40 m3/h" }
"#;
    with_run(more, |path| {
        let text = String::from_utf8(dogdays(&["compare", path]).stdout).expect("UTF-8");
        let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains("Extracting would be fine up to"), "{text}");
        assert!(said.contains("no small fan holds the"), "{text}");
    });
}

/// What a compared variant leaves open is not said of the run.
#[test]
fn a_hint_about_a_variant_names_it() {
    let more = "[[compare]]\nname = \"aired\"\narrangement.kind = \"lid off\"\n";
    with_run(more, |path| {
        let said = stderr(&dogdays(&["compare", path]));
        assert!(said.contains("leaves it open"), "{said}");
        assert!(
            said.contains("[[compare]] \"aired\": the machine must stay closed"),
            "{said}"
        );
    });
}

/// Materials differ in their limits, and the table says so.
#[test]
fn limits_of_their_own_are_told() {
    with_run(
        "[[compare]]\nname = \"petg\"\nmaterial.name = \"petg\"\n",
        |path| {
            let text = String::from_utf8(dogdays(&["compare", path]).stdout).expect("UTF-8");
            let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(said.contains("held to its own softening limit"), "{text}");
            assert!(said.contains("petg 73.0"), "{text}");
        },
    );
}
