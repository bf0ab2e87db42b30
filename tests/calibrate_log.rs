//! What the command line promises of `calibrate --log`. All logs are invented: the demo's own run, with a ripple.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use dogdays::integrate::Options;
use std::fmt::Write as _;
use std::path::Path;
use std::sync::OnceLock;

fn dogdays(arguments: &[&str]) -> (String, String, Option<i32>) {
    let mut command = Command::cargo_bin("dogdays").expect("built");
    let output = command.args(arguments).output().expect("runs");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (
        text(&output.stdout),
        text(&output.stderr),
        output.status.code(),
    )
}

/// One value is fitted: what is tested here is what is read.
const ONE: [&str; 2] = ["--parameter", "coefficients.feeder_heat"];

/// Time, feeder motor, top air and room of the demo's first hours, every ten minutes, the motor warmer than it
/// should be.
fn rows() -> &'static [(String, [f64; 3])] {
    static ROWS: OnceLock<Vec<(String, [f64; 3])>> = OnceLock::new();
    ROWS.get_or_init(|| {
        let folder = tempfile::tempdir().expect("temp dir");
        let csv = folder.path().join("demo.csv");
        let csv = csv.to_str().expect("UTF-8");
        let (_, said, code) = dogdays(&["check", "--no-band", "--csv", csv, "--every", "10 min"]);
        assert_eq!(code, Some(20), "{said}");
        let text = std::fs::read_to_string(csv).expect("written");
        let mut lines = text.lines();
        let names: Vec<&str> = lines.next().expect("a header").split(',').collect();
        let at = |name: &str| names.iter().position(|n| *n == name).expect(name);
        let columns = ["feeder_motor_degC", "air_top_degC", "room_degC"].map(at);
        let rows = lines.take(145).enumerate().map(|(k, line)| {
            let cells: Vec<&str> = line.split(',').collect();
            let mut shown = columns.map(|at| cells[at].parse::<f64>().expect("a number"));
            shown[0] += 0.08 * (shown[0] - shown[2]);
            let ripple = (k % 3) as f64 / 10.0;
            (cells[0].to_owned(), shown.map(|t| t + ripple))
        });
        rows.collect()
    })
}

fn log(header: &str, row: impl Fn(&str, [f64; 3]) -> String) -> String {
    let mut text = format!("{header}\n");
    for (time, shown) in rows() {
        writeln!(text, "{}", row(time, *shown)).expect("string");
    }
    text
}

fn plain() -> String {
    log(
        "time,feeder_motor_degC,Air top (°C),room_degC,part_fan_rpm",
        |t, [a, b, c]| format!("{t},{a:.1},{b:.1},{c:.1},1200"),
    )
}

fn write(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("written");
    path.display().to_string()
}

#[test]
fn a_log_is_fitted_and_what_was_understood_is_told() {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = write(folder.path(), "evening.csv", &plain());
    let (out, said, code) = dogdays(&[&["calibrate", "--log", &path, "--json"][..], &ONE].concat());
    assert_eq!(code, Some(0), "{said}");
    let v: serde_json::Value = serde_json::from_str(&out).expect("one JSON object");
    assert!(v["rms_after_K"].as_f64() < v["rms_before_K"].as_f64());
    for word in [
        "feeder motor in column 'feeder_motor_degC', degC",
        "air top in column 'Air top (°C)', degC",
        "room in column 'room_degC', degC",
        "145 rows from 2026-07-13 07:00 to 2026-07-14 07:00",
        "no temperatures: 'part_fan_rpm'",
    ] {
        assert!(said.contains(word), "{word} in\n{said}");
    }
    // The same in °F, with columns that are said, semicolons and decimal commas.
    let other = log("Date;T1;T2;T3", |t, shown| {
        let [a, b, c] = shown.map(|t| format!("{:.2}", t * 1.8 + 32.0).replace('.', ","));
        format!("{};{a};{b};{c}", t.replace('-', "/").replace('T', " "))
    });
    let path = write(folder.path(), "other.csv", &other);
    let columns = [
        "T1 = feeder motor in °F",
        "T2 = top air in °F",
        "T3 = room in °F",
    ];
    let columns = columns.iter().flat_map(|said| ["--column", said]);
    let arguments: Vec<&str> = ["calibrate", "--log", &path, "--json"]
        .into_iter()
        .chain(ONE)
        .chain(columns)
        .collect();
    let (again, said, code) = dogdays(&arguments);
    assert_eq!(code, Some(0), "{said}");
    let w: serde_json::Value = serde_json::from_str(&again).expect("one JSON object");
    assert_eq!(v["rows"], w["rows"]);
    let after = |v: &serde_json::Value| v["rms_after_K"].as_f64().expect("a number");
    // Rounded to a tenth of a degree there, to five thousandths here.
    assert!((after(&v) - after(&w)).abs() < 0.05, "{v} {w}");
}

