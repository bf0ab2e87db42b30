//! Whole networks over time against solutions by hand.

use super::*;
use crate::course::{Course, Points};
use crate::integrate::{IntegrationError, IntegratorKind, Options, Trajectory};

const PRESSURE_PA: f64 = 101_325.0;
const HOUR_S: f64 = 3600.0;

fn builder() -> Builder {
    Builder::new(293.15, PRESSURE_PA)
}

fn side(setpoint_K: f64, most_W: f64, hysteresis_K: f64) -> Option<Side> {
    Some(Side {
        setpoint_K,
        most_W,
        hysteresis_K,
    })
}

fn lines(points: &[(f64, f64)]) -> Course {
    let (times_s, values) = points.iter().copied().unzip();
    Course::series(Points::new(times_s, values).unwrap().into())
}

fn run(network: &Network, schedule: &Schedule, end_s: f64) -> Trajectory {
    let options = Options {
        tolerance: 1e-5,
        ..Options::default()
    };
    simulate(
        network,
        schedule,
        end_s,
        IntegratorKind::Rosenbrock,
        &options,
    )
    .unwrap()
}

#[track_caller]
fn near(ours: f64, by_hand: f64, within: f64) {
    assert!(
        (ours - by_hand).abs() <= within,
        "{ours}, by hand {by_hand}"
    );
}

