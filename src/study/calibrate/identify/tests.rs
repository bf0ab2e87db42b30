//! Two resistances and a capacity: what of them can be told is known in closed form.

use super::*;

/// A body of 100 J/K behind 2 and 5 K/W: its time constant is 142.857 s.
const R1: f64 = 2.0;
const R2: f64 = 5.0;
const C: f64 = 100.0;

/// The body's temperature after a step of the air on one side by 10 K, the other side staying: it goes to its share of
/// the step with one time constant.
fn temperature_K(t_s: f64, r1: f64, r2: f64, c: f64) -> f64 {
    let tau_s = c / (1.0 / r1 + 1.0 / r2);
    10.0 * (r2 / (r1 + r2)) * (1.0 - (-t_s / tau_s).exp())
}

/// Slopes by the logarithm of each, ten per cent being a standard deviation, over readings good to 0.1 K.
fn slopes() -> DMatrix<f64> {
    let steps = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    DMatrix::from_fn(60, 3, |row, k| {
        #[expect(clippy::cast_precision_loss, reason = "sixty")]
        let t_s = 10.0 * (row + 1) as f64;
        let at = |by: f64| {
            let factor = |j: usize| f64::exp(by * steps[k][j]);
            temperature_K(t_s, R1 * factor(0), R2 * factor(1), C * factor(2))
        };
        let (deviation, reading_K) = (0.1, 0.1);
        deviation / reading_K * (at(1e-5) - at(-1e-5)) / 2e-5
    })
}

/// The time constant and the ratio of the resistances are seen; that all resistances rise and the capacity falls by
/// one factor is not.
#[test]
fn two_resistances_and_a_capacity_are_not_told_apart_but_two_things_of_them_are() {
    assert!((C / (1.0 / R1 + 1.0 / R2) - 142.857).abs() < 1e-3);
    assert!((R1 / R2 - 0.4_f64).abs() < 1e-12);
    let found = directions(&slopes());
    assert_eq!(found.len(), 3);
    assert!(found[1].left < IDENTIFIED, "{found:?}");
    // The time constant rises with each resistance by the other's share, with the capacity as it is; the ratio with
    // one and against the other. Neither changes along what is not seen.
    for seen in [[5.0 / 7.0, 2.0 / 7.0, 1.0], [1.0, -1.0, 0.0]] {
        let along: f64 = seen.iter().zip(&found[2].shares).map(|(a, b)| a * b).sum();
        assert!(along.abs() < 1e-6, "{along}");
    }
    assert!((found[2].left - 1.0).abs() < 1e-6, "{found:?}");
    // Of length 1: the same for each, the capacity the other way.
    let third = 1.0 / 3.0_f64.sqrt();
    let sign = found[2].shares[0].signum();
    for (share, expected) in found[2].shares.iter().zip([third, third, -third]) {
        assert!(
            (share * sign - expected).abs() < 1e-6,
            "{}",
            found[2].shares
        );
    }
}

#[test]
fn what_hangs_together_is_named_in_pairs() {
    let slopes = slopes();
    let known = slopes.tr_mul(&slopes) + DMatrix::identity(3, 3);
    let covariance = known.try_inverse().expect("regular");
    let pairs = not_told_apart(&covariance);
    assert_eq!(pairs.len(), 3, "{pairs:?}");
    let of = |one, other| {
        let pair = pairs.iter().find(|p| (p.one, p.other) == (one, other));
        pair.expect("named").correlation
    };
    assert!(of(0, 1) > 0.9);
    assert!(of(0, 2) < -0.9);
    assert!(of(1, 2) < -0.9);
}

#[test]
fn what_no_measurement_sees_is_among_the_directions() {
    let one = DMatrix::from_row_slice(1, 3, &[3.0, 0.0, 4.0]);
    let found = directions(&one);
    assert_eq!(found.len(), 3);
    // 1 / sqrt(1 + 5²).
    assert!((found[0].left - 26.0_f64.sqrt().recip()).abs() < 1e-12);
    assert!((found[1].left - 1.0).abs() < 1e-12);
}
