//! The files that a run file names.

use crate::keys::problem::{Mark, Problem};
use crate::keys::section::Section;
use crate::profile::Profile;
use crate::run::derive::notes::Notes;
use crate::table::DataFile;
use crate::weather::Series;
use crate::weather::asked::{Asked, By};
use std::sync::Arc;

/// How a file that a run file names is fetched: its name as typed in, its bytes out.
pub(super) type Fetch<'a> = &'a dyn Fn(&str) -> Result<DataFile, Box<Problem>>;

/// A file and how it is read.
pub(super) type SeriesName = (String, Asked);

/// The weather series that a `[room]` names, read once however many variants ask for it.
pub(super) fn find_series(
    room: &Section,
    fetch: Fetch<'_>,
    known: &mut Vec<(SeriesName, Arc<Series>)>,
    notes: &mut Notes<'_>,
) -> Option<Arc<Series>> {
    let name = room.text("series")?;
    let mark = room.mark_of("series");
    let key = (
        name.to_owned(),
        Asked::of(room, By::RunFile, notes.file, notes.problems)?,
    );
    if let Some((_, series)) = known.iter().find(|(known, _)| *known == key) {
        return Some(Arc::clone(series));
    }
    let file = file_of(name, "weather series", mark, fetch, notes)?;
    let series = Arc::new(Series::read(file, &key.1, notes.problems)?);
    known.push((key, Arc::clone(&series)));
    Some(series)
}

/// The table that a `[job]` names, read once however many variants ask for it.
pub(super) fn find_profile(
    job: &Section,
    fetch: Fetch<'_>,
    known: &mut Vec<(String, Arc<Profile>)>,
    notes: &mut Notes<'_>,
) -> Option<Arc<Profile>> {
    let name = job.text("profile")?;
    if let Some((_, profile)) = known.iter().find(|(known, _)| known == name) {
        return Some(Arc::clone(profile));
    }
    let file = file_of(name, "job's table", job.mark_of("profile"), fetch, notes)?;
    let profile = Arc::new(crate::profile::file::read(file, notes.problems)?);
    known.push((name.to_owned(), Arc::clone(&profile)));
    Some(profile)
}

/// A file that a run names for a purpose.
pub(super) fn file_of(
    name: &str,
    what: &str,
    mark: Option<&Mark>,
    fetch: Fetch<'_>,
    notes: &mut Notes<'_>,
) -> Option<DataFile> {
    match fetch(name) {
        Ok(file) => Some(file),
        // Files that can't be opened are best shown where they are named.
        Err(problem) => {
            let message = format!("the {what} {}: {}", problem.file, problem.message);
            let help = problem.help.unwrap_or_else(|| {
                "the name is taken relative to the folder of this run file".to_owned()
            });
            notes.error(mark, message, help);
            None
        }
    }
}
