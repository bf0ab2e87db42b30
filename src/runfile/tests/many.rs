//! Very many mistakes: all of them are found and few shown, at a cost in proportion. At these sizes anything
//! that looks at every other mistake, or at the text from its beginning, for each of them takes minutes.

use super::{GOOD, read};
use crate::keys::{Problem, Problems};

const MANY: usize = 100_000;

fn refused(text: &str) -> Problems {
    read(text).expect_err("should be refused")
}

#[test]
fn a_hundred_thousand_unknown_keys_are_found_and_twenty_shown() {
    let keys: String = (0..MANY).map(|n| format!("k{n} = 1\n")).collect();
    let problems = refused(&GOOD.replace("[job]\n", &format!("[job]\n{keys}")));
    assert_eq!(problems.as_slice().len(), MANY);
    let text = problems.to_string();
    assert_eq!(text.matches("error: ").count(), 20);
    assert!(
        text.ends_with("99,980 more keys like this in run.toml"),
        "{text}"
    );
    assert_eq!(problems.as_slice()[MANY - 1].line, Some(11 + MANY));
}

#[test]
fn as_many_lines_that_are_not_toml() {
    let lines: String = (0..MANY).map(|n| format!("k{n} = x y\n")).collect();
    let problems = refused(&format!("{GOOD}{lines}"));
    assert_eq!(problems.as_slice().len(), MANY);
    assert!(
        problems
            .to_string()
            .ends_with("more lines like this in run.toml")
    );
}

/// One line of a megabyte: columns are counted, too.
#[test]
fn as_many_mistakes_in_one_line() {
    let items: Vec<String> = (0..MANY / 2).map(|n| format!("{{k{n}=1}}")).collect();
    let line = format!("[job]\npause = [{}]\n", items.join(","));
    let problems = refused(&GOOD.replace("[job]\n", &line));
    assert_eq!(problems.as_slice().len(), MANY);
    assert!(problems.to_string().len() < 40_000);
    let last = problems.as_slice().iter().filter_map(|p| p.column).max();
    assert!(last.is_some_and(|column| column > 500_000));
}

/// Legal and odd ones are collected as well, and variants don't compare each hint with all others.
#[test]
fn hints_of_variants_are_told_once() {
    let pauses: String = (0..2_000)
        .map(|n| {
            format!(
                "[[job.pause]]\nat = \"{} min\"\nduration = \"1 s\"\n",
                20 + 2 * n
            )
        })
        .collect();
    let compare: String = (0..5)
        .map(|n| {
            format!(
                "[[compare]]\nname = \"v{n}\"\njob.nozzle = \"{} degC\"\n",
                205 + n
            )
        })
        .collect();
    let text = GOOD.replace("[room]\n", &format!("{pauses}[room]\n")) + &compare;
    let loaded = read(&text).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(loaded.warnings.len(), 2_000);
    let hints: Vec<&Problem> = loaded.warnings.iter().filter(|w| w.is_error()).collect();
    assert!(hints.is_empty());
}

#[test]
fn a_key_as_long_as_a_book_is_shown_by_its_beginning() {
    let key = "k".repeat(1_000_000);
    let problems = refused(&GOOD.replace("[job]\n", &format!("[job]\n{key} = 1\n")));
    assert_eq!(problems.as_slice().len(), 1);
    assert!(problems.as_slice()[0].message.len() < 200);
    assert!(problems.to_string().len() < 2_000);
}
