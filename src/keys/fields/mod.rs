//! Every key of every file kind: one file a table. Nothing else in the program names a key's unit,
//! range or default.

pub mod arrangement;
pub mod coefficients;
pub mod fan;
pub mod job;
pub mod machine;
pub mod material;
pub mod panel;
pub mod part;
pub mod require;
pub mod room;
pub mod run_file;
mod shared;
pub mod system;

pub use run_file::RUN_FILE;

use super::kinds::Kind;
use super::schema::Table;

/// The keys of the files of one kind of the catalogue's entries.
#[must_use]
pub fn table_of(kind: Kind) -> &'static Table {
    match kind {
        Kind::Machine => &machine::MACHINE,
        Kind::Material => &material::MATERIAL,
        Kind::Panel => &panel::PANEL,
        Kind::Fan => &fan::FAN,
    }
}
