//! Networks whose course is known exactly, or that a circuit simulator solves too.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use crate::grids::Grid;
use crate::plain::{Plain, conductor, constant, radiator, source};
use crate::reference_networks::{LINEAR_END_S, START_K, linear};
use dogdays::network::elements::source::COPPER_PER_K;
use dogdays::network::{Configuration, INTERNAL, Source};
use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;

const STEP: &str = "tolerance of the integrator, 1e-6 K a step, and of its dense output";

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Networks with known solutions");
    lumped(&mut c);
    two_nodes(&mut c);
    thermocouple(&mut c);
    fins(&mut c);
    let g = Grid::read("network_linear_ngspice.csv");
    let p = linear();
    let run = p.run(true, LINEAR_END_S, &[START_K; 5], 1e-6);
    let mut y = [0.0; 5];
    let mut pairs = Vec::new();
    for i in 1..g.rows {
        run.at(g.column("time_s")[i], &mut y);
        pairs.extend((0..5).map(|k| (g.column(&format!("T{k}_K"))[i], y[k])));
    }
    c.grid(
        "five nodes with a source and a rising room over 8 h, solved as a circuit",
        "K",
        (Ngspice, "gear, relative tolerance 1e-7, steps of 10 s"),
        pairs,
        Absolute(0.002),
        "the simulator's second-order method at steps of 10 s",
    );
    c.list
}

fn lumped(c: &mut Cases) {
    let elements = Configuration {
        conductors: vec![conductor(0, 1, 2.0)],
        ..Configuration::default()
    };
    let p = Plain::new(&[1200.0], vec![constant(300.0)], vec![(0.0, elements)]);
    for (stiff, name) in [(true, "main integrator"), (false, "explicit integrator")] {
        let run = p.run(stiff, 3600.0, &[400.0], 1e-6);
        let mut y = [0.0];
        let pairs = (1..=36)
            .map(|k| {
                let t = 100.0 * f64::from(k);
                run.at(t, &mut y);
                (300.0 + 100.0 * (-t / 600.0).exp(), y[0])
            })
            .collect();
        c.grid(
            format!("lumped cooling, time constant 600 s ({name})"),
            "K",
            (LinearAlgebra, "e^(-t/tau)"),
            pairs,
            Absolute(1e-4),
            STEP,
        );
    }
    // A body radiating to cold surroundings: T = (T0^-3 + 3 s t)^(-1/3), s = A sigma/C.
    let elements = Configuration {
        radiators: vec![radiator(0, 1, 0.5)],
        ..Configuration::default()
    };
    let p = Plain::new(&[500.0], vec![constant(0.0)], vec![(0.0, elements)]);
    let run = p.run(true, 3600.0, &[600.0], 1e-6);
    let mut y = [0.0];
    let s = 0.5 * 5.670374419e-8 / 500.0;
    let pairs = (1..=12)
        .map(|k| {
            let t = 300.0 * f64::from(k);
            run.at(t, &mut y);
            ((600.0_f64.powi(-3) + 3.0 * s * t).powf(-1.0 / 3.0), y[0])
        })
        .collect();
    c.grid(
        "body radiating to surroundings at 0 K over an hour",
        "K",
        (Incropera, "section 5.3, radiation only"),
        pairs,
        Absolute(1e-3),
        STEP,
    );
    // Copper losses rise with temperature: 10 W at 20 degC.
    let copper = Source {
        per_K: COPPER_PER_K,
        ..Source::new(0, constant(10.0), INTERNAL)
    };
    let elements = Configuration {
        sources: vec![copper],
        ..Configuration::default()
    };
    let p = Plain::new(&[1.0], vec![], vec![(0.0, elements)]);
    c.number(
        "copper loss of 10 W at 20 degC, at 75 degC",
        "W",
        (Iec60028, "resistance ratio (234.5 + 75)/(234.5 + 20)"),
        10.0 * 309.5 / 254.5,
        p.gains(0.0, &[348.15])[0],
        Relative(1e-3),
        "three digits in either constant",
    );
}

fn two_nodes(c: &mut Cases) {
    // Air and panels: 4 s and 2 h; and a mild pair.
    for (what, c1, c2, g12, g2) in [
        ("stiff pair", 40.0, 40_000.0, 10.0, 5.0),
        ("mild pair", 2000.0, 5000.0, 4.0, 3.0),
    ] {
        let elements = Configuration {
            conductors: vec![conductor(0, 1, g12), conductor(1, 2, g2)],
            ..Configuration::default()
        };
        let p = Plain::new(&[c1, c2], vec![constant(300.0)], vec![(0.0, elements)]);
        let run = p.run(true, 7200.0, &[340.0, 310.0], 1e-6);
        let a = DMatrix::from_row_slice(2, 2, &[-g12 / c1, g12 / c1, g12 / c2, -(g12 + g2) / c2]);
        let y0 = DVector::from_vec(vec![40.0, 10.0]);
        let mut y = [0.0; 2];
        let mut pairs = vec![];
        for t in [1.0, 5.0, 30.0, 300.0, 1800.0, 3600.0, 7200.0] {
            run.at(t, &mut y);
            let exact = (&a * t).exp() * &y0;
            pairs.extend((0..2).map(|k| (300.0 + exact[k], y[k])));
        }
        c.grid(
            format!("two nodes, {what}, over 2 h"),
            "K",
            (LinearAlgebra, "matrix exponential, nalgebra"),
            pairs,
            Absolute(1e-4),
            STEP,
        );
    }
}

