//! A chamber's plan against what samples say, and what a plan must never do.

use super::*;
use crate::catalogue::Catalogue;
use crate::study::band::Sampling;
use crate::study::sensitivity::{READING_K, sensitivity};

/// The drive gear decides, because what the cold end bears is known.
const RUN: &str = r#"[run]
start = "2026-07-13 07:00"
duration = "30 h"
[machine]
name = "bench-220"
[material]
name = "pla"
[part]
mass = "0.5 kg"
footprint = "180 cm2"
[room]
temperature = "31 ± 0.2 degC"
[coefficients]
soft_length = "2 mm ± 0.05 mm"
bore_contact = "60 ± 1 W/(m2 K)"
"#;

fn inputs(text: &str) -> Inputs {
    let loaded = crate::runfile::parse(text, "run.toml", None, &Catalogue::embedded());
    loaded.unwrap_or_else(|e| panic!("{e}")).inputs
}

fn read<'a>(inputs: &'a Inputs, readings: &'a [Reading]) -> Watched<'a> {
    Watched {
        inputs,
        readings,
        logs: &[],
    }
}

/// The slopes answer what `check --sensitivity` asks hundreds of samples: how wide filament and margin lie, and what a
/// thermometer read once would leave. Seen here: within 10 % of the filament's widths, and within 13 % of the margin's, which
/// is the least of two that bend.
#[test]
fn the_slopes_say_what_samples_say() {
    let inputs = crate::runfile::demo().inputs;
    let sampling = Sampling {
        samples: 128,
        seed: 1,
    };
    let sampled = sensitivity(&inputs, StationKind::DriveGear, sampling, &|| ());
    let network = Chamber::new(&inputs.to_run().expect("a run")).expect("builds");
    let doubtful = inputs.doubtful();
    let belief = Belief::first(doubtful.len());
    let places: Vec<Sensor> = sampled
        .readings
        .iter()
        .map(|r| Sensor::find(r.thermometer.name(), &network).expect("a place"))
        .collect();
    let spots: Vec<_> = places.iter().map(|p| (p, sampled.read_at_s)).collect();
    let slopes = Slopes::of(&inputs, &doubtful, &spots).expect("runs");
    let results = Results::of(&belief, &slopes, StationKind::DriveGear);
    let near = |what: &str, ours: f64, theirs: f64| {
        println!("{what}: {ours:.2} by slopes, {theirs:.2} by samples");
        assert!((ours / theirs - 1.0).abs() < 0.2, "{what}: {ours} {theirs}");
    };
    let before = results.half_widths_K(&belief, Both::default());
    near("filament", before.peak, sampled.half_width_K.peak);
    near("margin", before.margin, sampled.half_width_K.margin);
    for (row, reading) in sampled.readings.iter().enumerate() {
        let seen = Seen {
            slopes: slopes.shown.rows(row, 1).into_owned(),
            errors: DMatrix::from_element(1, 1, READING_K * READING_K),
        };
        let after = results.half_widths_K(&belief, results.gained(&belief, &seen));
        let name = reading.thermometer.name();
        near(
            &format!("{name}: filament"),
            after.peak,
            reading.half_width_K.peak,
        );
        near(
            &format!("{name}: margin"),
            after.margin,
            reading.half_width_K.margin,
        );
    }
}

#[test]
fn a_plan_never_promises_a_loss_and_says_what_is_left() {
    let plan = plan(&read(&inputs(RUN), &[])).expect("a plan");
    let before = plan.half_width_before_K;
    assert!(!plan.candidates.is_empty());
    for c in &plan.candidates {
        assert!(c.gain_K.margin > 0.0 && c.gain_K.peak >= 0.0, "{c:?}");
        assert!(
            c.half_width_after_K.margin >= plan.half_width_left_K.margin,
            "{c:?}"
        );
        let sum = c.half_width_after_K.margin + c.gain_K.margin;
        assert!((sum - before.margin).abs() < 1e-9, "{c:?}");
        // Nothing is asked for when it is too late, nor fixed to a gear that turns.
        if let When::At(times_s) = &c.when {
            assert!(times_s.iter().all(|t_s| *t_s <= 15.0 * 3600.0), "{c:?}");
        }
        assert!(
            c.kind == Kind::Reading || c.places.iter().all(|p| !p.turns),
            "{c:?}"
        );
    }
    let kinds: Vec<Kind> = plan.candidates.iter().map(|c| c.kind).collect();
    assert!(kinds.is_sorted(), "cheapest first: {kinds:?}");
    assert_eq!(plan.station, StationKind::DriveGear);
    let first = &plan.candidates[plan.first.expect("worth it")];
    assert_eq!(first.kind, Kind::Reading);
    assert!(first.gain_K.peak > 0.3 * before.peak, "{first:?}");
    assert!(!first.learns.is_empty());
    assert!(
        plan.left
            .iter()
            .any(|key| key == "material.softening_limit")
    );
}

