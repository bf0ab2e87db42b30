//! Dry air as an ideal gas: density, viscosity, conductivity, and what natural convection needs.

use super::GRAVITY_M_PER_S2;
use super::prandtl::{cylinder_prandtl_factor, vertical_prandtl_factor};
use super::tabulated::{cell_and_place, cubic_between};
use crate::remembered::Remembered;
use std::cell::RefCell;
use std::sync::Arc;

/// Specific heat capacity of air at constant pressure, J/(kg K). Real air stays within 0.5 % of it
/// from 220 K to 370 K.
pub const HEAT_CAPACITY_J_PER_KGK: f64 = 1006.0;

/// Specific gas constant of dry air, J/(kg K) (ISO 2533:1975 gives 287.05287).
pub const GAS_CONSTANT_J_PER_KGK: f64 = 287.05;

/// Pressure of the standard atmosphere at sea level, Pa (ISO 2533:1975).
pub const SEA_LEVEL_PRESSURE_PA: f64 = 101_325.0;

/// Properties of air at one temperature and pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_Pa_s: f64,
    /// Thermal conductivity, W/(m K).
    pub conductivity_W_per_mK: f64,
    /// Heat capacity at constant pressure, J/(kg K).
    pub heat_capacity_J_per_kgK: f64,
    /// Prandtl number.
    pub prandtl: f64,
    /// Volumetric thermal expansion, 1/K.
    pub expansion_per_K: f64,
}

impl Air {
    /// Properties at a temperature (K, above zero) and pressure (Pa).
    ///
    /// Density p/(R T); expansion 1/T; viscosity 1.458e-6 T^1.5/(T + 110.4) Pa s (Sutherland);
    /// conductivity 2.648151e-3 T^1.5/(T + 245.4 * 10^(-12/T)) W/(m K).
    ///
    /// Published range: the standard atmosphere, 163 K to 323 K. Against reference equations of
    /// state, viscosity and conductivity stay within 2 % from 220 K to 500 K.
    /// Worked example: 288.15 K and 101325 Pa give 1.225 kg/m3, 1.7894e-5 Pa s and
    /// 0.025343 W/(m K) (ISO 2533:1975, table at sea level).
    ///
    /// Reference: ISO 2533:1975 Standard Atmosphere, equations for density, viscosity and
    /// conductivity (coefficients from memory, checked against libraries in the tests).
    #[must_use]
    #[inline]
    pub fn at(temperature_K: f64, pressure_Pa: f64) -> Self {
        let t15 = temperature_K * temperature_K.sqrt();
        let viscosity_Pa_s = 1.458e-6 * t15 / (temperature_K + SUTHERLAND_K);
        let conductivity_W_per_mK =
            2.648_151e-3 * t15 / (temperature_K + thermal_sutherland_K(temperature_K));
        Self {
            density_kg_per_m3: pressure_Pa / (GAS_CONSTANT_J_PER_KGK * temperature_K),
            viscosity_Pa_s,
            conductivity_W_per_mK,
            heat_capacity_J_per_kgK: HEAT_CAPACITY_J_PER_KGK,
            prandtl: HEAT_CAPACITY_J_PER_KGK * viscosity_Pa_s / conductivity_W_per_mK,
            expansion_per_K: 1.0 / temperature_K,
        }
    }

    /// Kinematic viscosity, m2/s.
    #[must_use]
    #[inline]
    pub fn kinematic_viscosity_m2_per_s(&self) -> f64 {
        self.viscosity_Pa_s / self.density_kg_per_m3
    }

    /// g beta/(nu alpha), 1/(m3 K): the Rayleigh number is this times |dT| L^3.
    #[must_use]
    #[inline]
    pub fn buoyancy_per_m3K(&self) -> f64 {
        let nu = self.kinematic_viscosity_m2_per_s();
        GRAVITY_M_PER_S2 * self.expansion_per_K * self.prandtl / (nu * nu)
    }
}

/// Sutherland's constant for the viscosity of air, K.
const SUTHERLAND_K: f64 = 110.4;

/// The term 245.4 * 10^(-12/T) of the conductivity of air, K.
#[inline]
fn thermal_sutherland_K(temperature_K: f64) -> f64 {
    245.4 * (-12.0 * std::f64::consts::LN_10 / temperature_K).exp()
}

/// Pressure of the standard atmosphere at a geometric altitude, Pa.
///
/// H = r z/(r + z) with r = 6 356 766 m; p = 101325 (1 - 0.0065 H/288.15)^5.25588.
///
/// * `altitude_m`: geometric altitude above sea level, m; published for this layer from -5000 m to
///   11 000 m geopotential, and held at its ends outside.
///
/// Worked example: 2000 m gives 79 501 Pa (ISO 2533:1975, table; U.S. Standard Atmosphere 1976,
/// table I: 7.9501e2 mbar).
///
/// Reference: ISO 2533:1975 Standard Atmosphere.
#[must_use]
pub fn pressure_at_altitude_Pa(altitude_m: f64) -> f64 {
    const EARTH_RADIUS_M: f64 = 6_356_766.0;
    const LAPSE_K_PER_M: f64 = 0.0065;
    const SEA_LEVEL_K: f64 = 288.15;
    const EXPONENT: f64 = GRAVITY_M_PER_S2 / (LAPSE_K_PER_M * 287.052_87);
    let z = altitude_m.clamp(-5000.0, 11_019.0);
    let geopotential_m = EARTH_RADIUS_M * z / (EARTH_RADIUS_M + z);
    SEA_LEVEL_PRESSURE_PA * (1.0 - LAPSE_K_PER_M * geopotential_m / SEA_LEVEL_K).powf(EXPONENT)
}