/// What the bed took stands in watts beside what thermometers showed.
#[test]
fn a_column_of_the_beds_power_is_held_against_the_model() {
    let folder = tempfile::tempdir().expect("temp dir");
    let header = "time,feeder_motor_degC,room_degC,bed_power_W";
    let text = log(header, |t, [a, _, c]| format!("{t},{a:.1},{c:.1},42.5"));
    let path = write(folder.path(), "power.csv", &text);
    let arguments = [&["calibrate", "--log", &path][..], &ONE].concat();
    let (out, said, code) = dogdays(&[&arguments[..], &["--json"]].concat());
    assert_eq!(code, Some(0), "{said}");
    assert!(
        said.contains("bed heater in column 'bed_power_W', W: "),
        "{said}"
    );
    let v: serde_json::Value = serde_json::from_str(&out).expect("one JSON object");
    let bed = &v["bed_heater"][0];
    assert_eq!(
        (&bed["column"], &bed["mean_W"]),
        (&"bed_power_W".into(), &42.5.into())
    );
    assert!(bed["windows"].as_u64() > Some(20), "{bed}");
    // Rows are those of thermometers.
    assert_eq!(v["rows"], 145);
    let (out, said, code) = dogdays(&arguments);
    assert_eq!(code, Some(0), "{said}");
    let table: Vec<&str> = out
        .lines()
        .filter(|line| line.contains("bed_power_W"))
        .collect();
    assert!(
        out.contains("Bed heater, W") && table[0].contains("42.5"),
        "{out}"
    );
    assert!(!out.contains("this heater alone"), "{out}");
    // Five times as much as any bed of this size takes at 60 degC.
    let much = write(folder.path(), "much.csv", &text.replace(",42.5", ",210"));
    let arguments_of_much = [&["calibrate", "--log", &much][..], &ONE].concat();
    let (out, said, code) = dogdays(&arguments_of_much);
    assert_eq!(code, Some(0), "{said}");
    assert!(
        out.contains("210 W") && out.contains("this heater alone"),
        "{out}"
    );
    let wrong = ["--column", "bed_power_W = bed heater in degC"];
    let (_, said, code) = dogdays(&[&arguments[..], &wrong].concat());
    assert_eq!(code, Some(2), "{said}");
    assert!(said.contains("in W"), "{said}");
}

/// A logger that knows no date: the same fit once its begin is said, with the program and in the run file.
#[test]
fn a_log_may_count_from_its_begin() {
    let folder = tempfile::tempdir().expect("temp dir");
    let header = "feeder_motor_degC,room_degC";
    let dated = log(&format!("time,{header}"), |t, [a, _, c]| {
        format!("{t},{a:.1},{c:.1}")
    });
    let mut counted = format!("Elapsed (min),{header}\n");
    for (line, k) in dated.lines().skip(1).zip(0..) {
        let (_, cells) = line.split_once(',').expect("cells");
        writeln!(counted, "{},{cells}", 10 * k).expect("string");
    }
    let (dated, counted) = (
        write(folder.path(), "dated.csv", &dated),
        write(folder.path(), "counted.csv", &counted),
    );
    let fit = |log: &[&str]| {
        let (out, said, code) = dogdays(&[&["calibrate", "--json"][..], log, &ONE].concat());
        assert_eq!(code, Some(0), "{said}");
        out
    };
    let want = fit(&["--log", &dated]);
    assert_eq!(fit(&["--log", &counted, "--log-begins", "Mon 07:00"]), want);
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data");
    let run = std::fs::read_to_string(format!("{demo}/run.toml")).expect("the demo");
    let run = run.replace("\"weather.csv\"", &format!("\"{demo}/weather.csv\""));
    let run = format!("{run}\n[[log]]\nfile = \"counted.csv\"\nbegins = \"0 h\"\n");
    assert_eq!(fit(&[&write(folder.path(), "run.toml", &run)]), want);
    for (arguments, words) in [
        (&["--log", &counted][..], "say it: --log-begins"),
        (
            &["--log", &counted, "--log-begins", "Sun 07:00"],
            "Sun 07:00",
        ),
        (&["--log", &counted, "--log-begins", "early"], "\"early\""),
        (&["--log-begins", "0 h"], "name the log too"),
    ] {
        let (out, said, code) = dogdays(&[&["calibrate"][..], arguments, &ONE].concat());
        assert_eq!((code, out.as_str()), (Some(2), ""), "{said}");
        assert!(said.contains(words), "{words} in\n{said}");
    }
}

