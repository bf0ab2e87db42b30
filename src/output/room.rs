//! What a run says of its room, where there is more to say than its temperature.

use super::words::date_and_time;
use crate::quantity::{System, format_difference};
use crate::run::Run;

/// Other runs that are named one by one.
const MOST_NAMED: usize = 3;

/// What makes the room as warm as it is; nothing where its temperature is given or one machine is alone in it.
pub(super) fn words(run: &Run, system: System) -> Option<String> {
    if let Some(above_K) = run.room.above_outdoors_K {
        let above = format_difference(above_K, system);
        return Some(format!("{above} warmer than outdoors"));
    }
    let building = run.room.building.as_ref()?;
    let alike = (building.machines > 1).then(|| {
        format!(
            "warmed by {} machines that do this run at the same time, changes included",
            building.machines
        )
    });
    let others = others(run);
    match (alike, others) {
        (Some(alike), Some(others)) => Some(format!("{alike}, and {others}")),
        (alike, others) => alike.or(others),
    }
}

/// The other runs of the room, as many as are read.
fn others(run: &Run) -> Option<String> {
    let all = &run.neighbours;
    if all.is_empty() {
        return None;
    }
    let named: Vec<String> = all
        .iter()
        .take(MOST_NAMED)
        .map(|other| {
            let count = match other.machines {
                1 => String::new(),
                count => format!("{count} machines with "),
            };
            let begins = date_and_time(run.start, other.begins_s);
            format!("{count}\"{}\" from {begins}", other.run.name)
        })
        .collect();
    let more = match all.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    Some(format!(
        "shared with {}{more}, which do the same whatever is changed here",
        named.join(", ")
    ))
}
