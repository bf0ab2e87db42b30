//! Air between a face and its surroundings, as polynomials of the film temperature, to seven digits: no one knows a
//! coefficient of convection better than to some hundredths.

use crate::physics::air::{Air, SEA_LEVEL_PRESSURE_PA, TABLE_HIGH_K, TABLE_LOW_K};
use crate::physics::convection::{AWAY_BAND, EQUAL_BAND_K};
use crate::physics::prandtl::{cylinder_prandtl_factor, vertical_prandtl_factor};
use crate::physics::prepared::{FORCED_HIGH_K, FORCED_LOW_K};
use crate::wide::{Narrow, Powers, Wide, everywhere, fitted, powers_of};

const MIDDLE_K: f64 = 0.5 * (TABLE_LOW_K + TABLE_HIGH_K);
const HALF_K: f64 = 0.5 * (TABLE_HIGH_K - TABLE_LOW_K);
const FORCED_MIDDLE_K: f64 = 0.5 * (FORCED_LOW_K + FORCED_HIGH_K);
const FORCED_HALF_K: f64 = 0.5 * (FORCED_HIGH_K - FORCED_LOW_K);
/// Coefficients of forced convection's polynomial.
pub(super) const FORCED: usize = 9;

/// What natural and forced convection need of air.
#[derive(Debug, Clone)]
pub(super) struct Films {
    pub powers: Powers,
    log_buoyancy: [Narrow; 12],
    conductivity: [Narrow; 9],
    vertical: [Narrow; 8],
    cylinder: [Narrow; 8],
    /// Logarithms of the Rayleigh numbers between which a horizontal face's air turns turbulent: from where, and
    /// one over how far.
    pub away_from: f32,
    pub away_per: f32,
    /// Film temperatures at which forced coefficients are read, and the polynomial by them.
    forced_K: [f64; FORCED],
    forced_powers: [[f64; FORCED]; FORCED],
    /// Of air at sea level, 1/(m3 K), where it is least.
    least_buoyancy: f64,
}

impl Films {
    pub fn new() -> Self {
        let air = |x: f64| Air::at(MIDDLE_K + HALF_K * x, SEA_LEVEL_PRESSURE_PA);
        let (away_from, away_to) = (AWAY_BAND.0.log2(), AWAY_BAND.1.log2());
        let angle = |k: usize| std::f64::consts::PI * (k as f64 + 0.5) / FORCED as f64;
        let forced_powers = std::array::from_fn(|place| {
            let series: [f64; FORCED] = std::array::from_fn(|j| {
                let weight = if j == 0 { 1.0 } else { 2.0 } / FORCED as f64;
                weight * (j as f64 * angle(place)).cos()
            });
            powers_of(&series, 1.0, 0.0)
        });
        Self {
            powers: Powers::new(),
            log_buoyancy: everywhere(fitted(-1.0, 1.0, 0.0, |x| air(x).buoyancy_per_m3K().log2())),
            conductivity: everywhere(fitted(-1.0, 1.0, 0.0, |x| air(x).conductivity_W_per_mK)),
            vertical: everywhere(fitted(-1.0, 1.0, 0.0, |x| {
                vertical_prandtl_factor(air(x).prandtl).0
            })),
            cylinder: everywhere(fitted(-1.0, 1.0, 0.0, |x| {
                cylinder_prandtl_factor(air(x).prandtl).0
            })),
            away_from: away_from as f32,
            away_per: (1.0 / (away_to - away_from)) as f32,
            forced_K: std::array::from_fn(|k| FORCED_MIDDLE_K + FORCED_HALF_K * angle(k).cos()),
            forced_powers,
            least_buoyancy: air(1.0).buoyancy_per_m3K(),
        }
    }

    /// The smallest Rayleigh number there can be, where it has this beside buoyancy and the difference, m3.
    pub fn least_rayleigh(&self, scale_m3: f64) -> f64 {
        0.375 * EQUAL_BAND_K * self.least_buoyancy * scale_m3
    }

