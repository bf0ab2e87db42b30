//! A convective face made ready for the integrator: the same coefficient as
//! [`ConvectiveFace::coefficient`], several times faster, with its slopes.
//!
//! Natural convection looks its powers of the Rayleigh number up in tables that all faces share;
//! forced convection depends on the film temperature alone once speed and length are known, and
//! becomes a short table of its own. Both tables are cubics with continuous slopes.

use std::sync::LazyLock;

use super::air::AirTable;
use super::convection::{
    ConvectiveFace, EQUAL_BAND_K, Face, HORIZONTAL_CYLINDER, VERTICAL_PLATE,
    nusselt_horizontal_away, nusselt_horizontal_toward,
};
use super::smooth;
use super::tabulated::{Tabulated, cell_and_place, cubic_at, cubic_between};

/// Powers of the Rayleigh number that correlations are made of.
struct Powers {
    /// Ra^(1/6), rounded below the vertical plate's range.
    vertical: Tabulated,
    /// Ra^(1/6), rounded below the cylinder's range.
    cylinder: Tabulated,
    away: Tabulated,
    toward: Tabulated,
    /// Cube root, which joins forced and natural convection.
    cube_root: Tabulated,
}

static POWERS: LazyLock<Powers> = LazyLock::new(|| {
    let sixth = |low: f64| Tabulated::new(move |ra| smooth::abs(ra, low).cbrt().sqrt());
    Powers {
        vertical: sixth(VERTICAL_PLATE.low),
        cylinder: sixth(HORIZONTAL_CYLINDER.low),
        away: Tabulated::new(nusselt_horizontal_away),
        toward: Tabulated::new(nusselt_horizontal_toward),
        cube_root: Tabulated::new(f64::cbrt),
    }
});

/// Constants in the Churchill-Chu forms: Nu = (c + factor Ra^(1/6))^2.
const VERTICAL_STILL: f64 = 0.825;
const CYLINDER_STILL: f64 = 0.60;
/// What forced flow across a cylinder tends to at rest (Churchill & Bernstein).
const CYLINDER_AT_REST: f64 = 0.3;

/// Film temperatures of the forced table, K. Outside, its ends are used; no air near a chamber is
/// there.
const FORCED_LOW_K: f64 = 250.0;
const FORCED_STEP_K: f64 = 25.0;
const FORCED_CELLS: usize = 12;

/// A face ready to be asked often.
#[derive(Debug, Clone, PartialEq)]
pub struct PreparedFace {
    face: Face,
    cube_m3: f64,
    per_length: f64,
    multiplier: f64,
    /// Coefficient of forced flow by film temperature; of a cylinder what it has above rest.
    forced: Option<[[f64; 4]; FORCED_CELLS]>,
}

/// A coefficient and its slopes, W/(m2 K) and W/(m2 K2).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficient {
    /// The coefficient.
    pub value: f64,
    /// Its slope with the surface's temperature.
    pub by_surface: f64,
    /// Its slope with the air's temperature.
    pub by_air: f64,
}

impl PreparedFace {
    /// Prepares a face for air at one pressure.
    #[must_use]
    pub fn new(face: &ConvectiveFace, air: &AirTable) -> Self {
        let forced = (face.speed_m_per_s > 0.0).then(|| {
            // With natural convection switched off, mixed convection is the forced part alone.
            let alone = ConvectiveFace {
                multiplier: 0.0,
                ..*face
            };
            let rest = |t: f64| match face.face {
                Face::Cylinder => CYLINDER_AT_REST * air.conductivity(t) / face.length_m,
                Face::Vertical | Face::Up | Face::Down => 0.0,
            };
            let at = |t: f64| match face.face {
                // A cylinder's natural part enters as what it has above rest, which must be zero here.
                Face::Cylinder => {
                    let re = face.speed_m_per_s * face.length_m / air.kinematic_viscosity(t);
                    super::convection::nusselt_cylinder_forced(re, air.prandtl(t))
                        * air.conductivity(t)
                        / face.length_m
                        - rest(t)
                }
                Face::Vertical | Face::Up | Face::Down => alone.coefficient(t, t, air),
            };
            let slope = |t: f64| (at(t + 0.1) - at(t - 0.1)) / 0.2 * FORCED_STEP_K;
            let knots: Vec<(f64, f64)> = (0..=FORCED_CELLS)
                .map(|k| FORCED_LOW_K + FORCED_STEP_K * k as f64)
                .map(|t| (at(t), slope(t)))
                .collect();
            std::array::from_fn(|k| {
                let ((a, rise_a), (b, rise_b)) = (knots[k], knots[k + 1]);
                cubic_between(a, rise_a, b, rise_b)
            })
        });
        Self {
            face: face.face,
            cube_m3: face.length_m * face.length_m * face.length_m,
            per_length: 1.0 / face.length_m,
            multiplier: face.multiplier,
            forced,
        }
    }

