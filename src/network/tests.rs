//! Small networks against balances by hand, and slopes against differences.

use super::*;
use crate::course::Course;
use crate::physics::GRAVITY_M_PER_S2;
use crate::physics::air::AirTable;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::openings::horizontal_exchange_m3_per_s;

const PRESSURE_PA: f64 = 101_325.0;
/// The ledger that is not internal.
const OUT: LedgerId = LedgerId(1);
/// The growing body.
const BODY: BodyId = BodyId(0);

/// Nodes of 1 J/K, a room, a ledger, and a body at node 0.
fn network(nodes: usize) -> Network {
    let mut b = Builder::new(293.15, PRESSURE_PA);
    for k in 0..nodes {
        b.node(Node::new(format!("node {k}"), 1.0));
    }
    assert_eq!(b.ledger("out", Direction::Out), OUT);
    assert_eq!(b.growing(0, Course::Constant(1.0)), BODY);
    let mut network = b.finish();
    network.given("room", Course::Constant(293.15));
    network
}

fn moment<'a>(network: &'a Network, t: &'a [f64], shares: &'a [(f64, f64)]) -> Moment<'a> {
    Moment {
        t_s: 0.0,
        t,
        shares,
        air: network.air(),
        reference_K: network.reference_K(),
    }
}

/// Gains of each point, then what is booked in the ledger that is not internal, W; `f` is the share of the
/// body that is there.
fn gains_W(c: &Configuration, t: &[f64], f: f64, modes: &[Mode]) -> Vec<f64> {
    let network = network(t.len() - 1);
    let mut s = Scratch::new(&network, c.controls.len());
    c.balance(&moment(&network, t, &[(f, 0.0)]), modes, &mut s);
    let mut out = s.gains;
    out.push(s.ledgers[OUT.0]);
    out
}

#[track_caller]
fn near(ours: f64, by_hand: f64, relative: f64) {
    let off = (ours - by_hand).abs();
    assert!(off <= relative * by_hand.abs(), "{ours}, by hand {by_hand}");
}

fn density(t_K: f64) -> f64 {
    PRESSURE_PA / (GAS_CONSTANT_J_PER_KGK * t_K)
}

/// Two layers of 0.2 and 0.4 m and openings of 20 cm2 at given heights.
fn two_layers(heights_m: &[f64]) -> AirPaths {
    let opening = |height_m: &f64| Opening {
        height_m: *height_m,
        area_m2: 2e-3,
        discharge: 0.6,
        layer: usize::from(*height_m > 0.2),
    };
    AirPaths {
        layers: vec![0, 1],
        tops_m: vec![0.2, 0.6],
        room: 2,
        pressure_Pa: PRESSURE_PA,
        openings: heights_m.iter().map(opening).collect(),
        draughts: vec![],
        open_top: None,
        inner_m3_per_s: 0.0,
        short_circuit: 0.0,
        led_to: None,
        ledger: OUT,
    }
}

fn blown(paths: AirPaths, t: &[f64]) -> Vec<f64> {
    let c = Configuration {
        air_paths: vec![paths],
        ..Configuration::default()
    };
    gains_W(&c, t, 1.0, &[])
}

/// Each layer gains m cp times the difference to where its air comes from, whichever way the air moves.
#[test]
fn a_draught_carries_heat_from_layer_to_layer() {
    let t = [311.0, 318.0, 300.0];
    let cp = HEAT_CAPACITY_J_PER_KGK;
    for (layer, outward_m3_per_s, height_m, source, way) in [
        // In at the top, down, out at the bottom.
        (0, 0.01, 0.59, 0, [1, 0]),
        // In at the bottom, up, out at the top.
        (1, 0.01, 0.01, 1, [0, 1]),
        // Blown in at the top, down, out at the bottom.
        (1, -0.01, 0.01, 2, [1, 0]),
        // Blown in at the bottom, up, out at the top.
        (0, -0.01, 0.59, 2, [0, 1]),
    ] {
        let mut paths = two_layers(&[height_m]);
        let draught = Draught {
            layer,
            outward_m3_per_s,
        };
        paths.draughts.push(draught);
        let ours = blown(paths, &t);
        let flow = 0.01 * density(t[source]) * cp;
        let [first, last] = way;
        near(ours[first], flow * (t[2] - t[first]), 1e-6);
        near(ours[last], flow * (t[first] - t[last]), 1e-6);
        near(ours[2], flow * (t[last] - t[2]), 1e-6);
        near(ours[3], -ours[2], 1e-12);
    }
}

