//! Logs of chambers whose values are known, by thermometers whose faults are known.

use super::lag::shown;
use super::sensors::Sensor;
use super::*;
use crate::catalogue::Catalogue;
use crate::integrate::Options;
use crate::run::LogColumn;
use crate::study::many::up_to;

pub(crate) const RUN: &str = r#"[run]
start = "2026-07-13 07:00"
duration = "30 h"
[machine]
name = "bench-60"
[material]
name = "pla"
[part]
mass = "0.5 kg"
footprint = "180 cm2"
[room]
temperature = "31 ± 0.2 degC"
"#;

pub(crate) fn inputs(text: &str) -> Inputs {
    let loaded = crate::runfile::parse(text, "run.toml", None, &Catalogue::embedded());
    loaded.unwrap_or_else(|e| panic!("{e}")).inputs
}

/// What thermometers are off.
#[derive(Clone, Copy)]
pub(crate) struct Faults {
    pub offset_K: f64,
    pub lag_s: f64,
    pub drift_K: f64,
}

pub(crate) const NONE: Faults = Faults {
    offset_K: 0.0,
    lag_s: 1.0,
    drift_K: 0.0,
};

/// The log of a run with these values, a row a minute.
pub(crate) fn logged(
    inputs: &Inputs,
    set: &[(&str, f64)],
    places: &[&str],
    hours: u32,
    faults: Faults,
) -> Log {
    let mut inputs = inputs.clone();
    for (key, si) in set {
        let input = inputs.input(key).expect("a key");
        inputs.set(&input, *si).expect("within limits");
    }
    let run = inputs.to_run().expect("a run");
    let times: Vec<f64> = (0..=60 * hours).map(|k| f64::from(k) * 60.0).collect();
    let last_s = 3600.0 * f64::from(hours);
    let read = up_to(&[run], last_s, &Options::fine(), |s| {
        let each = places.iter().map(|place| {
            let sensor = Sensor::find(place, &s.chamber).expect("a place");
            let around: Vec<f64> = times.iter().map(|t| sensor.shows_K(s, *t)).collect();
            shown(&times, &around, faults.lag_s)
        });
        each.collect::<Vec<_>>()
    });
    let mut random = fastrand::Rng::with_seed(5);
    let kept = f64::exp(-60.0 / 3_600.0);
    let columns = read.into_iter().next().expect("one").expect("runs");
    let columns = columns.into_iter().zip(places).map(|(shown, place)| {
        let mut off = 0.0;
        let rows = times.iter().zip(shown).map(|(t_s, K)| {
            // Uniform of variance 1.
            let new = 12.0_f64.sqrt() * (random.f64() - 0.5);
            off = kept * off + faults.drift_K * (1.0 - kept * kept).sqrt() * new;
            (*t_s, K + faults.offset_K + off)
        });
        LogColumn {
            header: (*place).to_owned(),
            sensor: (*place).to_owned(),
            within_K: 1.0,
            rows: rows.collect(),
        }
    });
    Log {
        name: "log.csv".to_owned(),
        columns: columns.collect(),
        room: Vec::new(),
        switched: Vec::new(),
        powers: Vec::new(),
    }
}

pub(super) fn fitted(inputs: &Inputs, log: &Log, keys: &[&str]) -> Calibration {
    let watched = Watched {
        inputs,
        readings: &[],
        logs: std::slice::from_ref(log),
    };
    let keys: Vec<String> = keys.iter().map(ToString::to_string).collect();
    calibrate(&[watched], &keys).expect("fits")
}

