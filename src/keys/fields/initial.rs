//! Keys of `[initial]`: what the run finds when it starts.

use super::super::schema::{
    Field, Kind, Need::Optional, Spread::PlusMinus, Table, field, quantity,
};
use crate::quantity::Quantity as Q;

/// `[initial]`.
pub static INITIAL: Table = Table {
    doc: "Temperatures at the start, where they are not the room's: a run right after another, or one that was logged.",
    fields: &[
        initial("air", "\"45 degC\"", "Air in the chamber."),
        initial("bed", "\"60 degC\"", "Bed, with the first layer on it."),
        initial("panels", "\"40 degC\"", "Lid, walls, door and floor."),
        initial("frame", "\"42 degC\"", "Frame and gantry."),
        initial(
            "motors",
            "\"55 degC\"",
            "Motors, with the drive gear and what they are mounted on.",
        ),
        initial(
            "hotend",
            "\"200 degC\"",
            "Hotend block, of a second hotend too.",
        ),
        initial(
            "cold_end",
            "\"50 degC\"",
            "Cold end, of a second hotend too.",
        ),
        initial(
            "room",
            "\"33 degC\"",
            "Air of a room of its own (`[room.building]`).",
        ),
    ],
};

const fn initial(key: &'static str, example: &'static str, doc: &'static str) -> Field {
    let kind: Kind = quantity(Q::Temperature, "degC", (-30.0, 550.0), (5.0, 300.0));
    field(
        key,
        kind,
        Optional("the room's temperature at the start"),
        example,
        doc,
    )
    .spread(PlusMinus(1.0))
}
