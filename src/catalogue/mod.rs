//! Machines, materials, panels and fans by name.
//!
//! The files of `models/` are embedded in the program; a user's own folder of the same layout
//! (`machines/`, `materials/`, `panels/`, `fans/`) adds to them or replaces entries by name. Each entry
//! keeps its raw text, so that its notes and sources can be shown.
//!
//! This room knows how to find and read entries. What their keys are is declared in
//! [`crate::keys::fields`], and a run's own values are laid over an entry in
//! [`crate::runfile`]; neither is repeated here.

mod embedded;
mod entry;
mod fan;

pub use crate::keys::kinds::Kind;
pub use entry::{Catalogue, Entry};
pub use fan::fan_from_csv;