#[test]
fn a_log_tells_the_values_and_what_thermometers_are_off() {
    let run = inputs(RUN);
    let faults = Faults {
        offset_K: 0.6,
        lag_s: 150.0,
        drift_K: 0.2,
    };
    let truth = [("coefficients.feeder_heat", 1.3)];
    let log = logged(&run, &truth, &["feeder motor", "air top"], 8, faults);
    let found = fitted(&run, &log, &["coefficients.feeder_heat"]);
    let heat = &found.parameters[0];
    assert!((heat.low..heat.high).contains(&1.3), "{heat:?}");
    assert!(heat.value > 1.1 && heat.is_identified(), "{heat:?}");
    assert!(found.rms_after_K() < 0.4 * found.rms_before_K());
    assert_eq!(found.rows(), 2 * 481);
    for column in &found.columns {
        let off_K = (column.offset_K - 0.6).abs();
        assert!(off_K < 2.6 * column.offset_std_K, "{column:?}");
        assert!(column.lag_is_known, "{}", column.sensor);
        let ratio = column.lag_s / 150.0;
        assert!((0.7..1.4).contains(&ratio), "{ratio}");
        assert!(column.drift.deviation < 0.4);
    }
    let held_out = found.held_out.expect("rows enough");
    assert!(held_out.after_K < 0.5 * held_out.before_K, "{held_out:?}");
}

/// A machine that ran before: the first rows say so.
#[test]
fn a_warm_start_is_taken_from_the_first_rows() {
    let warm = format!(
        "{RUN}[initial]\nair = \"47 degC\"\npanels = \"41 degC\"\nmotors = \"50 degC\"\nframe = \"42 degC\"\ncold_end = \"46 degC\"\n"
    );
    let places = ["feeder motor", "air top", "lid inside"];
    let log = logged(&inputs(&warm), &[], &places, 3, NONE);
    let found = fitted(&inputs(RUN), &log, &["coefficients.feeder_heat"]);
    let keys: Vec<&str> = found.starts.iter().map(|s| s.key.as_str()).collect();
    for key in ["initial.air", "initial.motors", "initial.panels"] {
        assert!(keys.contains(&key), "{keys:?}");
    }
    let air = found.starts.iter().find(|s| s.key == "initial.air");
    assert!(air.is_some_and(|s| (s.is_K - 320.15).abs() < 1.5));
    // Without any of it the air would have been 16 K off at first.
    assert!(found.rms_before_K() < 1.5, "{}", found.rms_before_K());
    // What someone wrote is not changed.
    let found = fitted(&inputs(&warm), &log, &["coefficients.feeder_heat"]);
    assert!(found.starts.is_empty(), "{:?}", found.starts);
    // A machine that was cold begins like its room.
    let cold = logged(&inputs(RUN), &[], &places, 3, NONE);
    let found = fitted(&inputs(RUN), &cold, &["coefficients.feeder_heat"]);
    assert!(found.starts.is_empty(), "{:?}", found.starts);
}

/// The room as its thermometer showed it counts, and not as it was foretold.
#[test]
fn a_column_of_the_room_is_the_room() {
    let hotter = RUN.replace("31 ± 0.2", "35 ± 0.2");
    let mut log = logged(&inputs(&hotter), &[], &["air top"], 8, NONE);
    let without = fitted(&inputs(RUN), &log, &["coefficients.leakage"]);
    log.room = (0..=480).map(|k| (f64::from(k) * 60.0, 308.15)).collect();
    let with = fitted(&inputs(RUN), &log, &["coefficients.leakage"]);
    assert!(without.rms_before_K() > 1.5, "{}", without.rms_before_K());
    assert!(with.rms_before_K() < 0.2, "{}", with.rms_before_K());
}

