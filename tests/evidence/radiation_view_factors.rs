//! View factors and exchange among grey faces.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use crate::grids::Grid;
use crate::plain::{Plain, constant};
use dogdays::network::{Configuration, Enclosure, INTERNAL, Member};
use dogdays::physics::radiation::*;
use nalgebra::DMatrix;
use std::sync::Arc;

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Radiation");
    let g = Grid::read("view_factors_monte_carlo.csv");
    let v = |name: &str, i: usize| g.column(name)[i];
    for i in 0..g.rows {
        let rect = |p: &str| Rect {
            x_m: [v(&format!("{p}x0_m"), i), v(&format!("{p}x1_m"), i)],
            y_m: [v(&format!("{p}y0_m"), i), v(&format!("{p}y1_m"), i)],
        };
        let (a, b) = (rect("a"), rect("b"));
        let area = (a.x_m[1] - a.x_m[0]) * (a.y_m[1] - a.y_m[0]);
        let (kind, exchange) = if v("perpendicular", i) == 1.0 {
            ("perpendicular", rectangles_perpendicular(a, b))
        } else {
            ("parallel", rectangles_parallel(a, b, v("distance_m", i)))
        };
        c.number(
            format!("view factor of two {kind} rectangles, case {}", i + 1),
            "-",
            (MonteCarlo, "4 million rays a case"),
            v("F12", i),
            exchange / area,
            Absolute(4.0 * v("standard_error", i)),
            "four standard errors of the count",
        );
    }
    let unit = Rect {
        x_m: [0.0, 1.0],
        y_m: [0.0, 1.0],
    };
    c.number(
        "two opposite faces of a cube",
        "-",
        (Howell, "C-11, table"),
        0.19982,
        rectangles_parallel(unit, unit, 1.0),
        Absolute(6e-6),
        "five digits in the table",
    );
    c.number(
        "two adjoining faces of a cube",
        "-",
        (Howell, "C-14, table"),
        0.20004,
        rectangles_perpendicular(unit, unit),
        Absolute(6e-6),
        "five digits in the table",
    );
    c.number(
        "Stefan-Boltzmann constant",
        "W/(m2 K4)",
        (Codata, "2018, exact"),
        5.670374419e-8,
        STEFAN_BOLTZMANN,
        Relative(1e-10),
        "ten digits printed",
    );
    exchange(&mut c);
    c.list
}

/// Net heat (W) that each face gives off: direct exchange areas, areas, emissivities and temperatures in,
/// through the network's own element.
fn net(direct: &DMatrix<f64>, areas: &[f64], emissivities: &[f64], t_K: &[f64]) -> Vec<f64> {
    let total = radiosity_exchange(direct, areas, emissivities);
    let members = (0..areas.len())
        .map(|k| Member {
            point: k,
            ledger: INTERNAL,
        })
        .collect();
    let enclosure = Enclosure::new(members, total.iter().copied().collect(), None);
    let elements = Configuration {
        enclosures: vec![Arc::new(enclosure.expect("symmetric areas"))],
        ..Configuration::default()
    };
    let plain = Plain::new(
        &[],
        t_K.iter().map(|t| constant(*t)).collect(),
        vec![(0.0, elements)],
    );
    plain.gains(0.0, &[]).iter().map(|q| -q).collect()
}

