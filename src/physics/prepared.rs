//! A convective face made ready for the integrator: the same coefficient as
//! [`ConvectiveFace::coefficient`], several times faster, with its slopes where they are asked for.
//!
//! Natural convection looks its powers of the Rayleigh number up in tables that all faces share;
//! forced convection depends on the film temperature alone once speed and length are known, and
//! becomes a short table of its own. Both tables are cubics with continuous slopes.

use crate::number::Number;
use std::cell::RefCell;
use std::sync::{Arc, LazyLock};

use super::air::AirTable;
use super::convection::{
    ConvectiveFace, EQUAL_BAND_K, Face, HORIZONTAL_CYLINDER, VERTICAL_PLATE,
    nusselt_horizontal_away, nusselt_horizontal_toward,
};
use super::smooth;
use super::tabulated::{Tabulated, cell_and_place, cubic_at, cubic_between};
use crate::remembered::Remembered;

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
pub(crate) const VERTICAL_STILL: f64 = 0.825;
pub(crate) const CYLINDER_STILL: f64 = 0.60;
/// What forced flow across a cylinder tends to at rest (Churchill & Bernstein).
pub(crate) const CYLINDER_AT_REST: f64 = 0.3;

/// Film temperatures of the forced table, K. Outside, its ends are used; no air near a chamber is
/// there.
pub(crate) const FORCED_LOW_K: f64 = 250.0;
#[cfg(feature = "lanes")]
pub(crate) const FORCED_HIGH_K: f64 = FORCED_LOW_K + FORCED_STEP_K * FORCED_CELLS as f64;
const FORCED_STEP_K: f64 = 25.0;
const FORCED_CELLS: usize = 12;

/// Cubics between its film temperatures.
/// Coefficients of forced flow by film temperature.
pub(crate) type ForcedTable = [[f64; 4]; FORCED_CELLS];

/// A face ready to be asked often.
#[derive(Debug, Clone, PartialEq)]
pub struct PreparedFace {
    face: Face,
    cube_m3: f64,
    per_length: f64,
    multiplier: f64,
    /// Coefficient of forced flow by film temperature; of a cylinder what it has above rest. Many faces have the same.
    forced: Option<Arc<ForcedTable>>,
}

impl PreparedFace {
    /// Prepares a face for air at one pressure.
    #[must_use]
    pub fn new(face: &ConvectiveFace, air: &AirTable) -> Self {
        let forced = (face.speed_m_per_s > 0.0).then(|| known_forced(face, air));
        Self {
            face: face.face,
            cube_m3: face.length_m * face.length_m * face.length_m,
            per_length: 1.0 / face.length_m,
            multiplier: face.multiplier,
            forced,
        }
    }

    /// The forced part by film temperature, W/(m2 K): of a cylinder what it has above rest. None in still air.
    #[cfg(feature = "lanes")]
    pub(crate) fn forced(&self) -> Option<&Arc<ForcedTable>> {
        self.forced.as_ref()
    }

    /// The coefficient, W/(m2 K).
    #[must_use]
    #[inline(always)]
    pub fn coefficient<D: Number>(&self, surface_K: D, air_K: D, air: &AirTable) -> D {
        let film_K = D::of(0.5) * (surface_K + air_K);
        let [buoyancy, conductivity, vertical, cylinder] =
            film_K.through_all(|t| air.film_with_slopes(t));
        let warmer = surface_K - air_K;
        let size = warmer.through(|x| smooth::abs_with_slope(x, EQUAL_BAND_K));
        let ra = buoyancy * D::of(self.cube_m3) * size;
        let p = &*POWERS;
        let nu = match self.face {
            Face::Vertical => {
                let root = D::of(VERTICAL_STILL) + vertical * ra.through(|x| p.vertical.at(x));
                root * root
            }
            Face::Cylinder => {
                let root = D::of(CYLINDER_STILL) + cylinder * ra.through(|x| p.cylinder.at(x));
                root * root
            }
            Face::Up => horizontal(p, ra, warmer),
            Face::Down => horizontal(p, ra, -warmer),
        };
        let k = conductivity * D::of(self.per_length);
        let natural = nu * D::of(self.multiplier) * k;
        let Some(table) = &self.forced else {
            return natural;
        };
        let forced = film_K.through(|t| forced_at(table, t));
        let rest = match self.face {
            Face::Cylinder => D::of(CYLINDER_AT_REST) * k,
            Face::Vertical | Face::Up | Face::Down => D::of(0.0),
        };
        let above = natural - rest;
        let cubes = forced * forced * forced + above * above * above;
        rest + cubes.through(|x| p.cube_root.at(x))
    }
}

