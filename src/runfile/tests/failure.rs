//! `[[failure]]`: the good run starts on Monday 13 July 2026 at 07:00 and lasts 100 hours, until Friday 11:00. It is 14
//! lines long.

use super::{GOOD, refused, run};
use crate::run::FailureKind;

/// The good run with a fan and one failure, whose lines begin with line 19.
fn fan(lines: &str) -> String {
    format!(
        "{GOOD}[arrangement]\nkind = \"extracting\"\nflow = \"40 m3/h\"\n[[failure]]\n{lines}\n"
    )
}

fn stretches(text: &str) -> Vec<(FailureKind, f64, f64)> {
    let run = run(text).run;
    assert!(run.fails.is_empty());
    let failures = run.failures.iter();
    failures
        .map(|f| (f.kind, f.begin_s / 3600.0, f.end_s / 3600.0))
        .collect()
}

#[test]
fn a_failure_begins_and_ends_as_it_is_written() {
    for (lines, begin_h, end_h) in [
        (
            "at = \"Wed 14:00\"\nduration = \"20 min\"",
            55.0,
            55.0 + 1.0 / 3.0,
        ),
        ("at = \"2026-07-15 14:00\"\nuntil = \"16:00\"", 55.0, 57.0),
        ("at = \"55 h\"\nuntil = \"Thu 7:00\"", 55.0, 72.0),
        // For good, and beyond the end of the run.
        ("at = \"55 h\"", 55.0, 100.0),
        ("at = \"Fri 10:00\"\nduration = \"8 h\"", 99.0, 100.0),
    ] {
        let found = stretches(&fan(&format!("kind = \"power cut\"\n{lines}")));
        let [(FailureKind::PowerCut, begin, end)] = found[..] else {
            panic!("{found:?}");
        };
        assert!(
            (begin - begin_h).abs() < 1e-9 && (end - end_h).abs() < 1e-9,
            "{lines}: {found:?}"
        );
    }
}

#[test]
fn a_failure_needs_what_could_fail() {
    let at = "at = \"Wed 14:00\"";
    let closed = format!("{GOOD}[[failure]]\nkind = \"fan off\"\n{at}\n");
    refused(
        &closed,
        (16, 8),
        &[
            "no fan runs from 55 h (Wed 2026-07-15 14:00)",
            "[arrangement]",
        ],
    );
    refused(
        &fan(&format!("kind = \"air conditioner off\"\n{at}")),
        (19, 8),
        &[
            "knows no air conditioner",
            "[room.building]",
            "cooler_power",
        ],
    );
    let building = "[room.building]\nvolume = \"60 m3\"\nenvelope = \"60 W/K\"\n";
    let without = fan(&format!("kind = \"air conditioner off\"\n{at}\n{building}"));
    refused(&without, (19, 8), &["`room.building.cooler_power` is 0"]);
    let with = format!("{without}cooler_power = \"2 kW\"\n");
    assert_eq!(
        stretches(&with),
        [(FailureKind::AirConditionerOff, 55.0, 100.0)]
    );
}

/// A fan that comes by a schedule can fail while it runs, and one that is shut out by a door for all of it can't.
#[test]
fn a_scheduled_fan_can_fail_while_it_runs() {
    let daily = "[[arrangement.schedule]]\nkind = \"extracting\"\nflow = \"40 m3/h\"\nevery = \"day\"\nat = \"12:00\"\nuntil = \"20:00\"\n";
    let at = |at: &str| {
        format!("{GOOD}{daily}[[failure]]\nkind = \"fan off\"\nat = \"{at}\"\nduration = \"1 h\"\n")
    };
    assert_eq!(
        stretches(&at("Wed 14:00")),
        [(FailureKind::FanOff, 55.0, 56.0)]
    );
    assert_eq!(stretches(&at("Wed 11:30")).len(), 1);
    refused(
        &at("Wed 10:00"),
        (22, 8),
        &["no fan runs", "Wed 2026-07-15 11:00"],
    );
    let open = fan(
        "kind = \"fan off\"\nat = \"Wed 14:00\"\nduration = \"1 h\"\n[[arrangement.schedule]]\nkind = \"door open\"\nat = \"Wed 13:00\"\nduration = \"2 h\"",
    );
    refused(&open, (19, 8), &["no fan runs"]);
}

#[test]
fn times_that_can_not_be_are_told() {
    let cut = |lines: &str| fan(&format!("kind = \"power cut\"\n{lines}"));
    refused(
        &cut("at = \"Sat 14:00\""),
        (20, 6),
        &["Sat 14:00", "does not come"],
    );
    refused(
        &cut("at = \"2026-07-20 14:00\""),
        (20, 6),
        &["is after the run", "31 h"],
    );
    refused(
        &cut("at = \"100 h\""),
        (20, 6),
        &["the run ends at 100 h", "31 h"],
    );
    refused(&cut("at = \"200 h\""), (20, 6), &["this fails at 200 h"]);
    refused(
        &cut("at = \"55 h\"\nuntil = \"2026-07-15 13:00\""),
        (21, 9),
        &["begins only at 55 h", "has to be later"],
    );
    refused(
        &cut("at = \"55 h\"\nduration = \"0 s\""),
        (21, 12),
        &["1 s"],
    );
    refused(
        &cut("at = \"55 h\"\nduration = \"1 h\"\nuntil = \"16:00\""),
        (22, 9),
        &["both say when this ends"],
    );
    refused(
        &fan("kind = \"fan of\"\nat = \"55 h\""),
        (19, 8),
        &["fan off"],
    );
    refused(&fan("kind = \"fan off\""), (18, 1), &["at"]);
    refused(&cut("at = \"55 h\"\nevery = \"day\""), (21, 1), &["every"]);
}

/// Studies and variants change what a failure needs; they are not asked about it.
#[test]
fn only_the_run_itself_is_asked_about_failures() {
    let text = fan(
        "kind = \"fan off\"\nat = \"Wed 14:00\"\n[[compare]]\nname = \"shut\"\narrangement.kind = \"closed\"",
    );
    let loaded = run(&text);
    assert_eq!(loaded.run.failures.len(), 1);
    assert!(loaded.compare[0].run.failures.is_empty());
    assert!(loaded.inputs.to_run().unwrap().failures.is_empty());
    assert!(
        loaded
            .provenance
            .iter()
            .any(|stated| stated.key.starts_with("failure"))
    );
}
