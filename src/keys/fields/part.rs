//! Keys of `[part]`.

use super::super::schema::{Need::Optional, Spread::Factor, Table, field, quantity};
use crate::quantity::Quantity as Q;

/// `[part]`.
pub static PART: Table = Table {
    doc: "The part being made; it grows evenly while material is fed.",
    fields: &[
        field(
            "mass",
            quantity(Q::Mass, "kg", (1e-4, 1_000.0), (0.005, 50.0)),
            Optional("needed, unless the job's table says what is fed"),
            "\"2.3 kg\"",
            "Mass when finished, supports included.",
        ).spread(Factor(1.05)),
        field(
            "footprint",
            quantity(Q::Area, "cm2", (0.01, 1e5), (1.0, 1e4)),
            Optional(
                "guessed from mass and height, or as that of a cube, at a bulk density of 60 % of the material's",
            ),
            "\"180 cm2\"",
            "Area it covers on the bed.",
        ).spread(Factor(1.1)),
        field(
            "height",
            quantity(Q::Length, "mm", (0.1, 5_000.0), (2.0, 2_000.0)),
            Optional("guessed from mass and footprint at a bulk density of 60 % of the material's"),
            "\"170 mm\"",
            "Height when finished.",
        ).spread(Factor(1.05)),
    ],
};