fn exchange(c: &mut Cases) {
    use std::f64::consts::PI;
    // One metre of a line of 20 mm inside a tube of 50 mm, vacuum between.
    let (a1, a2) = (PI * 0.02, PI * 0.05);
    let direct = DMatrix::from_row_slice(2, 2, &[0.0, a1, a1, a2 - a1]);
    let q = net(&direct, &[a1, a2], &[0.02, 0.05], &[77.0, 300.0]);
    c.number(
        "cryogenic line, 77 K in 300 K, emissivities 0.02 and 0.05",
        "W/m",
        (Incropera, "example 13.4"),
        0.50,
        -q[0],
        Absolute(0.005),
        "two digits printed",
    );
    // Furnace duct of triangular section, 1 m wide: 1200 K, 500 K, and an insulated wall.
    let half = DMatrix::from_fn(3, 3, |i, j| if i == j { 0.0 } else { 0.5 });
    let t_r = (0..60)
        .fold((500.0_f64, 1200.0_f64), |(low, high), _| {
            let t = 0.5 * (low + high);
            if net(&half, &[1.0; 3], &[0.8, 0.4, 0.8], &[1200.0, 500.0, t])[2] > 0.0 {
                (low, t)
            } else {
                (t, high)
            }
        })
        .0;
    let q = net(&half, &[1.0; 3], &[0.8, 0.4, 0.8], &[1200.0, 500.0, t_r]);
    c.number(
        "paint baking oven: heat from the heaters",
        "kW/m",
        (Incropera, "example 13.5"),
        37.0,
        q[0] / 1000.0,
        Absolute(0.5),
        "two digits printed",
    );
    c.number(
        "paint baking oven: insulated wall",
        "K",
        (Incropera, "example 13.5"),
        1102.0,
        t_r,
        Absolute(1.0),
        "four digits printed, intermediate ones rounded",
    );
    // Black and grey plates, from the closed form.
    let plates = DMatrix::from_row_slice(2, 2, &[0.0, 1.0, 1.0, 0.0]);
    for (what, e1, e2, theirs) in [
        ("black", 1.0, 1.0, 1.0),
        ("emissivity 0.8 and 0.5", 0.8, 0.5, 4.0 / 9.0),
        ("emissivity 0.9 and 0.1", 0.9, 0.1, 9.0 / 91.0),
    ] {
        let q = net(&plates, &[1.0; 2], &[e1, e2], &[320.0, 300.0])[0];
        let black = 5.670374419e-8 * (320.0_f64.powi(4) - 300.0_f64.powi(4));
        c.number(
            format!("large plates, {what}: share of black exchange"),
            "-",
            (Incropera, "table 13.3: 1/(1/e1 + 1/e2 - 1)"),
            theirs,
            q / black,
            Relative(1e-9),
            "closed form, rounding only",
        );
    }
    // Concentric spheres of areas 1 and 4: 1/(1/e1 + (A1/A2)(1/e2 - 1)).
    let spheres = DMatrix::from_row_slice(2, 2, &[0.0, 1.0, 1.0, 3.0]);
    let q = net(&spheres, &[1.0, 4.0], &[0.7, 0.3], &[320.0, 300.0])[0];
    let black = 5.670374419e-8 * (320.0_f64.powi(4) - 300.0_f64.powi(4));
    c.number(
        "body of 1 m2 in an enclosure of 4 m2, 0.7 and 0.3",
        "m2",
        (Incropera, "table 13.3, concentric spheres"),
        1.0 / (1.0 / 0.7 + 0.25 * (1.0 / 0.3 - 1.0)),
        q / black,
        Relative(1e-9),
        "closed form, rounding only",
    );
    // ISO 6946: 4 sigma T^3 from the network's radiator, over 1 K.
    for (t_degC, theirs) in [(0.0, 4.6), (10.0, 5.1), (20.0, 5.7), (30.0, 6.3)] {
        let t: f64 = t_degC + 273.15;
        let elements = Configuration {
            radiators: vec![crate::plain::radiator(0, 1, 1.0)],
            ..Configuration::default()
        };
        let p = Plain::new(
            &[],
            vec![constant(t + 0.5), constant(t - 0.5)],
            vec![(0.0, elements)],
        );
        c.number(
            format!("radiative coefficient of a black face at {t_degC} degC"),
            "W/(m2 K)",
            (Iso6946, "table of h_r0"),
            theirs,
            p.gains(0.0, &[])[1],
            Absolute(0.05),
            "two digits printed",
        );
    }
}