/// Rows that two logs share would count twice.
#[test]
fn the_same_rows_are_not_read_twice() {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = write(folder.path(), "evening.csv", &plain());
    let first: Vec<String> = plain().lines().take(60).map(str::to_owned).collect();
    let part = write(folder.path(), "part.csv", &first.join("\n"));
    for other in [&path, &part] {
        let (out, said, code) = dogdays(&["calibrate", "--log", &path, "--log", other]);
        assert_eq!((code, out.as_str()), (Some(2), ""), "{said}");
        assert!(said.contains("they would count twice"), "{said}");
    }
}

/// A meter on the bed and no thermometer: what the bed loses is fitted, and nothing is said of what no thermometer showed.
#[test]
fn the_beds_power_alone_is_a_log() {
    let folder = tempfile::tempdir().expect("temp dir");
    let run = dogdays::runfile::demo().run;
    let kind = dogdays::chamber::IntegratorKind::Rosenbrock;
    let demo = dogdays::chamber::Simulation::of(&run, kind, &Options::fine()).expect("runs");
    let of = |scale: f64| {
        let mut text = "time,bed_power_W\n".to_owned();
        for ((time, _), k) in rows().iter().zip(0..) {
            let power_W = scale * demo.bed_power_W(600.0 * f64::from(k));
            writeln!(text, "{time},{power_W:.1}").expect("string");
        }
        write(folder.path(), "power.csv", &text)
    };
    let path = of(1.1);
    let key = ["--parameter", "machine.bed.underside_resistance"];
    let (out, said, code) = dogdays(&[&["calibrate", "--log", &path][..], &key].concat());
    assert_eq!(code, Some(0), "{said}");
    let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
    let told = "140 means of what the bed's heater took: the model was";
    assert!(
        words.starts_with(told) && words.contains(" W off before and is "),
        "{out}"
    );
    let (out, _, _) = dogdays(&[&["calibrate", "--log", &path, "--json"][..], &key].concat());
    let v: serde_json::Value = serde_json::from_str(&out).expect("one JSON object");
    assert!(
        v["rms_before_K"].is_null() && v["held_out"].is_null(),
        "{v}"
    );
    let heater = &v["bed_heater"][0];
    assert!(
        heater["rms_after_W"].as_f64() < heater["rms_before_W"].as_f64(),
        "{v}"
    );
    let (_, said, code) = dogdays(&["calibrate", "--log", &path, "--plot", "x.svg"]);
    assert_eq!(
        (code, said.contains("give a log of some")),
        (Some(2), true),
        "{said}"
    );
    // Another heater's power is no machine of this one.
    let path = of(3.0);
    let machine = folder.path().join("m.toml");
    let machine = machine.to_str().expect("UTF-8");
    let (_, said, code) = dogdays(&["calibrate", "--log", &path, "--write", machine]);
    assert_eq!(code, Some(2), "{said}");
    assert!(
        said.contains("no machine is written: no likely") && said.contains(" W off"),
        "{said}"
    );
}

/// A log that only says what was done says nothing by itself, and enough beside a reading.
#[test]
fn what_was_done_may_stand_beside_readings() {
    let folder = tempfile::tempdir().expect("temp dir");
    let text = "time,lid\n2026-07-13 07:00,closed\n2026-07-13 12:00,open\n2026-07-13 13:00,closed\n2026-07-13 19:00,closed\n";
    let path = write(folder.path(), "lid.csv", text);
    let (_, said, code) = dogdays(&["calibrate", "--log", &path]);
    assert_eq!(
        (code, said.contains("lid.csv says what was measured")),
        (Some(2), true),
        "{said}"
    );
    let reading = ["--reading", "feeder motor = 40 degC at Mon 13:00", "--json"];
    let with = |log: &[&str]| {
        let (out, said, code) = dogdays(&[&["calibrate"][..], log, &reading, &ONE].concat());
        assert_eq!(code, Some(0), "{said}");
        let v: serde_json::Value = serde_json::from_str(&out).expect("one JSON object");
        v["readings"][0]["before_degC"].as_f64().expect("a number")
    };
    assert!(with(&["--log", &path]) < with(&[]) - 2.0);
}