    /// A film temperature's place in the polynomials' range, whose ends hold beyond.
    #[inline(always)]
    pub fn place(&self, film_K: Wide) -> Narrow {
        let x = (film_K - MIDDLE_K).narrow() * (1.0 / HALF_K) as f32;
        Narrow::all(-1.0).max(Narrow::all(1.0).min(x))
    }

    #[inline(always)]
    pub fn log_buoyancy(&self, place: Narrow) -> Narrow {
        place.polynomial(&self.log_buoyancy)
    }

    #[inline(always)]
    pub fn conductivity(&self, place: Narrow) -> Narrow {
        place.polynomial(&self.conductivity)
    }

    #[inline(always)]
    pub fn vertical(&self, place: Narrow) -> Narrow {
        place.polynomial(&self.vertical)
    }

    #[inline(always)]
    pub fn cylinder(&self, place: Narrow) -> Narrow {
        place.polynomial(&self.cylinder)
    }

    #[inline(always)]
    pub fn cube_root(&self, x: Narrow) -> Narrow {
        // What is no number stays none.
        let tiny = Narrow::all(1e-30);
        let x = tiny.above(x, tiny, x);
        (x.log2(&self.powers) * (1.0 / 3.0)).exp2(&self.powers)
    }

    /// The place in forced convection's range of a place in that of air.
    #[inline(always)]
    pub fn forced_film(&self, place: Narrow) -> Narrow {
        let x = (place * (HALF_K / FORCED_HALF_K) as f32)
            + ((MIDDLE_K - FORCED_MIDDLE_K) * (1.0 / FORCED_HALF_K)) as f32;
        Narrow::all(-1.0).max(Narrow::all(1.0).min(x))
    }

    pub fn forced_place(&self, k: usize) -> f64 {
        self.forced_K[k]
    }

    /// The polynomial through values at [`Films::forced_place`].
    pub fn forced_fit(&self, at: &dyn Fn(usize) -> f64) -> [f64; FORCED] {
        let mut c = [0.0; FORCED];
        for (place, powers) in self.forced_powers.iter().enumerate() {
            let value = at(place);
            for (c, p) in c.iter_mut().zip(powers) {
                *c += value * p;
            }
        }
        c
    }

    /// Film temperatures between those places, K.
    pub fn forced_checks(&self) -> impl Iterator<Item = f64> {
        self.forced_K.windows(2).map(|w| 0.5 * (w[0] + w[1]))
    }

    pub fn forced_by(&self, c: &[f64; FORCED], film_K: f64) -> f64 {
        let x = (film_K - FORCED_MIDDLE_K) / FORCED_HALF_K;
        c.iter().rev().fold(0.0, |v, c| v * x + c)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The polynomials are as good as seven digits are, over the whole range of the tables.
    #[test]
    fn polynomials_follow_air() {
        let films = Films::new();
        let mut off = [0.0_f64; 4];
        for k in 0..=4000 {
            let film_K = TABLE_LOW_K + (TABLE_HIGH_K - TABLE_LOW_K) * f64::from(k) / 4000.0;
            let air = Air::at(film_K, SEA_LEVEL_PRESSURE_PA);
            let place = films.place(Wide::all(film_K));
            let is = |x: Narrow| f64::from(x.0[0]);
            let errors = [
                // As the sixth root of Rayleigh numbers has it, which heat goes by.
                (is(films.log_buoyancy(place)) - air.buoyancy_per_m3K().log2()) * 0.12,
                is(films.conductivity(place)) / air.conductivity_W_per_mK - 1.0,
                is(films.vertical(place)) / vertical_prandtl_factor(air.prandtl).0 - 1.0,
                is(films.cylinder(place)) / cylinder_prandtl_factor(air.prandtl).0 - 1.0,
            ];
            for (off, error) in off.iter_mut().zip(errors) {
                *off = off.max(error.abs());
            }
        }
        println!("OFF {off:?}");
        assert!(off.iter().all(|off| *off < 1e-6), "{off:?}");
    }
}
