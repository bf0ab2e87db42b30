//! From `[spool]` to the changes that follow from the material fed.
//!
//! A change comes when so many spools have been fed, and feeding is as fast as the time that pauses and changes leave
//! asks for. So one hangs on the other: a change that a pause meets half-way takes printing no more time than what
//! of it lies beside the pause. Pauses move the clock on, and nothing is fed in them.

use super::notes::Notes;
use crate::keys::section::{Data, Origin, Section, Value};
use crate::quantity::{Quantity, format_duration};
use crate::run::SpoolMass;

/// A change with less printing than this after it is not made, s: what is lacking then is less than spools of one
/// label differ by.
const WORTH_CHANGING_S: f64 = 60.0;
/// Masses that differ by less, as a share, are equal: sums of typed decimals are off by their last digit.
const SAME: f64 = 1e-9;
/// More changes are a slip, and every one costs steps.
const CHANGES_MOST: usize = 1_000;
/// Halvings until the time of printing is known to its last digit.
const HALVINGS: usize = 60;
/// Moments that are apart by less are the same, s.
const CLOSE_S: f64 = 1e-6;

/// Spools that are changed when they are used up.
pub(super) struct Spools<'a> {
    section: &'a Section,
    mass: SpoolMass,
    takes_s: f64,
    pub door_open: bool,
}

/// A change in the run: begin and end, s.
pub(super) type Change = (f64, f64);

/// What a job has that says by itself when spools are changed.
const SAID: [&str; 3] = ["spool_change", "phase", "profile"];

/// Whether changes follow from the material fed.
pub(crate) fn follow(root: &Section) -> bool {
    let has_mass = root.section("spool").is_some_and(|s| s.has("mass"));
    let is_said = |job: &Section| SAID.iter().any(|key| job.has(key));
    has_mass && !root.section("job").is_some_and(is_said)
}

/// Works out the door where it is left away, and notes how.
pub(super) fn derive(root: &mut Section) {
    let place = root.section("machine").and_then(|m| m.text("spool"));
    let (door, how) = match place {
        None => return,
        Some("room") => ("shut", "the spool hangs in the room"),
        Some(_) => ("open", "the spool hangs in the chamber"),
    };
    if let Some(spool) = root.section_mut("spool") {
        spool.entries.entry("door").or_insert_with(|| Value {
            data: Data::Text(door.to_owned()),
            mark: None,
            origin: Origin::Derived(how),
            within: None,
        });
    }
}

/// What spools hold, where the run says it; `None` when something is wrong, which then has been reported.
pub(super) fn mass(root: &Section, notes: &mut Notes<'_>) -> Option<Option<SpoolMass>> {
    if root.is_bad("spool") {
        return None;
    }
    let Some(section) = root.section("spool") else {
        return Some(None);
    };
    if section.is_bad("mass") || section.is_bad("on_first") {
        return None;
    }
    let on_first_kg = section.number("on_first");
    let Some(full_kg) = section.number("mass") else {
        for key in ["on_first", "change_takes", "door"] {
            if section.is_typed(key) {
                let message = format!("`spool.{key}` has no effect without `spool.mass`");
                let help = "add mass = \"1 kg\", the filament on a full spool, or leave it away";
                notes.hint(section.mark_of(key), message, help);
            }
        }
        return Some(None);
    };
    if !follow(root) {
        for key in ["change_takes", "door"] {
            if section.is_typed(key) {
                let message = format!(
                    "`spool.{key}` has no effect: the job says by itself when spools are changed"
                );
                let help = "leave it away, or leave away what the job says: job.spool_change, job.phase or job.profile";
                notes.hint(section.mark_of(key), message, help);
            }
        }
    }
    if on_first_kg.is_some_and(|kg| kg > full_kg) {
        let text = |kg| Quantity::Mass.to_text(kg, "kg");
        let message = format!(
            "the first spool would hold {}, but a full one holds {}",
            text(on_first_kg.unwrap_or_default()),
            text(full_kg)
        );
        let help =
            "`on_first` is what is left on a spool that is not full; leave it away for a full one";
        notes.error(section.mark_of("on_first"), message, help);
        return None;
    }
    Some(Some(SpoolMass {
        full_kg,
        first_kg: on_first_kg.unwrap_or(full_kg),
    }))
}

/// Spools whose changes follow from the material fed; none where they do not, or where something is bad.
pub(super) fn spools(root: &Section, mass: Option<SpoolMass>) -> Option<Spools<'_>> {
    let section = root.section("spool").filter(|_| follow(root))?;
    Some(Spools {
        section,
        mass: mass?,
        takes_s: section.number("change_takes")?,
        door_open: section.text("door") == Some("open"),
    })
}

