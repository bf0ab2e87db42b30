//! The things in and around a chamber, one a file: its nodes, its elements, its ledger entries and its
//! words.
//!
//! To add one: a file here, its name below, and in `all.rs` a line each to hold it, to make it and to list
//! it. Nothing else knows how many things there are.

mod air;
mod all;
mod bed;
mod chamber_heater;
mod cold_end;
mod electronics;
mod feed_path;
mod feeder;
mod frame;
mod hotend;
mod motion;
mod motor;
mod openings;
pub mod panel;
mod part;
mod part_fan;
mod room;
mod second_hotend;
mod shell;
mod sun;
mod thing;

pub use air::layer_name;
pub use bed::UNDERSIDE_EMISSIVITY;
pub use openings::{WayOut, shut_opening_m2, ways};
pub use part::{free_bed_m2, part_sides_m2};

pub(super) use all::Things;
pub(super) use feed_path::share_of_hotend;
pub(super) use thing::Body;
