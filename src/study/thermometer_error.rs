//! How far off thermometers are.

use crate::keys::distribution::ONE_IN_FORTY;
use nalgebra::DMatrix;

/// The part of a reading's deviation that stays the same as long as the thermometer stays where it is: how it is made,
/// how it touches. A hundred of its readings are no better than this (common practice, no source).
pub const OFFSET: f64 = 0.8;
/// The part that is another each half hour; both together are the deviation.
pub const REST: f64 = 0.6;

/// The covariance of errors, K², of readings by thermometers, each counted by a number of its own, that may be so far off,
/// K: one in forty further on either side. Readings of one lie half an hour apart or more.
#[must_use]
pub fn errors(thermometers: &[usize], within_K: &[f64]) -> DMatrix<f64> {
    let count = thermometers.len();
    DMatrix::from_fn(count, count, |i, j| {
        let offset = if thermometers[i] == thermometers[j] {
            OFFSET * OFFSET
        } else {
            0.0
        };
        let rest = if i == j { REST * REST } else { 0.0 };
        let deviations_K = within_K[i] / ONE_IN_FORTY * within_K[j] / ONE_IN_FORTY;
        deviations_K * (offset + rest)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::run::Reading;
    use crate::study::plan::belief::{Belief, Seen};
    use nalgebra::DVector;

    /// One value, slope 1 K: what of its deviation is left after readings.
    fn left(thermometers: &[usize]) -> f64 {
        let seen = Seen {
            slopes: DMatrix::from_element(thermometers.len(), 1, 1.0),
            errors: errors(thermometers, &vec![Reading::WITHIN_K; thermometers.len()]),
        };
        let belief = Belief::first(1).after(&seen);
        belief.variance(&DVector::from_element(1, 1.0)).sqrt()
    }

    /// One reading is as far off as `calibrate` takes it to be: s = 1 K / 1.96, s² / (1 + s²) of the variance is left.
    #[test]
    fn one_reading_is_as_good_as_is_said_of_readings() {
        let s = Reading::WITHIN_K / ONE_IN_FORTY;
        let expected = s / s.hypot(1.0);
        assert!((left(&[0]) - expected).abs() < 1e-12, "{}", left(&[0]));
    }

    /// Of a hundred readings of one thermometer its offset is left; another thermometer brings more than all of them.
    #[test]
    fn a_hundred_readings_of_one_thermometer_are_not_a_hundred() {
        let hundred = left(&[0; 100]);
        let s = OFFSET * Reading::WITHIN_K / ONE_IN_FORTY;
        let only_offset = s / s.hypot(1.0);
        assert!(hundred > only_offset, "{hundred} {only_offset}");
        assert!(hundred < 1.02 * only_offset, "{hundred} {only_offset}");
        assert!(left(&[0, 1]) < left(&[0, 0]));
        assert!(left(&[0, 1]) < hundred);
    }
}
