//! Panels in slices against series and closed solutions of the heat equation.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use crate::grids::Grid;
use crate::plain::{Plain, conductor, constant, source};
use dogdays::course::Course;
use dogdays::network::{Configuration, Schedule};
use dogdays::physics::conduction::{Slab, slices, slices_at_most};
use std::f64::consts::{PI, TAU};

/// A wall of 1 m2 cut by the panel rule, given temperatures joined to its first and last node by
/// conductances (W/K; 0: insulated).
fn wall(
    layers: &[Slab],
    h_for_slices: f64,
    front: (f64, Course),
    back: (f64, Course),
) -> (Plain, usize) {
    let nodes = slices_at_most(layers, h_for_slices, h_for_slices, 1000);
    let n = nodes.capacities_J_per_m2K.len();
    let mut conductors: Vec<_> = nodes
        .conductances_W_per_m2K
        .iter()
        .enumerate()
        .map(|(k, g)| conductor(k, k + 1, *g))
        .collect();
    conductors.push(conductor(0, n, front.0));
    conductors.push(conductor(n - 1, n + 1, back.0));
    let elements = Configuration {
        conductors,
        ..Configuration::default()
    };
    (
        Plain::new(
            &nodes.capacities_J_per_m2K,
            vec![front.1, back.1],
            vec![(0.0, elements)],
        ),
        n,
    )
}

fn slab(
    thickness_m: f64,
    conductivity_W_per_mK: f64,
    density_kg_per_m3: f64,
    heat_capacity_J_per_kgK: f64,
) -> Slab {
    Slab {
        thickness_m,
        conductivity_W_per_mK,
        density_kg_per_m3,
        heat_capacity_J_per_kgK,
    }
}

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Conduction");
    series(&mut c);
    examples(&mut c);
    semi_infinite(&mut c);
    steady(&mut c);
    c.list
}

/// A plate of 4 mm polycarbonate and thicker ones: insulated inside, air outside.
fn series(c: &mut Cases) {
    let g = Grid::read("wall_series.csv");
    for (bi, most) in [(0.16, 0.012), (1.0, 1e-3), (5.0, 1e-4)] {
        let l = 0.004;
        let s = slab(l, 0.2, 1200.0, 1200.0);
        let h = bi * 0.2 / l;
        let diffusivity = 0.2 / (1200.0 * 1200.0);
        let rows: Vec<usize> = (0..g.rows).filter(|i| g.column("Bi")[*i] == bi).collect();
        let (p, n) = wall(&[s], h, (0.0, constant(300.0)), (h, constant(300.0)));
        let end = 2.0 * l * l / diffusivity;
        let run = p.run(true, end, &vec![400.0; n], 1e-5);
        let mut y = vec![0.0; n];
        let pairs = rows
            .iter()
            .map(|i| {
                run.at(g.column("Fo")[*i] * l * l / diffusivity, &mut y);
                let node = if g.column("x_over_L")[*i] == 0.0 {
                    0
                } else {
                    n - 1
                };
                (g.column("theta")[*i], (y[node] - 300.0) / 100.0)
            })
            .collect();
        c.grid(
            format!("plane wall cooling, Bi = {bi}: both faces, Fo 0.1 to 2"),
            "theta",
            (Scipy, "series of 60 terms, roots by brentq"),
            pairs,
            Absolute(most),
            "slices of Biot 0.1, so 2, 10 and 50 of them: the error falls with their square",
        );
    }
}