/// Through an open top the layer below loses what the room gains.
#[test]
fn an_open_top_gives_the_room_what_it_takes() {
    let t = [310.0, 320.0, 300.0];
    let mut paths = two_layers(&[]);
    paths.open_top = Some((0.1, 0.01));
    let ours = blown(paths, &t);
    let flow = horizontal_exchange_m3_per_s::<f64>(0.1, 0.01, t[1], t[2]) * density(310.0);
    let by_hand = flow * HEAT_CAPACITY_J_PER_KGK * 20.0;
    assert!(by_hand > 1.0);
    near(ours[1], -by_hand, 1e-12);
    near(ours[2], by_hand, 1e-12);
    near(ours[3], -by_hand, 1e-12);
    assert_eq!(ours[0], 0.0);
}

/// 25 W set free in the bottom one of two layers of 0.3 m2 under a height of 0.7 m leave through the upper
/// one, which a conductance of 5 W/K holds 5 K above the room: by hand, 25 W need 0.04 K and 25 W over
/// density times heat capacity times 0.3 m2 times 8 (g 0.7/T)^(1/2) m/s, and nothing more.
#[test]
fn heat_below_leaves_an_inversion_of_hundredths() {
    let room_K = 300.0;
    let upper_K = room_K + 5.0;
    let speed = 8.0 * f64::sqrt(9.80665 * 0.7 / upper_K);
    let inversion_K = 0.04 + 25.0 / (density(upper_K) * HEAT_CAPACITY_J_PER_KGK * 0.3 * speed);
    assert!(inversion_K < 0.1 && inversion_K > 0.08);
    let c = Configuration {
        layerings: vec![layered(0.0)],
        conductors: vec![Conductor::new(1, 2, 5.0)],
        sources: vec![Source::new(0, Course::Constant(25.0), INTERNAL)],
        ..Configuration::default()
    };
    let gains = gains_W(&c, &[upper_K + inversion_K, upper_K, room_K], 1.0, &[]);
    // Density is taken at the mean of both layers: 0.05 K of 305 K.
    assert!(gains[0].abs() < 0.01 && gains[1].abs() < 0.01, "{gains:?}");
    // Warmer air on top stays there, but for what the gantry stirs.
    let c = Configuration {
        layerings: vec![layered(1e-3)],
        ..Configuration::default()
    };
    let gains = gains_W(&c, &[upper_K, upper_K + 1.0, room_K], 1.0, &[]);
    let stirred = 1e-3 * density(upper_K + 0.5) * HEAT_CAPACITY_J_PER_KGK;
    near(gains[0], stirred, 1e-12);
    near(gains[1], -stirred, 1e-12);
}

/// A plume carries its heat from the layer it rises from to the top one and entrains what it passes; what
/// lies below knows nothing of it.
#[test]
fn a_plume_begins_where_its_source_is() {
    let t = [300.0, 302.0, 305.0, 480.0, 295.0];
    let mut plume = Plume::new(vec![1, 2], vec![0.2], 5e-4).unwrap();
    plume.losses.push(Conductor::new(3, 1, 0.1));
    let c = Configuration {
        plumes: vec![plume],
        ..Configuration::default()
    };
    let gains = gains_W(&c, &t, 1.0, &[]);
    // 0.1 W/K at 178 K; half a watt of it fades. The flow: 5e-3 P^(1/3) (z + z0)^(5/3), z0 2.255 diameters.
    let power_W: f64 = 17.8;
    let rising_W = power_W * power_W / (power_W + 0.5);
    let origin_m = (4.0 * 5e-4 / std::f64::consts::PI).sqrt() / (2.0 * 12.5f64.to_radians().tan());
    let flow = 5e-3 * rising_W.cbrt() * (0.2 + origin_m).powf(5.0 / 3.0);
    let entrained_W = flow * density(303.5) * HEAT_CAPACITY_J_PER_KGK * 3.0;
    assert!(entrained_W > 1.0);
    assert_eq!((gains[0], gains[4]), (0.0, 0.0));
    near(gains[3], -power_W, 1e-12);
    near(gains[1], power_W - rising_W + entrained_W, 1e-6);
    near(gains[2], rising_W - entrained_W, 1e-6);
}

fn layered(stirring_m3_per_s: f64) -> Layering {
    Layering {
        layers: vec![0, 1],
        section_m2: 0.3,
        height_m: 0.7,
        stirring_m3_per_s,
    }
}

