//! Why a study comes to nothing.

use crate::chamber::simulation::SimulationError;
use crate::keys::Problems;

/// A run that a study asked for could not be made or computed.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum StudyError {
    /// A changed run's values do not belong together.
    #[error(transparent)]
    Inputs(#[from] Problems),
    /// A run could not be computed.
    #[error(transparent)]
    Simulation(#[from] SimulationError),
}
