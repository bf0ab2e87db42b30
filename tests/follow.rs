//! What the command line promises of `follow`.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use std::path::Path;

const DAY: &str = include_str!("../demo-data/first-day.csv");

fn dogdays(folder: &Path, arguments: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("dogdays")
        .expect("built")
        .current_dir(folder)
        .args(arguments)
        .assert()
}

fn stderr(a: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&a.get_output().stderr).into_owned()
}

fn stdout(a: &assert_cmd::assert::Assert) -> String {
    String::from_utf8_lossy(&a.get_output().stdout).into_owned()
}

/// The demo's run file and the first so many rows of its log, in a folder.
fn shop(rows: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("temp dir");
    for name in ["run.toml", "weather.csv"] {
        let text = std::fs::read_to_string(Path::new("demo-data").join(name)).expect("there");
        std::fs::write(folder.path().join(name), text).expect("written");
    }
    let lines: Vec<&str> = DAY.lines().take(rows + 1).collect();
    let log = folder.path().join("live.csv");
    std::fs::write(log, lines.join("\n") + "\n").expect("written");
    folder
}

const FEW: [&str; 2] = ["--samples", "32"];

fn follow<'a>(more: &[&'a str]) -> Vec<&'a str> {
    [&["follow", "run.toml", "--log", "live.csv"][..], &FEW, more].concat()
}

#[test]
fn json_has_what_others_rely_on() {
    let folder = shop(36);
    let a = dogdays(folder.path(), &follow(&["--json"])).code(20);
    let v: serde_json::Value = serde_json::from_slice(&a.get_output().stdout).expect("JSON");
    for key in [
        "schema",
        "run",
        "now",
        "rows",
        "rms_before_K",
        "rms_after_K",
        "verdict",
        "station",
        "peak_degC",
        "limit_degC",
        "margin_K",
        "chance_softens",
        "alarm",
        "act",
    ] {
        assert!(!v[key].is_null(), "{key}: {v:#}");
    }
    assert_eq!(v["verdict"], "softens");
    assert_eq!(v["act"], true);
    assert_eq!(v["now"], "2026-07-13T09:55:00");
    assert_eq!(v["rows"], 3 * 36);
    for key in ["p05_degC", "p50_degC", "p95_degC"] {
        assert!(v["peak"][key].is_number(), "{key}");
    }
    assert!(v["alarm"]["reading_degC"].is_number() && v["alarm"]["now_degC"].is_number());
    let chance = v["chance_softens"].as_f64().expect("a number");
    assert!((0.3..=1.0).contains(&chance), "{chance}");
}

/// The line that is just being written is left for the next look.
#[test]
fn a_file_that_is_being_written_is_no_trouble() {
    let folder = shop(24);
    let path = folder.path().join("live.csv");
    let text = std::fs::read_to_string(&path).expect("there");
    std::fs::write(&path, format!("{text}2026-07-13 09:00,25.")).expect("written");
    let a = dogdays(folder.path(), &follow(&["--plot", "now.svg"])).code(20);
    let said = stdout(&a);
    assert!(
        said.starts_with("Mon 13 Jul 08:55, 119 h left: softens"),
        "{said}"
    );
    assert!(said.contains("act when a thermometer at the"), "{said}");
    assert!(
        said.lines().count() <= 24 && said.lines().all(|l| l.chars().count() <= 80),
        "{said}"
    );
    let picture = std::fs::read_to_string(folder.path().join("now.svg")).expect("drawn");
    assert!(picture.contains("<svg"));
    let quiet = dogdays(folder.path(), &follow(&["-q"])).code(20);
    assert_eq!(stdout(&quiet).lines().count(), 1);
}

/// The command is told what is known; nothing of it comes to standard output, and its failing is no failure.
#[test]
#[cfg(unix)]
fn who_should_act_is_called() {
    let folder = shop(24);
    let command = "cat > told.json; echo called; exit 3";
    let a = dogdays(folder.path(), &follow(&["--json", "--on-alarm", command])).code(20);
    let told = std::fs::read_to_string(folder.path().join("told.json")).expect("called");
    let told: serde_json::Value = serde_json::from_str(&told).expect("JSON");
    let v: serde_json::Value = serde_json::from_slice(&a.get_output().stdout).expect("JSON alone");
    assert_eq!(told, v);
    let said = stderr(&a);
    assert!(
        said.contains("called") && said.contains("exit status: 3") && said.contains("nobody"),
        "{said}"
    );
}

/// Watching ends with the run.
#[test]
fn watching_ends_with_the_run() {
    let folder = shop(49);
    let path = folder.path().join("run.toml");
    let text = std::fs::read_to_string(&path).expect("there");
    let short = text.replace("duration = \"121 h\"", "duration = \"4 h\"");
    assert_ne!(short, text);
    std::fs::write(&path, short).expect("written");
    let a = dogdays(folder.path(), &follow(&["--json", "--every", "1 s"]));
    let said = stdout(&a);
    let last: serde_json::Value =
        serde_json::from_str(said.lines().last().expect("a line")).expect("JSON in a line");
    assert_eq!(last["now_h"], 4.0, "{said}");
    assert_eq!(last["act"], false);
}

/// A log that is not there yet, then a bad row: the watch goes on, and somebody is called when it stays so.
#[test]
#[cfg(unix)]
fn a_watch_outlives_a_log_that_can_not_be_read() {
    let folder = shop(12);
    let path = folder.path().join("live.csv");
    std::fs::remove_file(&path).expect("gone");
    let command = "cat >> told.json; echo >> told.json";
    let arguments = follow(&["--json", "--every", "1 s", "--on-alarm", command]);
    let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin("dogdays"))
        .current_dir(folder.path())
        .args(arguments)
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("starts");
    let told = folder.path().join("told.json");
    let called = |word: &str| {
        let text = std::fs::read_to_string(&told).unwrap_or_default();
        text.contains(word)
    };
    let wait = |until: &dyn Fn() -> bool| {
        // Far longer than it takes: on a busy machine a look takes seconds.
        for _ in 0..600 {
            if until() {
                return true;
            }
            std::thread::sleep(std::time::Duration::from_millis(200));
        }
        false
    };
    let lost = wait(&|| called("the log can't be read"));
    let lines: Vec<&str> = DAY.lines().take(25).collect();
    std::fs::write(&path, lines.join("\n") + "\n").expect("written");
    let likely = wait(&|| called("likely"));
    child.kill().expect("ends");
    let said = child.wait_with_output().expect("ended");
    let said = String::from_utf8_lossy(&said.stderr).into_owned();
    assert!(lost && likely, "{lost} {likely}\n{said}");
}

#[test]
fn what_can_not_be_followed_is_told() {
    let folder = shop(12);
    for (arguments, words) in [
        (vec!["follow", "run.toml"], &["--log live.csv"][..]),
        (follow(&["--every", "now"]), &["--every", "min"]),
        (follow(&["--every", "0 s"]), &["longer than nothing"]),
        (follow(&["--plot", "x.pdf"]), &[".svg or .png"]),
        (follow(&["--plot", "live.csv"]), &[".svg or .png"]),
        (vec!["follow", "run.toml", "--log", "lve.csv"], &["lve.csv"]),
        (follow(&["--column", "T9 = feeder motor"]), &["T9"]),
    ] {
        let a = dogdays(folder.path(), &arguments).code(2);
        assert!(a.get_output().stdout.is_empty(), "{arguments:?}");
        let said = stderr(&a);
        for word in words {
            assert!(said.contains(word), "{arguments:?}: {word} in\n{said}");
        }
    }
}
