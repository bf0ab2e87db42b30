//! `[[failure]]` from the command line: what is said of a run that holds as long as everything works.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use std::path::Path;

/// The demo with failures; its text may be changed first. Standard output, error stream and exit code of a command
/// beside it.
fn shop(change: impl Fn(String) -> String, arguments: &[&str]) -> (String, String, Option<i32>) {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let folder = tempfile::tempdir().expect("temp dir");
    let text = std::fs::read_to_string(demo.join("failures.toml")).expect("the demo");
    std::fs::write(folder.path().join("failures.toml"), change(text)).expect("write");
    std::fs::copy(demo.join("weather.csv"), folder.path().join("weather.csv")).expect("copy");
    let output = Command::cargo_bin("dogdays")
        .expect("built")
        .current_dir(folder.path())
        .args(arguments)
        .output()
        .expect("run");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (
        text(output.stdout),
        text(output.stderr),
        output.status.code(),
    )
}

/// The demo with these of its failures alone.
fn keep(which: &'static [usize]) -> impl Fn(String) -> String {
    move |text| {
        let (before, rest) = text.split_once("[[failure]]").expect("the first");
        let (failures, after) = rest.split_once("[require]").expect("the end");
        let all: Vec<&str> = failures.split("[[failure]]").collect();
        let kept: String = which
            .iter()
            .map(|k| format!("[[failure]]{}", all[*k]))
            .collect();
        format!("{before}{kept}[require]{after}")
    }
}

/// Without what breaks lines.
fn flowing(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

const SENTENCE: &str = "But it softens if the air conditioner is off from Wed 15 Jul 14:00 on: 3 h 54 min are left until";

/// The verdict and the exit code are those of the run; nobody reads the verdict without the failure that spoils it.
#[test]
fn a_run_that_holds_says_what_failure_would_soften_it() {
    for more in [&[][..], &["--quiet"], &["--verbose"]] {
        let arguments = [&["check", "failures.toml"], more].concat();
        let (out, _, code) = shop(|text| text, &arguments);
        assert_eq!(code, Some(0));
        assert!(out.starts_with("holds:"), "{out}");
        assert!(flowing(&out).contains(SENTENCE), "{out}");
    }
    let (out, _, _) = shop(|text| text, &["check", "failures.toml"]);
    for row in [
        "fan off Wed 14:00",
        "power cut Wed 14:00",
        "all of them together",
    ] {
        assert!(out.contains(row), "{out}");
    }
    // It still fits a screen; how sure it is takes a line or two.
    let (out, _, _) = shop(|text| text, &["check", "failures.toml", "--no-band"]);
    assert!(out.lines().count() <= 23, "{out}");
}

#[test]
fn json_has_each_failure_and_all_together() {
    let (out, _, code) = shop(|text| text, &["check", "failures.toml", "--json"]);
    assert_eq!(code, Some(0));
    let found: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(found["verdict"], "holds");
    let failures = found["failures"].as_array().expect("a list");
    assert_eq!(failures.len(), 3);
    let (fan, cooler, power) = (&failures[0], &failures[1], &failures[2]);
    assert_eq!(fan["kind"], "fan off");
    assert_eq!(fan["at"], "2026-07-15T14:00:00");
    assert_eq!(fan["until"], "2026-07-16T07:00:00");
    assert_eq!(fan["time_left_s"], serde_json::Value::Null);
    assert_eq!(cooler["verdict"], "softens");
    assert_eq!(cooler["until"], serde_json::Value::Null);
    assert_eq!(cooler["until_h"], 121.0);
    let number = |of: &serde_json::Value, key: &str| of[key].as_f64().expect(key);
    assert!(number(cooler, "margin_K") < 0.0);
    let limit_K = number(cooler, "limit_degC") - number(cooler, "peak_degC");
    assert!((limit_K - number(cooler, "margin_K")).abs() < 1e-3);
    assert!((number(cooler, "time_left_s") / 3600.0 - 3.9).abs() < 0.1);
    assert_eq!(
        power["until_h"].as_f64().map(|h| (h * 3.0).round()),
        Some(166.0)
    );
    let together = &found["failures_together"];
    assert!(number(together, "time_left_s") < number(cooler, "time_left_s"));
    assert!(number(together, "margin_K") < number(cooler, "margin_K"));

    // One alone has nothing to be put together with.
    let (out, _, _) = shop(keep(&[0]), &["check", "failures.toml", "--json"]);
    let found: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(found["failures"].as_array().map(Vec::len), Some(1));
    assert_eq!(found["failures_together"], serde_json::Value::Null);
}

/// What a failure leaves within the required margin is said too, where nothing softens.
#[test]
fn a_failure_that_makes_it_tight_is_said() {
    let more = |text: String| {
        text.replace("\"600 W\"", "\"400 W\"")
            .replace("margin = \"3 K\"", "margin = \"4 K\"")
    };
    let only_cooler = |text: String| keep(&[1])(more(text));
    let (out, _, code) = shop(only_cooler, &["check", "failures.toml", "--quiet"]);
    assert_eq!(code, Some(0));
    let words = "But it is tight if the air conditioner is off from Wed 15 Jul 14:00 on:";
    assert!(flowing(&out).contains(words), "{out}");
}

/// Other commands say that they don't look at failures, and run as if there were none.
#[test]
fn other_commands_leave_failures_alone() {
    let short = |text: String| {
        text.replace("\"121 h\"", "\"60 h\"")
            .replace("\"2.3 kg\"", "\"1 kg\"")
    };
    let without = |text: String| keep(&[])(short(text));
    for arguments in [
        &["compare", "failures.toml", "--json"][..],
        &["size-fan", "failures.toml", "--json"],
    ] {
        let (out, err, code) = shop(short, arguments);
        assert!(
            flowing(&err).contains("looked at by `dogdays check` only"),
            "{err}"
        );
        let (plain, err, plain_code) = shop(without, arguments);
        assert!(!err.contains("[[failure]]"), "{err}");
        assert_eq!((out, code), (plain, plain_code), "{arguments:?}");
    }
}

#[test]
fn a_failure_that_can_not_be_is_shown_with_its_line() {
    let wrong = |text: String| {
        text.replace(
            "at = \"Wed 14:00\"\nuntil = \"07:00\"",
            "at = \"Wed 14:00\"\nuntil = \"2026-07-15 13:00\"",
        )
    };
    let (out, err, code) = shop(wrong, &["check", "failures.toml"]);
    assert_eq!((out.as_str(), code), ("", Some(2)));
    assert!(err.contains("failures.toml:44:9"), "{err}");
    let words = flowing(&err);
    assert!(
        words.contains("begins only at 55 h") && words.contains("`until` has to be later"),
        "{err}"
    );
}

/// The picture has a flag for each failure and the line of the one that is told.
#[test]
fn the_picture_marks_failures() {
    let folder = tempfile::tempdir().expect("temp dir");
    let size = |which: &'static [usize], name: &str| {
        let path = folder.path().join(name);
        let to = path.to_str().expect("UTF-8");
        let (_, err, code) = shop(keep(which), &["check", "failures.toml", "--plot", to]);
        assert_eq!(code, Some(0), "{err}");
        std::fs::read_to_string(path).expect("a picture").len()
    };
    let with = size(&[0, 1, 2], "with.svg");
    let without = size(&[], "without.svg");
    assert!(with > without + 1_000, "{with} {without}");
}
