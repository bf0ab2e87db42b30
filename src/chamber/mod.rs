//! Builds the thermal network of one chamber from a [`Run`](crate::run::Run) and runs it.
//!
//! [`Chamber::new`] turns a run into a network and a schedule: each of the [`things`] in and around a
//! chamber brings its nodes, its elements and its ledger entries, [`enclosure`] what they radiate to each
//! other, [`timeline`] what holds when. [`Chamber::simulate`] integrates them; [`Simulation`] reads
//! stations and nodes out of the trajectory. Everything is SI here; words and verdicts are made further on.

pub mod air_flows;
mod build;
mod build_error;
mod built;
pub mod description;
pub mod enclosure;
mod given_off;
mod layers;
pub mod points;
pub mod simulation;
mod site;
pub mod start;
mod stations;
pub mod things;
pub mod timeline;
mod together;

#[cfg(test)]
mod tests;

pub use crate::integrate::IntegratorKind;
pub use build_error::BuildError;
pub use built::Chamber;
pub use points::Points;
pub use simulation::Simulation;
pub use stations::StationKind;
