//! What must be true of every run, whatever the machine.

use dogdays::catalogue::Catalogue;
use dogdays::chamber::{IntegratorKind, Simulation};
use dogdays::course::{Course, Points};
use dogdays::integrate::Options;
use dogdays::run::Run;
use dogdays::run::{ArrangementKind, Control, Place};
use dogdays::runfile;
use dogdays::study::{self, check::outcome};
use proptest::prelude::*;

fn demo() -> Run {
    runfile::demo().run
}

/// The demo in 12 hours: enough for the afternoon's peak, quick enough for many cases.
fn short(machine: &str) -> Run {
    let text = format!(
        "[run]\nname = \"short\"\nstart = \"2026-07-13 08:00\"\nduration = \"12 h\"\n\
         [machine]\nname = \"{machine}\"\n[material]\nname = \"pla\"\n[part]\nmass = \"300 g\"\n\
         [room]\nmean = \"29 degC\"\nswing = \"5 K\"\nwarmest_at = \"16:00\"\n[arrangement]\nkind = \"closed\"\n"
    );
    match runfile::parse(&text, "short.toml", None, &Catalogue::embedded()) {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    }
}

/// How far the filament is past its limit where it is nearest to it, K. Stations have limits of their own, so it
/// is this that must rise and fall, and not the temperature of whichever decides.
fn past_limit_K(run: &Run) -> f64 {
    -outcome(run, &Options::default()).unwrap().margin_K
}

fn machines() -> Vec<String> {
    let catalogue = Catalogue::embedded();
    catalogue
        .list(dogdays::catalogue::Kind::Machine)
        .map(|e| e.name.clone())
        .collect()
}

/// What the integrator may be off by, K.
const SLACK_K: f64 = 0.01;

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn a_hotter_room_never_gives_a_cooler_peak(k in 0..100usize, shift in 0.1..15.0f64) {
        let names = machines();
        let mut run = short(&names[k % names.len()]);
        let cool = past_limit_K(&run);
        run.room.weather = run.room.weather.raised(shift);
        let warm = past_limit_K(&run);
        prop_assert!(warm > cool - SLACK_K, "{cool} K, {shift} K warmer: {warm} K");
    }

    #[test]
    fn more_extraction_never_gives_a_hotter_peak(k in 0..100usize, flow in 1.0..100.0f64, factor in 1.05..4.0f64) {
        let names = machines();
        let mut run = short(&names[k % names.len()]);
        let mut at = |flow_m3_per_h: f64| {
            run.arrangement.kind = ArrangementKind::Extracting { flow_m3_per_s: flow_m3_per_h / 3600.0 };
            past_limit_K(&run)
        };
        let (less, more) = (at(flow), at(flow * factor));
        prop_assert!(more < less + SLACK_K, "{flow} m3/h: {less} K, {factor} times as much: {more} K");
    }
}

#[test]
fn without_sources_everything_ends_at_room_temperature() {
    for machine in machines() {
        let mut run = short(&machine);
        run.room.weather = Course::Constant(303.15);
        run.duration_s = 4.0 * 86_400.0;
        run.phases.truncate(1);
        let p = &mut run.phases[0];
        p.end_s = run.duration_s;
        p.bed_K = None;
        p.nozzle_K = None;
        (p.motion_duty, p.feeder_duty, p.feed_kg_per_s, p.powered) = (0.0, 0.0, 0.0, false);
        // Begin away from the room's temperature: a warm first day.
        let points = Points::new(
            vec![0.0, 3600.0, 7200.0, run.duration_s],
            vec![293.15, 318.15, 303.15, 303.15],
        );
        run.room.weather = Course::series(points.unwrap().into());
        let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Options::fine()).unwrap();
        for (k, node) in s.chamber.network.nodes().iter().enumerate() {
            let t = s.temperature_K(k, run.duration_s);
            assert!(
                (t - 303.15).abs() < 0.02,
                "{machine}: {} ends at {t} K",
                node.name
            );
        }
    }
}

