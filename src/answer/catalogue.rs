//! What machines, materials, panels and fans are known?

use super::AnswerError;
use crate::catalogue::{Catalogue, Entry, Kind};
use crate::keys::nearest::did_you_mean;
use crate::output::catalogue::{list_json, show_json};
use serde_json::Value;

/// All entries by kind and name.
#[must_use]
pub fn list(catalogue: &Catalogue) -> Value {
    list_json(catalogue)
}

/// The entries of that name, with values, meaning and sources.
///
/// # Errors
/// When nothing is called so.
pub fn entries(catalogue: &Catalogue, name: &str) -> Result<Value, AnswerError> {
    Ok(show_json(&entries_of(catalogue, name)?))
}

/// The entries of that name; two kinds may use the same.
///
/// # Errors
/// When nothing is called so.
pub fn entries_of<'a>(catalogue: &'a Catalogue, name: &str) -> Result<Vec<&'a Entry>, AnswerError> {
    let found: Vec<_> = Kind::ALL
        .iter()
        .filter_map(|kind| catalogue.get(*kind, name))
        .collect();
    if !found.is_empty() {
        return Ok(found);
    }
    let all = Kind::ALL
        .iter()
        .flat_map(|kind| catalogue.list(*kind))
        .map(|entry| entry.name.as_str());
    let help = did_you_mean(name, all, |near| format!("\"{near}\""))
        .unwrap_or_else(|| "`dogdays catalogue` lists what there is".to_owned());
    Err(AnswerError::Asked(format!(
        "nothing in the catalogue is called \"{name}\"; {help}"
    )))
}
