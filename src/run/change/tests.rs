//! What a change replaces, what goes with it and what stays.

use super::*;
use crate::catalogue::Catalogue;
use crate::run::{Phase, PhaseKind, Run};

const RUN: &str = r#"
    run = { start = "2026-07-13 07:00", duration = "10 h" }
    machine.name = "bench-60"
    material.name = "pla"
    part = { mass = "120 g", height = "60 mm" }
    room.mean = "28 degC"
    room.swing = "4 K"
"#;

fn inputs(more: &str) -> Inputs {
    let text = format!("{RUN}\n{more}");
    match crate::runfile::parse(&text, "run.toml", None, &Catalogue::embedded()) {
        Ok(loaded) => loaded.inputs,
        Err(problems) => panic!("{problems}"),
    }
}

fn changed(more: &str, change: impl Fn(&mut Inputs)) -> Run {
    let mut inputs = inputs(more);
    change(&mut inputs);
    inputs
        .to_run()
        .unwrap_or_else(|problems| panic!("{problems}"))
}

fn material(name: &str) -> Material {
    let mut all = Catalogue::embedded().materials().into_iter();
    all.find(|m| m.name == name).expect("the catalogue has it")
}

const PHASES: &str = r#"
    [job]
    phase = [
        { kind = "print", duration = "5 h", feed = "12 g/h" },
        { kind = "pause", duration = "1 h", bed = "40 degC" },
        { kind = "print", duration = "3 h", nozzle = "200 degC" },
        { kind = "cool down", duration = "1 h", bed = "35 degC" },
    ]
"#;

/// The catalogue's densities of PLA and PETG are 1240 and 1270 kg/m3.
#[test]
fn another_material_keeps_the_parts_shape_and_brings_its_setpoints() {
    let petg = material("petg");
    let now = changed(PHASES, |_| {});
    let then = changed(PHASES, |inputs| inputs.take_material(&petg));
    assert_eq!(then.material, petg);
    assert!((then.part.mass_kg - 0.12 * 1270.0 / 1240.0).abs() < 1e-12);
    assert!((then.part.footprint_m2 - now.part.footprint_m2).abs() < 1e-12);
    assert!((then.part.height_m - 0.06).abs() < 1e-12);
    let fed = |run: &Run| {
        let by = |p: &Phase| p.feed_kg_per_s * (p.end_s - p.begin_s);
        run.phases.iter().map(by).sum::<f64>()
    };
    assert!((fed(&then) - then.part.mass_kg).abs() < 1e-12);
    for (a, b) in now.phases.iter().zip(&then.phases) {
        assert!((b.feed_kg_per_s - a.feed_kg_per_s * 1270.0 / 1240.0).abs() < 1e-15);
        if b.kind == PhaseKind::CoolDown {
            assert_eq!(
                b.bed_K, a.bed_K,
                "cooling down is no setpoint of the material's"
            );
        } else {
            assert_eq!(
                (b.bed_K, b.nozzle_K),
                (Some(petg.bed_K), Some(petg.nozzle_K))
            );
        }
    }
}

#[test]
fn the_higher_of_two_lowest_chamber_temperatures_counts() {
    let abs = material("abs");
    let needs_K = abs.chamber_min_K.expect("it warps in the cold");
    for (typed, want_K) in [("30 degC", needs_K), ("90 degC", 363.15)] {
        let require = format!("require.chamber_min = \"{typed}\"");
        let run = changed(&require, |inputs| inputs.take_material(&abs));
        let got_K = run.requirements.chamber_min_K.expect("one of the two");
        assert!((got_K - want_K).abs() < 1e-9, "{typed}: {got_K}");
    }
    let run = changed("", |inputs| inputs.take_material(&abs));
    assert_eq!(run.requirements.chamber_min_K, Some(needs_K));
    let pla = material("pla");
    let run = changed("", |inputs| inputs.take_material(&pla));
    assert_eq!(run.requirements.chamber_min_K, pla.chamber_min_K);
}

const FAN: &str = r#"
    [arrangement]
    kind = "blowing in"
    flow = "20 m3/h"
    thermostat = { on_above = "40 degC", off_below = "38 degC" }
    schedule = [
        { at = "2 h", duration = "30 min", kind = "extracting", flow = "50 m3/h" },
        { at = "4 h", duration = "30 min", kind = "door open" },
    ]
"#;

