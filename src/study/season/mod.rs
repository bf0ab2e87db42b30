//! A season: the run started at every hour of the weather, once for each arrangement.
//!
//! Thousands of long runs are asked for, and most of them tell the same: what a chamber does at a moment
//! depends on the weather of the last hours and, slowly, on how far the part has grown, not on when the job was
//! started. `sharing` says which jobs may use that; `shared` does: `field` reads a start between runs that start
//! every so often, `measure` finds out from when on that is as good as the run itself, with what `remembered` says of
//! the hours before, `reading` looks for the hottest moment, and `alike` for those that many starts have in common, which
//! are run once more. All others run start by start.

mod alike;
mod alone;
mod field;
mod flow;
pub mod kept;
mod measure;
mod moments;
mod pattern;
mod reading;
mod remembered;
mod shared;
mod sharing;
mod start;
mod witness;
mod years;

pub use flow::{AtFlow, Extraction, extraction};
pub use moments::Moments;
pub use pattern::{Stretch, Week};
pub use sharing::{Reason, Sharing};
pub use start::{Counts, Season, Start, later};
pub use years::{Place, Share as ShareOfYears, Year, Years};

use rayon::prelude::*;

use super::StudyError;
use super::compare::Candidate;
use crate::integrate::Options;
use crate::run::{Inputs, Run};
use kept::Kept;

/// What is asked of a season.
struct Asked<'a> {
    inputs: &'a Inputs,
    moments: &'a Moments,
    options: &'a Options,
    /// Told of so many more starts that are done.
    done: &'a (dyn Fn(usize) + Sync),
    /// What is there already.
    kept: &'a dyn Kept,
}

impl Asked<'_> {
    /// The runs of the starts of these numbers.
    fn runs(&self, numbers: &[usize]) -> Result<Vec<Run>, StudyError> {
        numbers
            .par_iter()
            .map(|k| Ok(self.inputs.to_run_at(self.moments.at(*k))?))
            .collect()
    }
}

/// Whether starts may share runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Share {
    /// Where they can.
    #[default]
    Allowed,
    /// Each is to run by itself, whatever it costs: to compare.
    Never,
}

/// One arrangement over a season; `done` is told of so many more starts that are done, from any thread, and `kept` of
/// starts that run by themselves, some at a time.
///
/// # Errors
/// When a run cannot be made at one of the moments, or not simulated.
pub fn season(
    candidate: &Candidate,
    moments: &Moments,
    share: Share,
    options: &Options,
    kept: &dyn Kept,
    done: &(dyn Fn(usize) + Sync),
) -> Result<Season, StudyError> {
    let asked = Asked {
        inputs: &candidate.inputs,
        moments,
        options,
        done,
        kept,
    };
    let run = candidate.inputs.to_run_at(moments.first)?;
    let shared = match share {
        Share::Allowed => shared::shared(&asked, &run)?,
        Share::Never => Err(Reason::Asked),
    };
    let (starts, sharing) = match shared {
        Ok(found) => found,
        Err(reason) => (alone::alone(&asked)?, Sharing::Alone(reason)),
    };
    Ok(Season {
        starts,
        sharing,
        ..Season::without_starts(candidate, moments)?
    })
}

impl Season {
    /// Everything of a season that is known before any start.
    ///
    /// # Errors
    /// When the run cannot be made at the first moment.
    pub fn without_starts(candidate: &Candidate, moments: &Moments) -> Result<Self, StudyError> {
        let run = candidate.inputs.to_run_at(moments.first)?;
        Ok(Self {
            name: candidate.name.clone(),
            required_K: run.requirements.margin_K,
            duration_s: run.duration_s,
            is_allowed: run.arrangement.stays_closed() || !run.requirements.must_stay_closed,
            every_s: moments.every_s,
            starts: Vec::new(),
            left_out: moments.left_out,
            sharing: Sharing::Alone(Reason::Kept),
        })
    }
}
