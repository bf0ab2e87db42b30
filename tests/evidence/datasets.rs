//! An open data set of known parameters.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use crate::grids::Grid;
use crate::plain::{Plain, conductor};
use dogdays::course::{Course, Points};
use dogdays::network::Configuration;

/// Values held for a minute each.
fn held(g: &Grid, column: &str) -> Course {
    let times_s = g.column("time_s").to_vec();
    let points = Points::new(times_s, g.column(column).to_vec());
    Course::steps(points.expect("rising times").into())
}

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Data sets");
    let g = Grid::data("simple-2r1c.csv");
    let elements = Configuration {
        conductors: vec![conductor(0, 1, 1.0 / 0.1), conductor(0, 2, 1.0 / 0.25)],
        ..Configuration::default()
    };
    let p = Plain::new(
        &[2000.0],
        vec![held(&g, "Ti1_K"), held(&g, "Ti2_K")],
        vec![(0.0, elements)],
    );
    let end = g.column("time_s")[g.rows - 1];
    let run = p.run(true, end, &[293.15], 1e-4);
    let mut y = [0.0];
    let pairs = g.pairs("T_K", |i| {
        let mut y = [0.0];
        run.at(g.column("time_s")[i], &mut y);
        y[0]
    });
    c.grid(
        "one capacity between two given temperatures, 3,600 minutes",
        "K",
        (
            Modestpy,
            "result.csv: R1 0.1, R2 0.25, C 2000, start 293.15 K",
        ),
        pairs,
        Absolute(0.02),
        "asked for: 0.02 K. Inputs are held over each minute, as a co-simulation does; joined by straight lines they give 0.0203 K",
    );
    run.at(60.0, &mut y);
    c.number(
        "the same after one minute",
        "K",
        (Modestpy, "result.csv, second row"),
        g.column("T_K")[1],
        y[0],
        Absolute(0.02),
        "as above",
    );
    c.list
}
