//! What measurements say of parameters, and what they can't tell apart.

use nalgebra::{DMatrix, DVector, SVD};

/// A parameter of which at least half of the variance is gone counts as identified: what is left of its standard
/// deviation is at most this.
pub const IDENTIFIED: f64 = std::f64::consts::FRAC_1_SQRT_2;
/// Estimates that hang together more than this are not told apart, where neither is known well by itself.
pub const TOGETHER: f64 = 0.7;

/// A way in which parameters can move together, and what is left of the doubt along it.
#[derive(Debug, Clone, PartialEq)]
pub struct Direction {
    /// How far each parameter moves, in its own standard deviations; together of length 1, the largest positive.
    pub shares: DVector<f64>,
    /// What is left of the standard deviation along it: 1 where nothing was learned.
    pub left: f64,
}

/// The ways in which parameters move together that measurements see apart, the best seen first. `slopes` are in
/// standard deviations of measurements a standard deviation of what is believed of each parameter.
#[must_use]
pub fn directions(slopes: &DMatrix<f64>) -> Vec<Direction> {
    let parameters = slopes.ncols();
    // Rows of nothing, so that ways that no measurement sees are among them.
    let rows = slopes.nrows().max(parameters);
    let square = slopes.clone().resize_vertically(rows, 0.0);
    let SVD {
        v_t,
        singular_values,
        ..
    } = square.svd(false, true);
    let Some(v_t) = v_t else { return Vec::new() };
    let mut found: Vec<Direction> = (0..parameters)
        .map(|k| {
            let mut shares = v_t.row(k).transpose();
            if shares[shares.iamax()] < 0.0 {
                shares.neg_mut();
            }
            Direction {
                shares,
                left: 1.0 / singular_values[k].hypot(1.0),
            }
        })
        .collect();
    found.sort_by(|a, b| a.left.total_cmp(&b.left));
    found
}

/// Two estimates that hang together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Which,
    pub one: usize,
    /// and which.
    pub other: usize,
    /// How much: -1 to 1. Negative where more of one makes up for less of the other.
    pub correlation: f64,
}

/// Correlations of a covariance.
#[must_use]
pub fn correlations(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    DMatrix::from_fn(covariance.nrows(), covariance.ncols(), |i, j| {
        covariance[(i, j)] / (covariance[(i, i)] * covariance[(j, j)]).sqrt()
    })
}

/// The pairs that are not told apart, those that hang together most first. `covariance` is in standard deviations of
/// what was believed before.
#[must_use]
pub fn not_told_apart(covariance: &DMatrix<f64>) -> Vec<Pair> {
    let correlations = correlations(covariance);
    let is_vague = |k: usize| covariance[(k, k)].sqrt() > 0.5;
    let mut found = Vec::new();
    for one in 0..covariance.nrows() {
        for other in one + 1..covariance.nrows() {
            let correlation = correlations[(one, other)];
            if correlation.abs() > TOGETHER && is_vague(one) && is_vague(other) {
                found.push(Pair {
                    one,
                    other,
                    correlation,
                });
            }
        }
    }
    found.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
    found
}

#[cfg(test)]
mod tests;
