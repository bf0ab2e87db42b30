//! Valid files mean what they say.

use super::{GOOD, plus, read, run, with};
use crate::course::Course;
use crate::keys::Origin;
use crate::run::Coefficient;
use crate::run::{ArrangementKind, PhaseKind, Place};
use crate::runfile::demo;

/// Typed in the demo's files; conversions by hand.
#[test]
fn the_demo_is_the_run_its_file_describes() {
    let demo = demo();
    let run = &demo.run;
    assert!(demo.warnings.is_empty(), "{:?}", demo.warnings);
    assert_eq!(run.start.to_string(), "2026-07-13T07:00:00");
    assert!((run.duration_s - 435_600.0).abs() < 1e-6, "121 h");
    assert!((run.part.mass_kg - 2.3).abs() < 1e-12);
    assert!((run.part.footprint_m2 - 0.018).abs() < 1e-12);
    assert_eq!(run.material.name, "pla");
    assert_eq!(run.machine.spool, Place::Room);
    assert_eq!(run.machine.lid.layers[0].material, "polycarbonate");
    assert_eq!(run.arrangement.kind, ArrangementKind::Closed);
    assert!(run.requirements.must_stay_closed);
    let (times_s, temperatures_K): (Vec<f64>, Vec<f64>) = run.room.weather.points().unzip();
    // 07:00 on the 13th to 08:00 on the 18th, hourly, both ends included; then 24 h more, so that
    // later starts can be tried.
    assert_eq!(times_s.len(), 122 + 24);
    assert!(times_s[0].abs() < 1e-9 && (times_s[121] - 435_600.0).abs() < 1e-9);
    let hottest = temperatures_K.iter().copied().fold(0.0, f64::max);
    assert!((hottest - 308.15).abs() < 0.05, "35.0 degC on the 15th");
}

#[test]
fn phases_fill_the_run_and_feed_the_whole_part() {
    let run = demo().run;
    let kinds: Vec<_> = run.phases.iter().map(|phase| phase.kind).collect();
    assert_eq!(kinds, [PhaseKind::HeatUp, PhaseKind::Print]);
    assert!(run.phases[0].begin_s.abs() < 1e-12);
    assert!((run.phases[0].end_s - 900.0).abs() < 1e-9, "15 min");
    assert!((run.phases[1].end_s - run.duration_s).abs() < 1e-9);
    let fed_kg: f64 = run
        .phases
        .iter()
        .map(|p| p.feed_kg_per_s * (p.end_s - p.begin_s))
        .sum();
    assert!((fed_kg - 2.3).abs() < 1e-9);
}

/// 2.3 kg at 60 % of 1240 kg/m3 on 180 cm2: 171.7 mm, by hand.
#[test]
fn a_height_that_is_not_given_is_worked_out_and_says_so() {
    let loaded = run(GOOD);
    assert!((loaded.run.part.height_m - 0.1717).abs() < 5e-5);
    let stated = loaded
        .provenance
        .iter()
        .find(|s| s.key == "part.height")
        .expect("stated");
    let Origin::Derived(how) = &stated.origin else {
        panic!("{:?}", stated.origin)
    };
    assert!(how.contains("60 %"));
}

#[test]
fn every_value_says_where_it_came_from() {
    let loaded = run(&plus("machine", "bed.max_power = \"400 W\""));
    let origin = |key: &str| {
        let stated = loaded.provenance.iter().find(|s| s.key == key);
        stated.unwrap_or_else(|| panic!("{key} is stated")).clone()
    };
    let power = origin("machine.bed.max_power");
    assert_eq!(
        (power.value.as_str(), &power.origin),
        ("400 W", &Origin::Typed)
    );
    assert_eq!(power.place, Some(("run.toml".to_owned(), 5)));
    assert_eq!(
        origin("machine.width").origin,
        Origin::Catalogue("bench-220".into())
    );
    assert_eq!(origin("machine.lid").value, "polycarbonate-4");
    assert_eq!(origin("require.margin").origin, Origin::Default);
    assert_eq!(origin("require.margin").value, "3 K");
    assert!(matches!(origin("job.nozzle").origin, Origin::Derived(_)));
    assert!((loaded.run.machine.bed.max_power_W - 400.0).abs() < 1e-9);
    assert!(
        (loaded.run.machine.bed.width_m - 0.36).abs() < 1e-9,
        "the rest of the bed stays"
    );
}