/// Temperatures at which the properties have been held against reference equations, K.
pub const CHECKED_K: std::ops::RangeInclusive<f64> = 220.0..=500.0;

/// Lowest temperature of an [`AirTable`], K.
pub(crate) const TABLE_LOW_K: f64 = 220.0;
/// Highest temperature of an [`AirTable`], K.
pub(crate) const TABLE_HIGH_K: f64 = 720.0;
/// Spacing of an [`AirTable`], K: the error of a cubic over a cell is about 1680/384 (h/T)^4 of
/// the steepest quantity (T^-5), 5e-7 at the cold end.
const TABLE_STEP_K: f64 = 4.0;
/// Cells of an [`AirTable`].
const TABLE_CELLS: usize = 125;

/// What natural convection needs of air at one film temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Film {
    /// g beta/(nu alpha), 1/(m3 K).
    pub(crate) buoyancy_per_m3K: f64,
    /// Conductivity, W/(m K).
    pub(crate) conductivity_W_per_mK: f64,
    /// Factor of Ra^(1/6) on a vertical plate.
    pub(crate) vertical_factor: f64,
    /// Factor of Ra^(1/6) on a horizontal cylinder.
    pub(crate) cylinder_factor: f64,
}

/// Air at one pressure, tabulated for the integrator: cubic Hermite pieces every 4 K from 220 K to
/// 720 K, with the exact values and slopes of [`Air::at`] at the knots. Within 1e-6 of
/// [`Air::at`], once continuously differentiable, constant outside the table.
#[derive(Debug, Clone, PartialEq)]
pub struct AirTable {
    pressure_Pa: f64,
    /// The same for all who ask for one pressure.
    cells: Arc<[Cell]>,
}

/// What forced convection needs of air at one film temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stream {
    /// Kinematic viscosity, m2/s.
    pub(crate) kinematic_viscosity_m2_per_s: f64,
    /// k Pr^(1/3)/nu^(1/2), W s^(1/2)/(m2 K): times 0.664 (V/L)^(1/2) it is the coefficient of a
    /// laminar plate.
    pub(crate) plate_factor: f64,
}

/// Coefficients of the cubics over one cell. Power first, quantity second: one film temperature
/// asks for several at once, and they are computed side by side.
#[derive(Debug, Clone, PartialEq)]
struct Cell {
    film: [[f64; 4]; 4],
    stream: [[f64; 2]; 4],
}

/// Value and slope (times the spacing) of the six tabulated quantities at one knot.
#[derive(Clone, Copy)]
struct Knot {
    value: [f64; 6],
    rise: [f64; 6],
}

impl Knot {
    fn at(temperature_K: f64, pressure_Pa: f64) -> Self {
        let t = temperature_K;
        let air = Air::at(t, pressure_Pa);
        let s = thermal_sutherland_K(t);
        // Slopes of the logarithms, 1/K.
        let viscosity = 1.5 / t - 1.0 / (t + SUTHERLAND_K);
        let conductivity = 1.5 / t - (1.0 + s * 12.0 * std::f64::consts::LN_10 / (t * t)) / (t + s);
        let kinematic = viscosity + 1.0 / t;
        let prandtl = viscosity - conductivity;
        let (vertical, vertical_slope) = vertical_prandtl_factor(air.prandtl);
        let (cylinder, cylinder_slope) = cylinder_prandtl_factor(air.prandtl);
        let value = [
            air.buoyancy_per_m3K(),
            air.conductivity_W_per_mK,
            vertical,
            cylinder,
            air.kinematic_viscosity_m2_per_s(),
            air.conductivity_W_per_mK * air.prandtl.cbrt()
                / air.kinematic_viscosity_m2_per_s().sqrt(),
        ];
        let log_slope = [
            prandtl - 1.0 / t - 2.0 * kinematic,
            conductivity,
            vertical_slope * prandtl,
            cylinder_slope * prandtl,
            kinematic,
            conductivity + prandtl / 3.0 - 0.5 * kinematic,
        ];
        let mut rise = [0.0; 6];
        for q in 0..6 {
            rise[q] = value[q] * log_slope[q] * TABLE_STEP_K;
        }
        Self { value, rise }
    }
}

thread_local! {
    /// Tables by the bits of their pressure: all runs at one place share theirs.
    static KNOWN: RefCell<Remembered<u64, Arc<[Cell]>>> = RefCell::new(Remembered::at_most(8));
}

