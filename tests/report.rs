//! The sheets for the shop's file: whole pages that need nothing else, whose numbers are those of the JSON, and in
//! which nothing acts that somebody wrote.
#![cfg(feature = "cli")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data");

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_dogdays"))
        .args(arguments)
        .current_dir(folder)
        .env("XDG_DATA_HOME", "/nonexistent")
        .env("SOURCE_DATE_EPOCH", "1783839600")
        .stdin(Stdio::null())
        .output()
        .expect("starts")
}

fn shop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    for file in ["run.toml", "weather.csv", "summer.csv", "first-day.csv"] {
        fs::copy(Path::new(DEMO).join(file), folder.path().join(file)).expect("copied");
    }
    folder
}

/// The page that a command writes.
fn page(folder: &Path, arguments: &[&str]) -> String {
    let mut all = arguments.to_vec();
    all.extend(["--report", "sheet.html", "--force"]);
    let output = run(folder, &all);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        matches!(output.status.code(), Some(0 | 10 | 20 | 30)),
        "{said}"
    );
    fs::read_to_string(folder.join("sheet.html")).expect("a page")
}

/// Of all commands that write one.
const COMMANDS: [&[&str]; 5] = [
    &["check", "run.toml"],
    &["compare", "run.toml", "--no-band"],
    &["size-fan", "run.toml", "--no-band"],
    &[
        "season",
        "run.toml",
        "--weather",
        "summer.csv",
        "--starts",
        "12 h",
    ],
    &["calibrate", "run.toml", "--log", "first-day.csv"],
];

/// A page that a browser shows without a network and without a script: nothing in it names another place, nothing
/// runs, and what it allows is only its own style and font.
#[test]
fn every_sheet_stands_for_itself() {
    let shop = shop();
    for command in COMMANDS {
        let page = page(shop.path(), command);
        assert!(
            page.starts_with("<!DOCTYPE html><html lang=\"en\">"),
            "{command:?}"
        );
        for barred in [
            "<script",
            "http:",
            "https:",
            "src=\"",
            "<link",
            "<img",
            "@import",
            "javascript",
        ] {
            assert!(!page.contains(barred), "{command:?}: {barred}");
        }
        assert!(
            page.contains("default-src 'none'; style-src 'sha256-"),
            "{command:?}"
        );
        for needed in [
            "<title>Pump housing for Orvelsby waterworks - ",
            "<meta name=\"viewport\"",
            "How to make this sheet again",
            "signature",
            "SHA-256",
        ] {
            assert!(page.contains(needed), "{command:?}: {needed}");
        }
        // As many elements begin as end.
        for element in [
            "svg", "table", "section", "figure", "details", "text", "polyline",
        ] {
            let begins = page.matches(&format!("<{element} ")).count()
                + page.matches(&format!("<{element}>")).count();
            let ends = page.matches(&format!("</{element}>")).count();
            assert_eq!(begins, ends, "{command:?}: {element}");
        }
        // Every drawing says in words what it shows, and no two have one name.
        let drawings = page.matches("<svg class=\"drawing\"").count();
        assert_eq!(page.matches("<desc id=").count(), drawings);
        let mut names: Vec<&str> = page
            .match_indices(" id=\"")
            .map(|(at, key)| {
                let rest = &page[at + key.len()..];
                &rest[..rest.find('"').expect("closed")]
            })
            .collect();
        let all = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), all, "{command:?}");
    }
}

/// The digest of FIPS 180-4's own example "abc" is in the unit tests of the library; here the file's is found again
/// by another program where one is at hand.
#[test]
fn inputs_are_told_by_their_digests() {
    let shop = shop();
    let page = page(shop.path(), &["check", "run.toml", "--no-band"]);
    let Ok(other) = Command::new("sha256sum")
        .args(["run.toml", "weather.csv"])
        .current_dir(shop.path())
        .output()
    else {
        println!("skipped: there is no sha256sum here");
        return;
    };
    let told = String::from_utf8(other.stdout).expect("UTF-8");
    let digests: Vec<&str> = told.lines().filter_map(|l| l.split(' ').next()).collect();
    assert_eq!(digests.len(), 2);
    for digest in digests {
        assert!(page.contains(digest), "{digest}");
    }
    assert!(page.contains("dogdays check run.toml --no-band --report sheet.html --force"));
}