/// Exact by definition of the units (1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, 95 °F = 35 °C).
/// Tolerance: rounding in the last digits.
#[test]
fn the_same_run_in_other_units_is_the_same_run() {
    let si = run(&with("\"31 degC\"", "\"35 degC\""));
    let us = with("\"31 degC\"", "\"95 degF\"")
        .replace("100 h", "4 day 4 h")
        .replace("2.3 kg", "2300 g")
        .replace("180 cm2", "0.018 m2")
        .replace("60 degC", "140 degF");
    let us = run(&us);
    let (Course::Constant(a), Course::Constant(b)) = (&si.run.room.weather, &us.run.room.weather)
    else {
        panic!("constant")
    };
    assert!((a - b).abs() < 1e-9 && (a - 308.15).abs() < 1e-9);
    assert!((si.run.duration_s - us.run.duration_s).abs() < 1e-6);
    assert!((si.run.part.height_m - us.run.part.height_m).abs() < 1e-12);
    let bed = |loaded: &crate::runfile::Loaded| loaded.run.phases[0].bed_K.expect("heated");
    assert!((bed(&si) - bed(&us)).abs() < 1e-9);
}

#[test]
fn names_are_found_whatever_their_capitals() {
    let loaded = run(&with("\"pla\"", "\"PLA\""));
    assert_eq!(loaded.run.material.name, "pla");
}

#[test]
fn defaults_without_a_part_in_the_run_are_not_explained() {
    let loaded = run(GOOD);
    let has = |key: &str| loaded.provenance.iter().any(|stated| stated.key == key);
    assert!(!has("room.warmest_at") && !has("arrangement.fan_power") && has("require.margin"));
}

#[test]
fn a_panel_may_be_replaced_by_name_or_described_in_place() {
    let named = run(&plus("machine", "lid = \"double-glass\""));
    assert_eq!(named.run.machine.lid.layers.len(), 3);
    assert_eq!(named.run.machine.lid.name, "double-glass");
    let own = "lid = { title = \"cork lid\", layer = [{ thickness = \"10 mm\", conductivity = \"0.045 W/(m K)\", density = \"120 kg/m3\", heat_capacity = \"1800 J/(kg K)\" }] }";
    let own = run(&plus("machine", own));
    assert_eq!(own.run.machine.lid.name, "cork lid");
    assert!((own.run.machine.lid.layers[0].thickness_m - 0.01).abs() < 1e-12);
    assert!(
        (own.run.machine.lid.emissivity_inside - 0.9).abs() < 1e-12,
        "default"
    );
}

#[test]
fn every_machine_and_material_of_the_catalogue_makes_a_run() {
    let catalogue = crate::catalogue::Catalogue::embedded();
    for machine in catalogue.list(crate::catalogue::Kind::Machine) {
        for material in catalogue.list(crate::catalogue::Kind::Material) {
            let text = GOOD
                .replace("bench-220", &machine.name)
                .replace("\"pla\"", &format!("\"{}\"", material.name))
                .replace("2.3 kg", "0.3 kg")
                .replace("180 cm2", "60 cm2");
            let loaded = run(&text);
            assert_eq!(loaded.run.machine.name, machine.name);
            assert_eq!(loaded.run.material.name, material.name);
            assert!(loaded.run.material.nozzle_K > loaded.run.material.softening_limit_K);
        }
    }
}

/// Machine and material described in the run file, in no catalogue.
#[test]
fn a_machine_in_no_catalogue_may_be_described_in_the_run_file() {
    let own = include_str!("../../../models/machines/bench-60.toml")
        .replace("[[vent]]", "[[machine.vent]]")
        .replace("\n[", "\n[machine.");
    let text = with("name = \"bench-220\"\n", &own);
    let loaded = run(&text);
    assert_eq!(
        loaded.run.machine.name,
        "Bench machine, 60 litres, painted steel, feeder outside"
    );
}

