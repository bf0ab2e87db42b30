//! Against what is known of the least of normal variables.

use super::*;
use std::f64::consts::PI;

fn of(middles_K: &[f64], slopes: &[f64], bends: &[f64]) -> Least {
    let count = middles_K.len();
    let values = slopes.len() / count;
    let margins = Bent {
        slopes: DMatrix::from_row_slice(count, values, slopes),
        bends: DMatrix::from_row_slice(count, values, bends),
    };
    Least::of(&Belief::first(values), middles_K, &margins)
}

/// The lesser of two independent standard normal variables has the variance 1 - 1/π (Nadarajah & Kotz 2008, IEEE
/// Transactions on VLSI Systems 16, 210-212), and moves half with each of them.
#[test]
fn two_alike_share_it() {
    let least = of(&[0.0; 2], &[1.0, 0.0, 0.0, 1.0], &[0.0; 4]);
    for k in 0..2 {
        assert!((least.chances[k] - 0.5).abs() < 0.002, "{least:?}");
        assert!((least.slopes[k] - 0.5).abs() < 0.002, "{least:?}");
    }
    let variance = 0.5 + least.bend_K2;
    assert!((variance - (1.0 - 1.0 / PI)).abs() < 0.003, "{variance}");
}

/// Where one is always the least, it is all there is; and so it is where both move as one.
#[test]
fn what_never_decides_does_not_matter() {
    for (middles_K, slopes) in [
        ([0.0, 40.0], [3.0, 1.0, 0.0, 5.0]),
        ([0.0, 1.0], [3.0, 1.0, 3.0, 1.0]),
    ] {
        let least = of(&middles_K, &slopes, &[0.0; 4]);
        assert!((least.chances[0] - 1.0).abs() < 1e-12, "{least:?}");
        assert!((least.slopes[0] - 3.0).abs() < 1e-12, "{least:?}");
        assert!(least.bend_K2 < 0.05, "{least:?}");
    }
}

/// c z + q z² has the variance c² + 2 q², of which a straight line tells c².
#[test]
fn what_bends_is_less_sure_than_its_slope_says() {
    let least = of(&[0.0], &[2.0], &[0.5]);
    assert!((least.bend_K2 - 0.5).abs() < 0.02, "{least:?}");
}
