//! Columns that say what the machine did.

use super::logs::{HEADER, iso, plain, read_bytes, table};
use super::{GOOD, plus, run, says};
use crate::run::{Arrangement, ArrangementKind, Control, Run, Switch, Switched};
use crate::runfile::logs::ReadLog;

const HOUR_S: f64 = 3_600.0;
const FAN: &str = "[arrangement]\nkind = \"extracting\"\nflow = \"40 m3/h\"\n";

fn with_fan() -> String {
    format!("{GOOD}{FAN}")
}

/// The plain log, a row every five minutes from 07:00 to 15:00, with a column more: what it says at so many minutes.
fn with(header: &str, shows: impl Fn(usize) -> &'static str) -> String {
    table(&format!("{HEADER},{header}"), |minute, [a, b, c]| {
        format!("{},{a},{b},{c},{}", iso(minute), shows(minute - 420))
    })
}

fn read(text: &str, said: &[&str], of: &str) -> ReadLog {
    let read = read_bytes(text.as_bytes(), said, &run(of).run);
    read.unwrap_or_else(|problems| panic!("should be read:\n{problems}"))
}

/// Whole seconds of when the only switch is on.
fn on_s(read: &ReadLog) -> Vec<(i64, i64)> {
    let [switched] = &read.log.switched[..] else {
        panic!("{:?}", read.log.switched)
    };
    let whole = |(a, b): &(f64, f64)| (a.round() as i64, b.round() as i64);
    switched.on_s.iter().map(whole).collect()
}

#[track_caller]
fn is_told(read: &ReadLog, words: &str) {
    assert!(read.understood.contains(words), "{}", read.understood);
}

#[test]
fn a_fan_is_on_from_half_way_to_the_first_row_that_shows_it() {
    // Rows from 09:00 to 09:55 show it on: from 08:57:30 to 09:57:30.
    let on = |minute: usize| (120..180).contains(&minute);
    let say = |yes: &'static str, no: &'static str| move |m| if on(m) { yes } else { no };
    for (header, yes, no) in [
        ("fan", "1", "0"),
        ("fan_on", "yes", "No"),
        ("Extraction", "ON", "off"),
        ("fan_rpm", "180", "0"),
        // Above half of the largest value, 80 %: 41, but not 40.
        ("fan %", "80", "40"),
    ] {
        let found = read(&with(header, say(yes, no)), &[], &with_fan());
        assert_eq!(on_s(&found), [(7_050, 10_650)], "{header}");
        let what = format!("fan on/off in column '{header}': on once, 60 min in all, 2 changes");
        is_told(&found, &what);
        assert!(found.notes.is_empty(), "{:?}", found.notes);
        let half = found
            .understood
            .contains("above half of its largest value, 80");
        assert_eq!(half, header == "fan %", "{}", found.understood);
    }
    // Said of a column whose header says nothing; a cell without a value is passed over.
    let gaps = |m| {
        if m == 150 {
            "---"
        } else {
            say("true", "false")(m)
        }
    };
    let found = read(&with("F", gaps), &["F = fan"], &with_fan());
    assert_eq!(on_s(&found), [(7_050, 10_650)]);
    // In a log of nothing else a row stands for the change itself.
    let events = "time,fan\n2026-07-13 06:00,off\n2026-07-13 09:00,on\n2026-07-13 09:40,off\n2026-07-13 15:00,off\n";
    let found = read(events, &[], &with_fan());
    assert_eq!(on_s(&found), [(7_200, 9_600)]);
    assert_eq!(found.log.switched[0].from_s, 0.0);
}

#[test]
fn what_never_changes_is_told_and_what_agrees_changes_nothing() {
    let closed = read(&with("fan", |_| "off"), &[], GOOD);
    is_told(
        &closed,
        "fan on/off in column 'fan': off throughout, as in the run file",
    );
    let extracting = read(&with("fan", |_| "on"), &[], &with_fan());
    is_told(&extracting, "on throughout, as in the run file");
    for (found, text) in [(closed, GOOD.to_owned()), (extracting, with_fan())] {
        let inputs = run(&text).inputs;
        let done = inputs.as_switched(&found.log.switched).to_run();
        assert_eq!(done.expect("a run"), run(&text).run);
    }
    let resting = read(&with("fan", |_| "off"), &[], &with_fan());
    is_told(&resting, "off throughout; ");
}

