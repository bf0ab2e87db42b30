//! What the command line promises about manners: help, exit codes, streams, files.
#![cfg(feature = "cli")]

use std::io::{BufRead, BufReader};
use std::process::{Command, Output, Stdio};

use dogdays::catalogue::{Catalogue, Kind};
use dogdays::keys::json_schema::json_schema;
use dogdays::keys::schema::{Kind as FieldKind, Table};

const SUBCOMMANDS: [&str; 7] = [
    "check",
    "compare",
    "size-fan",
    "catalogue",
    "new",
    "completions",
    "manual",
];

/// The program, with an environment that no user's settings reach.
fn program(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dogdays"));
    command
        .args(arguments)
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE")
        .env("XDG_DATA_HOME", "/nonexistent")
        .stdin(Stdio::null());
    command
}

fn run(arguments: &[&str]) -> Output {
    program(arguments).output().expect("the program starts")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("it ends by itself")
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

#[test]
fn bare_says_in_six_lines_what_to_do_first() {
    let output = run(&[]);
    assert_eq!(code(&output), 0);
    assert_eq!(out(&output).lines().count(), 6);
    assert!(out(&output).contains("dogdays check"));
    assert_eq!(err(&output), "");
}

#[test]
fn every_subcommand_helps_with_examples() {
    for subcommand in SUBCOMMANDS {
        let output = run(&[subcommand, "--help"]);
        assert_eq!(code(&output), 0, "{subcommand}");
        let text = out(&output);
        assert!(text.contains(&format!("Usage: dogdays {subcommand}")));
        assert!(text.contains("Examples:"), "{subcommand} has no examples");
        assert!(text.contains(&format!("  dogdays {subcommand}")));
    }
    let listed = out(&run(&["--help"]));
    for subcommand in SUBCOMMANDS {
        assert!(listed.contains(&format!("  {subcommand} ")), "{subcommand}");
    }
}

#[test]
fn what_nobody_knows_is_a_usage_error_with_a_remedy() {
    for (arguments, remedy) in [
        (vec!["chek"], "check"),
        (vec!["check", "--jsn"], "--json"),
        (vec!["check", "no-such-file.toml"], "there is no such file"),
        (vec!["catalogue", "plaa"], "\"pla\""),
        (vec!["check", "--models", "."], "needs a run file"),
        (vec!["catalogue", "--models", "no-such-folder"], "machines/"),
        (
            vec!["new", "--machine", "bench-60"],
            "--material and --duration",
        ),
    ] {
        let output = run(&arguments);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert_eq!(out(&output), "", "{arguments:?}");
        assert!(
            err(&output).contains(remedy),
            "{arguments:?}: {}",
            err(&output)
        );
    }
}

#[test]
fn colour_only_where_it_is_wanted() {
    let has_color = |arguments: &[&str], no_color: bool| {
        let mut command = program(arguments);
        if no_color {
            command.env("NO_COLOR", "1");
        }
        let output = command.output().expect("starts");
        output.stdout.contains(&0x1b) || output.stderr.contains(&0x1b)
    };
    for wrong in [
        ["check", "no-such.toml"].as_slice(),
        &["check", "-q"],
        &["nonsense"],
    ] {
        let with = |choice| [wrong, &["--color", choice]].concat();
        assert!(!has_color(wrong, false), "{wrong:?} into a pipe");
        assert!(!has_color(wrong, true), "{wrong:?} with NO_COLOR");
        assert!(!has_color(&with("never"), false), "{wrong:?} never");
        assert!(has_color(&with("always"), false), "{wrong:?} always");
    }
    assert!(
        !has_color(&["check", "--json", "--color=always"], false),
        "JSON is for programs"
    );
}

#[test]
fn quiet_says_the_verdict_and_nothing_else() {
    let output = run(&["check", "--quiet"]);
    assert_eq!(err(&output), "");
    let text = out(&output);
    assert_eq!(text.lines().count(), 1, "{text}");
    let verdict = match code(&output) {
        0 => "holds: ",
        10 => "tight: ",
        20 => "softens: ",
        other => panic!("exit code {other}"),
    };
    assert!(text.starts_with(verdict), "{text}");
}

#[test]
fn progress_is_silent_into_a_pipe_and_verbose_tells_the_effort() {
    assert!(!err(&run(&["check"])).contains('\r'));
    let told = err(&run(&["check", "--verbose"]));
    assert!(told.contains("steps"), "{told}");
}

/// A reader that takes one line and goes away must not change the verdict, nor make noise.
#[test]
fn a_closed_pipe_is_no_error() {
    let verdict = code(&run(&["check"]));
    let mut child = program(&["check", "--explain"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("starts");
    let stdout = child.stdout.take().expect("piped");
    drop(stdout);
    let output = child.wait_with_output().expect("ends");
    assert_eq!(code(&output), verdict);
    assert!(!err(&output).contains("error"), "{}", err(&output));
    for arguments in [
        ["catalogue"].as_slice(),
        &["manual"],
        &["completions", "bash"],
        &["--help"],
    ] {
        let mut child = program(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("starts");
        let mut line = String::new();
        let mut reader = BufReader::new(child.stdout.take().expect("piped"));
        reader.read_line(&mut line).expect("one line");
        drop(reader);
        let output = child.wait_with_output().expect("ends");
        assert_eq!(code(&output), 0, "{arguments:?}");
        assert_eq!(err(&output), "", "{arguments:?}");
    }
}

/// 55 °C is 131 °F by the definition of the scale: the limit, which the catalogue states, stands for all.
#[test]
fn us_units_show_fahrenheit_in_text_and_leave_json_alone() {
    let text = out(&run(&["check", "--verbose", "--units", "us"]));
    assert!(text.contains("softening limit 131.0 °F"), "{text}");
    for subcommand in ["check", "compare", "size-fan"] {
        let text = out(&run(&[subcommand, "--units", "us"]));
        for si in ["°C", " K ", " K,", " K\n", "m³/h", "m3/h", " Pa"] {
            assert!(!text.contains(si), "{subcommand} says {si:?}: {text}");
        }
        let json = out(&run(&[subcommand, "--json"]));
        assert_eq!(json, out(&run(&[subcommand, "--json", "--units", "us"])));
    }
}

#[test]
fn completions_for_every_shell_know_every_subcommand() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let output = run(&["completions", shell]);
        assert_eq!(code(&output), 0);
        for subcommand in SUBCOMMANDS {
            assert!(out(&output).contains(subcommand), "{shell}: {subcommand}");
        }
    }
}

#[test]
fn the_manual_is_a_page_with_every_subcommand() {
    let text = out(&run(&["manual"]));
    // The first request of a page names it: man(7).
    let first = text.lines().find(|l| l.starts_with(".T")).expect("a title");
    assert!(first.starts_with(".TH dogdays 1"), "{first}");
    for subcommand in SUBCOMMANDS {
        assert!(text.contains(&format!(".SH \"{}\"", subcommand.to_uppercase())));
    }
    assert!(text.contains("EXIT STATUS"));
}

#[test]
fn explain_tells_every_origin_and_the_choices() {
    let text = out(&run(&["check", "--explain"]));
    for needle in [
        "typed, line ",
        "from bench-220",
        "default",
        "worked out",
        "Biot",
        "Ra ",
        "Rosenbrock3",
    ] {
        assert!(text.contains(needle), "{needle} missing");
    }
    let object: serde_json::Value =
        serde_json::from_str(&out(&run(&["check", "--explain", "--json"]))).expect("JSON");
    let values = object["explain"]["values"].as_array().expect("values");
    let duration = values
        .iter()
        .find(|v| v["key"] == "run.duration")
        .expect("the duration");
    assert_eq!(duration["value"], "121 h");
    assert_eq!(duration["origin"], "typed");
    assert!(
        object["explain"]["correlations"]
            .as_array()
            .is_some_and(|c| !c.is_empty())
    );
}

#[test]
fn the_catalogue_shows_every_entry() {
    let list = out(&run(&["catalogue"]));
    let object: serde_json::Value =
        serde_json::from_str(&out(&run(&["catalogue", "--json"]))).expect("JSON");
    let catalogue = Catalogue::embedded();
    let mut count = 0;
    for kind in Kind::ALL {
        for entry in catalogue.list(kind) {
            assert!(
                list.contains(&format!("  {} ", entry.name)),
                "{}",
                entry.name
            );
            count += 1;
        }
    }
    assert_eq!(object["entries"].as_array().map(Vec::len), Some(count));
    let file = out(&run(&["catalogue", "bench-60", "--file"]));
    assert_eq!(
        Some(file.as_str()),
        catalogue.get(Kind::Machine, "bench-60").map(|e| e.text())
    );
}

/// A file copied out of the catalogue, changed and put in a folder of one's own is used from there.
#[test]
fn a_folder_of_ones_own_adds_and_replaces() {
    let folder = tempfile::tempdir().expect("a folder");
    let machines = folder.path().join("dogdays/machines");
    std::fs::create_dir_all(&machines).expect("made");
    let text = out(&run(&["catalogue", "bench-60", "--file"]));
    std::fs::write(machines.join("mine.toml"), &text).expect("written");
    let models = folder.path().join("dogdays");
    let models = models.to_str().expect("UTF-8");
    let named = run(&["catalogue", "mine", "--models", models]);
    assert_eq!(code(&named), 0, "{}", err(&named));
    if cfg!(target_os = "linux") {
        let usual = program(&["catalogue", "mine"])
            .env("XDG_DATA_HOME", folder.path())
            .output()
            .expect("starts");
        assert_eq!(out(&usual), out(&named));
    }
}

/// Values that are legal but odd are used, with a hint.
#[test]
fn odd_values_get_hints() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("odd.toml");
    let text = "run = { start = \"2026-07-13 07:00\", duration = \"3 min\" }
machine.name = \"bench-60\"
material.name = \"pla\"
part.mass = \"20 g\"
job = { nozzle = \"80 degC\", heat_up = \"1 min\" }
room.temperature = \"24 degC\"
";
    std::fs::write(&path, text).expect("written");
    let output = run(&["check", path.to_str().expect("UTF-8")]);
    assert!([0, 10, 20].contains(&code(&output)), "{}", err(&output));
    for needle in ["hint", "3 min", "80 degC", "odd.toml:1:", "odd.toml:5:"] {
        assert!(err(&output).contains(needle), "{needle}: {}", err(&output));
    }
}

/// Every declared key is in the schema, with the same need of being there.
#[test]
fn the_schema_covers_every_declared_key() {
    fn walk(table: &'static Table, schema: &serde_json::Value, path: &str) -> usize {
        let mut count = 0;
        for field in table.fields {
            let path = format!("{path}.{}", field.key);
            let property = &schema["properties"][field.key];
            assert!(property.is_object(), "{path} is missing");
            assert!(
                property["description"]
                    .as_str()
                    .is_some_and(|d| d.starts_with(field.doc))
            );
            count += 1 + match field.kind {
                FieldKind::Table(inner) => walk(inner, property, &path),
                FieldKind::List(inner) => walk(inner, &property["items"], &path),
                FieldKind::Panel(inner) => walk(inner, &property["anyOf"][1], &path),
                _ => 0,
            };
        }
        let known = schema["properties"]
            .as_object()
            .map_or(0, serde_json::Map::len);
        assert_eq!(
            known,
            table.fields.len(),
            "{path}: keys that nobody declared"
        );
        assert_eq!(schema["additionalProperties"], false);
        count
    }
    let schema = json_schema(&|kind| Catalogue::embedded().names(kind));
    assert_eq!(
        schema["$schema"],
        "https://json-schema.org/draft/2020-12/schema"
    );
    let count = walk(&dogdays::keys::fields::RUN_FILE, &schema, "");
    assert!(count > 100, "the walk saw {count} keys");
    let printed: serde_json::Value =
        serde_json::from_str(&out(&run(&["new", "--schema"]))).expect("JSON");
    assert_eq!(printed, schema);
    let beside_the_demo: serde_json::Value =
        serde_json::from_str(include_str!("../demo-data/dogdays.schema.json")).expect("JSON");
    assert!(
        beside_the_demo == schema,
        "write it anew: dogdays new --schema --force demo-data/dogdays.schema.json"
    );
}
