//! A run file in, a run or clear problems out. Each case of bad input states line, column, and
//! the words by which the user learns what to do.

mod arrangement;
mod bad_values;
mod clock;
mod doubt;
mod failure;
mod files;
mod forecast;
mod good;
mod guesses;
mod heat_sources;
mod job;
mod limits;
mod loggers;
mod logs;
mod logs_elapsed;
mod logs_heater;
mod logs_judged;
mod logs_probes;
mod logs_switched;
mod many;
mod misread;
mod neighbours;
mod profile;
mod room;
mod series;
mod slips;
mod sun;

use super::{Loaded, Problem, Problems, load, parse};
use crate::catalogue::Catalogue;

/// A small valid run; tests put mistakes in.
pub(super) const GOOD: &str = r#"[run]
start = "2026-07-13 07:00"
duration = "100 h"
[machine]
name = "bench-220"
[material]
name = "pla"
[part]
mass = "2.3 kg"
footprint = "180 cm2"
[job]
bed = "60 degC"
[room]
temperature = "31 degC"
"#;

pub(super) fn read(text: &str) -> Result<Loaded, Problems> {
    parse(text, "run.toml", None, &Catalogue::embedded())
}

/// Loads the good run (100 h from 13 July, 07:00) with this weather series beside it.
pub(super) fn load_with(weather: &[u8], more: &str) -> Result<Loaded, Problems> {
    let folder = tempfile::tempdir().expect("temp dir");
    let run = GOOD.replace(
        "temperature = \"31 degC\"",
        &format!("series = \"weather.csv\"\n{more}"),
    );
    std::fs::write(folder.path().join("run.toml"), run).expect("write");
    std::fs::write(folder.path().join("weather.csv"), weather).expect("write");
    load(&folder.path().join("run.toml"), None)
}

/// The good run with a line replaced.
pub(super) fn with(line: &str, by: &str) -> String {
    assert!(GOOD.contains(line), "{line} is in the good run");
    GOOD.replace(line, by)
}

/// The good run with lines added under a table.
pub(super) fn plus(table: &str, lines: &str) -> String {
    let header = format!("[{table}]\n");
    if GOOD.contains(&header) {
        GOOD.replace(&header, &format!("{header}{lines}\n"))
    } else {
        format!("{GOOD}{header}{lines}\n")
    }
}

pub(super) fn run(text: &str) -> Loaded {
    read(text).unwrap_or_else(|problems| panic!("should be valid:\n{problems}"))
}

pub(super) fn problems(text: &str) -> Vec<Problem> {
    let problems = read(text).expect_err("should be refused");
    problems.as_slice().to_vec()
}

/// The only problem, which must stand at this place and say (in message or help) these words.
#[track_caller]
pub(super) fn refused(text: &str, at: (usize, usize), words: &[&str]) {
    let found = problems(text);
    let shown = Problems::new(found.clone()).to_string();
    assert_eq!(found.len(), 1, "one problem expected:\n{shown}");
    assert_eq!(
        (found[0].line, found[0].column),
        (Some(at.0), Some(at.1)),
        "{shown}"
    );
    says(&found[0], words);
}

#[track_caller]
pub(super) fn says(problem: &Problem, words: &[&str]) {
    let text = format!(
        "{}\n{}",
        problem.message,
        problem.help.as_deref().unwrap_or("")
    );
    for word in words {
        assert!(text.contains(word), "\"{word}\" is missing in\n{text}");
    }
    assert!(
        problem.help.is_some(),
        "every problem says what to do: {text}"
    );
}
