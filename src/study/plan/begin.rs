//! What is known before anything more is measured.

use super::belief::Belief;
use super::error::PlanError;
use crate::run::{Doubtful, Inputs, Log, Reading};
use crate::study::calibrate::sensors::Sensor;
use crate::study::calibrate::{Posterior, Watched, calibrate};
use crate::study::thermometer_error::errors;
use nalgebra::DMatrix;

/// What is known of a run.
pub(super) struct Begin<'a> {
    /// The run, its values where they are known to be.
    pub inputs: Inputs,
    /// Its values in doubt.
    pub doubtful: Vec<Doubtful>,
    /// What is believed of them.
    pub belief: Belief,
    /// Readings that are not in that yet.
    pub open: &'a [Reading],
    /// When something was measured last, s from the start of the run.
    pub last_s: f64,
    /// What the model leaves out wherever its values are, K: a standard deviation; nothing is known of that before
    /// something was logged.
    pub left_out_K: f64,
    /// How many runs it took to know that.
    pub runs: usize,
}

/// What is known of a run by what was measured in it. Readings are as good as their slopes say, whatever they showed; rows
/// of a log are worth what is left of them once they were fitted, because what hangs together in them is seen there only.
pub(super) fn begin<'a>(watched: &Watched<'a>) -> Result<Begin<'a>, PlanError> {
    let each = watched.readings.iter().map(|reading| reading.at_s);
    let rows = Log::newest_s(watched.logs).into_iter();
    let last_s = each.chain(rows).fold(0.0, f64::max);
    if watched.logs.is_empty() {
        let doubtful = watched.inputs.doubtful();
        return Ok(Begin {
            inputs: watched.inputs.clone(),
            belief: Belief::first(doubtful.len()),
            doubtful,
            open: watched.readings,
            last_s,
            left_out_K: 0.0,
            runs: 0,
        });
    }
    let found = calibrate(std::slice::from_ref(watched), &[])?;
    if !found.is_trusted() {
        return Err(PlanError::Foreign);
    }
    let inputs = found.known.at_its_best(&found.inputs[0]);
    let doubtful: Vec<Doubtful> = inputs
        .doubtful()
        .into_iter()
        .map(Doubtful::by_itself)
        .collect();
    Ok(Begin {
        belief: Belief::of(covariance(&found.known, &doubtful)),
        inputs,
        doubtful,
        open: &[],
        last_s,
        left_out_K: found.left_out_K(),
        runs: found.evaluations,
    })
}

/// What is known of values, those among them of which nothing was learned as they were.
fn covariance(known: &Posterior, doubtful: &[Doubtful]) -> DMatrix<f64> {
    let place = |d: &Doubtful| {
        let mut each = known.values.iter();
        each.position(|placed| placed.doubtful.input.key() == d.input.key())
    };
    let places: Vec<Option<usize>> = doubtful.iter().map(place).collect();
    DMatrix::from_fn(places.len(), places.len(), |i, j| {
        match (places[i], places[j]) {
            (Some(one), Some(other)) => known.covariance[(one, other)],
            _ if i == j => 1.0,
            _ => 0.0,
        }
    })
}

/// The errors of readings at these places, K²: those at one place are by one thermometer.
pub(super) fn errors_of(readings: &[Reading], places: &[Sensor]) -> DMatrix<f64> {
    let first = |place: &Sensor| places.iter().position(|other| other.name == place.name);
    let thermometers: Vec<usize> = places.iter().filter_map(first).collect();
    let within_K: Vec<f64> = readings.iter().map(|r| r.within_K).collect();
    errors(&thermometers, &within_K)
}