fn examples(c: &mut Cases) {
    let s = slab(0.04, 63.9, 7832.0, 434.0);
    let (p, n) = wall(
        &[s],
        500.0,
        (0.0, constant(333.15)),
        (500.0, constant(333.15)),
    );
    let run = p.run(true, 480.0, &vec![253.15; n], 1e-5);
    let mut y = vec![0.0; n];
    run.at(480.0, &mut y);
    let here = (Incropera, "example 5.4, oil in a pipeline");
    let why = "one term of the series in the book, rounded; four slices in ours";
    c.number(
        "steel wall of 40 mm after 8 min: insulated face",
        "degC",
        here,
        42.9,
        y[0] - 273.15,
        Absolute(0.4),
        why,
    );
    c.number(
        "steel wall of 40 mm after 8 min: heated face",
        "degC",
        here,
        45.2,
        y[n - 1] - 273.15,
        Absolute(0.4),
        why,
    );
    c.number(
        "steel wall of 40 mm after 8 min: heat flow",
        "W/m2",
        here,
        7400.0,
        500.0 * (333.15 - y[n - 1]),
        Absolute(200.0),
        "as its temperature: 500 W/(m2 K) times 0.4 K",
    );
    // 4 mm polycarbonate: Bi = 0.16, so two slices.
    let nodes = slices(&[slab(0.004, 0.2, 1200.0, 1200.0)], 8.0, 8.0);
    let total: f64 = nodes.capacities_J_per_m2K.iter().sum();
    let resistance: f64 = nodes.conductances_W_per_m2K.iter().map(|g| 1.0 / g).sum();
    c.number(
        "slices keep the capacity of 4 mm polycarbonate",
        "J/(m2 K)",
        (Patankar, "half of a slice to either node"),
        5760.0,
        total,
        Relative(1e-12),
        "sums, rounding only",
    );
    c.number(
        "slices keep the resistance of 4 mm polycarbonate",
        "m2 K/W",
        (Patankar, "half of a slice to either node"),
        0.02,
        resistance,
        Relative(1e-12),
        "sums, rounding only",
    );
}

/// Depth enough to be endless: damping over a day, a cold spell, a constant flux.
fn semi_infinite(c: &mut Cases) {
    let day = 86_400.0;
    let (k, rho, cp) = (1.4, 2000.0, 1000.0);
    let alpha = k / (rho * cp);
    let w = TAU / day;
    // A sine from the start: its crest comes after a quarter of a day.
    let swing = Course::Swing {
        mean: 300.0,
        amplitude: 10.0,
        crest_s: 21_600.0,
    };
    // h 28 over 1 m cuts 200 slices of 5 mm.
    let (p, n) = wall(
        &[slab(1.0, k, rho, cp)],
        28.0,
        (1e6, swing),
        (0.0, constant(300.0)),
    );
    let run = p.run(true, 12.0 * day, &vec![300.0; n], 1e-4);
    let mut y = vec![0.0; n];
    for (node, depth) in [(20, 0.1), (40, 0.2)] {
        // First harmonic of the last day.
        let (mut a, mut b) = (0.0, 0.0);
        for m in 0..200 {
            let t = 11.0 * day + day * f64::from(m) / 200.0;
            run.at(t, &mut y);
            a += (y[node] - 300.0) * (w * t).sin() / 100.0;
            b += (y[node] - 300.0) * (w * t).cos() / 100.0;
        }
        let x = depth * (w / (2.0 * alpha)).sqrt();
        let here = (CarslawJaeger, "section 2.6: e^-x sin(wt - x)");
        c.number(
            format!("daily swing of 10 K, concrete, {depth} m deep: swing"),
            "K",
            here,
            10.0 * (-x).exp(),
            a.hypot(b),
            Relative(0.005),
            "slices of 5 mm; what is left of the start after 11 days",
        );
        c.number(
            format!("daily swing of 10 K, concrete, {depth} m deep: lag"),
            "h",
            here,
            x / w / 3600.0,
            (-b).atan2(a) / w / 3600.0,
            Absolute(0.05),
            "slices of 5 mm",
        );
    }
    let (p, n) = wall(
        &[slab(3.0, 0.52, 2050.0, 1840.0)],
        34.67,
        (1e6, constant(258.15)),
        (0.0, constant(293.15)),
    );
    let run = p.run(true, 60.0 * day, &vec![293.15; n], 1e-4);
    let mut y = vec![0.0; n];
    run.at(60.0 * day, &mut y);
    let dx = 3.0 / (n - 1) as f64;
    let k0 = y.iter().position(|t| *t > 273.15).expect("warm below");
    let frost = (k0 as f64 - (y[k0] - 273.15) / (y[k0] - y[k0 - 1])) * dx;
    c.number(
        "frost in soil, 20 degC, 60 days of -15 degC at its face: depth of 0 degC",
        "m",
        (Incropera, "example 5.6, water main"),
        0.68,
        frost,
        Absolute(0.006),
        "two digits printed",
    );
    // Constant flux into a face: T = 2 q sqrt(t/(pi k rho c)).
    let (mut p, n) = wall(
        &[slab(1.0, k, rho, cp)],
        28.0,
        (0.0, constant(300.0)),
        (0.0, constant(300.0)),
    );
    let mut elements = p.schedule.configurations()[0].clone();
    elements.sources = vec![source(0, 100.0)];
    p.schedule = Schedule::always(elements);
    let t = 6.0 * 3600.0;
    let run = p.run(true, t, &vec![300.0; n], 1e-5);
    let mut y = vec![0.0; n];
    run.at(t, &mut y);
    c.number(
        "100 W/m2 into concrete for 6 h: its face",
        "K",
        (CarslawJaeger, "section 2.9: 2 q sqrt(t/(pi k rho c))"),
        200.0 * (t / (PI * k * rho * cp)).sqrt(),
        y[0] - 300.0,
        Relative(0.003),
        "slices of 5 mm",
    );
    c.number(
        "100 W/m2 into concrete for 6 h: 0.1 m deep",
        "K",
        (CarslawJaeger, "section 2.9: 2 q/k sqrt(alpha t) ierfc"),
        200.0 / k * (alpha * t).sqrt() * ierfc(0.1 / (2.0 * (alpha * t).sqrt())),
        y[20] - 300.0,
        Relative(0.003),
        "slices of 5 mm; series of erfc to 1e-7",
    );
}

