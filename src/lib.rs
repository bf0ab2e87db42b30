//! Will a days-long run in a closed material-extrusion chamber keep its filament solid in this heat?
#![forbid(unsafe_code)]

pub mod catalogue;
pub mod coefficients;
pub mod quantity;
pub mod runfile;
