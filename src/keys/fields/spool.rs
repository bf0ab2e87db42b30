//! Keys of `[spool]`.

use super::super::schema::{
    Kind,
    Need::Default,
    Need::Optional,
    Spread::{Exact, Factor},
    Table, field, quantity,
};
use super::shared::BREAK;
use crate::quantity::Quantity as Q;

const SPOOL_MASS: Kind = quantity(Q::Mass, "kg", (0.01, 200.0), (0.2, 25.0));

/// `[spool]`.
pub static SPOOL: Table = Table {
    doc: "The spools that the job is fed from. With their mass, spool changes follow from the material fed.",
    fields: &[
        field(
            "mass",
            SPOOL_MASS,
            Optional("nothing is said of spools, and they are changed where [[job.spool_change]] says so"),
            "\"1 kg\"",
            "Net mass of filament on a full spool. Unless the job has spool changes, phases or a table of its own, a spool is changed whenever one is used up; printing takes the time that changes leave.",
        )
        .spread(Exact),
        field(
            "on_first",
            SPOOL_MASS,
            Optional("the first spool is full"),
            "\"600 g\"",
            "Mass of filament on the spool that the job begins with.",
        )
        .spread(Exact),
        field(
            "change_takes",
            BREAK,
            Default("4 min"),
            "\"4 min\"",
            "How long a change that follows from the material fed takes.",
        )
        .spread(Factor(1.5)),
        field(
            "door",
            Kind::Choice(&["open", "shut"]),
            Optional("open where the spool hangs in the chamber, shut where it hangs in the room"),
            "\"shut\"",
            "Whether the door stands open during such a change.",
        ),
    ],
};