#[test]
fn a_fan_that_extracts_keeps_its_thermostat_and_its_flow() {
    let flow_m3_per_s = 0.01;
    let extracting = ArrangementKind::Extracting { flow_m3_per_s };
    let run = changed(FAN, |inputs| inputs.extract(flow_m3_per_s));
    assert_eq!(run.arrangement.kind, extracting);
    assert_eq!(
        run.arrangement.control,
        changed(FAN, |_| {}).arrangement.control
    );
    assert_eq!(run.schedule[0].arrangement.kind, extracting);
    assert_eq!(run.schedule[1].arrangement.kind, ArrangementKind::DoorOpen);
    // A stretch that extracts less by itself goes on doing so: 50 m3/h of 0.1 m3/s.
    let run = changed(FAN, |inputs| inputs.extract(0.1));
    let ArrangementKind::Extracting { flow_m3_per_s } = run.schedule[0].arrangement.kind else {
        panic!("{:?}", run.schedule);
    };
    assert!((flow_m3_per_s - 50.0 / 3600.0).abs() < 1e-12);
    // Without a flow there is no fan, and nothing for a thermostat to do.
    let run = changed(FAN, |inputs| inputs.extract(0.0));
    assert_eq!(run.arrangement.kind, ArrangementKind::Closed);
    assert_eq!(run.arrangement.control, Control::Constant);
    assert_eq!(run.schedule[0].arrangement.kind, ArrangementKind::Closed);
}

#[test]
fn an_arrangement_takes_the_place_of_another_whole() {
    let kinds = [
        ArrangementKind::Closed,
        ArrangementKind::LidOff,
        ArrangementKind::DoorOpen,
        ArrangementKind::Extracting {
            flow_m3_per_s: 0.01,
        },
        ArrangementKind::BlowingIn {
            flow_m3_per_s: 0.02,
            fan_power_W: 4.0,
        },
        ArrangementKind::Recirculating {
            flow_m3_per_s: 0.03,
            fan_power_W: 7.0,
        },
    ];
    let thermostat = Control::Thermostat {
        on_above_K: 315.0,
        off_below_K: 313.0,
    };
    for more in ["", FAN] {
        for kind in &kinds {
            for control in [&Control::Constant, &thermostat] {
                if *control == thermostat && !kind.has_fan() {
                    continue;
                }
                let run = changed(more, |inputs| inputs.arrange(kind, control));
                assert_eq!(
                    (&run.arrangement.kind, &run.arrangement.control),
                    (kind, control)
                );
            }
        }
    }
    for kind in &kinds {
        assert_eq!(kind.has_fan(), has_fan(kind.name()));
    }
}

/// An extracting fan of another flow leaves open what stands open beside it; another kind does not.
#[test]
fn what_stands_open_goes_with_its_fan() {
    let open = "arrangement = { kind = \"extracting\", flow = \"20 m3/h\", open = \"lid\", speed_at_bed = \"1 m/s\" }";
    let name = |change: &dyn Fn(&mut Inputs)| changed(open, change).arrangement.name();
    assert_eq!(name(&|i| i.extract(0.01)), "extracting, lid off");
    assert_eq!(name(&|i| i.extract(0.0)), "lid off");
    assert_eq!(name(&|i| i.warm(1.0)), "extracting, lid off");
    let extracting = ArrangementKind::Extracting {
        flow_m3_per_s: 0.02,
    };
    assert_eq!(
        name(&|i| i.arrange(&extracting, &Control::Constant)),
        "extracting"
    );
    let blowing = ArrangementKind::BlowingIn {
        flow_m3_per_s: 0.02,
        fan_power_W: 4.0,
    };
    let run = changed(open, |i| i.arrange(&blowing, &Control::Constant));
    assert_eq!(
        (run.arrangement.name(), run.arrangement.jet.at_bed_m_per_s),
        ("blowing in", 0.0)
    );
    let inside = "arrangement = { kind = \"recirculating\", flow = \"20 m3/h\", open = \"door\" }";
    assert_eq!(
        changed(inside, |i| i.extract(0.01)).arrangement.name(),
        "extracting"
    );
    assert_eq!(
        changed(inside, |i| i.extract(0.0)).arrangement.name(),
        "closed"
    );
}

#[test]
fn beds_rooms_and_starts_are_moved_by_so_much() {
    let now = changed(PHASES, |_| {});
    let cooler = changed(PHASES, |inputs| inputs.cool_bed(7.5));
    for (a, b) in now.phases.iter().zip(&cooler.phases) {
        let by_K = a.bed_K.zip(b.bed_K).map(|(a, b)| a - b);
        assert!((by_K.expect("every phase has one") - 7.5).abs() < 1e-9);
    }
    let warmer = changed("", |inputs| inputs.warm(-45.0));
    let later = changed("", |inputs| inputs.start_later(3));
    assert_eq!(later.start.duration_since(now.start).as_hours(), 3);
    for h in [0.0, 5.0, 9.5] {
        let at = |run: &Run, h: f64| run.room.weather.at(h * 3600.0).0;
        assert!((at(&now, h) - 45.0 - at(&warmer, h)).abs() < 1e-9);
        assert!((at(&now, h + 3.0) - at(&later, h)).abs() < 1e-9);
    }
    let room = "room.building = { volume = \"60 m3\", envelope = \"100 W/K\" }";
    let setpoint_K = |run: Run| run.room.building.map(|b| b.cooler_setpoint_K);
    let cooler = setpoint_K(changed(room, |inputs| inputs.cool_setpoint(2.0)));
    assert!((cooler.expect("a building") - (299.15 - 2.0)).abs() < 1e-9);
    assert_eq!(
        setpoint_K(changed("", |inputs| inputs.cool_setpoint(2.0))),
        None
    );
}

