//! Fit and drift in turn. Knows no chambers.

use super::believed::Believed;
use super::drift::{Drift, Whitened, Whitening};
use super::fit::{Fit, FitError, Measured, Model, fit, fit_again};
use nalgebra::DVector;
use std::ops::Range;

/// What the model leaves out of any place, K and s, before anything is known of it.
pub const UNKNOWN: Drift = Drift {
    deviation: 0.5,
    lasts_s: 1_800.0,
};
/// A model of lumps is off by this, K, however well it is fitted: a standard deviation.
pub const LEAST_K: f64 = 0.2;
/// So often the drift is worked out anew.
const AGAIN: usize = 2;
/// What is held out counts as so many times less sure: as nothing.
const NOTHING: f64 = 1e6;
/// Squares and values are looked for to a hundred-thousandth: a thousandth of what is left of any doubt.
const TOLERANCE: f64 = 1e-5;
/// The same for logs, of which no row says as much as a reading.
const OF_LOGS: f64 = 1e-4;

/// What was measured: rows one after the other.
#[derive(Debug, Clone)]
pub struct Measurements {
    /// All rows.
    pub values: DVector<f64>,
    /// Rows that stand by themselves, and their standard deviations.
    pub single: Vec<(usize, f64)>,
    /// Rows of one log each, and when they were measured, s.
    pub logs: Vec<(Range<usize>, Vec<f64>)>,
}

impl Measurements {
    /// Each log with a drift: what takes from its rows what the row before told, and what is new in them.
    #[must_use]
    pub fn with(&self, drifts: &[Drift]) -> (Whitening, Measured) {
        let mut whitening = Whitening::default();
        let mut deviations = DVector::zeros(self.values.len());
        for (row, deviation) in &self.single {
            deviations[*row] = *deviation;
        }
        for ((rows, times_s), drift) in self.logs.iter().zip(drifts) {
            let new = whitening.add(rows.clone(), times_s, *drift);
            deviations
                .rows_mut(rows.start, rows.len())
                .copy_from_slice(&new);
        }
        let measured = whitening.of_measured(&Measured {
            values: self.values.clone(),
            deviations,
            may_stray: true,
            tolerance: match self.logs.is_empty() {
                true => TOLERANCE,
                false => OF_LOGS,
            },
        });
        (whitening, measured)
    }

    /// Drifts before anything is known of them.
    #[must_use]
    pub fn unknown(&self) -> Vec<Drift> {
        vec![UNKNOWN; self.logs.len()]
    }

    /// The most likely drifts of rows that are off by this.
    #[must_use]
    pub fn drifts(&self, off: &DVector<f64>) -> Vec<Drift> {
        let each = self.logs.iter();
        each.map(|(rows, times_s)| Drift::of(times_s, &off.as_slice()[rows.clone()], LEAST_K))
            .collect()
    }

    /// A fit with these drifts, from another where there is one. What is held out has no part in it.
    ///
    /// # Errors
    /// See [`FitError`].
    pub fn fit<M: Model>(
        &self,
        model: &M,
        believed: &Believed,
        drifts: &[Drift],
        held_out: &[usize],
        from: Option<&Fit>,
    ) -> Result<Fit, FitError<M::Error>> {
        let (whitening, mut measured) = self.with(drifts);
        for row in held_out {
            measured.deviations[*row] *= NOTHING;
        }
        let whitened = Whitened {
            model,
            whitening: &whitening,
        };
        match from {
            None => fit(&whitened, &measured, believed),
            Some(from) => fit_again(&whitened, &measured, believed, from),
        }
    }

    /// What is off, row by row.
    ///
    /// # Errors
    /// When the model has no answer.
    pub fn off<M: Model>(
        &self,
        model: &M,
        fitted: &Fit,
    ) -> Result<DVector<f64>, FitError<M::Error>> {
        let predicted = model.predicted(&fitted.parameters);
        Ok(predicted.map_err(FitError::Model)? - &self.values)
    }

    /// The fit with the drifts that are most likely with it.
    ///
    /// # Errors
    /// See [`FitError`].
    pub fn settled<M: Model>(
        &self,
        model: &M,
        believed: &Believed,
    ) -> Result<(Fit, Vec<Drift>), FitError<M::Error>> {
        let mut drifts = self.unknown();
        let mut fitted = self.fit(model, believed, &drifts, &[], None)?;
        for _ in 0..AGAIN {
            if drifts.is_empty() {
                break;
            }
            drifts = self.drifts(&self.off(model, &fitted)?);
            let again = self.fit(model, believed, &drifts, &[], Some(&fitted))?;
            let evaluations = fitted.evaluations + again.evaluations;
            fitted = Fit {
                evaluations,
                ..again
            };
        }
        Ok((fitted, drifts))
    }
}

#[cfg(test)]
mod tests;
