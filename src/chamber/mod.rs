//! Builds the thermal network of one chamber from a [`Run`] and runs it.
//!
//! [`Chamber::new`] turns a run into nodes, elements and a timeline; [`Chamber::simulate`]
//! integrates them; [`Simulation`] reads stations and nodes out of the trajectory. Everything is
//! SI here; words and verdicts are made further on.

mod build;
mod describe;
pub mod description;
pub mod feed_path;
pub mod geometry;
mod links;
pub mod nodes;
mod paths;
pub mod simulation;
pub mod system;
pub mod timeline;

#[cfg(test)]
mod tests;

pub use build::BuildError;
pub use feed_path::StationKind;
pub use simulation::{IntegratorKind, Simulation};

use crate::course::Course;
use crate::network::{Configuration, Network};
use crate::run::Run;
use timeline::Timeline;

/// A chamber ready to be run.
#[derive(Debug, Clone)]
pub struct Chamber {
    /// Nodes, boundaries, ledgers.
    pub network: Network,
    /// Elements of each combination of phase and arrangement.
    pub configurations: Vec<Configuration>,
    /// Which configuration holds when.
    pub timeline: Timeline,
    /// The given temperature (boundary 0).
    pub surroundings: Course,
    /// Where things are in the network.
    pub points: nodes::Points,
    /// Temperature of everything at the start, K.
    pub initial_K: f64,
    /// Length of the run, s.
    pub duration_s: f64,
    /// Biot numbers of the panels, by name.
    pub biot: Vec<(String, f64)>,
}

impl Chamber {
    /// Builds the network of a run.
    ///
    /// # Errors
    /// When a machine has more layers, slices or openings than the network can hold.
    pub fn new(run: &Run) -> Result<Self, BuildError> {
        build::build(run)
    }
}
