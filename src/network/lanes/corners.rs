//! Rounded corners in lanes: those of `physics::smooth`.

use crate::physics::openings::WEAK_EXCHANGE_K;
use crate::physics::overturning::OVERTURNING_BAND_K;
use crate::wide::{Narrow, Wide};

/// See [`crate::physics::smooth::step`].
#[inline(always)]
pub(super) fn step(x: Wide) -> Wide {
    let x = x.max(Wide::ZERO).min(Wide::all(1.0));
    x * x * x * Wide::all(10.0).plus(x, Wide::all(-15.0).plus(x, Wide::all(6.0)))
}

/// See [`crate::physics::smooth::step_with_slope`].
#[inline(always)]
pub(super) fn step_with_slope(x: Wide) -> (Wide, Wide) {
    let x = x.max(Wide::ZERO).min(Wide::all(1.0));
    let both = x * (Wide::all(1.0) - x);
    (step(x), both * both * 30.0)
}

/// The same to seven digits.
#[inline(always)]
pub(super) fn narrow_step_with_slope(x: Narrow) -> (Narrow, Narrow) {
    let x = x.max(Narrow::ZERO).min(Narrow::all(1.0));
    let both = x * (Narrow::all(1.0) - x);
    let by = Narrow::all(10.0).plus(x, Narrow::all(-15.0).plus(x, Narrow::all(6.0)));
    (x * x * x * by, both * both * 30.0)
}

/// See [`crate::physics::smooth::abs_with_slope`], of numbers that are not negative.
#[inline(always)]
pub(super) fn rounded_with_slope(x: Narrow, band: f32) -> (Narrow, Narrow) {
    let r = x * (1.0 / band);
    let r2 = r * r;
    let inside = Narrow::all(0.375).plus(r2, Narrow::all(0.75).less(Narrow::all(0.125), r2)) * band;
    let slope = r * Narrow::all(1.5).less(Narrow::all(0.5), r2);
    let band = Narrow::all(band);
    (
        x.above(band, x, inside),
        x.above(band, Narrow::all(1.0), slope),
    )
}

/// See [`crate::physics::smooth::sqrt_with_slope`]: of what exchanges weakly.
#[inline(always)]
pub(super) fn weak_root(lighter_K: Wide) -> Wide {
    let lighter = lighter_K.max(Wide::ZERO);
    lighter.sqrt() * step(lighter * (1.0 / WEAK_EXCHANGE_K))
}

/// See [`crate::physics::smooth::rise_with_slope`]: of what turns over.
#[inline(always)]
pub(super) fn rise(x: Wide) -> Wide {
    let half = 0.5 * OVERTURNING_BAND_K;
    let r = x.max(Wide::ZERO).min(Wide::all(OVERTURNING_BAND_K)) * (1.0 / half);
    let begins = r * r * r * (Wide::all(4.0) - r) * (half / 16.0);
    x.above(Wide::all(OVERTURNING_BAND_K), x - half, begins)
}
