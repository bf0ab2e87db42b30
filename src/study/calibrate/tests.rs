//! A chamber whose values are known, read with errors that are known.

use super::found::{Calibration, Parameter};
use super::log_tests::{RUN, inputs};
use super::sensors::Sensor;
use super::*;
use crate::catalogue::Catalogue;
use crate::chamber::Chamber as Network;
use crate::integrate::Options;
use crate::keys::distribution::ONE_IN_FORTY;
use crate::study::many::up_to;

/// The fit to single readings of one run.
pub(super) fn fitted(
    inputs: &Inputs,
    readings: &[Reading],
    keys: &[String],
) -> Result<Calibration, CalibrateError> {
    let watched = Watched {
        inputs,
        readings,
        logs: &[],
    };
    calibrate(&[watched], keys)
}

/// What the model says at these places and times with these values.
pub(super) fn shown(inputs: &Inputs, set: &[(&str, f64)], at: &[(&str, f64)]) -> Vec<Reading> {
    let mut inputs = inputs.clone();
    for (key, si) in set {
        let input = inputs.input(key).expect("a key");
        inputs.set(&input, *si).expect("within limits");
    }
    let run = inputs.to_run().expect("a run");
    let options = Options::fine();
    let mut read = up_to(&[run], 30.0 * 3600.0, &options, |s| {
        let each = at.iter().map(|(sensor, h)| Reading {
            sensor: (*sensor).to_owned(),
            temperature_K: Sensor::find(sensor, &s.chamber)
                .expect("a place")
                .shows_K(s, h * 3600.0),
            within_K: 0.4,
            at_s: h * 3600.0,
        });
        each.collect::<Vec<_>>()
    });
    read.remove(0).expect("runs")
}

pub(super) fn of<'a>(c: &'a Calibration, key: &str) -> &'a Parameter {
    let found = c.parameters.iter().find(|p| p.input.key() == key);
    found.unwrap_or_else(|| panic!("{key} is fitted"))
}

const PLACES: [(&str, f64); 8] = [
    ("feeder motor", 1.0),
    ("feeder motor", 9.0),
    ("drive gear", 9.0),
    ("feeder mount", 9.0),
    ("air top", 9.0),
    ("air bottom", 9.0),
    ("frame", 9.0),
    ("feeder motor", 24.0),
];

#[test]
fn known_values_are_found_again() {
    let run = inputs(RUN);
    let truth = [
        ("coefficients.feeder_heat", 1.3),
        ("coefficients.leakage", 2.0),
    ];
    let readings = shown(&run, &truth, &PLACES);
    let keys: Vec<String> = truth.iter().map(|(key, _)| (*key).to_owned()).collect();
    let found = fitted(&run, &readings, &keys).expect("fits");
    assert!(found.rms_before_K() > 1.0, "{}", found.rms_before_K());
    assert!(found.rms_after_K() < 0.3, "{}", found.rms_after_K());
    let heat = of(&found, "coefficients.feeder_heat");
    // The others are where they are believed to be: what is left is what these two are believed to be themselves.
    assert!((heat.value - 1.3).abs() < 0.02, "{heat:?}");
    let leakage = of(&found, "coefficients.leakage");
    assert!((leakage.value - 2.0).abs() < 0.15, "{leakage:?}");
    // But they might be elsewhere, and then so would these.
    assert!((heat.low..heat.high).contains(&1.3), "{heat:?}");
    assert!(heat.high - heat.low > 0.1, "{heat:?}");
    assert!(found.others > 5, "{}", found.others);
}

#[test]
fn what_matters_is_chosen_where_nobody_says() {
    let run = inputs(RUN);
    let readings = shown(&run, &[("coefficients.feeder_heat", 1.3)], &PLACES[..2]);
    let found = fitted(&run, &readings, &[]).expect("fits");
    assert!(found.parameters.len() <= 12);
    assert_eq!(found.parameters[0].input.key(), "coefficients.feeder_heat");
    assert!(found.parameters[0].value > 1.05);
    assert!(found.rms_after_K() < 0.5 * found.rms_before_K());
    // What a motor shows says nothing about what a spool stands.
    assert!(
        found
            .parameters
            .iter()
            .all(|p| !p.input.key().contains("allowance"))
    );
}

