//! Runs that are made for comparison with what is read between shared ones.

use super::field::Samples;
use crate::study::check::Outcome;

/// A run that was made for comparison.
#[derive(Debug)]
pub(super) struct Witness {
    /// Number of its start.
    pub number: usize,
    /// Its start, s after the season's first.
    pub start_s: f64,
    /// Temperature outside then, K.
    pub outside_K: f64,
    /// Its course.
    pub samples: Samples,
    /// What it comes to.
    pub outcome: Outcome,
}
