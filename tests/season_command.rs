//! What `dogdays season` promises on the command line.
#![cfg(feature = "cli")]

use assert_cmd::Command;
use serde_json::Value;
use std::fmt::Write;
use std::path::Path;

fn dogdays() -> Command {
    let mut c = Command::cargo_bin("dogdays").expect("the program is built with its tests");
    c.env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .env_remove("XDG_DATA_HOME");
    c
}

/// A short job, and weeks of one temperature after the other, with a daily swing of 3 K.
fn folder(weeks_degC: &[f64]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    std::fs::write(
        dir.path().join("weather.csv"),
        weather("2026-06-01", weeks_degC),
    )
    .unwrap();
    std::fs::write(
        dir.path().join("run.toml"),
        "run = { name = \"Lamp feet\", start = \"2026-06-01 00:00\", duration = \"10 h\" }\n\
         machine.name = \"bench-220\"\nmaterial.name = \"pla\"\npart.mass = \"190 g\"\n\
         job.filament = \"dry\"\nroom.series = \"weather.csv\"\n",
    )
    .unwrap();
    dir
}

fn weather(first: &str, weeks_degC: &[f64]) -> String {
    let begin: jiff::civil::Date = first.parse().unwrap();
    let begin = begin.at(0, 0, 0, 0);
    let mut text = "time,temperature_degC\n".to_owned();
    for hour in 0..=weeks_degC.len() * 168 {
        let mean = weeks_degC[(hour / 168).min(weeks_degC.len() - 1)];
        let swing = (std::f64::consts::TAU * (hour as f64 - 15.0) / 24.0).cos();
        let at = begin.saturating_add(jiff::SignedDuration::from_hours(hour as i64));
        writeln!(
            text,
            "{},{:.1}",
            at.strftime("%Y-%m-%dT%H:%M"),
            mean + 3.0 * swing
        )
        .unwrap();
    }
    text
}

fn season(dir: &Path, more: &[&str]) -> (String, String, i32) {
    let mut c = dogdays();
    c.current_dir(dir).args(["season", "run.toml"]).args(more);
    if !more.contains(&"--starts") {
        c.args(["--starts", "6 h"]);
    }
    let out = c.output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        text(out.stdout),
        text(out.stderr),
        out.status.code().unwrap(),
    )
}

fn json(dir: &Path, more: &[&str]) -> (Value, i32) {
    let mut all = vec!["--json"];
    all.extend(more);
    let (out, err, code) = season(dir, &all);
    (
        serde_json::from_str(&out).unwrap_or_else(|e| panic!("{e}: {out}{err}")),
        code,
    )
}

/// The names that others may rely on; every start is in the table, and is what `check` says of it.
#[test]
fn the_json_has_every_start() {
    let dir = folder(&[34.0, 20.0]);
    let (found, code) = json(dir.path(), &[]);
    assert_eq!(code, 20, "some soften");
    assert_eq!(found["schema"], 1);
    assert_eq!(found["run"], "Lamp feet");
    // 336 h of weather, the last 10 of them too short for a job: 55 starts every 6 h.
    assert_eq!(found["starts"], 55);
    let count = |name: &str| found[name].as_u64().unwrap();
    assert!(count("holds") > 0 && count("softens") > 0);
    let kinds = ["holds", "tight", "softens", "cannot_run"];
    assert_eq!(kinds.map(count).iter().sum::<u64>(), 55);
    let table = found["starts_table"].as_array().unwrap();
    assert_eq!(table.len(), 55);
    let own = &found["arrangements"][0];
    assert_eq!(own["left_out"], 2);
    assert_eq!(own["longest_that_holds"]["holds"], true);
    assert_eq!(own["weeks"].as_array().unwrap().len(), 2);
    assert_eq!(own["weeks"][1]["holds"], own["weeks"][1]["starts"]);
    assert_eq!(own["computed"]["shared"], false);
    for k in [3, 40] {
        let start = &table[k];
        let at = start["start"].as_str().unwrap().replace('T', " ");
        let text = std::fs::read_to_string(dir.path().join("run.toml")).unwrap();
        let text = text.replace("2026-06-01 00:00", &at[..16]);
        std::fs::write(dir.path().join("one.toml"), text).unwrap();
        let out = dogdays()
            .current_dir(dir.path())
            .args(["check", "one.toml", "--json"])
            .output()
            .unwrap();
        let one: Value = serde_json::from_slice(&out.stdout).unwrap();
        assert_eq!(one["verdict"], start["verdict"]);
        let margin = |v: &Value| v["margin_K"].as_f64().unwrap();
        assert!((margin(&one) - margin(start)).abs() < 0.01);
    }
}