#[test]
fn readings_that_the_model_gives_anyway_move_nothing() {
    let run = inputs(RUN);
    let readings = shown(&run, &[], &PLACES);
    let found = fitted(&run, &readings, &[]).expect("fits");
    assert!(found.rms_before_K() < 0.02, "{}", found.rms_before_K());
    for p in &found.parameters {
        assert!((p.value - p.start).abs() < 0.05 * p.prior_std, "{p:?}");
        assert!(p.left < 1.0 + 1e-9);
    }
}

#[test]
fn one_reading_that_can_not_be_is_told() {
    let run = inputs(RUN);
    let mut readings = shown(&run, &[("coefficients.feeder_heat", 1.2)], &PLACES);
    readings[4].temperature_K += 15.0;
    let found = fitted(&run, &readings, &[]).expect("fits");
    let strays: Vec<bool> = found.readings.iter().map(|r| r.strays).collect();
    assert_eq!(
        strays,
        [false, false, false, false, true, false, false, false]
    );
}

#[test]
fn what_is_not_known_is_refused() {
    let run = inputs(RUN);
    let mut readings = shown(&run, &[], &PLACES[..1]);
    let error = fitted(&run, &readings, &["coefficients.leakages".to_owned()]);
    let error = error.expect_err("no such key").to_string();
    assert!(error.contains("`coefficients.leakage`"), "{error}");
    let error = fitted(&run, &readings, &["require.margin".to_owned()]);
    assert!(matches!(error, Err(CalibrateError::NotInDoubt(_))));
    readings[0].sensor = "feder motor".to_owned();
    let error = fitted(&run, &readings, &[]).expect_err("no such place");
    assert!(error.to_string().contains("\"feeder motor\""), "{error}");
    assert!(matches!(
        fitted(&run, &[], &[]),
        Err(CalibrateError::Nothing)
    ));
}

#[test]
fn places_have_the_names_a_technician_says() {
    let network = Network::new(&inputs(RUN).to_run().expect("a run")).expect("builds");
    for name in [
        "Feeder motor",
        "top air",
        "air_top",
        "walls inside",
        "room",
        "Drive gear temperature",
    ] {
        assert!(Sensor::find(name, &network).is_ok(), "{name}");
    }
    let unknown = Sensor::find("oven", &network).expect_err("no such place");
    assert!(unknown.known.iter().any(|k| k == "drive gear"));
}

/// The run with the machine of a file of one's own.
pub(super) fn with_machine(file: &str, text: &str) -> Inputs {
    let folder = tempfile::tempdir().expect("temp dir");
    let machines = folder.path().join("machines");
    std::fs::create_dir(&machines).expect("folder");
    std::fs::write(machines.join("mine.toml"), file).expect("write");
    let catalogue = Catalogue::with_folder(folder.path()).unwrap_or_else(|e| panic!("{e}\n{file}"));
    let loaded = crate::runfile::parse(text, "run.toml", None, &catalogue);
    loaded.unwrap_or_else(|e| panic!("{e}\n{file}")).inputs
}

/// How far what a sensor shows is spread by all that is in doubt: its standard deviation, K.
fn spread_K(inputs: &Inputs, (sensor, h): (&str, f64)) -> f64 {
    use crate::study::certainty::{drawn, options, points};
    let doubtful = inputs.doubtful();
    let runs: Vec<_> = (0..64)
        .filter_map(|k| {
            drawn(inputs, &doubtful, |dimension| {
                points::normal(k, dimension, 1)
            })
            .ok()
        })
        .collect();
    let read = up_to(&runs, h * 3600.0, &options(), |s| {
        let sensor = Sensor::find(sensor, &s.chamber).expect("a place");
        sensor.shows_K(s, h * 3600.0)
    });
    let shown: Vec<f64> = read.into_iter().flatten().collect();
    assert!(shown.len() > 60);
    let count = f64::from(u32::try_from(shown.len()).expect("few"));
    let mean = shown.iter().sum::<f64>() / count;
    let squares: f64 = shown.iter().map(|v| (v - mean).powi(2)).sum();
    (squares / count).sqrt()
}