#[test]
fn a_run_file_may_name_its_logs() {
    let folder = tempfile::tempdir().expect("temp dir");
    let run = include_str!("../demo-data/run.toml").to_owned()
        + "\n[[log]]\nfile = \"evening.csv\"\n[[log.column]]\nname = \"part_fan_rpm\"\nsensor = \"nothing\"\n";
    let weather = include_str!("../demo-data/weather.csv");
    write(folder.path(), "weather.csv", weather);
    let run = write(folder.path(), "run.toml", &run);
    // Whoever does not look at logs does not need them.
    let (_, said, code) = dogdays(&["check", &run, "--no-band"]);
    assert_eq!(code, Some(20), "{said}");
    let (_, said, code) = dogdays(&["calibrate", &run]);
    assert_eq!(code, Some(2));
    assert!(said.contains("file = \"evening.csv\""), "{said}");
    let log = write(folder.path(), "evening.csv", &plain());
    let (_, said, code) = dogdays(&[&["calibrate", &run][..], &ONE].concat());
    assert_eq!(code, Some(0), "{said}");
    assert!(!said.contains("part_fan_rpm"), "{said}");
    // A log is never written over, not even by a command that does not read it.
    let (_, said, code) = dogdays(&["check", &run, "--no-band", "--csv", &log, "--force"]);
    assert_eq!(code, Some(2), "{said}");
    let (_, said, code) = dogdays(&["calibrate", "--log", &log, "--write", &log]);
    assert_eq!(code, Some(2), "{said}");
    assert_eq!(std::fs::read_to_string(&log).expect("there"), plain());
}

/// Wrong input is told with all that is wrong, nothing is printed and nothing written.
#[test]
fn what_is_wrong_with_logs_is_told_at_once() {
    let folder = tempfile::tempdir().expect("temp dir");
    let machine = folder.path().join("m.toml").display().to_string();
    let frozen = log("time,feeder_motor_degC,air_top_degC", |t, _| {
        format!("{t},45.0,41.0")
    });
    let frozen = write(folder.path(), "frozen.csv", &frozen);
    let unclear = write(
        folder.path(),
        "unclear.csv",
        &plain().replace("motor_degC", "motor"),
    );
    let last_year = write(
        folder.path(),
        "last-year.csv",
        &plain().replace("2026-", "2025-"),
    );
    let arguments = [
        "calibrate",
        "--log",
        &frozen,
        "--log",
        &unclear,
        "--log",
        &last_year,
    ];
    let more = [
        "--log",
        "no-such.csv",
        "--column",
        "T9 = bed",
        "--write",
        &machine,
    ];
    let (out, said, code) = dogdays(&[&arguments[..], &more[..]].concat());
    assert_eq!((out.as_str(), code), ("", Some(2)), "{said}");
    for word in [
        "'feeder_motor_degC' (feeder motor) never changes",
        "'air_top_degC' (air top) never changes",
        "\"feeder_motor\" does not say in which unit",
        "+1 year ",
        "no-such.csv",
    ] {
        assert!(said.contains(word), "{word} in\n{said}");
    }
    assert!(!Path::new(&machine).exists());
    let good = write(folder.path(), "good.csv", &plain());
    for (column, words) in [
        ("T9 = bed", &["no log has a column \"T9\""][..]),
        (
            "part_fan_rpm = feder motor",
            &["did you mean \"feeder motor\"?"],
        ),
        ("part_fan_rpm", &["--column", "T1 = feeder motor"]),
        ("part_fan_rpm = bed within 1 degC", &["difference"]),
    ] {
        let (_, said, code) = dogdays(&["calibrate", "--log", &good, "--column", column]);
        assert_eq!(code, Some(2), "{column}");
        for word in words {
            assert!(said.contains(word), "{column}: {word} in\n{said}");
        }
    }
    // The demo is closed: a fan that runs is none that it knows.
    let fan = plain().replace("part_fan_rpm", "fan_rpm");
    let fan = write(folder.path(), "fan.csv", &fan);
    let (_, said, code) = dogdays(&["calibrate", "--log", &fan]);
    assert_eq!(code, Some(2));
    assert!(
        said.contains("fan.csv:1:") && said.contains("arrangement.flow"),
        "{said}"
    );
    let (_, said, code) = dogdays(&["calibrate", "--column", "T1 = bed"]);
    assert_eq!(code, Some(2));
    assert!(said.contains("--log FILE"), "{said}");
}

