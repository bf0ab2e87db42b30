//! Least squares with what was believed before: any model with a handful of parameters. Knows no chambers.
//!
//! What is minimised is the sum of the squares of what measurements and model differ by, each in its own standard
//! deviations, and of what parameters have moved from where they were believed to be, each in theirs. The steps are
//! those of the crate `levenberg-marquardt`, MINPACK's method; a second sum of own making would be the same thing with
//! fewer years of use.

use super::believed::Believed;
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt, TerminationReason};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};
use std::cell::RefCell;

/// What a model says is measured, and how that changes with its parameters.
pub trait Model {
    /// Why it may have no answer.
    type Error;

    /// What would be measured with these parameters.
    ///
    /// # Errors
    /// When the model has no answer there.
    fn predicted(&self, parameters: &DVector<f64>) -> Result<DVector<f64>, Self::Error>;

    /// Its slopes: a row for each measurement, a column for each parameter.
    ///
    /// # Errors
    /// When the model has no answer there.
    fn slopes(&self, parameters: &DVector<f64>) -> Result<DMatrix<f64>, Self::Error>;

    /// What would be measured with each of these parameters, in their order: for a model that has many answers at
    /// the price of one.
    fn each_predicted(
        &self,
        parameters: &[DVector<f64>],
    ) -> Vec<Result<DVector<f64>, Self::Error>> {
        parameters.iter().map(|p| self.predicted(p)).collect()
    }
}

/// What was measured, and how well.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Values.
    pub values: DVector<f64>,
    /// Their standard deviations.
    pub deviations: DVector<f64>,
    /// Whether one that lies far from all others counts less.
    pub may_stray: bool,
    /// How exactly the best fit is looked for: relative, of squares and of parameters. Less than the model's own
    /// noise is never reached.
    pub tolerance: f64,
}

/// What a fit comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The parameters.
    pub parameters: DVector<f64>,
    /// What would be measured with them.
    pub predicted: DVector<f64>,
    /// The slopes there.
    pub slopes: DMatrix<f64>,
    /// By how much each measurement counts: 1, or less where it strays.
    pub weights: DVector<f64>,
    /// Covariance of the parameters, by the slopes there.
    pub covariance: DMatrix<f64>,
    /// How often the model was asked.
    pub evaluations: usize,
    /// Whether the search came to rest.
    pub is_settled: bool,
}

/// Why nothing was fitted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FitError<E> {
    /// The model has no answer.
    #[error(transparent)]
    Model(E),
    /// The parameters can't be told apart at all: nothing is believed of them, and nothing measured says.
    #[error("what was measured does not say where these parameters are")]
    Singular,
}

/// Degrees of freedom of the errors of measurements that may stray: Student's distribution with 4 of them has one
/// in a hundred beyond 4.6 standard deviations, as careless readings have, and leaves what lies within two as it is.
const STUDENT: f64 = 4.0;
/// Before, rounds in which measurements may be so many times as far off before they count for less: the first fit,
/// which one reading may have bent, is straightened before good readings beside it could be given up for it.
const PATIENT: [f64; 4] = [16.0, 8.0, 4.0, 2.0];
/// So often weights are worked out anew at most,
const ROUNDS: usize = 25;
/// until none of them changes by more than this.
const SAME_WEIGHT: f64 = 1e-2;

/// What counts for less than this strays: it is more than some three standard deviations off.
pub const STRAYS: f64 = 0.38;

/// Fits a model's parameters.
///
/// Where something strays, there may be more than one best fit nearby: one that follows the stray and gives up what
/// contradicts it, and one that does not. They are looked for from both sides, from the fit to everything and from what
/// was believed, and the better one is taken.
///
/// # Errors
/// See [`FitError`].
pub fn fit<M: Model>(
    model: &M,
    measured: &Measured,
    believed: &Believed,
) -> Result<Fit, FitError<M::Error>> {
    let everything = DVector::from_element(measured.values.len(), 1.0);
    let found = search(
        model,
        measured,
        believed,
        Start {
            parameters: believed.start.clone(),
            weights: everything,
        },
        &PATIENT,
    )?;
    if found.weights.iter().all(|weight| *weight >= STRAYS) {
        return Ok(found);
    }
    let first = model.predicted(&believed.start).map_err(FitError::Model)?;
    let near = weights_of(measured, &first, 1.0);
    let from = Start {
        parameters: believed.start.clone(),
        weights: near,
    };
    let other = search(model, measured, believed, from, &[])?;
    let evaluations = found.evaluations + other.evaluations;
    let better = if other.unlikely(measured, believed) < found.unlikely(measured, believed) {
        other
    } else {
        found
    };
    Ok(Fit {
        evaluations,
        ..better
    })
}