/// What a table of forced convection follows from: the face, and the bits of its numbers.
type Key = (Face, [u64; 4]);

thread_local! {
    /// Tables of forced convection: the faces of many runs differ in few things.
    static KNOWN: RefCell<Remembered<Key, Arc<ForcedTable>>> =
        RefCell::new(Remembered::at_most(4096));
}

/// The table of a face, which depends on what stands in the key alone.
fn known_forced(face: &ConvectiveFace, air: &AirTable) -> Arc<ForcedTable> {
    let numbers = [
        face.length_m,
        face.speed_m_per_s,
        face.forced_length_m,
        air.pressure_Pa(),
    ];
    let key = (face.face, numbers.map(f64::to_bits));
    KNOWN.with_borrow_mut(|known| known.or_else(key, || Arc::new(forced(face, air))))
}

fn forced(face: &ConvectiveFace, air: &AirTable) -> ForcedTable {
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
            super::convection::nusselt_cylinder_forced(re, air.prandtl(t)) * air.conductivity(t)
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
}

/// The forced table's value and slope; beyond its ends it stays what it is there.
/// Coefficient at a film temperature, and its slope.
#[inline(always)]
pub(crate) fn forced_at(table: &ForcedTable, film_K: f64) -> (f64, f64) {
    let (cell, s) = cell_and_place((film_K - FORCED_LOW_K) * (1.0 / FORCED_STEP_K));
    match table.get(cell) {
        Some(cubic) => {
            let (value, rise) = cubic_at(*cubic, s);
            (value, rise * (1.0 / FORCED_STEP_K))
        }
        None if film_K > FORCED_LOW_K => (cubic_at(table[FORCED_CELLS - 1], 0.5).0, 0.0),
        None => (cubic_at(table[0], -0.5).0, 0.0),
    }
}

/// A horizontal face whose air is driven away where `lighter` is positive, toward it where it is
/// negative; between, the two are mixed.
#[inline(always)]
fn horizontal<D: Number>(p: &Powers, ra: D, lighter: D) -> D {
    if lighter.value() >= EQUAL_BAND_K {
        return ra.through(|x| p.away.at(x));
    }
    if lighter.value() <= -EQUAL_BAND_K {
        return ra.through(|x| p.toward.at(x));
    }
    let share = lighter.through(|x| {
        let (share, slope) = smooth::step_with_slope(0.5 * (x / EQUAL_BAND_K + 1.0));
        (share, slope * 0.5 / EQUAL_BAND_K)
    });
    let (away, toward) = (ra.through(|x| p.away.at(x)), ra.through(|x| p.toward.at(x)));
    toward + share * (away - toward)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::Dual;

    fn fast_flux(face: &PreparedFace, surface_K: f64, air_K: f64, air: &AirTable) -> Dual<2> {
        let (s, a) = (Dual::input(surface_K, 0), Dual::input(air_K, 1));
        face.coefficient(s, a, air) * (s - a)
    }

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
                            let flux = fast_flux(&fast, s, air_K, &air);
                            let got = fast.coefficient(s, air_K, &air);
                            let want = plain.coefficient(s, air_K, &air);
                            let at = format!(
                                "{face:?} {speed_m_per_s} m/s {length_m} m {air_K} K {warmer} K"
                            );
                            assert!((got / want - 1.0).abs() < 3e-6, "{at}: {got} {want}");
                            let by_hand = |s: f64, a: f64| plain.coefficient(s, a, &air) * (s - a);
                            let e = 1e-4;
                            let by_surface =
                                (by_hand(s + e, air_K) - by_hand(s - e, air_K)) / (2.0 * e);
                            let by_air =
                                (by_hand(s, air_K + e) - by_hand(s, air_K - e)) / (2.0 * e);
                            let [ours, ours_by_air] = flux.slopes;
                            assert!(
                                (ours / by_surface - 1.0).abs() < 1e-3,
                                "{at}: {ours} {by_surface}"
                            );
                            assert!(
                                (ours_by_air / by_air - 1.0).abs() < 1e-3,
                                "{at}: {ours_by_air} {by_air}"
                            );
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
                fast.coefficient(end_K, end_K, &air),
                fast.coefficient(beyond_K, beyond_K, &air),
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
