//! Controls exactly on their edges: where what holds a setpoint is nothing, or all there is.

use super::*;
use crate::course::Course;
use crate::integrate::{IntegratorKind, Options, Trajectory};
use crate::physics::radiation::STEFAN_BOLTZMANN;

const HOUR_S: f64 = 3600.0;
const ROOM_K: f64 = 300.0;
const BOTH: [IntegratorKind; 2] = [IntegratorKind::Rosenbrock, IntegratorKind::Explicit];

fn side(setpoint_K: f64, most_W: f64) -> Option<Side> {
    Some(Side {
        setpoint_K,
        most_W,
        hysteresis_K: 0.0,
    })
}

/// Blocks of 500 J/K with 2 W/K to one room, each with its heating and cooling setpoint and 100 W of
/// both; everything begins at 300 K.
struct Blocks {
    network: Network,
    schedule: Schedule,
    heat: LedgerId,
}

impl Blocks {
    fn new(room: Course, setpoints_K: &[(Option<f64>, Option<f64>)], inside_W: f64) -> Self {
        let mut b = Builder::new(ROOM_K, 101_325.0);
        let nodes: Vec<Index> = (0..setpoints_K.len())
            .map(|k| b.node(Node::new(format!("block {k}"), 500.0)))
            .collect();
        let heat = b.ledger("heat", Direction::In);
        let mut network = b.finish();
        let room = network.given("room", room);
        let mut c = Configuration::default();
        for (node, (heating, cooling)) in nodes.iter().zip(setpoints_K) {
            c.conductors.push(Conductor::new(*node, room, 2.0));
            let both = [heating, cooling].map(|s| s.and_then(|s| side(s, 100.0)));
            c.controls
                .push(Control::new(*node, both[0], both[1], heat).unwrap());
            if inside_W != 0.0 {
                let power = Course::Constant(inside_W);
                c.sources.push(Source::new(*node, power, INTERNAL));
            }
        }
        Self {
            network,
            schedule: Schedule::always(c),
            heat,
        }
    }

    fn run(&self, hours: f64, integrator: IntegratorKind) -> Trajectory {
        let options = Options {
            tolerance: 1e-5,
            ..Options::default()
        };
        let end_s = hours * HOUR_S;
        simulate(&self.network, &self.schedule, end_s, integrator, &options)
            .unwrap_or_else(|e| panic!("{integrator:?}: {e}"))
    }

    fn at(&self, course: &Trajectory, block: usize, hours: f64) -> f64 {
        Reading::new(&self.network, &self.schedule, course).temperature_K(block, hours * HOUR_S)
    }
}

/// In a room exactly as warm as the setpoint nothing has to be done, and nothing happens: one heater, several,
/// and a control that heats to and cools from the very same temperature.
#[test]
fn a_room_as_warm_as_the_setpoint_asks_for_nothing() {
    let one = [(Some(ROOM_K), None)];
    let several = [
        (Some(ROOM_K), None),
        (Some(ROOM_K), None),
        (None, Some(ROOM_K)),
        (Some(ROOM_K), Some(ROOM_K)),
    ];
    for setpoints in [&one[..], &several] {
        for integrator in BOTH {
            let blocks = Blocks::new(Course::Constant(ROOM_K), setpoints, 0.0);
            let course = blocks.run(5.0, integrator);
            assert!(course.effort.events <= 8, "{} events", course.effort.events);
            for k in 0..setpoints.len() {
                let rise = blocks.at(&course, k, 5.0) - ROOM_K;
                assert!(rise.abs() < 1e-5, "{integrator:?}, block {k}: {rise} K");
            }
            let reading = Reading::new(&blocks.network, &blocks.schedule, &course);
            assert!(reading.ledger_J(blocks.heat).unwrap().abs() < 0.1);
        }
    }
}

/// A room that swings by 5 K about 300 K, with a setpoint met exactly at the start: on the way up, on the
/// way down, at the crest, at the trough. By hand: where 2 W/K and 500 J/K lag by 250 s, a heater works while
/// the room is below the setpoint, which in a day is half of it, all of it or nothing.
#[test]
fn a_swinging_room_may_begin_on_the_setpoint() {
    for (crest_h, setpoint_K, works) in [
        (6.0, 300.0, 0.5),
        (18.0, 300.0, 0.5),
        (0.0, 305.0, 1.0),
        (12.0, 295.0, 0.0),
    ] {
        let swing = Course::Swing {
            mean: 300.0,
            amplitude: 5.0,
            crest_s: crest_h * HOUR_S,
        };
        for integrator in BOTH {
            let mut blocks = Blocks::new(
                swing.clone(),
                &[(Some(setpoint_K), None), (Some(setpoint_K), None)],
                0.0,
            );
            for block in 0..2 {
                blocks.network.start_at(block, setpoint_K);
            }
            let course = blocks.run(24.0, integrator);
            assert!(course.effort.events <= 8, "{} events", course.effort.events);
            let lowest = (0..240)
                .map(|k| blocks.at(&course, 0, f64::from(k) / 10.0))
                .fold(f64::INFINITY, f64::min);
            assert!(lowest > setpoint_K - 1e-4, "{lowest}");
            // 2 W/K over the mean of the swing's colder part, for as long as it lasts, in both blocks: a half
            // sine's mean is 2/pi of its height. The lag moves it by less than a hundredth.
            let below_K = if works == 0.5 {
                5.0 * 2.0 / std::f64::consts::PI
            } else {
                setpoint_K - 300.0
            };
            let by_hand_J = 2.0 * 2.0 * below_K * works * 24.0 * HOUR_S;
            let reading = Reading::new(&blocks.network, &blocks.schedule, &course);
            let ours_J = reading.ledger_J(blocks.heat).unwrap();
            assert!(
                (ours_J - by_hand_J).abs() <= 0.01 * by_hand_J + 1.0,
                "{integrator:?}, crest at {crest_h} h: {ours_J} J, by hand {by_hand_J} J"
            );
        }
    }
}