/// A thermocouple junction of 0.706 mm in a gas of 200 degC: without and with radiation from a duct.
fn thermocouple(c: &mut Cases) {
    let d: f64 = 7.06e-4;
    let (area, capacity) = (PI * d * d, 8500.0 * 400.0 * PI * d.powi(3) / 6.0);
    let bare = Configuration {
        conductors: vec![conductor(0, 1, 400.0 * area)],
        ..Configuration::default()
    };
    let p = Plain::new(
        &[capacity],
        vec![constant(473.15)],
        vec![(0.0, bare.clone())],
    );
    let reach = |p: &Plain, target: f64| {
        let run = p.run(true, 20.0, &[298.15], 1e-6);
        let mut y = [0.0];
        (0..20_000)
            .map(|k| 0.001 * f64::from(k))
            .find(|t| {
                run.at(*t, &mut y);
                y[0] >= target
            })
            .unwrap_or(f64::NAN)
    };
    c.number(
        "junction in gas at 200 degC: time to 199 degC",
        "s",
        (Incropera, "example 5.1"),
        5.2,
        reach(&p, 472.15),
        Absolute(0.06),
        "two digits printed; its diameter is rounded",
    );
    let duct = Configuration {
        radiators: vec![radiator(0, 2, 0.9 * area)],
        ..bare
    };
    let p = Plain::new(
        &[capacity],
        vec![constant(473.15), constant(673.15)],
        vec![(0.0, duct)],
    );
    c.number(
        "junction with radiation from a duct at 400 degC: steady",
        "degC",
        (Incropera, "example 5.2"),
        218.7,
        p.steady(&[473.15])[0] - 273.15,
        Absolute(0.1),
        "four digits printed",
    );
    c.number(
        "junction with radiation from a duct at 400 degC: time to 217.7 degC",
        "s",
        (Incropera, "example 5.2"),
        4.9,
        reach(&p, 490.85),
        Absolute(0.1),
        "two digits printed; within 1 K of the end the time is sensitive",
    );
}

/// Long rods of 5 mm as a chain of 400 nodes: copper, aluminium, steel.
fn fins(c: &mut Cases) {
    let (d, h, length, n) = (0.005_f64, 100.0, 0.5, 400);
    let (section, dx) = (PI * d * d / 4.0, length / 400.0);
    for (what, k, theirs) in [
        ("copper", 398.0, 8.3),
        ("aluminium alloy", 180.0, 5.6),
        ("stainless steel", 14.0, 1.6),
    ] {
        // Point n is the base, point n + 1 the air. Node 0 lies half a step from the base.
        let mut conductors = vec![conductor(0, n, 2.0 * k * section / dx)];
        conductors.extend((1..n).map(|i| conductor(i - 1, i, k * section / dx)));
        conductors.extend((0..n).map(|i| conductor(i, n + 1, h * PI * d * dx)));
        let elements = Configuration {
            conductors,
            ..Configuration::default()
        };
        let p = Plain::new(
            &vec![1.0; n],
            vec![constant(373.15), constant(298.15)],
            vec![(0.0, elements)],
        );
        let y = p.steady(&vec![300.0; n]);
        let q = 2.0 * k * section / dx * (373.15 - y[0]);
        c.number(
            format!("very long rod of 5 mm, {what}: heat at its base"),
            "W",
            (Incropera, "example 3.9"),
            theirs,
            q,
            Absolute(0.06),
            "two digits printed",
        );
    }
}

/// A chip between air and a cooled plate, kept here as the smallest network with a source.
pub fn chip() -> f64 {
    let elements = Configuration {
        conductors: vec![
            conductor(0, 2, 100.0),
            conductor(0, 1, 1.0 / (0.9e-4 + 0.008 / 239.0)),
            conductor(1, 2, 100.0),
        ],
        sources: vec![source(0, 1e4)],
        ..Configuration::default()
    };
    Plain::new(&[1.0, 1.0], vec![constant(298.15)], vec![(0.0, elements)]).steady(&[300.0, 300.0])
        [0]
        - 273.15
}
