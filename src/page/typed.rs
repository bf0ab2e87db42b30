//! What a browser asks.

use serde::Deserialize;
use std::collections::BTreeMap;

/// A control's value as the page has it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(untagged)]
pub enum Typed {
    /// A number in the unit that the control shows.
    Number(f64),
    /// A word, a moment, or a quantity with its unit as a run file has it.
    Text(String),
}

/// The controls that are not as the run file says, by their keys.
pub type Values = BTreeMap<String, Typed>;

/// How much room the pictures have.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Width {
    /// A desktop's.
    #[default]
    Wide,
    /// A phone's.
    Narrow,
}

/// A question.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Asked {
    /// The question's number, which its answer carries.
    pub n: u64,
    /// What is changed.
    pub values: Values,
    /// The moment that is looked at, h from the start; without one, the hottest.
    pub moment_h: Option<f64>,
    /// How much room there is.
    pub width: Width,
    /// Names of what is compared with.
    pub compare: Vec<String>,
    /// Whether all numbers of `check` are wanted, too.
    pub check: bool,
    /// The file to be saved.
    pub file: String,
    /// Whether it may replace one that is there.
    pub replace: bool,
}
