//! Why a question has no answer.

use crate::chamber::simulation::SimulationError;
use crate::keys::Problems;
use crate::study::StudyError;
use crate::study::calibrate::CalibrateError;

/// What stands in the way, in words for the user.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum AnswerError {
    /// A file, or values that do not go together; each problem with its place and remedy.
    #[error(transparent)]
    Input(#[from] Problems),
    /// A run could not be computed.
    #[error(transparent)]
    Simulation(#[from] SimulationError),
    /// What was asked can't be asked so.
    #[error("{0}")]
    Asked(String),
}

impl From<StudyError> for AnswerError {
    fn from(e: StudyError) -> Self {
        match e {
            StudyError::Inputs(problems) => Self::Input(problems),
            StudyError::Simulation(e) => Self::Simulation(e),
        }
    }
}

impl From<CalibrateError> for AnswerError {
    fn from(e: CalibrateError) -> Self {
        match e {
            CalibrateError::Study(e) => e.into(),
            e => Self::Asked(e.to_string()),
        }
    }
}