/// What is the machine's is found once, what is a run's for each.
#[test]
fn two_runs_of_one_machine_are_fitted_together() {
    let one = inputs(RUN);
    let other = inputs(&RUN.replace("31 ± 0.2 degC", "24 ± 1 degC"));
    let truth = [("coefficients.feeder_heat", 1.25)];
    let places = ["feeder motor", "air top"];
    let logs = [&one, &other].map(|run| logged(run, &truth, &places, 4, NONE));
    let watched = |k: usize, inputs| Watched {
        inputs,
        readings: &[],
        logs: std::slice::from_ref(&logs[k]),
    };
    let found = calibrate(&[watched(0, &one), watched(1, &other)], &[]).expect("fits");
    let heat = |p: &&Parameter| p.input.key() == "coefficients.feeder_heat";
    let heats: Vec<&Parameter> = found.parameters.iter().filter(heat).collect();
    assert_eq!(heats.len(), 1);
    assert!(
        heats[0].session.is_none() && heats[0].value > 1.05,
        "{:?}",
        heats[0]
    );
    let alone = calibrate(&[watched(0, &one)], &[]).expect("fits");
    let of_one = alone.parameters.iter().find(heat).expect("fitted");
    assert!(
        heats[0].left < of_one.left + 0.02,
        "{} {}",
        heats[0].left,
        of_one.left
    );
    assert!(
        found
            .parameters
            .iter()
            .all(|p| p.is_the_machines() == p.session.is_none())
    );
    assert_eq!(found.columns.len(), 4);
    assert_eq!(found.columns[2].session, 1);
    let stranger = inputs(&RUN.replace("bench-60", "bench-220"));
    let error = calibrate(&[watched(0, &one), watched(1, &stranger)], &[]);
    assert!(matches!(error, Err(CalibrateError::OtherMachine(..))));
}

/// A cold machine that has just begun to warm up, and hours without a row.
#[test]
fn gaps_and_short_logs_are_no_trouble() {
    let run = inputs(RUN);
    let truth = [("coefficients.feeder_heat", 1.3)];
    let mut log = logged(&run, &truth, &["feeder motor"], 20, NONE);
    log.columns[0]
        .rows
        .retain(|(t_s, _)| *t_s < 7_200.0 || *t_s > 50_000.0);
    let found = fitted(&run, &log, &["coefficients.feeder_heat"]);
    assert!((found.parameters[0].value - 1.3).abs() < 0.15);
    let watched = |log| Watched {
        inputs: &run,
        readings: &[],
        logs: std::slice::from_ref(log),
    };
    // Before anything is warm nothing can be learned, and nothing is made up.
    let mut cold = log.clone();
    cold.columns[0].rows.truncate(2);
    assert!(matches!(
        calibrate(&[watched(&cold)], &["coefficients.feeder_heat".to_owned()]),
        Err(CalibrateError::NothingMoves)
    ));
    log.columns[0].rows.clear();
    assert!(matches!(
        calibrate(&[watched(&log)], &[]),
        Err(CalibrateError::Nothing)
    ));
}

/// A thicker panel has more points, and all behind it stand elsewhere.
#[test]
fn a_place_is_found_again_where_a_panel_is_cut_otherwise() {
    let run = inputs(RUN);
    let of = |inputs: &Inputs| {
        let run = inputs.to_run().expect("a run");
        sensors::chamber_of(&run).expect("builds")
    };
    let chamber = of(&run);
    let count = |chamber: &Chamber| chamber.network.names().count();
    let mut all = run.all().into_iter();
    let other = all.find_map(|input| {
        let is_lid = input.key().starts_with("machine.lid") && input.key().ends_with("thickness");
        let mut thicker = run.clone();
        thicker
            .set(&input, 6.0 * run.get(&input).filter(|_| is_lid)?)
            .ok()?;
        let other = of(&thicker);
        (count(&other) != count(&chamber)).then_some(other)
    });
    let other = other.expect("a lid that is cut otherwise");
    for name in ["feeder motor", "air top", "walls outside"] {
        let sensor = Sensor::find(name, &chamber).expect("a place");
        let again = Sensor::find(name, &other).expect("a place");
        assert_eq!(*sensor.in_chamber(&other), again);
        assert_eq!(*sensor.in_chamber(&chamber), sensor);
    }
}

