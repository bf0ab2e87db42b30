//! The run file: what the user typed becomes a valid [`Run`] in SI units, or a list of clear errors.
pub mod model;
pub use model::Run;