/// A log of a run in progress ends where the logger is.
#[test]
fn a_half_written_line_is_no_error() {
    let folder = tempfile::tempdir().expect("temp dir");
    let path = write(
        folder.path(),
        "live.csv",
        &(plain() + "2026-07-14T07:10:00,5"),
    );
    let (_, said, code) = dogdays(&[&["calibrate", "--log", &path][..], &ONE].concat());
    assert_eq!(code, Some(0), "{said}");
    assert!(!said.contains("half written"), "{said}");
    let (_, said, _) = dogdays(&[&["calibrate", "--verbose", "--log", &path][..], &ONE].concat());
    assert!(said.contains("half written"), "{said}");
}

/// A log whose row before the last is torn: nothing to hold the last against, and no panic (found by fuzzing).
#[test]
fn a_torn_row_before_the_last_is_no_error() {
    let folder = tempfile::tempdir().expect("temp dir");
    let whole = plain();
    let (rows, last) = whole.trim_end().rsplit_once('\n').expect("rows");
    let path = write(
        folder.path(),
        "torn.csv",
        &format!("{rows}\n2026-07-13T08:05:30,5\n{last}"),
    );
    let (_, said, code) = dogdays(&[&["calibrate", "--log", &path][..], &ONE].concat());
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("fewer cells"), "{said}");
}

/// Another run of the machine, with a log of its own; a picture of the first.
#[test]
fn two_runs_of_a_machine_are_fitted_together_and_drawn() {
    let folder = tempfile::tempdir().expect("temp dir");
    let weather = include_str!("../demo-data/weather.csv");
    write(folder.path(), "weather.csv", weather);
    let log = write(folder.path(), "evening.csv", &plain());
    let demo = include_str!("../demo-data/run.toml");
    let bare = write(folder.path(), "bare.toml", demo);
    let other = format!("{demo}\n[[log]]\nfile = \"evening.csv\"\n");
    let other = write(folder.path(), "other.toml", &other);
    let plot = folder.path().join("log.svg");
    let plot = plot.to_str().expect("UTF-8");
    let first = ["calibrate", &bare, "--log", &log, "--and", &other, "--json"];
    let (out, said, code) = dogdays(&[&first[..], &["--plot", plot], &ONE].concat());
    assert_eq!(code, Some(0), "{said}");
    let v: serde_json::Value = serde_json::from_str(&out).expect("one JSON object");
    assert_eq!(v["runs"].as_array().map(Vec::len), Some(2));
    let of: Vec<_> = v["logs"].as_array().expect("a list").iter().collect();
    let runs: Vec<u64> = of.iter().filter_map(|c| c["run"].as_u64()).collect();
    assert_eq!(runs, [1, 1, 2, 2]);
    assert!(v["held_out"]["rms_after_K"].as_f64() < v["held_out"]["rms_before_K"].as_f64());
    let picture = std::fs::read_to_string(plot).expect("drawn");
    assert!(picture.contains("<svg"));
    for (arguments, word) in [
        (
            vec!["calibrate", &bare, "--log", &log, "--and", &bare],
            "[[log]] or [[reading]]",
        ),
        (
            vec![
                "calibrate",
                "--reading",
                "feeder motor = 50 degC at 9 h",
                "--plot",
                plot,
            ],
            "--log",
        ),
        (
            vec!["calibrate", &bare, "--log", &log, "--plot", &log],
            ".svg or .png",
        ),
    ] {
        let (out, said, code) = dogdays(&arguments);
        assert_eq!(code, Some(2), "{said}");
        assert!(out.is_empty() && said.contains(word), "{word} in\n{said}");
    }
}
