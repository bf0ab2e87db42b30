//! What is believed of parameters before anything is measured. Knows no chambers.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

/// What was believed of the parameters before anything was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Believed {
    /// Where they are believed to be; the search starts there unless somebody knows better.
    pub start: DVector<f64>,
    /// What these rows make of the way from there is believed to be nothing to within one each, independently.
    rows: DMatrix<f64>,
    /// What is known of them by that: the inverse of their covariance.
    known: DMatrix<f64>,
}

impl Believed {
    /// Parameters that are off by themselves, by these standard deviations; infinite where nothing is believed.
    #[must_use]
    pub fn apart(start: DVector<f64>, deviations: &DVector<f64>) -> Self {
        let finite = deviations.iter().enumerate().filter(|(_, d)| d.is_finite());
        let finite: Vec<(usize, f64)> = finite.map(|(k, d)| (k, *d)).collect();
        let mut rows = DMatrix::zeros(finite.len(), start.len());
        for (row, (k, deviation)) in finite.into_iter().enumerate() {
            rows[(row, k)] = 1.0 / deviation;
        }
        Self {
            known: rows.tr_mul(&rows),
            start,
            rows,
        }
    }

    /// Parameters that are off together, with this covariance; none where it is no covariance.
    #[must_use]
    pub fn together(start: DVector<f64>, covariance: &DMatrix<f64>) -> Option<Self> {
        let factor: Cholesky<f64, Dyn> = covariance.clone().cholesky()?;
        let all = DMatrix::identity(start.len(), start.len());
        Some(Self {
            rows: factor.l().solve_lower_triangular(&all)?,
            known: factor.inverse(),
            start,
        })
    }

    /// How far parameters are from what is believed of them, in standard deviations that are independent of each other.
    #[must_use]
    pub fn off(&self, at: &DVector<f64>) -> DVector<f64> {
        &self.rows * (at - &self.start)
    }

    /// How [`off`](Self::off) moves with the parameters.
    #[must_use]
    pub const fn rows(&self) -> &DMatrix<f64> {
        &self.rows
    }

    /// The inverse of the covariance; zeros where nothing is believed.
    #[must_use]
    pub const fn known(&self) -> &DMatrix<f64> {
        &self.known
    }

    /// Whether something is believed of every parameter.
    #[must_use]
    pub fn is_of_all(&self) -> bool {
        self.rows.nrows() == self.start.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two of deviations 2 and 3 with a correlation of 0.5: the covariance 4, 3, 9, whose inverse by hand is
    /// 1/27 of 9, -3, 4. Of (2, 0) that makes 36/27, of (2, 3) 36/27 again.
    #[test]
    fn what_is_believed_together_is_the_inverse_by_hand() {
        let covariance = DMatrix::from_row_slice(2, 2, &[4.0, 3.0, 3.0, 9.0]);
        let start = DVector::from_column_slice(&[10.0, 20.0]);
        let believed = Believed::together(start, &covariance).expect("a covariance");
        for (known, by_hand) in believed.known().iter().zip([9.0, -3.0, -3.0, 4.0]) {
            assert!((known - by_hand / 27.0).abs() < 1e-14);
        }
        for at in [[12.0, 20.0], [12.0, 23.0]] {
            let off = believed.off(&DVector::from_column_slice(&at));
            assert!((off.norm_squared() - 36.0 / 27.0).abs() < 1e-14, "{off}");
        }
        let no_covariance = DMatrix::from_row_slice(2, 2, &[1.0, 2.0, 2.0, 1.0]);
        assert_eq!(Believed::together(DVector::zeros(2), &no_covariance), None);
    }

    #[test]
    fn what_is_believed_apart_is_so_together() {
        let start = DVector::from_column_slice(&[1.0, -1.0]);
        let deviations = DVector::from_column_slice(&[0.5, 4.0]);
        let apart = Believed::apart(start.clone(), &deviations);
        let squares = DMatrix::from_diagonal(&deviations.map(|d| d * d));
        let together = Believed::together(start.clone(), &squares).expect("a covariance");
        assert!((apart.known() - together.known()).amax() < 1e-14);
        assert!(apart.is_of_all());
        let nothing = Believed::apart(start, &DVector::from_element(2, f64::INFINITY));
        assert!(!nothing.is_of_all());
        assert_eq!(nothing.known().amax(), 0.0);
    }
}
