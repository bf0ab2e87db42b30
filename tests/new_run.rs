//! `dogdays new`: its questions, its guesses, and what it writes; and where models of one's own are found.
#![cfg(feature = "cli")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use dogdays::catalogue::{Catalogue, Kind};

/// The program in a folder, with an environment that no user's settings reach.
fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dogdays"));
    command
        .args(arguments)
        .current_dir(folder)
        .env_remove("COLUMNS")
        .env("XDG_DATA_HOME", "/nonexistent")
        .stdin(Stdio::null());
    command
}

fn run_in(folder: &Path, arguments: &[&str]) -> Output {
    program(folder, arguments)
        .output()
        .expect("the program starts")
}

fn run(arguments: &[&str]) -> Output {
    run_in(Path::new("."), arguments)
}

/// What has to be said when nobody is asked.
const SHORT: [&str; 7] = [
    "new",
    "--machine",
    "bench-60",
    "--material",
    "petg",
    "--duration",
    "3 h",
];

/// `dogdays new --ask` with these lines typed.
fn dialogue(folder: &Path, more: &[&str], lines: &[&str]) -> Output {
    let arguments = [&["new", "--ask"], more].concat();
    let mut command = program(folder, &arguments);
    command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    let mut child = command.spawn().expect("the program starts");
    let text: String = lines.iter().map(|line| format!("{line}\n")).collect();
    // Where it has ended early, nobody reads the rest.
    let _ = child
        .stdin
        .take()
        .expect("piped")
        .write_all(text.as_bytes());
    child.wait_with_output().expect("it ends")
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

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder")
}

fn json(output: &Output) -> serde_json::Value {
    serde_json::from_str(&out(output)).expect("JSON")
}

/// What `check --json` says in a folder.
fn checked(folder: &Path, file: &str) -> serde_json::Value {
    let output = run_in(folder, &["check", file, "--json"]);
    assert!([0, 10, 20].contains(&code(&output)), "{}", err(&output));
    json(&output)
}

const EVERY_KEY: [&str; 10] = [
    "run.start",
    "run.duration",
    "machine.name",
    "machine.spool",
    "machine.feeder.place",
    "material.name",
    "part.mass",
    "job.filament",
    "room.temperature",
    "require.must_stay_closed",
];

