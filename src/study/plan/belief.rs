//! What is believed of values in doubt, and what readings would make of that: linear-Gaussian design.
//!
//! Values are counted in their own standard deviations z, at first independent, so that their covariance P is the
//! unit matrix. A set of readings with slopes S (K a standard deviation) and covariance R of their errors (K²) leaves
//! P − P Sᵀ (S P Sᵀ + R)⁻¹ S P, whatever they will show. Of a result with slopes c that takes away
//! cᵀ P Sᵀ (S P Sᵀ + R)⁻¹ S P c of its variance cᵀ P c; with P the unit matrix what is left is cᵀ (1 + Sᵀ R⁻¹ S)⁻¹ c.
//!
//! One value and one reading: prior deviation 1, slope 1 K, error 1 K: half of the variance is left, 1/(1 + 1). Source:
//! Rasmussen & Williams, Gaussian Processes for Machine Learning (2006), equations 2.8 and 2.11, which hold for any
//! linear model.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// What is believed of values in doubt.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    covariance: DMatrix<f64>,
}

/// A set of readings: their slopes, a row each, K a standard deviation of each value; and the covariance of their
/// errors, K².
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Slopes.
    pub slopes: DMatrix<f64>,
    /// Covariance of errors; positive definite.
    pub errors: DMatrix<f64>,
}

impl Belief {
    /// So many values, each as doubtful as its key says.
    #[must_use]
    pub fn first(values: usize) -> Self {
        Self {
            covariance: DMatrix::identity(values, values),
        }
    }

    /// Values of which this is known, their variances and covariances in their own standard deviations.
    #[must_use]
    pub const fn of(covariance: DMatrix<f64>) -> Self {
        Self { covariance }
    }

    /// The variance of what moves with the values by these slopes.
    #[must_use]
    pub fn variance(&self, slopes: &DVector<f64>) -> f64 {
        self.covariance_of(slopes, slopes)
    }

    /// The covariance of two such things.
    #[must_use]
    pub fn covariance_of(&self, one: &DVector<f64>, other: &DVector<f64>) -> f64 {
        one.dot(&(&self.covariance * other))
    }

    /// The variance of each value, 1 at first.
    #[must_use]
    pub fn of_values(&self) -> DVector<f64> {
        self.covariance.diagonal()
    }

    /// How each value contributes to the variance of what moves with them by these slopes: together they are it.
    #[must_use]
    pub fn contributions(&self, slopes: &DVector<f64>) -> DVector<f64> {
        slopes.component_mul(&(&self.covariance * slopes))
    }

    /// How much of the variance of what moves by these slopes readings take away; none where their errors are no
    /// covariance.
    #[must_use]
    pub fn gained(&self, slopes: &DVector<f64>, seen: &Seen) -> f64 {
        let with = &seen.slopes * (&self.covariance * slopes);
        self.of_readings(seen)
            .map_or(0.0, |together| with.dot(&together.solve(&with)).max(0.0))
    }

    /// What is believed after readings.
    #[must_use]
    pub fn after(&self, seen: &Seen) -> Self {
        let with = &seen.slopes * &self.covariance;
        let Some(together) = self.of_readings(seen) else {
            return self.clone();
        };
        let left = &self.covariance - with.transpose() * together.solve(&with);
        // Rounding must not part the two halves.
        Self {
            covariance: 0.5 * (&left + left.transpose()),
        }
    }

    /// The covariance of what readings will show.
    fn of_readings(&self, seen: &Seen) -> Option<Cholesky<f64, Dyn>> {
        let shown = &seen.slopes * &self.covariance * seen.slopes.transpose();
        (shown + &seen.errors).cholesky()
    }
}

#[cfg(test)]
mod tests;
