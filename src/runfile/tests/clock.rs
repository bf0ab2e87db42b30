//! Moments by the clock: the good run starts on Monday 13 July 2026 at 07:00 and lasts 100 hours, until
//! Friday 11:00.

use super::{GOOD, problems, refused, run};
use crate::chamber::IntegratorKind;
use crate::integrate::Options;
use crate::run::{PhaseKind, Run};
use crate::study::check;

fn fan(lines: &str) -> String {
    format!("{GOOD}[[arrangement.schedule]]\nkind = \"extracting\"\nflow = \"40 m3/h\"\n{lines}\n")
}

/// Begin and end of every scheduled stretch, h.
fn stretches(text: &str) -> Vec<(f64, f64)> {
    let run = run(text).run;
    let hours = run
        .schedule
        .iter()
        .map(|s| (s.begin_s / 3600.0, s.end_s / 3600.0));
    hours.collect()
}

fn peak_and_course(run: &Run) -> (f64, Vec<f64>) {
    let found = check(run, IntegratorKind::Rosenbrock, &Options::fine()).expect("simulated");
    let means = found.nodes.iter().map(|n| n.mean_K).collect();
    (found.outcome.margin_K, means)
}

#[test]
fn a_stretch_by_the_clock_is_the_one_from_the_start() {
    for lines in [
        "at = \"31 h\"\nduration = \"6 h\"",
        "at = \"Tue 14:00\"\nuntil = \"20:00\"",
        "at = \"Tue 14:00\"\nduration = \"6 h\"",
        "at = \"2026-07-14 14:00\"\nuntil = \"Tue 20:00\"",
        "at = 2026-07-14T14:00:00\nuntil = \"37 h\"",
        "at = \"day 2 at 2 pm\"\nuntil = 20:00:00",
    ] {
        assert_eq!(stretches(&fan(lines)), [(31.0, 37.0)], "{lines}");
    }
}

/// The same run, to the last bit, and so the same trajectory.
#[test]
fn a_schedule_by_the_clock_gives_the_same_trajectory() {
    let daily = fan("every = \"day\"\nat = \"20:00\"\nuntil = \"06:00\"");
    let mut elapsed = GOOD.to_owned();
    for day in 0..4 {
        let at = 13 + 24 * day;
        elapsed += &format!(
            "[[arrangement.schedule]]\nkind = \"extracting\"\nflow = \"40 m3/h\"\nat = \"{at} h\"\nduration = \"10 h\"\n"
        );
    }
    let (by_clock, by_hours) = (run(&daily).run, run(&elapsed).run);
    assert_eq!(by_clock, by_hours);
    assert_eq!(peak_and_course(&by_clock), peak_and_course(&by_hours));
    let closed = run(GOOD).run;
    // The fan runs at night only, so it is the means that it lowers.
    let sum_K = |run: &Run| peak_and_course(run).1.iter().sum::<f64>();
    assert!(sum_K(&by_clock) < sum_K(&closed) - 10.0);
}

#[test]
fn hours_of_every_day_are_cut_by_run_and_weekend() {
    let daily = fan("every = \"day\"\nat = \"12:00\"\nuntil = \"20:00\"");
    assert_eq!(
        stretches(&daily),
        [(5.0, 13.0), (29.0, 37.0), (53.0, 61.0), (77.0, 85.0)]
    );
    let by_length = daily.replace("until = \"20:00\"", "duration = \"8 h\"");
    assert_eq!(stretches(&by_length), stretches(&daily));
    let two_weeks = daily.replace("100 h", "14 day");
    assert_eq!(stretches(&two_weeks).len(), 14);
    let workdays = two_weeks.replace("\"day\"", "\"workday\"");
    assert_eq!(stretches(&workdays).len(), 10);
    // A run that starts at 05:00 begins in the night before.
    let night = fan("every = \"day\"\nat = \"20:00\"\nuntil = \"06:00\"").replace("07:00", "05:00");
    assert_eq!(stretches(&night)[..2], [(0.0, 1.0), (15.0, 25.0)]);
}

#[test]
fn what_comes_once_holds_within_what_comes_every_day() {
    let text = fan("every = \"day\"\nat = \"12:00\"\nuntil = \"20:00\"")
        + "[[job.spool_change]]\nat = \"Tue 14:00\"\nduration = \"30 min\"\ndoor = \"open\"\n";
    let run = run(&text).run;
    let seen: Vec<_> = run
        .schedule
        .iter()
        .map(|s| (s.begin_s / 3600.0, s.end_s / 3600.0, s.arrangement.name()))
        .collect();
    assert_eq!(
        seen[1..4],
        [
            (29.0, 31.0, "extracting"),
            (31.0, 31.5, "door open"),
            (31.5, 37.0, "extracting")
        ]
    );
    assert_eq!(seen.len(), 6);
}

