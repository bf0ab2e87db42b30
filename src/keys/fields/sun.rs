//! Keys of `[sun]`.

use super::super::schema::{
    Kind,
    Need::{Default, Required},
    Spread::{Factor, PlusMinus},
    Table, field, quantity,
};
use crate::quantity::Quantity as Q;

const SHARE: Kind = quantity(Q::Fraction, "", (0.0, 1.0), (0.0, 1.0));

/// `[sun]`.
pub static SUN: Table = Table {
    doc: "Sun that falls into the chamber through clear panels. All that comes in stays in: the frame takes what nothing else is said to. Sun on opaque panels is not in it: shade them, or count the room warmer.",
    fields: &[
        field(
            "area",
            quantity(Q::Area, "cm2", (0.1, 2.5e5), (10.0, 2e4)),
            Required,
            "\"900 cm2\"",
            "Clear area that the sun falls on, frames and shadows off; tape measure.",
        )
        .spread(Factor(1.3)),
        field(
            "transmittance",
            quantity(Q::Fraction, "", (0.0, 1.0), (0.3, 0.95)),
            Default("0.85"),
            "0.85",
            "Share of the sun's heat that a panel lets through: clear sheet of glass, acrylic or polycarbonate 0.8 to 0.9, double glass 0.75, tinted 0.4 to 0.6 (handbook values, from memory).",
        )
        .spread(PlusMinus(0.08)),
        field(
            "irradiance",
            quantity(Q::Irradiance, "W/m2", (0.0, 1_500.0), (50.0, 1_050.0)),
            Default("500 W/m2"),
            "\"500 W/m2\"",
            "Sun on the panel's own plane while it shines there: square on outdoors about 900, behind a clear window 500 to 700, at a slant less (common practice, no source).",
        )
        .spread(Factor(1.4)),
        field(
            "from",
            Kind::TimeOfDay,
            Required,
            "\"14:00\"",
            "Time of day at which the sun reaches the panel, on every day of the run.",
        ),
        field(
            "to",
            Kind::TimeOfDay,
            Required,
            "\"18:00\"",
            "Time of day at which it leaves it.",
        ),
        field(
            "on_feeder",
            SHARE,
            Default("1"),
            "1",
            "Share of those hours in which it falls on the feeder motor, where that sits in the chamber; 1 errs on the warm side for the drive gear, 0 if the head stays in the shade.",
        )
        .spread(PlusMinus(0.2)),
        field(
            "on_bed",
            SHARE,
            Default("0"),
            "0",
            "Share of what comes in that falls on the bed. A heated bed only needs less of its heater then, so 0 errs on the warm side.",
        )
        .spread(PlusMinus(0.2)),
    ],
};
