//! The language in which keys are declared and read.
//!
//! [`schema`] is that language, [`fields`] declares every key of every file kind in it, once. The
//! reader checks a text against the declarations and collects all mistakes as [`problem`]s; what it
//! read are `Section`s: values in SI, each knowing where it was typed. [`explain`] lists them for a
//! person, [`json_schema`] describes the keys to an editor.
//!
//! This room knows units and no file's meaning: what a machine or a job is, other rooms know.

pub(crate) mod complete;
pub mod distribution;
pub mod explain;
pub mod fields;
pub(crate) mod file;
pub mod hours;
pub mod json_schema;
pub mod kinds;
pub mod moment;
pub mod nearest;
pub mod problem;
mod problems;
mod range;
pub(crate) mod reader;
pub mod reference;
pub mod schema;
pub(crate) mod section;
mod source;
mod syntax;
#[cfg(test)]
mod tests;
mod typed;
pub(crate) mod write;

pub use distribution::Distribution;
pub use explain::Stated;
pub use kinds::Kind;
pub use problem::{Problem, Problems, Severity, Sort};
pub use section::Origin;