/// Equal openings: the neutral height lies half way between them, the pressure rises from it by the
/// difference of densities, and what comes in is the orifice equation at half the stack.
#[test]
fn pressures_and_inflow_of_a_stack() {
    let (warm, room) = (325.0, 295.0);
    let paths = two_layers(&[0.1, 0.5]);
    let lighter = density(room) - density(warm);
    let per_m = lighter * GRAVITY_M_PER_S2;
    let state = paths.state(&[warm, warm, room]);
    near(state.floor_Pa, -0.3 * per_m, 1e-6);
    near(state.top_Pa, 0.3 * per_m, 1e-6);
    let mean = 0.5 * (density(room) + density(warm));
    // The root is rounded below 2e-3 Pa; at 0.2 Pa that takes (2e-3/0.2)^2/4 off.
    near(
        state.inflow_kg_per_s,
        0.6 * 2e-3 * (2.0 * mean * 0.2 * per_m).sqrt(),
        5e-5,
    );

    // Layers of their own temperatures: the pressure rises by each layer's own lightness.
    let (low, high) = (305.0, 335.0);
    let state = paths.state(&[low, high, room]);
    let rise = 0.2 * (density(room) - density(low)) + 0.4 * (density(room) - density(high));
    near(
        state.top_Pa - state.floor_Pa,
        GRAVITY_M_PER_S2 * rise,
        1e-12,
    );
}

/// A strong fan: all that it blows in is all that comes in, and all that it takes comes in elsewhere.
#[test]
fn what_a_fan_moves_comes_in() {
    let t = [311.0, 318.0, 300.0];
    for (outward_m3_per_s, source) in [(-0.02, 2), (0.02, 1)] {
        let mut paths = two_layers(&[0.1, 0.5]);
        let draught = Draught {
            layer: 1,
            outward_m3_per_s,
        };
        paths.draughts.push(draught);
        near(
            paths.state(&t).inflow_kg_per_s,
            0.02 * density(t[source]),
            1e-6,
        );
    }
}

/// A step tried too far may ask for the balance of air at temperatures that no air has. It is given up,
/// and what is asked next must not remember it.
#[test]
fn a_balance_without_an_answer_is_forgotten() {
    let network = network(2);
    let c = Configuration {
        air_paths: vec![two_layers(&[0.1, 0.5])],
        ..Configuration::default()
    };
    let sane = [311.0, 318.0, 300.0];
    let mut s = Scratch::new(&network, 0);
    for absurd in [[872.0, -200.0, 300.0], [0.0, 318.0, 300.0]] {
        c.balance(&moment(&network, &absurd, &[(1.0, 0.0)]), &[], &mut s);
        c.balance(&moment(&network, &sane, &[(1.0, 0.0)]), &[], &mut s);
        let by_itself = gains_W(&c, &sane, 1.0, &[]);
        for (ours, fresh) in s.gains.iter().zip(&by_itself) {
            near(*ours, *fresh, 1e-6);
        }
    }
}