/// The same run in inches, pounds, Fahrenheit and cubic feet a minute.
#[test]
fn the_same_run_in_other_units_gives_the_same_numbers() {
    let parse = |text: &str| match runfile::parse(text, "units.toml", None, &Catalogue::embedded())
    {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    };
    let metric = parse(
        "[run]\nname = \"u\"\nstart = \"2026-07-13 07:00\"\nduration = \"1.5 day\"\n[machine]\nname = \"bench-220\"\n\
         [material]\nname = \"pla\"\n[part]\nmass = \"0.90718474 kg\"\n[job]\nbed = \"60 degC\"\n\
         [room]\ntemperature = \"35 degC\"\naltitude = \"304.8 m\"\n[arrangement]\nkind = \"extracting\"\nflow = \"42.475270 m3/h\"\n[require]\nmargin = \"5 K\"\n",
    );
    let other = parse(
        "[run]\nname = \"u\"\nstart = \"2026-07-13 07:00\"\nduration = \"36 h\"\n[machine]\nname = \"bench-220\"\n\
         [material]\nname = \"pla\"\n[part]\nmass = \"2 lb\"\n[job]\nbed = \"140 degF\"\n\
         [room]\ntemperature = \"95 degF\"\naltitude = \"1000 ft\"\n[arrangement]\nkind = \"extracting\"\nflow = \"25 cfm\"\n[require]\nmargin = \"5 K\"\n",
    );
    let (a, b) = (
        outcome(&metric, &Options::fine()).unwrap(),
        outcome(&other, &Options::fine()).unwrap(),
    );
    // 42.475270 m3/h is 25 cfm rounded to eight digits.
    assert!(
        (a.peak_K - b.peak_K).abs() < 1e-5,
        "{} {}",
        a.peak_K,
        b.peak_K
    );
    assert_eq!(a.verdict, b.verdict);
}

fn arrangements() -> Vec<ArrangementKind> {
    let flow_m3_per_s = 40.0 / 3600.0;
    vec![
        ArrangementKind::Closed,
        ArrangementKind::LidOff,
        ArrangementKind::DoorOpen,
        ArrangementKind::Extracting { flow_m3_per_s },
        ArrangementKind::BlowingIn {
            flow_m3_per_s,
            fan_power_W: 5.0,
        },
        ArrangementKind::Recirculating {
            flow_m3_per_s,
            fan_power_W: 5.0,
        },
    ]
}

/// Two methods that share nothing but the right-hand side: within 0.02 K at every node and time.
#[test]
fn both_integrators_agree_on_the_demo_in_every_arrangement() {
    for kind in arrangements() {
        let mut run = demo();
        run.arrangement.kind = kind.clone();
        let main = Simulation::of(&run, IntegratorKind::Rosenbrock, &Options::fine()).unwrap();
        let options = Options {
            tolerance: 1e-5,
            ..Options::default()
        };
        let cross = Simulation::of(&run, IntegratorKind::Explicit, &options).unwrap();
        for k in 0..=5000 {
            let t = run.duration_s * f64::from(k) / 5000.0;
            for (i, node) in main.chamber.network.nodes().iter().enumerate() {
                let (a, b) = (main.temperature_K(i, t), cross.temperature_K(i, t));
                assert!(
                    (a - b).abs() < 0.02,
                    "{kind:?}: {} at {t} s: {a} and {b} K",
                    node.name
                );
            }
        }
        for s in [&main, &cross] {
            let left = s.heat().unaccounted_relative;
            assert!(left < 1e-6, "{kind:?}: {left} unaccounted");
        }
    }
}

/// The peak at the tolerance of studies is within 0.01 K of a far tighter one, in every arrangement.
#[test]
fn the_peak_is_right_at_the_tolerance_of_studies() {
    for kind in arrangements() {
        let mut run = demo();
        run.arrangement.kind = kind.clone();
        let tight = Options {
            tolerance: 1e-5,
            ..Options::default()
        };
        let (a, b) = (
            outcome(&run, &Options::default()).unwrap(),
            outcome(&run, &tight).unwrap(),
        );
        assert!(
            (a.peak_K - b.peak_K).abs() < 0.01,
            "{kind:?}: {} and {}",
            a.peak_K,
            b.peak_K
        );
    }
}

/// The same in smooth weather, where nothing but the error estimate makes the integrator stop.
#[test]
fn the_peak_is_right_in_smooth_weather_too() {
    for machine in machines() {
        for flow_m3_per_h in [0.0, 30.0, 150.0] {
            let mut run = short(&machine);
            if flow_m3_per_h > 0.0 {
                run.arrangement.kind = ArrangementKind::Extracting {
                    flow_m3_per_s: flow_m3_per_h / 3600.0,
                };
            }
            let tight = Options {
                tolerance: 1e-5,
                ..Options::default()
            };
            let exact = -outcome(&run, &tight).unwrap().margin_K;
            let off = past_limit_K(&run) - exact;
            assert!(off.abs() < 0.01, "{machine}, {flow_m3_per_h} m3/h: {off} K");
        }
    }
}

