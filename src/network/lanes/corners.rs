//! Rounded corners in lanes: those of `physics::smooth`.

use crate::physics::openings::WEAK_EXCHANGE_K;
use crate::physics::overturning::OVERTURNING_BAND_K;
use crate::wide::Wide;

/// See [`crate::physics::smooth::step`].
#[inline(always)]
pub(super) fn step(x: Wide) -> Wide {
    let x = x.max(Wide::ZERO).min(Wide::all(1.0));
    x * x * x * Wide::all(10.0).plus(x, Wide::all(-15.0).plus(x, Wide::all(6.0)))
}

/// See [`crate::physics::smooth::abs`], of numbers that are not negative.
#[inline(always)]
pub(super) fn rounded(x: Wide, band: f64) -> Wide {
    let r = x * (1.0 / band);
    let r2 = r * r;
    let inside = Wide::all(0.375).plus(r2, Wide::all(0.75).less(Wide::all(0.125), r2)) * band;
    x.above(Wide::all(band), x, inside)
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
