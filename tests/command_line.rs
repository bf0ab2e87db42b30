//! What the command line promises: exit codes, JSON, files, polite failure.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};

fn dogdays() -> Command {
    let mut c = Command::cargo_bin("dogdays").expect("the program is built with its tests");
    c.env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .env_remove("XDG_DATA_HOME");
    c
}

/// A folder of its own for a test, with the demo's files in it.
fn folder() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    for name in ["run.toml", "weather.csv"] {
        std::fs::copy(demo.join(name), dir.path().join(name)).unwrap();
    }
    dir
}

/// Writes the demo's run file with a text replaced, and returns its path.
fn changed(dir: &Path, from: &str, to: &str) -> PathBuf {
    let text = std::fs::read_to_string(dir.join("run.toml")).unwrap();
    assert!(text.contains(from), "the demo no longer has {from:?}");
    let path = dir.join("changed.toml");
    std::fs::write(&path, text.replacen(from, to, 1)).unwrap();
    path
}

fn json(c: &mut Command) -> (Value, i32) {
    let out = c.output().unwrap();
    let text = String::from_utf8(out.stdout).unwrap();
    let value = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{e}: {text}"));
    (value, out.status.code().unwrap())
}

#[test]
fn the_demo_softens_closed_and_holds_extracting() {
    let (closed, code) = json(dogdays().args(["check", "--json"]));
    assert_eq!(code, 20);
    assert_eq!(closed["verdict"], "softens");
    let dir = folder();
    let run = changed(
        dir.path(),
        "kind = \"closed\"",
        "kind = \"extracting\"\nflow = \"40 m3/h\"",
    );
    let (extracting, code) = json(dogdays().arg("check").arg(&run).arg("--json"));
    assert_eq!(code, 0, "{extracting}");
    assert_eq!(extracting["verdict"], "holds");
    let tight = changed(
        dir.path(),
        "kind = \"closed\"",
        "kind = \"extracting\"\nflow = \"20 m3/h\"",
    );
    let (_, code) = json(dogdays().arg("check").arg(&tight).arg("--json"));
    assert_eq!(code, 10);
}

/// The part of the JSON that others may rely on, name by name.
/// Eight kilograms in an hour: by hand 8/3600 kg/s times the heat capacity over some 170 K is far above any
/// hotend's 60 W.
#[test]
fn a_job_that_can_not_run_says_so_first() {
    let dir = folder();
    let run = changed(dir.path(), "mass = \"2.3 kg\"", "mass = \"8 kg\"");
    let text = std::fs::read_to_string(&run).unwrap();
    std::fs::write(&run, text.replace("121 h", "1.25 h")).unwrap();
    let (checked, code) = json(dogdays().arg("check").arg(&run).arg("--json"));
    assert_eq!(
        (code, checked["verdict"].as_str()),
        (30, Some("cannot run"))
    );
    let heater = &checked["cannot_run"]["heaters"][0];
    assert_eq!(heater["heater"], "nozzle");
    assert!(heater["needed_W"].as_f64() > Some(300.0), "{heater}");
    assert!(heater["reached_degC"].as_f64() < Some(100.0), "{heater}");
    let text = dogdays().arg("check").arg(&run).output().unwrap().stdout;
    let text = String::from_utf8(text).unwrap();
    assert!(text.starts_with("cannot run: "), "{text}");
    assert!(text.contains("run.duration"), "{text}");
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    for study in ["compare", "size-fan"] {
        let out = dogdays().arg(study).arg(&run).output().unwrap();
        assert_eq!(out.status.code(), Some(30), "{study}");
        let text = String::from_utf8(out.stdout).unwrap();
        assert!(text.contains("cannot run"), "{study}: {text}");
        assert!(
            text.lines().all(|l| l.chars().count() <= 80),
            "{study}: {text}"
        );
    }
}