/// Every machine of the catalogue, spool and feeder inside and outside: heat is accounted for.
#[test]
fn heat_is_accounted_for_in_every_machine() {
    for machine in machines() {
        for (spool, layers) in [
            (Place::Room, 2),
            (Place::ChamberTop, 3),
            (Place::ChamberBottom, 5),
        ] {
            let mut run = short(&machine);
            run.machine.spool = spool;
            run.machine.air_layers = layers;
            let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Options::default()).unwrap();
            let left = s.heat().unaccounted_relative;
            assert!(
                left < 1e-6,
                "{machine}, {layers} layers: {left} unaccounted"
            );
        }
    }
}

/// Far enough apart for starts that no fan minds: each is located, by both methods, over the whole run.
#[test]
fn a_thermostat_keeps_the_top_layer_between_its_temperatures() {
    let mut run = demo();
    run.arrangement.kind = ArrangementKind::Extracting {
        flow_m3_per_s: 40.0 / 3600.0,
    };
    run.arrangement.control = Control::Thermostat {
        on_above_K: 314.15,
        off_below_K: 308.15,
    };
    let f = study::check(&run, IntegratorKind::Rosenbrock, &Options::fine()).unwrap();
    assert!(f.effort.events > 80, "{:?}", f.effort);
    assert_eq!(f.fan.unwrap().throttled_h, 0.0);
    let top = f.nodes.iter().find(|n| n.name == "air top").unwrap();
    assert!((top.max_K - 314.15).abs() < 0.01, "highest {}", top.max_K);
    // The same switching by both methods: near a threshold that is hardly reached a small error makes one start
    // more or less, so both are asked closely.
    let events = |integrator, tolerance| {
        let options = Options {
            tolerance,
            ..Options::default()
        };
        let s = Simulation::of(&run, integrator, &options).unwrap();
        s.trajectory.effort.events
    };
    let main = events(IntegratorKind::Rosenbrock, 1e-5);
    assert_eq!(main, events(IntegratorKind::Explicit, 1e-6));
}

#[test]
fn a_throttled_thermostat_keeps_the_top_layer_too() {
    let mut run = demo();
    // Until the evening of the first day.
    run.duration_s = 12.0 * 3600.0;
    run.phases.retain(|p| p.begin_s < run.duration_s);
    run.phases
        .iter_mut()
        .for_each(|p| p.end_s = p.end_s.min(12.0 * 3600.0));
    run.arrangement.kind = ArrangementKind::Extracting {
        flow_m3_per_s: 40.0 / 3600.0,
    };
    run.arrangement.control = Control::Thermostat {
        on_above_K: 315.15,
        off_below_K: 312.65,
    };
    let f = study::check(&run, IntegratorKind::Rosenbrock, &Options::fine()).unwrap();
    // The first starts are switched one by one; since they follow each other too fast, the fan is throttled then.
    assert!(f.effort.events > 10, "{:?}", f.effort);
    let top = f.nodes.iter().find(|n| n.name == "air top").unwrap();
    assert!((top.max_K - 315.15).abs() < 0.01, "highest {}", top.max_K);
    let used = f.fan.unwrap();
    assert!(used.throttled_h > 0.5, "{used:?}");
    // The same by the other method, to which a throttled fan is stiff.
    let options = Options {
        tolerance: 1e-6,
        ..Options::default()
    };
    let cross = Simulation::of(&run, IntegratorKind::Explicit, &options).unwrap();
    let (a, b) = (
        cross.trajectory.effort.events as f64,
        f.effort.events as f64,
    );
    assert!((a / b - 1.0).abs() < 0.1, "{a} and {b} events");
    let end = |s: &Simulation| s.temperature_K(s.chamber.points.top(), run.duration_s);
    let (a, b) = (end(&cross), end(&f.simulation));
    assert!((a - b).abs() < 0.02, "{a} and {b} K at the end");
}

#[test]
fn an_opened_door_cools_the_chamber_for_as_long_as_it_is_open() {
    let text = runfile::DEMO_RUN.replace(
        "\n[room]",
        "\n[[job.spool_change]]\nat = \"61 h\"\nduration = \"4 min\"\ndoor = \"open\"\n[room]",
    );
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let run = match runfile::parse(&text, "door.toml", Some(&folder), &Catalogue::embedded()) {
        Ok(loaded) => loaded.run,
        Err(problems) => panic!("{problems}"),
    };
    let s = Simulation::of(&run, IntegratorKind::Rosenbrock, &Options::fine()).unwrap();
    let top = s.chamber.points.top();
    let before = s.temperature_K(top, 61.0 * 3600.0 - 1.0);
    let open = s.temperature_K(top, 61.0 * 3600.0 + 200.0);
    let after = s.temperature_K(top, 62.0 * 3600.0);
    assert!(open < before - 3.0, "{before} before, {open} while open");
    assert!(after > open + 2.0, "{after} an hour later");
}
