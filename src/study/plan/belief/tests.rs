//! Against closed forms and `numpy`.

use super::*;

/// A value with a deviation of 1 and a reading of slope 1 with an error of s: s² / (1 + s²) of the variance is left. So a
/// half width of nine of ten of 1.645 becomes 1.645 s / √(1 + s²).
#[test]
fn one_reading_of_one_value_leaves_what_the_closed_form_says() {
    let c = DVector::from_element(1, 1.0);
    for s in [0.1, 0.51, 1.0, 3.0] {
        let seen = Seen {
            slopes: DMatrix::from_element(1, 1, 1.0),
            errors: DMatrix::from_element(1, 1, s * s),
        };
        let belief = Belief::first(1);
        let left = s * s / (1.0 + s * s);
        assert!(
            (belief.after(&seen).variance(&c) - left).abs() < 1e-14,
            "{s}"
        );
        assert!(
            (belief.gained(&c, &seen) - (1.0 - left)).abs() < 1e-14,
            "{s}"
        );
    }
}

fn example() -> (DVector<f64>, Seen) {
    let seen = Seen {
        slopes: DMatrix::from_row_slice(2, 3, &[1.0, 0.5, 0.0, 0.2, -1.0, 0.7]),
        errors: DMatrix::from_row_slice(2, 2, &[0.25, 0.1, 0.1, 0.5]),
    };
    (DVector::from_column_slice(&[2.0, -1.0, 0.5]), seen)
}

/// The other way of writing it, cᵀ (1 + Sᵀ R⁻¹ S)⁻¹ c, by `numpy` 2.
#[test]
fn two_readings_with_a_common_error_leave_what_numpy_says() {
    let (c, seen) = example();
    let belief = Belief::first(3);
    assert!((belief.variance(&c) - 5.25).abs() < 1e-12);
    let left = belief.after(&seen).variance(&c);
    assert!((left - 1.851_913_477_537_437_7).abs() < 1e-12, "{left}");
    assert!((5.25 - belief.gained(&c, &seen) - left).abs() < 1e-12);
}

/// By linear algebra: readings one after the other, where their errors have nothing in common, tell what they tell
/// together; and what each value contributes adds up.
#[test]
fn one_after_the_other_is_both_at_once() {
    let (c, mut seen) = example();
    seen.errors.fill_lower_triangle(0.0, 1);
    seen.errors.fill_upper_triangle(0.0, 1);
    let row = |k: usize| Seen {
        slopes: seen.slopes.rows(k, 1).into_owned(),
        errors: seen.errors.view((k, k), (1, 1)).into_owned(),
    };
    let both = Belief::first(3).after(&seen);
    let by_turns = Belief::first(3).after(&row(1)).after(&row(0));
    assert!((both.variance(&c) - by_turns.variance(&c)).abs() < 1e-12);
    assert!((both.contributions(&c).sum() - both.variance(&c)).abs() < 1e-12);
}

/// No reading makes anything less sure, and two bring no less than either of them.
#[test]
fn more_readings_never_bring_less() {
    let (_, seen) = example();
    let rows = |k: usize| Seen {
        slopes: seen.slopes.rows(k, 1).into_owned(),
        errors: seen.errors.view((k, k), (1, 1)).into_owned(),
    };
    let belief = Belief::first(3);
    for k in 0..64_u32 {
        let z = |d| crate::study::certainty::points::normal(k, d, 7);
        let c = DVector::from_fn(3, |d, _| z(u32::try_from(d).expect("three")));
        let both = belief.gained(&c, &seen);
        for one in [0, 1] {
            let alone = belief.gained(&c, &rows(one));
            assert!(alone >= 0.0, "{c}");
            assert!(both >= alone - 1e-12, "{c}");
        }
    }
}

/// What comes of two values alike, each seen by a thermometer of its own with an error of s = 0.5: of the one seen twice
/// 1/(1 + 2/s²) is left and of the other all of it, 1.111 together; of both seen once twice 1/(1 + 1/s²), 0.4.
#[test]
fn the_same_thermometer_again_brings_less_than_another() {
    let c = DVector::from_column_slice(&[1.0, 1.0]);
    let left = |slopes: [f64; 4]| {
        let seen = Seen {
            slopes: DMatrix::from_row_slice(2, 2, &slopes),
            errors: DMatrix::from_diagonal_element(2, 2, 0.25),
        };
        Belief::first(2).after(&seen).variance(&c)
    };
    let (again, another) = (left([1.0, 0.0, 1.0, 0.0]), left([1.0, 0.0, 0.0, 1.0]));
    assert!((again - (1.0 / 9.0 + 1.0)).abs() < 1e-12, "{again}");
    assert!((another - 0.4).abs() < 1e-12, "{another}");
}
