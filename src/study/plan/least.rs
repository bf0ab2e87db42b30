//! The least of several margins as one thing that moves linearly.
//!
//! Which station comes nearest to its limit differs with the values in doubt, so the least margin is not linear. But the
//! covariance of the least of jointly normal margins with anything normal beside them is exactly that of their mean,
//! each weighted with its chance of being the least (Siegel 1993, Journal of the American Statistical Association 88,
//! 77-80). So with those weights readings are judged by the best straight line through what they show; what no straight
//! line tells stays.

use super::belief::Belief;
use super::slopes::Bent;
use crate::study::certainty::points;
use nalgebra::{DMatrix, DVector};

/// Points by which chances and the variance are found: of margins that lie 4 K apart and ± 7 K wide, within 0.01 K.
const POINTS: u32 = 1 << 13;

/// The least of margins.
#[derive(Debug, Clone, PartialEq)]
pub struct Least {
    /// How it moves with each value on average.
    pub slopes: DVector<f64>,
    /// The variance that no straight line through readings tells, K².
    pub bend_K2: f64,
    /// The chance of each margin of being the least.
    pub chances: Vec<f64>,
}

impl Least {
    /// Of margins that are so much in the middle, K, and move so.
    #[must_use]
    pub fn of(belief: &Belief, middles_K: &[f64], margins: &Bent) -> Self {
        let count = middles_K.len();
        let rows: Vec<DVector<f64>> = (0..count).map(|k| margins.slopes_of(k)).collect();
        let (shifts_K, bent) = margins.added(&belief.of_values());
        let middles_K = DVector::from_column_slice(middles_K) + shifts_K;
        let straight = DMatrix::from_fn(count, count, |i, j| {
            belief.covariance_of(&rows[i], &rows[j])
        });
        let covariance = straight + bent;
        // Limits share a material's doubt, and margins may move as one: no triangle, but a root.
        let eigen = covariance.symmetric_eigen();
        let roots = eigen.eigenvalues.map(|v| v.max(0.0).sqrt());
        let root = eigen.eigenvectors * DMatrix::from_diagonal(&roots);
        let (mut met, mut sum, mut squares) = (vec![0_u32; count], 0.0, 0.0);
        for point in 0..POINTS {
            let dimensions = (0_u32..).take(count);
            let z = DVector::from_iterator(count, dimensions.map(|d| points::normal(point, d, 1)));
            let margins_K = &middles_K + &root * z;
            let (at, least_K) = margins_K.argmin();
            met[at] += 1;
            sum += least_K;
            squares += least_K * least_K;
        }
        let n = f64::from(POINTS);
        let variance_K2 = squares / n - (sum / n).powi(2);
        let chances: Vec<f64> = met.into_iter().map(|k| f64::from(k) / n).collect();
        let mean = rows.iter().zip(&chances);
        let none = DVector::zeros(margins.slopes.ncols());
        let slopes = mean.fold(none, |mean, (row, chance)| mean + row * *chance);
        Self {
            bend_K2: (variance_K2 - belief.variance(&slopes)).max(0.0),
            slopes,
            chances,
        }
    }
}

#[cfg(test)]
mod tests;
