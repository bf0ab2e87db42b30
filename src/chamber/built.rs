//! A chamber, built.

use super::points::Points;
use super::stations::Stations;
use super::timeline::Timeline;
use crate::network::{Index, Network, NetworkError, NetworkSystem, Schedule};
use crate::run::Run;

/// A chamber ready to be run. It keeps the run it was built from.
#[derive(Debug, Clone)]
pub struct Chamber {
    pub(super) run: Run,
    /// Nodes, given temperatures, ledgers.
    pub network: Network,
    /// Elements of each combination of phase and arrangement, and which holds when.
    pub schedule: Schedule,
    /// What each configuration and stretch is for.
    pub timeline: Timeline,
    /// Where things are in the network.
    pub points: Points,
    /// Of each configuration, where the filament passes its stations.
    pub(super) stations: Vec<Stations>,
}

impl Chamber {
    /// The run it was built from.
    #[must_use]
    pub const fn run(&self) -> &Run {
        &self.run
    }

    /// The air around bed and part.
    #[must_use]
    pub fn air_at_bed(&self) -> Index {
        self.points.air_at(self.run.plate_m())
    }

    /// The chamber as a system of differential equations.
    ///
    /// # Errors
    /// Never, if it was built by [`Chamber::new`].
    pub fn system(&self) -> Result<NetworkSystem<'_>, NetworkError> {
        NetworkSystem::new(&self.network, &self.schedule)
    }
}
