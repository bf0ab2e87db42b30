//! Keys of `[[reading]]`: what was measured during a run.

use super::super::schema::{Field, Kind, Need::Required, Spread::Exact, Table, field, quantity};
use super::shared::MOMENT;
use crate::quantity::Quantity as Q;

/// `[[reading]]`.
pub static READING: Table = Table {
    doc: "What a thermometer showed at some place at some moment of the run.",
    fields: &[
        field(
            "sensor",
            Kind::Text,
            Required,
            "\"feeder motor\"",
            "Where it was measured, in the words of `dogdays check --verbose`: \"feeder motor\", \"drive gear\", \"air top\", \"lid inside\", \"room\".",
        ),
        TEMPERATURE.spread(Exact),
        field(
            "at",
            MOMENT,
            Required,
            "\"Wed 15:20\"",
            "When: by the clock, \"Wed 15:20\" or \"2026-07-15 15:20\", or counted from the start of the run, \"31 h\".",
        ),
    ],
};

const TEMPERATURE: Field = field(
    "temperature",
    quantity(Q::Temperature, "degC", (-30.0, 550.0), (5.0, 300.0)),
    Required,
    "\"49 degC\"",
    "What it showed, and how far off it may be, thermometer and how it touches together: \"49 degC ± 1 K\". Without ±, 1 K either way, which a good contact thermometer keeps.",
);
