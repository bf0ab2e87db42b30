//! `[[compare]]`: variants of a run, each a name and whatever it changes.
//!
//! A variant's keys are laid over what the user typed, and the result goes through the same
//! building as the run itself: every key, unit and error message is that of the run file.

use crate::keys::problem::{Mark, Problem};
use crate::keys::section::{Data, Section, Value};
use crate::run::Run;

/// A run of the file, changed by one `[[compare]]`.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// Name given by the user.
    pub name: String,
    /// The changed run.
    pub run: Run,
}

/// The variants that were typed, taken out of the file's root; the rest is the run itself.
pub(super) fn take(root: &mut Section) -> Vec<Section> {
    match root.entries.remove("compare").map(|value| value.data) {
        Some(Data::List(list)) => list,
        _ => Vec::new(),
    }
}

/// The name of a variant, taken out of it, so that only its changes are left.
pub(super) fn take_name(changes: &mut Section) -> Option<(String, Option<Mark>)> {
    match changes.entries.remove("name") {
        Some(Value {
            data: Data::Text(name),
            mark,
            ..
        }) => Some((name, mark)),
        _ => None,
    }
}

/// What was typed for the run, with a variant's changes laid over it.
///
/// Values of the run that belong to something the variant replaces must not live on: another
/// material brings its own limit, bed and nozzle, another kind of weather replaces the old one.
pub(super) fn changed(base: &Section, changes: Section) -> Section {
    let mut base = base.clone();
    for table in ["machine", "material"] {
        if changes.section(table).is_some_and(|s| s.has("name")) {
            base.entries.remove(table);
        }
    }
    if changes.section("material").is_some_and(|s| s.has("name")) {
        drop_keys(&mut base, "job", &["bed", "nozzle"]);
    }
    if let Some(room) = changes.section("room") {
        const WEATHERS: [&str; 3] = ["temperature", "mean", "series"];
        if WEATHERS.iter().any(|key| room.has(key)) {
            drop_keys(&mut base, "room", &WEATHERS);
            drop_keys(&mut base, "room", &["swing"]);
        }
    }
    if let Some(kind) = changes.section("arrangement").and_then(|s| s.text("kind"))
        && !matches!(kind, "extracting" | "blowing in" | "recirculating")
    {
        let keys = ["flow", "fan_power", "thermostat"];
        drop_keys(&mut base, "arrangement", &keys);
    }
    let mark = base.mark.clone();
    let mut over = base.overlaid(changes);
    over.mark = mark;
    over
}

fn drop_keys(root: &mut Section, table: &str, keys: &[&'static str]) {
    if let Some(Value {
        data: Data::Section(section),
        ..
    }) = root.entries.get_mut(table)
    {
        for key in keys {
            section.entries.remove(key);
        }
    }
}

/// Makes the problems found in a variant say whose they are, and drops those that the run itself
/// or another variant has shown already. `known` is how many there were before the variant.
pub(super) fn own_problems(problems: &mut Vec<Problem>, known: usize, name: &str) {
    let found = problems.split_off(known.min(problems.len()));
    for mut problem in found {
        let seen = problems
            .iter()
            .any(|p| p.message == problem.message && p.span == problem.span);
        if seen {
            continue;
        }
        if problem.is_error() {
            problem.message = format!("[[compare]] \"{name}\": {}", problem.message);
        }
        problems.push(problem);
    }
}