#[test]
fn moments_that_the_run_does_not_have_say_its_span_and_what_to_write() {
    let span = "from Mon 2026-07-13 07:00 to Fri 2026-07-17 11:00";
    for (at, words) in [
        (
            "2026-07-13 06:00",
            &["Mon 2026-07-13 06:00 is before the run", span, "\"31 h\""][..],
        ),
        (
            "2026-07-17 12:00",
            &[
                "Fri 2026-07-17 12:00 is after the run",
                span,
                "run.duration",
            ],
        ),
        (
            "Sun 14:00",
            &["\"Sun 14:00\" does not come in the run", span],
        ),
        (
            "14:00",
            &[
                "comes 4 times",
                span,
                "\"2026-07-13 14:00\" or",
                "every = \"day\"",
            ],
        ),
    ] {
        let text = fan(&format!("at = \"{at}\"\nduration = \"1 h\""));
        refused(&text, (18, 6), words);
    }
    let text = fan("at = \"Wed 14:00\"\nduration = \"1 h\"").replace("100 h", "12 day");
    refused(
        &text,
        (18, 6),
        &[
            "comes twice",
            "\"2026-07-15 14:00\" or \"2026-07-22 14:00\"",
        ],
    );
    refused(
        &fan("at = \"Wensday 14:00\"\nduration = \"1 h\""),
        (18, 6),
        &["\"wensday\" is neither a day", "\"Wed 14:00\""],
    );
    refused(
        &fan("at = \"Fri 10:00\"\nuntil = \"20:00\""),
        (18, 6),
        &["109 h (Fri 2026-07-17 20:00)", "only to 100 h", "longer"],
    );
}

#[test]
fn an_end_is_said_once_and_later() {
    refused(
        &fan("at = \"Tue 14:00\"\nuntil = \"20:00\"\nduration = \"1 h\""),
        (19, 9),
        &["both say when this ends"],
    );
    refused(
        &fan("at = \"Tue 14:00\""),
        (15, 1),
        &["how long it lasts", "until = "],
    );
    refused(
        &fan("at = \"Tue 14:00\"\nuntil = \"2026-07-14 12:00\""),
        (19, 9),
        &["ends at 29 h (Tue 2026-07-14 12:00)", "begins only at 31 h"],
    );
    for (lines, at, words) in [
        (
            "at = \"Tue 12:00\"\nuntil = \"20:00\"",
            (19, 6),
            "needs a time of day for `at`",
        ),
        (
            "at = \"5 h\"\nuntil = \"20:00\"",
            (19, 6),
            "needs a time of day for `at`",
        ),
        (
            "at = \"12:00\"\nuntil = \"Wed 20:00\"",
            (20, 9),
            "needs a time of day for `until`",
        ),
        (
            "at = \"12:00\"\nuntil = \"12:00\"",
            (20, 9),
            "begins and ends at 12:00",
        ),
        (
            "at = \"12:00\"\nduration = \"30 h\"",
            (20, 12),
            "the next one begins after 24 h",
        ),
    ] {
        refused(&fan(&format!("every = \"day\"\n{lines}")), at, &[words]);
    }
}

#[test]
fn another_word_for_begin_or_end_is_told_the_right_one() {
    refused(
        &fan("at = \"Tue 14:00\"\nduration = \"1 h\"\nto = \"20:00\""),
        (20, 1),
        &["known here: at, duration, until, every"],
    );
}

/// Two daily stretches that overlap do so every day, and are told of once.
#[test]
fn daily_stretches_that_overlap_are_told_of_once() {
    let daily = "[[arrangement.schedule]]\nkind = \"lid off\"\nevery = \"day\"\n";
    let text = format!(
        "{GOOD}{daily}at = \"12:00\"\nuntil = \"20:00\"\n{daily}at = \"19:00\"\nuntil = \"23:00\"\n"
    );
    refused(&text, (23, 6), &["begins at 12 h (Mon 2026-07-13 19:00)"]);
}

#[test]
fn hours_that_never_come_are_odd() {
    let text = fan("every = \"day\"\nat = \"02:00\"\nuntil = \"06:00\"");
    let loaded = run(&text.replace("100 h", "12 h"));
    assert!(loaded.run.schedule.is_empty());
    assert!(
        loaded.warnings[0]
            .message
            .contains("never comes in the run")
    );
}