/// The same from a fit to much the same measurements, whose weights are believed too.
///
/// # Errors
/// See [`FitError`].
pub fn fit_again<M: Model>(
    model: &M,
    measured: &Measured,
    believed: &Believed,
    from: &Fit,
) -> Result<Fit, FitError<M::Error>> {
    let from = Start {
        parameters: from.parameters.clone(),
        weights: from.weights.clone(),
    };
    search(model, measured, believed, from, &[])
}

/// Where a search starts.
struct Start {
    parameters: DVector<f64>,
    weights: DVector<f64>,
}

impl Fit {
    /// Minus twice the logarithm of how likely measurements and parameters are together, but for a constant.
    fn unlikely(&self, measured: &Measured, believed: &Believed) -> f64 {
        let off = (&self.predicted - &measured.values).component_div(&measured.deviations);
        let strays = off
            .iter()
            .map(|off| (STUDENT + 1.0) * (off * off / STUDENT).ln_1p());
        strays.sum::<f64>() + believed.off(&self.parameters).norm_squared()
    }
}

/// Weights and parameters in turn until neither changes.
fn search<M: Model>(
    model: &M,
    measured: &Measured,
    believed: &Believed,
    from: Start,
    patient: &[f64],
) -> Result<Fit, FitError<M::Error>> {
    let Start {
        parameters: mut start,
        mut weights,
    } = from;
    let mut evaluations = 0;
    for round in 0.. {
        let problem = Problem {
            model,
            measured,
            believed,
            weights: &weights,
            at: start,
            error: RefCell::new(None),
        };
        let (problem, report) = LevenbergMarquardt::new()
            .with_patience(200)
            .with_tol(measured.tolerance)
            .with_stepbound(first_step(believed))
            .minimize(problem);
        evaluations += report.number_of_evaluations;
        if let Some(error) = problem.error.into_inner() {
            return Err(FitError::Model(error));
        }
        let parameters = problem.at;
        let predicted = model.predicted(&parameters).map_err(FitError::Model)?;
        let patience = patient.get(round).copied().unwrap_or(1.0);
        let again = weights_of(measured, &predicted, patience);
        let moved = (&again - &weights).amax();
        let is_same = moved < SAME_WEIGHT && weights_of(measured, &predicted, 1.0) == again;
        if !measured.may_stray || is_same || round >= ROUNDS {
            let slopes = model.slopes(&parameters).map_err(FitError::Model)?;
            let covariance =
                covariance(&slopes, measured, believed, &weights).ok_or(FitError::Singular)?;
            return Ok(Fit {
                is_settled: (is_same || !measured.may_stray)
                    && !matches!(
                        report.termination,
                        TerminationReason::LostPatience
                            | TerminationReason::Numerical(_)
                            | TerminationReason::User(_)
                    ),
                parameters,
                predicted,
                slopes,
                weights,
                covariance,
                evaluations,
            });
        }
        weights = again;
        start = parameters;
    }
    unreachable!("the last round returns")
}

/// The covariance of parameters: the inverse of what is known of them, from before and by measurement.
#[must_use]
pub fn covariance(
    slopes: &DMatrix<f64>,
    measured: &Measured,
    believed: &Believed,
    weights: &DVector<f64>,
) -> Option<DMatrix<f64>> {
    let mut scaled = slopes.clone();
    for (k, mut row) in scaled.row_iter_mut().enumerate() {
        row *= weights[k].sqrt() / measured.deviations[k];
    }
    let known = scaled.tr_mul(&scaled) + believed.known();
    // Parameters differ by many powers of ten where nothing is believed of them.
    let scale = DVector::from_iterator(known.nrows(), known.diagonal().iter().map(|d| d.sqrt()));
    if scale.iter().any(|s| !(*s > 0.0 && s.is_finite())) {
        return None;
    }
    let mut even = known;
    for i in 0..even.nrows() {
        for j in 0..even.ncols() {
            even[(i, j)] /= scale[i] * scale[j];
        }
    }
    let mut inverse = even.cholesky()?.inverse();
    for i in 0..inverse.nrows() {
        for j in 0..inverse.ncols() {
            inverse[(i, j)] /= scale[i] * scale[j];
        }
    }
    Some(inverse)
}

