//! A season: the run started at every hour of the weather, once for each arrangement.
//!
//! Thousands of long runs are asked for, and most of them tell the same: what a chamber does at a moment
//! depends on the weather of the last hours and, slowly, on how far the part has grown, not on when the job was
//! started. [`sharing`] says which jobs may use that; all others run start by start.

mod moments;
mod sharing;
mod start;

pub use moments::Moments;
pub use sharing::{Reason, Sharing};
pub use start::{Counts, Season, Start, later};

use rayon::prelude::*;

use super::StudyError;
use super::check::outcome;
use super::compare::Candidate;
use crate::integrate::Options;

/// One arrangement over a season; `done` is told of each start that is done, from any thread.
///
/// # Errors
/// When a run cannot be made at one of the moments, or not simulated.
pub fn season(
    candidate: &Candidate,
    moments: &Moments,
    options: &Options,
    done: &(dyn Fn() + Sync),
) -> Result<Season, StudyError> {
    let run = candidate.inputs.to_run_at(moments.first)?;
    let starts = (0..moments.count)
        .into_par_iter()
        .map(|k| {
            let at = moments.at(k);
            let outcome = outcome(&candidate.inputs.to_run_at(at)?, options)?;
            done();
            Ok(Start::of(at, &outcome))
        })
        .collect::<Result<Vec<Start>, StudyError>>()?;
    Ok(Season {
        name: candidate.name.clone(),
        required_K: run.requirements.margin_K,
        duration_s: run.duration_s,
        is_allowed: run.arrangement.stays_closed() || !run.requirements.must_stay_closed,
        every_s: moments.every_s,
        starts,
        left_out: moments.left_out,
        sharing: Sharing::Alone(Reason::Few),
    })
}