#[test]
fn pauses_and_spool_changes_come_by_the_clock() {
    let text = GOOD.to_owned()
        + "[[job.pause]]\nevery = \"day\"\nat = \"22:00\"\nuntil = \"06:00\"\n\
           [[job.spool_change]]\nat = \"Wed 14:00\"\nduration = \"4 min\"\n";
    let run = run(&text).run;
    let of = |kind: PhaseKind| -> Vec<_> {
        let phases = run.phases.iter().filter(|p| p.kind == kind);
        phases
            .map(|p| (p.begin_s / 3600.0, p.end_s / 3600.0))
            .collect()
    };
    assert_eq!(
        of(PhaseKind::Pause),
        [(15.0, 23.0), (39.0, 47.0), (63.0, 71.0), (87.0, 95.0)]
    );
    assert_eq!(of(PhaseKind::SpoolChange), [(55.0, 55.0 + 4.0 / 60.0)]);
    let text = GOOD.to_owned() + "[[job.pause]]\nat = \"Mon 07:05\"\nduration = \"4 min\"\n";
    refused(
        &text,
        (16, 6),
        &["Mon 2026-07-13 07:15", "while it prints", "Wed 14:00"],
    );
}

#[test]
fn phases_end_by_the_clock_and_the_last_with_the_run() {
    let phases = |lines: &str| GOOD.to_owned() + lines;
    let text = phases(
        "[[job.phase]]\nkind = \"heat up\"\nduration = \"1 h\"\n\
         [[job.phase]]\nkind = \"print\"\nuntil = \"Tue 22:00\"\n\
         [[job.phase]]\nkind = \"pause\"\nuntil = \"06:00\"\n\
         [[job.phase]]\nkind = \"print\"\n",
    );
    let ends = |text: &str| -> Vec<f64> {
        let phases = run(text).run.phases;
        phases.iter().map(|p| p.end_s / 3600.0).collect()
    };
    assert_eq!(ends(&text), [1.0, 39.0, 47.0, 100.0]);
    let explained = run(&text).provenance;
    let until = explained
        .iter()
        .find(|s| s.key == "job.phase.3.until")
        .expect("typed");
    assert_eq!(
        until.moment.as_deref(),
        Some("Wed 2026-07-15 06:00, 47 h from the start")
    );
    let open = text.replace("until = \"06:00\"\n", "");
    refused(&open, (21, 1), &["how long it lasts", "until"]);
}

#[test]
fn a_run_explained_shows_both_clocks() {
    let text = fan("at = \"Tue 14:00\"\nuntil = \"20:00\"")
        + "[[arrangement.schedule]]\nkind = \"closed\"\nat = \"55 h\"\nduration = \"1 h\"\n\
           [[job.pause]]\nevery = \"day\"\nat = \"22:00\"\nduration = \"10 min\"\n";
    let explained = run(&text).provenance;
    let told = |key: &str| {
        let stated = explained.iter().find(|s| s.key == key).expect("typed");
        format!(
            "{} = {}",
            stated.value,
            stated.moment.as_deref().unwrap_or("-")
        )
    };
    assert_eq!(
        told("arrangement.schedule.1.at"),
        "Tue 14:00 = Tue 2026-07-14 14:00, 31 h from the start"
    );
    assert_eq!(
        told("arrangement.schedule.1.until"),
        "20:00 = Tue 2026-07-14 20:00, 37 h from the start"
    );
    assert_eq!(
        told("arrangement.schedule.2.at"),
        "55 h = Wed 2026-07-15 14:00, 55 h from the start"
    );
    assert_eq!(
        told("job.pause.1.at"),
        "22:00 = every day: 15 h, 39 h, 63 h, ... from the start"
    );
}

/// All that is wrong is told at once.
#[test]
fn every_moment_that_is_wrong_is_told() {
    let text = fan("at = \"Sun 14:00\"\nduration = \"1 h\"")
        + "[[arrangement.schedule]]\nkind = \"extracting\"\nat = \"Sun 16:00\"\nduration = \"1 h\"\n\
           [[job.pause]]\nat = \"Sun 18:00\"\nduration = \"1 h\"\n\
           [[job.pause]]\nat = \"Sun 20:00\"\nduration = \"1 h\"\n";
    let messages: Vec<_> = problems(&text).into_iter().map(|p| p.message).collect();
    for words in [
        "Sun 14:00",
        "Sun 16:00",
        "needs the flow",
        "Sun 18:00",
        "Sun 20:00",
    ] {
        assert!(
            messages.iter().any(|m| m.contains(words)),
            "{words}: {messages:?}"
        );
    }
}

#[test]
fn a_moment_without_unit_or_clock_is_refused_with_both() {
    for (at, words) in [
        (
            "31",
            &["has no unit", "\"31 h\"", "by the clock, \"Wed 14:00\""][..],
        ),
        (
            "\"20 Uhr\"",
            &["is not a unit", "by the clock, \"Wed 14:00\""],
        ),
        ("true", &["a moment of the run in quotes"]),
    ] {
        refused(
            &fan(&format!("at = {at}\nduration = \"1 h\"")),
            (18, 6),
            words,
        );
    }
}
