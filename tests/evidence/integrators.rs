//! The integrators against others at 1e-10, on the same networks written a second time in Python.

use crate::case::{Case, Cases, Source, Source::*, Tolerance::*};
use crate::grids::Grid;
use crate::plain::Plain;
use crate::reference_networks::{LINEAR_END_S, START_K, a_box, linear};

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Integrators");
    for (library, source) in [("scipy", Scipy), ("cvode", Cvode)] {
        for (stiff, name) in [(true, "main"), (false, "explicit")] {
            compare(
                &mut c,
                "linear",
                library,
                source,
                linear(),
                LINEAR_END_S,
                stiff,
                name,
            );
            compare(
                &mut c,
                "box",
                library,
                source,
                a_box(),
                172_800.0,
                stiff,
                name,
            );
        }
    }
    c.list
}

#[allow(clippy::too_many_arguments)]
fn compare(
    c: &mut Cases,
    network: &str,
    library: &str,
    source: Source,
    p: Plain,
    end_s: f64,
    stiff: bool,
    name: &str,
) {
    let g = Grid::read(&format!("network_{network}_{library}.csv"));
    let n = p.network.nodes().len();
    let run = p.run(stiff, end_s, &vec![START_K; n], 1e-6);
    let mut y = vec![0.0; n];
    let mut pairs = Vec::new();
    for i in 1..g.rows {
        run.at(g.column("time_s")[i], &mut y);
        pairs.extend((0..n).map(|k| (g.column(&format!("T{k}_K"))[i], y[k])));
    }
    let (what, most, why) = if network == "box" {
        (
            "plate, air and wall with natural convection, radiation and a flow of air, 2 days",
            5e-4,
            "air tabulated to 1e-6 in ours; 1e-6 K a step; rounding of |dT| below 0.05 K at the start",
        )
    } else {
        (
            "five nodes with a source and a rising room, 8 h",
            1e-4,
            "1e-6 K a step, dense output",
        )
    };
    let place = if library == "scipy" {
        "Radau, relative tolerance 1e-10"
    } else {
        "BDF, relative tolerance 1e-10"
    };
    c.grid(
        format!("{what} ({name} integrator)"),
        "K",
        (source, place),
        pairs,
        Absolute(most),
        why,
    );
}
