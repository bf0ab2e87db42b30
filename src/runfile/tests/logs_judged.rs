//! What logs get wrong, each found and told: clocks, units, broken wires, probes that came off.

use super::logs::{HEADER, KELVIN, iso, plain, read, read_bytes, refused, rows, table};
use super::{GOOD, run, says};

/// The plain log with one column changed, row by row; none for "as it is".
pub(super) fn motor(change: impl Fn(usize, [f64; 3]) -> Option<String>) -> String {
    table(HEADER, |minute, shown| {
        let [motor, gear, room] = shown;
        let motor = change((minute - 420) / 5, shown).unwrap_or_else(|| motor.to_string());
        format!("{},{motor},{gear},{room}", iso(minute))
    })
}

#[track_caller]
pub(super) fn noted(text: &str, words: &[&str]) -> Vec<usize> {
    let found = read(text, &[]);
    let told = found.notes.join("\n");
    for word in words {
        assert!(told.contains(word), "\"{word}\" is missing in\n{told}");
    }
    assert!(
        found.notes.iter().all(|note| !note.contains('\n')),
        "each one line: {told}"
    );
    found.log.columns.iter().map(|c| c.rows.len()).collect()
}

#[test]
fn a_log_of_another_time_is_told_with_what_would_mend_it() {
    let moved = |to: &str| plain().replace("2026-07-13", to);
    for (text, words) in [
        (
            moved("2025-07-13"),
            &[
                "2025-07-13 07:00 to 2025-07-13 15:00",
                "2026-07-13 07:00 to 2026-07-17 11:00",
                "run.start",
                "+1 year ",
            ][..],
        ),
        (moved("2028-07-13"), &["-2 years"]),
        (moved("2026-07-12"), &["+1 day "]),
        (moved("2026-06-30"), &["+13 days"]),
        (moved("2026-08-13"), &["-28 days"]),
    ] {
        let problems =
            read_bytes(text.as_bytes(), &[], &run(GOOD).run).expect_err("should be refused");
        assert_eq!(problems.as_slice().len(), 1, "{problems}");
        says(&problems.as_slice()[0], words);
    }
    let other = GOOD.replace("07:00", "16:00");
    let problems = read_bytes(plain().as_bytes(), &[], &run(&other).run).expect_err("refused");
    says(&problems.as_slice()[0], &["+9 hours"]);
}

#[test]
fn rows_outside_the_run_are_left_out_and_counted() {
    let late = GOOD.replace("07:00", "08:00").replace("100 h", "5 h");
    let found = read_bytes(plain().as_bytes(), &[], &run(&late).run).expect("valid");
    let note = found.notes.join("\n");
    assert!(
        note.contains("12 rows before") && note.contains("24 rows after"),
        "{note}"
    );
    let motor = &found.log.columns[0].rows;
    assert_eq!((motor.len(), motor[0].0), (61, 0.0));
    // What the room was before is what the machine stood in.
    assert_eq!((found.log.room.len(), found.log.room[0].0), (73, -3_600.0));
}

#[test]
fn times_must_rise() {
    let lines: Vec<String> = plain().lines().map(str::to_owned).collect();
    let twice = [&lines[..20], &lines[19..]].concat().join("\n") + "\n";
    refused(
        &twice,
        &[],
        (21, 1),
        &["2026-07-13T08:30:00 is there twice"],
    );
    let back = [&lines[..20], &lines[10..11], &lines[20..]]
        .concat()
        .join("\n")
        + "\n";
    refused(&back, &[], (21, 1), &["comes after", "sort"]);
    refused(
        &plain().replace("T08:00", "T08:66"),
        &[],
        (14, 1),
        &["no date and time"],
    );
}

#[test]
fn gaps_are_told() {
    let lines: Vec<String> = plain().lines().map(str::to_owned).collect();
    let gap = |to: usize| [&lines[..20], &lines[to..]].concat().join("\n") + "\n";
    noted(
        &gap(40),
        &["from 2026-07-13 08:30 to 2026-07-13 10:15", "every 5 min"],
    );
    assert!(read(&gap(29), &[]).notes.is_empty(), "ten steps are no gap");
}

#[test]
fn missing_values_are_counted_and_no_numbers_refused() {
    let marks = ["---", "NaN", "", "999.9", "OL"];
    let some = motor(|k, _| {
        marks
            .get(k / 2)
            .filter(|_| k % 2 == 0)
            .map(ToString::to_string)
    });
    assert_eq!(noted(&some, &["'feeder motor_degC' 5"]), [92, 97]);
    let bad = motor(|k, _| (k == 3).then(|| "warm".to_owned()));
    refused(&bad, &[], (5, 18), &["\"warm\" is not a number", "degC"]);
    let point = motor(|k, _| (k == 3).then(|| "\"45,2\"".to_owned()));
    refused(&point, &[], (5, 19), &["comma", "45.2"]);
    // All mistakes at once.
    let many = motor(|k, _| (k % 2 == 0).then(|| "x".to_owned())).replace("T08:05", "T08:65");
    let problems = read_bytes(many.as_bytes(), &[], &run(GOOD).run).expect_err("refused");
    assert_eq!(problems.as_slice().len(), 11);
    let last = problems.as_slice().last().expect("some").message.clone();
    assert!(last.contains("40 more rows"), "{last}");
}

