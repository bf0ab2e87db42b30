//! What some machines have besides: a chamber heater, first layers of their own, a part-cooling fan, a second hotend.

use super::{GOOD, plus, refused, run};
use crate::chamber::{Chamber, IntegratorKind, Simulation};
use crate::network::{Configuration, Index};
use crate::run::{Phase, PhaseKind, Run};

const SHORT: &str = "heat_up = \"15 min\"\ncool_down = \"1 h\"";

/// The good run for six hours, with lines under [machine] tables and [job].
fn six_hours(machine: &str, job: &str) -> Run {
    let text = plus("job", &format!("{SHORT}\n{job}")) + machine;
    run(&text.replace("100 h", "6 h").replace("2.3 kg", "0.1 kg")).run
}

fn simulated(run: &Run) -> Simulation {
    Simulation::of(run, IntegratorKind::Rosenbrock, &Default::default()).expect("runs")
}

/// Elements of the configuration built for the first phase of that kind.
fn of_kind(chamber: &Chamber, is: impl Fn(&Phase) -> bool) -> &Configuration {
    let recipes = &chamber.timeline.recipes;
    let at = recipes.iter().position(|r| is(&r.phase)).expect("a phase");
    &chamber.schedule.configurations()[at]
}

/// The layer of air at the head's height, counted by hand.
fn around_head(chamber: &Chamber) -> Index {
    let (m, air) = (&chamber.run().machine, &chamber.points.air);
    let layer = (m.head_height_m / m.height_m * air.len() as f64).floor() as usize;
    air[layer.min(air.len() - 1)]
}

fn source_W(c: &Configuration, point: Index) -> f64 {
    let here = c.sources.iter().filter(|s| s.node == point);
    here.map(|s| s.power_W.at(0.0).0).sum()
}

#[track_caller]
fn booked_J(s: &Simulation, name: &str) -> f64 {
    let heat = s.heat();
    assert!(
        heat.unaccounted_relative < 1e-6,
        "{}",
        heat.unaccounted_relative
    );
    let entry = heat.in_J.iter().find(|(known, _)| known == name);
    entry.unwrap_or_else(|| panic!("no ledger {name}")).1
}

const HEATER: &str = "[machine.chamber_heater]\nmax_power = \"400 W\"\n";

/// The heater holds the layer it heats, at full power only until then, and is off while cooling down.
#[test]
fn a_chamber_heater_holds_its_layer() {
    for (place, top) in [("", false), ("place = \"chamber top\"\n", true)] {
        let run = six_hours(&format!("{HEATER}{place}"), "chamber = \"55 degC\"");
        let chamber_K: Vec<_> = run.phases.iter().map(|p| p.chamber_K.is_some()).collect();
        assert_eq!(chamber_K, [true, true, false]);
        let s = simulated(&run);
        let air = &s.chamber.points.air;
        let held = if top { air[air.len() - 1] } else { air[0] };
        for hour in [2.0, 3.5, 4.9] {
            let air_K = s.temperature_K(held, 3600.0 * hour);
            // The moment from which it holds is located, not met.
            assert!((air_K - 328.15).abs() < 1e-4, "{place} {hour} h: {air_K}");
        }
        assert!(s.temperature_K(held, 6.0 * 3600.0) < 325.0);
        let joules = booked_J(&s, "chamber heater");
        assert!(joules > 0.0 && joules < 400.0 * 5.0 * 3600.0, "{joules}");
    }
}

/// Air that is warmer than the setpoint by itself needs no heat.
#[test]
fn a_chamber_heater_set_below_what_the_chamber_does_rests() {
    let idle = simulated(&six_hours("", ""));
    let set = simulated(&six_hours(HEATER, "chamber = \"20 degC\""));
    assert_eq!(booked_J(&set, "chamber heater"), 0.0);
    let top = set.chamber.points.top();
    for hour in [1.0, 4.0] {
        let by_K = set.temperature_K(top, 3600.0 * hour) - idle.temperature_K(top, 3600.0 * hour);
        assert!(by_K.abs() < 1e-9, "{by_K}");
    }
}

#[test]
fn what_a_machine_does_not_have_can_not_be_set() {
    for (line, words) in [
        (
            "chamber = \"60 degC\"",
            ["`chamber`", "[machine.chamber_heater]"],
        ),
        (
            "second_nozzle = \"150 degC\"",
            ["`second_nozzle`", "[machine.second_hotend]"],
        ),
        ("part_fan = 0.5", ["`part_fan`", "[machine.part_fan]"]),
    ] {
        let column = line.find('=').expect("a value") + 3;
        refused(&plus("job", line), (12, column), &words);
    }
}

