//! Arrangements, thermostats, schedules.

use super::{GOOD, plus, refused, run};
use crate::run::{ArrangementKind, Control, OpenSide};

#[test]
fn each_kind_of_arrangement_is_read() {
    let flow = 40.0 / 3_600.0;
    let same = |got: f64| (got - flow).abs() < 1e-12;
    for (lines, is_right) in [
        (
            "kind = \"closed\"",
            &(|k: &ArrangementKind| *k == ArrangementKind::Closed)
                as &dyn Fn(&ArrangementKind) -> bool,
        ),
        ("kind = \"lid off\"", &|k| *k == ArrangementKind::LidOff),
        ("kind = \"Door-Open\"", &|k| *k == ArrangementKind::DoorOpen),
        (
            "kind = \"extracting\"\nflow = \"40 m3/h\"",
            &|k| matches!(k, ArrangementKind::Extracting { flow_m3_per_s } if same(*flow_m3_per_s)),
        ),
        (
            "kind = \"blowing in\"\nflow = \"40 m³/h\"",
            &|k| matches!(k, ArrangementKind::BlowingIn { flow_m3_per_s, .. } if same(*flow_m3_per_s)),
        ),
        (
            "kind = \"recirculating\"\nflow = \"40 m3/h\"\nfan_power = \"12 W\"",
            &|k| matches!(k, ArrangementKind::Recirculating { flow_m3_per_s, fan_power_W } if same(*flow_m3_per_s) && (*fan_power_W - 12.0).abs() < 1e-12),
        ),
    ] {
        let got = run(&plus("arrangement", lines)).run.arrangement.kind;
        assert!(is_right(&got), "{lines}: {got:?}");
    }
}

/// A fan runs while the lid is off or the door open, all the time or for a stretch; its thermostat rests the
/// fan and shuts nothing.
#[test]
fn a_fan_may_run_beside_an_open_side() {
    let fan = "kind = \"recirculating\"\nflow = \"40 m3/h\"\nopen = \"lid\"\noutlet = \"80 mm\"\nspeed_at_bed = \"1.5 m/s\"";
    let lines =
        format!("{fan}\nthermostat = {{ on_above = \"42 degC\", off_below = \"40 degC\" }}");
    let a = run(&plus("arrangement", &lines)).run.arrangement;
    assert_eq!(a.name(), "recirculating, lid off");
    assert!(a.opens(OpenSide::Lid) && !a.opens(OpenSide::Door) && !a.stays_closed());
    assert!((a.jet.outlet_m - 0.08).abs() < 1e-12 && a.jet.at_bed_m_per_s == 1.5);
    assert_eq!(a.jet.at_part_m_per_s, 0.0);
    assert_eq!(a.at_rest().kind, ArrangementKind::LidOff);
    let text = scheduled(
        "[[arrangement.schedule]]\nat = \"10 h\"\nduration = \"1 h\"\nkind = \"extracting\"\nflow = \"25 m3/h\"\nopen = \"door\"\n",
    );
    let a = &run(&text).run.schedule[0].arrangement;
    assert_eq!(a.name(), "extracting, door open");
    // What a kind without a fan opens, its word says.
    refused(
        &plus("arrangement", "kind = \"closed\"\nopen = \"lid\""),
        (17, 8),
        &["\"closed\" has none", "kind = \"lid off\""],
    );
    refused(
        &plus("arrangement", "kind = \"lid off\"\nopen = \"door\""),
        (17, 8),
        &["\"lid off\" has none", "kind = \"door open\""],
    );
    let odd = "kind = \"extracting\"\nflow = \"40 m3/h\"\noutlet = \"80 mm\"";
    assert!(
        run(&plus("arrangement", odd)).warnings[0]
            .message
            .contains("no effect")
    );
}

/// The power of a fan that blows in: as typed, or what [system] says of the fan, or a thirsty one's: 0.35 W
/// per m3/h is 14 W at 40 m3/h, and 10 W the least.
#[test]
fn a_fan_that_blows_in_warms_what_it_blows() {
    let power_W = |lines: &str, more: &str| {
        let text = plus("arrangement", &format!("kind = \"blowing in\"\n{lines}")) + more;
        match run(&text).run.arrangement.kind {
            ArrangementKind::BlowingIn { fan_power_W, .. } => fan_power_W,
            kind => panic!("{kind:?}"),
        }
    };
    let known = "[system]\nfan_power = \"3 W\"\n";
    for (lines, more, want_W) in [
        ("flow = \"40 m3/h\"\nfan_power = \"5 W\"", known, 5.0),
        ("flow = \"40 m3/h\"", known, 3.0),
        ("flow = \"40 m3/h\"", "", 14.0),
        ("flow = \"8 m3/h\"", "", 10.0),
    ] {
        let got = power_W(lines, more);
        assert!((got - want_W).abs() < 1e-9, "{lines} {more}: {got} W");
    }
}