#[test]
fn numbers_are_those_of_the_json() {
    let shop = shop();
    let page = page(shop.path(), &["check", "run.toml"]);
    let json = run(shop.path(), &["check", "run.toml", "--json"]).stdout;
    let json: Value = serde_json::from_slice(&json).expect("JSON");
    let text = |value: &Value| format!("{:.1}", value.as_f64().expect("a number"));
    for station in json["stations"].as_array().expect("stations") {
        let name = station["station"].as_str().expect("a name");
        let row = format!("<th scope=\"row\">{name}</th>");
        let at = page.find(&row).expect("a row");
        let cells = &page[at..at + page[at..].find("</tr>").expect("its end")];
        for key in ["max_degC", "limit_degC"] {
            let cell = format!("<td class=\"number\">{}</td>", text(&station[key]));
            assert!(cells.contains(&cell), "{name} {key}: {cell} in {cells}");
        }
    }
    let softens = (100.0 * json["chance_softens"].as_f64().expect("a chance")).round();
    assert!(page.contains(&format!("{softens} of 100 soften")));
    let reading = text(&json["alarm"]["reading_degC"]);
    assert!(page.contains(&format!("shows {reading} °C")));
    assert!(page.contains("<strong>softens:</strong>"));
}

/// Whatever somebody wrote stands on the page as text.
#[test]
fn nothing_that_somebody_wrote_acts() {
    const HOSTILE: &str =
        r#"</title><script>alert(1)</script><svg onload=alert(2)>&amp;' \"x\" \u202e\u0007"#;
    let shop = shop();
    let run_file = fs::read_to_string(shop.path().join("run.toml")).expect("a run file");
    let run_file = run_file.replace("Pump housing for Orvelsby waterworks", HOSTILE);
    let run_file = format!("{run_file}\n[[compare]]\nname = \"{HOSTILE}\"\npart.mass = \"1 kg\"\n");
    fs::write(shop.path().join("run.toml"), run_file).expect("written");
    for command in COMMANDS {
        let page = page(shop.path(), command);
        assert!(
            !page.contains("<script") && !page.contains("<svg onload"),
            "{command:?}"
        );
        assert!(page.contains("&lt;script&gt;alert(1)"), "{command:?}");
        assert!(
            !page.contains('\u{202e}') && !page.contains('\u{7}'),
            "{command:?}"
        );
    }
}

#[test]
fn only_an_earlier_sheet_is_replaced() {
    let shop = shop();
    let arguments = ["check", "run.toml", "--no-band", "--report", "sheet.html"];
    fs::write(shop.path().join("sheet.html"), "<p>mine</p>").expect("written");
    let refused = run(shop.path(), &arguments);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("no earlier output of this program"));
    fs::remove_file(shop.path().join("sheet.html")).expect("removed");
    for _ in 0..2 {
        assert_eq!(run(shop.path(), &arguments).status.code(), Some(20));
    }
    let wrong = run(shop.path(), &["check", "run.toml", "--report", "sheet.pdf"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&wrong.stderr).contains("end the file name with .html"));
    let input = run(shop.path(), &["check", "run.toml", "--report", "run.toml"]);
    assert_eq!(input.status.code(), Some(2));
}

/// Equal inputs at one time give equal pages.
#[test]
fn a_sheet_can_be_made_again() {
    let shop = shop();
    let first = page(shop.path(), &["check", "run.toml", "--no-band"]);
    assert_eq!(
        first,
        page(shop.path(), &["check", "run.toml", "--no-band"])
    );
    assert!(
        first.contains("Sun 12 Jul 2026 07:00"),
        "the time of SOURCE_DATE_EPOCH"
    );
}