/// What was read already is not worth reading again, and only what comes after it can be read.
#[test]
fn readings_taken_count() {
    let run = inputs(RUN);
    let fresh = plan(&read(&run, &[])).expect("a plan");
    let motor = Reading {
        sensor: "feeder motor".to_owned(),
        temperature_K: 320.0,
        within_K: Reading::WITHIN_K,
        at_s: 4.0 * 3600.0,
    };
    let then = plan(&read(&run, std::slice::from_ref(&motor))).expect("a plan");
    assert_eq!(then.taken, 1);
    assert!(then.half_width_before_K.peak < 0.8 * fresh.half_width_before_K.peak);
    let gain = |p: &Plan| {
        let of_motor = p.candidates.iter().find(|c| {
            c.kind == Kind::Reading && c.places.iter().any(|place| place.name == "feeder motor")
        });
        of_motor.map_or(0.0, |c| c.gain_K.peak)
    };
    assert!(
        gain(&then) < 0.5 * gain(&fresh),
        "{} {}",
        gain(&then),
        gain(&fresh)
    );
    for c in &then.candidates {
        if let When::At(times_s) = &c.when {
            assert!(times_s.iter().all(|t_s| *t_s > motor.at_s), "{c:?}");
        }
    }
    let nowhere = Reading {
        sensor: "oven".to_owned(),
        ..motor
    };
    assert!(matches!(
        plan(&read(&run, &[nowhere])),
        Err(PlanError::Sensor(_))
    ));
}

/// After a log the plan begins from what it taught: as wide as samples of the rest of the run lie, drawn from the same fit
/// ([`follow`](crate::study::follow)); and a reading where it was logged brings next to nothing more.
#[test]
fn a_log_is_where_the_next_plan_begins() {
    use crate::study::calibrate::log_tests::{Faults, logged};
    use crate::study::follow::follow;
    let run = inputs(RUN);
    let faults = Faults {
        offset_K: 0.2,
        lag_s: 60.0,
        drift_K: 0.2,
    };
    let truth = [("coefficients.feeder_heat", 1.2)];
    let log = logged(&run, &truth, &["feeder motor"], 6, faults);
    let watched = Watched {
        logs: std::slice::from_ref(&log),
        ..read(&run, &[])
    };
    let fresh = plan(&read(&run, &[])).expect("a plan");
    let then = plan(&watched).expect("a plan");
    assert_eq!((fresh.rows, then.rows), (0, 6 * 60 + 1));
    let sampling = Sampling {
        samples: 128,
        seed: 1,
    };
    let followed = follow(&watched, sampling).expect("can be followed");
    let band = followed.ahead.certainty.hottest_K(then.station);
    let band = band.expect("samples");
    let (ours, theirs) = (then.half_width_before_K.peak, 0.5 * (band.p95 - band.p05));
    println!(
        "{ours} by slopes, {theirs} by samples, {:?}",
        fresh.half_width_before_K
    );
    assert!((ours / theirs - 1.0).abs() < 0.2, "{ours} {theirs}");
    assert!(ours < 0.6 * fresh.half_width_before_K.peak);
    for c in &then.candidates {
        if let When::At(times_s) = &c.when {
            assert!(times_s.iter().all(|t_s| *t_s > 6.0 * 3600.0), "{c:?}");
        }
        if c.kind == Kind::Reading && c.places.iter().any(|p| p.name == "feeder motor") {
            assert!(c.gain_K.peak < 0.1 * ours, "{c:?}");
        }
    }
}
