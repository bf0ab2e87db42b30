//! Air between a face and its surroundings, as polynomials of the film temperature.

use crate::physics::air::{Air, SEA_LEVEL_PRESSURE_PA, TABLE_HIGH_K, TABLE_LOW_K};
use crate::physics::convection::{AWAY_BAND, EQUAL_BAND_K};
use crate::physics::prandtl::{cylinder_prandtl_factor, vertical_prandtl_factor};
use crate::physics::prepared::{FORCED_HIGH_K, FORCED_LOW_K};
use crate::wide::{Powers, Wide, fitted, powers_of};

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
    log_buoyancy: [f64; 12],
    conductivity: [f64; 9],
    vertical: [f64; 7],
    cylinder: [f64; 7],
    /// Logarithms of the Rayleigh numbers between which a horizontal face's air turns turbulent: from where, and
    /// one over how far.
    pub away_from: f64,
    pub away_per: f64,
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
            log_buoyancy: fitted(-1.0, 1.0, 0.0, |x| air(x).buoyancy_per_m3K().log2()),
            conductivity: fitted(-1.0, 1.0, 0.0, |x| air(x).conductivity_W_per_mK),
            vertical: fitted(-1.0, 1.0, 0.0, |x| {
                vertical_prandtl_factor(air(x).prandtl).0
            }),
            cylinder: fitted(-1.0, 1.0, 0.0, |x| {
                cylinder_prandtl_factor(air(x).prandtl).0
            }),
            away_from,
            away_per: 1.0 / (away_to - away_from),
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
    pub fn place(&self, film_K: Wide) -> Wide {
        let x = (film_K - MIDDLE_K) * (1.0 / HALF_K);
        Wide::all(-1.0).max(Wide::all(1.0).min(x))
    }

    #[inline(always)]
    pub fn log_buoyancy(&self, place: Wide) -> Wide {
        place.polynomial(&self.log_buoyancy)
    }

    #[inline(always)]
    pub fn conductivity(&self, place: Wide) -> Wide {
        place.polynomial(&self.conductivity)
    }

    #[inline(always)]
    pub fn vertical(&self, place: Wide) -> Wide {
        place.polynomial(&self.vertical)
    }

    #[inline(always)]
    pub fn cylinder(&self, place: Wide) -> Wide {
        place.polynomial(&self.cylinder)
    }

    #[inline(always)]
    pub fn cube_root(&self, x: Wide) -> Wide {
        // What is no number stays none.
        let tiny = Wide::all(1e-30);
        let x = tiny.above(x, tiny, x);
        (x.log2(&self.powers) * (1.0 / 3.0)).exp2(&self.powers)
    }

    /// The place in forced convection's range of a place in that of air.
    #[inline(always)]
    pub fn forced_film(&self, place: Wide) -> Wide {
        let x = (place * (HALF_K / FORCED_HALF_K))
            + (MIDDLE_K - FORCED_MIDDLE_K) * (1.0 / FORCED_HALF_K);
        Wide::all(-1.0).max(Wide::all(1.0).min(x))
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
