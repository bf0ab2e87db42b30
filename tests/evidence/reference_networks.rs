//! The networks that other solvers integrate too, and the linear one as a circuit.

use crate::plain::{Plain, conductor, radiator, source, vertical};
use dogdays::course::{Course, Points};
use dogdays::network::Configuration;
use std::fmt::Write;

/// Start of both, K.
pub const START_K: f64 = 304.15;
const DAY_S: f64 = 86_400.0;
/// When the linear network's source works, s.
pub const SOURCE_S: (f64, f64) = (3600.0, 18_000.0);
/// End of the linear network's run, s.
pub const LINEAR_END_S: f64 = 28_800.0;

/// A heated plate, the air over it, a wall of two nodes, and a room that swings by the day:
/// natural convection, radiation, conduction and a flow of air.
pub fn a_box() -> Plain {
    let (plate, air, inner, outer, room) = (0, 1, 2, 3, 4);
    // A sine from the start: its crest comes after a quarter of a day.
    let swing = Course::Swing {
        mean: START_K,
        amplitude: 3.0,
        crest_s: 0.25 * DAY_S,
    };
    let elements = Configuration {
        conductors: vec![conductor(inner, outer, 75.0), conductor(air, room, 1.2)],
        radiators: vec![radiator(plate, inner, 0.15), radiator(outer, room, 1.40)],
        convectors: vec![
            vertical(plate, air, 0.20, 0.3),
            vertical(inner, air, 1.50, 0.6),
            vertical(outer, room, 1.50, 0.6),
        ],
        sources: vec![source(plate, 60.0)],
        ..Configuration::default()
    };
    Plain::new(
        &[2250.0, 180.0, 4000.0, 4000.0],
        vec![swing],
        vec![(0.0, elements)],
    )
}

/// Capacities of the linear network, J/K.
const CAPACITIES: [f64; 5] = [180.0, 2250.0, 4000.0, 4000.0, 8000.0];
/// Its conductances, W/K; point 5 is the room, which warms by 1 K an hour.
const LINKS: [(usize, usize, f64); 7] = [
    (0, 1, 2.0),
    (0, 2, 6.0),
    (2, 3, 75.0),
    (1, 2, 1.0),
    (0, 4, 5.0),
    (3, 5, 9.0),
    (0, 5, 1.0),
];
/// Power of its source, W, in node 1.
const POWER_W: f64 = 80.0;

/// Five nodes and seven conductances, with a source that works from 1 h to 5 h.
pub fn linear() -> Plain {
    let elements = |power_W: f64| Configuration {
        conductors: LINKS
            .iter()
            .map(|(a, b, g)| conductor(*a, *b, *g))
            .collect(),
        sources: vec![source(1, power_W)],
        ..Configuration::default()
    };
    let hours = LINEAR_END_S / 3600.0;
    let warming =
        Points::new(vec![0.0, LINEAR_END_S], vec![START_K, START_K + hours]).expect("rising times");
    Plain::new(
        &CAPACITIES,
        vec![Course::series(warming.into())],
        vec![
            (0.0, elements(0.0)),
            (SOURCE_S.0, elements(POWER_W)),
            (SOURCE_S.1, elements(0.0)),
        ],
    )
}

/// The linear network as a circuit: volts are kelvins above the start, amperes watts, farads J/K.
///
/// Temperatures count from the start, so that the circuit simulator's relative tolerance is one of
/// a few kelvin and not of 300.
#[allow(dead_code)] // The example exports it; the tests read what came of it.
pub fn netlist() -> String {
    let mut s = String::from("linear thermal network: 1 V = 1 K above the start, 1 A = 1 W\n");
    let point = |k: usize| {
        if k < CAPACITIES.len() {
            format!("n{k}")
        } else {
            "room".to_owned()
        }
    };
    for (k, c) in CAPACITIES.iter().enumerate() {
        let _ = writeln!(s, "C{k} n{k} 0 {c} ic=0");
    }
    for (k, (a, b, g)) in LINKS.iter().enumerate() {
        let _ = writeln!(s, "R{k} {} {} {:.17e}", point(*a), point(*b), 1.0 / g);
    }
    let end = LINEAR_END_S;
    let _ = writeln!(s, "Vroom room 0 pwl(0 0 {end} {})", end / 3600.0);
    let ((on, off), edge) = (SOURCE_S, 1e-3);
    let _ = writeln!(
        s,
        "Ibed 0 n1 pwl(0 0 {on} 0 {} {POWER_W} {off} {POWER_W} {} 0)",
        on + edge,
        off + edge
    );
    let _ = writeln!(
        s,
        ".options reltol=1e-7 vntol=1e-9 abstol=1e-9 chgtol=1e-9 method=gear"
    );
    let _ = writeln!(s, ".tran 10 {end} 0 10 uic");
    let nodes: Vec<String> = (0..CAPACITIES.len()).map(|k| format!("v(n{k})")).collect();
    let _ = writeln!(
        s,
        ".control\nset numdgt=12\nrun\nwrdata out.txt {}\n.endc\n.end",
        nodes.join(" ")
    );
    s
}