/// Heating up goes to the first layers' setpoints; they hold for 30 min of printing, a pause in them included.
#[test]
fn first_layers_are_a_phase_of_their_own() {
    let job = "first_layers = \"30 min\"\nfirst_layer_bed = \"70 degC\"\nfirst_layer_nozzle = \"220 degC\"";
    let run = six_hours("[[job.pause]]\nat = \"0.5 h\"\nduration = \"6 min\"\n", job);
    use PhaseKind::{CoolDown, HeatUp, Pause, Print};
    let told: Vec<_> = run
        .phases
        .iter()
        .map(|p| {
            (
                p.kind,
                (p.end_s / 36.0).round() / 100.0,
                p.bed_K.map(|K| (K - 273.15).round()),
            )
        })
        .collect();
    let by_hand = [
        (HeatUp, 0.25, Some(70.0)),
        (Print, 0.5, Some(70.0)),
        (Pause, 0.6, Some(70.0)),
        (Print, 0.75, Some(70.0)),
        (Print, 5.0, Some(60.0)),
        (CoolDown, 6.0, None),
    ];
    assert_eq!(told, by_hand);
    let nozzles: Vec<_> = run.phases.iter().map(|p| p.nozzle_K).collect();
    assert_eq!(nozzles[1], Some(493.15));
    assert_ne!(nozzles[4], Some(493.15));
    // The part's mass is fed evenly all the same.
    assert_eq!(run.phases[1].feed_kg_per_s, run.phases[4].feed_kg_per_s);
    let fed: f64 = run
        .phases
        .iter()
        .map(|p| p.feed_kg_per_s * (p.end_s - p.begin_s))
        .sum();
    assert!((fed - 0.1).abs() < 1e-12);
}

#[test]
fn first_layers_need_a_length_that_fits() {
    refused(
        &plus("job", "first_layer_bed = \"70 degC\""),
        (12, 19),
        &["needs `job.first_layers`", "20 min"],
    );
    refused(
        &plus("job", "first_layers = \"100 h\""),
        (12, 16),
        &["first layers take", "99.8 h"],
    );
    let text = plus("job", "first_layers = \"20 min\"")
        + "[[job.phase]]\nkind = \"print\"\nduration = \"100 h\"\n";
    refused(&text, (12, 16), &["beside a list of [[job.phase]]"]);
}

/// A study that cools the bed cools it for the first layers too; another material brings its own.
#[test]
fn studies_know_first_layers() {
    let job = "first_layers = \"30 min\"\nfirst_layer_bed = \"70 degC\"";
    let mut inputs = run(&plus("job", job)).inputs;
    inputs.cool_bed(5.0);
    let cooler = inputs.to_run().expect("valid");
    assert_eq!(cooler.phases[0].bed_K, Some(338.15));
    let mut other = cooler.material.clone();
    other.bed_K = 350.0;
    inputs.take_material(&other);
    let run = inputs.to_run().expect("valid");
    assert_eq!(
        (run.phases[0].bed_K, run.phases[2].bed_K),
        (Some(350.0), Some(350.0))
    );
}

const FAN: &str = "[machine.part_fan]\npower = \"5 W\"\n";

/// Its heat is there while printing after the first layers, in the air around the head; its air only where told.
#[test]
fn a_part_cooling_fan_runs_after_the_first_layers() {
    let job = "first_layers = \"30 min\"\npart_fan = 0.8";
    let plain = six_hours("", "");
    let base = Chamber::new(&plain).expect("built");
    let top_W = source_W(
        of_kind(&base, |p| p.kind == PhaseKind::Print),
        around_head(&base),
    );
    for (more, speed_m_per_s) in [("", 0.0), ("speed = \"0.6 m/s\"\n", 0.48)] {
        let run = six_hours(&format!("{FAN}{more}"), job);
        let fans: Vec<_> = run.phases.iter().map(|p| p.part_fan).collect();
        assert_eq!(fans, [0.0, 0.0, 0.8, 0.0]);
        let s = simulated(&run);
        let (chamber, p) = (&s.chamber, &s.chamber.points);
        let on = of_kind(chamber, |p| p.part_fan > 0.0);
        assert!((source_W(on, around_head(chamber)) - top_W - 4.0).abs() < 1e-12);
        let side = on.faces().find(|f| f.surface == p.part).expect("a face");
        let stirred = of_kind(&base, |p| p.kind == PhaseKind::Print);
        let usual = stirred
            .faces()
            .find(|f| f.surface == base.points.part)
            .expect("a face");
        let by_hand = f64::max(speed_m_per_s, usual.face.speed_m_per_s);
        assert!((side.face.speed_m_per_s - by_hand).abs() < 1e-12);
        // From 0.75 h to 5 h: 4 W for 4.25 h.
        assert!((booked_J(&s, "part-cooling fan") - 4.0 * 4.25 * 3600.0).abs() < 0.1);
    }
}

