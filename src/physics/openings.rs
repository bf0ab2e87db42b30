//! Air through openings: driven by pressure one way, or by its own weight both ways at once.

use super::{GRAVITY_M_PER_S2, smooth};

/// Temperature difference below which the two-way flows bend to zero, K.
pub const WEAK_EXCHANGE_K: f64 = 0.05;

/// Mass flow through an opening, kg/s, in the direction of falling pressure.
///
/// m = C A (2 rho)^(1/2) dp/(dp^2 + r^2)^(1/4), which is C A (2 rho dp)^(1/2) where dp is large
/// against r. The relative error of the rounding is r^2/(4 dp^2).
///
/// * `dp_Pa`: pressure difference, Pa, with its sign.
/// * `area_m2`: free area A, m2. `discharge`: discharge coefficient C, about 0.6 for sharp edges.
/// * `density_kg_per_m3`: density of the air that flows, kg/m3.
/// * `dp_reg_Pa`: pressure r that rounds the square root at zero, Pa, above zero.
///
/// Published range: turbulent orifice flow, Re above some 100.
/// Worked example: 10 Pa over 0.01 m2, C = 0.6, 1.2 kg/m3: 0.02939 kg/s (4.08 m/s in the vena
/// contracta).
///
/// Reference: orifice equation, CIBSE Guide A / ASHRAE Handbook Fundamentals, chapter on
/// ventilation and infiltration.
#[must_use]
#[inline]
pub fn orifice_flow_kg_per_s(
    dp_Pa: f64,
    area_m2: f64,
    discharge: f64,
    density_kg_per_m3: f64,
    dp_reg_Pa: f64,
) -> f64 {
    let root = (dp_Pa * dp_Pa + dp_reg_Pa * dp_reg_Pa).sqrt().sqrt();
    discharge * area_m2 * (2.0 * density_kg_per_m3).sqrt() * dp_Pa / root
}

/// Derivative of [`orifice_flow_kg_per_s`] with respect to the pressure difference, kg/(s Pa).
///
/// C A (2 rho)^(1/2) (dp^2/2 + r^2)/(dp^2 + r^2)^(5/4); always positive.
#[must_use]
#[inline]
pub fn orifice_slope_kg_per_sPa(
    dp_Pa: f64,
    area_m2: f64,
    discharge: f64,
    density_kg_per_m3: f64,
    dp_reg_Pa: f64,
) -> f64 {
    let reg2 = dp_reg_Pa * dp_reg_Pa;
    let square = dp_Pa * dp_Pa + reg2;
    let root = square.sqrt().sqrt();
    discharge * area_m2 * (2.0 * density_kg_per_m3).sqrt() * (square - 0.5 * dp_Pa * dp_Pa)
        / (square * root)
}

/// Pressure by which lighter air inside a height pushes outward at its top, Pa, when inside and
/// outside are equal at its bottom: (rho_out - rho_in) g h.
///
/// Worked example: 1.2 and 1.1 kg/m3 over 3 m: 2.942 Pa.
///
/// Reference: hydrostatics; ASHRAE Handbook Fundamentals, stack pressure.
#[must_use]
#[inline]
pub fn stack_pressure_Pa(
    density_inside_kg_per_m3: f64,
    density_outside_kg_per_m3: f64,
    height_m: f64,
) -> f64 {
    (density_outside_kg_per_m3 - density_inside_kg_per_m3) * GRAVITY_M_PER_S2 * height_m
}