    /// The coefficient alone, W/(m2 K).
    #[must_use]
    #[inline]
    pub fn value(&self, surface_K: f64, air_K: f64, air: &AirTable) -> f64 {
        // Inlined, the slopes are left out by the compiler.
        self.coefficient(surface_K, air_K, air).value
    }

    /// The coefficient, W/(m2 K), and its slopes.
    #[must_use]
    #[inline(always)]
    pub fn coefficient(&self, surface_K: f64, air_K: f64, air: &AirTable) -> Coefficient {
        let film_K = 0.5 * (surface_K + air_K);
        let (film, rise) = air.film_with_slopes(film_K);
        let warmer = surface_K - air_K;
        let (size, size_slope) = smooth::abs_with_slope(warmer, EQUAL_BAND_K);
        let per_K = film.buoyancy_per_m3K * self.cube_m3;
        let ra = per_K * size;
        let p = &*POWERS;
        // Nusselt number, its slope with Ra, and its plain slope with the temperature difference
        // (in the band where a horizontal face changes over) and with the Prandtl factor.
        let (nu, by_ra, by_warmer, by_factor) = match self.face {
            Face::Vertical => {
                let (g, s) = p.vertical.at(ra);
                let root = VERTICAL_STILL + film.vertical_factor * g;
                (
                    root * root,
                    2.0 * root * film.vertical_factor * s,
                    0.0,
                    2.0 * root * g * rise.vertical_factor,
                )
            }
            Face::Cylinder => {
                let (g, s) = p.cylinder.at(ra);
                let root = CYLINDER_STILL + film.cylinder_factor * g;
                (
                    root * root,
                    2.0 * root * film.cylinder_factor * s,
                    0.0,
                    2.0 * root * g * rise.cylinder_factor,
                )
            }
            Face::Up => horizontal(p, ra, warmer, 1.0),
            Face::Down => horizontal(p, ra, -warmer, -1.0),
        };
        let k = film.conductivity_W_per_mK * self.per_length;
        let natural = nu * self.multiplier;
        let scale = k * self.multiplier;
        let mut value = natural * k;
        let mut by_difference = scale * (by_ra * per_K * size_slope + by_warmer);
        let mut by_film = natural * rise.conductivity_W_per_mK * self.per_length
            + scale * (by_ra * rise.buoyancy_per_m3K * self.cube_m3 * size + by_factor);
        if let Some(table) = &self.forced {
            let (cell, s) = cell_and_place((film_K - FORCED_LOW_K) * (1.0 / FORCED_STEP_K));
            let (cubic, s) = match table.get(cell) {
                Some(cubic) => (*cubic, s),
                None if film_K > FORCED_LOW_K => (table[FORCED_CELLS - 1], 0.5),
                None => (table[0], -0.5),
            };
            let (forced, rise_over_cell) = cubic_at(cubic, s);
            let rest_share = if self.face == Face::Cylinder {
                CYLINDER_AT_REST
            } else {
                0.0
            };
            let rest = rest_share * k;
            let rest_rise = rest_share * rise.conductivity_W_per_mK * self.per_length;
            let above = value - rest;
            let mixed = p
                .cube_root
                .at(forced * forced * forced + above * above * above)
                .0;
            // d(F^3 + N^3)^(1/3)/dN = (N/mixed)^2, and likewise for F.
            let (natural_share, forced_share) = (above / mixed, forced / mixed);
            let forced_rise = rise_over_cell * (1.0 / FORCED_STEP_K);
            by_difference *= natural_share * natural_share;
            by_film = rest_rise
                + natural_share * natural_share * (by_film - rest_rise)
                + forced_share * forced_share * forced_rise;
            value = rest + mixed;
        }
        Coefficient {
            value,
            by_surface: by_difference + 0.5 * by_film,
            by_air: 0.5 * by_film - by_difference,
        }
    }
}