#[test]
fn the_feed_path_is_changed_piece_by_piece() {
    let now = changed("", |_| {}).machine;
    let then = changed("", |inputs| {
        inputs.scale_feeder_heat(0.49);
        inputs.add_heat_sink(0.25);
        inputs.put_spool_in_room();
        inputs.shorten_guide_tube(0.1);
    })
    .machine;
    assert!((then.feeder.motor.heat_W - 0.49 * now.feeder.motor.heat_W).abs() < 1e-12);
    assert!((then.feeder.heat_sink_W_per_K - 0.25 - now.feeder.heat_sink_W_per_K).abs() < 1e-12);
    assert_eq!(then.spool, crate::run::Place::Room);
    assert_eq!(then.guide_tube_m, now.guide_tube_m.min(0.1));
}

/// The run starts at 07:00 on Monday and lasts 10 h. Started later, the fan's hours by the clock stay, those
/// counted from the start go along, and what is over by then does not come.
#[test]
fn a_later_start_leaves_the_clock_alone() {
    let fan = |at: &str| {
        format!("[[arrangement.schedule]]\nkind = \"extracting\"\nflow = \"20 m3/h\"\n{at}\n")
    };
    let hours = |at: &str, by_h: u32| {
        let run = changed(&fan(at), |inputs| inputs.start_later(by_h));
        let hours = run
            .schedule
            .iter()
            .map(|s| (s.begin_s / 3600.0, s.end_s / 3600.0));
        hours.collect::<Vec<_>>()
    };
    for (at, later) in [
        ("at = \"5 h\"\nduration = \"2 h\"", vec![(5.0, 7.0)]),
        ("at = \"Mon 12:00\"\nduration = \"2 h\"", vec![(2.0, 4.0)]),
        ("at = \"12:00\"\nuntil = \"14:00\"", vec![(2.0, 4.0)]),
        ("at = \"Mon 08:00\"\nuntil = \"11:00\"", vec![(0.0, 1.0)]),
        ("at = \"Mon 08:00\"\nduration = \"3 h\"", vec![(0.0, 1.0)]),
        ("at = \"Mon 08:00\"\nuntil = \"10:00\"", vec![]),
        (
            "every = \"day\"\nat = \"18:00\"\nuntil = \"11:00\"",
            vec![(0.0, 1.0), (8.0, 10.0)],
        ),
    ] {
        assert_eq!(hours(at, 3), later, "{at}");
    }
    // A week later, Monday is still the Monday of before.
    assert_eq!(hours("at = \"Mon 12:00\"\nduration = \"2 h\"", 168), []);
    // Later twice is later once.
    let twice = changed(&fan("at = \"Mon 12:00\"\nuntil = \"14:00\""), |inputs| {
        inputs.start_later(1);
        inputs.start_later(2);
    });
    assert_eq!(twice.schedule[0].begin_s, 2.0 * 3600.0);
}

/// A pause by the clock stays as well; one that a later start misses makes no run.
#[test]
fn a_pause_that_a_later_start_misses_makes_no_run() {
    let pause = "[[job.pause]]\nat = \"Mon 12:00\"\nuntil = \"13:00\"\n";
    let run = changed(pause, |inputs| inputs.start_later(3));
    let stop = run.phases.iter().find(|p| p.kind == PhaseKind::Pause);
    assert_eq!(stop.map(|p| (p.begin_s, p.end_s)), Some((7200.0, 10_800.0)));
    let mut missed = inputs(pause);
    missed.start_later(6);
    let said = missed.to_run().expect_err("it is over by then").to_string();
    assert!(said.contains("is before the run"), "{said}");
    let phases = "[[job.phase]]\nkind = \"print\"\nuntil = \"Mon 12:00\"\n[[job.phase]]\nkind = \"cool down\"\n";
    let run = changed(phases, |inputs| inputs.start_later(3));
    assert_eq!(run.phases[0].end_s, 7200.0);
}
