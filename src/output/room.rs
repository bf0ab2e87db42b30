//! What a run says of its room, where there is more to say than its temperature.

use crate::quantity::{System, format_difference};
use crate::run::Run;

/// What makes the room as warm as it is; nothing where its temperature is given or one machine is alone in it.
pub(super) fn words(run: &Run, system: System) -> Option<String> {
    if let Some(above_K) = run.room.above_outdoors_K {
        let above = format_difference(above_K, system);
        return Some(format!("{above} warmer than outdoors"));
    }
    let building = run.room.building.as_ref()?;
    (building.machines > 1).then(|| {
        format!(
            "warmed by {} machines that do this run at the same time, changes included",
            building.machines
        )
    })
}
