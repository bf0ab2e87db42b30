//! A thin rod that moves through one surrounding after another and takes on their temperatures, or
//! stands in one.

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

/// Fourier number, on the radius, of a rod at the end of a length that it passes: pi k L/(m cp).
///
/// * `feed_kg_per_s`: kg/s; 0 (parked) gives infinity. `heat_capacity_J_per_kgK`: J/(kg K).
///   `conductivity_W_per_mK`: W/(m K). `length_m`: m.
///
/// The same as a t/R^2 with t = L/v: the rod's section cancels.
/// Worked example: 19 g/h, 1500 J/(kg K), 0.15 W/(m K), 15 mm: 0.893.
#[must_use]
pub fn fourier_on_the_way(
    feed_kg_per_s: f64,
    heat_capacity_J_per_kgK: f64,
    conductivity_W_per_mK: f64,
    length_m: f64,
) -> f64 {
    let carried = feed_kg_per_s * heat_capacity_J_per_kgK;
    if carried <= 0.0 {
        return f64::INFINITY;
    }
    PI * conductivity_W_per_mK * length_m / carried
}

/// Fourier number, on the radius, that standing for a time adds: 4 k t/(rho cp d^2).
///
/// * `density_kg_per_m3`: kg/m3, above 0. `heat_capacity_J_per_kgK`: J/(kg K), above 0.
///   `conductivity_W_per_mK`: W/(m K). `diameter_m`: m, above 0. `time_s`: s.
///
/// Worked example: 1240 kg/m3, 1500 J/(kg K), 0.15 W/(m K), 1.75 mm, 30 s: 3.16.
#[must_use]
pub fn fourier_standing(
    density_kg_per_m3: f64,
    heat_capacity_J_per_kgK: f64,
    conductivity_W_per_mK: f64,
    diameter_m: f64,
    time_s: f64,
) -> f64 {
    let stores = density_kg_per_m3 * heat_capacity_J_per_kgK * diameter_m * diameter_m;
    4.0 * conductivity_W_per_mK * time_s / stores
}

/// Length over which heat runs along a standing rod in a bore before the bore has taken 1 - 1/e of it, m:
/// sqrt(k d/(4 h)), as for a long fin.
///
/// Worked example: 0.15 W/(m K), 1.75 mm, 60 W/(m2 K): 1.05 mm.
///
/// Reference: infinitely long fin of circular section; Incropera & DeWitt, section 3.6.
#[must_use]
pub fn conduction_length_m(conductivity_W_per_mK: f64, diameter_m: f64, h_W_per_m2K: f64) -> f64 {
    (conductivity_W_per_mK * diameter_m / (4.0 * h_W_per_m2K)).sqrt()
}

/// How far a standing rod in a cold bore is drawn towards the hot end of the neck that the bore ends in:
/// a share of the difference between the neck's two ends, l/(2 n) exp(-x/l).
///
/// The neck's temperature rises evenly over its length n; the rod follows it with the conduction length l
/// of [`conduction_length_m`], which smears the kink where bore and neck meet.
///
/// * `conduction_m`: l, m. `neck_m`: n, m, above 0. `ahead_m`: x, how far ahead of the neck, m.
///
/// Range: steady, so the rod has stood for l^2/a (some 15 s) or longer; sooner it is cooler. l well below n.
/// Worked example: l = 1.05 mm, neck 3 mm, 2 mm ahead of it: 0.026; 4 K of 155 K.
///
/// Reference: k A T'' = h P (T - T_w) on both sides of the kink, joined in value and slope.
#[must_use]
pub fn share_of_neck(conduction_m: f64, neck_m: f64, ahead_m: f64) -> f64 {
    (0.5 * conduction_m / neck_m * (-ahead_m / conduction_m).exp()).min(1.0)
}

