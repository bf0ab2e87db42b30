//! Why there is no plan.

use crate::chamber::simulation::SimulationError;
use crate::study::StudyError;
use crate::study::calibrate::CalibrateError;
use crate::study::calibrate::sensors::UnknownSensor;

/// Why there is no plan.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum PlanError {
    /// A reading's place is not known.
    #[error(transparent)]
    Sensor(#[from] UnknownSensor),
    /// The run itself.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// The logs can't be fitted.
    #[error(transparent)]
    Fit(#[from] CalibrateError),
    /// No values make the model what the logs say.
    #[error(
        "no values make the model what was logged: what to measure next can't be said from it; look at the log first, with `calibrate` and without a plan"
    )]
    Foreign,
}

impl From<SimulationError> for PlanError {
    fn from(e: SimulationError) -> Self {
        Self::Study(e.into())
    }
}
