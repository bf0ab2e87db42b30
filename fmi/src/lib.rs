//! A run of `dogdays` as a co-simulation unit by the open standard FMI 3.0 (Modelica Association, 2022).
//!
//! [`variables`] says what a unit of a run shows and takes, [`description`] writes that down as the standard's
//! `modelDescription.xml`, [`instance`] is one unit at work, [`packing`] puts a unit's file together. All of that is safe
//! code; [`c_interface`] alone is not, because the standard's functions take pointers.
#![deny(unsafe_code)]

pub mod c_interface;
pub mod description;
pub mod instance;
pub mod packing;
pub mod variables;

/// What the standard calls the model identifier: the shared library's name.
pub const IDENTIFIER: &str = "dogdays_fmu";
/// The run file in a unit's resources.
pub const RUN_FILE: &str = "run.toml";
