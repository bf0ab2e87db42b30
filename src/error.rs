//! Every way in which the library says no.

use crate::answer::AnswerError;
use crate::chamber::simulation::SimulationError;
use crate::keys::Problems;
use crate::output::file::WriteError;
use crate::study::StudyError;

/// What went wrong, in words for the user.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A run file, or a file it names, is wrong; each problem with its place and remedy.
    #[error(transparent)]
    Input(#[from] Problems),
    /// The run could not be computed.
    #[error(transparent)]
    Simulation(#[from] SimulationError),
    /// What was asked can't be asked so.
    #[error("{0}")]
    Asked(String),
    /// A result could not be written.
    #[error(transparent)]
    Write(#[from] WriteError),
}

impl From<crate::chamber::BuildError> for Error {
    fn from(e: crate::chamber::BuildError) -> Self {
        Self::Simulation(e.into())
    }
}

impl From<crate::integrate::IntegrationError> for Error {
    fn from(e: crate::integrate::IntegrationError) -> Self {
        Self::Simulation(e.into())
    }
}

impl From<AnswerError> for Error {
    fn from(e: AnswerError) -> Self {
        match e {
            AnswerError::Input(problems) => Self::Input(problems),
            AnswerError::Simulation(e) => Self::Simulation(e),
            AnswerError::Asked(told) => Self::Asked(told),
        }
    }
}

impl From<StudyError> for Error {
    fn from(e: StudyError) -> Self {
        match e {
            StudyError::Inputs(problems) => Self::Input(problems),
            StudyError::Simulation(e) => Self::Simulation(e),
        }
    }
}
