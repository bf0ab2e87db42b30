//! The run file: what the user typed becomes a valid [`Run`] in SI units, or a list of clear errors.
//!
//! A run file is TOML with units in its values. [`fields`] declares every key once; `reader`
//! checks a file against that list and collects all mistakes; `build` lays the user's values over
//! the catalogue's, fills in defaults and checks what belongs together; the result is a
//! [`Loaded`]: the run, hints about legal but odd values, and where each value came from.
//!
//! This is the only place that validates. It computes no heat: what a run means is in [`model`],
//! what follows from it is the business of other rooms.

pub mod fields;
pub mod json_schema;
pub mod model;
pub mod problem;
pub mod schema;
pub mod template;

mod arrangement;
mod build;
pub(crate) mod complete;
pub(crate) mod explain;
mod job;
mod machine;
pub(crate) mod reader;
mod room;
pub(crate) mod section;
mod system;
#[cfg(test)]
mod tests;
mod variants;
mod weather;

pub use explain::Stated;
pub use model::Run;
pub use problem::{Problem, Problems, Severity};
pub use section::Origin;
pub use variants::Variant;

use crate::catalogue::Catalogue;
use problem::line_and_column;
use std::io::ErrorKind;
use std::path::Path;

/// A valid run with what is known about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// The run.
    pub run: Run,
    /// Hints about values that are legal but odd.
    pub warnings: Vec<Problem>,
    /// Every value of the run file's keys and where it came from, in the order of the keys.
    pub provenance: Vec<Stated>,
    /// The variants named under `[[compare]]`, in the order of the file.
    pub compare: Vec<Variant>,
}

/// How a file that a run file names is fetched: its name as typed in, its text out.
type Fetch<'a> = &'a dyn Fn(&str) -> Result<problem::Source, Box<Problem>>;

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
    parse(&text, &path.display().to_string(), Some(base), &catalogue)
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
    let fetch = |name: &str| match base_dir {
        Some(base) => {
            let path = base.join(name);
            let text = text_of_file(&path)?;
            Ok(problem::Source {
                name: path.display().to_string(),
                text,
            })
        }
        None => Err(Box::new(Problem::in_file(
            name,
            "this run has no folder in which the file could be looked for",
        ))),
    };
    build::parse_with(text, file_name, &fetch, catalogue)
}

/// The embedded demo: an invented shop's part of 2.3 kg that takes 121 hours in PLA with the
/// chamber closed, in an invented July week whose afternoons pass 33 °C.
///
/// # Panics
/// Never: a test reads the same embedded text.
#[must_use]
pub fn demo() -> Loaded {
    let fetch = |_: &str| {
        Ok(problem::Source {
            name: "demo-data/weather.csv".to_owned(),
            text: DEMO_WEATHER.to_owned(),
        })
    };
    build::parse_with(
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

/// Every material of a catalogue, by name. Entries with mistakes are left out; reading the
/// catalogue has reported them.
#[must_use]
pub fn materials(catalogue: &Catalogue) -> Vec<model::Material> {
    let kind = crate::catalogue::Kind::Material;
    catalogue
        .list(kind)
        .filter_map(|entry| {
            let mut problems = Vec::new();
            let mut section = entry.read(&mut problems)?;
            complete::complete(&mut section, "", kind.table(), entry.file(), &mut problems);
            machine::material(&section, entry.name.clone())
        })
        .collect()
}

/// The text of a file, without a byte order mark.
pub(crate) fn text_of_file(path: &Path) -> Result<String, Box<Problem>> {
    let shown = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|error| {
        let (message, help) = match error.kind() {
            ErrorKind::NotFound => ("there is no such file".to_owned(), similar_file(path)),
            _ if path.is_dir() => (
                "this is a folder, not a file".to_owned(),
                "name a file inside it".to_owned(),
            ),
            ErrorKind::PermissionDenied => (
                "you may not read this file".to_owned(),
                "ask for permission, or copy the file to a folder of your own".to_owned(),
            ),
            _ => (format!("the file can't be read: {error}"), String::new()),
        };
        Box::new(Problem::in_file(&shown, message).help(help))
    })?;
    text_of_bytes(bytes, &shown)
}

fn text_of_bytes(bytes: Vec<u8>, shown: &str) -> Result<String, Box<Problem>> {
    let help = "save it as plain text in UTF-8";
    if bytes.starts_with(&[0xFF, 0xFE]) || bytes.starts_with(&[0xFE, 0xFF]) {
        let message = "this is UTF-16 text, but UTF-8 is needed";
        return Err(Box::new(Problem::in_file(shown, message).help(help)));
    }
    let mut text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let (line, column) = line_and_column(error.as_bytes(), at);
        Box::new(
            Problem::in_file(
                shown,
                format!(
                    "this is not UTF-8 text: byte {at} of the file, in line {line}, makes no sense"
                ),
            )
            .at_line(line, column)
            .help(help),
        )
    })?;
    if text.starts_with('\u{feff}') {
        text.drain(..'\u{feff}'.len_utf8());
    }
    Ok(text)
}

/// A file of nearly that name in the same folder.
fn similar_file(path: &Path) -> String {
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let Some(wanted) = path.file_name().and_then(|name| name.to_str()) else {
        return String::new();
    };
    if !folder.is_dir() {
        return format!("there is no folder {} either", folder.display());
    }
    let names: Vec<String> = std::fs::read_dir(folder)
        .map(|files| {
            files
                .flatten()
                .filter_map(|f| f.file_name().into_string().ok())
                .collect()
        })
        .unwrap_or_default();
    problem::nearest(wanted, names.iter().map(String::as_str)).map_or_else(String::new, |near| {
        format!("did you mean {}?", folder.join(near).display())
    })
}
