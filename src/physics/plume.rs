//! The plume that rises over a warm face and carries air from layer to layer.

use super::smooth;

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
pub fn plume_flow_m3_per_s(convective_W: f64, height_m: f64, virtual_origin_m: f64) -> f64 {
    if convective_W <= 0.0 {
        return 0.0;
    }
    let z = (height_m + virtual_origin_m).max(0.0);
    // z^(5/3) without a power function.
    let root = z.cbrt();
    let rise = z * root * root;
    0.005 * convective_W.cbrt() * smooth::step(convective_W / WEAK_PLUME_W) * rise
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
