//! Keys of a material and of a panel.

use super::super::kinds::Kind as EntryKind;
use super::super::schema::{
    Field, Kind, Need::Default, Need::Optional, Need::Required, Table, field, quantity,
};
use super::job::{BED, NOZZLE};
use super::machine::with_name;
use crate::quantity::Quantity as Q;

const MATERIAL_FIELDS: [Field; 11] = [
    field(
        "title",
        Kind::Text,
        Default("a material of your own"),
        "\"PLA, as printed\"",
        "One line of description.",
    ),
    field(
        "notes",
        Kind::Text,
        Optional("no notes"),
        "\"From the data sheet.\"",
        "Whatever the next reader should know.",
    ),
    field(
        "softening_limit",
        quantity(Q::Temperature, "degC", (20.0, 400.0), (40.0, 250.0)),
        Required,
        "\"57 degC\"",
        "Temperature that the filament must stay below on its way to the nozzle.",
    ),
    field(
        "softening_basis",
        Kind::Text,
        Default("as given in the run file"),
        "\"glass transition, ISO 11357-2\"",
        "What the limit is based on.",
    ),
    field(
        "density",
        quantity(Q::Density, "kg/m3", (200.0, 5_000.0), (800.0, 1_800.0)),
        Required,
        "\"1240 kg/m3\"",
        "Density of the solid.",
    ),
    field(
        "heat_capacity",
        quantity(
            Q::HeatCapacity,
            "J/(kg K)",
            (300.0, 5_000.0),
            (900.0, 2_800.0),
        ),
        Required,
        "\"1600 J/(kg K)\"",
        "Heat capacity of the solid.",
    ),
    field(
        "conductivity",
        quantity(Q::Conductivity, "W/(m K)", (0.01, 20.0), (0.1, 0.6)),
        Required,
        "\"0.16 W/(m K)\"",
        "Thermal conductivity of the solid.",
    ),
    field(
        "bed",
        BED,
        Required,
        "\"60 degC\"",
        "Usual bed temperature.",
    ),
    field(
        "nozzle",
        NOZZLE,
        Required,
        "\"210 degC\"",
        "Usual nozzle temperature.",
    ),
    field(
        "chamber_min",
        quantity(Q::Temperature, "degC", (0.0, 250.0), (20.0, 150.0)),
        Optional("the chamber can't be too cool"),
        "\"45 degC\"",
        "Lowest chamber temperature at which parts come out well.",
    ),
    field(
        "sources",
        Kind::Sources,
        Optional("no sources"),
        "",
        "Where each value comes from.",
    ),
];

/// A material's file in the catalogue.
pub static MATERIAL: Table = Table {
    doc: "A material.",
    fields: &MATERIAL_FIELDS,
};

/// `[material]` in a run file.
pub static MATERIAL_OVERRIDES: Table = Table {
    doc: "The material: a name from the catalogue, whose values may be replaced here one by one, or a whole description.",
    fields: &with_name::<11, 12>(
        field(
            "name",
            Kind::Name(EntryKind::Material),
            Optional("the material is described here in full"),
            "\"pla\"",
            "Name in the catalogue.",
        ),
        MATERIAL_FIELDS,
    ),
};

const EMISSIVITY: Kind = quantity(Q::Fraction, "", (0.01, 1.0), (0.03, 0.98));

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
        ),
        field(
            "emissivity_outside",
            EMISSIVITY,
            Default("0.9"),
            "0.9",
            "Emissivity of the outside face.",
        ),
        field(
            "layer",
            Kind::List(&LAYER),
            Required,
            "",
            "A layer; they are listed from inside to outside.",
        ),
        field(
            "sources",
            Kind::Sources,
            Optional("no sources"),
            "",
            "Where each value comes from.",
        ),
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
        ),
        field(
            "conductivity",
            quantity(Q::Conductivity, "W/(m K)", (0.005, 500.0), (0.015, 400.0)),
            Required,
            "\"0.19 W/(m K)\"",
            "Thermal conductivity of the layer as a whole.",
        ),
        field(
            "density",
            quantity(Q::Density, "kg/m3", (0.5, 20_000.0), (1.0, 9_000.0)),
            Required,
            "\"1190 kg/m3\"",
            "Density of the layer as it is, air in it included.",
        ),
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
        ),
    ],
};
