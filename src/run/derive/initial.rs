//! From `[initial]` to the temperatures at the start.

use super::notes::Notes;
use crate::keys::section::Section;
use crate::run::{Initial, Neighbour};

pub(super) fn initial(
    root: &Section,
    neighbours: Option<&[Neighbour]>,
    notes: &mut Notes<'_>,
) -> Option<Initial> {
    let Some(section) = root.section("initial") else {
        let is_bad = root.is_bad("initial");
        return (!is_bad).then(Initial::default);
    };
    let keys = [
        "air", "bed", "panels", "frame", "motors", "hotend", "cold_end", "room",
    ];
    if keys.iter().any(|key| section.is_bad(key)) {
        return None;
    }
    let has_building = root.section("room").is_some_and(|r| r.has("building"));
    if section.has("room") && !has_building {
        notes.hint(
            section.mark_of("room"),
            "`initial.room` has no effect: the room's temperature is given throughout",
            "leave it away, or describe the room under [room.building]",
        );
    }
    let mut neighbours = neighbours.into_iter().flatten();
    if section.has("room") && neighbours.any(|other| other.begins_s < 0.0) {
        notes.hint(
            section.mark_of("room"),
            "`initial.room` has no effect: another run of the room begins earlier, and the room is as that leaves it",
            "leave it away",
        );
    }
    let [
        air_K,
        bed_K,
        panels_K,
        frame_K,
        motors_K,
        hotend_K,
        cold_end_K,
        room_K,
    ] = keys.map(|key| section.number(key));
    Some(Initial {
        air_K,
        bed_K,
        panels_K,
        frame_K,
        motors_K,
        hotend_K,
        cold_end_K,
        room_K,
    })
}
