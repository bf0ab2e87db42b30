//! Will a days-long run in a closed material-extrusion chamber keep its filament solid in this heat?
#![forbid(unsafe_code)]

pub mod catalogue;
pub mod chamber;
pub mod cli;
pub mod coefficients;
pub mod integrate;
pub mod network;
pub mod output;
pub mod physics;
pub mod quantity;
pub mod runfile;
pub mod study;