#[test]
fn coefficients_are_set_by_name_in_their_own_unit() {
    let text = plus(
        "coefficients",
        "leakage = 1.5\nlayer_mixing = \"0.002 m/s\"\nshort_circuit = \"20 %\"\npart_contact = \"200 W/(m2 K)\"",
    );
    // A share in per cent is no pure number here: the model's own notation is 0.2.
    assert!(read(&text).is_err());
    let loaded = run(&text.replace("\"20 %\"", "0.2"));
    let get = |c| loaded.run.coefficients.get(c);
    assert!((get(Coefficient::Leakage) - 1.5).abs() < 1e-12);
    assert!((get(Coefficient::LayerMixing) - 2e-3).abs() < 1e-12, "mm/s");
    assert!((get(Coefficient::ShortCircuit) - 0.2).abs() < 1e-12);
    assert!((get(Coefficient::PartContact) - 200.0).abs() < 1e-9);
    assert!((get(Coefficient::HeatBreak) - 1.0).abs() < 1e-12, "default");
}

#[test]
fn a_daily_swing_and_a_building_are_read() {
    let text = with(
        "temperature = \"31 degC\"",
        "mean = \"31 degC\"\nswing = \"3 K\"\nwarmest_at = \"15:30\"\nshift = \"2 K\"\n[room.building]\nvolume = \"120 m3\"\nenvelope = \"150 W/K\"\ncooler_power = \"2.5 kW\"",
    );
    let room = run(&text).run.room;
    assert_eq!(
        room.weather,
        // The run starts at 07:00.
        Course::Swing {
            mean: 306.15,
            amplitude: 3.0,
            crest_s: 8.5 * 3600.0
        }
    );
    let building = room.building.expect("given");
    assert!((building.cooler_max_W - 2_500.0).abs() < 1e-9);
    assert!(
        (building.air_changes_per_s * 3_600.0 - 0.5).abs() < 1e-12,
        "default 0.5 1/h"
    );
}

#[test]
fn toml_dates_and_times_do_as_well_as_texts() {
    for start in [
        "2026-07-13T07:00:00",
        "2026-07-13 07:00:00",
        "\"2026-07-13T07:00\"",
    ] {
        let loaded = run(&with("\"2026-07-13 07:00\"", start));
        assert_eq!(loaded.run.start.to_string(), "2026-07-13T07:00:00");
    }
}

#[test]
fn odd_but_legal_values_give_hints() {
    for (text, words) in [
        (plus("job", "nozzle = \"80 degC\""), "170 to 450 degC"),
        (
            with("\"100 h\"", "\"10 min\"").replace("[job]", "[job]\nheat_up = \"1 min\""),
            "usual are",
        ),
        (plus("room", "altitude = \"4000 m\""), "altitude"),
        (plus("coefficients", "leakage = 9"), "leakage"),
        (plus("job", "nozzle = \"300 degC\""), "unusual for pla"),
    ] {
        let loaded = run(&text);
        let hints: Vec<_> = loaded.warnings.iter().map(|w| w.render(false)).collect();
        assert!(
            hints.iter().any(|hint| hint.contains(words)),
            "{words}: {hints:?}"
        );
        assert!(hints.iter().all(|hint| hint.starts_with("hint")));
    }
}

/// 45 degC and 60 degC; what is not said starts at the room's temperature.
#[test]
fn a_start_may_be_warm() {
    let text = plus("initial", "air = \"45 degC\"\nbed = \"60 degC\"");
    let initial = run(&text).run.initial;
    let same = |K: Option<f64>, degC: f64| (K.expect("given") - 273.15 - degC).abs() < 1e-9;
    assert!(same(initial.air_K, 45.0) && same(initial.bed_K, 60.0));
    assert_eq!((initial.panels_K, initial.room_K), (None, None));
    let odd = run(&plus("initial", "room = \"33 degC\""));
    assert!(odd.warnings[0].message.contains("no effect"));
}