#[test]
fn the_answer_fits_a_screen_and_says_when() {
    let dir = folder(&[20.0, 34.0, 20.0]);
    let (out, err, _) = season(dir.path(), &["--from", "2026-06-07 16:00"]);
    assert!(out.lines().count() <= 24, "{out}");
    assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    for words in [
        "closed: ",
        "every start holds in",
        "no start in 8 Jun to 14 Jun",
        "Longest time",
        "From Sun 7 Jun 16:00 on",
        "tonight 18:00",
        "softens",
    ] {
        assert!(out.contains(words), "{words}: {out}{err}");
    }
    let (more, ..) = season(dir.path(), &["--verbose"]);
    for words in ["Week from", "Hour of day", "because", "Mon 8 Jun 2026"] {
        assert!(more.contains(words), "{words}: {more}");
    }
    let (quiet, ..) = season(dir.path(), &["--quiet"]);
    assert_eq!(quiet.lines().count(), 1, "{quiet}");
}

#[test]
fn seasons_of_one_kind_read_well() {
    let (cool, hot) = (folder(&[15.0]), folder(&[42.0]));
    let (out, _, code) = season(cool.path(), &[]);
    assert_eq!(code, 0);
    assert!(out.contains("every one of 27 starts holds"), "{out}");
    assert!(!out.contains("that does not"), "{out}");
    let (out, _, code) = season(hot.path(), &["--from", "2026-06-03 08:00"]);
    assert_eq!(code, 20);
    assert!(out.contains("none of 27 starts holds"), "{out}");
    assert!(out.contains("no start holds up to"), "{out}");
}

#[test]
fn the_csv_has_a_row_for_each_start_of_each_arrangement() {
    let dir = folder(&[20.0]);
    let path = dir.path().join("run.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    let text = format!("{text}[[compare]]\nname = \"lid off\"\narrangement.kind = \"lid off\"\n");
    std::fs::write(&path, text).unwrap();
    let (out, ..) = season(dir.path(), &["--csv", "starts.csv"]);
    assert!(out.contains("Arrangement"), "{out}");
    let rows = std::fs::read_to_string(dir.path().join("starts.csv")).unwrap();
    let head = "start,weather,arrangement,verdict,margin_K,peak_degC,station,peak_at\r\n";
    assert!(rows.starts_with(head), "{rows}");
    let of = |name: &str| rows.lines().filter(|l| l.contains(name)).count();
    assert_eq!((of(",closed,"), of(",lid off,")), (27, 27));
}

