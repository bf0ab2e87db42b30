//! Keys of a panel, in the catalogue's files and where a machine describes one of its own.

use super::super::schema::{
    Kind,
    Need::Default,
    Need::Optional,
    Need::Required,
    Spread::{Factor, PlusMinus},
    Table, field, quantity,
};
use super::shared::{EMISSIVITY, SOURCES};
use crate::quantity::Quantity as Q;

/// A panel's file in the catalogue.
pub static PANEL: Table = Table {
    doc: "A panel build-up.",
    fields: &[
        field(
            "title",
            Kind::Text,
            Default("a panel of your own"),
            "\"Acrylic, 4 mm\"",
            "One line of description.",
        ),
        field(
            "notes",
            Kind::Text,
            Optional("no notes"),
            "\"Cast sheet.\"",
            "Whatever the next reader should know.",
        ),
        field(
            "emissivity_inside",
            EMISSIVITY,
            Default("0.9"),
            "0.9",
            "Emissivity of the inside face: plastics, glass and paint about 0.9, bare metal 0.1 to 0.3.",
        ).spread(PlusMinus(0.05)),
        field(
            "emissivity_outside",
            EMISSIVITY,
            Default("0.9"),
            "0.9",
            "Emissivity of the outside face.",
        ).spread(PlusMinus(0.05)),
        field(
            "layer",
            Kind::List(&LAYER),
            Required,
            "",
            "A layer; they are listed from inside to outside.",
        ),
        SOURCES,
    ],
};

/// `[[layer]]`.
pub static LAYER: Table = Table {
    doc: "One layer of a panel. An air gap is a layer with its effective conductivity.",
    fields: &[
        field(
            "material",
            Kind::Text,
            Default("unnamed"),
            "\"acrylic\"",
            "What it is made of.",
        ),
        field(
            "thickness",
            quantity(Q::Length, "mm", (0.02, 500.0), (0.3, 150.0)),
            Required,
            "\"4 mm\"",
            "Thickness; calliper at an edge.",
        )
        .spread(Factor(1.05)),
        field(
            "conductivity",
            quantity(Q::Conductivity, "W/(m K)", (0.005, 500.0), (0.015, 400.0)),
            Required,
            "\"0.19 W/(m K)\"",
            "Thermal conductivity of the layer as a whole.",
        )
        .spread(Factor(1.1)),
        field(
            "density",
            quantity(Q::Density, "kg/m3", (0.5, 20_000.0), (1.0, 9_000.0)),
            Required,
            "\"1190 kg/m3\"",
            "Density of the layer as it is, air in it included.",
        )
        .spread(Factor(1.05)),
        field(
            "heat_capacity",
            quantity(
                Q::HeatCapacity,
                "J/(kg K)",
                (50.0, 5_000.0),
                (350.0, 2_500.0),
            ),
            Required,
            "\"1450 J/(kg K)\"",
            "Heat capacity per mass.",
        )
        .spread(Factor(1.1)),
    ],
};
