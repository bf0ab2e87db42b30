//! Which fan is enough?

use super::AnswerError;
use crate::catalogue::fan_from_csv;
use crate::run::Fan;
use crate::runfile::Loaded;
use std::path::{Path, PathBuf};

/// The fans of these names: of the catalogue, or files of curves, which end in `.csv`. Without any name, every fan
/// of the catalogue.
///
/// # Errors
/// When the catalogue knows no such fan, or a file is wrong.
pub fn fans(loaded: &Loaded, names: &[String]) -> Result<Vec<Fan>, AnswerError> {
    let catalogue = loaded.catalogue()?;
    if names.is_empty() {
        return Ok(catalogue.fans()?);
    }
    let fan = |name: &String| match is_curve(name) {
        true => fan_from_csv(Path::new(name)),
        false => catalogue.fan(name),
    };
    Ok(names.iter().map(fan).collect::<Result<_, _>>()?)
}

/// The files of curves among the names.
pub fn curve_files(names: &[String]) -> impl Iterator<Item = PathBuf> {
    names
        .iter()
        .filter(|name| is_curve(name))
        .map(PathBuf::from)
}

fn is_curve(name: &str) -> bool {
    let extension = Path::new(name).extension();
    extension.is_some_and(|e| e.eq_ignore_ascii_case("csv"))
}