/// Heat is neither made nor lost: what the nodes gain together is what is booked. Slopes with every
/// temperature, and rates with growth, against central differences of the balance.
#[test]
fn each_element_keeps_heat_and_knows_its_slopes() {
    let air = AirTable::new(PRESSURE_PA);
    let growing = Area::growing(0.02, 0.1, BODY);
    let face = crate::physics::convection::ConvectiveFace {
        face: crate::physics::convection::Face::Vertical,
        length_m: 0.3,
        speed_m_per_s: 0.1,
        forced_length_m: 0.3,
        multiplier: 1.0,
    };
    let contact = Contact {
        body: 1,
        base: 0,
        grows: BODY,
        area_m2: 0.02,
        contact_W_per_m2K: 100.0,
        height_m: 0.15,
        conductivity_W_per_mK: 0.2,
    };
    let member = |point, ledger| Member { point, ledger };
    let none = Configuration::default;
    let exact = 1e-6;
    // What stands on the diagonal, a face's view of itself, is left out.
    let four = Enclosure::new(
        vec![
            member(0, INTERNAL),
            member(1, INTERNAL),
            member(2, INTERNAL),
            member(3, OUT),
        ],
        vec![
            0.7, 0.1, 0.2, 0.3, 0.1, 0.0, 0.4, 0.5, 0.2, 0.4, 0.9, 0.6, 0.3, 0.5, 0.6, 0.0,
        ],
        Some((1, growing)),
    );
    let two = Enclosure::new(
        vec![member(0, INTERNAL), member(3, OUT)],
        vec![0.0, 0.3, 0.3, 0.0],
        None,
    );
    let warm = Convector::new(2, 0, growing, face, INTERNAL, &air);
    let mut plume = Plume::new(vec![0, 1], vec![0.3], 0.1).unwrap();
    plume.faces.push(warm);
    plume.losses.push(Conductor::new(2, 0, 0.4));
    plume.multiplier = 0.9;
    let rod = elements::stream::Rod {
        feed_kg_per_s: 1e-5,
        heat_capacity_J_per_kgK: 2000.0,
        density_kg_per_m3: 1200.0,
        conductivity_W_per_mK: 0.2,
        diameter_m: 1.75e-3,
        stands_s: 30.0,
    };
    let in_air = elements::stream::InAir {
        rod_K: 313.0,
        air_K: 308.0,
        emissivity: 0.9,
    };
    let mut stream = Stream::new(rod, in_air, &air, (3, 2, 1), OUT);
    stream.pass("tube", 0, 0.4, None);
    stream.pass("gear", 1, 0.015, Some(300.0));
    let holding = Side {
        setpoint_K: 333.0,
        most_W: 200.0,
        hysteresis_K: 0.0,
    };
    let cases: [(&str, Configuration, f64); 10] = [
        (
            "conductor and radiator",
            Configuration {
                conductors: vec![Conductor::new(0, 3, 1.3).booked(OUT)],
                radiators: vec![Radiator::new(1, 3, 0.2).booked(OUT)],
                ..none()
            },
            exact,
        ),
        (
            "contact",
            Configuration {
                contacts: vec![contact.clone()],
                ..none()
            },
            exact,
        ),
        (
            "enclosure",
            Configuration {
                enclosures: vec![four.unwrap().into()],
                ..none()
            },
            exact,
        ),
        (
            "enclosure that does not grow",
            Configuration {
                enclosures: vec![two.unwrap().into()],
                ..none()
            },
            exact,
        ),
        (
            "convector",
            Configuration {
                convectors: vec![Convector::new(0, 3, growing, face, OUT, &air)],
                ..none()
            },
            // Its tables' slopes are good to a thousandth, see their own test.
            2e-3,
        ),
        (
            "plume",
            Configuration {
                plumes: vec![plume],
                ..none()
            },
            2e-3,
        ),
        (
            "layers",
            Configuration {
                layerings: vec![layered(1e-3)],
                ..none()
            },
            exact,
        ),
        (
            "stream and source",
            Configuration {
                streams: vec![stream],
                sources: vec![Source {
                    per_K: 4e-3,
                    ..Source::new(0, Course::Constant(5.0), OUT)
                }],
                ..none()
            },
            exact,
        ),
        (
            "air paths",
            Configuration {
                air_paths: vec![AirPaths {
                    room: 3,
                    ..two_layers(&[0.1, 0.5])
                }],
                ..none()
            },
            // One-sided differences of a root.
            2e-3,
        ),
        (
            "control that holds",
            Configuration {
                conductors: vec![Conductor::new(0, 1, 1.3)],
                contacts: vec![contact.clone()],
                controls: vec![Control::new(0, Some(holding), None, OUT).unwrap()],
                ..none()
            },
            exact,
        ),
    ];
    let (f, f_rate) = (0.4, 1e-3);
    let modes = [Mode::Hold(Way::Heat)];
    for (name, c, allowed) in cases {
        let network = network(3);
        let t = vec![333.0, 318.0, 341.0, 297.0];
        let mut s = Scratch::new(&network, c.controls.len());
        let shares = [(f, f_rate)];
        c.slopes(&moment(&network, &t, &shares), &modes, &mut s);
        let gains = gains_W(&c, &t, f, &modes);
        let together: f64 = gains[..3].iter().sum();
        let most = gains.iter().fold(0.0_f64, |m, q| m.max(q.abs()));
        assert!(most > 0.01, "{name}: {gains:?}");
        assert!(
            (together - gains[4]).abs() < 1e-12 * most,
            "{name}: {gains:?}"
        );
        // What moves inside is nobody's entry.
        let inside = &s.ledger_slopes[..t.len()];
        assert!(
            inside.iter().chain([&s.ledger_rates[0]]).all(|v| *v == 0.0),
            "{name}"
        );
        let differ = |up: Vec<f64>, down: Vec<f64>, e: f64| -> Vec<f64> {
            up.iter()
                .zip(&down)
                .map(|(a, b)| (a - b) / (2.0 * e))
                .collect()
        };
        let compare = |what: &str, ours: Vec<f64>, by_hand: Vec<f64>| {
            let size = by_hand.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
            for (k, (a, b)) in ours.iter().zip(&by_hand).enumerate() {
                let off = (a - b).abs();
                assert!(
                    off <= allowed * size + 1e-12,
                    "{name}, {what}, {k}: {a}, by hand {b}"
                );
            }
        };
        let points = t.len();
        for j in 0..points {
            let moved = |e: f64| {
                let mut t = t.clone();
                t[j] += e;
                gains_W(&c, &t, f, &modes)
            };
            let mut ours: Vec<f64> = (0..points).map(|i| s.gain_slopes[i * points + j]).collect();
            ours.push(s.ledger_slopes[OUT.0 * points + j]);
            compare(
                &format!("by T{j}"),
                ours,
                differ(moved(1e-2), moved(-1e-2), 1e-2),
            );
        }
        let grown = |e: f64| gains_W(&c, &t, f + e, &modes);
        let by_f = differ(grown(1e-4), grown(-1e-4), 1e-4);
        let mut ours = s.gain_rates.clone();
        ours.push(s.ledger_rates[OUT.0]);
        compare("by growth", ours, by_f.iter().map(|v| v * f_rate).collect());
    }
}
