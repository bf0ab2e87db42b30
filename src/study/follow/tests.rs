//! Runs in progress whose end is known.

use super::*;
use crate::run::Inputs;
use crate::runfile::demo;
use crate::study::calibrate::log_tests::{Faults, logged};
use crate::study::certainty::certainty;

const SAMPLING: Sampling = Sampling {
    samples: 64,
    seed: 1,
};

fn followed(inputs: &Inputs, log: &Log) -> Following {
    let watched = Watched {
        inputs,
        readings: &[],
        logs: std::slice::from_ref(log),
    };
    follow(&watched, SAMPLING).expect("can be followed")
}

/// The band after a day of the log holds what comes, and is narrower than the one before.
#[test]
fn the_rest_is_foretold_from_the_first_day() {
    let inputs = demo().inputs;
    let truth = [
        ("coefficients.feeder_heat", 0.8),
        ("coefficients.leakage", 2.0),
    ];
    let faults = Faults {
        offset_K: 0.3,
        lag_s: 40.0,
        drift_K: 0.2,
    };
    let places = ["feeder motor", "air top"];
    let log = logged(&inputs, &truth, &places, 24, faults);
    let f = followed(&inputs, &log);
    assert!((f.now_s - 86_400.0).abs() < 300.0, "{}", f.now_s);
    let mut really = inputs.clone();
    for (key, si) in truth {
        let input = really.input(key).expect("a key");
        really.set(&input, si).expect("within limits");
    }
    let run = really.to_run().expect("a run");
    let course = feed_courses(&[run], &Options::fine())
        .remove(0)
        .expect("runs");
    let station = f.hottest.station;
    let comes = course.hottest(f.now_s, f64::INFINITY);
    let comes_K = comes
        .iter()
        .find(|h| h.station == station)
        .expect("there")
        .max_K;
    let band = f.ahead.certainty.hottest_K(station).expect("samples");
    assert!(
        (band.p05..band.p95).contains(&comes_K),
        "{band:?} {comes_K}"
    );
    let before = certainty(&inputs, station, SAMPLING);
    // At the cold end most of the doubt is in what no thermometer tells.
    let gear = StationKind::DriveGear;
    let width = |c: &crate::study::band::Certainty| {
        let band = c.hottest_K(gear).expect("samples");
        band.p95 - band.p05
    };
    let (now, then) = (width(&f.ahead.certainty), width(&before));
    assert!(now < 0.7 * then, "{now} {then}");
    let before = before.hottest_K(station).expect("samples");
    let is_off = |K: f64| (K - comes_K).abs();
    assert!(is_off(f.hottest.max_K) < is_off(before.p50), "{f:?}");
}

/// Who is above the limit passes it, and when is between now and the end.
#[test]
fn passing_times_are_those_of_the_samples_that_soften() {
    let inputs = demo().inputs;
    let faults = Faults {
        offset_K: 0.0,
        lag_s: 20.0,
        drift_K: 0.2,
    };
    let log = logged(&inputs, &[], &["feeder motor"], 10, faults);
    let f = followed(&inputs, &log);
    let certainty = &f.ahead.certainty;
    assert_eq!(f.ahead.passes_s.len(), certainty.samples.len());
    for (sample, passes_s) in certainty.samples.iter().zip(&f.ahead.passes_s) {
        // On the limit itself rounding may decide.
        if sample.margin_K.abs() > 1e-3 {
            assert_eq!(passes_s.is_some(), sample.margin_K < 0.0, "{sample:?}");
        }
        assert!(passes_s.is_none_or(|t| (f.now_s..=f.run.duration_s).contains(&t)));
    }
    let passing = f.ahead.passing().expect("the demo softens");
    let first = f.ahead.first_s.iter().flatten().count();
    let before = f.ahead.passes_s.iter().flatten().count() - first;
    #[expect(clippy::cast_precision_loss, reason = "64 samples")]
    let share = before as f64 / f.ahead.passes_s.len() as f64;
    assert!(share <= f.ahead.passed_before + 1e-9, "{share}");
    assert!(passing.early_s <= passing.middle_s && passing.middle_s <= passing.late_s);
    // The demo softens in four runs of five: it is time to act, and the alarm is there.
    assert!(f.is_time_to_act());
    let alarm = f.alarm.expect("a thermometer is there");
    assert!(alarm.reading_K > 300.0 && (280.0..360.0).contains(&f.shows_K));
    assert!(f.departure.is_none(), "{:?}", f.departure);
}

