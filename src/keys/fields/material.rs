//! Keys of a material, in the catalogue's files and under `[material]` in a run file.

use super::super::kinds::Kind as EntryKind;
use super::super::schema::{
    Field, Kind,
    Need::Default,
    Need::Optional,
    Need::Required,
    Need::Tacit,
    Spread::{Exact, Factor, PlusMinus},
    Table, field, quantity,
};
use super::shared::{BED, NOZZLE, SOURCES, with_name};
use crate::quantity::Quantity as Q;

/// What a material is printed for, the usual first.
pub const MATERIAL_USES: &[&str] = &["structural", "flexible", "support"];

const MATERIAL_FIELDS: [Field; 15] = [
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
        "Temperature from which the dry filament gives way; each station of the feed path has its allowance under it. Written in a run file, it is that of your filament as it is, damp or dry.",
    )
    .spread(PlusMinus(3.0)),
    field(
        "softening_basis",
        Kind::Text,
        Default("as given in the run file"),
        "\"glass transition, ISO 11357-2\"",
        "What the limit is based on.",
    ),
    field(
        "damp_lowers",
        quantity(Q::TemperatureDifference, "K", (0.0, 150.0), (0.0, 60.0)),
        Default("0 K"),
        "\"3 K\"",
        "How much lower the limit lies for filament that has hung for days in room air of 50 to 60 % relative humidity.",
    )
    .spread(Factor(1.6)),
    field(
        "caveat",
        Kind::Text,
        Optional("there is none"),
        "\"buckles sooner in the feeder\"",
        "What to know before it is taken in place of another: printed where it is proposed.",
    ),
    field(
        "fumes",
        Kind::Text,
        Optional("no more is known of than the fine particles and vapours that every heated polymer gives off"),
        "\"styrene\"",
        "What it is known to give off while it is printed, where that asks for more than the usual care.",
    ),
    field(
        "use",
        Kind::Choice(MATERIAL_USES),
        Tacit("structural", "for parts that hold their shape"),
        "\"flexible\"",
        "What it is printed for: stiff parts, flexible ones, or support that is taken away. Only a material of the same use is proposed in its place.",
    ),
    field(
        "density",
        quantity(Q::Density, "kg/m3", (200.0, 5_000.0), (800.0, 1_800.0)),
        Required,
        "\"1240 kg/m3\"",
        "Density of the solid.",
    )
    .spread(Factor(1.02)),
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
    )
    .spread(Factor(1.15)),
    field(
        "conductivity",
        quantity(Q::Conductivity, "W/(m K)", (0.01, 20.0), (0.1, 0.6)),
        Required,
        "\"0.16 W/(m K)\"",
        "Thermal conductivity of the solid.",
    )
    .spread(Factor(1.25)),
    field(
        "bed",
        BED,
        Required,
        "\"60 degC\"",
        "Usual bed temperature.",
    )
    .spread(PlusMinus(3.0)),
    field(
        "nozzle",
        NOZZLE,
        Required,
        "\"210 degC\"",
        "Usual nozzle temperature.",
    )
    .spread(PlusMinus(5.0)),
    field(
        "chamber_min",
        quantity(Q::Temperature, "degC", (0.0, 250.0), (20.0, 150.0)),
        Optional("the chamber can't be too cool"),
        "\"45 degC\"",
        "Lowest chamber temperature at which parts come out well.",
    )
    .spread(Exact),
    SOURCES,
];

/// A material's file in the catalogue.
pub static MATERIAL: Table = Table {
    doc: "A material.",
    fields: &MATERIAL_FIELDS,
};

/// `[material]` in a run file.
pub static MATERIAL_OVERRIDES: Table = Table {
    doc: "The material: a name from the catalogue, whose values may be replaced here one by one, or a whole description.",
    fields: &with_name::<15, 16>(
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