/// Coefficient between a thin horizontal rod and air with walls of the same temperature, W/(m2 K):
/// natural or mixed convection on a cylinder plus radiation, e sigma (Ts^2 + Ta^2)(Ts + Ta).
///
/// * `rod_K`, `air_K`: temperatures, K. `diameter_m`: m. `emissivity`: 0 to 1.
/// * `speed_m_per_s`: air speed across the rod, m/s; 0 for still air.
///
/// Range and reference: Churchill & Chu 1975 for convection
/// ([`nusselt_horizontal_cylinder`](super::convection::nusselt_horizontal_cylinder)), at 1.75 mm and
/// 1 K to 30 K a Rayleigh number of 0.5 to 12.
/// Worked example: 1.75 mm at 310 K in air at 300 K, emissivity 0.9: 21.5 W/(m2 K), 5.8 of it
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::air::SEA_LEVEL_PRESSURE_PA;

    /// The same length from the other form, rho cp v d/(4 h): 1240 * 1800 * 1e-3 * 1.75e-3/(4 * 15)
    /// = 0.0651 m.
    #[test]
    fn decay_length_of_slow_filament() {
        let feed = 1240.0 * 1e-3 * PI / 4.0 * 1.75e-3 * 1.75e-3;
        assert!((decay_length_m(feed, 1800.0, 1.75e-3, 15.0) - 0.0651).abs() < 1e-6);
        assert_eq!(decay_length_m(0.0, 1800.0, 1.75e-3, 15.0), 0.0);
        assert_eq!(decay_length_m(feed, 1800.0, 1.75e-3, 0.0), f64::INFINITY);
    }

    /// dT/dx = (T_env - T)/L stepped along in 100 000 pieces: first order, so 1e-5 of 20 K.
    #[test]
    fn advance_solves_the_rod_equation() {
        let (n, length, decay, surroundings) = (100_000, 0.3, 0.2, 320.0);
        let mut t = 300.0;
        for _ in 0..n {
            t += (surroundings - t) / decay * length / f64::from(n);
        }
        assert!((advance_K(300.0, surroundings, length, decay) - t).abs() < 2e-4);
    }

    #[test]
    fn parked_filament_takes_the_temperature_around_it_and_a_jet_keeps_its_own() {
        assert_eq!(advance_K(300.0, 320.0, 0.0, 0.0), 320.0);
        assert_eq!(advance_K(300.0, 320.0, 0.5, f64::INFINITY), 300.0);
        // No jump as the feed stops.
        assert!((advance_K(300.0, 320.0, 0.5, 1e-6) - 320.0).abs() < 1e-12);
        // 1 - 1/e.
        assert!((fraction_exchanged(2.0, 2.0) - 0.632_120_558_8).abs() < 1e-10);
    }

    #[test]
    fn fourier_numbers_of_the_worked_examples() {
        let on_the_way = fourier_on_the_way(19e-3 / 3600.0, 1500.0, 0.15, 0.015);
        assert!((on_the_way - 0.893).abs() < 5e-4, "{on_the_way}");
        assert_eq!(fourier_on_the_way(0.0, 1500.0, 0.15, 0.015), f64::INFINITY);
        let standing = fourier_standing(1240.0, 1500.0, 0.15, 1.75e-3, 30.0);
        assert!((standing - 3.16).abs() < 5e-3, "{standing}");
        // From the other side: a t/R^2 at v = m/(rho A), over the same length.
        let v = 19e-3 / 3600.0 / (1240.0 * PI / 4.0 * 1.75e-3 * 1.75e-3);
        let same = fourier_standing(1240.0, 1500.0, 0.15, 1.75e-3, 0.015 / v);
        assert!((same - on_the_way).abs() < 1e-12);
    }

    /// A rod of 3,000 pieces in a bore and a neck, relaxed by elimination (Thomas): error of the pieces
    /// (10 um)^2/(12 l^2), below 1e-5.
    #[test]
    fn a_standing_rod_ahead_of_the_neck() {
        let (conduction, neck) = (conduction_length_m(0.15, 1.75e-3, 60.0), 3e-3);
        assert!((conduction - 1.05e-3).abs() < 5e-6);
        // 20 mm of bore at 0, then the neck from 0 to 1 and on in the same slope, far enough not to matter.
        let (n, dx) = (3000, 1e-5);
        let wall = |k: usize| ((k as f64 * dx - 0.02) / neck).max(0.0);
        let a = (conduction / dx).powi(2);
        let (mut c, mut d) = (vec![0.0; n], vec![0.0; n]);
        for k in 0..n {
            let (left, right) = (
                if k == 0 { 0.0 } else { a },
                if k == n - 1 { 0.0 } else { a },
            );
            let given = wall(k) + if k == n - 1 { a * dx / neck } else { 0.0 };
            let before = if k == 0 {
                (0.0, 0.0)
            } else {
                (c[k - 1], d[k - 1])
            };
            let pivot = 1.0 + left + right - left * before.0;
            c[k] = right / pivot;
            d[k] = (given + left * before.1) / pivot;
        }
        let mut t = vec![0.0; n];
        for k in (0..n).rev() {
            t[k] = d[k] + if k + 1 < n { c[k] * t[k + 1] } else { 0.0 };
        }
        for ahead in [0.0, 1e-3, 2e-3, 4e-3] {
            let at = ((0.02 - ahead) / dx).round() as usize;
            let ours = share_of_neck(conduction, neck, ahead);
            assert!((ours - t[at]).abs() < 1e-4, "{ahead}: {ours} {}", t[at]);
        }
    }

    /// `ht` 1.2.0, Churchill & Chu at Ra = 0.5 and 15 gives Nu 0.78 and 1.22, other published
    /// correlations (Morgan, Kuehn & Goldstein) up to 1.58; with air at 0.0268 W/(m K) that is 12 to
    /// 24 W/(m2 K) on 1.75 mm. Radiation at 305 K is 4 e sigma T^3 = 0.9 * 6.43 = 5.8.
    #[test]
    fn a_thin_rod_in_air() {
        let table = AirTable::new(SEA_LEVEL_PRESSURE_PA);
        let black = air_coefficient(310.0, 300.0, 1.75e-3, 0.9, 0.0, &table);
        let bright = air_coefficient(310.0, 300.0, 1.75e-3, 0.0, 0.0, &table);
        assert!(bright > 12.0 && bright < 24.0, "{bright}");
        // The factored form against the cube of the mean: (dT/2T)^2 = 3e-4 of 5.8, and rounding.
        assert!(
            (black - bright - 0.9 * 6.4346).abs() < 0.005,
            "{}",
            black - bright
        );
        assert!(air_coefficient(310.0, 300.0, 1.75e-3, 0.9, 1.0, &table) > 2.0 * black);
    }
}
