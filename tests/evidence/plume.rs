//! The plume's law and constant.

use crate::case::{Case, Cases, Source::*, Tolerance::*};
use dogdays::physics::plume::{plume_flow_m3_per_s, virtual_origin_m};

pub fn cases() -> Vec<Case> {
    let mut c = Cases::new("Plume");
    c.number(
        "100 W, 2 m above its origin",
        "L/s",
        (Rehva, "q = 5 P^(1/3) z^(5/3), L/s"),
        73.7,
        1000.0 * plume_flow_m3_per_s(100.0, 1.5, 0.5),
        Relative(1e-3),
        "three digits",
    );
    c.number(
        "flow at eight times the power",
        "ratio",
        (MortonTaylorTurner, "power 1/3"),
        2.0,
        plume_flow_m3_per_s(400.0, 1.0, 0.2) / plume_flow_m3_per_s(50.0, 1.0, 0.2),
        Relative(1e-12),
        "rounding only",
    );
    c.number(
        "flow at eight times the height",
        "ratio",
        (MortonTaylorTurner, "power 5/3"),
        32.0,
        plume_flow_m3_per_s(50.0, 1.6, 0.0) / plume_flow_m3_per_s(50.0, 0.2, 0.0),
        Relative(1e-12),
        "rounding only",
    );
    // Q = 0.153 B^(1/3) z^(5/3), B = g P/(rho cp T).
    let b: f64 = 9.81 * 100.0 / (1.2 * 1006.0 * 293.15);
    c.number(
        "100 W at 1 m by the buoyancy flux",
        "L/s",
        (
            MortonTaylorTurner,
            "with the constant 0.153 of Rouse, Yih & Humphreys 1952 (from memory)",
        ),
        153.0 * b.cbrt(),
        1000.0 * plume_flow_m3_per_s(100.0, 1.0, 0.0),
        Relative(0.1),
        "measured constants of plumes scatter by 10 %",
    );
    c.number(
        "virtual origin of a source 1 m wide",
        "m",
        (Rehva, "d/(2 tan 12.5 deg)"),
        2.255,
        virtual_origin_m(1.0),
        Absolute(5e-4),
        "four digits",
    );
    c.list
}