/// Froude number of the exchange through an opening in a horizontal partition,
/// Q/(g D^5 d_rho/rho)^(1/2).
///
/// 0.055 up to L/D = 0.15; 0.147 (L/D)^(1/2) to 0.4; 0.093/\[1 + 0.084 (L/D - 0.4)^3\]^(1/2) to 3.25;
/// 0.32 (L/D)^(-3/2) beyond. The pieces differ by up to 4 % where they meet; within 10 % of each
/// meeting point they are blended.
///
/// * `slenderness`: L/D, thickness of the partition over the diameter of the opening; published for
///   0.01 to 10.
///
/// Worked example: L/D = 0.01 gives 0.055, L/D = 0.2 gives 0.0657.
///
/// Reference: Epstein 1988, J. Heat Transfer 110, 885-893, doi:10.1115/1.3250589 (coefficients from
/// memory; they meet within 4 %, and the paper's single formula lies within 20 %).
#[must_use]
pub fn exchange_froude(slenderness: f64) -> f64 {
    let x = slenderness.max(0.0);
    let pieces: [fn(f64) -> f64; 4] = [
        |_| 0.055,
        |x| 0.147 * x.sqrt(),
        |x| 0.093 / (1.0 + 0.084 * (x - 0.4).powi(3)).sqrt(),
        |x| 0.32 / (x * x.sqrt()),
    ];
    let mut value = pieces[0](x);
    for (i, join) in [0.15, 0.4, 3.25].into_iter().enumerate() {
        let share = smooth::step((x / join - 0.9) / 0.2);
        if share > 0.0 {
            value += share * (pieces[i + 1](x) - value);
        }
    }
    value
}

/// Volume flow each way through a horizontal opening (the lid's), m3/s.
///
/// Q = Fr (g D^5 dT/T)^(1/2), D the diameter of the circle of equal area, T the mean temperature.
/// It exists only where the warmer, lighter air is below. Between 0 and [`WEAK_EXCHANGE_K`] it is
/// rounded to zero with continuous slope.
///
/// * `area_m2`: area of the opening, m2. `thickness_m`: thickness L of the partition, m.
/// * `below_K`, `above_K`: temperatures of the air below and above, K.
///
/// Published range: 0.01 to 10 for L/D, brine over water; independent of viscosity.
/// Worked example: 0.25 m2, 4 mm, 40 over 30 degC below and above: 0.055 (9.80665 * 0.5642^5 *
/// 10/308.15)^(1/2) = 0.00742 m3/s.
///
/// Reference: see [`exchange_froude`].
#[must_use]
#[inline]
pub fn horizontal_exchange_m3_per_s(
    area_m2: f64,
    thickness_m: f64,
    below_K: f64,
    above_K: f64,
) -> f64 {
    let lighter_K = below_K - above_K;
    if lighter_K <= 0.0 || area_m2 <= 0.0 {
        return 0.0;
    }
    let diameter_m = (area_m2 * (4.0 / std::f64::consts::PI)).sqrt();
    let buoyancy = GRAVITY_M_PER_S2 * diameter_m / (0.5 * (below_K + above_K));
    exchange_froude(thickness_m / diameter_m)
        * diameter_m
        * diameter_m
        * buoyancy.sqrt()
        * smooth::sqrt(lighter_K, WEAK_EXCHANGE_K)
}

/// Volume flow each way through a vertical opening (the door's), m3/s: the warmer air leaves at the
/// top, the cooler enters at the bottom, whichever side is warmer.
///
/// Q = (C/3) A (g H |dT|/T)^(1/2), T the mean temperature. Below [`WEAK_EXCHANGE_K`] it is rounded
/// to zero with continuous slope.
///
/// * `area_m2`: area A, m2. `height_m`: height H, m. `discharge`: C, 0.6 to 1.
/// * `one_K`, `other_K`: temperatures of the air on either side, K.
///
/// Published range: square openings in vertical partitions, Grashof numbers of 1e6 to 1e8.
/// Worked example: 1.6 m2, 2 m, C = 0.6, 10 K about 293.15 K: 0.2618 m3/s.
///
/// Reference: Brown & Solvason 1962, Int. J. Heat Mass Transfer 5, 859-868,
/// doi:10.1016/0017-9310(62)90184-9.
#[must_use]
#[inline]
pub fn vertical_exchange_m3_per_s(
    area_m2: f64,
    height_m: f64,
    discharge: f64,
    one_K: f64,
    other_K: f64,
) -> f64 {
    let mean_K = 0.5 * (one_K + other_K);
    discharge / 3.0
        * area_m2
        * (GRAVITY_M_PER_S2 * height_m / mean_K).sqrt()
        * smooth::sqrt((one_K - other_K).abs(), WEAK_EXCHANGE_K)
}
