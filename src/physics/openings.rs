//! Air through openings: driven by pressure one way, or by its own weight both ways at once.

use super::{GRAVITY_M_PER_S2, smooth};
use crate::number::Number;

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
    let factor = orifice_factor(area_m2, discharge, density_kg_per_m3);
    orifice_flow_and_slope(dp_Pa, factor, dp_reg_Pa).0
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
    let factor = orifice_factor(area_m2, discharge, density_kg_per_m3);
    orifice_flow_and_slope(dp_Pa, factor, dp_reg_Pa).1
}

/// What [`orifice_flow_kg_per_s`] multiplies the rounded root of the pressure with, C A (2 rho)^(1/2),
/// kg/(s Pa^(1/2)).
#[must_use]
#[inline]
pub fn orifice_factor(area_m2: f64, discharge: f64, density_kg_per_m3: f64) -> f64 {
    discharge * area_m2 * (2.0 * density_kg_per_m3).sqrt()
}

/// [`orifice_flow_kg_per_s`] and [`orifice_slope_kg_per_sPa`] at once, from [`orifice_factor`].
#[must_use]
#[inline]
pub fn orifice_flow_and_slope(dp_Pa: f64, factor: f64, dp_reg_Pa: f64) -> (f64, f64) {
    let square = dp_Pa * dp_Pa + dp_reg_Pa * dp_reg_Pa;
    let inverse = 1.0 / square.sqrt();
    let per_root = factor * inverse.sqrt();
    let share = dp_Pa * inverse;
    (dp_Pa * per_root, per_root * (1.0 - 0.5 * share * share))
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
/// memory; they meet within 4 %, and the paper's single formula lies within 12 % up to L/D = 1).
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
/// Reference: see [`exchange_froude`]. Fire zone models use Cooper's Q = 0.1 (g dT/T)^(1/2) A^(5/4)
/// (NISTIR 89-4052, 1989), 34 % more: the lid's exchange is no better known than that.
#[must_use]
#[inline]
pub fn horizontal_exchange_m3_per_s<D: Number>(
    area_m2: f64,
    thickness_m: f64,
    below_K: D,
    above_K: D,
) -> D {
    let lighter_K = below_K - above_K;
    if lighter_K.value() <= 0.0 || area_m2 <= 0.0 {
        return D::of(0.0);
    }
    let diameter_m = (area_m2 * (4.0 / std::f64::consts::PI)).sqrt();
    let mean_K = D::of(0.5) * (below_K + above_K);
    let buoyancy = D::of(GRAVITY_M_PER_S2 * diameter_m) / mean_K;
    let speed = buoyancy.through(|x| {
        let root = x.sqrt();
        (root, 0.5 / root)
    });
    D::of(exchange_froude(thickness_m / diameter_m) * diameter_m * diameter_m)
        * speed
        * lighter_K.through(|x| smooth::sqrt_with_slope(x, WEAK_EXCHANGE_K))
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
pub fn vertical_exchange_m3_per_s<D: Number>(
    area_m2: f64,
    height_m: f64,
    discharge: f64,
    one_K: D,
    other_K: D,
) -> D {
    let mean_K = D::of(0.5) * (one_K + other_K);
    let buoyancy = D::of(GRAVITY_M_PER_S2 * height_m) / mean_K;
    let speed = buoyancy.through(|x| {
        let root = x.sqrt();
        (root, 0.5 / root)
    });
    let warmer = (one_K - other_K).through(|x| {
        let (root, slope) = smooth::sqrt_with_slope(x.abs(), WEAK_EXCHANGE_K);
        (root, slope * x.signum())
    });
    D::of(discharge / 3.0 * area_m2) * speed * warmer
}

/// Volume flow each way through an opening that moving air inside adds to what warmth alone exchanges,
/// m3/s: (Q_T^2 + Q_U^2)^(1/2) - Q_T.
///
/// Air that streams along an opening at the speed U exchanges Q_U = 0.1 A U with what rests on the other
/// side: the eddies of the layer between them carry it. Neither drive adds in full to the other; squares
/// of both are added, as is the practice for wind and warmth at one window.
///
/// * `by_warmth_m3_per_s`: Q_T, at least zero. `stirred_m3_per_s`: Q_U; at and below zero nothing is added.
///
/// Published range: windows on one side of a room, U the local speed of wind along the wall; here the moving
/// air is inside, and its speed a mean. The 0.1 is the coefficient `opening_stirring`.
/// Worked example: 0.003 and 0.004 m3/s: 0.002 m3/s more than by warmth alone.
///
/// Reference: Warren & Parkins 1984, Single-sided ventilation through open windows, Windows in building
/// design and maintenance, Gothenburg (0.1 A U of the local speed, from memory; in public libraries as 0.025 A U
/// of the free wind's); squares added: de Gids & Phaff 1982, Air Infiltration Review 4, 4-5.
#[must_use]
#[inline]
pub fn stirred_excess_m3_per_s<D: Number>(by_warmth_m3_per_s: D, stirred_m3_per_s: f64) -> D {
    if stirred_m3_per_s <= 0.0 {
        return D::of(0.0);
    }
    let square = D::of(stirred_m3_per_s * stirred_m3_per_s);
    let both = (by_warmth_m3_per_s * by_warmth_m3_per_s + square).through(|x| {
        let root = x.sqrt();
        (root, 0.5 / root)
    });
    square / (both + by_warmth_m3_per_s)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(ours: f64, theirs: f64, relative: f64, what: &str) {
        let error = (ours / theirs - 1.0).abs();
        assert!(
            error <= relative,
            "{what}: {ours} against {theirs}, off by {error:e}"
        );
    }

    /// Bernoulli: 10 Pa make 4.082 m/s at 1.2 kg/m3; 0.6 * 0.01 m2 * 1.2 * 4.0825 = 0.029394 kg/s.
    #[test]
    fn orifice_at_ten_pascals() {
        close(
            orifice_flow_kg_per_s(10.0, 0.01, 0.6, 1.2, 1e-3),
            0.029_394,
            2e-5,
            "orifice",
        );
        close(
            orifice_flow_kg_per_s(-10.0, 0.01, 0.6, 1.2, 1e-3),
            -0.029_394,
            2e-5,
            "orifice",
        );
        assert_eq!(orifice_flow_kg_per_s(0.0, 0.01, 0.6, 1.2, 1e-3), 0.0);
    }

    #[test]
    fn orifice_slope_is_the_difference_quotient() {
        for dp in [-20.0, -0.01, -1e-3, 0.0, 5e-4, 2e-3, 0.3, 7.0] {
            let f = |dp| orifice_flow_kg_per_s(dp, 0.01, 0.6, 1.2, 1e-3);
            let e = 1e-7;
            // Central differences: truncation e^2/reg^2 = 1e-8, rounding 1e-16/e 1e2 = 1e-7.
            close(
                orifice_slope_kg_per_sPa(dp, 0.01, 0.6, 1.2, 1e-3),
                (f(dp + e) - f(dp - e)) / (2.0 * e),
                1e-5,
                "slope",
            );
        }
    }

    /// Air at 0 degC outside and 20 degC inside, 1.2929 and 1.2041 kg/m3 (ideal gas at 101325 Pa):
    /// 0.871 Pa a metre (0.0888 * 9.80665).
    #[test]
    fn stack_of_a_metre() {
        close(
            stack_pressure_Pa(1.2041, 1.2929, 1.0),
            0.8708,
            1e-3,
            "stack",
        );
        assert!(
            stack_pressure_Pa(1.3, 1.2, 1.0) < 0.0,
            "colder inside pushes inward at the top"
        );
    }

    /// Epstein's own single formula (from memory),
    /// 0.055 (1 + 400 x^3)^(1/6)/[1 + 0.00527 (1 + 400 x^3)^(1/2) (x^6 + 117 x^2)^(3/4)]^(1/3),
    /// smooths the four pieces: within 12 % up to L/D = 1, which holds every lid, within 25 % where
    /// the third piece bends (1 to 4), within 6 % beyond.
    #[test]
    fn exchange_pieces_follow_the_single_formula() {
        for (x, tolerance) in [
            (0.01, 0.001),
            (0.1, 0.06),
            (0.15, 0.12),
            (0.2, 0.06),
            (0.3, 0.06),
            (0.4, 0.06),
            (0.6, 0.06),
            (1.0, 0.06),
            (2.0, 0.25),
            (3.25, 0.25),
            (5.0, 0.06),
            (10.0, 0.06),
        ] {
            let x: f64 = x;
            let a: f64 = 1.0 + 400.0 * x.powi(3);
            let b = x.powi(6) + 117.0 * x * x;
            let single =
                0.055 * a.powf(1.0 / 6.0) / (1.0 + 0.00527 * a.sqrt() * b.powf(0.75)).cbrt();
            close(exchange_froude(x), single, tolerance, "Froude number");
        }
    }

    /// The four pieces describe one set of measurements, so each must run into the next: carried on by
    /// its own power from outside the blended band to the join, within 5 % (3.5 % is their published
    /// difference at 0.15; 1 % the curvature over the band).
    #[test]
    fn exchange_pieces_run_into_each_other() {
        for join in [0.15, 0.4, 3.25] {
            let carried = |x: f64| {
                let f = exchange_froude;
                let power = (f(x * 1.001) / f(x * 0.999)).ln() / (1.001_f64 / 0.999).ln();
                f(x) * (join / x).powf(power)
            };
            close(carried(join * 0.89), carried(join * 1.11), 0.05, "pieces");
        }
    }

    #[test]
    fn exchange_has_no_jump_in_slenderness() {
        let mut x = 0.01;
        while x < 10.0 {
            let (a, b) = (exchange_froude(x), exchange_froude(x * 1.001));
            // The steepest piece falls as x^(-3/2), 0.15 % a step; the blends add 4 % over 200 steps.
            assert!((b / a - 1.0).abs() < 0.003, "jump at {x}: {a} to {b}");
            x *= 1.001;
        }
    }

    /// Another published form: Q = 0.1 (g d_rho/rho)^(1/2) A^(5/4) at no net pressure (Cooper 1989,
    /// NISTIR 89-4052, after Heskestad & Spaulding; used in public fire zone models). It is an upper
    /// value, 34 % above Epstein's 0.055; ours must lie between half of it and it.
    #[test]
    fn lid_exchange_against_fire_research() {
        let ours = horizontal_exchange_m3_per_s(0.25, 0.004, 313.15, 303.15);
        let cooper = 0.1 * f64::sqrt(9.80665 * 10.0 / 308.15) * 0.25_f64.powf(1.25);
        assert!(
            ours < cooper && ours > 0.5 * cooper,
            "{ours} against {cooper}"
        );
        assert_eq!(
            horizontal_exchange_m3_per_s(0.25, 0.004, 303.15, 313.15),
            0.0,
            "warm over cold rests"
        );
        assert_eq!(
            horizontal_exchange_m3_per_s(0.0, 0.004, 313.15, 303.15),
            0.0
        );
    }

    /// The way Brown and Solvason derive it: orifices all the way up, driven by the stack above the
    /// neutral height in the middle. 2000 strips of the upper half integrate a square root to 1e-5.
    #[test]
    fn door_exchange_is_a_stack_of_orifices() {
        let (width, height, cd, warm, cold) = (0.5, 0.8, 0.65, 311.0, 305.0);
        let mean: f64 = 0.5 * (warm + cold);
        let density: f64 = 1.15;
        let strips = 2000;
        let dz = 0.5 * height / f64::from(strips);
        let flow: f64 = (0..strips)
            .map(|i| {
                let z = (f64::from(i) + 0.5) * dz;
                let dp = stack_pressure_Pa(density, density * (1.0 + (warm - cold) / mean), z);
                orifice_flow_kg_per_s(dp, width * dz, cd, density, 1e-9) / density
            })
            .sum();
        close(
            vertical_exchange_m3_per_s(width * height, height, cd, warm, cold),
            flow,
            2e-5,
            "door",
        );
        close(
            vertical_exchange_m3_per_s(width * height, height, cd, cold, warm),
            flow,
            2e-5,
            "door",
        );
    }

    #[test]
    fn exchanges_vanish_smoothly_at_equal_temperatures() {
        let e = 1e-6;
        for f in [
            (|d| horizontal_exchange_m3_per_s(0.25, 0.004, 300.0 + d, 300.0)) as fn(f64) -> f64,
            |d| vertical_exchange_m3_per_s(0.3, 0.6, 0.65, 300.0 + d, 300.0),
        ] {
            assert_eq!(f(0.0), 0.0);
            let slope = |d: f64| (f(d + e) - f(d - e)) / (2.0 * e);
            for at in [0.0, WEAK_EXCHANGE_K] {
                // Slopes are of the order of 0.1 m3/(s K), curvatures below 10: 4e-5 over 4e-6 K.
                assert!((slope(at + 2.0 * e) - slope(at - 2.0 * e)).abs() < 1e-4);
            }
        }
    }

    /// Three, four, five; and by itself what moving air exchanges: 0.1 of 0.5 m/s through 0.2 m2 is 0.01 m3/s.
    #[test]
    fn moving_air_adds_in_squares() {
        close(stirred_excess_m3_per_s(0.003, 0.004), 0.002, 1e-12, "both");
        close(stirred_excess_m3_per_s(0.0, 0.01), 0.01, 1e-12, "alone");
        assert_eq!(stirred_excess_m3_per_s(0.0, 0.0), 0.0);
        let little = stirred_excess_m3_per_s(0.01, 1e-5);
        close(little, 0.5e-8, 1e-5, "beside a strong draught");
    }

    /// In a thick partition: L/D = 0.3 takes the law at that slenderness, not at another (definition of
    /// the Froude number).
    #[test]
    fn a_thick_opening_has_the_froude_number_of_its_slenderness() {
        let diameter: f64 = 0.2;
        let area = std::f64::consts::PI / 4.0 * diameter * diameter;
        let scale = (GRAVITY_M_PER_S2 * diameter.powi(5) * 10.0 / 305.0).sqrt();
        for slenderness in [0.01, 0.3, 2.0, 8.0] {
            close(
                horizontal_exchange_m3_per_s(area, slenderness * diameter, 310.0, 300.0),
                exchange_froude(slenderness) * scale,
                1e-9,
                "exchange",
            );
        }
    }
}