/// How much measurements count by what they are off. None counts for more than it says it is worth.
fn weights_of(measured: &Measured, predicted: &DVector<f64>, patience: f64) -> DVector<f64> {
    let off = (predicted - &measured.values).component_div(&measured.deviations) / patience;
    off.map(|off| {
        if measured.may_stray {
            ((STUDENT + 1.0) / (STUDENT + off * off)).min(1.0)
        } else {
            1.0
        }
    })
}

/// How far the first step may go, in lengths of the start. Where nothing is believed, MINPACK's own hundred may lead
/// to where the model has no slope, and the search ends there; beliefs call it back.
fn first_step(believed: &Believed) -> f64 {
    if believed.is_of_all() { 100.0 } else { 1.0 }
}

/// Parameters that were left where they are while others were fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Others {
    /// How what is measured moves with them: a row for each measurement, a column for each of them.
    pub slopes: DMatrix<f64>,
    /// The covariance of what is believed of them,
    pub covariance: DMatrix<f64>,
    /// and how that hangs together with what is believed of the fitted ones: a row for each of the fitted.
    pub with_fitted: DMatrix<f64>,
}

/// The covariance of parameters that were fitted while others were left where they are: what these are off is taken for
/// the fitted ones' doing.
///
/// With the gain G of the fit, the others' slopes S and the true ways z of the fitted and y of the others, the fit is off
/// by G S y and by what its own covariance says, in which z counts by its share 1 - G F = C P (C the covariance of the fit, P
/// what was known before): where z and y hang together, both together are smaller or larger.
#[must_use]
pub fn with_others(
    fitted: &Fit,
    measured: &Measured,
    believed: &Believed,
    others: &Others,
) -> DMatrix<f64> {
    let mut gain = &fitted.covariance * fitted.slopes.transpose();
    for (k, mut column) in gain.column_iter_mut().enumerate() {
        column *= fitted.weights[k] / measured.deviations[k].powi(2);
    }
    let taken = gain * &others.slopes;
    let own = &fitted.covariance * believed.known();
    let crossed = own * &others.with_fitted * taken.transpose();
    &fitted.covariance + &taken * &others.covariance * taken.transpose()
        - &crossed
        - crossed.transpose()
}

struct Problem<'a, M: Model> {
    model: &'a M,
    measured: &'a Measured,
    believed: &'a Believed,
    weights: &'a DVector<f64>,
    at: DVector<f64>,
    error: RefCell<Option<M::Error>>,
}

impl<M: Model> Problem<'_, M> {
    fn kept<T>(&self, found: Result<T, M::Error>) -> Option<T> {
        found.map_err(|e| *self.error.borrow_mut() = Some(e)).ok()
    }
}

impl<M: Model> LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_, M> {
    type ParameterStorage = Owned<f64, Dyn>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.at.copy_from(x);
    }

    fn params(&self) -> DVector<f64> {
        self.at.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let predicted = self.kept(self.model.predicted(&self.at))?;
        let m = self.measured;
        let off = (0..predicted.len())
            .map(|k| self.weights[k].sqrt() * (predicted[k] - m.values[k]) / m.deviations[k]);
        let moved = self.believed.off(&self.at);
        let all: Vec<f64> = off.chain(moved.iter().copied()).collect();
        Some(DVector::from_vec(all))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let slopes = self.kept(self.model.slopes(&self.at))?;
        let m = self.measured;
        let rows = slopes.nrows();
        let beliefs = self.believed.rows();
        let mut all = DMatrix::zeros(rows + beliefs.nrows(), slopes.ncols());
        for k in 0..rows {
            let share = self.weights[k].sqrt() / m.deviations[k];
            all.row_mut(k).copy_from(&(slopes.row(k) * share));
        }
        all.rows_mut(rows, beliefs.nrows()).copy_from(beliefs);
        Some(all)
    }
}

#[cfg(test)]
mod tests;