const SECOND: &str = "[machine.second_hotend]\nbeside = \"0.5 W/K\"\ncooling = \"0.4 W/K\"\nheat_break = \"0.02 W/K\"\n";

/// Two cold ends side by side, worked out as two nodes by hand. With air, both hotends and the heat the filament
/// takes as simulated, T1 and T2 solve
///   hb1 (N1 - T1) + b (T2 - T1) = c1 (T1 - A)   and   hb2 (N2 - T2) + b (T1 - T2) = c2 (T2 - A).
/// In a pause nothing is fed, so the filament takes none.
#[test]
fn the_first_cold_end_feels_the_second() {
    let pause = "[[job.pause]]\nat = \"1 h\"\nduration = \"3 h\"\n";
    let run = |second: &str| {
        let mut run = six_hours(&format!("{SECOND}{pause}"), second);
        run.machine.feeder.mount = None;
        run
    };
    let alone = simulated(&run(""));
    let hot = simulated(&run("second_nozzle = \"210 degC\""));
    let t_s = 4.0 * 3600.0 - 1.0;
    let (m, p) = (&hot.chamber.run().machine, &hot.chamber.points);
    let at = |point| hot.temperature_K(point, t_s);
    let (block, cold_end) = p.second_hotend.expect("there");
    assert!((at(block) - 483.15).abs() < 1e-6);
    let (air, hb1, c1) = (
        at(around_head(&hot.chamber)),
        m.hotend.heat_break_W_per_K,
        m.cold_end.cooling_W_per_K,
    );
    let (hb2, c2, b) = (0.02, 0.4, 0.5);
    let (a11, a12, r1) = (hb1 + b + c1, -b, hb1 * at(p.hotend) + c1 * air);
    let (a22, r2) = (hb2 + b + c2, hb2 * at(block) + c2 * air);
    let det = a11 * a22 - a12 * a12;
    let (first, second) = ((r1 * a22 - a12 * r2) / det, (a11 * r2 - a12 * r1) / det);
    // Minutes of time constant against hours of pause: what is left is the air's slow rise, and what else
    // touches the cold end.
    assert!(
        (at(p.cold_end) - first).abs() < 0.3,
        "{} {first}",
        at(p.cold_end)
    );
    assert!(
        (at(cold_end) - second).abs() < 0.3,
        "{} {second}",
        at(cold_end)
    );
    // And the first is warmer for the second's being hot.
    let rise_K = at(p.cold_end) - alone.temperature_K(p.cold_end, t_s);
    eprintln!("cold end {rise_K} K warmer beside a hot one");
    assert!(rise_K > 1.0, "{rise_K}");
    assert!(booked_J(&hot, "second hotend heater") > 0.0);
}

/// A second hotend that is off and touches nothing leaves the first as it is, but for its own heat capacity.
#[test]
fn a_second_hotend_that_is_off_gives_no_heat() {
    let s = simulated(&six_hours("[machine.second_hotend]\n", ""));
    assert_eq!(booked_J(&s, "second hotend heater"), 0.0);
    assert_eq!(GOOD.matches("second").count(), 0);
}

/// The table of a job sets all of them too.
#[test]
fn a_table_of_the_job_sets_heater_fan_and_second_hotend() {
    let folder = tempfile::tempdir().expect("temp dir");
    let text = GOOD
        .replace("mass = \"2.3 kg\"\n", "")
        .replace("bed = \"60 degC\"", "profile = \"job.csv\"")
        + HEATER
        + FAN
        + SECOND;
    std::fs::write(folder.path().join("run.toml"), text).expect("write");
    let table = "elapsed_h,feed_g_per_h,chamber_degC,part_fan,second_nozzle_degC\n0,0,50,0,off\n1,20,50,0.5,150\n99,0,off,0,off\n";
    std::fs::write(folder.path().join("job.csv"), table).expect("write");
    let run = crate::runfile::load(&folder.path().join("run.toml"), None)
        .expect("valid")
        .run;
    let told: Vec<_> = run
        .phases
        .iter()
        .map(|p| (p.chamber_K, p.part_fan, p.second_nozzle_K))
        .collect();
    let by_hand = [
        (Some(323.15), 0.0, None),
        (Some(323.15), 0.5, Some(423.15)),
        (None, 0.0, None),
    ];
    assert_eq!(told, by_hand);
}