#[test]
fn lids_and_doors_are_open_or_closed() {
    let open = |m: usize| (60..65).contains(&m);
    let say = |yes: &'static str, no: &'static str| move |m| if open(m) { yes } else { no };
    for (header, said, what, yes, no) in [
        ("lid", &[][..], Switch::Lid, "open", "closed"),
        ("lid_closed", &[], Switch::Lid, "0", "1"),
        ("L", &["L = lid"], Switch::Lid, "1", "0"),
        ("D", &["D = door open"], Switch::Door, "on", "off"),
        ("door", &[], Switch::Door, "TRUE", "FALSE"),
    ] {
        let found = read(&with(header, say(yes, no)), said, GOOD);
        assert_eq!(on_s(&found), [(3_450, 3_750)], "{header}");
        assert_eq!(found.log.switched[0].what, what);
        is_told(&found, ": open once, 5 min in all, 2 changes");
    }
    let both: String = plain()
        .replace("room_degC", "room_degC,lid,door")
        .lines()
        .enumerate()
        .map(|(k, line)| match k {
            0 => format!("{line}\n"),
            k => format!("{line},{},{}\n", u8::from(k > 20), u8::from(k < 40)),
        })
        .collect();
    let found = read(&both, &[], GOOD);
    let note = found.notes.first().expect("told");
    assert!(note.contains("open at once"), "{note}");
}

#[track_caller]
fn refused(text: &str, said: &[&str], of: &str, at: Option<(usize, usize)>, words: &[&str]) {
    let problems = read_bytes(text.as_bytes(), said, &run(of).run).expect_err("refused");
    let found = problems.as_slice();
    assert_eq!(found.len(), 1, "one problem expected:\n{problems}");
    if let Some((line, column)) = at {
        let place = (found[0].line, found[0].column);
        assert_eq!(place, (Some(line), Some(column)), "{problems}");
    }
    says(&found[0], words);
}

#[test]
fn what_is_neither_on_nor_off_is_refused_with_what_to_write() {
    let auto = |m| if m == 10 { "auto" } else { "on" };
    // Line 4, behind "2026-07-13T07:10,35.2,33.5,30.7,".
    let row = with("fan", auto);
    let column = row
        .lines()
        .nth(3)
        .expect("a row")
        .find("auto")
        .expect("there")
        + 1;
    let words = &["\"auto\"", "fan", "on or off", "--column \"fan = nothing\""];
    refused(&row, &[], &with_fan(), Some((4, column)), words);
    for (header, cell, words) in [
        ("lid", "2", &["\"2\"", "lid is open", "open or closed"][..]),
        (
            "door",
            "ajar",
            &["\"ajar\"", "door is open", "open or closed"],
        ),
        (
            "lid",
            "off",
            &["\"off\"", "open when it is off?", "open or closed"],
        ),
        ("fan", "-5", &["\"-5\"", "percent or rpm"]),
    ] {
        let text = with(header, |m| if m == 10 { cell } else { "0" });
        refused(&text, &[], &with_fan(), Some((4, column)), words);
    }
    let header = plain().lines().next().expect("a header").len() + 2;
    let on = with("fan", |_| "on");
    let words = &["no fan", "arrangement.flow", "--column \"fan = nothing\""];
    refused(&on, &[], GOOD, Some((1, header)), words);
    assert!(read(&on, &["fan = nothing"], GOOD).log.switched.is_empty());
    let words = &["no such unit", "leave"];
    refused(&on, &["fan = fan within 1 K"], &with_fan(), None, words);
    refused(&on, &["fan = fan in degC"], &with_fan(), None, words);
    let two = with("fan,fan_rpm", |_| "1,1200");
    refused(
        &two,
        &[],
        &with_fan(),
        Some((1, header + 4)),
        &["both of the fan", "nothing"],
    );
}

/// A thermometer at a lid says no less where its header has no unit.
#[test]
fn a_thermometer_is_no_switch() {
    for header in ["lid thermometer", "Temp door", "fan probe"] {
        let found = read(&with(header, |_| "41.5"), &[], GOOD);
        assert!(found.log.switched.is_empty());
        assert!(
            found.notes.iter().any(|note| note.contains(header)),
            "{:?}",
            found.notes
        );
    }
}

/// A log that is being written ends where the logger is, also within a word.
#[test]
fn half_a_word_at_the_end_is_none() {
    let whole = with("fan", |_| "off");
    let half = &whole[..whole.len() - 3];
    assert!(half.ends_with(",o"));
    let found = read(half, &[], &with_fan());
    assert_eq!(found.log.columns[0].rows.len(), 96);
}

