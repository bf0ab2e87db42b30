//! Keys of a fan in the catalogue.

use super::super::schema::{
    Kind,
    Need::Default,
    Need::Optional,
    Need::Required,
    Spread::{Exact, Factor},
    Table, field, quantity,
};
use super::shared::SOURCES;
use crate::quantity::Quantity as Q;

/// Words for kinds of fan.
pub const FAN_KINDS: &[&str] = &["axial", "blower", "in-line duct fan"];

/// A fan's file in the catalogue.
pub static FAN: Table = Table {
    doc: "A fan.",
    fields: &[
        field(
            "title",
            Kind::Text,
            Default("a fan of your own"),
            "\"Axial fan, 80 mm\"",
            "One line of description.",
        ),
        field(
            "notes",
            Kind::Text,
            Optional("no notes"),
            "\"Invented.\"",
            "Whatever the next reader should know.",
        ),
        field(
            "kind",
            Kind::Choice(FAN_KINDS),
            Default("axial"),
            "\"axial\"",
            "How it is built.",
        ),
        field(
            "size",
            quantity(Q::Length, "mm", (10.0, 1_000.0), (30.0, 400.0)),
            Required,
            "\"80 mm\"",
            "Width of its frame, or diameter of its duct.",
        )
        .spread(Exact),
        field(
            "power",
            quantity(Q::Power, "W", (0.01, 5_000.0), (0.3, 250.0)),
            Optional("its energy is not worked out"),
            "\"3 W\"",
            "Electrical power at the rated speed.",
        )
        .spread(Factor(1.15)),
        field(
            "speed_rpm",
            Kind::Integer(100, 60_000),
            Optional("not known"),
            "2800",
            "Rated speed, revolutions a minute.",
        ),
        field(
            "air_max",
            quantity(Q::Temperature, "degC", (20.0, 500.0), (40.0, 250.0)),
            Optional("it is not known what air it bears: ask"),
            "\"70 degC\"",
            "Highest temperature of the air that may pass it while it runs.",
        )
        .spread(Exact),
        field(
            "sound",
            quantity(Q::Number, "", (0.0, 130.0), (10.0, 75.0)),
            Optional("not known"),
            "32",
            "Sound pressure level in dB(A) at 1 m, blowing freely at the rated speed.",
        )
        .spread(Exact),
        field(
            "supply",
            Kind::Text,
            Optional("not known"),
            "\"12 V DC\"",
            "What it runs on.",
        ),
        field(
            "life",
            quantity(Q::Time, "h", (10.0, 1e6), (5_000.0, 200_000.0)),
            Optional("not known"),
            "\"40000 h\"",
            "How long it runs before one in ten has failed, in air of `life_at`.",
        )
        .spread(Exact),
        field(
            "life_at",
            quantity(Q::Temperature, "degC", (0.0, 200.0), (20.0, 100.0)),
            Default("40 degC"),
            "\"40 degC\"",
            "Temperature of the air for which `life` is stated.",
        )
        .spread(Exact),
        field(
            "settable",
            Kind::Bool,
            Default("false"),
            "true",
            "Whether its speed can be set, down to half the rated one.",
        ),
        field(
            "flap",
            Kind::Bool,
            Default("false"),
            "false",
            "Whether it brings a flap that shuts when it stands still.",
        ),
        field(
            "point",
            Kind::List(&POINT),
            Required,
            "",
            "A measured point of its curve in standard air (1.2 kg/m3); list them by rising flow.",
        ),
        SOURCES,
    ],
};

/// `[[point]]`.
pub static POINT: Table = Table {
    doc: "A measured point of a fan's curve.",
    fields: &[
        field(
            "flow",
            quantity(Q::Flow, "m3/h", (0.0, 20_000.0), (0.0, 2_000.0)),
            Required,
            "\"30 m3/h\"",
            "Volume flow.",
        )
        .spread(Exact),
        field(
            "pressure",
            quantity(Q::Pressure, "Pa", (0.0, 20_000.0), (0.0, 1_500.0)),
            Required,
            "\"20 Pa\"",
            "Static pressure at that flow.",
        )
        .spread(Factor(1.1)),
    ],
};
