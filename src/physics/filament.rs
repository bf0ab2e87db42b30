//! A thin rod that moves through one surrounding after another and takes on their temperatures.

use super::air::AirTable;
use super::convection::{ConvectiveFace, Face};
use super::radiation::STEFAN_BOLTZMANN;
use std::f64::consts::PI;

/// Length over which a moving rod takes on all but 1/e of a temperature difference, m.
///
/// L = m cp/(h pi d), the same as rho cp v d/(4 h).
///
/// * `feed_kg_per_s`: mass fed, kg/s; 0 (parked) gives 0.
/// * `heat_capacity_J_per_kgK`: J/(kg K). `diameter_m`: m. `h_W_per_m2K`: coefficient to the
///   surroundings; 0 gives infinity.
///
/// Range: the rod's own Biot number h d/(4 k) small, and conduction along it negligible (Peclet number
/// rho cp v L/k above some ten).
/// Worked example: 1240 kg/m3, 1800 J/(kg K), 1.75 mm, 1 mm/s, 15 W/(m2 K): 0.0651 m.
///
/// Reference: energy balance of a moving rod, as for a fin; Incropera & DeWitt, chapter 3.
#[must_use]
#[inline]
pub fn decay_length_m(
    feed_kg_per_s: f64,
    heat_capacity_J_per_kgK: f64,
    diameter_m: f64,
    h_W_per_m2K: f64,
) -> f64 {
    let carried = feed_kg_per_s * heat_capacity_J_per_kgK;
    if carried <= 0.0 {
        return 0.0;
    }
    carried / (h_W_per_m2K * PI * diameter_m)
}

/// Share of the difference to the surroundings that is gone after a length: 1 - exp(-x/L).
///
/// 1 where the decay length is 0 (parked filament), 0 where it is infinite.
///
/// Worked example: x = L gives 0.6321.
#[must_use]
#[inline]
pub fn fraction_exchanged(length_m: f64, decay_length_m: f64) -> f64 {
    if decay_length_m <= 0.0 {
        return 1.0;
    }
    -(-length_m / decay_length_m).exp_m1()
}

/// Temperature of a rod after a length in surroundings of one temperature, K:
/// T + (T_entry - T) exp(-x/L).
///
/// Worked example: from 300 K through one decay length of 320 K: 312.64 K.
#[must_use]
#[inline]
pub fn advance_K(entry_K: f64, surroundings_K: f64, length_m: f64, decay_length_m: f64) -> f64 {
    entry_K + (surroundings_K - entry_K) * fraction_exchanged(length_m, decay_length_m)
}

/// Coefficient between a thin horizontal rod and air with walls of the same temperature, W/(m2 K):
/// natural or mixed convection on a cylinder plus radiation, e sigma (Ts^2 + Ta^2)(Ts + Ta).
///
/// * `rod_K`, `air_K`: temperatures, K. `diameter_m`: m. `emissivity`: 0 to 1.
/// * `speed_m_per_s`: air speed across the rod, m/s; 0 for still air.
///
/// Range and reference: Churchill & Chu 1975 for convection
/// ([`nusselt_horizontal_cylinder`](super::convection::nusselt_horizontal_cylinder)), at 1.75 mm and
/// 1 K to 30 K a Rayleigh number of 0.5 to 15.
/// Worked example: 1.75 mm at 310 K in air at 300 K, emissivity 0.9: about 19 W/(m2 K), a third of it
/// radiation.
#[must_use]
#[inline]
pub fn air_coefficient(
    rod_K: f64,
    air_K: f64,
    diameter_m: f64,
    emissivity: f64,
    speed_m_per_s: f64,
    table: &AirTable,
) -> f64 {
    let convection = ConvectiveFace {
        face: Face::Cylinder,
        length_m: diameter_m,
        speed_m_per_s,
        forced_length_m: diameter_m,
        multiplier: 1.0,
    };
    let radiation =
        emissivity * STEFAN_BOLTZMANN * (rod_K * rod_K + air_K * air_K) * (rod_K + air_K);
    convection.coefficient(rod_K, air_K, table) + radiation
}
