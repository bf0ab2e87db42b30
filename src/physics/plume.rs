//! The plume that rises over a warm face and carries air from layer to layer.

use super::{roots, smooth};
use crate::number::Number;

/// Convective power below which the plume's flow bends to zero, W. A plume of less than a watt does
/// not form over a face of the size of a bed.
pub const WEAK_PLUME_W: f64 = 1.0;

/// Volume flow of a plume over a point source, m3/s.
///
/// q = 0.005 P^(1/3) (z + z0)^(5/3)
///
/// * `convective_W`: convective power P, W; 0 and below give no plume. Between 0 and
///   [`WEAK_PLUME_W`] the cube root, vertical at zero, is rounded so that slope and curvature are
///   continuous.
/// * `height_m`: height z above the source, m; published for plumes free of walls in unlayered air.
/// * `virtual_origin_m`: depth z0 of the virtual origin below the source, m.
///
/// Worked example: 100 W at z + z0 = 2 m: 0.005 * 4.642 * 3.175 = 0.0737 m3/s (74 L/s).
///
/// Reference: Skistad et al. 2002, Displacement Ventilation in Non-Industrial Premises, REHVA
/// guidebook 1: q\[L/s\] = 5 P^(1/3) (z + z0)^(5/3) (from memory); the law itself: Morton, Taylor &
/// Turner 1956, Proc. R. Soc. A 234, 1-23.
#[must_use]
#[inline]
pub fn plume_flow_m3_per_s<D: Number>(convective_W: D, height_m: f64, virtual_origin_m: f64) -> D {
    if convective_W.value() <= 0.0 {
        return D::of(0.0);
    }
    let z = (height_m + virtual_origin_m).max(0.0);
    // z^(5/3) without a power function.
    let root = roots::cbrt(z);
    let rise = z * root * root;
    let cube_root = convective_W.through(|p| {
        let root = roots::cbrt(p);
        (root, root / (3.0 * p))
    });
    let begun = convective_W.through(|p| {
        let (share, slope) = smooth::step_with_slope(p / WEAK_PLUME_W);
        (share, slope / WEAK_PLUME_W)
    });
    D::of(0.005) * cube_root * begun * D::of(rise)
}

/// Depth of the virtual origin below a flat source, m: z0 = d/(2 tan 12.5 deg), where a plume that
/// widens by 25 deg has the width of the source.
///
/// * `diameter_m`: diameter of the source, or of the circle of equal area, m.
///
/// Worked example: 1 m gives 2.255 m.
///
/// Reference: Skistad et al. 2002, REHVA guidebook 1, "maximum case" (from memory). Its "minimum
/// case", for hot sources, puts the origin at 1.8 d below a waist d/3 above the source: 1.47 d.
#[must_use]
#[inline]
pub fn virtual_origin_m(diameter_m: f64) -> f64 {
    /// 1/(2 tan 12.5 deg).
    const RATIO: f64 = 2.255_354_25;
    RATIO * diameter_m
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fire research's form of the same law: m = 0.071 kg/s P^(1/3) z^(5/3), P in kW (Zukoski, in the
    /// SFPE Handbook; from memory), at 1.2 kg/m3. Measured constants for the volume flow range over
    /// 20 % about 5e-3 to 6e-3, so 20 %.
    #[test]
    fn close_to_the_law_of_fire_research() {
        for (power_W, z_m) in [(50.0, 0.35), (100.0, 1.0), (1000.0, 2.5)] {
            let ours = plume_flow_m3_per_s(power_W, z_m, 0.0);
            let theirs = 0.071 * f64::powf(power_W / 1000.0, 1.0 / 3.0) * z_m.powf(5.0 / 3.0) / 1.2;
            assert!((ours / theirs - 1.0).abs() < 0.2, "{ours} against {theirs}");
        }
    }

    /// Morton, Taylor & Turner 1956, top-hat entrainment 0.13 (plumes: 0.12 to 0.14):
    /// q = (6 a/5)(9 a/10)^(1/3) pi^(2/3) B^(1/3) z^(5/3), B = g P/(rho cp T).
    #[test]
    fn close_to_plume_theory() {
        let (a, power_W, z_m) = (0.13_f64, 200.0, 1.5_f64);
        let buoyancy: f64 = 9.81 * power_W / (1.2 * 1006.0 * 293.0);
        let theory = 1.2
            * a
            * (0.9 * a).cbrt()
            * std::f64::consts::PI.powf(2.0 / 3.0)
            * buoyancy.cbrt()
            * z_m.powf(5.0 / 3.0);
        let ours = plume_flow_m3_per_s(power_W, z_m, 0.0);
        // The entrainment constant is known to 8 %.
        assert!(
            (ours / theory - 1.0).abs() < 0.08,
            "{ours} against {theory}"
        );
    }

    #[test]
    fn no_heat_no_plume_and_no_corner() {
        assert_eq!(plume_flow_m3_per_s(-5.0, 0.3, 0.8), 0.0);
        assert_eq!(plume_flow_m3_per_s(10.0, -1.0, 0.8), 0.0);
        let f = |p: f64| plume_flow_m3_per_s(p, 0.3, 0.8);
        let e = 1e-6;
        let slope = |p: f64| (f(p + e) - f(p - e)) / (2.0 * e);
        // Slopes are of the order of 1e-2 m3/(s W); curvature times 4e-6 W is far below 1e-6.
        for at in [0.0, WEAK_PLUME_W] {
            assert!((slope(at + 2.0 * e) - slope(at - 2.0 * e)).abs() < 1e-6);
        }
        let mut p = 0.0;
        while p < 3.0 {
            assert!(f(p + 0.01) > f(p), "falls at {p}");
            p += 0.01;
        }
    }

    /// The geometry it is defined by: a cone of half-angle 12.5 deg from the origin has the source's
    /// radius at the source.
    #[test]
    fn the_origin_lies_at_the_tip_of_the_cone() {
        let radius = virtual_origin_m(0.4) * 12.5_f64.to_radians().tan();
        assert!((radius - 0.2).abs() < 1e-9);
    }
}