/// A heater whose power is exactly what its setpoint takes: 100 W over 2 W/K are 50 K. And one of which 100 W
/// from elsewhere take all work: it gives exactly nothing.
#[test]
fn a_heater_may_need_exactly_all_or_nothing() {
    for integrator in BOTH {
        for (inside_W, gives_W) in [(0.0, 100.0), (100.0, 0.0)] {
            let mut blocks = Blocks::new(
                Course::Constant(ROOM_K),
                &[(Some(ROOM_K + 50.0), None)],
                inside_W,
            );
            blocks.network.start_at(0, ROOM_K + 50.0);
            let course = blocks.run(10.0, integrator);
            assert!(course.effort.events <= 4, "{} events", course.effort.events);
            let short = ROOM_K + 50.0 - blocks.at(&course, 0, 10.0);
            assert!(short.abs() < 1e-4, "{short} K");
            let reading = Reading::new(&blocks.network, &blocks.schedule, &course);
            let given_W = reading.ledger_J(blocks.heat).unwrap() / (10.0 * HOUR_S);
            assert!((given_W - gives_W).abs() < 1e-3, "{given_W} W");
        }
    }
}

/// A hundred plates that each see only the room: each by hand C dT/dt = -A sigma (T^4 - T_room^4), whatever
/// their number.
#[test]
fn any_number_of_members_radiate() {
    for count in [2, 16, 17, 32, 33, 64, 65, 128] {
        let mut b = Builder::new(ROOM_K, 101_325.0);
        let plates: Vec<Index> = (1..count)
            .map(|k| b.node(Node::new(format!("plate {k}"), 1e3).starting_at(350.0)))
            .collect();
        let mut network = b.finish();
        let room = network.given("room", Course::Constant(ROOM_K));
        let member = |point| Member {
            point,
            ledger: INTERNAL,
        };
        let members = plates.iter().copied().chain([room]).map(member).collect();
        let mut areas = vec![0.0; count * count];
        for k in 0..count - 1 {
            areas[k * count + count - 1] = 0.1;
            areas[(count - 1) * count + k] = 0.1;
        }
        let enclosure = Enclosure::new(members, areas, None).unwrap();
        let schedule = Schedule::always(Configuration {
            enclosures: vec![enclosure.into()],
            ..Configuration::default()
        });
        let options = Options {
            tolerance: 1e-6,
            ..Options::default()
        };
        let course = simulate(
            &network,
            &schedule,
            600.0,
            IntegratorKind::Rosenbrock,
            &options,
        )
        .unwrap();
        let reading = Reading::new(&network, &schedule, &course);
        // Euler's steps of a tenth of a second leave less than 1e-3 K.
        let mut by_hand = 350.0_f64;
        for _ in 0..6000 {
            by_hand -= 0.1 * 0.1 * STEFAN_BOLTZMANN * (by_hand.powi(4) - ROOM_K.powi(4)) / 1e3;
        }
        for plate in [plates[0], plates[count - 2]] {
            let ours = reading.temperature_K(plate, 600.0);
            assert!((ours - by_hand).abs() < 2e-3, "{count}: {ours}, {by_hand}");
        }
    }
}

/// A chain of two nodes to the room, 4 and 2 W/K: by hand a watt at the near one warms both by 1/2 K, a watt at
/// the far one itself by 1/2 + 1/4 K. With the near one held, it keeps from the far one what it gets.
#[test]
fn answers_to_heat_are_those_of_the_resistances() {
    let mut b = Builder::new(ROOM_K, 101_325.0);
    let [far, near] = ["far", "near"].map(|name| b.node(Node::new(name, 100.0)));
    let heat = b.ledger("heat", Direction::In);
    let mut network = b.finish();
    let room = network.given("room", Course::Constant(ROOM_K));
    let free = Configuration {
        conductors: vec![
            Conductor::new(far, near, 4.0),
            Conductor::new(near, room, 2.0),
        ],
        ..Configuration::default()
    };
    let held = Configuration {
        controls: vec![Control::new(near, side(ROOM_K + 10.0, 1e3), None, heat).unwrap()],
        ..free.clone()
    };
    for (c, point, by_hand) in [
        (&free, far, [0.75, 0.5]),
        (&free, near, [0.5, 0.5]),
        (&free, room, [0.0, 0.0]),
        (&held, far, [0.25, 0.0]),
        (&held, near, [0.0, 0.0]),
    ] {
        let schedule = Schedule::always(c.clone());
        let mut system = NetworkSystem::new(&network, &schedule).unwrap();
        let ours = system
            .sensitivities_K_per_W(0.0, &[10.0, 10.0], point)
            .unwrap();
        for (ours, by_hand) in ours.iter().zip(by_hand) {
            assert!(
                (ours - by_hand).abs() < 1e-12,
                "{point}: {ours}, by hand {by_hand}"
            );
        }
    }
}