#[test]
fn a_column_that_never_changes_is_refused() {
    let frozen = motor(|_, _| Some("45.2".to_owned()));
    refused(
        &frozen,
        &[],
        (1, 6),
        &["never changes: 45.2 degC", "connected?", "= nothing"],
    );
    assert_eq!(
        read(&frozen, &["feeder motor_degC = nothing"])
            .log
            .columns
            .len(),
        1
    );
    // The bed's own thermometer is held by its heater; the same value at the motor is not.
    let held = motor(|_, _| Some("60.0".to_owned()));
    refused(&held, &[], (1, 6), &["never changes"]);
    assert_eq!(
        read(&held, &["feeder motor_degC = bed"]).log.columns.len(),
        2
    );
    // So is a room that the run file has as one temperature, and only that one.
    let room = |shown: &str| table(HEADER, |m, [a, b, _]| format!("{},{a},{b},{shown}", iso(m)));
    assert_eq!(read(&room("31.5"), &[]).log.room.len(), 97);
    refused(
        &room("25.5"),
        &[],
        (1, 40),
        &["'room_degC' (room) never changes"],
    );
    // For an hour anything may.
    let short: String = frozen
        .lines()
        .take(14)
        .map(|line| format!("{line}\n"))
        .collect();
    assert_eq!(read(&short, &[]).log.columns[0].rows.len(), 13);
}

#[test]
fn a_single_row_is_a_reading() {
    let one: String = plain()
        .lines()
        .take(2)
        .map(|line| format!("{line}\n"))
        .collect();
    let problems = read_bytes(one.as_bytes(), &[], &run(GOOD).run).expect_err("refused");
    assert_eq!(problems.as_slice().len(), 3, "{problems}");
    says(
        &problems.as_slice()[0],
        &[
            "single value",
            "--reading \"feeder motor = 31 degC at 2026-07-13 07:00\"",
        ],
    );
    refused(&format!("{HEADER}\n"), &[], (1, 1), &["no row"]);
    let empty = motor(|_, _| Some("NaN".to_owned()));
    assert_eq!(noted(&empty, &["has no value"]), [97]);
}

pub(super) fn in_fahrenheit(t: f64) -> String {
    format!("{:.1}", t * 1.8 + 32.0)
}

#[test]
fn other_units_than_said_are_found() {
    let all = |of: fn(f64) -> String| {
        table(HEADER, move |m, shown| {
            format!("{},{}", iso(m), shown.map(of).join(","))
        })
    };
    for (text, unit) in [
        (all(in_fahrenheit), "degF"),
        (all(|t| format!("{:.1}", t + KELVIN)), "K"),
        (all(|t| t.to_string()).replace("degC", "degF"), "degC"),
        (all(|t| t.to_string()).replace("degC", "K"), "degC"),
        (all(in_fahrenheit).replace("degC", "K"), "degF"),
    ] {
        let problems = read_bytes(text.as_bytes(), &[], &run(GOOD).run).expect_err("refused");
        assert_eq!(problems.as_slice().len(), 3, "{problems}");
        let looks = format!("looks like {unit}");
        for problem in problems.as_slice() {
            says(problem, &[&looks, &format!("in {unit}\"")]);
        }
    }
    // Without the room's column, and of a single place.
    let alone = |of: fn(f64) -> String| {
        table("time,drive gear (°C)", move |m, [_, gear, _]| {
            format!("{},{}", iso(m), of(gear))
        })
    };
    refused(
        &alone(in_fahrenheit),
        &[],
        (1, 6),
        &["looks like degF", "[initial]", "31 degC"],
    );
    // From the middle of a run on, by what can heat it: a motor above 110 °C all the time.
    let mid: Vec<String> = rows()
        .skip(60)
        .map(|(m, [motor, ..])| format!("{},{}\n", iso(m), in_fahrenheit(motor)))
        .collect();
    let mid = format!("time,feeder motor_degC\n{}", mid.concat());
    refused(&mid, &[], (1, 6), &["looks like degF", "never below"]);
}

#[test]
fn what_is_really_hot_is_not_refused() {
    // Right after another job: places differ, and the room is the room.
    let hot = table(HEADER, |m, [a, b, c]| {
        format!("{},{},{},{c}", iso(m), a + 55.0, b + 40.0)
    });
    assert_eq!(read(&hot, &[]).log.columns.len(), 2);
    // A chamber at 88 °C that was said to be warm.
    let warm = table("time,air top_degC", |m, [a, ..]| {
        format!("{},{}", iso(m), a + 57.0)
    });
    refused(&warm, &[], (1, 6), &["looks like degF", "[initial]"]);
    let said = GOOD.to_owned() + "[initial]\nair = \"85 degC\"\n";
    assert!(read_bytes(warm.as_bytes(), &[], &run(&said).run).is_ok());
    // Heaters may be hot before the log begins.
    let bed = table("time,bed_degC,hotend_degC", |m, [a, ..]| {
        format!("{},{},{}", iso(m), 60.0 + a / 100.0, 209.0 + a / 100.0)
    });
    assert_eq!(read(&bed, &[]).log.columns.len(), 2);
    // A cool morning in a room that the run file has warmer.
    let cool = table(HEADER, |m, shown| {
        format!(
            "{},{}",
            iso(m),
            shown.map(|t| (t - 9.0).to_string()).join(",")
        )
    });
    assert_eq!(read(&cool, &[]).log.columns.len(), 2);
}

