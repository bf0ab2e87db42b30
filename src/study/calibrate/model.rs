//! A chamber as a model to be fitted: parameters are values in doubt, counted in standard deviations from where they
//! are believed to be.

use super::fit::Model;
use super::sensors::Sensor;
use crate::integrate::Options;
use crate::run::{Doubtful, Inputs, Run};
use crate::study::StudyError;
use crate::study::many::up_to;
use nalgebra::{DMatrix, DVector};

/// What is read when.
#[derive(Debug, Clone, PartialEq)]
pub struct Watched {
    /// Where.
    pub sensor: Sensor,
    /// When, s from the start.
    pub at_s: f64,
}

/// A run whose doubtful values are parameters.
///
/// Those that follow behind the first are taken along by the slopes they have where they are believed to be: they are
/// too many and matter too little to be run anew at each step, but leaving them out would make the first too sure of
/// themselves.
#[derive(Debug)]
pub struct Chamber<'a> {
    /// The run as described.
    pub inputs: &'a Inputs,
    /// The parameters.
    pub parameters: &'a [Doubtful],
    /// Slopes of the others.
    pub others: DMatrix<f64>,
    /// What is read.
    pub watched: &'a [Watched],
}

/// Slopes are taken from so many standard deviations below to as many above: half a standard deviation apart what is
/// read changes by tenths of a kelvin, a hundred times what the integrator leaves open at its tolerance below, and
/// the bend of the model over half a deviation is no more than a hundredth of it. Both sides, because a doubt may be
/// wider above than below, which is a kink.
const STEP: f64 = 0.25;

/// A fifth of what a single run is looked at with, so that differences are the parameters'.
fn options() -> Options {
    Options {
        tolerance: 0.2 * Options::fine().tolerance,
        ledgers: false,
        ..Options::default()
    }
}

impl Chamber<'_> {
    /// The inputs with parameters at so many standard deviations.
    ///
    /// # Errors
    /// When they don't go together.
    fn run_at(&self, deviations: &[f64]) -> Result<Run, StudyError> {
        let mut inputs = self.inputs.clone();
        for (d, z) in self.parameters.iter().zip(deviations) {
            let si = d.distribution.at(*z);
            // A distribution ends at its key's limits.
            let _ = inputs.set(&d.input, si);
        }
        Ok(inputs.to_run()?)
    }

    /// What is read in each of these runs.
    fn read(&self, runs: &[Run]) -> Vec<Result<DVector<f64>, StudyError>> {
        let times = self.watched.iter().map(|w| w.at_s);
        // A course of no length has no pieces.
        let last_s = times.fold(60.0, f64::max);
        let each = up_to(runs, last_s, &options(), |simulation| {
            let shown = self
                .watched
                .iter()
                .map(|w| w.sensor.shows_K(simulation, w.at_s));
            DVector::from_iterator(self.watched.len(), shown)
        });
        each.into_iter().map(|read| Ok(read?)).collect()
    }

    /// What is read with parameters at so many standard deviations.
    ///
    /// # Errors
    /// When they don't go together or the run can't be computed.
    pub fn read_at(&self, deviations: &[f64]) -> Result<DVector<f64>, StudyError> {
        let run = self.run_at(deviations)?;
        self.read(&[run]).remove(0)
    }

    /// The slopes of what is read, K a standard deviation: for each parameter, or why it has none.
    fn each_slope(&self, at: &[f64]) -> Vec<Result<DVector<f64>, StudyError>> {
        let mut runs = Vec::new();
        let sides: Vec<Result<(), StudyError>> = (0..self.parameters.len())
            .map(|k| {
                let side = |by: f64| {
                    let mut at = at.to_vec();
                    at[k] += by;
                    self.run_at(&at)
                };
                let (below, above) = (side(-STEP)?, side(STEP)?);
                runs.extend([below, above]);
                Ok(())
            })
            .collect();
        let mut read = self.read(&runs).into_iter();
        let mut next = || read.next().expect("one a run");
        sides
            .into_iter()
            .map(|made| {
                made?;
                let (below, above) = (next(), next());
                Ok((above? - below?) / (2.0 * STEP))
            })
            .collect()
    }

    /// The slopes of each parameter where it is believed to be; none of what can't be changed by itself.
    #[must_use]
    pub fn first_slopes(&self) -> Vec<Option<DVector<f64>>> {
        let at = vec![0.0; self.parameters.len()];
        self.each_slope(&at).into_iter().map(Result::ok).collect()
    }
}

impl Model for Chamber<'_> {
    type Error = StudyError;

    fn predicted(&self, parameters: &DVector<f64>) -> Result<DVector<f64>, StudyError> {
        let (own, others) = parameters.as_slice().split_at(self.parameters.len());
        let read = self.read_at(own)?;
        if others.is_empty() {
            return Ok(read);
        }
        Ok(read + &self.others * DVector::from_column_slice(others))
    }

    fn slopes(&self, parameters: &DVector<f64>) -> Result<DMatrix<f64>, StudyError> {
        let own = &parameters.as_slice()[..self.parameters.len()];
        let each: Result<Vec<_>, _> = self.each_slope(own).into_iter().collect();
        let mut columns = each?;
        columns.extend(self.others.column_iter().map(Into::into));
        Ok(DMatrix::from_columns(&columns))
    }
}