#[test]
fn json_has_the_promised_names_and_adds_up() {
    let (v, _) = json(dogdays().args(["check", "--json"]));
    assert_eq!(v["schema"], 1);
    for name in [
        "run",
        "machine",
        "material",
        "arrangement",
        "verdict",
        "softening_basis",
    ] {
        assert!(v[name].is_string(), "{name}");
    }
    for name in [
        "softening_limit_degC",
        "required_margin_K",
        "margin_K",
        "hours_above_limit_h",
        "hours_within_margin_h",
        "first_above_at_h",
    ] {
        assert!(v[name].is_number(), "{name}");
    }
    assert!(v["peak"]["filament_degC"].is_number() && v["peak"]["at_h"].is_number());
    assert!(v["peak"]["at"].as_str().unwrap().starts_with("2026-07-15T"));
    for name in ["station", "limit_degC", "max_degC", "mean_degC"] {
        assert!(!v["stations"][0][name].is_null(), "{name}");
    }
    for name in ["node", "min_degC", "mean_degC", "max_degC", "end_degC"] {
        assert!(!v["nodes"][0][name].is_null(), "{name}");
    }
    assert!(v["spools"].is_null() && v["electricity"]["together_kWh"].is_number());
    for name in ["consumer", "energy_kWh"] {
        assert!(!v["electricity"]["consumers"][0][name].is_null(), "{name}");
    }
    assert!(v["electricity"]["costs"].is_null() && v["electricity"]["lacks_fan"] == false);
    assert_eq!(v["log_sheet"]["before"][0]["filament"], "dry");
    let during = v["log_sheet"]["during"].as_array().unwrap();
    for name in ["at", "at_h", "event"] {
        assert!(during.iter().all(|event| !event[name].is_null()), "{name}");
    }
    assert_eq!(during.last().unwrap()["event"], "end");
    assert_eq!(during.last().unwrap()["at"], "2026-07-18T08:00:00");
    let sum = |side: &Value| -> f64 {
        side.as_object()
            .unwrap()
            .values()
            .map(|q| q.as_f64().unwrap())
            .sum()
    };
    let heat = &v["heat"];
    let (into, out) = (sum(&heat["in_J"]), sum(&heat["out_J"]));
    let stored = heat["stored_J"].as_f64().unwrap();
    assert!(
        (into - out - stored).abs() < 1e-6 * into,
        "{into} in, {out} out, {stored} stored"
    );
    assert!(heat["unaccounted_relative"].as_f64().unwrap() < 1e-6);
    for name in ["method", "steps", "rejected", "evaluations"] {
        assert!(!v["integrator"][name].is_null(), "{name}");
    }
    let margin =
        v["peak"]["limit_degC"].as_f64().unwrap() - v["peak"]["filament_degC"].as_f64().unwrap();
    assert!((margin - v["margin_K"].as_f64().unwrap()).abs() < 1e-3);
    assert!(v["warnings"].is_array() && !v["cautions"].as_array().unwrap().is_empty());
}

/// A real heat wave: Newark, July 2013, see tests/data/README.md.
#[test]
fn a_real_heat_wave_runs_with_both_integrators() {
    let dir = tempfile::tempdir().unwrap();
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/ewr-2013-07-14-20.csv");
    let path = dir.path().join("run.toml");
    let text = format!(
        "[run]\nname = \"heat wave\"\nstart = \"2013-07-14 00:00\"\nduration = \"160 h\"\n[machine]\nname = \"bench-220\"\n\
         [material]\nname = \"pla\"\n[part]\nmass = \"2.3 kg\"\n[room]\nseries = {data:?}\n[arrangement]\nkind = \"closed\"\n"
    );
    std::fs::write(&path, text).unwrap();
    let (main, code) = json(dogdays().arg("check").arg(&path).arg("--json"));
    assert_eq!(code, 20);
    let (cross, _) =
        json(
            dogdays()
                .arg("check")
                .arg(&path)
                .args(["--json", "--integrator", "explicit"]),
        );
    let peak = |v: &Value| v["peak"]["filament_degC"].as_f64().unwrap();
    assert!(
        (peak(&main) - peak(&cross)).abs() < 0.01,
        "{} {}",
        peak(&main),
        peak(&cross)
    );
    let room = main["nodes"]
        .as_array()
        .unwrap()
        .iter()
        .find(|n| n["node"] == "room")
        .unwrap();
    assert!(
        (room["max_degC"].as_f64().unwrap() - 37.8).abs() < 0.01,
        "{room}"
    );
    assert!(
        (room["mean_degC"].as_f64().unwrap() - 30.9).abs() < 0.2,
        "{room}"
    );
}

#[test]
fn tables_and_plots_are_written_whole() {
    let dir = folder();
    let (csv, svg, png) = (
        dir.path().join("a.csv"),
        dir.path().join("a.svg"),
        dir.path().join("a.PNG"),
    );
    for plot in [&svg, &png] {
        dogdays()
            .arg("check")
            .arg("--csv")
            .arg(&csv)
            .args(["--every", "30 min", "--plot"])
            .arg(plot)
            .assert()
            .code(20);
    }
    let mut reader = csv::Reader::from_path(&csv).unwrap();
    let header = reader.headers().unwrap().clone();
    assert_eq!(&header[0], "time");
    assert!(
        header.iter().skip(2).all(|h| h.ends_with("_degC")),
        "{header:?}"
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 243, "121 h in half hours, and the start");
    assert_eq!(&rows[0][0], "2026-07-13T07:00:00");
    assert_eq!(&rows[242][0], "2026-07-18T08:00:00");
    assert!(std::fs::read_to_string(&svg).unwrap().ends_with("</svg>\n"));
    assert_eq!(std::fs::read(&png).unwrap()[..4], [0x89, b'P', b'N', b'G']);
}

/// Width and height of a PNG stand in its first chunk (PNG, third edition, 11.2.1).
fn png_size(path: &Path) -> (u32, u32) {
    let bytes = std::fs::read(path).unwrap();
    let number = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap());
    (number(16), number(20))
}

