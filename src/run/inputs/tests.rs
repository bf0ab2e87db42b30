//! Inputs are changed by key, and what follows from a value follows.

use super::*;
use crate::run::PhaseKind;
use crate::runfile::demo;

fn with(key: &str, si: f64) -> Run {
    let mut inputs = demo().inputs;
    let input = inputs.input(key).expect("a key of the demo");
    inputs.set(&input, si).expect("a legal value");
    inputs.to_run().expect("a valid run")
}

#[test]
fn the_run_of_unchanged_inputs_is_the_run() {
    let loaded = demo();
    assert_eq!(loaded.inputs.to_run().expect("valid"), loaded.run);
    // Making it has changed nothing.
    assert_eq!(loaded.inputs.to_run().expect("valid"), loaded.run);
}

/// 1.15 kg on the demo's 180 cm2 at 60 % of 1240 kg/m3: 1.15 / 744 / 0.018 = 0.085872 m, and half the
/// feed of 2.3 kg.
#[test]
fn a_lighter_part_is_lower_and_is_fed_less() {
    let (whole, half) = (demo().run, with("part.mass", 1.15));
    assert!((half.part.height_m - 0.085_872).abs() < 1e-6);
    assert!((whole.part.height_m - 2.0 * half.part.height_m).abs() < 1e-12);
    for (a, b) in whole.phases.iter().zip(&half.phases) {
        assert!((a.feed_kg_per_s - 2.0 * b.feed_kg_per_s).abs() < 1e-15);
    }
}

#[test]
fn a_bed_setpoint_reaches_every_phase_with_heaters_on() {
    let run = with("job.bed", 323.15);
    for phase in &run.phases {
        let want = (phase.kind != PhaseKind::CoolDown).then_some(323.15);
        assert_eq!(phase.bed_K, want);
    }
    assert_eq!(with("job.heat_up", 1800.0).phases[0].end_s, 1800.0);
}

#[test]
fn another_usual_bed_of_the_material_counts_where_the_job_names_none() {
    let mut inputs = demo().inputs;
    let of_material = inputs.input("material.bed").expect("a key");
    inputs.set(&of_material, 328.15).expect("legal");
    let beds = |inputs: &Inputs| inputs.to_run().expect("valid").phases[0].bed_K;
    assert_eq!(beds(&inputs), Some(333.15), "the demo's job says 60 degC");
    inputs.table_of("job").remove(&["bed"]);
    assert_eq!(beds(&inputs), Some(328.15));
    let of_job = inputs.input("job.bed").expect("a key");
    assert_eq!(inputs.get(&of_job), None, "it is worked out");
}

#[test]
fn every_quantity_of_the_demo_is_set_and_read_back() {
    let inputs = demo().inputs;
    let all = inputs.all();
    assert!(all.len() > 100, "{}", all.len());
    for input in &all {
        let (low, high) = input.range().usual;
        let middle = input.range().si(0.5 * (low + high));
        let found = inputs.input(input.key()).expect("found by its own key");
        let mut changed = inputs.clone();
        changed
            .set(&found, middle)
            .unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(changed.get(input), Some(middle), "{}", input.key());
        // Nothing else has changed.
        for other in all.iter().filter(|other| other.key() != input.key()) {
            assert_eq!(changed.get(other), inputs.get(other), "{}", other.key());
        }
    }
}

#[test]
fn a_change_reaches_the_run_wherever_it_stands() {
    type Read = fn(&Run) -> f64;
    let cases: [(&str, f64, Read); 6] = [
        ("machine.feeder.heat", 5.0, |r| {
            r.machine.feeder.motor.heat_W
        }),
        ("machine.lid.layer.1.thickness", 0.006, |r| {
            r.machine.lid.layers[0].thickness_m
        }),
        ("machine.vent.1.area", 0.004, |r| r.machine.vents[0].area_m2),
        ("material.softening_limit", 330.0, |r| {
            r.material.softening_limit_K
        }),
        ("coefficients.layer_mixing", 3e-3, |r| {
            r.coefficients.get(crate::run::Coefficient::LayerMixing)
        }),
        ("room.shift", 2.0, |r| {
            r.room.weather.at(0.0).0 - demo().run.room.weather.at(0.0).0
        }),
    ];
    for (key, si, read) in cases {
        assert!((read(&with(key, si)) - si).abs() < 1e-9, "{key}");
    }
}

/// The start an hour later: the same rows of weather, seen from an hour on, none of them copied.
#[test]
fn the_rows_of_the_weather_are_shared() {
    let mut inputs = demo().inputs;
    inputs.start_later(1);
    let (now, later) = (
        demo().inputs.to_run().expect("valid"),
        inputs.to_run().expect("valid"),
    );
    assert_eq!(now.room.weather.at(3600.0), later.room.weather.at(0.0));
    let series = |run: &Run| match &run.room.weather {
        crate::course::Course::Series { points, .. } => Arc::as_ptr(points),
        other => panic!("{other:?}"),
    };
    let again = inputs.to_run().expect("valid");
    assert_eq!(series(&later), series(&again));
}

#[test]
fn what_is_no_input_says_what_is() {
    let inputs = demo().inputs;
    let said = |key: &str| inputs.input(key).expect_err("no input").to_string();
    for (key, words) in [
        ("machine.feder.heat", "did you mean `machine.feeder.heat`?"),
        (
            "machine.feeder.heat_sinks",
            "did you mean `machine.feeder.heat_sink`?",
        ),
        (
            "coefficients.leakege",
            "did you mean `coefficients.leakage`?",
        ),
        (
            "machine.lid.layer.0.thickness",
            "did you mean `machine.lid.layer.1.thickness`?",
        ),
        (
            "machine.lid.layer.9.thickness",
            "this run has no machine.lid.layer.9",
        ),
        ("room.building.volume", "this run has no room.building"),
        ("machine.spool", "there is no quantity `machine.spool`"),
        ("machine", "there is no quantity `machine`"),
        ("", "there is no quantity ``"),
        ("part.mass.kg", "there is no quantity `part.mass.kg`"),
    ] {
        assert!(said(key).contains(words), "{key}: {}", said(key));
    }
}

#[test]
fn values_outside_the_limits_are_refused_in_the_keys_unit() {
    let mut inputs = demo().inputs;
    let height = inputs.input("machine.height").expect("a key");
    for si in [0.01, 9.0, f64::NAN] {
        let said = inputs.set(&height, si).expect_err("refused").to_string();
        assert!(said.contains("between 50 mm and 5000 mm"), "{said}");
    }
    assert_eq!(inputs, demo().inputs, "nothing has changed");
}

/// Values that are legal each by itself and do not go together.
#[test]
fn a_run_that_does_not_fit_together_says_so() {
    let mut inputs = demo().inputs;
    let footprint = inputs.input("part.footprint").expect("a key");
    inputs.set(&footprint, 0.5).expect("legal by itself");
    let said = inputs
        .to_run()
        .expect_err("larger than the bed")
        .to_string();
    assert!(said.contains("but the bed has only"), "{said}");
}
