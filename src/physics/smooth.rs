//! Rounded corners: replacements for steps, kinks and vertical tangents, exact outside a stated
//! band and twice continuously differentiable everywhere.

/// Rises from 0 at `x <= 0` to 1 at `x >= 1` by 10 x^3 - 15 x^4 + 6 x^5.
#[inline]
pub(crate) fn step(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * x * (10.0 + x * (6.0 * x - 15.0))
}

/// [`step`] and its slope.
#[inline]
pub(crate) fn step_with_slope(x: f64) -> (f64, f64) {
    let x = x.clamp(0.0, 1.0);
    let rest = 1.0 - x;
    (step(x), 30.0 * x * x * rest * rest)
}

/// |x| outside `[-band, band]`; inside, the even polynomial that meets it with equal value, slope
/// and curvature. At zero it is 3/8 of `band`.
#[inline]
pub(crate) fn abs(x: f64, band: f64) -> f64 {
    let size = x.abs();
    if size >= band {
        return size;
    }
    let r = x / band;
    let r2 = r * r;
    band * (0.375 + r2 * (0.75 - 0.125 * r2))
}

/// [`abs`] and its slope.
#[inline]
pub(crate) fn abs_with_slope(x: f64, band: f64) -> (f64, f64) {
    if x.abs() >= band {
        return (x.abs(), x.signum());
    }
    let r = x / band;
    let r2 = r * r;
    (
        band * (0.375 + r2 * (0.75 - 0.125 * r2)),
        r * (1.5 - 0.5 * r2),
    )
}

/// Square root of x from `band` upwards, 0 at and below zero, rounded between; and its slope.
#[inline]
pub(crate) fn sqrt_with_slope(x: f64, band: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 0.0);
    }
    let root = x.sqrt();
    let (share, rise) = step_with_slope(x / band);
    (root * share, 0.5 * share / root + root * rise / band)
}

/// 0 at and below zero, x - band/2 from `band` upwards, and between them the polynomial of fourth order that
/// meets both with equal value, slope and curvature; with its slope.
#[inline]
pub(crate) fn rise_with_slope(x: f64, band: f64) -> (f64, f64) {
    let half = 0.5 * band;
    if x <= 0.0 {
        return (0.0, 0.0);
    }
    if x >= band {
        return (x - half, 1.0);
    }
    let r = x / half;
    let r2 = r * r;
    (half * r2 * r * (4.0 - r) / 16.0, r2 * (3.0 - r) / 4.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Largest jump of `f` and of its slope across the points where pieces meet.
    fn jumps(f: impl Fn(f64) -> f64, at: f64) -> (f64, f64) {
        let e = 1e-6;
        let slope = |x: f64| (f(x + e) - f(x - e)) / (2.0 * e);
        (
            (f(at + e) - f(at - e)).abs(),
            (slope(at + 2.0 * e) - slope(at - 2.0 * e)).abs(),
        )
    }

    #[test]
    fn pieces_meet_in_value_and_slope() {
        // Over a step of 2e-6 a smooth function with slope below 10 moves by less than 2e-5, and
        // its slope (curvature below 100) by less than 4e-4.
        for at in [0.0, 0.2] {
            for f in [
                (|x| step(x / 0.2)) as fn(f64) -> f64,
                |x| abs(x, 0.2),
                root,
                |x| rise_with_slope(x, 0.2).0,
            ] {
                let (value, slope) = jumps(f, at);
                assert!(value < 2e-5, "value jumps by {value} at {at}");
                assert!(slope < 4e-4, "slope jumps by {slope} at {at}");
            }
        }
    }

    fn root(x: f64) -> f64 {
        sqrt_with_slope(x, 0.2).0
    }

    /// Central differences of the functions themselves: truncation and rounding below 1e-8.
    #[test]
    fn slopes_are_those_of_the_functions() {
        type Pair = (fn(f64) -> f64, fn(f64) -> (f64, f64));
        let pairs: [Pair; 4] = [
            (step, step_with_slope),
            (|x| abs(x, 0.2), |x| abs_with_slope(x, 0.2)),
            (root, |x| sqrt_with_slope(x, 0.2)),
            (|x| rise_with_slope(x, 0.2).0, |x| rise_with_slope(x, 0.2)),
        ];
        for (k, (plain, both)) in pairs.into_iter().enumerate() {
            for x in [-0.5, -0.1, 0.03, 0.11, 0.19, 0.4, 0.9, 1.7] {
                let (value, slope) = both(x);
                let e = 1e-6;
                let want = (plain(x + e) - plain(x - e)) / (2.0 * e);
                assert_eq!(value, plain(x));
                assert!((slope - want).abs() < 1e-7, "{k} at {x}: {slope} {want}");
            }
        }
    }

    #[test]
    fn the_published_form_is_exact_outside_the_band() {
        assert_eq!(abs(-0.3, 0.2), 0.3);
        assert_eq!(root(0.49), 0.7);
        assert_eq!(root(-1.0), 0.0);
        assert_eq!(rise_with_slope(-0.1, 0.2), (0.0, 0.0));
        assert_eq!(rise_with_slope(0.5, 0.2), (0.4, 1.0));
        assert_eq!((step(-0.1), step(1.1)), (0.0, 1.0));
        assert_eq!(step(0.5), 0.5);
    }
}