#[test]
fn a_picture_has_the_size_asked_for() {
    let dir = folder();
    let png = dir.path().join("a.png");
    for study in ["check", "compare", "size-fan", "season"] {
        for (size, wanted) in [(None, (1200, 800)), (Some("700x500"), (700, 500))] {
            let mut c = dogdays();
            c.args([study, "--quiet", "--plot"]).arg(&png);
            c.args(size.iter().flat_map(|size| ["--plot-size", size]));
            c.output().unwrap();
            assert_eq!(png_size(&png), wanted, "{study}");
            std::fs::remove_file(&png).unwrap();
        }
        for size in ["700", "20x20", "9000x500", "big"] {
            let mut c = dogdays();
            c.current_dir(&dir)
                .args([study, "--plot", "a.png", "--plot-size", size]);
            fails(&mut c, &["--plot-size", "400x300", "700x500"]);
            assert!(!png.exists());
        }
        let mut c = dogdays();
        fails(c.args([study, "--plot-size", "700x500"]), &["--plot"]);
    }
}

/// Each with what its message must say; exit code 2, nothing written, nothing on standard output.
#[test]
fn wrong_input_gets_a_clear_error_and_leaves_nothing() {
    let dir = folder();
    let d = dir.path();
    let missing = d.join("absent.toml");
    let empty = d.join("empty.toml");
    std::fs::write(&empty, "").unwrap();
    let binary = d.join("binary.toml");
    std::fs::write(&binary, [b'[', 0xff, 0xfe]).unwrap();
    let cases: Vec<(PathBuf, &[&str])> = vec![
        (missing, &["absent.toml"]),
        (d.to_path_buf(), &["folder"]),
        (empty, &["empty"]),
        (binary, &["UTF-8"]),
    ];
    for (path, words) in cases {
        fails(dogdays().arg("check").arg(&path), words);
    }
    for (from, to, words) in [
        ("[part]", "[prat]", &["prat", "part"] as &[&str]),
        (
            "name = \"bench-220\"",
            "name = \"bench-22\"",
            &["bench-22", "bench-220"],
        ),
        ("mass = \"2.3 kg\"", "mass = 2.3", &["mass", "kg"]),
        ("mass = \"2.3 kg\"", "mass = \"2.3 h\"", &["mass", "kg"]),
        ("bed = \"60 degC\"", "bed = \"4000 degC\"", &["bed"]),
        ("duration = \"121 h\"", "duration = \"0 h\"", &["duration"]),
        (
            "duration = \"121 h\"",
            "duration = \"1000000 day\"",
            &["duration"],
        ),
        (
            "duration = \"121 h\"",
            "duration = \"30 day\"",
            &["weather.csv"],
        ),
        (
            "series = \"weather.csv\"",
            "series = \"wether.csv\"",
            &["wether.csv"],
        ),
        ("margin = \"3 K\"", "margin = \"3 degC\"", &["margin", "K"]),
    ] {
        let path = changed(d, from, to);
        fails(dogdays().arg("check").arg(&path), words);
    }
    for (arguments, words) in [
        (
            vec!["check", "--every", "10"],
            &["--every", "min"] as &[&str],
        ),
        (vec!["check", "--every", "0 s"], &["--every"]),
        (vec!["check", "--plot", "a.pdf"], &[".svg", ".png"]),
        (vec!["check", "--plot", "no/such/folder/a.svg"], &["folder"]),
        (vec!["check", "--csv", "no/such/folder/a.csv"], &["folder"]),
        (vec!["chekc"], &["check"]),
    ] {
        fails(dogdays().current_dir(d).args(&arguments), words);
    }
    let left: Vec<_> = std::fs::read_dir(d)
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert_eq!(left.len(), 5, "something was left behind: {left:?}");
}

fn fails(c: &mut Command, words: &[&str]) {
    let out = c.output().unwrap();
    let (stdout, stderr) = (
        String::from_utf8_lossy(&out.stdout),
        String::from_utf8_lossy(&out.stderr),
    );
    assert_eq!(out.status.code(), Some(2), "{c:?}\n{stderr}");
    assert!(stdout.is_empty(), "{c:?}\n{stdout}");
    for word in words {
        assert!(
            stderr.contains(word),
            "{c:?} does not say {word:?}:\n{stderr}"
        );
    }
    assert!(!stderr.contains("panicked"), "{stderr}");
}

#[test]
#[cfg(unix)]
fn a_folder_that_may_not_be_written_to_is_named() {
    // Root may write anywhere, so the read-only folder is one the kernel guards.
    fails(
        dogdays().args(["check", "--csv", "/proc/self/a.csv"]),
        &["/proc/self"],
    );
}

#[test]
#[cfg(unix)]
fn a_closed_pipe_is_no_error() {
    use std::process::{Command, Stdio};
    let program = assert_cmd::cargo::cargo_bin("dogdays");
    let mut child = Command::new(program)
        .args(["check"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let out = child.wait_with_output().unwrap();
    assert_eq!(
        out.status.code(),
        Some(20),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
}

/// The integrator's work on the demo: a slowdown shows here.
#[test]
fn the_integrator_takes_no_more_work_than_it_did() {
    let (v, _) = json(dogdays().args(["check", "--json"]));
    let effort = &v["integrator"];
    insta::assert_snapshot!(
        "effort_demo",
        format!(
            "{} steps, {} rejected, {} evaluations",
            effort["steps"], effort["rejected"], effort["evaluations"]
        )
    );
}
