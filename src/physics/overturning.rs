//! Warm air under cooler air: it turns over until next to nothing of the difference is left.

use super::GRAVITY_M_PER_S2;
use super::smooth::rise_with_slope;
use crate::number::Number;

/// Difference over which overturning sets in, K: half of it is what a weak source of heat leaves standing.
pub const OVERTURNING_BAND_K: f64 = 0.08;

/// Speed of overturning over (g H/T)^(1/2), K^(1/2): the free-fall speed of air 64 K warmer.
///
/// In turbulent convection thermals carry the heat past the mean, whose difference is small: the air's core is
/// isothermal but for some hundredth of the whole difference over its whole height. With Globe and Dropkin's
/// heat, 100 W/m2 pass a height of 0.7 m at a whole difference of 37 K; a hundredth of it over the height is
/// 0.074 K over a fifth of the height, where this speed carries 100 W/m2 too.
pub const OVERTURNING_ROOT_K: f64 = 8.0;

/// What a layer of air and a cooler one on top of it exchange: volume flow each way times difference of
/// temperature, m3 K/s. Times density and heat capacity it is the heat that rises.
///
/// A w r(dT), w = 8 K^(1/2) (g H/T)^(1/2), T the mean temperature; r is 0 where the upper layer is the
/// warmer one, dT - 0.04 K from dT = 0.08 K on, and between them, with x = dT/0.04 K, 0.04 K x^3 (4 - x)/16,
/// which meets both in value, slope and curvature.
///
/// * `section_m2`: horizontal section A, m2. `height_m`: height H of the air that turns over as a
///   whole, m.
/// * `below_K`, `above_K`: temperatures of the lower and the upper layer, K.
///
/// Range: turbulent convection between horizontal faces, Rayleigh numbers on the height above some 1e7. A
/// closure, not a correlation: it leaves some hundredths of a kelvin standing instead of none, so that the
/// integrator has a slope to work with.
/// Worked example: 0.3 m2, 0.7 m, 0.1 K at 310 K: w = 8 (9.80665 * 0.7/310)^(1/2) = 1.190 m/s, 0.3 * 1.190 *
/// 0.06 = 0.02143 m3 K/s, in air of 1.14 kg/m3 25 W.
///
/// Reference: the scale (g beta dT H)^(1/2) is free convection's (Priestley 1954, Austral. J. Phys. 7,
/// 176-201; Deardorff 1970, J. Atmos. Sci. 27, 1211-1213); the factor from Globe & Dropkin 1959, J. Heat
/// Transfer 81, 24-28, and the core's gradient of Brown & Ahlers 2007, Europhys. Lett. 80, 14001 (all from
/// memory). A mean difference that is removed nearly as it arises is the convective adjustment of weather
/// models (Manabe & Strickler 1964, J. Atmos. Sci. 21, 361-385).
#[must_use]
#[inline]
pub fn overturning_m3K_per_s<D: Number>(
    section_m2: f64,
    height_m: f64,
    below_K: D,
    above_K: D,
) -> D {
    let warmer_K = below_K - above_K;
    if warmer_K.value() <= 0.0 {
        return D::of(0.0);
    }
    let mean_K = D::of(0.5) * (below_K + above_K);
    let speed = (D::of(GRAVITY_M_PER_S2 * height_m) / mean_K).through(|x| {
        let root = x.sqrt();
        (root, 0.5 / root)
    });
    let size_K = warmer_K.through(|x| rise_with_slope(x, OVERTURNING_BAND_K));
    D::of(OVERTURNING_ROOT_K * section_m2) * speed * size_K
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::Dual;

    /// The worked example, by hand; and none where the air is stable.
    #[test]
    fn the_worked_example() {
        let q = overturning_m3K_per_s(0.3, 0.7, 310.05, 309.95);
        assert!((q - 0.021_43).abs() < 5e-6, "{q} m3 K/s");
        assert_eq!(overturning_m3K_per_s(0.3, 0.7, 310.0, 310.0), 0.0);
        assert_eq!(overturning_m3K_per_s(0.3, 0.7, 309.0, 310.0), 0.0);
    }

    /// The heat between plates by Globe & Dropkin, 0.069 Ra^(1/3) Pr^0.074 k dT/H, with air's properties at
    /// 310 K from tables (k = 0.0270 W/(m K), nu = 16.9e-6 m2/s, alpha = 24.0e-6 m2/s), passes a fifth of
    /// the height at a fifth of a hundredth of the whole difference. The core's gradient is known to a
    /// factor of two, and so is the heat; what the onset adds to the difference is taken off.
    #[test]
    fn a_core_of_turbulent_convection_is_isothermal() {
        let (k, nu, alpha, t_K, rho_cp) = (0.0270, 16.9e-6, 24.0e-6, 310.0, 1.139 * 1007.0);
        for (height_m, whole_K) in [(0.3_f64, 20.0), (0.7, 20.0), (0.7, 40.0), (1.0, 40.0)] {
            let ra = 9.81 / t_K * whole_K * height_m.powi(3) / (nu * alpha);
            let nusselt = 0.069 * f64::cbrt(ra) * f64::powf(nu / alpha, 0.074);
            let theirs = nusselt * k * whole_K / height_m;
            let half_K = 0.5 * (0.01 * whole_K / 5.0 + 0.5 * OVERTURNING_BAND_K);
            let ours = rho_cp * overturning_m3K_per_s(1.0, height_m, t_K + half_K, t_K - half_K);
            let ratio = ours / theirs;
            assert!(ratio < 2.0 && ratio > 0.5, "{ours} {theirs} W/m2");
        }
    }

    /// Differences of the function itself: truncation far below a hundred thousandth.
    #[test]
    fn slopes_are_those_of_the_function() {
        for warmer_K in [0.01, 0.04, 0.07, 1.0] {
            let (below, above) = (310.0 + warmer_K, 310.0);
            let (x, y) = (Dual::<3>::input(below, 0), Dual::input(above, 1));
            let ours = overturning_m3K_per_s(0.3, 0.7, x, y);
            let e = 1e-5;
            let f = |b: f64, a: f64| overturning_m3K_per_s(0.3, 0.7, b, a);
            let by_below = (f(below + e, above) - f(below - e, above)) / (2.0 * e);
            let by_above = (f(below, above + e) - f(below, above - e)) / (2.0 * e);
            for (slope, want) in [(ours.slopes[0], by_below), (ours.slopes[1], by_above)] {
                assert!((slope / want - 1.0).abs() < 1e-5, "{slope} {want}");
            }
        }
    }
}