#[test]
fn a_fan_needs_its_flow() {
    refused(
        &plus("arrangement", "kind = \"extracting\""),
        (16, 8),
        &["needs the flow", "flow = \"40 m3/h\""],
    );
    let loaded = run(&plus(
        "arrangement",
        "kind = \"lid off\"\nflow = \"40 m3/h\"",
    ));
    assert_eq!(loaded.warnings.len(), 1, "a flow without a fan is odd");
}

#[test]
fn a_thermostat_has_a_fan_and_stops_below_where_it_starts() {
    let lines = "kind = \"extracting\"\nflow = \"40 m3/h\"\nthermostat = { on_above = \"42 degC\", off_below = \"40 degC\" }";
    let control = run(&plus("arrangement", lines)).run.arrangement.control;
    assert!(
        matches!(control, Control::Thermostat { on_above_K, off_below_K }
        if (on_above_K - 315.15).abs() < 1e-9 && (off_below_K - 313.15).abs() < 1e-9)
    );
    let lines = lines.replace("\"40 degC\"", "\"42 degC\"");
    refused(
        &plus("arrangement", &lines),
        (18, 50),
        &["off_below has to be lower"],
    );
    let lines = "thermostat = { on_above = \"42 degC\", off_below = \"40 degC\" }";
    refused(
        &plus("arrangement", lines),
        (16, 14),
        &["\"closed\" has none"],
    );
    let lines =
        "kind = \"extracting\"\nflow = \"40 m3/h\"\nthermostat = { on_above = \"42 degC\" }";
    refused(
        &plus("arrangement", lines),
        (18, 14),
        &["needs `off_below`"],
    );
}

fn scheduled(list: &str) -> String {
    GOOD.to_owned() + list
}

#[test]
fn a_schedule_is_sorted_and_kept_within_the_run() {
    let text = scheduled(
        "[[arrangement.schedule]]\nat = \"61 h\"\nduration = \"4 min\"\nkind = \"door open\"\n\
         [[arrangement.schedule]]\nat = \"10 h\"\nduration = \"1 h\"\nkind = \"extracting\"\nflow = \"25 cfm\"\n",
    );
    let schedule = run(&text).run.schedule;
    assert_eq!(schedule.len(), 2);
    assert!(schedule[0].begin_s < schedule[1].begin_s);
    assert!(matches!(
        schedule[0].arrangement.kind,
        ArrangementKind::Extracting { .. }
    ));

    let text = scheduled(
        "[[arrangement.schedule]]\nat = \"99.5 h\"\nduration = \"1 h\"\nkind = \"lid off\"\n",
    );
    refused(
        &text,
        (16, 6),
        &["from 99.5 h (", "to 100.5 h (", "only to 100 h ("],
    );
}

#[test]
fn scheduled_stretches_must_not_overlap_each_other_or_a_door_opening() {
    let two = "[[arrangement.schedule]]\nat = \"10 h\"\nduration = \"1 h\"\nkind = \"lid off\"\n";
    let text = scheduled(&format!(
        "{two}[[arrangement.schedule]]\nat = \"10.5 h\"\nduration = \"1 h\"\nkind = \"door open\"\n"
    ));
    refused(&text, (20, 6), &["begins at 10.5 h", "lasts until 11 h"]);
    let text = scheduled(&format!(
        "{two}[[job.spool_change]]\nat = \"10.5 h\"\nduration = \"4 min\"\ndoor = \"open\"\n"
    ));
    refused(&text, (20, 6), &["one arrangement", "open door"]);
}

#[test]
fn an_open_arrangement_of_a_machine_that_must_stay_closed_is_odd() {
    let text = plus("arrangement", "kind = \"lid off\"") + "[require]\nmust_stay_closed = true\n";
    let loaded = run(&text);
    assert!(loaded.warnings[0].message.contains("must stay closed"));
}
