//! What the library gives where the reference libraries gave their values, and a small network as
//! a circuit: the two things that a check from outside needs.
//!
//! ```sh
//! cargo run --example reference_values -- --values tests/evidence/reference
//! cargo run --example reference_values -- --netlist > network.cir
//! ```
//!
//! `--values FOLDER` reads what goes in from the grids in FOLDER and prints, as CSV, file, column,
//! row and our value.

#![allow(non_snake_case)]

#[path = "../tests/evidence/grids.rs"]
#[allow(dead_code)]
mod grids;
#[path = "../tests/evidence/plain.rs"]
#[allow(dead_code)]
mod plain;
#[path = "../tests/evidence/reference_networks.rs"]
#[allow(dead_code)]
mod reference_networks;

use dogdays::physics::air::{Air, AirTable, SEA_LEVEL_PRESSURE_PA, pressure_at_altitude_Pa};
use dogdays::physics::convection::*;
use dogdays::physics::duct::{Duct, Screen, friction_factor};
use dogdays::physics::filament::air_coefficient;
use dogdays::physics::openings::vertical_exchange_m3_per_s;
use dogdays::physics::radiation::{Rect, rectangles_parallel, rectangles_perpendicular};
use grids::Grid;
use plain::Plain;
use reference_networks::{LINEAR_END_S, START_K, a_box, linear, netlist};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["--netlist"] => print!("{}", netlist()),
        ["--values", folder] => values(&PathBuf::from(folder)),
        _ => {
            eprintln!("usage: reference_values --netlist | --values FOLDER");
            return ExitCode::from(2);
        }
    }
    ExitCode::SUCCESS
}

/// Prints a column of ours.
fn column(file: &str, name: &str, grid: &Grid, ours: impl Fn(usize) -> f64) {
    for row in 0..grid.rows {
        println!("{file},{name},{row},{:.12e}", ours(row));
    }
}

fn values(folder: &Path) {
    println!("file,column,row,ours");
    let read = |file: &str| Grid::read_path(&folder.join(file));
    air(&read);
    surfaces(&read);

    let file = "view_factors_monte_carlo.csv";
    let g = read(file);
    column(file, "F12", &g, |i| {
        let v = |name: &str| g.column(name)[i];
        let a = Rect {
            x_m: [v("ax0_m"), v("ax1_m")],
            y_m: [v("ay0_m"), v("ay1_m")],
        };
        let b = Rect {
            x_m: [v("bx0_m"), v("bx1_m")],
            y_m: [v("by0_m"), v("by1_m")],
        };
        let exchange = if v("perpendicular") == 1.0 {
            rectangles_perpendicular(a, b)
        } else {
            rectangles_parallel(a, b, v("distance_m"))
        };
        exchange / ((a.x_m[1] - a.x_m[0]) * (a.y_m[1] - a.y_m[0]))
    });

    let file = "door_quadrature.csv";
    let g = read(file);
    column(file, "flow_m3_per_s", &g, |i| {
        let v = |name: &str| g.column(name)[i];
        vertical_exchange_m3_per_s(
            v("area_m2"),
            v("height_m"),
            v("discharge"),
            v("one_K"),
            v("other_K"),
        )
    });

    ducts(&read);

    for library in ["scipy", "cvode"] {
        network(
            &read,
            &format!("network_box_{library}.csv"),
            a_box(),
            172_800.0,
        );
    }
    for library in ["scipy", "cvode", "ngspice"] {
        let file = format!("network_linear_{library}.csv");
        network(&read, &file, linear(), LINEAR_END_S);
    }
}

fn air(read: &impl Fn(&str) -> Grid) {
    let file = "air_coolprop.csv";
    let g = read(file);
    let at = |i: usize| Air::at(g.column("T_K")[i], g.column("p_Pa")[i]);
    column(file, "density_kg_per_m3", &g, |i| at(i).density_kg_per_m3);
    column(file, "viscosity_Pa_s", &g, |i| at(i).viscosity_Pa_s);
    column(file, "conductivity_W_per_mK", &g, |i| {
        at(i).conductivity_W_per_mK
    });
    column(file, "prandtl", &g, |i| at(i).prandtl);

    let file = "air_psychrolib.csv";
    let g = read(file);
    column(file, "density_kg_per_m3", &g, |i| {
        Air::at(g.column("T_K")[i], g.column("p_Pa")[i]).density_kg_per_m3
    });

    let file = "atmosphere_1976.csv";
    let g = read(file);
    column(file, "p_Pa", &g, |i| {
        pressure_at_altitude_Pa(g.column("altitude_m")[i])
    });
    column(file, "viscosity_Pa_s", &g, |i| {
        Air::at(g.column("T_K")[i], g.column("p_Pa")[i]).viscosity_Pa_s
    });
}

fn surfaces(read: &impl Fn(&str) -> Grid) {
    for file in ["natural_convection.csv", "natural_convection_wide.csv"] {
        let g = read(file);
        let (ra, pr) = (g.column("Ra"), g.column("Pr"));
        column(file, "vertical_Churchill", &g, |i| {
            nusselt_vertical_plate(ra[i], pr[i])
        });
        column(file, "cylinder_Churchill_Chu", &g, |i| {
            nusselt_horizontal_cylinder(ra[i], pr[i])
        });
    }
    let file = "natural_convection.csv";
    let g = read(file);
    let ra = g.column("Ra");
    column(file, "away_McAdams", &g, |i| nusselt_horizontal_away(ra[i]));
    column(file, "toward_VDI", &g, |i| nusselt_horizontal_toward(ra[i]));

    let file = "forced_convection.csv";
    let g = read(file);
    let (re, pr) = (g.column("Re"), g.column("Pr"));
    column(file, "cylinder_Churchill_Bernstein", &g, |i| {
        nusselt_cylinder_forced(re[i], pr[i])
    });
    column(file, "plate_laminar", &g, |i| {
        nusselt_flat_plate_forced(re[i], pr[i])
    });

    let file = "rod.csv";
    let g = read(file);
    let air = AirTable::new(SEA_LEVEL_PRESSURE_PA);
    column(file, "coefficient_W_per_m2K", &g, |i| {
        let v = |name: &str| g.column(name)[i];
        air_coefficient(v("rod_K"), v("air_K"), v("diameter_m"), 0.9, 0.0, &air)
    });
}

fn ducts(read: &impl Fn(&str) -> Grid) {
    let file = "friction.csv";
    let g = read(file);
    column(file, "friction_factor", &g, |i| {
        friction_factor(g.column("Re")[i], g.column("roughness_over_diameter")[i])
    });

    let file = "duct_pressure.csv";
    let g = read(file);
    column(file, "pressure_Pa", &g, |i| {
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
    });

    let file = "grille.csv";
    let g = read(file);
    column(file, "pressure_Pa", &g, |i| {
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
    });
}

/// The course of a network at the times of a grid.
fn network(read: &impl Fn(&str) -> Grid, file: &str, plain: Plain, end_s: f64) {
    let g = read(file);
    let n = plain.network.nodes().len();
    let course = plain.run(true, end_s, &vec![START_K; n], 1e-6);
    for k in 0..n {
        column(file, &format!("T{k}_K"), &g, |i| {
            let mut y = vec![0.0; n];
            course.at(g.column("time_s")[i], &mut y);
            y[k]
        });
    }
}
