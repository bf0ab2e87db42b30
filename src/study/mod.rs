//! Studies: one run checked, or many runs made from one by changing values. They compute and
//! return; they print nothing.

pub mod breakeven;
pub mod cautions;
pub mod check;
pub mod choices;
pub mod compare;
pub mod fan_use;
pub mod remedies;
pub mod size_fan;
pub mod warnings;

pub use check::{Findings, Verdict, check};
