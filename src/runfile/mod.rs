//! The run file: what the user typed becomes a valid [`Run`](crate::run::Run), or a list of clear errors.
//!
//! A run file is TOML with units in its values. [`crate::keys`] declares every key once, checks a
//! file against that list and collects all mistakes; `overlay` lays the user's values over
//! the catalogue's and fills in defaults; [`crate::run`] makes the run. The result is a
//! [`Loaded`]: the run, the inputs it was made from, hints about legal but odd values, and where each
//! value came from. From text to sections is all that happens here.

pub mod template;

mod overlay;
mod read;
#[cfg(test)]
mod tests;
mod variants;

pub use read::Loaded;
pub use variants::Variant;

use crate::catalogue::Catalogue;
use crate::keys::file::text_of_file;
use crate::keys::problem::{Problem, Problems, Source};
use std::cell::RefCell;
use std::path::Path;

/// Reads a run file and the files it names. `models` is a folder of the user's own machines,
/// materials and panels.
///
/// # Errors
/// Everything that is wrong with the file, the weather series it names and the models folder.
pub fn load(path: &Path, models: Option<&Path>) -> Result<Loaded, Problems> {
    let catalogue = match models {
        Some(folder) => Catalogue::with_folder(folder)?,
        None => Catalogue::embedded(),
    };
    let text = text_of_file(path).map_err(|problem| Problems::from(*problem))?;
    let base = path.parent().unwrap_or_else(|| Path::new(""));
    let mut loaded = parse(&text, &path.display().to_string(), Some(base), &catalogue)?;
    loaded.files.push(path.to_owned());
    loaded.files.extend(catalogue.files().map(Path::to_owned));
    Ok(loaded)
}

/// Reads the text of a run file. Files it names are looked for in `base_dir`; without one, a run
/// file that names any is an error.
///
/// # Errors
/// Everything that is wrong with the text and the weather series it names.
pub fn parse(
    text: &str,
    file_name: &str,
    base_dir: Option<&Path>,
    catalogue: &Catalogue,
) -> Result<Loaded, Problems> {
    let files = RefCell::new(Vec::new());
    let fetch = |name: &str| match base_dir {
        Some(base) => {
            let path = base.join(name);
            let text = text_of_file(&path)?;
            files.borrow_mut().push(path.clone());
            Ok(Source::of(path.display().to_string(), text))
        }
        None => Err(Box::new(Problem::in_file(
            name,
            "this run has no folder in which the file could be looked for",
        ))),
    };
    let mut loaded = read::parse_with(text, file_name, &fetch, catalogue)?;
    loaded.files = files.into_inner();
    Ok(loaded)
}

/// The embedded demo: an invented shop's part of 2.3 kg that takes 121 hours in PLA with the
/// chamber closed, in an invented July week whose afternoons pass 33 °C.
///
/// # Panics
/// Never: a test reads the same embedded text.
#[must_use]
pub fn demo() -> Loaded {
    let fetch = |_: &str| Ok(Source::of("demo-data/weather.csv", DEMO_WEATHER));
    read::parse_with(
        DEMO_RUN,
        "demo-data/run.toml",
        &fetch,
        &Catalogue::embedded(),
    )
    .unwrap_or_else(|problems| panic!("the embedded demo is valid:\n{problems}"))
}

/// Text of the embedded demo's run file.
pub const DEMO_RUN: &str = include_str!("../../demo-data/run.toml");
/// Text of the embedded demo's weather series.
pub const DEMO_WEATHER: &str = include_str!("../../demo-data/weather.csv");