#[test]
fn broken_wires_are_left_out_and_told() {
    let spikes = motor(|k, _| (k == 7 || k == 20).then(|| "1372".to_owned()));
    assert_eq!(
        noted(&spikes, &["2 rows above 500 degC or below -40 degC"]),
        [95, 97]
    );
    let broken = motor(|k, _| (k == 7 || k >= 60).then(|| "-200.0".to_owned()));
    let words = [
        "from 2026-07-13 12:00 on",
        "-200 degC",
        "37 rows",
        "1 row above",
    ];
    assert_eq!(noted(&broken, &words), [59, 97]);
    let never = motor(|k, _| Some(format!("{}", 1372 + k % 2)));
    refused(&never, &[], (1, 6), &["no value", "500 degC"]);
}

#[test]
fn a_probe_that_came_off_is_cut_off_and_told() {
    // Sixty per cent of the way to the room's in five minutes, near it after that.
    let off = |k: usize, [motor, _, room]: [f64; 3]| match k {
        60 => Some(format!("{:.1}", room + 0.4 * (motor - room))),
        61.. => Some((room + 0.3).to_string()),
        _ => None,
    };
    let words = [
        "from 2026-07-13 12:00 on",
        "come off",
        "37 rows",
        "others show no such fall",
    ];
    assert_eq!(noted(&motor(off), &words), [60, 97]);
    // Alone, it is told by the run: nothing changes then.
    let alone = table("time,drive gear_degC", |m, shown| {
        let cell = off((m - 420) / 5, shown).unwrap_or_else(|| shown[0].to_string());
        format!("{},{cell}", iso(m))
    });
    assert_eq!(noted(&alone, &["nothing changes in the run"]), [60]);
    // What all do is no probe, nor what the run file says; nor what cools down as a motor does, nor a short while.
    let all = table(HEADER, |m, shown| {
        let k = (m - 420) / 5;
        let [a, b, c] = shown;
        let fallen = |t: f64| off(k, [t, b, c]).unwrap_or_else(|| t.to_string());
        format!("{},{},{},{c}", iso(m), fallen(a), fallen(b))
    });
    assert!(read(&all, &[]).notes.is_empty());
    let opened = GOOD.to_owned()
        + "[arrangement]\nkind = \"closed\"\n[[arrangement.schedule]]\nkind = \"door open\"\nat = \"5 h\"\nduration = \"3 h\"\n";
    let found = read_bytes(motor(off).as_bytes(), &[], &run(&opened).run).expect("valid");
    assert!(found.notes.is_empty(), "{:?}", found.notes);
    let slow = motor(|k, [motor, _, room]| {
        let minutes = 5.0 * k.saturating_sub(60) as f64;
        Some(format!(
            "{:.1}",
            room + (motor - room) * f64::exp(-minutes / 25.0)
        ))
    });
    assert!(read(&slow, &[]).notes.is_empty());
    let late = motor(|k, shown| off(k, shown).filter(|_| k > 92));
    assert!(read(&late, &[]).notes.is_empty());
}

#[test]
fn a_half_written_line_at_the_end_is_left_out() {
    for half in [
        "2026-07-13T15:05,5",
        "2026-07-13T15:05,55.1,51.2,3",
        "2026-07",
        "2026-07-13T15:05,55.1,",
    ] {
        let found = read(&(plain() + half), &[]);
        assert_eq!(found.log.columns[0].rows.len(), 97, "{half}");
        assert!(found.notes.is_empty() && found.details.len() == 1, "{half}");
    }
    // A last row that is whole is read without a line's end too.
    let whole = read(&(plain() + "2026-07-13T15:05,55.1,51.2,31.4"), &[]);
    assert_eq!(whole.log.columns[0].rows.len(), 98);
    assert!(whole.details.is_empty());
    // One further up was torn when the logger stopped: half a number is none.
    let torn = plain().replace("T08:00,", "T08:00,4\n2026-07-13T08:01,");
    assert_eq!(noted(&torn, &["1 row with fewer cells"]), [97, 97]);
    // Some save no cells that are empty at the end of a line.
    let short = table(HEADER, |minute, [motor, gear, room]| {
        let room = if minute % 20 == 0 {
            String::new()
        } else {
            format!(",{room}")
        };
        format!("{},{motor},{gear}{room}", iso(minute))
    });
    assert_eq!(noted(&short, &["'room_degC' 25"]), [97, 97]);
}