/// A clock an hour wrong, and a probe that is not where it is said to be, are told.
#[test]
fn a_wrong_clock_and_a_probe_colder_than_its_room_are_told() {
    let run = inputs(&RUN.replace(
        "temperature = \"31 ± 0.2 degC\"",
        "mean = \"28 degC\"\nswing = \"6 K\"",
    ));
    let mut log = logged(&run, &[], &["feeder motor", "air top"], 24, NONE);
    let right = fitted(&run, &log, &["coefficients.feeder_heat"]);
    assert!(right.moved_h.is_empty() && right.cold.is_empty());
    for row in log.columns.iter_mut().flat_map(|c| &mut c.rows) {
        row.0 += 2.0 * 3600.0;
    }
    let late = fitted(&run, &log, &["coefficients.feeder_heat"]);
    assert_eq!(late.moved_h, [(0, -2)]);
    for row in log.columns.iter_mut().flat_map(|c| &mut c.rows) {
        row.0 -= 2.0 * 3600.0;
    }
    for row in &mut log.columns[0].rows {
        row.1 -= 8.0;
    }
    let cold = fitted(&run, &log, &["coefficients.feeder_heat"]);
    assert!(cold.starts.is_empty(), "{:?}", cold.starts);
    let by_K = cold.cold.first().map(|cold| cold.by_K);
    assert!(by_K.is_some_and(|K| (K - 8.0).abs() < 1.0), "{by_K:?}");
}

/// A perfect thermometer is found to be one, however its rows are taken together.
#[test]
fn a_perfect_log_moves_nothing() {
    let run = inputs(RUN);
    let faults = Faults {
        offset_K: 0.0,
        lag_s: 25.0,
        drift_K: 0.0,
    };
    let log = logged(&run, &[], &["feeder motor", "air top"], 24, faults);
    let found = fitted(&run, &log, &["coefficients.feeder_heat"]);
    for column in &found.columns {
        assert!((column.lag_s / 25.0 - 1.0).abs() < 0.4, "{}", column.lag_s);
        assert!(column.offset_K.abs() < 0.1, "{}", column.offset_K);
    }
    let heat = &found.parameters[0];
    assert!((heat.value - 1.0).abs() < 0.15 * heat.prior_std, "{heat:?}");
}

/// Two columns under each other's names are told, and only these; two probes at one place that differ too.
#[test]
fn thermometers_that_were_mixed_up_are_told() {
    let run = inputs(&RUN.replace("bench-60", "bench-220"));
    let truth = [
        ("coefficients.feeder_heat", 1.2),
        ("coefficients.leakage", 1.4),
    ];
    let places = ["feeder motor", "air top", "bed", "air bottom"];
    let log = logged(&run, &truth, &places, 12, NONE);
    let right = fitted(&run, &log, &[]);
    assert!(
        right.mixed.is_empty() && mixed::apart(&right.columns).is_empty(),
        "{:?}",
        right.mixed
    );
    assert!(right.columns.iter().all(|c| !c.is_far_off()));
    let mut swapped = log.clone();
    let motor = swapped.columns[0].rows.clone();
    swapped.columns[0].rows = std::mem::replace(&mut swapped.columns[1].rows, motor);
    let found = fitted(&run, &swapped, &[]);
    let sensors: Vec<_> = found.mixed.iter().map(|m| m.sensors.clone()).collect();
    assert_eq!(sensors, [["feeder motor".to_owned(), "air top".to_owned()]]);
    // A second probe at the motor, three kelvins off, logged at other moments.
    let mut twice = log;
    let mut second = twice.columns[0].clone();
    second.header = "T9".to_owned();
    for row in &mut second.rows {
        *row = (row.0 + 31.0, row.1 + 3.0);
    }
    twice.columns.push(second);
    let found = fitted(&run, &twice, &[]);
    let [apart] = &mixed::apart(&found.columns)[..] else {
        panic!("{:?}", mixed::apart(&found.columns));
    };
    assert_eq!(apart.headers, ["feeder motor".to_owned(), "T9".to_owned()]);
    assert!((apart.by_K + 3.0).abs() < 0.3, "{apart:?}");
    assert!(found.mixed.is_empty(), "{:?}", found.mixed);
}