/// Of a job that was interrupted, what is done is not done again: a verdict that only the file can have told comes
/// back. Another season's file is refused.
#[test]
fn an_interrupted_season_goes_on() {
    let dir = folder(&[20.0, 30.0]);
    let (whole, _) = json(dir.path(), &["--resume", "done.txt"]);
    let path = dir.path().join("done.txt");
    let text = std::fs::read_to_string(&path).unwrap();
    let station = |found: &Value| {
        found["starts_table"][0]["station"]
            .as_str()
            .unwrap()
            .to_owned()
    };
    let was = station(&whole);
    let told = text.replacen(&was, "guide tube", 1);
    assert_ne!((told.as_str(), was.as_str()), (text.as_str(), "guide tube"));
    std::fs::write(&path, told).unwrap();
    let (again, _) = json(dir.path(), &["--resume", "done.txt"]);
    assert_eq!(station(&again), "guide tube");
    // Cut off in the middle of a line, it is computed anew.
    std::fs::write(&path, &text[..text.len() - 30]).unwrap();
    let (anew, _) = json(dir.path(), &["--resume", "done.txt"]);
    assert_eq!(anew["starts_table"], whole["starts_table"]);
    let weather = dir.path().join("weather.csv");
    let warmer = std::fs::read_to_string(&weather)
        .unwrap()
        .replacen(",17.0", ",17.1", 1);
    std::fs::write(&weather, warmer).unwrap();
    let (_, err, code) = season(dir.path(), &["--resume", "done.txt"]);
    assert_eq!(code, 2);
    assert!(
        err.contains("other weather") && err.contains("remove it"),
        "{err}"
    );
    // A file of someone else's is never taken for one.
    std::fs::write(&path, "my notes\n").unwrap();
    let (_, err, code) = season(dir.path(), &["--resume", "done.txt"]);
    assert_eq!(code, 2, "{err}");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "my notes\n");
}

#[test]
fn what_is_missing_is_said_with_what_to_write() {
    let dir = folder(&[20.0]);
    let path = dir.path().join("run.toml");
    let text = std::fs::read_to_string(&path).unwrap();
    let told = |more: &[&str], words: &[&str]| {
        let (_, err, code) = season(dir.path(), more);
        assert_eq!(code, 2, "{err}");
        for word in words {
            assert!(err.contains(word), "{word}: {err}");
        }
    };
    told(&["--from", "tonight"], &["--from", "2026-07-13 18:00"]);
    told(&["--weather", "none.csv"], &["none.csv", "no such file"]);
    std::fs::write(&path, text.replace("10 h", "300 h")).unwrap();
    // The run's own check is what fails first there.
    told(&[], &["weather"]);
    std::fs::write(
        &path,
        text.replace(
            "room.series = \"weather.csv\"",
            "room.temperature = \"25 degC\"",
        ),
    )
    .unwrap();
    told(&[], &["--weather FILE", "time,temperature_degC"]);
    let (_, err, code) = season(dir.path(), &["--weather", "weather.csv"]);
    assert_ne!(code, 2, "{err}");
}

/// By hand: two years of one week each; the hot one is the worst, once in (2 + 1)/1 years.
#[test]
fn of_many_years_the_share_in_which_a_start_holds_is_told() {
    let dir = folder(&[20.0]);
    let years = dir.path().join("years");
    std::fs::create_dir(&years).unwrap();
    // Mondays, and the same dates of June but for three days.
    std::fs::write(years.join("2020.csv"), weather("2020-06-01", &[20.0])).unwrap();
    std::fs::write(years.join("2026.csv"), weather("2026-06-01", &[36.0])).unwrap();
    let (found, code) = json(dir.path(), &["--weather", "years", "--csv", "all.csv"]);
    assert_eq!(code, 20);
    assert_eq!(found["starts"], 54);
    let own = &found["arrangements"][0];
    let hot = &own["years"][1];
    assert_eq!(
        (&hot["year"], &hot["return_period_years"]),
        (&"2026".into(), &3.0.into())
    );
    assert_eq!(hot["worst_week"]["monday"], "2026-06-01");
    let share = &own["share_of_years"][0];
    assert_eq!((&share["years"], &share["holds"]), (&2.into(), &1.into()));
    let rows = std::fs::read_to_string(dir.path().join("all.csv")).unwrap();
    assert_eq!(rows.lines().count(), 55);
    let (out, ..) = season(dir.path(), &["--weather", "years"]);
    assert!(
        out.contains("in 2 years 27 of 54 starts hold (50 %)"),
        "{out}"
    );
    assert!(out.contains("Weibull"), "{out}");
}

