//! A job's own course: a CSV table with a line for every moment at which something changes, from whatever
//! planned the job or logged it.
//!
//! `file.rs` reads a text into a [`Profile`]: rows in SI, each holding until the next. What a row means in a
//! run is decided where runs are made; this room knows files and neither runs nor chambers.

pub(crate) mod file;
pub mod rows;

pub use rows::{Feed, Profile, Row, Setpoint};