/// A thermometer that no longer shows anything of use is no reassurance.
#[test]
fn a_thermometer_that_falls_silent_is_told_and_the_run_never_holds() {
    let mut inputs = demo().inputs;
    let room = inputs.input("room.shift").expect("a room");
    inputs.set(&room, -12.0).expect("cooler");
    let faults = Faults {
        offset_K: 0.0,
        lag_s: 20.0,
        drift_K: 0.1,
    };
    let mut log = logged(&inputs, &[], &["feeder motor", "cold end"], 12, faults);
    let well = followed(&inputs, &log);
    assert!(well.silent.is_none() && !well.causes().contains(&Cause::Silent));
    log.columns[1].rows.retain(|row| row.0 < 10.0 * 3_600.0);
    let f = followed(&inputs, &log);
    assert_eq!(f.silent.as_deref(), Some("cold end"));
    assert!(f.verdict > Verdict::Holds && f.causes().contains(&Cause::Silent));
    assert!((f.now_s - 12.0 * 3_600.0).abs() < 1.0);
}

/// Once the run is over nobody has to act.
#[test]
fn a_run_that_is_over_asks_for_nothing() {
    let text = r#"[run]
start = "2026-07-13 07:00"
duration = "6 h"
[machine]
name = "bench-60"
[material]
name = "pla"
[part]
mass = "0.1 kg"
[room]
temperature = "31 degC"
"#;
    let catalogue = crate::catalogue::Catalogue::embedded();
    let loaded = crate::runfile::parse(text, "run.toml", None, &catalogue);
    let inputs = loaded.unwrap_or_else(|e| panic!("{e}")).inputs;
    let faults = Faults {
        offset_K: 0.0,
        lag_s: 20.0,
        drift_K: 0.1,
    };
    let log = logged(&inputs, &[], &["feeder motor"], 6, faults);
    let f = followed(&inputs, &log);
    assert!(f.now_s > 0.98 * f.run.duration_s);
    let mut over = f.clone();
    over.now_s = over.run.duration_s;
    assert!(!over.is_time_to_act());
}

/// Something that began hours ago: what thermometers show counts, and not what the model makes of it.
#[test]
fn a_run_that_departs_from_its_description_is_told_and_never_holds() {
    let mut inputs = demo().inputs;
    let room = inputs.input("room.shift").expect("a room");
    inputs.set(&room, -12.0).expect("cooler");
    let faults = Faults {
        offset_K: 0.0,
        lag_s: 20.0,
        drift_K: 0.1,
    };
    let places = ["feeder motor", "air top", "cold end"];
    let mut log = logged(&inputs, &[], &places, 24, faults);
    let well = followed(&inputs, &log);
    assert!(well.departure.is_none(), "{:?}", well.departure);
    // From hour 18 on it gets warmer, by 8 K at the end.
    for column in &mut log.columns {
        for (t_s, K) in &mut column.rows {
            *K += 8.0 * (*t_s / 3_600.0 - 18.0).max(0.0) / 6.0;
        }
    }
    let f = followed(&inputs, &log);
    let departure = f.departure.clone().expect("told");
    assert!(departure.more_K > 2.0, "{departure:?}");
    assert!(f.verdict > Verdict::Holds && f.causes().contains(&Cause::Departs));
    // What is shown is what the log says.
    let alarm = f.alarm.expect("a thermometer is there");
    let column = log
        .columns
        .iter()
        .find(|c| c.sensor == alarm.thermometer.name());
    let last_K = column.expect("logged").rows.last().expect("rows").1;
    assert!((f.shows_K - last_K).abs() < 1e-9);
    assert!(f.hottest.max_K > well.hottest.max_K + 1.5, "{f:?}");
}

/// What was done counts as long as the log tells of it; then the plan does.
#[test]
fn after_the_log_the_plan_holds_again() {
    use crate::run::{ArrangementKind, Switch, Switched};
    let inputs = demo().inputs;
    let faults = Faults {
        offset_K: 0.0,
        lag_s: 20.0,
        drift_K: 0.1,
    };
    let closed = inputs.as_switched(&[]);
    let now_s = 8.0 * 3_600.0;
    let opened = Switched {
        what: Switch::Lid,
        from_s: 0.0,
        to_s: now_s,
        on_s: vec![(6.0 * 3_600.0, now_s)],
    };
    let really = closed.as_switched(std::slice::from_ref(&opened));
    let mut log = logged(&really, &[], &["feeder motor", "air top"], 8, faults);
    log.switched = vec![opened];
    let f = followed(&inputs, &log);
    let [open] = &f.run.schedule[..] else {
        panic!("{:?}", f.run.schedule)
    };
    assert_eq!(open.arrangement.kind, ArrangementKind::LidOff);
    assert_eq!((open.begin_s, open.end_s), (6.0 * 3_600.0, now_s));
    assert!(f.departure.is_none(), "{:?}", f.departure);
    // The demo is closed and softens; with the lid off it would not.
    let planned = followed(&inputs, &logged(&inputs, &[], &["feeder motor"], 8, faults));
    let other_K = f.hottest.max_K - planned.hottest.max_K;
    assert!(other_K.abs() < 1.5, "{other_K}");
}
