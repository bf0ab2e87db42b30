//! The demo's workshop: three machines in one room, from the command line.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use std::path::Path;

/// A copy of the workshop with runs of 14 h, so that studies take no time, and a command in it.
fn shop(arguments: &[&str]) -> (String, String, Option<i32>) {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let folder = tempfile::tempdir().expect("temp dir");
    for name in ["workshop.toml", "cable-clips.toml"] {
        let text = std::fs::read_to_string(demo.join(name)).expect("the demo");
        let text = text
            .replace("\"121 h\"", "\"14 h\"")
            .replace("\"2.3 kg\"", "\"0.3 kg\"");
        std::fs::write(folder.path().join(name), text).expect("write");
    }
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

#[test]
fn a_check_says_who_warms_the_room() {
    let (out, _, _) = shop(&["check", "workshop.toml", "--json"]);
    let found: serde_json::Value = serde_json::from_str(&out).expect("JSON");
    let room = &found["room"];
    assert_eq!(room["is"], "building");
    assert_eq!(room["machines"], 2);
    assert_eq!(room["others"][0]["run"], "Cable clips");
    assert_eq!(room["others"][0]["start"], "2026-07-12T18:00:00");
    let unaccounted = found["heat"]["unaccounted_relative"].as_f64();
    assert!(
        unaccounted.is_some_and(|share| share < 1e-6),
        "{unaccounted:?}"
    );
    let (out, _, _) = shop(&["check", "workshop.toml"]);
    let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("warmed by 2 machines"), "{out}");
    assert!(
        words.contains("\"Cable clips\" from Sun 12 Jul 18:00"),
        "{out}"
    );
}

/// What is compared is this run, up to afternoons outdoors; the network says whose share it is.
#[test]
fn a_comparison_is_told_from_outdoors() {
    let (out, _, code) = shop(&["compare", "workshop.toml"]);
    assert!(code.is_some_and(|code| code != 1 && code != 2), "{code:?}");
    let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "afternoons of",
        "outdoors",
        "all machines of this room",
        "the other runs of this room",
    ] {
        assert!(words.contains(said), "{said} is missing in\n{out}");
    }
}

#[test]
fn a_run_that_is_listed_is_an_input() {
    let (_, said, code) = shop(&["check", "workshop.toml", "--csv", "cable-clips.toml"]);
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("cable-clips.toml"), "{said}");
}
