//! Why a chamber could not be built.

use crate::network::elements::control::ControlError;
use crate::network::elements::enclosure::EnclosureError;
use crate::network::elements::plume::PlumeError;
use crate::network::{NetworkError, ScheduleError};

/// Why a chamber could not be built.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum BuildError {
    /// Too few air layers.
    #[error("`machine.air_layers` is {layers}; the model takes 2 or more")]
    Layers {
        /// As asked.
        layers: usize,
    },
    /// Other runs in the room whose heat is not known.
    #[error("other runs warm the room of this one: they are run along by `Simulation::of`")]
    Neighbours,
    /// Phases that leave gaps or end before the run.
    #[error("the phases of the job do not fill the run: {0}")]
    Phases(#[from] ScheduleError),
    /// Surfaces that make no enclosure.
    #[error(transparent)]
    Enclosure(#[from] EnclosureError),
    /// Layers that make no plume.
    #[error(transparent)]
    Plume(#[from] PlumeError),
    /// A heater or cooler that makes no sense.
    #[error(transparent)]
    Control(#[from] ControlError),
    /// A network that can't be run.
    #[error(transparent)]
    Network(#[from] NetworkError),
}