/// Enter thirteen times: a file that runs, every value in it a guess, the machine closed.
#[test]
fn every_guess_may_be_accepted_and_stays_one() {
    let folder = folder();
    let output = dialogue(folder.path(), &[], &[""; 13]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert_eq!(out(&output), "", "questions go to stderr");
    let path = folder.path().join("my.toml");
    let text = std::fs::read_to_string(&path).expect("written");
    assert!(text.contains("\nmust_stay_closed = true "), "{text}");
    let object = checked(folder.path(), "my.toml");
    let guessed: Vec<_> = object["guessed"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|key| key.as_str())
        .collect();
    let mut want = EVERY_KEY.to_vec();
    want.sort_by_key(|key| guessed.iter().position(|known| known == key));
    assert_eq!(guessed, want);
    let told = run_in(folder.path(), &["check", "my.toml"]);
    let line = err(&told);
    assert!(line.starts_with("guessed: run.start, "), "{line}");
    assert_eq!(line.lines().count(), 1);
    assert!(line.trim_end().chars().count() <= 80, "{line}");
}

/// Nonsense is asked again with the reason; what is answered is written and no guess.
#[test]
fn nonsense_is_asked_again_with_the_reason() {
    let folder = folder();
    let lines = [
        "bench-221",
        "bench-220", // machine
        "wood",
        "pla", // material
        "90",
        "90 h", // duration
        "soon",
        "2026-07-13 07:00", // start
        "2 m",
        "1.8 kg", // mass
        "maybe",
        "no", // must stay closed
        "shelf",
        "outside", // feeder
        "under the bed",
        "inside", // spool
        "wet",
        "dry", // filament
        "perhaps",
        "yes", // heat wave
        "36",
        "36 degC", // afternoon
        "40 degC",
        "24 degC", // night
        "mine.toml",
    ];
    let output = dialogue(folder.path(), &[], &lines);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let said = err(&output);
    for why in [
        "no machine is called \"bench-221\"",
        "no material is called \"wood\"",
        "\"90 h\"",
        "2026-07-13 07:00",
        "a mass is needed",
        "\"maybe\" is no answer; write yes or no",
        "\"shelf\" is no answer; write outside, chamber top or chamber bottom",
        "\"under the bed\" is no answer",
        "\"wet\" is no answer; write dry or damp",
        "\"perhaps\" is no answer",
        "the unit is missing",
        "can't be warmer at night",
    ] {
        assert!(said.contains(why), "{why}: {said}");
    }
    assert!(!said.contains("guessed"), "{said}");
    let text = std::fs::read_to_string(folder.path().join("mine.toml")).expect("written");
    assert!(!text.contains("[guessed]"), "{text}");
    for line in [
        "name = \"bench-220\"",
        "feeder.place = \"room\"",
        "spool = \"chamber top\"",
        "filament = \"dry\"",
        // Of 36 and 24 degC.
        "mean = \"30 degC\"",
        "swing = \"6 K\"",
        "must_stay_closed = false",
    ] {
        assert!(text.contains(&format!("\n{line} ")), "{line}: {text}");
    }
    assert_eq!(
        checked(folder.path(), "mine.toml")["guessed"],
        serde_json::json!([])
    );
}

#[test]
fn answers_that_end_early_write_nothing() {
    for typed in 0..13 {
        let folder = folder();
        let output = dialogue(folder.path(), &[], &vec![""; typed]);
        assert_eq!(code(&output), 2, "{typed}");
        assert!(
            err(&output).contains("nothing is written"),
            "{}",
            err(&output)
        );
        let left = std::fs::read_dir(folder.path()).expect("there").count();
        assert_eq!(left, 0, "{typed}");
    }
}

/// Options answer questions, so a script is asked nothing; a file that is there is not replaced.
#[test]
fn options_answer_every_question() {
    let folder = folder();
    let options = [
        "my.toml",
        "--machine",
        "bench-60",
        "--material",
        "petg",
        "--duration",
        "3 h",
        "--start",
        "2026-07-13 07:00",
        "--mass",
        "50 g",
        "--stays-closed",
        "yes",
        "--feeder",
        "inside",
        "--spool",
        "outside",
        "--filament",
        "damp",
        "--heat-wave",
        "no",
        "--room",
        "90 degF",
        "--night",
        "72 degF",
    ];
    let output = run_in(folder.path(), &[&["new"], &options[..]].concat());
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = std::fs::read_to_string(folder.path().join("my.toml")).expect("written");
    assert!(!text.contains("[guessed]"), "{text}");
    assert!(
        text.contains("mean = \"81 degF\"") && text.contains("swing = \"5 K\""),
        "{text}"
    );
    assert!(text.contains("must_stay_closed = true"), "{text}");
    checked(folder.path(), "my.toml");
    std::fs::write(folder.path().join("there.toml"), "mine").expect("written");
    let all = [&options[1..]].concat();
    let output = dialogue(folder.path(), &all, &["there.toml", "other.toml"]);
    assert_eq!(code(&output), 0, "{}", err(&output));
    assert!(err(&output).contains("there.toml: it is there already"));
    let kept = std::fs::read_to_string(folder.path().join("there.toml")).expect("there");
    assert_eq!(kept, "mine");
    assert!(folder.path().join("other.toml").exists());
}

/// Unasked, a machine is closed and stays so, and says that nobody said it.
#[test]
fn a_machine_may_be_opened_only_where_someone_said_so() {
    let text = out(&run(&SHORT));
    assert!(
        text.contains("\nrequire.must_stay_closed = true\n"),
        "{text}"
    );
    assert!(text.contains("\nmust_stay_closed = true "), "{text}");
    let text = out(&run(&[&SHORT[..], &["--stays-closed", "no"]].concat()));
    assert!(!text.contains("require.must_stay_closed"), "{text}");
    assert!(text.contains("\nmust_stay_closed = false "), "{text}");
    // In a heat wave the room is guessed warmer.
    let text = out(&run(&[&SHORT[..], &["--heat-wave", "yes"]].concat()));
    assert!(
        text.contains("\nroom.temperature = \"35 degC\"\n"),
        "{text}"
    );
}

const RUN: &str = "run = { start = \"2026-07-13 07:00\", duration = \"3 h\" }
material.name = \"pla\"
part.mass = \"50 g\"
room.temperature = \"28 degC\"
machine.name = \"mine\"
";

/// A folder of models with a machine "mine" in it, told apart by its title.
fn models(folder: &Path, title: &str) {
    let machines = folder.join("machines");
    std::fs::create_dir_all(&machines).expect("made");
    let text = out(&run(&["catalogue", "bench-60", "--file"]));
    let line = text
        .lines()
        .find(|line| line.starts_with("title"))
        .expect("it has one");
    let text = text.replace(line, &format!("title = \"{title}\""));
    std::fs::write(machines.join("mine.toml"), text).expect("written");
}

/// A shell makes the file before the program starts: copying an entry says nothing of it, everything else does.
#[test]
fn an_entry_is_copied_into_the_folder_without_a_word() {
    let folder = folder();
    let machines = folder.path().join("my-models/machines");
    std::fs::create_dir_all(&machines).expect("made");
    std::fs::write(machines.join("mine.toml"), "").expect("written");
    let copied = run_in(folder.path(), &["catalogue", "bench-60", "--file"]);
    assert_eq!((code(&copied), err(&copied).as_str()), (0, ""));
    let listed = err(&run_in(folder.path(), &["catalogue"]));
    assert!(listed.contains("this file is empty"), "{listed}");
}

/// Beside the run file, named in it, or for this one time: each before the one before it.
#[test]
fn models_of_ones_own_are_found_beside_the_run_file() {
    let folder = folder();
    let run_file = folder.path().join("runs/a.toml");
    std::fs::create_dir(folder.path().join("runs")).expect("made");
    std::fs::write(&run_file, RUN).expect("written");
    let missing = run_in(folder.path(), &["check", "runs/a.toml"]);
    assert_eq!(code(&missing), 2);
    assert!(
        err(&missing).contains("my-models/machines/mine.toml beside the run file"),
        "{}",
        err(&missing)
    );

    models(&folder.path().join("runs/my-models"), "beside");
    models(&folder.path().join("named"), "named");
    models(&folder.path().join("once"), "once");
    let title = |more: &[&str]| {
        let arguments = [&["check", "runs/a.toml", "--explain", "--verbose"], more].concat();
        let output = run_in(folder.path(), &arguments);
        assert!([0, 10, 20].contains(&code(&output)), "{}", err(&output));
        let explained = json(&run_in(
            folder.path(),
            &[&arguments[..], &["--json"]].concat(),
        ));
        let values = explained["explain"]["values"]
            .as_array()
            .expect("a list")
            .clone();
        let of = |key: &str| {
            let found = values.iter().find(|v| v["key"] == key);
            found.map(|v| format!("{} {}", v["value"], v["from"]))
        };
        (of("machine.title"), of("run.models"), err(&output))
    };
    let (machine, used, told) = title(&[]);
    assert_eq!(machine.as_deref(), Some("\"beside\" \"mine\""));
    assert!(used.is_some_and(|used| used.contains("found beside the run file")));
    assert!(
        told.contains("models of your own: runs/my-models (found beside"),
        "{told}"
    );

    let named = RUN.replace("run = {", "run = { models = \"../named\",");
    std::fs::write(&run_file, named).expect("written");
    let (machine, used, told) = title(&[]);
    assert_eq!(machine.as_deref(), Some("\"named\" \"mine\""));
    assert_eq!(used.as_deref(), Some("\"../named\" null"));
    assert!(told.contains("named under [run]"), "{told}");

    let (machine, used, _) = title(&["--models", "once"]);
    assert_eq!(machine.as_deref(), Some("\"once\" \"mine\""));
    assert!(used.is_some_and(|used| used.contains("named with --models")));

    std::fs::write(
        &run_file,
        RUN.replace("run = {", "run = { models = \"nowhere\","),
    )
    .expect("written");
    let output = run_in(folder.path(), &["check", "runs/a.toml"]);
    assert_eq!(code(&output), 2);
    assert!(err(&output).contains("runs/a.toml:1:"), "{}", err(&output));
    assert!(
        err(&output).contains("there is no such folder"),
        "{}",
        err(&output)
    );
}

/// `new` offers them, and names the folder in the file where it would not be found by itself.
#[test]
fn new_knows_models_of_ones_own() {
    let folder = folder();
    models(&folder.path().join("my-models"), "beside");
    let base = [
        "--machine",
        "mine",
        "--material",
        "pla",
        "--duration",
        "3 h",
    ];
    let output = run_in(folder.path(), &[&["new", "a.toml"], &base[..]].concat());
    assert_eq!(code(&output), 0, "{}", err(&output));
    checked(folder.path(), "a.toml");
    std::fs::rename(
        folder.path().join("my-models"),
        folder.path().join("elsewhere"),
    )
    .expect("moved");
    std::fs::create_dir(folder.path().join("runs")).expect("made");
    for file in ["b.toml", "runs/b.toml"] {
        let arguments = [&["new", file, "--models", "elsewhere"], &base[..]].concat();
        let output = run_in(folder.path(), &arguments);
        assert_eq!(code(&output), 0, "{}", err(&output));
        checked(folder.path(), file);
    }
}

#[test]
fn new_writes_a_file_that_check_takes_and_replaces_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("my.toml");
    let path = path.to_str().expect("UTF-8");
    let arguments = [
        "new",
        path,
        "--machine",
        "bench-60",
        "--material",
        "petg",
        "--duration",
        "3 h",
        "--room",
        "84.2 degF",
        "--name",
        "A \"quoted\" name",
    ];
    let output = run(&arguments);
    assert_eq!(code(&output), 0, "{}", err(&output));
    let text = std::fs::read_to_string(path).expect("written");
    assert!(text.starts_with("#:schema "), "{text}");
    assert!(text.contains("[guessed]\n"), "what was not given is listed");

    let again = run(&arguments);
    assert_eq!(code(&again), 2);
    assert!(err(&again).contains("--force"));
    assert_eq!(std::fs::read_to_string(path).expect("there"), text);
    assert_eq!(code(&run(&[&arguments[..], &["--force"]].concat())), 0);

    let checked = run(&["check", path, "--json", "--explain"]);
    assert!([0, 10, 20].contains(&code(&checked)), "{}", err(&checked));
    let object: serde_json::Value = serde_json::from_str(&out(&checked)).expect("JSON");
    assert_eq!(object["run"], "A \"quoted\" name");
    let room = object["explain"]["values"]
        .as_array()
        .and_then(|v| v.iter().find(|v| v["key"] == "room.temperature"))
        .expect("the room");
    // 84.2 °F = (84.2 - 32)/1.8 = 29 °C.
    assert_eq!(room["value"], "29 degC");
}

