//! The other run files of a room, which a run file lists under `[[room.building.machine]]`.

use super::fetch::{Fetch, file_of, find_profile};
use super::overlay::completed;
use super::{guesses, variants};
use crate::catalogue::Catalogue;
use crate::keys::fields::RUN_FILE;
use crate::keys::problem::Source;
use crate::keys::reader::read_source;
use crate::keys::section::{Origin, Section};
use crate::run::derive::Other;
use crate::run::derive::notes::Notes;
use std::path::Path;
use std::sync::Arc;

/// The run file that an entry of the list names, read once however often it is listed. Its models are those of the run
/// that lists it. `own` is the text of that one.
pub(super) fn find_other(
    entry: &Section,
    own: &str,
    fetch: Fetch<'_>,
    catalogue: &Catalogue,
    known: &mut Vec<(String, Arc<Other>)>,
    notes: &mut Notes<'_>,
) -> Option<Arc<Other>> {
    let name = entry.text("run")?;
    if let Some((_, other)) = known.iter().find(|(known, _)| known == name) {
        return Some(Arc::clone(other));
    }
    let mark = entry.mark_of("run");
    let file = file_of(name, "run file", mark, fetch, notes)?;
    let shown = file.name.clone();
    let source = match file.text() {
        Ok((source, _)) => source,
        Err(problem) => {
            notes.extend(vec![*problem]);
            return None;
        }
    };
    if is_same(&source, own) {
        let message = format!("{name} is this run file itself");
        let help = "machines that do this run along with it are counted by room.building.machines; for one that does it at another time, list a copy of the file without this list";
        notes.error(mark, message, help);
        return None;
    }
    let before = notes.errors();
    let mut typed = read_source(&source, &RUN_FILE, Origin::Typed, notes.problems)?;
    variants::take(&mut typed);
    // What may fail here is asked about where that run is checked.
    typed.remove(&["failure"]);
    guesses::take(&mut typed);
    stands_for_itself(&typed, name, entry, notes)?;
    let mut inner = Notes {
        file: &shown,
        problems: notes.problems,
    };
    let root = completed(typed, catalogue, &mut inner);
    // What it names lies relative to its own folder.
    let folder = Path::new(name).parent().unwrap_or_else(|| Path::new(""));
    let beside = |name: &str| fetch(&folder.join(name).to_string_lossy());
    let profile = root
        .section("job")
        .filter(|job| job.has("profile"))
        .and_then(|job| find_profile(job, &beside, &mut Vec::new(), &mut inner));
    if notes.errors() > before {
        return None;
    }
    let other = Arc::new(Other {
        file: shown.as_str().into(),
        root,
        profile,
    });
    known.push((name.to_owned(), Arc::clone(&other)));
    Some(other)
}

fn is_same(source: &Source, own: &str) -> bool {
    source.text.trim() == own.trim()
}

/// Refuses what would make a room within a room. What else a listed file says of its room is not looked at.
fn stands_for_itself(
    typed: &Section,
    name: &str,
    entry: &Section,
    notes: &mut Notes<'_>,
) -> Option<()> {
    let room = typed.section("room");
    let building = room.and_then(|room| room.section("building"));
    let Some(building) = building else {
        return Some(());
    };
    let (key, help) = if building.has("machine") {
        (
            "machine",
            "check the run that lists all the others, or list here a copy of the file without its own list",
        )
    } else if building.number("machines").is_some_and(|count| count > 1.0) {
        (
            "machines",
            "write machines = 2 here, beside the name of the file, and list a copy of it without room.building.machines",
        )
    } else {
        return Some(());
    };
    let message = format!("{name} says itself what else is in its room (`room.building.{key}`)");
    notes.error(entry.mark_of("run"), message, help);
    None
}
