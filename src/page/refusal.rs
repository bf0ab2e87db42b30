//! Why a question is not answered.

use crate::chamber::simulation::SimulationError;
use crate::keys::Problems;
use crate::output::chart::ChartError;
use crate::study::StudyError;

/// What kind of refusal it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// The question itself can't be read.
    Unreadable,
    /// A value that can't be, or values that do not go together.
    Values,
    /// A file of that name is there.
    Exists,
    /// The program's own fault.
    Failed,
}

/// A refusal, in words for whoever sits before the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// Which kind.
    pub why: Why,
    /// What is wrong, and what to do.
    pub message: String,
}

impl Refusal {
    /// A question that can't be read.
    pub fn unreadable(message: impl Into<String>) -> Self {
        Self::new(Why::Unreadable, message)
    }

    /// A value that can't be.
    pub fn values(message: impl Into<String>) -> Self {
        Self::new(Why::Values, message)
    }

    /// One of any kind.
    pub fn new(why: Why, message: impl Into<String>) -> Self {
        let message = message.into();
        Self { why, message }
    }
}

/// Each problem in a sentence with its help. Lines of the changed text are left out: nobody sees that text.
impl From<Problems> for Refusal {
    fn from(problems: Problems) -> Self {
        let shown = problems.shown();
        let sentences = shown.problems.iter().map(|problem| match &problem.help {
            Some(help) => format!("{}; {help}", problem.message),
            None => problem.message.clone(),
        });
        let mut all: Vec<String> = sentences.collect();
        all.extend(shown.others);
        Self::values(all.join("\n"))
    }
}

impl From<SimulationError> for Refusal {
    fn from(e: SimulationError) -> Self {
        Self::values(e.to_string())
    }
}

impl From<StudyError> for Refusal {
    fn from(e: StudyError) -> Self {
        match e {
            StudyError::Inputs(problems) => problems.into(),
            StudyError::Simulation(e) => e.into(),
        }
    }
}

impl From<ChartError> for Refusal {
    fn from(e: ChartError) -> Self {
        Self::new(Why::Failed, format!("the picture can't be drawn: {e}"))
    }
}