/// Every machine and every material makes a run file that is right, comments' values included.
#[test]
fn new_works_for_the_whole_catalogue_and_its_comments_are_right_too() {
    let catalogue = Catalogue::embedded();
    for machine in catalogue.list(Kind::Machine) {
        let text = out(&run(&[
            "new",
            "--machine",
            &machine.name,
            "--material",
            "abs",
            "--duration",
            "90 h",
        ]));
        let read = dogdays::runfile::parse(&text, "new", None, &catalogue);
        assert!(read.is_ok(), "{}: {}", machine.name, read.unwrap_err());
    }
    for material in catalogue.list(Kind::Material) {
        let text = out(&run(&[
            "new",
            "--machine",
            "bench-220",
            "--material",
            &material.name,
            "--duration",
            "90 h",
        ]));
        // The commented keys switched on, but for those that exclude others, need a fan or name a file.
        let on: String = text
            .lines()
            .map(|line| {
                let excluded = [
                    "# mean",
                    "# swing",
                    "# series",
                    "# [[room.day]]",
                    "# high",
                    "# low",
                    "# profile",
                    "# thermostat",
                    "# flow = \"40 m3/h\"",
                ];
                let is_key = line.starts_with("# ")
                    && (line.contains(" = \"") || line.contains(" = {") || line.starts_with("# ["))
                    && !excluded.iter().any(|e| line.starts_with(e));
                format!("{}\n", if is_key { &line[2..] } else { line })
            })
            .collect();
        for key in [
            "[sun]",
            "[initial]",
            "chamber_heater = ",
            "[[arrangement.schedule]]",
        ] {
            assert!(on.contains(&format!("\n{key}")), "{key}");
        }
        let read = dogdays::runfile::parse(&on, "new", None, &catalogue);
        assert!(
            read.is_ok(),
            "{}: {}\n{on}",
            material.name,
            read.unwrap_err()
        );
    }
}

