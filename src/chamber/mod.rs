//! Builds the thermal network of one chamber from a [`Run`] and runs it.
//!
//! [`Chamber::new`] turns a run into a network and a schedule: each of the [`things`] in and around a
//! chamber brings its nodes, its elements and its ledger entries, [`enclosure`] what they radiate to each
//! other, [`timeline`] what holds when. [`Chamber::simulate`] integrates them; [`Simulation`] reads
//! stations and nodes out of the trajectory. Everything is SI here; words and verdicts are made further on.

mod build;
pub mod description;
pub mod enclosure;
pub mod points;
pub mod simulation;
mod site;
pub mod stations;
pub mod things;
pub mod timeline;

#[cfg(test)]
mod tests;

pub use crate::integrate::IntegratorKind;
pub use build::BuildError;
pub use points::Points;
pub use simulation::Simulation;
pub use stations::StationKind;

use crate::network::{Network, NetworkError, NetworkSystem, Schedule};
use crate::run::Run;
use stations::Stations;
use timeline::Timeline;

/// A chamber ready to be run. It keeps the run it was built from.
#[derive(Debug, Clone)]
pub struct Chamber {
    run: Run,
    /// Nodes, given temperatures, ledgers.
    pub network: Network,
    /// Elements of each combination of phase and arrangement, and which holds when.
    pub schedule: Schedule,
    /// What each configuration and stretch is for.
    pub timeline: Timeline,
    /// Where things are in the network.
    pub points: Points,
    /// Of each configuration, where the filament passes its stations.
    stations: Vec<Stations>,
}

impl Chamber {
    /// Builds the network of a run.
    ///
    /// # Errors
    /// When the run makes no network: see [`BuildError`].
    pub fn new(run: &Run) -> Result<Self, BuildError> {
        build::build(run)
    }

    /// The run it was built from.
    #[must_use]
    pub const fn run(&self) -> &Run {
        &self.run
    }

    /// The chamber as a system of differential equations.
    ///
    /// # Errors
    /// Never, if it was built by [`Chamber::new`].
    pub fn system(&self) -> Result<NetworkSystem<'_>, NetworkError> {
        NetworkSystem::new(&self.network, &self.schedule)
    }
}
