//! The run file: what the user typed becomes a valid [`Run`](crate::run::Run), or a list of clear errors.
//!
//! A run file is TOML with units in its values. [`crate::keys`] declares every key once, checks a
//! file against that list and collects all mistakes; `overlay` lays the user's values over
//! the catalogue's and fills in defaults; [`crate::run`] makes the run. The result is a
//! [`Loaded`]: the run, the inputs it was made from, hints about legal but odd values, and where each
//! value came from. From text to sections is all that happens here.

pub mod edit;
pub mod models;
pub mod template;

mod fetch;
mod guesses;
pub mod logs;
mod original;
mod others;
mod overlay;
mod read;
pub mod readings;
#[cfg(test)]
mod tests;
mod variants;

pub use models::{ModelFolders, ModelsUsed};
pub use original::Original;
pub use read::Loaded;
pub use variants::Variant;

use crate::catalogue::Catalogue;
use crate::keys::file::text_of_file;
use crate::keys::problem::{Problem, Problems};
use crate::table::DataFile;
use read::Models;
use std::cell::RefCell;
use std::path::Path;

/// Reads a run file and the files it names. `models` is a folder of the user's own machines, materials, panels
/// and fans; without it, the run file's `run.models` says which, or the folder `my-models` beside it is taken.
///
/// # Errors
/// Everything that is wrong with the file, the weather series it names and the models folder.
pub fn load(path: &Path, models: Option<&Path>) -> Result<Loaded, Problems> {
    let folders = ModelFolders {
        named: models.map(Path::to_owned),
        usual: None,
    };
    load_with(path, &folders)
}

/// The same, with more than one folder in which models may be.
///
/// # Errors
/// Everything that is wrong with the file, the weather series it names and the models folder.
pub fn load_with(path: &Path, folders: &ModelFolders) -> Result<Loaded, Problems> {
    let text = text_of_file(path).map_err(|problem| Problems::from(*problem))?;
    let base = path.parent().unwrap_or_else(|| Path::new(""));
    let find = |run_says: Option<&str>| folders.find(run_says, base);
    let name = path.display().to_string();
    let mut loaded = parse_in(&text, &name, Some(base), Models::Found(&find))?;
    loaded.files.push(path.to_owned());
    Ok(loaded)
}

/// Reads the text of a run file with the models of one of these folders, as a file in `base_dir` would be; without
/// one, no folder beside it is looked for, and a run file that names any file is an error.
///
/// # Errors
/// Everything that is wrong with the text, the weather series it names and the models folder.
pub fn parse_with_folders(
    text: &str,
    file_name: &str,
    base_dir: Option<&Path>,
    folders: &ModelFolders,
) -> Result<Loaded, Problems> {
    let find = |run_says: Option<&str>| match base_dir {
        Some(base) => folders.find(run_says, base),
        None => folders.apart(run_says),
    };
    parse_in(text, file_name, base_dir, Models::Found(&find))
}

/// Reads the text of a run file with the models of this catalogue, whatever the text says of others. Files it
/// names are looked for in `base_dir`; without one, a run file that names any is an error.
///
/// # Errors
/// Everything that is wrong with the text and the weather series it names.
pub fn parse(
    text: &str,
    file_name: &str,
    base_dir: Option<&Path>,
    catalogue: &Catalogue,
) -> Result<Loaded, Problems> {
    parse_in(text, file_name, base_dir, Models::Given(catalogue))
}

fn parse_in(
    text: &str,
    file_name: &str,
    base_dir: Option<&Path>,
    models: Models<'_>,
) -> Result<Loaded, Problems> {
    let files = RefCell::new(Vec::new());
    let fetch = |name: &str| match base_dir {
        Some(base) => {
            let path = base.join(name);
            let file = DataFile::read(&path)?;
            files.borrow_mut().push(path);
            Ok(file)
        }
        None => Err(Box::new(Problem::in_file(
            name,
            "this run has no folder in which the file could be looked for",
        ))),
    };
    let mut loaded = read::parse_with(text, file_name, &fetch, models)?;
    loaded.files.extend(files.into_inner());
    if let Some(base) = base_dir {
        let logs = std::mem::take(&mut loaded.logs).into_iter();
        loaded.logs = logs.map(|log| log.in_folder(base)).collect();
    }
    // Read only when somebody asks, but no output may ever replace one.
    loaded
        .files
        .extend(loaded.logs.iter().map(|log| log.path.clone()));
    Ok(loaded)
}

/// The embedded demo: an invented shop's part of 2.3 kg that takes 121 hours in PLA with the
/// chamber closed, in an invented July week whose afternoons pass 33 °C.
///
/// # Panics
/// Never: a test reads the same embedded text.
#[must_use]
pub fn demo() -> Loaded {
    let fetch = |_: &str| {
        Ok(DataFile {
            name: "demo-data/weather.csv".to_owned(),
            bytes: DEMO_WEATHER.as_bytes().to_vec(),
        })
    };
    read::parse_with(
        DEMO_RUN,
        "demo-data/run.toml",
        &fetch,
        Models::Given(&Catalogue::embedded()),
    )
    .unwrap_or_else(|problems| panic!("the embedded demo is valid:\n{problems}"))
}

/// Text of the embedded demo's run file.
pub const DEMO_RUN: &str = include_str!("../../demo-data/run.toml");
/// Text of the embedded demo's weather series.
pub const DEMO_WEATHER: &str = include_str!("../../demo-data/weather.csv");
