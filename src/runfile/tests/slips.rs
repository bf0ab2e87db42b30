//! The usual slips of whoever rarely writes such a file. Each hint, when it is followed, leads to a file that
//! loads: here it is followed by a machine.

use super::{plus, read, run, with};
use crate::keys::Problem;

/// What the help of a problem says to write: the whole line after its colon, or the value in quotes.
enum Advice {
    Line(String),
    Value(String),
}

fn advice(problem: &Problem) -> Advice {
    let help = problem.help.as_deref().expect("every problem has help");
    let line = help
        .rsplit_once(": ")
        .map(|(_, line)| line)
        .filter(|line| line.contains(" = ") || line.starts_with('['));
    let line = line.or_else(|| help.strip_prefix("write ").filter(|l| l.contains(" = ")));
    if let Some(line) = line {
        return Advice::Line(line.to_owned());
    }
    let quoted = help.split('"').nth(1).expect("something to write");
    Advice::Value(format!("\"{quoted}\""))
}

/// The text with the first problem mended as its help says.
fn followed(text: &str, problem: &Problem) -> String {
    let at = problem.line.expect("a line") - 1;
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    lines[at] = match advice(problem) {
        Advice::Line(line) => line,
        Advice::Value(value) => {
            let (key, _) = lines[at].split_once('=').expect("a key and a value");
            format!("{key}= {value}")
        }
    };
    lines.join("\n") + "\n"
}

/// Follows hints until the file loads; at most two, since nobody follows many.
#[track_caller]
fn mended(text: &str) -> String {
    let mut text = text.to_owned();
    for _ in 0..2 {
        match read(&text) {
            Ok(_) => return text,
            Err(problems) => text = followed(&text, &problems.as_slice()[0]),
        }
    }
    match read(&text) {
        Ok(_) => text,
        Err(problems) => panic!("still wrong after two hints:\n{text}\n{problems}"),
    }
}

#[test]
fn each_hint_when_followed_leads_to_a_file_that_loads() {
    for (good, slip) in [
        ("bed = \"60 degC\"", "bed = “60 degC”"),
        ("bed = \"60 degC\"", "bed = ‘60 degC’"),
        ("bed = \"60 degC\"", "bed = „60 degC“"),
        ("bed = \"60 degC\"", "bed = ”60 degC\""),
        ("bed = \"60 degC\"", "bed = 60 degC"),
        ("bed = \"60 degC\"", "bed = 60°C"),
        ("bed = \"60 degC\"", "bed = 60"),
        ("bed = \"60 degC\"", "bed = \"60\""),
        ("bed = \"60 degC\"", "bed = 60,5 degC"),
        ("bed = \"60 degC\"", "bed = \"60,5 degC\""),
        ("bed = \"60 degC\"", "bed = 60,5"),
        ("bed = \"60 degC\"", "bed = \"60 grad C\""),
        ("bed = \"60 degC\"", "bed = \"60 degc.\""),
        ("bed = \"60 degC\"", "bed \"60 degC\""),
        ("bed = \"60 degC\"", "bed: \"60 degC\""),
        ("bed = \"60 degC\"", "bed: 60 degC"),
        ("bed = \"60 degC\"", "bed == \"60 degC\""),
        ("bed = \"60 degC\"", "bed = \"60 degC"),
        ("bed = \"60 degC\"", "bed = 60 degC\""),
        ("bed = \"60 degC\"", "bed = \"60 degC\","),
        ("bed = \"60 degC\"", "bed = \"60 degC\";"),
        ("bed = \"60 degC\"", "bed = \"60 degC\" // warm"),
        ("mass = \"2.3 kg\"", "mass = 2,3 kg"),
        ("mass = \"2.3 kg\"", "mass = 2.3"),
        ("mass = \"2.3 kg\"", "mass = \"2,3 kg\""),
        ("mass = \"2.3 kg\"", "mass = \"2.3 kgs\""),
        ("mass = \"2.3 kg\"", "mass = 2.3kg"),
        ("name = \"pla\"", "name = pla"),
        ("name = \"pla\"", "name = ´pla´"),
        ("name = \"pla\"", "name = \"plla\""),
        ("name = \"bench-220\"", "name = \"bench220\""),
        ("name = \"bench-220\"", "name = bench 220"),
        ("[room]", "[room"),
        ("[room]", "room]"),
        ("[room]", "(room)"),
        ("[room]", "room:"),
        ("start = \"2026-07-13 07:00\"", "start = 2026-07-13"),
        ("start = \"2026-07-13 07:00\"", "start = \"2026-07-13\""),
        ("start = \"2026-07-13 07:00\"", "start: 2026-07-13 07:00"),
        ("start = \"2026-07-13 07:00\"", "start = 13.07.2026 07:00"),
        (
            "start = \"2026-07-13 07:00\"",
            "start = \"13.07.2026 07:00\"",
        ),
        ("duration = \"100 h\"", "duration = \"10^2 h\""),
        ("duration = \"100 h\"", "duration = \"10² h\""),
        ("duration = \"100 h\"", "duration = 100 hours,"),
    ] {
        mended(&with(good, slip));
    }
    for slip in [
        "must_stay_closed = yes",
        "must_stay_closed = no",
        "must_stay_closed = True",
        "must_stay_closed = \"yes\"",
        "must_stay_closed = “yes”",
        "must_stay_closed: yes",
        "must_stay_closed = ja",
        "must_stay_closed = 1",
    ] {
        let text = mended(&plus("require", slip));
        assert!(text.contains("must_stay_closed = "), "{text}");
    }
}

/// What is meant is kept: yes is not mended to no, and 60.5 stays 60.5.
#[test]
fn what_was_meant_is_what_is_proposed() {
    for (slip, closed) in [("yes", true), ("\"no\"", false), ("True", true)] {
        let text = mended(&plus("require", &format!("must_stay_closed = {slip}")));
        assert_eq!(
            run(&text).run.requirements.must_stay_closed,
            closed,
            "{slip}"
        );
    }
    let text = mended(&with("\"2.3 kg\"", "2,3 kg"));
    assert!((run(&text).run.part.mass_kg - 2.3).abs() < 1e-12);
    let text = mended(&with("\"100 h\"", "\"10² h\""));
    assert!((run(&text).run.duration_s - 360_000.0).abs() < 1e-6);
}

/// Nothing needs to be mended in these.
#[test]
fn other_line_ends_tabs_and_degree_signs_are_read() {
    let same = |text: &str| assert_eq!(run(text).run, run(super::GOOD).run, "{text}");
    same(&super::GOOD.replace('\n', "\r\n"));
    same(&super::GOOD.replace(" = ", "\t=\t"));
    for bed in [
        "60 °C",
        "60°C",
        "60 ºC",
        "60 ˚C",
        "60 ℃",
        "60\u{a0}°C",
        "140 °F",
    ] {
        let loaded = run(&with("60 degC", bed));
        assert!((loaded.run.phases[0].bed_K.expect("heated") - 333.15).abs() < 1e-9);
    }
}

#[test]
fn a_table_that_stands_twice_is_told_so() {
    let text = format!("{}[job]\nnozzle = \"210 degC\"\n", super::GOOD);
    super::refused(&text, (15, 2), &["duplicate key", "under the first one"]);
}
