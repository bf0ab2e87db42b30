//! Every key of every file kind: one file a table. Nothing else in the program names a key's unit,
//! range, default or spread.
//!
//! **Spreads.** Every quantity says how far off a value may be that someone has typed or the catalogue
//! holds: about one in forty lies below, one in forty above. They are judgement (common practice, no
//! source) by these rules: a length by tape measure 5 mm, a place by eye 20 mm; weights by kitchen scales
//! and labels 15 %, guessed masses 30 %; tabled heat capacities 10 to 25 %, by how well the stuff is
//! known; areas that are added up 10 to 50 %; powers from labels 10 %; what is hard to measure (insulation
//! under a bed, a heat sink, air changes) a factor of 2; sensors of bed and nozzle 3 and 5 K, a
//! thermostat's 1 K; weather and room 2 K, in `room.shift` for every kind of weather; a softening limit 3
//! K between batches; data sheets of fans 10 to 20 %. What one decides is exact: moments, durations of
//! phases, requirements. Where a coefficient multiplies a value, the doubt is the coefficient's alone. The
//! coefficients have their own plausible ranges, with the reason in their words.

pub mod arrangement;
pub mod coefficients;
pub mod failure;
pub mod fan;
mod feeder;
pub mod heat_sources;
pub mod initial;
pub mod job;
pub mod log;
pub mod machine;
pub mod material;
pub mod panel;
pub mod part;
pub mod reading;
pub mod require;
pub mod room;
pub mod run_file;
mod shared;
pub mod shop;
pub mod spool;
pub mod sun;
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
