//! The handbook's page of keys is what the declarations say.
#![cfg(feature = "cli")]

use std::path::Path;

#[test]
fn the_page_of_keys_is_up_to_date() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = std::fs::read_to_string(root.join("docs/keys.md")).expect("docs/keys.md");
    assert!(
        page == dogdays::output::keys::page(),
        "write it anew: dogdays explain --page > docs/keys.md"
    );
    let readme = std::fs::read_to_string(root.join("README.md")).expect("README.md");
    assert!(readme.contains("(docs/keys.md)"), "the README leads to it");
}

/// A page that stands in a table of the declarations has a row for each of its keys.
#[test]
fn the_page_names_every_key_with_its_example() {
    let page = dogdays::output::keys::page();
    for table in dogdays::keys::reference::tables() {
        for key in table.keys {
            let row = format!("| `{}` |", key.field.key);
            assert!(page.contains(&row), "{}", key.path);
        }
    }
    for said in [
        "on_above",
        "off_below",
        "[[job.pause]]",
        "bench_resistance",
        "air_changes",
    ] {
        assert!(page.contains(said), "{said}");
    }
    assert!(!page.contains("0.0166"), "limits are in units people read");
}

/// Standard output and error of a command, and its exit code.
fn dogdays(arguments: &[&str]) -> (String, String, Option<i32>) {
    let mut command = assert_cmd::Command::cargo_bin("dogdays").expect("built");
    let output = command.args(arguments).output().expect("runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (
        text(&output.stdout),
        text(&output.stderr),
        output.status.code(),
    )
}

#[test]
fn keys_are_explained_on_the_screen() {
    let (out, _, code) = dogdays(&["explain", "thermostat"]);
    assert_eq!(code, Some(0));
    assert!(out.contains("[arrangement.thermostat]") && out.contains("on_above = \"42 degC\""));
    let (out, ..) = dogdays(&["explain", "heat", "break"]);
    assert!(out.contains("coefficients.heat_break"), "{out}");
    let (out, ..) = dogdays(&["--units", "us", "explain", "room.temperature"]);
    assert!(out.contains("-22 to 140 degF"), "{out}");
    let (out, ..) = dogdays(&["explain", "machine.bed", "--json"]);
    let json: serde_json::Value = serde_json::from_str(&out).expect("one object");
    assert_eq!(json["schema"], 1);
    assert_eq!(json["keys"][0]["key"], "machine.bed.height");
    let (out, error, code) = dogdays(&["explain", "durration"]);
    assert_eq!((out.as_str(), code), ("", Some(2)));
    assert!(error.contains("did you mean `duration`?"), "{error}");
    let (out, ..) = dogdays(&["manual"]);
    assert!(out.contains("KEYS OF A RUN FILE") && out.contains("off_below"));
}

#[test]
fn values_are_shown_in_the_units_asked_for() {
    let (si, ..) = dogdays(&["catalogue", "pla"]);
    assert!(si.contains("softening_limit = 55 degC"), "{si}");
    let (us, ..) = dogdays(&["--units", "us", "catalogue", "pla"]);
    assert!(us.contains("softening_limit = 131 degF"), "{us}");
    let (us, ..) = dogdays(&["--units", "us", "check", "--explain"]);
    assert!(us.contains("140 degF") && us.contains(" in "), "{us}");
    // Other programs get the same in either.
    let json = |units| dogdays(&["--units", units, "catalogue", "pla", "--json"]).0;
    assert_eq!(json("si"), json("us"));
}