/// The least flow holds every start, and a tenth of a cubic metre an hour less does not.
#[test]
fn the_least_flow_of_a_season_is_enough_and_no_more() {
    let dir = folder(&[22.0, 29.0]);
    let (found, _) = json(dir.path(), &["--least-flow", "--starts", "12 h"]);
    let flow = found["least_flow"]["least_flow_m3_per_h"].as_f64().unwrap();
    assert!(flow > 0.0);
    assert!(found["least_flow"]["days_too_warm_without"].as_u64() > Some(0));
    let text = std::fs::read_to_string(dir.path().join("run.toml")).unwrap();
    for (flow, code) in [(flow, 0), (flow - 0.1, 10)] {
        let arranged =
            format!("{text}arrangement = {{ kind = \"extracting\", flow = \"{flow:.1} m3/h\" }}\n");
        std::fs::write(dir.path().join("run.toml"), arranged).unwrap();
        let (_, got) = json(dir.path(), &["--starts", "12 h"]);
        assert_eq!(got, code, "{flow} m3/h");
    }
    let flows = found["least_flow"]["flows"].as_array().unwrap();
    let rescued: Vec<f64> = flows.iter().filter_map(|f| f["rescued"].as_f64()).collect();
    assert_eq!((rescued[0], rescued[rescued.len() - 1]), (0.0, 1.0));
    assert!(rescued.windows(2).all(|w| w[0] <= w[1]), "{rescued:?}");
}

/// A year of 365 days whose end may be followed by its beginning. Its last row is an hour before the year is over, and
/// the job takes ten: from the last ten hours on, a start needs the year's first days.
#[test]
fn in_a_round_year_no_start_is_left_out() {
    let dir = folder(&[20.0]);
    let text = weather("2026-01-01", &[18.0; 53]);
    let year: String = text.split_inclusive('\n').take(1 + 8760).collect();
    std::fs::write(dir.path().join("year.csv"), year).unwrap();
    // 35 times 250 h are 8,750 h.
    let more = ["--weather", "year.csv", "--starts", "250 h", "--wrap"];
    let told = |more: &[&str]| {
        let (found, _) = json(dir.path(), more);
        let count = |value: &Value| value.as_u64().unwrap();
        let left_out = &found["arrangements"][0]["left_out"];
        (count(&found["starts"]), count(left_out))
    };
    assert_eq!(told(&more[..4]), (35, 1));
    assert_eq!(told(&more), (36, 0));
}

/// One calendar for the run, one more for each arrangement; many years have none.
#[test]
fn the_picture_has_a_calendar_for_each_arrangement() {
    let dir = folder(&[34.0, 20.0]);
    let words = |name: &str| {
        let (_, err, code) = season(dir.path(), &["--plot", name]);
        assert_eq!(code, 20, "{err}");
        let svg = std::fs::read_to_string(dir.path().join(name)).unwrap();
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
        let labels = svg.split("aria-label=\"").skip(1);
        let labels = labels.map(|l| l.split('"').next().unwrap().to_owned());
        labels.collect::<Vec<_>>().join("\n")
    };
    let one = words("one.svg");
    for word in [
        "Lamp feet",
        "bench-220",
        "pla",
        "June 2026",
        "softens",
        "outlast",
    ] {
        assert!(one.contains(word), "{word}: {one}");
    }
    assert!(!one.contains("lid off"));
    let text = std::fs::read_to_string(dir.path().join("run.toml")).unwrap();
    let variant = "[[compare]]\nname = \"lid off\"\narrangement.kind = \"lid off\"\n";
    std::fs::write(dir.path().join("run.toml"), text + variant).unwrap();
    let two = words("two.svg");
    assert!(
        two.contains("\nlid off: ") && two.contains("\nclosed: "),
        "{two}"
    );
    std::fs::copy(dir.path().join("weather.csv"), dir.path().join("again.csv")).unwrap();
    let years = ["--plot", "a.svg", "--weather", "weather.csv", "again.csv"];
    let (_, err, code) = season(dir.path(), &years);
    assert_eq!(code, 2);
    assert!(
        err.contains("--plot") && err.contains("one weather file"),
        "{err}"
    );
    assert!(!dir.path().join("a.svg").exists());
}
