//! Studies: one run checked, or many runs made from one by changing its inputs, by key or by the rules
//! of [`crate::run::change`]. They compute and return; they print nothing, and know no files.

pub mod above;
pub mod alarm;
pub mod band;
pub mod beyond;
pub mod breakeven;
pub mod calibrate;
pub mod cautions;
pub mod certainty;
pub mod check;
pub mod choices;
pub mod compare;
pub mod doubt;
pub mod electricity;
pub mod error;
pub mod extra_heaters;
pub mod failures;
pub mod fan_use;
pub mod follow;
pub mod heaters;
pub mod hottest;
pub mod log_sheet;
pub mod many;
pub mod plan;
pub mod remedies;
pub mod season;
pub mod sensitivity;
pub mod size_fan;
pub mod spools;
pub mod thermometer;
pub mod thermometer_error;
pub mod verdict;
pub mod warnings;

pub use band::{Certainty, Sampling};
pub use check::{Findings, Verdict, check};
pub use error::StudyError;
