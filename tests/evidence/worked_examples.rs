//! Worked examples of handbooks that join several phenomena.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use crate::grids::Grid;
use crate::network_known_solutions::chip;
use crate::plain::{Plain, conductor, constant, face, radiator};
use dogdays::network::{Area, Configuration, Convector, INTERNAL};
use dogdays::physics::air::{AirTable, SEA_LEVEL_PRESSURE_PA};
use dogdays::physics::conduction::{Slab, slices};
use dogdays::physics::convection::Face;
use std::f64::consts::PI;

/// A printed value of a book, worked again from the example's inputs.
#[derive(Debug)]
pub struct Recomputed {
    /// Example and quantity: "5.1 time to 199 degC, s".
    pub label: String,
    /// What the book prints, from memory.
    pub printed: f64,
    /// What follows from its inputs.
    pub again: f64,
    /// Half a digit of what is printed, or what rounding on the way does.
    pub allowed: f64,
}

impl Recomputed {
    /// The example's number.
    pub fn example(&self) -> &str {
        self.label.split(' ').next().unwrap_or_default()
    }
}

/// What `reference/make_grids.py` found.
pub fn recomputed() -> Vec<Recomputed> {
    let g = Grid::read("worked_examples.csv");
    (0..g.rows)
        .map(|i| Recomputed {
            label: g.labels[i].clone(),
            printed: g.column("printed")[i],
            again: g.column("again")[i],
            allowed: g.column("allowed")[i],
        })
        .collect()
}

/// Heat that a face gives to a room at one temperature by the elements of a network, W.
fn loss(surface_K: f64, room_K: f64, faces: &[(Face, f64, f64)], radiating_m2: f64) -> f64 {
    let air = AirTable::new(SEA_LEVEL_PRESSURE_PA);
    let elements = Configuration {
        convectors: faces
            .iter()
            .map(|(f, l, a)| Convector::new(0, 1, Area::constant(*a), face(*f, *l), INTERNAL, &air))
            .collect(),
        radiators: vec![radiator(0, 1, radiating_m2)],
        ..Configuration::default()
    };
    Plain::new(
        &[],
        vec![constant(surface_K), constant(room_K)],
        vec![(0.0, elements)],
    )
    .gains(0.0, &[])[1]
}

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Worked examples");
    let pipe = Configuration {
        conductors: vec![conductor(0, 1, 15.0 * PI * 0.07)],
        radiators: vec![radiator(0, 1, 0.8 * PI * 0.07)],
        ..Configuration::default()
    };
    let q = Plain::new(
        &[],
        vec![constant(473.15), constant(298.15)],
        vec![(0.0, pipe)],
    )
    .gains(0.0, &[])[1];
    c.number(
        "steam pipe of 70 mm at 200 degC in a room at 25 degC, h = 15 W/(m2 K), emissivity 0.8",
        "W/m",
        (Incropera, "example 1.2"),
        998.0,
        q,
        Absolute(2.0),
        "three digits, temperatures rounded to whole kelvin",
    );
    c.number(
        "black emissive power at 200 degC times 0.8",
        "W/m2",
        (Incropera, "example 1.2"),
        2270.0,
        loss(473.15, 0.001, &[], 0.8),
        Absolute(6.0),
        "three digits",
    );
    c.number(
        "chip of 10 kW/m2 between air and a cooled plate",
        "degC",
        (Incropera, "example 3.2"),
        75.3,
        chip(),
        Absolute(0.1),
        "three digits",
    );
    c.number(
        "fire screen 0.71 m x 1.02 m at 232 degC in 23 degC: convection",
        "W",
        (Incropera, "example 9.2"),
        1060.0,
        loss(505.15, 296.15, &[(Face::Vertical, 0.71, 0.71 * 1.02)], 0.0),
        Relative(0.02),
        "the book's properties of air, and three digits",
    );
    c.number(
        "steam pipe of 0.1 m at 165 degC in 23 degC, emissivity 0.85: convection and radiation",
        "W/m",
        (Incropera, "example 9.4: 325 + 441"),
        766.0,
        loss(
            438.15,
            296.15,
            &[(Face::Cylinder, 0.1, PI * 0.1)],
            0.85 * PI * 0.1,
        ),
        Relative(0.015),
        "the book's properties of air, and three digits",
    );
    c.number(
        "duct 0.75 m wide at 45 degC in 15 degC: heat from its top",
        "W/m",
        (Incropera, "example 9.3: 0.75 x 5.47 x 30"),
        123.0,
        loss(318.15, 288.15, &[(Face::Up, 0.375, 0.75)], 0.0),
        Relative(0.02),
        "the book's properties of air, and three digits",
    );
    // Side, top and bottom together: the side is higher in ours than in the book, the bottom lower.
    c.number(
        "duct 0.75 m wide, 0.3 m high at 45 degC in 15 degC: heat from all four sides",
        "W/m",
        (Incropera, "example 9.3"),
        246.0,
        loss(
            318.15,
            288.15,
            &[
                (Face::Up, 0.375, 0.75),
                (Face::Down, 0.375, 0.75),
                (Face::Vertical, 0.3, 0.6),
            ],
            0.0,
        ),
        Relative(0.02),
        "the book's properties of air; other formulas at the side (ours higher) and the bottom (ours lower) cancel here",
    );
    c.number(
        "skin and 4.4 mm of insulation in series, 35 degC inside, 10 degC outside, 1.8 m2",
        "W",
        (Incropera, "example 3.1, composite wall"),
        100.0,
        composite_wall(),
        Absolute(0.5),
        "two digits of the thickness printed",
    );
    c.list
}

/// A layer of skin and fat, insulation, convection and linear radiation to the air.
fn composite_wall() -> f64 {
    let a = 1.8;
    let layers = [
        Slab {
            thickness_m: 0.003,
            conductivity_W_per_mK: 0.3,
            density_kg_per_m3: 1000.0,
            heat_capacity_J_per_kgK: 3500.0,
        },
        Slab {
            thickness_m: 0.0044,
            conductivity_W_per_mK: 0.014,
            density_kg_per_m3: 100.0,
            heat_capacity_J_per_kgK: 1000.0,
        },
    ];
    let nodes = slices(&layers, 7.9, 7.9);
    let n = nodes.capacities_J_per_m2K.len();
    // Point n is the body, n + 1 the air.
    let mut conductors: Vec<_> = nodes
        .conductances_W_per_m2K
        .iter()
        .enumerate()
        .map(|(k, g)| conductor(k, k + 1, g * a))
        .collect();
    conductors.push(conductor(n, 0, 1e9));
    conductors.push(conductor(n - 1, n + 1, (2.0 + 5.9) * a));
    let elements = Configuration {
        conductors,
        ..Configuration::default()
    };
    let capacities: Vec<f64> = nodes.capacities_J_per_m2K.iter().map(|c| c * a).collect();
    let p = Plain::new(
        &capacities,
        vec![constant(308.15), constant(283.15)],
        vec![(0.0, elements)],
    );
    let y = p.steady(&vec![300.0; n]);
    (2.0 + 5.9) * a * (y[n - 1] - 283.15)
}
