//! Whole chambers against rules of the trade. They are rules of thumb: the tolerances are theirs.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use dogdays::catalogue::Catalogue;
use dogdays::chamber::{IntegratorKind, Simulation};
use dogdays::integrate::Options;
use dogdays::network::elements::source::COPPER_PER_K;
use dogdays::run::{ArrangementKind, ChamberHeater, Place, Run};
use dogdays::runfile::{DEMO_RUN, parse};

/// The demo's job with a machine of the catalogue in a room of constant temperature.
fn job(machine: &str, room: &str) -> Run {
    let text = DEMO_RUN
        .replace("name = \"bench-220\"", &format!("name = \"{machine}\""))
        .replace(
            "series = \"weather.csv\"",
            &format!("temperature = \"{room}\""),
        );
    parse(&text, "run.toml", None, &Catalogue::embedded())
        .unwrap_or_else(|p| panic!("{p}"))
        .run
}

/// Mean of the air layers at the end of a run, K.
fn air_K(run: &Run) -> f64 {
    at_end(run).0
}

/// Mean of the air layers and the motors' temperature at the end of a run, K.
fn at_end(run: &Run) -> (f64, f64) {
    let s = Simulation::of(run, IntegratorKind::Rosenbrock, &Options::fine())
        .expect("a run that works");
    let air = &s.chamber.points.air;
    let mean = air
        .iter()
        .map(|k| s.temperature_K(*k, run.duration_s))
        .sum::<f64>()
        / air.len() as f64;
    (
        mean,
        s.temperature_K(s.chamber.points.motion, run.duration_s),
    )
}

/// A closed box of painted steel with a power inside and nothing else going on.
fn steel_box(width_m: f64, depth_m: f64, height_m: f64, power_W: f64) -> Run {
    let mut run = job("bench-220", "30 degC");
    let steel = run.machine.floor.clone();
    let m = &mut run.machine;
    (m.width_m, m.depth_m, m.height_m) = (width_m, depth_m, height_m);
    (m.lid, m.walls, m.door) = (steel.clone(), steel.clone(), steel);
    m.leak_area_m2 = 1e-6;
    m.vents.clear();
    m.electronics_W = power_W;
    (m.bed.width_m, m.bed.depth_m) = (0.1, 0.1);
    (m.extraction_height_m, m.inlet_height_m) = (0.9 * height_m, 0.1 * height_m);
    run.part.footprint_m2 = 1e-3;
    run.part.height_m = 0.01;
    for phase in &mut run.phases {
        (phase.bed_K, phase.nozzle_K) = (None, None);
        (phase.motion_duty, phase.feeder_duty, phase.feed_kg_per_s) = (0.0, 0.0, 0.0);
        phase.powered = true;
    }
    run
}

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Whole model");
    for machine in ["floor-500", "hall-1000"] {
        let closed = job(machine, "31 degC");
        let mut extracting = closed.clone();
        extracting.arrangement.kind = ArrangementKind::Extracting {
            flow_m3_per_s: 60.0 / 3600.0,
        };
        c.number(
            format!("large closed machine ({machine}) in a room of 31 degC: what forced ventilation (60 m3/h) brings its air down"),
            "K",
            (CommonPractice, "about 9 K when the room is above 30 degC"),
            9.0,
            air_K(&closed) - air_K(&extracting),
            Absolute(4.5),
            "a fact of the trade without stated machine or flow: the same size is all it says; 9 K is reached at about 100 m3/h in the smaller and 37 m3/h in the larger machine",
        );
    }
    // Closed metal cabinet with equipment of 1 m2 inside: heat shed per exposed area and difference of
    // inside air and room. The equipment's power rises with its temperature, as copper's does.
    let mut run = steel_box(0.8, 0.6, 1.2, 0.0);
    (run.machine.motion.heat_W, run.machine.motion.area_m2) = (200.0, 1.0);
    for phase in &mut run.phases {
        phase.motion_duty = 1.0;
    }
    let (air, equipment) = at_end(&run);
    let power_W = 200.0 * (1.0 + COPPER_PER_K * (equipment - 293.15));
    let exposed_m2 = 0.8 * 0.6 + 2.0 * (0.8 + 0.6) * 1.2;
    c.number(
        "closed metal cabinet of 0.8 x 0.6 x 1.2 m, equipment of 1 m2 and 230 W inside",
        "W/(m2 K)",
        (CommonPractice, "about 5.5 W/(m2 K) of painted steel"),
        5.5,
        power_W / (exposed_m2 * (air - 303.15)),
        Relative(0.25),
        "the rule does not say how the heat reaches the air: from 0.3 m2 of equipment it is 4.7, from 2 m2 5.4, set free in the air itself 2.8",
    );
    // IEC TR 60890: effective area 1.4 top + 0.9 sides, k from the table for A_e = 1 m2, k P^0.804 at mid height.
    for power in [50.0_f64, 100.0, 150.0] {
        let run = steel_box(0.5, 0.4, 0.444, power);
        c.number(format!("closed steel box of effective area 1.0 m2, {power} W inside: rise of the air at mid height"), "K", (Iec60890, "0.618 P^0.804"), 0.618 * power.powf(0.804),
            air_K(&run) - 303.15, Relative(0.10), "the method's own accuracy is about 10 %; its table is from memory and the box has a bench under its floor");
    }
    // The rise that 100 W give by IEC TR 60890, held by a heater: what it takes.
    let rise_K = 0.618 * 100.0_f64.powf(0.804);
    let mut run = steel_box(0.5, 0.4, 0.444, 0.0);
    run.machine.chamber_heater = Some(ChamberHeater {
        max_power_W: 300.0,
        place: Place::ChamberBottom,
    });
    for phase in &mut run.phases {
        phase.chamber_K = Some(303.15 + rise_K);
    }
    c.number(
        format!("closed steel box of effective area 1.0 m2, its lower air held {rise_K:.1} K above the room: power of the heater"),
        "W",
        (Iec60890, "0.618 P^0.804 = the rise"),
        100.0,
        held_by_W(&run),
        Relative(0.15),
        "the method's 10 % of the rise are 12 % of the power; it states the air at mid height, the heater holds the lower half",
    );
    c.list
}

/// Mean power of the chamber's heater from 30 h to 40 h after the start, W.
fn held_by_W(run: &Run) -> f64 {
    let joules = |hours: f64| {
        let mut run = run.clone();
        run.duration_s = 3600.0 * hours;
        run.phases.retain(|p| p.begin_s < run.duration_s);
        for phase in &mut run.phases {
            phase.end_s = phase.end_s.min(run.duration_s);
        }
        let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Options::fine());
        let heat = s.expect("a run that works").heat();
        let booked = heat.in_J.iter().find(|(name, _)| name == "chamber heater");
        booked.map_or(f64::NAN, |(_, joules)| *joules)
    };
    (joules(40.0) - joules(30.0)) / 36_000.0
}