/// Two nodes that lose heat to the room, each with a heater, both heaters under one ledger. By hand: at full
/// power T = T0 + P/G (1 - e^(-t G/C)) until the setpoint at t1 = -C/G ln(1 - G dT/P), G dT from then on.
#[test]
fn heaters_under_one_ledger_have_meters_of_their_own() {
    let mut b = builder();
    let nodes = [("one", 2000.0), ("two", 500.0)].map(|(name, c)| b.node(Node::new(name, c)));
    let heat = b.ledger("heaters", Direction::In);
    let mut network = b.finish();
    let room = network.given("room", Course::Constant(293.15));
    let (g, most_W, dT) = ([2.0, 0.5], [100.0, 30.0], [40.0, 20.0]);
    let mut c = Configuration::default();
    for k in 0..2 {
        c.conductors.push(Conductor::new(nodes[k], room, g[k]));
        let heating = side(293.15 + dT[k], most_W[k], 0.0);
        c.controls
            .push(Control::new(nodes[k], heating, None, heat).unwrap());
    }
    let schedule = Schedule::always(c);
    let course = run(&network, &schedule, 2.0 * HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    let mut by_hand_J = 0.0;
    for k in 0..2 {
        let capacity = network.nodes()[nodes[k]].capacity_J_per_K;
        let t1_s = -capacity / g[k] * (1.0 - g[k] * dT[k] / most_W[k]).ln();
        let at = |t_s: f64| reading.temperature_K(nodes[k], t_s) - 293.15;
        let rises = most_W[k] / g[k] * (1.0 - (-0.5 * t1_s * g[k] / capacity).exp());
        near(at(0.5 * t1_s), rises, 1e-3);
        near(at(2.0 * HOUR_S), dT[k], 1e-6);
        by_hand_J += most_W[k] * t1_s + g[k] * dT[k] * (2.0 * HOUR_S - t1_s);
    }
    near(reading.ledger_J(heat).unwrap(), by_hand_J, 1e-5 * by_hand_J);
    assert_eq!(course.effort.events, 2);
}

/// A room that is heated to 293 K and cooled to 299 K, with 10 W/K to an outdoors that swings from 276 to
/// 316 K. What holds the room takes G (T_set - T_out): 170 W when it is coldest, and 170 W of cooling when it
/// is warmest, where only 100 W are there: by hand the room then follows C dT/dt = G (T_out - T) - 100 W.
#[test]
fn one_control_heats_and_cools_within_its_limits() {
    let mut b = builder();
    let room = b.node(Node::new("room", 5e3).starting_at(296.15));
    let power = b.ledger("air conditioner", Direction::In);
    let mut network = b.finish();
    let swing = Course::Swing {
        mean: 296.15,
        amplitude: 20.0,
        crest_s: 12.0 * HOUR_S,
    };
    let outdoors = network.given("outdoors", swing.clone());
    let control = Control::new(
        room,
        side(293.15, 250.0, 0.0),
        side(299.15, 100.0, 0.0),
        power,
    )
    .unwrap();
    let schedule = Schedule::always(Configuration {
        conductors: vec![Conductor::new(room, outdoors, 10.0)],
        controls: vec![control],
        ..Configuration::default()
    });
    let course = run(&network, &schedule, 48.0 * HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    let at = |h: f64| reading.temperature_K(room, h * HOUR_S);
    // Held while 100 W are enough: outdoors below 309.15 K.
    near(at(26.0), 293.15, 1e-4);
    near(at(32.0), 299.15, 1e-4);
    let warmest = (24 * 60..48 * 60)
        .map(|m| at(f64::from(m) / 60.0))
        .fold(0.0, f64::max);
    // With C/G of 500 s, the room lags behind T_out - 100 W/G by some minutes only: 306.15 K less
    // 20 K (1 - cos(w tau)), below a hundredth of a kelvin.
    near(warmest, 306.15, 0.02);
    assert!((0..48 * 60).all(|m| at(f64::from(m) / 60.0) > 293.15 - 1e-3));
}

/// A radiator on a thermostat in the room: switched on a kelvin below the setpoint, off at it, by the
/// room's temperature and not by its own.
#[test]
fn a_thermostat_may_measure_another_node() {
    let mut b = builder();
    let radiator = b.node(Node::new("radiator", 2e4));
    let room = b.node(Node::new("room", 1e5));
    let power = b.ledger("radiator", Direction::In);
    let mut network = b.finish();
    let outdoors = network.given("outdoors", Course::Constant(273.15));
    let control =
        Control::measuring(radiator, room, side(294.15, 1500.0, 1.0), None, power).unwrap();
    let schedule = Schedule::always(Configuration {
        conductors: vec![
            Conductor::new(radiator, room, 60.0),
            Conductor::new(room, outdoors, 30.0),
        ],
        controls: vec![control],
        ..Configuration::default()
    });
    let course = run(&network, &schedule, 24.0 * HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    let ledger = network.nodes().len() + power.position();
    let working =
        |k: usize| course.pieces[k].value(ledger, 1.0) - course.pieces[k].value(ledger, 0.0) > 1.0;
    let (mut starts, mut stops) = (0, 0);
    for k in 1..course.pieces.len() {
        let measured = reading.point_at(&course.pieces[k], 0.0, room);
        match (working(k - 1), working(k)) {
            (false, true) => {
                starts += 1;
                near(measured, 293.15, 1e-4);
            }
            (true, false) => {
                stops += 1;
                near(measured, 294.15, 1e-4);
            }
            _ => {}
        }
    }
    assert!(starts > 5 && stops > 5, "{starts} starts, {stops} stops");
    // Once it cycles, what it gives is what the room loses: 30 W/K over 20.5 K, give or take.
    let mean_W = reading.ledger_J(power).unwrap() / (24.0 * HOUR_S);
    near(mean_W, 615.0, 60.0);
}

/// A wall's face without mass between the wall and the air: by hand the two conductances in series. When the
/// wind doubles the outer one, the face's temperature jumps, the wall's does not.
#[test]
fn a_node_without_mass_is_where_what_comes_in_goes_out() {
    let mut b = builder();
    let wall = b.node(Node::new("wall", 1e5).starting_at(313.15));
    let face = b.node(Node::new("face", 0.0));
    let lost = b.ledger("lost", Direction::Out);
    let mut network = b.finish();
    let air = network.given("air", Course::Constant(293.15));
    let with = |outer: f64| Configuration {
        conductors: vec![
            Conductor::new(wall, face, 10.0),
            Conductor::new(face, air, outer).booked(lost),
        ],
        ..Configuration::default()
    };
    let change_s = 2.0 * HOUR_S;
    let parts = vec![(change_s, with(10.0)), (f64::INFINITY, with(20.0))];
    let schedule = Schedule::in_turn(parts).unwrap();
    let course = run(&network, &schedule, 4.0 * HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    // 5 W/K, then 20/3 W/K in series.
    let before = 20.0 * (-5.0 * change_s / 1e5_f64).exp();
    let after = before * (-(20.0 / 3.0) * change_s / 1e5_f64).exp();
    near(reading.temperature_K(wall, change_s), 293.15 + before, 1e-3);
    near(
        reading.temperature_K(wall, 2.0 * change_s),
        293.15 + after,
        1e-3,
    );
    let at = |k: usize, x: f64| reading.point_at(&course.pieces[k], x, face) - 293.15;
    let cut = course.pieces.iter().position(|p| p.begin_s >= change_s);
    near(at(0, 0.0), 10.0, 1e-6);
    near(at(cut.unwrap() - 1, 1.0), before / 2.0, 1e-3);
    near(at(cut.unwrap(), 0.0), before / 3.0, 1e-3);
    assert!(reading.heat().unaccounted_relative < 1e-9);
    // The cross-check has no use for it, and says so.
    let explicit = IntegratorKind::Explicit;
    let refused = simulate(&network, &schedule, HOUR_S, explicit, &Options::default());
    assert_eq!(
        refused.unwrap_err(),
        NetworkError::Integration(IntegrationError::Massless)
    );
    // Joined to nothing that is given it has no temperature.
    let alone = Schedule::always(Configuration::default());
    let stuck = simulate(
        &network,
        &alone,
        HOUR_S,
        IntegratorKind::Rosenbrock,
        &Options::default(),
    );
    assert!(
        matches!(stuck, Err(NetworkError::Massless { .. })),
        "{stuck:?}"
    );
}

/// A face without mass that radiates: 100 W leave it at sigma A (T^4 - T_sky^4), by hand T = (T_sky^4 +
/// 100/(sigma A))^(1/4).
#[test]
fn a_node_without_mass_may_be_nonlinear() {
    let mut b = builder();
    let face = b.node(Node::new("face", 0.0));
    let mut network = b.finish();
    let sky = network.given("sky", Course::Constant(280.0));
    let schedule = Schedule::always(Configuration {
        radiators: vec![Radiator::new(face, sky, 0.5)],
        sources: vec![Source::new(face, Course::Constant(100.0), INTERNAL)],
        ..Configuration::default()
    });
    let by_hand = (280.0_f64.powi(4) + 100.0 / (0.5 * 5.670_374_419e-8)).powf(0.25);
    let course = run(&network, &schedule, HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    near(reading.temperature_K(face, 0.0), by_hand, 1e-6);
    near(reading.temperature_K(face, HOUR_S), by_hand, 1e-6);
}

/// A block of 1000 J/K and 1 W/K, heated with 50 W from the second to the fifth hour (steps), or by a power
/// that rises by 10 W an hour (a line): solutions of C dT/dt = P(t) - G T by hand.
#[test]
fn sources_follow_their_courses() {
    let mut b = builder();
    let block = b.node(Node::new("block", 1000.0));
    let heat = b.ledger("heat", Direction::In);
    let mut network = b.finish();
    let room = network.given("room", Course::Constant(293.15));
    let tau_s = 1000.0_f64;
    let heated = |power_W: Course| {
        Schedule::always(Configuration {
            conductors: vec![Conductor::new(block, room, 1.0)],
            sources: vec![Source::new(block, power_W, heat)],
            ..Configuration::default()
        })
    };
    let hours = vec![0.0, 2.0 * HOUR_S, 5.0 * HOUR_S];
    let points = Points::new(hours, vec![0.0, 50.0, 0.0]).unwrap();
    let schedule = heated(Course::steps(points.into()));
    for integrator in [IntegratorKind::Rosenbrock, IntegratorKind::Explicit] {
        let options = Options {
            tolerance: 1e-6,
            ..Options::default()
        };
        let course = simulate(&network, &schedule, 6.0 * HOUR_S, integrator, &options).unwrap();
        let reading = Reading::new(&network, &schedule, &course);
        for (h, by_hand) in [
            (1.9, 0.0),
            (2.25, 50.0 * (1.0 - (-900.0 / tau_s).exp())),
            (5.0, 50.0 * (1.0 - (-3.0 * HOUR_S / tau_s).exp())),
            (
                5.5,
                50.0 * (1.0 - (-3.0 * HOUR_S / tau_s).exp()) * (-1800.0 / tau_s).exp(),
            ),
        ] {
            near(
                reading.temperature_K(block, h * HOUR_S) - 293.15,
                by_hand,
                1e-4,
            );
        }
        near(reading.ledger_J(heat).unwrap(), 50.0 * 3.0 * HOUR_S, 1e-3);
    }
    let schedule = heated(lines(&[(0.0, 0.0), (6.0 * HOUR_S, 60.0)]));
    let course = run(&network, &schedule, 6.0 * HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    for h in [0.3, 1.0, 4.0] {
        let (t, per_s) = (h * HOUR_S, 10.0 / HOUR_S);
        let by_hand = per_s * (t - tau_s * (1.0 - (-t / tau_s).exp()));
        near(reading.temperature_K(block, t) - 293.15, by_hand, 1e-4);
    }
    // A daily swing of power: the block follows it by 1/sqrt(1 + (w tau)^2), atan(w tau) later.
    let w = std::f64::consts::TAU / 86_400.0;
    let schedule = heated(Course::Swing {
        mean: 30.0,
        amplitude: 20.0,
        crest_s: 0.0,
    });
    let course = run(&network, &schedule, 24.0 * HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    for h in [6.0, 15.0, 24.0] {
        let lag = (w * tau_s).atan();
        let by_hand = 30.0 + 20.0 * lag.cos() * (w * h * HOUR_S - lag).cos();
        near(
            reading.temperature_K(block, h * HOUR_S) - 293.15,
            by_hand,
            2e-3,
        );
    }
}

/// Two bodies that grow without heat coming in: what is stored, f (T - T_ref), stays, so T = T_ref + y/f.
#[test]
fn several_bodies_grow_each_by_its_own_share() {
    let mut b = builder();
    let one = b.node(Node::new("one", 100.0).starting_at(303.15));
    let two = b.node(Node::new("two", 100.0).starting_at(313.15));
    b.growing(one, lines(&[(0.0, 0.5), (HOUR_S, 1.0)]));
    b.growing(
        two,
        lines(&[(0.0, 0.25), (HOUR_S, 0.25), (2.0 * HOUR_S, 0.5)]),
    );
    let network = b.finish();
    let schedule = Schedule::always(Configuration::default());
    let course = run(&network, &schedule, 2.0 * HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    for (node, h, by_hand) in [
        (one, 0.5, 10.0 * 0.5 / 0.75),
        (one, 1.0, 5.0),
        (two, 1.0, 20.0),
        (two, 1.5, 20.0 * 0.25 / 0.375),
    ] {
        near(
            reading.temperature_K(node, h * HOUR_S) - 293.15,
            by_hand,
            1e-9,
        );
    }
}

/// Twenty heaters that hold, one after the other short of power as the room cools: forty alarms.
#[test]
fn any_number_of_controls_and_alarms() {
    const COUNT: usize = 20;
    let mut b = builder();
    let nodes: Vec<Index> = (0..COUNT)
        .map(|k| b.node(Node::new(format!("node {k}"), 100.0).starting_at(303.15)))
        .collect();
    let heat = b.ledger("heat", Direction::In);
    let mut network = b.finish();
    let room = network.given("room", lines(&[(0.0, 293.15), (10.0 * HOUR_S, 263.15)]));
    let mut c = Configuration::default();
    for (k, node) in nodes.iter().enumerate() {
        c.conductors.push(Conductor::new(*node, room, 1.0));
        let heating = side(303.15, 12.0 + k as f64, 0.0);
        c.controls
            .push(Control::new(*node, heating, None, heat).unwrap());
    }
    let schedule = Schedule::always(c);
    let course = run(&network, &schedule, 10.0 * HOUR_S);
    let reading = Reading::new(&network, &schedule, &course);
    assert_eq!(course.effort.events, COUNT as u64);
    // At the end node k follows the room at its full power: the room falls by 3 K an hour, and C/G = 100 s.
    for (k, node) in nodes.iter().enumerate() {
        let by_hand = 263.15 + 12.0 + k as f64 + 100.0 * 3.0 / HOUR_S;
        near(reading.temperature_K(*node, 10.0 * HOUR_S), by_hand, 1e-3);
    }
}

/// Openings add up: three hundred of a square centimetre at one height are one of three hundred.
#[test]
fn any_number_of_openings() {
    let paths = |count: usize| AirPaths {
        layers: vec![0],
        tops_m: vec![1.0],
        room: 1,
        pressure_Pa: PRESSURE_PA,
        openings: [0.1, 0.9]
            .iter()
            .flat_map(|h| std::iter::repeat_n(*h, count))
            .map(|height_m| Opening {
                height_m,
                area_m2: 0.03 / count as f64,
                discharge: 0.6,
                layer: 0,
            })
            .collect(),
        draughts: vec![],
        open_top: None,
        inner_m3_per_s: 0.0,
        short_circuit: 0.0,
        led_to: None,
        ledger: INTERNAL,
    };
    let [one, many] = [1, 300].map(|count| paths(count).state(&[320.0, 295.0]).inflow_kg_per_s);
    near(many, one, 1e-9 * one);
}

/// A day's switching of a building whose fastest time constant is ten hours: a handful of steps a stretch.
/// From 5 s a step may grow sixfold, so that the way to hours alone takes five.
#[test]
fn where_nothing_is_fast_a_jump_costs_no_small_steps() {
    let mut b = builder();
    let house = b.node(Node::new("house", 36e6));
    let heat = b.ledger("heat", Direction::In);
    let mut network = b.finish();
    let outdoors = network.given("outdoors", Course::Constant(273.15));
    let with = |power_W: f64| Configuration {
        conductors: vec![Conductor::new(house, outdoors, 1000.0)],
        sources: vec![Source::new(house, Course::Constant(power_W), heat)],
        ..Configuration::default()
    };
    let parts = (1..=20).map(|k| {
        let power_W = if k % 2 == 0 { 3000.0 } else { 15_000.0 };
        (12.0 * HOUR_S * f64::from(k), with(power_W))
    });
    let schedule = Schedule::in_turn(parts.collect()).unwrap();
    let options = Options {
        max_step_s: f64::INFINITY,
        ..Options::fine()
    };
    let end_s = schedule.end_s();
    let main = IntegratorKind::Rosenbrock;
    let course = simulate(&network, &schedule, end_s, main, &options).unwrap();
    let steps = course.effort.steps + course.effort.rejected;
    assert!(steps <= 20 * 6, "{steps} steps for 20 stretches");
    let reading = Reading::new(&network, &schedule, &course);
    let (decay, mut by_hand) = ((-1.2_f64).exp(), 20.0);
    for k in 1..=20 {
        let end = if k % 2 == 0 { 3.0 } else { 15.0 };
        by_hand = end + (by_hand - end) * decay;
        let t_s = 12.0 * HOUR_S * f64::from(k);
        near(reading.temperature_K(house, t_s) - 273.15, by_hand, 0.01);
    }
}

#[test]
fn what_can_not_be_run_is_refused_by_name() {
    let network = |capacity: f64, share: f64| {
        let mut b = builder();
        let block = b.node(Node::new("block", capacity));
        b.node(Node::new("other", 1.0));
        b.growing(block, Course::Constant(share));
        let heat = b.ledger("heat", Direction::In);
        let mut network = b.finish();
        network.given("room", Course::Constant(293.15));
        (network, heat)
    };
    let refused = |(network, _): &(Network, LedgerId), c: Configuration| {
        NetworkSystem::new(network, &Schedule::always(c)).unwrap_err()
    };
    let good = network(100.0, 1.0);
    let to = |point| Configuration {
        conductors: vec![Conductor::new(0, point, 1.0)],
        ..Configuration::default()
    };
    let nowhere = NetworkError::Point {
        configuration: 0,
        point: 3,
        points: 3,
    };
    assert_eq!(refused(&good, to(3)), nowhere);
    let foreign = Configuration {
        sources: vec![Source::new(1, Course::Constant(1.0), LedgerId(7))],
        ..Configuration::default()
    };
    assert_eq!(
        refused(&good, foreign),
        NetworkError::Foreign { configuration: 0 }
    );
    for capacity in [-1.0, f64::NAN] {
        let e = refused(&network(capacity, 1.0), to(2));
        assert_eq!(e, NetworkError::Capacity("block".into()));
    }
    let e = refused(&network(100.0, 0.0), to(2));
    assert_eq!(e, NetworkError::Share("block".into()));
    let held = |nodes: &[Index]| Configuration {
        controls: nodes
            .iter()
            .map(|n| Control::new(*n, side(300.0, 1.0, 0.0), None, good.1).unwrap())
            .collect(),
        ..Configuration::default()
    };
    assert!(NetworkSystem::new(&good.0, &Schedule::always(held(&[1]))).is_ok());
    // Held twice; held though it grows; held though it is given.
    for (nodes, name) in [(&[1, 1][..], "other"), (&[0], "block"), (&[2], "room")] {
        assert_eq!(refused(&good, held(nodes)), NetworkError::Held(name.into()));
    }
    let schedule = Schedule::in_turn(vec![(HOUR_S, to(2))]).unwrap();
    let main = IntegratorKind::Rosenbrock;
    let e = simulate(&good.0, &schedule, 2.0 * HOUR_S, main, &Options::default()).unwrap_err();
    assert_eq!(
        e,
        NetworkError::Schedule(ScheduleError::TooShort {
            run_h: 2.0,
            end_h: 1.0
        })
    );
}

#[test]
fn what_is_no_control_is_refused() {
    use super::elements::control::ControlError as E;
    let new = |measures, heating, cooling| {
        Control::measuring(0, measures, heating, cooling, INTERNAL).unwrap_err()
    };
    assert_eq!(new(0, None, None), E::Idle);
    assert_eq!(new(1, side(300.0, 10.0, 0.0), None), E::Elsewhere);
    let crossed = new(0, side(300.0, 10.0, 0.0), side(299.0, 10.0, 0.0));
    assert!(matches!(crossed, E::Crossed { .. }));
    for (setpoint_K, most_W, hysteresis_K) in [
        (300.0, 0.0, 0.0),
        (300.0, f64::NAN, 0.0),
        (-1.0, 10.0, 0.0),
        (300.0, 10.0, -1.0),
        (300.0, f64::INFINITY, 0.0),
    ] {
        let e = new(0, side(setpoint_K, most_W, hysteresis_K), None);
        assert!(matches!(e, E::Side { .. }), "{e}");
    }
}