/// A probe that falls while the lid is open has not come off.
#[test]
fn what_was_done_counts_where_probes_are_judged() {
    let fallen = |lid: &str| {
        let text = table(&format!("{HEADER}{lid}"), |minute, [a, b, c]| {
            let is_open = minute >= 720;
            let a = if is_open { c + 1.0 } else { a };
            let lid = match (lid, is_open) {
                ("", _) => "",
                (_, true) => ",1",
                (_, false) => ",0",
            };
            format!("{},{a:.1},{b},{c}{lid}", iso(minute))
        });
        read(&text, &[], GOOD)
    };
    assert!(
        fallen("")
            .notes
            .iter()
            .any(|note| note.contains("come off"))
    );
    let with_lid = fallen(",lid");
    assert!(with_lid.notes.is_empty(), "{:?}", with_lid.notes);
}

fn switched(what: Switch, to_h: f64, on_h: &[(f64, f64)]) -> Switched {
    let on_s = on_h.iter().map(|(a, b)| (a * HOUR_S, b * HOUR_S));
    Switched {
        what,
        from_s: 0.0,
        to_s: to_h * HOUR_S,
        on_s: on_s.collect(),
    }
}

fn done(text: &str, switched: &[Switched]) -> Run {
    let done = run(text).inputs.as_switched(switched).to_run();
    done.expect("a run")
}

/// What a log says comes to the same as the schedule that somebody would write for it, and the plan holds after it.
#[test]
fn what_was_done_is_the_schedule_that_says_it() {
    let stretch = |at: &str, lasts: &str, what: &str| {
        format!(
            "[[arrangement.schedule]]\nat = \"{at} h\"\nduration = \"{lasts} h\"\nkind = {what}\n"
        )
    };
    let extracting = "\"extracting\"\nflow = \"40 m3/h\"";
    // On from the second to the third hour of ten, planned to be on all the time.
    let typed = with_fan() + &stretch("0", "2", "\"closed\"") + &stretch("3", "7", "\"closed\"");
    let fan = switched(Switch::Fan, 10.0, &[(2.0, 3.0)]);
    assert_eq!(
        done(&with_fan(), std::slice::from_ref(&fan)).schedule,
        run(&typed).run.schedule
    );
    // The only fan there is stands in the schedule, and really ran later.
    let planned =
        GOOD.to_owned() + &stretch("2", "1", extracting) + &stretch("20", "1", extracting);
    let typed = GOOD.to_owned() + &stretch("4", "2", extracting) + &stretch("20", "1", extracting);
    let later = switched(Switch::Fan, 10.0, &[(4.0, 6.0)]);
    let planned = planned.replacen(
        "[[arrangement.schedule]]",
        "[arrangement]\nkind = \"closed\"\n[[arrangement.schedule]]",
        1,
    );
    let typed = typed.replacen(
        "[[arrangement.schedule]]",
        "[arrangement]\nkind = \"closed\"\n[[arrangement.schedule]]",
        1,
    );
    assert_eq!(done(&planned, &[later]).schedule, run(&typed).run.schedule);
    // The lid is off, for a part of it while the fan runs.
    let open = format!("{extracting}\nopen = \"lid\"");
    let typed = with_fan()
        + &stretch("0", "1", "\"closed\"")
        + &stretch("1", "1", "\"lid off\"")
        + &stretch("2", "0.5", &open)
        + &stretch("3", "7", "\"closed\"");
    let lid = switched(Switch::Lid, 10.0, &[(1.0, 2.5)]);
    assert_eq!(
        done(&with_fan(), &[fan.clone(), lid]).schedule,
        run(&typed).run.schedule
    );
    // A lid that was planned to be off, and was not.
    let planned = plus("arrangement", "kind = \"lid off\"");
    let shut = done(&planned, &[switched(Switch::Lid, 10.0, &[])]);
    assert_eq!(shut.schedule.len(), 1);
    assert_eq!(
        shut.schedule[0].arrangement,
        Arrangement::of(ArrangementKind::Closed)
    );
    assert_eq!(shut.schedule[0].end_s, 10.0 * HOUR_S);
    assert_eq!(shut.arrangement.kind, ArrangementKind::LidOff);
    // Whatever a thermostat would have done, the fan ran when it ran.
    let thermostat =
        with_fan() + "thermostat = { on_above = \"45 degC\", off_below = \"43 degC\" }\n";
    let really = done(&thermostat, &[fan]);
    let controls: Vec<&Control> = really
        .schedule
        .iter()
        .map(|s| &s.arrangement.control)
        .collect();
    assert_eq!(controls, [&Control::Constant; 3]);
    assert_ne!(really.arrangement.control, Control::Constant);
}
