//! Will a days-long run in a closed material-extrusion chamber keep its filament solid in this heat?
#![forbid(unsafe_code)]

pub mod coefficients;
pub mod output;
pub mod runfile;
