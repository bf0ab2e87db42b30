//! Against profiles that scipy followed.

use super::super::fit::fit;
use super::*;
use nalgebra::DMatrix;
use std::convert::Infallible;

const X: [f64; 5] = [0.5, 1.0, 2.0, 3.0, 5.0];
const Y: [f64; 5] = [0.55, 0.85, 1.30, 1.45, 1.72];
const DEVIATION: f64 = 0.15;

/// `y = a (1 - exp(-b x))`.
struct Rise;

impl Model for Rise {
    type Error = Infallible;

    fn predicted(&self, p: &DVector<f64>) -> Result<DVector<f64>, Infallible> {
        let each = X.iter().map(|x| p[0] * (1.0 - (-p[1] * x).exp()));
        Ok(DVector::from_iterator(X.len(), each))
    }

    fn slopes(&self, p: &DVector<f64>) -> Result<DMatrix<f64>, Infallible> {
        Ok(DMatrix::from_fn(X.len(), 2, |row, k| {
            let decay = (-p[1] * X[row]).exp();
            if k == 0 {
                1.0 - decay
            } else {
                p[0] * X[row] * decay
            }
        }))
    }
}

fn measured(values: &[f64], deviation: f64) -> Measured {
    Measured {
        values: DVector::from_column_slice(values),
        deviations: DVector::from_element(values.len(), deviation),
        may_stray: false,
        tolerance: 1e-13,
    }
}

/// Ends by scipy 1.17 (`least_squares` for the other parameter, `brentq` for a rise of 1.96 squared), in standard
/// deviations of the covariance: 1.6736 and 2.7932 of a, 1.6816 and 2.6310 of b. A twentieth of these is asked: the
/// others move twice only, and ends are looked for twice.
#[test]
fn ends_are_where_scipy_finds_them() {
    let measured = measured(&Y, DEVIATION);
    let believed = Believed::apart(
        DVector::from_column_slice(&[1.5, 0.7]),
        &DVector::from_element(2, f64::INFINITY),
    );
    let fitted = fit(&Rise, &measured, &believed).expect("fits");
    assert!((fitted.parameters[0] - 1.739_044_35).abs() < 1e-6);
    assert!((fitted.parameters[1] - 0.679_292_44).abs() < 1e-6);
    let found = ends(&Rise, &fitted, &measured, &believed, 2);
    for (ends, below, above) in [
        (found[0], 1.673_644, 2.793_194),
        (found[1], 1.681_628, 2.630_950),
    ] {
        assert!((ends.below / below - 1.0).abs() < 0.05, "{ends:?} {below}");
        assert!((ends.above / above - 1.0).abs() < 0.05, "{ends:?} {above}");
        assert!(!ends.is_beaten);
    }
}

/// The bowl of a straight model is what its covariance says, whatever is believed.
struct Straight;

impl Model for Straight {
    type Error = Infallible;

    fn predicted(&self, p: &DVector<f64>) -> Result<DVector<f64>, Infallible> {
        Ok(self.slopes(p)? * p)
    }

    fn slopes(&self, _: &DVector<f64>) -> Result<DMatrix<f64>, Infallible> {
        Ok(DMatrix::from_fn(X.len(), 2, |row, k| {
            if k == 0 { 1.0 } else { X[row] }
        }))
    }
}

#[test]
fn a_straight_model_has_the_ends_of_its_covariance() {
    let measured = measured(&Y, DEVIATION);
    for deviation in [0.2, f64::INFINITY] {
        let believed = Believed::apart(
            DVector::from_column_slice(&[0.3, 0.1]),
            &DVector::from_element(2, deviation),
        );
        let fitted = fit(&Straight, &measured, &believed).expect("fits");
        for ends in ends(&Straight, &fitted, &measured, &believed, 2) {
            assert!((ends.below - ONE_IN_FORTY).abs() < 1e-6, "{ends:?}");
            assert!((ends.above - ONE_IN_FORTY).abs() < 1e-6, "{ends:?}");
        }
    }
}

/// What was not the best fit is told.
#[test]
fn a_place_that_fits_better_is_told() {
    let measured = measured(&Y, DEVIATION);
    let believed = Believed::apart(DVector::zeros(2), &DVector::from_element(2, f64::INFINITY));
    let mut fitted = fit(&Straight, &measured, &believed).expect("fits");
    fitted.parameters[0] += 0.3;
    fitted.predicted = Straight
        .predicted(&fitted.parameters)
        .unwrap_or_else(|never| match never {});
    let found = ends(&Straight, &fitted, &measured, &believed, 2);
    assert!(found.iter().any(|ends| ends.is_beaten), "{found:?}");
}