/// The changes of a job that prints from one time to another, s, with pauses between them, in order; `None` when they
/// do not fit, which then has been reported.
pub(super) fn changes(
    spools: &Spools<'_>,
    fed_kg: f64,
    (from_s, to_s): (f64, f64),
    pauses: &[(f64, f64)],
    notes: &mut Notes<'_>,
) -> Option<Vec<Change>> {
    let paused_s: f64 = pauses.iter().map(|(begin_s, end_s)| end_s - begin_s).sum();
    let most_s = to_s - from_s - paused_s;
    let section = spools.section;
    let SpoolMass { full_kg, first_kg } = spools.mass;
    // What is printed after the last change, and whether that is worth one.
    let left_least = (WORTH_CHANGING_S / most_s).max(SAME);
    let last_kg = fed_kg * (1.0 - left_least);
    let wanted = ((last_kg - first_kg) / full_kg).floor() + 1.0;
    if wanted < 1.0 {
        return Some(Vec::new());
    }
    if wanted > CHANGES_MOST as f64 {
        let message = format!(
            "feeding {} from spools of {} would take {wanted:.0} changes",
            Quantity::Mass.to_text(fed_kg, "kg"),
            Quantity::Mass.to_text(full_kg, "kg"),
        );
        let help = "check spool.mass and part.mass";
        notes.error(section.mark_of("mass"), message, help);
        return None;
    }
    let shares: Vec<f64> = (0..wanted as usize)
        .map(|k| (first_kg + k as f64 * full_kg) / fed_kg)
        .collect();
    let mut late_s = vec![0.0; shares.len()];
    let laid = |printing_s: f64, late_s: &[f64]| {
        lay(&shares, late_s, printing_s, spools.takes_s, from_s, pauses)
    };
    let left_s = |printing_s: f64, late_s: &[f64]| most_s - laid(printing_s, late_s).1;
    let (mut low_s, mut high_s) = (0.0, most_s);
    // Faster printing leaves more time over: where even the fastest has none, nothing fits.
    if left_s(low_s, &late_s) <= 0.0 {
        let message = format!(
            "{wanted:.0} spool changes of {} take longer than the {} there are for printing",
            format_duration(spools.takes_s),
            format_duration(most_s)
        );
        let help =
            "check spool.change_takes, spool.mass and part.mass, or make run.duration longer";
        notes.error(section.mark_of("change_takes"), message, help);
        return None;
    }
    for _ in 0..HALVINGS {
        let middle_s = 0.5 * (low_s + high_s);
        if left_s(middle_s, &late_s) > middle_s {
            low_s = middle_s;
        } else {
            high_s = middle_s;
        }
    }
    // Where no pause meets a change, what is left does not hang on where changes are: exact to the last digit.
    let mut printing_s = left_s(0.5 * (low_s + high_s), &late_s);
    if left_s(low_s, &late_s) - low_s > CLOSE_S {
        // A hair slower, and a spool would outlast a pause: it is used up just when the pause begins, and changed so late
        // in it that time and mass agree.
        printing_s = low_s;
        for k in 0..shares.len() {
            let (changes, beside_s) = laid(printing_s, &late_s);
            if most_s - beside_s - printing_s <= CLOSE_S {
                break;
            }
            let due_s = changes[k].0;
            let is_met = |pause: &&(f64, f64)| (pause.0 - due_s).abs() < CLOSE_S;
            let Some((_, pause_end_s)) = pauses.iter().find(is_met) else {
                continue;
            };
            let (mut soon_s, mut late) = (0.0, pause_end_s - due_s);
            for _ in 0..HALVINGS {
                late_s[k] = 0.5 * (soon_s + late);
                if left_s(printing_s, &late_s) > printing_s {
                    soon_s = late_s[k];
                } else {
                    late = late_s[k];
                }
            }
            late_s[k] = soon_s;
        }
    }
    let (mut found, _) = laid(printing_s, &late_s);
    // The last is more than a minute's printing before the end; rounding must not put it past it.
    found.retain(|(begin_s, _)| *begin_s < to_s);
    for (_, end_s) in &mut found {
        *end_s = end_s.min(to_s);
    }
    Some(found)
}

/// Where changes lie when printing takes so long, and how much of them lies beside the pauses, s.
///
/// * `shares`: of the material that is fed before each, 0 to 1.
/// * `late_s`: how much later each begins than its spool is used up, s; only in a pause.
fn lay(
    shares: &[f64],
    late_s: &[f64],
    printing_s: f64,
    takes_s: f64,
    from_s: f64,
    pauses: &[(f64, f64)],
) -> (Vec<Change>, f64) {
    let mut found = Vec::with_capacity(shares.len());
    let (mut now_s, mut printed_s, mut beside_s) = (from_s, 0.0, 0.0);
    let mut pauses = pauses.iter().copied().peekable();
    for (share, late_s) in shares.iter().zip(late_s) {
        // Prints up to the change, over the pauses before it.
        let mut left_s = share * printing_s - printed_s;
        printed_s += left_s;
        while let Some((begin_s, end_s)) = pauses.next_if(|(begin_s, _)| begin_s - now_s < left_s) {
            left_s -= begin_s - now_s;
            now_s = end_s;
        }
        now_s += left_s;
        // A pause that begins during the change goes on beside it.
        let change_s = now_s + late_s;
        let end_s = change_s + takes_s;
        let mut within_s = 0.0;
        let mut on_s = end_s;
        while let Some((pause_s, pause_end_s)) = pauses.next_if(|(begin_s, _)| *begin_s < on_s) {
            within_s += (end_s.min(pause_end_s) - change_s.max(pause_s)).max(0.0);
            on_s = on_s.max(pause_end_s);
        }
        found.push((change_s, end_s));
        beside_s += takes_s - within_s;
        now_s = on_s;
    }
    (found, beside_s)
}

/// What is left of a pause beside changes, which are in order.
pub(super) fn beside(pause: (f64, f64), changes: &[Change]) -> Vec<(f64, f64)> {
    let (mut from_s, to_s) = pause;
    let mut left = Vec::new();
    for (begin_s, end_s) in changes {
        if *end_s <= from_s || *begin_s >= to_s {
            continue;
        }
        if *begin_s > from_s {
            left.push((from_s, *begin_s));
        }
        from_s = *end_s;
    }
    if from_s < to_s {
        left.push((from_s, to_s));
    }
    left
}

#[cfg(test)]
mod tests;
