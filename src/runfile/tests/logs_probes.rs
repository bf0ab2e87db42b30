//! Probes that go wrong on the way: frozen, jumping to an error value, or in another unit than the others.

use super::logs::{HEADER, KELVIN, iso, read, read_bytes, refused, table};
use super::logs_judged::{in_fahrenheit, motor, noted};
use super::{GOOD, run};

const MOTOR_IS_BED: &[&str] = &["feeder motor_degC = bed"];

#[track_caller]
fn untold(text: &str, said: &[&str]) {
    let found = read(text, said);
    assert!(found.notes.is_empty(), "{:?}", found.notes);
}

#[test]
fn a_probe_that_freezes_on_the_way_is_cut_and_told() {
    let to_end = motor(|k, _| (k >= 40).then(|| "43.2".to_owned()));
    let words = [
        "from 2026-07-13 10:20 on 'feeder motor_degC' (feeder motor) has not changed (43.2 degC) for 4.7 h",
        "stuck? 56 rows left out",
    ];
    assert_eq!(noted(&to_end, &words), [41, 97]);
    let middle = |to: usize| motor(move |k, _| (20..=to).contains(&k).then(|| "43.2".to_owned()));
    let words = [
        "between 2026-07-13 08:40 and 2026-07-13 12:00",
        "for 3.3 h",
        "40 rows",
    ];
    assert_eq!(noted(&middle(60), &words), [57, 97]);
    // Three hours are not too long, and few rows show nothing.
    untold(&middle(56), &[]);
    let every_third: Vec<String> = middle(60).lines().enumerate().filter_map(third).collect();
    untold(&every_third.concat(), &[]);
    // What its heater holds is not stuck.
    let held = motor(|k, _| (k >= 40).then(|| "60.0".to_owned()));
    noted(&held, &["has not changed (60 degC)"]);
    untold(&held, MOTOR_IS_BED);
    // The room's own column, unless the run file has the room as that temperature.
    let room = |shown: &'static str| {
        table(HEADER, move |m, [a, b, c]| {
            let room = if m < 620 {
                c.to_string()
            } else {
                shown.to_owned()
            };
            format!("{},{a},{b},{room}", iso(m))
        })
    };
    noted(&room("35.4"), &["'room_degC' (room) has not changed (35.4"]);
    assert_eq!(read(&room("35.4"), &[]).log.room.len(), 41);
    untold(&room("31.4"), &[]);
}

/// The header, and every third row after it.
fn third((line, text): (usize, &str)) -> Option<String> {
    (line % 3 == 0).then(|| format!("{text}\n"))
}

#[test]
fn a_coarse_thermometer_may_stand_still_for_longer() {
    // Whole degrees, still from the fortieth row on.
    let whole = |slower: usize| {
        table(HEADER, move |m, [_, gear, room]| {
            let minutes = m - 420;
            let motor = 31 + (minutes / 10).min(20);
            format!("{},{motor},{gear},{room}", iso(420 + slower * minutes))
        })
    };
    untold(&whole(1), &[]);
    assert_eq!(noted(&whole(2), &["(51 degC) for 9.3 h"]), [41, 97]);
}

