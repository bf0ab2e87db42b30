//! A bed that is legal but hardly meant: far above what its material is printed on, or cooler than the room.

use super::notes::Notes;
use crate::keys::problem::Mark;
use crate::keys::section::Section;
use crate::quantity::{Quantity, System, format_temperature};
use crate::run::{Material, Phase, Room};

/// So much above the usual bed nobody prints for adhesion's sake: for PLA at 60 degC, 90 is another
/// material's bed (common practice, no source).
const FAR_ABOVE_K: f64 = 30.0;

/// Hints at a bed that was probably a slip.
pub(super) fn odd(
    root: &Section,
    material: &Material,
    phases: &[Phase],
    room: Option<&Room>,
    notes: &mut Notes<'_>,
) {
    let Some(job) = root.section("job") else {
        return;
    };
    let beds_K = || phases.iter().filter_map(|phase| phase.bed_K);
    let hottest_K = beds_K().fold(f64::NEG_INFINITY, f64::max);
    let text = |K| format_temperature(K, System::Si);
    if let Some(mark) = typed(job)
        && hottest_K > material.bed_K + FAR_ABOVE_K
    {
        let message = format!(
            "a bed at {} is far above the usual {} for {}",
            text(hottest_K),
            text(material.bed_K),
            material.name
        );
        notes.hint(Some(mark), message, "check job.bed and material.name");
    }
    let room_K = room.map(|room| room.weather.at(0.0).0);
    if let (Some(mark), Some(room_K)) = (typed(job), room_K)
        && let Some(coolest_K) = beds_K().reduce(f64::min)
        // A bed switched off is often written as one at about the room's temperature.
        && coolest_K < room_K - 5.0
    {
        let message = format!(
            "a bed at {} is cooler than the room at the start, {}: it can only be heated, so it is off then",
            text(coolest_K),
            text(room_K)
        );
        // "60 degF" for "60 degC".
        let was_typed = mark.source.text.get(mark.span.clone()).unwrap_or("");
        let help = if was_typed.contains(['F', 'f', '℉']) {
            let number = Quantity::Temperature.in_system(coolest_K, "degC", System::Us);
            let number = number.trim_end_matches(" degF");
            format!("if {number} degC was meant, write \"{number} degC\"")
        } else {
            "leave the bed away for the material's usual one".to_owned()
        };
        notes.hint(Some(mark), message, help);
    }
}

/// Where the bed's setpoints were typed, if they were.
fn typed(job: &Section) -> Option<&Mark> {
    let own = ["profile", "phase", "bed", "first_layer_bed"]
        .into_iter()
        .find(|key| job.is_typed(key))?;
    if own == "phase" {
        let first = job.list("phase").iter().find(|phase| phase.has("bed"));
        return first.and_then(|phase| phase.mark_of("bed"));
    }
    job.mark_of(own)
}