impl AirTable {
    /// The table for one pressure, Pa. The first for it costs some ten microseconds.
    #[must_use]
    pub fn new(pressure_Pa: f64) -> Self {
        let key = pressure_Pa.to_bits();
        let cells = KNOWN.with_borrow_mut(|known| known.or_else(key, || Self::cells(pressure_Pa)));
        Self { pressure_Pa, cells }
    }

    fn cells(pressure_Pa: f64) -> Arc<[Cell]> {
        let mut cells = Vec::with_capacity(TABLE_CELLS);
        let mut left = Knot::at(TABLE_LOW_K, pressure_Pa);
        for i in 1..=TABLE_CELLS {
            let right = Knot::at(TABLE_LOW_K + TABLE_STEP_K * i as f64, pressure_Pa);
            let cubic = |q: usize| {
                cubic_between(left.value[q], left.rise[q], right.value[q], right.rise[q])
            };
            let mut film = [[0.0; 4]; 4];
            for q in 0..4 {
                for (power, c) in cubic(q).into_iter().enumerate() {
                    film[power][q] = c;
                }
            }
            let mut stream = [[0.0; 2]; 4];
            for q in 0..2 {
                for (power, c) in cubic(4 + q).into_iter().enumerate() {
                    stream[power][q] = c;
                }
            }
            cells.push(Cell { film, stream });
            left = right;
        }
        cells.into()
    }

    /// The pressure it was built for, Pa.
    #[must_use]
    pub const fn pressure_Pa(&self) -> f64 {
        self.pressure_Pa
    }

    /// The cell of a temperature and the place in it, see [`cell_and_place`].
    #[inline]
    fn place(&self, film_K: f64) -> (&Cell, f64) {
        let (i, x) = cell_and_place((film_K - TABLE_LOW_K) * (1.0 / TABLE_STEP_K));
        match self.cells.get(i) {
            Some(cell) => (cell, x),
            None if film_K > TABLE_LOW_K => (&self.cells[TABLE_CELLS - 1], 0.5),
            None => (&self.cells[0], -0.5),
        }
    }

    /// Everything natural convection needs, in one look-up.
    #[inline]
    pub(crate) fn film(&self, film_K: f64) -> Film {
        let [
            buoyancy_per_m3K,
            conductivity_W_per_mK,
            vertical_factor,
            cylinder_factor,
        ] = self.film_with_slopes(film_K).0;
        Film {
            buoyancy_per_m3K,
            conductivity_W_per_mK,
            vertical_factor,
            cylinder_factor,
        }
    }

    /// What forced convection needs, in one look-up.
    #[inline]
    pub(crate) fn stream(&self, film_K: f64) -> Stream {
        let (cell, x) = self.place(film_K);
        let c = &cell.stream;
        let mut v = [0.0; 2];
        for q in 0..2 {
            v[q] = (c[0][q] + x * c[1][q]) + (x * x) * (c[2][q] + x * c[3][q]);
        }
        Stream {
            kinematic_viscosity_m2_per_s: v[0],
            plate_factor: v[1],
        }
    }

    /// The quantities of [`AirTable::film`] in the order of their fields, and their slopes with the film
    /// temperature, per K.
    #[inline(always)]
    pub(crate) fn film_with_slopes(&self, film_K: f64) -> ([f64; 4], [f64; 4]) {
        let (cell, x) = self.place(film_K);
        let c = &cell.film;
        let (mut v, mut d) = ([0.0; 4], [0.0; 4]);
        for q in 0..4 {
            v[q] = (c[0][q] + x * c[1][q]) + (x * x) * (c[2][q] + x * c[3][q]);
            d[q] = (c[1][q] + x * (2.0 * c[2][q] + x * 3.0 * c[3][q])) * (1.0 / TABLE_STEP_K);
        }
        (v, d)
    }

    /// g beta/(nu alpha) at a film temperature (K), 1/(m3 K): Ra is this times |dT| L^3.
    #[must_use]
    #[inline]
    pub fn buoyancy(&self, film_K: f64) -> f64 {
        self.film(film_K).buoyancy_per_m3K
    }

    /// Conductivity at a film temperature (K), W/(m K).
    #[must_use]
    #[inline]
    pub fn conductivity(&self, film_K: f64) -> f64 {
        self.film(film_K).conductivity_W_per_mK
    }

    /// Kinematic viscosity at a film temperature (K), m2/s.
    #[must_use]
    #[inline]
    pub fn kinematic_viscosity(&self, film_K: f64) -> f64 {
        self.stream(film_K).kinematic_viscosity_m2_per_s
    }

    /// Density at a temperature (K), kg/m3; not tabulated, so not clamped.
    #[must_use]
    #[inline]
    pub fn density(&self, temperature_K: f64) -> f64 {
        self.pressure_Pa / (GAS_CONSTANT_J_PER_KGK * temperature_K)
    }

    /// Prandtl number at a film temperature (K).
    #[must_use]
    #[inline]
    pub fn prandtl(&self, film_K: f64) -> f64 {
        let t = film_K.clamp(TABLE_LOW_K, TABLE_HIGH_K);
        self.kinematic_viscosity(t) * self.density(t) * HEAT_CAPACITY_J_PER_KGK
            / self.conductivity(t)
    }
}

#[cfg(test)]
mod tests;