#[test]
fn a_jump_of_one_thermometer_is_cut_until_it_is_back() {
    let stays = motor(|k, _| (k >= 60).then(|| "85.0".to_owned()));
    let words = [
        "from 2026-07-13 12:00 on 'feeder motor_degC' (feeder motor) shows 85 degC right after 54.",
        "digital sensors",
        "37 rows left out",
    ];
    assert_eq!(noted(&stays, &words), [60, 97]);
    assert_eq!(read(&stays, &[]).notes.len(), 1, "cut once");
    let touches = motor(|k, _| (60..70).contains(&k).then(|| format!("75.{}", k % 3)));
    let words = [
        "between 2026-07-13 12:00 and 2026-07-13 12:50",
        "touch something",
        "10 rows",
    ];
    assert_eq!(noted(&touches, &words), [87, 97]);
    // Below the room nothing falls either.
    let zero = motor(|k, _| (k >= 60).then(|| "0.0".to_owned()));
    assert_eq!(noted(&zero, &["shows 0 degC right after"]), [60, 97]);
    assert_eq!(read(&zero, &[]).notes.len(), 1, "cut once");
    let spikes = motor(|k, _| [30, 50, 51].contains(&k).then(|| "75.0".to_owned()));
    let words = ["3 rows that jump away and come back at once"];
    assert_eq!(noted(&spikes, &words), [94, 97]);
    // The first values of a sensor that was just switched on: its 85 degC are no 85 degF either.
    let first = motor(|k, _| (k < 2).then(|| "85.0".to_owned()));
    assert_eq!(noted(&first, &["2 rows that jump"]), [95, 97]);
    // All sensors of one wire are reset together.
    let both = table(HEADER, |m, [a, b, c]| {
        let shown = |t: f64| if m < 720 { t } else { 85.0 };
        format!("{},{},{},{c}", iso(m), shown(a), shown(b))
    });
    assert_eq!(
        noted(&both, &["'drive gear_degC' (drive gear) shows 85"]),
        [60, 60]
    );
    let room = table(HEADER, |m, [a, b, c]| {
        format!("{},{a},{b},{}", iso(m), if m < 720 { c } else { c + 25.0 })
    });
    noted(&room, &["'room_degC' (room) shows"]);
    assert_eq!(read(&room, &[]).log.room.len(), 60);
}

#[test]
fn what_a_machine_does_is_no_jump() {
    let hot = motor(|k, [motor, ..]| (k >= 60).then(|| format!("{:.1}", motor + 20.0)));
    noted(&hot, &["right after"]);
    untold(&hot, MOTOR_IS_BED);
    // Another warms up likewise.
    let both = table(HEADER, |m, [a, b, c]| {
        let (a, b) = if m < 720 { (a, b) } else { (a + 20.0, b + 8.0) };
        format!("{},{a:.1},{b:.1},{c}", iso(m))
    });
    untold(&both, &[]);
    // A lid is opened and closed again.
    let lid = motor(|k, [_, _, room]| (60..67).contains(&k).then(|| format!("{:.1}", room + 6.0)));
    untold(&lid, &[]);
    // The run begins, or changes.
    let begins = motor(|k, [motor, ..]| (k >= 3).then(|| format!("{:.1}", motor + 18.0)));
    untold(&begins, &[]);
    let opened = GOOD.to_owned()
        + "[arrangement]\nkind = \"closed\"\n[[arrangement.schedule]]\nkind = \"door open\"\nat = \"4 h\"\nduration = \"1 h\"\n";
    let found = read_bytes(hot.as_bytes(), &[], &run(&opened).run).expect("valid");
    assert!(found.notes.is_empty(), "{:?}", found.notes);
    // Rows far apart may differ by anything.
    let far: Vec<String> = hot
        .lines()
        .enumerate()
        .filter(|(line, _)| line % 4 == 0)
        .map(|(line, text)| format!("{}\n", if line == 0 { HEADER } else { text }))
        .collect();
    untold(&far.concat(), &[]);
}

#[test]
fn one_column_in_another_unit_than_the_others_is_refused() {
    let fahrenheit = motor(|_, [motor, ..]| Some(in_fahrenheit(motor)));
    let words = [
        "looks like degF",
        "begins at 87.8 degC where the room is at 30.6 degC",
        "--column \"feeder motor_degC = feeder motor in degF\"",
        "[initial]",
    ];
    refused(&fahrenheit, &[], (1, 6), &words);
    let kelvin = motor(|_, [motor, ..]| Some(format!("{:.1}", motor + KELVIN)));
    refused(&kelvin, &[], (1, 6), &["looks like K"]);
    // The other place is enough, where the room was not logged.
    let alone = table("time,feeder motor_degC,drive gear_degC", |m, [a, b, _]| {
        format!("{},{},{b}", iso(m), in_fahrenheit(a))
    });
    refused(&alone, &[], (1, 6), &["where the room is at 31 degC"]);
    // Said, or really so, it is read; a heater may be hot at once.
    let said = ["feeder motor_degC = feeder motor in degF"];
    assert_eq!(read(&fahrenheit, &said).log.columns.len(), 2);
    let hot = GOOD.to_owned() + "[initial]\nair = \"85 degC\"\n";
    assert!(read_bytes(fahrenheit.as_bytes(), &[], &run(&hot).run).is_ok());
    assert_eq!(read(&fahrenheit, MOTOR_IS_BED).log.columns.len(), 2);
}
