//! Keys of `[require]`.

use super::super::schema::{
    Kind, Need::Default, Need::Optional, Spread::Exact, Table, field, quantity,
};
use super::shared::CHAMBER_TEMPERATURE;
use crate::quantity::Quantity as Q;

/// `[require]`.
pub static REQUIRE: Table = Table {
    doc: "What the run must fulfil.",
    fields: &[
        field(
            "margin",
            quantity(Q::TemperatureDifference, "K", (0.0, 50.0), (0.0, 15.0)),
            Default("3 K"),
            "\"3 K\"",
            "How far below its softening limit the filament must stay.",
        )
        .spread(Exact),
        field(
            "chance",
            quantity(Q::Fraction, "", (0.0, 0.5), (0.01, 0.2)),
            Default("0.05"),
            "0.05",
            "The chance of softening that is put up with, with every value in doubt within its spread. A verdict of `holds` says so when its chance is larger; `size-fan` looks for a fan that brings it under this.",
        )
        .spread(Exact),
        field(
            "must_stay_closed",
            Kind::Bool,
            Default("false"),
            "true",
            "Whether the machine has to stay closed (certified process, fumes, safety).",
        ),
        field(
            "chamber_min",
            CHAMBER_TEMPERATURE,
            Optional("the material's lowest useful chamber temperature, if it has one"),
            "\"35 degC\"",
            "Lowest chamber temperature while printing.",
        )
        .spread(Exact),
    ],
};
