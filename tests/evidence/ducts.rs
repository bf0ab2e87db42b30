//! Ducts, fittings, grilles and fans, against a library of fluid mechanics and the fan laws.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use crate::grids::Grid;
use dogdays::physics::duct::*;
use dogdays::physics::fan::{FanCurve, duty_point, power_at_W};
use dogdays::run::ExtractionSystem;

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Ducts and fans");
    friction(&mut c);
    fittings(&mut c);
    fans(&mut c);
    c.list
}

fn friction(c: &mut Cases) {
    let g = Grid::read("friction.csv");
    c.grid(
        "friction factor, Re 100 to 2000 and 4000 to 4e7, roughness 1e-6 to 0.05 of the diameter",
        "-",
        (Fluids, "friction_factor (laminar) and Colebrook"),
        g.pairs("friction_factor", |i| {
            friction_factor(g.column("Re")[i], g.column("roughness_over_diameter")[i])
        }),
        Relative(1e-8),
        "the same equation, solved by iteration in ours and in closed form there",
    );
    let g = Grid::read("duct_pressure.csv");
    c.grid(
        "three ducts at 40 to 200 m3/h",
        "Pa",
        (Fluids, "one_phase_dP"),
        g.pairs("pressure_Pa", |i| {
            let v = |name: &str| g.column(name)[i];
            Duct {
                diameter_m: v("diameter_m"),
                length_m: v("length_m"),
                roughness_m: v("roughness_m"),
                fittings: 0.0,
            }
            .pressure_Pa(
                v("flow_m3_per_s"),
                v("density_kg_per_m3"),
                v("viscosity_Pa_s"),
            )
        }),
        Relative(1e-6),
        "Colebrook in both; the library's closed form is exact to 1e-8 or better",
    );
    let g = Grid::read("grille.csv");
    c.grid(
        "grille of 60 % free area, rated at one flow in standard air: other flows and thinner air",
        "Pa",
        (Fluids, "square_edge_grill, dP_from_K"),
        g.pairs("pressure_Pa", |i| {
            Screen {
                rated_Pa: g.column("rated_Pa_at_0.010")[i],
                rated_flow_m3_per_s: 0.010,
                linear: 0.0,
            }
            .pressure_Pa(
                g.column("flow_m3_per_s")[i],
                g.column("density_kg_per_m3")[i],
                1.9e-5,
            )
        }),
        Relative(1e-8),
        "density times speed squared in both; ten digits in the grid",
    );
}

fn fittings(c: &mut Cases) {
    let g = Grid::read("fittings.csv");
    let loss = |label: &str| {
        let i = g
            .labels
            .iter()
            .position(|l| l.starts_with(label))
            .expect("a fitting of the grid");
        g.column("loss")[i]
    };
    c.number(
        "loss of a sharp entry, as in most tables",
        "-",
        (Fluids, "entrance_sharp, method Crane"),
        loss("sharp entry, Crane"),
        SHARP_ENTRY,
        Relative(1e-12),
        "both are the tables' 0.5",
    );
    c.number(
        "loss of a sharp entry, the library's default",
        "-",
        (Fluids, "entrance_sharp, method Rennels"),
        loss("sharp entry, Rennels"),
        SHARP_ENTRY,
        Relative(0.13),
        "not an error but a choice: newer analysis gives 0.57; ours is the 0.5 of most handbooks, which 0.07 of a velocity pressure hardly changes beside filter and bends",
    );
    c.number(
        "loss of a free exit",
        "-",
        (Fluids, "exit_normal"),
        loss("free exit"),
        FREE_EXIT,
        Relative(1e-12),
        "the whole velocity pressure",
    );
    let bend = 0.5 * (ExtractionSystem::default().duct.fittings - SHARP_ENTRY - FREE_EXIT);
    c.grid(
        "loss of a round right-angled bend, our default for all: radius 1 and 1.5 diameters, Re 2e4 and 1e5",
        "-",
        (Fluids, "bend_rounded, roughness 1e-4 of 0.1 m"),
        g.labels
            .iter()
            .zip(g.column("loss"))
            .filter(|(label, _)| label.starts_with("round bend"))
            .map(|(_, loss)| (*loss, bend))
            .collect(),
        Absolute(0.15),
        "one value that a run may replace: the library's run from 0.26 to 0.45, and tight hose is nearer the high end",
    );
}

/// The invented fan of the grid: it has a dip, as axial fans have.
fn fan() -> FanCurve {
    FanCurve::new(&[
        (0.0, 62.0),
        (0.008, 48.0),
        (0.014, 39.0),
        (0.020, 41.0),
        (0.028, 33.0),
        (0.036, 15.0),
        (0.042, 0.0),
    ])
    .expect("a curve")
}

fn fans(c: &mut Cases) {
    let g = Grid::read("fan_curve.csv");
    let curve = fan();
    c.grid(
        "pressure between the points of an invented fan's curve that has a dip",
        "Pa",
        (Scipy, "PchipInterpolator"),
        g.pairs("pressure_Pa", |i| {
            curve.pressure_Pa(g.column("flow_m3_per_s")[i])
        }),
        Absolute(1e-6),
        "the same published monotone cubic; ten digits in the grid",
    );
    let g = Grid::read("duty_point.csv");
    let duty = |i: usize| {
        let (a, b) = (
            g.column("linear_Pa_s_per_m3")[i],
            g.column("square_Pa_s2_per_m6")[i],
        );
        duty_point(&curve, |q| a * q + b * q * q)
    };
    c.grid(
        "where that fan meets four systems: flow",
        "m3/s",
        (Scipy, "PchipInterpolator, brentq"),
        g.pairs("flow_m3_per_s", |i| duty(i).flow_m3_per_s),
        Relative(1e-8),
        "bisection in ours; ten digits in the grid",
    );
    c.grid(
        "where that fan meets four systems: pressure",
        "Pa",
        (Scipy, "PchipInterpolator, brentq"),
        g.pairs("pressure_Pa", |i| duty(i).pressure_Pa),
        Relative(1e-7),
        "as above; the curve is steep there",
    );
    // Fan laws, by the numbers of a worked example: 600 to 650 turns a minute.
    let (cfm, inch_of_water) = (4.719_474e-4, 249.089);
    let fan = FanCurve::new(&[
        (0.0, 2.0 * inch_of_water),
        (6000.0 * cfm, 1.13 * inch_of_water),
        (9000.0 * cfm, 0.0),
    ])
    .expect("a curve")
    .at(650.0 / 600.0, 1.2);
    c.number(
        "6000 cfm at 1.13 in of water and 600 turns a minute: pressure at 650 turns and 6500 cfm",
        "in",
        (Ashrae, "fan laws, worked example"),
        1.33,
        fan.pressure_Pa(6500.0 * cfm) / inch_of_water,
        Absolute(0.005),
        "three digits printed",
    );
    c.number(
        "power at half the speed",
        "ratio",
        (Ashrae, "fan laws: cube of speed"),
        0.125,
        power_at_W(1.0, 0.5, 1.2),
        Relative(1e-12),
        "rounding only",
    );
    c.number(
        "pressure in air of 1.0066 kg/m3 (2000 m), same speed",
        "ratio",
        (Ashrae, "fan laws: density over 1.2 kg/m3"),
        0.8388,
        curve.at(1.0, 1.0066).pressure_Pa(0.02) / curve.pressure_Pa(0.02),
        Relative(1e-4),
        "four digits",
    );
}
