//! Columns that say what the bed's heater took.

use super::logs::{HEADER, iso, plain, read_bytes, table};
use super::{GOOD, run, says};
use crate::runfile::logs::ReadLog;

fn read(text: &str, said: &[&str]) -> ReadLog {
    let read = read_bytes(text.as_bytes(), said, &run(GOOD).run);
    read.unwrap_or_else(|problems| panic!("should be read:\n{problems}"))
}

fn with(header: &str, shows: impl Fn(usize) -> String) -> String {
    table(&format!("{HEADER},{header}"), |minute, [a, b, c]| {
        format!("{},{a},{b},{c},{}", iso(minute), shows(minute - 420))
    })
}

/// The same power however it is told. The bed of that machine has 250 W.
#[test]
fn watts_duties_and_on_and_off_are_one_power() {
    let most_W = run(GOOD).run.machine.bed.max_power_W;
    let every =
        |k: usize, yes: &str, no: &str| if k.is_multiple_of(4) { yes } else { no }.to_owned();
    let quarter_W = format!("{}", 0.25 * most_W);
    for (header, said, shows) in [
        (
            "bed_power_W",
            &[][..],
            &(|_| quarter_W.clone()) as &dyn Fn(usize) -> String,
        ),
        ("Bed heater (%)", &[], &|_| "25".to_owned()),
        ("bed_duty", &[], &|_| "0.25".to_owned()),
        ("bed_duty", &[], &|_| "25".to_owned()),
        ("P", &["P = bed heater in %"], &|_| "25 %".to_owned()),
        ("P", &["P = bed heater in W within 5 W"], &|_| {
            quarter_W.clone()
        }),
        ("bed_heater_on", &[], &|m| every(m / 5, "1", "0")),
        ("H", &["H = bed heater"], &|m| every(m / 5, "on", "off")),
    ] {
        let found = read(&with(header, shows), said);
        let [power] = &found.log.powers[..] else {
            panic!("{header}: {:?}", found.log.powers)
        };
        assert!(power.rows.len() > 2, "{header}: {:?}", power.rows);
        // Rows of on and off at the edges of a window.
        let off_W = if shows(0) == shows(5) {
            1e-6
        } else {
            0.03 * most_W
        };
        for mean in &power.rows {
            assert!(
                (mean.power_W - 0.25 * most_W).abs() <= off_W,
                "{header}: {mean:?}"
            );
            assert!(mean.from_s >= 1_800.0 && mean.to_s - mean.from_s >= 599.0);
        }
        let within_W = said
            .iter()
            .any(|said| said.contains("within"))
            .then_some(5.0);
        assert_eq!(power.within_W, within_W);
        let told = &found.understood;
        assert!(
            told.contains(&format!("bed heater in column '{header}', ")),
            "{told}"
        );
    }
}

#[test]
fn what_is_no_power_is_refused_with_what_to_write() {
    let at = plain().lines().next().expect("a header").len() + 2;
    for (header, said, cell, line, words) in [
        (
            "bed heater",
            &[][..],
            "40",
            1,
            &["does not say in what", "in W", "in %"][..],
        ),
        (
            "bed_power_W",
            &[],
            "warm",
            4,
            &["\"warm\"", "watts", "--column \"bed_power_W = nothing\""],
        ),
        ("bed_power_W", &[], "-3", 4, &["\"-3\"", "watts"]),
    ] {
        let text = with(header, |m| {
            if m == 10 || line == 1 { cell } else { "0" }.to_owned()
        });
        let problems = read_bytes(text.as_bytes(), said, &run(GOOD).run).expect_err("refused");
        let [problem] = problems.as_slice() else {
            panic!("{problems}")
        };
        assert_eq!(problem.line, Some(line), "{problems}");
        assert!(line > 1 || problem.column == Some(at), "{problems}");
        says(problem, words);
    }
    let text = with("P", |_| "60".to_owned());
    for (said, words) in [
        ("P = bed heater within 1 K", &["power"][..]),
        ("P = bed heater in degC", &["no temperature", "in W"]),
        ("P = bed in W", &["is a temperature", "degC"]),
        ("P = fan in W", &["unit"]),
    ] {
        let told = match crate::runfile::logs::of_option(said) {
            Ok(_) => read_bytes(text.as_bytes(), &[said], &run(GOOD).run)
                .expect_err("refused")
                .to_string(),
            Err(problems) => problems.to_string(),
        };
        for word in words {
            assert!(told.contains(word), "{said}: {told}");
        }
    }
    // More than the heater has is told.
    let most_W = run(GOOD).run.machine.bed.max_power_W;
    let much = |m| {
        if m == 100 {
            format!("{}", 1.5 * most_W)
        } else {
            "60".to_owned()
        }
    };
    let found = read(&with("bed_power_W", much), &[]);
    assert!(
        found
            .notes
            .iter()
            .any(|note| note.contains("machine.bed.max_power")),
        "{:?}",
        found.notes
    );
}