/// Integral of erfc: e^(-x^2)/sqrt(pi) - x erfc x, with erf by its power series.
fn ierfc(x: f64) -> f64 {
    let (mut term, mut sum) = (x, x);
    for k in 1..40 {
        term *= -x * x / f64::from(k);
        sum += term / f64::from(2 * k + 1);
    }
    (-x * x).exp() / PI.sqrt() - x * (1.0 - 2.0 / PI.sqrt() * sum)
}

fn steady(c: &mut Cases) {
    // Plaster, foam, brick between air at 20 and 0 degC: 0.13 + 0.0125/0.25 + 0.1/0.04 + 0.1/0.7 + 0.04.
    let layers = [
        slab(0.0125, 0.25, 900.0, 1000.0),
        slab(0.1, 0.04, 30.0, 1400.0),
        slab(0.1, 0.7, 1700.0, 800.0),
    ];
    let (p, n) = wall(
        &layers,
        7.7,
        (1.0 / 0.13, constant(293.15)),
        (25.0, constant(273.15)),
    );
    let y = p.steady(&vec![283.15; n]);
    let q = (293.15 - y[0]) / 0.13;
    let r = 0.13 + 0.05 + 2.5 + 0.1 / 0.7 + 0.04;
    c.number(
        "layered wall: heat flow at 20 K",
        "W/m2",
        (Iso6946, "sum of resistances, 0.13 and 0.04 at the faces"),
        20.0 / r,
        q,
        Relative(1e-9),
        "closed form, rounding only",
    );
    c.number(
        "layered wall: inner face",
        "degC",
        (Iso6946, "sum of resistances"),
        20.0 - 0.13 * 20.0 / r,
        y[0] - 273.15,
        Absolute(1e-9),
        "closed form, rounding only",
    );
}