/// One reading leaves each value by itself almost as doubtful as it was: what is known is how they go together, and
/// the machine's file must carry that into the band.
#[test]
fn a_reading_makes_the_band_narrower_by_way_of_the_machines_file() {
    let run = inputs(RUN);
    let place = ("feeder motor", 9.0);
    let readings = shown(&run, &[("coefficients.feeder_heat", 1.1)], &[place]);
    let found = fitted(&run, &readings, &[]).expect("fits");
    let file = run.machine_file(&found.known(), "from a reading");
    let again = with_machine(&file, &RUN.replace("bench-60", "mine"));
    let (before_K, after_K) = (spread_K(&run, place), spread_K(&again, place));
    assert!(after_K < 0.75 * before_K, "{before_K} {after_K}");
    let by_themselves = found
        .parameters
        .iter()
        .filter(|p| p.is_identified())
        .count();
    assert!(by_themselves <= 1, "{by_themselves}");
}

/// A machine's file read again is the machine, with the values found.
#[test]
fn a_machine_file_gives_the_machine_back() {
    let text = RUN.replace(
        "name = \"bench-60\"",
        "name = \"bench-60\"\nbed.mass = \"1.7 kg\"",
    );
    let run = inputs(&text);
    let input = run.input("coefficients.feeder_heat").expect("a key");
    let other = run
        .input("machine.feeder.motor_mass")
        .or_else(|_| run.input("machine.width"));
    let other = other.expect("a key");
    let known = [
        crate::run::Known {
            input: input.clone(),
            si: 1.2,
            within: 0.1,
            together: vec![1.0, -0.5],
        },
        crate::run::Known {
            input: other.clone(),
            si: run.get(&other).expect("set"),
            within: 0.01,
            together: vec![-0.5, 1.0],
        },
    ];
    let file = run.machine_file(&known, "from readings");
    let text = RUN.replace("bench-60", "mine");
    let again = with_machine(&file, &text);
    assert_eq!(again.get(&input), Some(1.2));
    assert_eq!(again.within(&input), Some(0.1));
    let (mut a, mut b) = (run.to_run().expect("a run"), again.to_run().expect("a run"));
    // Apart from its name and what was found.
    a.machine.name.clone_from(&b.machine.name);
    a.coefficients.set(crate::run::Coefficient::FeederHeat, 1.2);
    b.machine.title.clone_from(&a.machine.title);
    assert_eq!(a.coefficients, b.coefficients);
    assert_eq!(format!("{:?}", a.machine), format!("{:?}", b.machine));
    // What was found together is drawn together: of each unit of one, half as much the other way of the other.
    let doubtful = again.doubtful();
    let place = |key: &str| {
        let at = doubtful.iter().position(|d| d.input.key() == key);
        at.expect("in doubt")
    };
    let (one, two) = (place(other.key()), place(input.key()));
    let drawn = |z: f64| {
        let own = |k: usize| if k == one { z } else { 0.0 };
        doubtful[two].drawn(two, own) - 1.2
    };
    assert!(
        (drawn(1.0) + 0.5 * 0.1 / ONE_IN_FORTY).abs() < 1e-9,
        "{}",
        drawn(1.0)
    );
    assert!((doubtful[one].drawn(one, |_| 0.0) - run.get(&other).expect("set")).abs() < 1e-9);
    // The run file's own coefficients count before the machine's.
    let text = format!("{text}[coefficients]\nfeeder_heat = 0.9\n");
    let over = with_machine(&file, &text);
    assert_eq!(over.get(&input), Some(0.9));
    // A value that someone replaced was not found with the others.
    assert!(over.doubtful().iter().all(|d| d.shares.is_empty()));
}