#[test]
fn new_rejects_what_a_run_file_would() {
    let base = [
        "new",
        "--machine",
        "bench-60",
        "--material",
        "petg",
        "--duration",
    ];
    for (more, says) in [
        (vec!["90"], "write the unit"),
        (vec!["1 s"], "out of range"),
        (vec!["90 h", "--room", "29"], "29 degC"),
        (vec!["90 h", "--start", "soon"], "2026-07-13 07:00"),
        (vec!["90 h", "--mass", "2 m"], "kg"),
        (vec!["90 h", "--stays-closed", "maybe"], "write yes or no"),
        (
            vec!["90 h", "--spool", "shelf"],
            "write outside, chamber top or",
        ),
        (
            vec!["90 h", "--room", "20 degC", "--night", "25 degC"],
            "warmer at night",
        ),
        (
            vec!["90 h", "--machine", "bench-61"],
            "cannot be used multiple times",
        ),
    ] {
        let output = run(&[&base[..], &more[..]].concat());
        assert_eq!(code(&output), 2, "{more:?}");
        assert_eq!(out(&output), "", "{more:?}");
        assert!(err(&output).contains(says), "{more:?}: {}", err(&output));
    }
}

/// The forecast in the comments is one that a run file takes in place of the temperature.
#[test]
fn the_forecast_in_the_comments_is_right_too() {
    let text = out(&run(&SHORT));
    let day: Vec<&str> = text
        .lines()
        .skip_while(|line| *line != "# [[room.day]]")
        .take(3)
        .map(|line| &line[2..])
        .collect();
    assert_eq!(day.len(), 3, "{text}");
    let line = text.lines().find(|line| line.starts_with("temperature = "));
    let text = text.replace(line.expect("it has one"), &day.join("\n"));
    let read = dogdays::runfile::parse(&text, "new", None, &Catalogue::embedded());
    assert!(read.is_ok(), "{}", read.unwrap_err());
}