/// A horizontal face whose air is driven away where `lighter` is positive. `turn` is the sign of
/// `lighter` in the surface's excess temperature.
#[inline(always)]
fn horizontal(p: &Powers, ra: f64, lighter: f64, turn: f64) -> (f64, f64, f64, f64) {
    if lighter >= EQUAL_BAND_K {
        let (nu, s) = p.away.at(ra);
        return (nu, s, 0.0, 0.0);
    }
    if lighter <= -EQUAL_BAND_K {
        let (nu, s) = p.toward.at(ra);
        return (nu, s, 0.0, 0.0);
    }
    let x = 0.5 * (lighter / EQUAL_BAND_K + 1.0);
    let share = smooth::step(x);
    let ((away, a), (toward, b)) = (p.away.at(ra), p.toward.at(ra));
    // Slope of the step 10x3 - 15x4 + 6x5.
    let steep = 30.0 * x * x * (1.0 - x) * (1.0 - x) * 0.5 / EQUAL_BAND_K;
    (
        toward + share * (away - toward),
        b + share * (a - b),
        turn * steep * (away - toward),
        0.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The reference is the plain function with its roots and powers, whose own checks against
    /// published values stand beside it. 3e-6: the two tables' errors together.
    #[test]
    fn gives_the_same_coefficient_and_slopes_as_the_plain_function() {
        let air = AirTable::new(98_000.0);
        for face in [Face::Vertical, Face::Up, Face::Down, Face::Cylinder] {
            for speed_m_per_s in [0.0, 0.05, 0.6] {
                for length_m in [0.04, 0.14, 0.7] {
                    let plain = ConvectiveFace {
                        face,
                        length_m,
                        speed_m_per_s,
                        forced_length_m: length_m,
                        multiplier: 1.1,
                    };
                    let fast = PreparedFace::new(&plain, &air);
                    for air_K in [275.0, 301.3, 330.0] {
                        for warmer in [
                            -40.0, -7.0, -0.3, -0.02, 0.0, 0.01, 0.04, 0.2, 3.0, 25.0, 200.0,
                        ] {
                            let s = air_K + warmer;
                            let got = fast.coefficient(s, air_K, &air);
                            let want = plain.coefficient(s, air_K, &air);
                            let at = format!(
                                "{face:?} {speed_m_per_s} m/s {length_m} m {air_K} K {warmer} K"
                            );
                            assert!(
                                (got.value / want - 1.0).abs() < 3e-6,
                                "{at}: {} {want}",
                                got.value
                            );
                            let flux = |s: f64, a: f64| plain.coefficient(s, a, &air) * (s - a);
                            let e = 1e-4;
                            let by_surface = (flux(s + e, air_K) - flux(s - e, air_K)) / (2.0 * e);
                            let by_air = (flux(s, air_K + e) - flux(s, air_K - e)) / (2.0 * e);
                            let ours = got.value + warmer * got.by_surface;
                            assert!(
                                (ours / by_surface - 1.0).abs() < 1e-3,
                                "{at}: {ours} {by_surface}"
                            );
                            let ours = -got.value + warmer * got.by_air;
                            assert!((ours / by_air - 1.0).abs() < 1e-3, "{at}: {ours} {by_air}");
                        }
                    }
                }
            }
        }
    }

    /// Beyond its forced table a face keeps the table's ends: the coefficient no longer changes.
    #[test]
    fn forced_convection_holds_beyond_its_table() {
        let air = AirTable::new(98_000.0);
        let face = ConvectiveFace {
            face: Face::Vertical,
            length_m: 0.3,
            speed_m_per_s: 2.0,
            forced_length_m: 0.3,
            multiplier: 0.0,
        };
        let fast = PreparedFace::new(&face, &air);
        let high_K = FORCED_LOW_K + FORCED_STEP_K * FORCED_CELLS as f64;
        for (end_K, beyond_K) in [(FORCED_LOW_K, 230.0), (high_K, 640.0)] {
            let (end, beyond) = (
                fast.value(end_K, end_K, &air),
                fast.value(beyond_K, beyond_K, &air),
            );
            let plain = face.coefficient(end_K, end_K, &air);
            assert!((end / plain - 1.0).abs() < 3e-6, "{end} {plain}");
            assert!(
                (beyond / end - 1.0).abs() < 1e-12,
                "{beyond_K} K: {beyond} {end}"
            );
        }
    }
}
