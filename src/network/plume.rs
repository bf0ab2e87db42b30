//! The plume over warm faces at the bottom, and the air that neighbouring layers exchange.
//!
//! Warm faces give their convective heat `P` to a plume. It carries air up through every layer to
//! the top one and entrains more on the way; the same volume sinks along the cooler shell. With
//! the capacity rate `W_k` of the plume where it passes from layer `k` to `k+1`, layer `k` gains
//! `W_k (T_(k+1) - T_k)` and the top layer gains `P` and loses the sum of the others, so the
//! element keeps heat exactly. Cool faces (`P < 0`) cool the bottom layer instead; the change-over
//! is smooth. A layer under a cooler one overturns: the two-way exchange through a horizontal
//! opening of the chamber's own section. Stirring by the moving gantry is a constant conductance.

use super::evaluate::{Balance, Slopes};
use super::{Convector, Index};
use crate::physics::air::{AirTable, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::openings::horizontal_exchange_m3_per_s;
use crate::physics::plume::plume_flow_m3_per_s;

/// Convective power over which the plume fades in, W: small beside any real bed's.
const FADE_W: f64 = 0.5;
/// Most layers a plume can pass.
pub const MAX_LAYERS: usize = 32;
const MAX_FACES: usize = 8;

/// The plume and the layers it passes.
#[derive(Debug, Clone, PartialEq)]
pub struct Plume {
    /// Warm faces at the bottom; their `air` is the bottom layer.
    pub faces: Vec<Convector>,
    /// Air layers, bottom to top.
    pub layers: Vec<Index>,
    /// Volume flow of the plume where it passes from a layer to the next, as a multiple of its flow
    /// one metre above a point source; see [`Plume::spreads`].
    pub spreads: Vec<f64>,
    /// Multiplies the plume's volume flow.
    pub multiplier: f64,
    /// Horizontal section of the chamber, m2.
    pub section_m2: f64,
    /// Constant exchange between neighbouring layers, m3/s.
    pub stirring_m3_per_s: f64,
}

/// Where heat goes, given the convective power and the layers' temperatures.
struct Exchange {
    to_top_W: f64,
    /// Capacity rates of the plume and of plain mixing at each interface, W/K.
    carried: [f64; MAX_LAYERS],
    mixed: [f64; MAX_LAYERS],
}

impl Plume {
    /// Multiples of the flow one metre above a point source, at heights above the bed, m.
    #[must_use]
    pub fn spreads(heights_m: &[f64], virtual_origin_m: f64) -> Vec<f64> {
        // Any heat will do: the law's height and heat are independent factors.
        const HEAT_W: f64 = 100.0;
        let reference = plume_flow_m3_per_s(HEAT_W, 0.0, 1.0);
        heights_m
            .iter()
            .map(|z| plume_flow_m3_per_s(HEAT_W, *z, virtual_origin_m) / reference)
            .collect()
    }

    fn exchange(&self, power_W: f64, t: &[f64], air: &AirTable) -> Exchange {
        let rising_W = 0.5 * (power_W + (power_W * power_W + FADE_W * FADE_W).sqrt());
        let mut x = Exchange {
            to_top_W: rising_W,
            carried: [0.0; MAX_LAYERS],
            mixed: [0.0; MAX_LAYERS],
        };
        // The law is a product of a power of the heat and a power of the height.
        let at_one_metre = plume_flow_m3_per_s(rising_W, 0.0, 1.0);
        for (k, spread) in self.spreads.iter().enumerate() {
            let (low, high) = (t[self.layers[k]], t[self.layers[k + 1]]);
            let heat = air.density(0.5 * (low + high)) * HEAT_CAPACITY_J_PER_KGK;
            x.carried[k] = heat * self.multiplier * at_one_metre * spread;
            let overturn = horizontal_exchange_m3_per_s(self.section_m2, 0.0, low, high);
            x.mixed[k] = heat * (self.stirring_m3_per_s + overturn);
        }
        x
    }

    /// Heat gained by each layer, W, into `gains`.
    fn gains(&self, power_W: f64, t: &[f64], air: &AirTable, gains: &mut [f64; MAX_LAYERS]) {
        let x = self.exchange(power_W, t, air);
        let top = self.layers.len() - 1;
        gains[..=top].fill(0.0);
        gains[0] += power_W - x.to_top_W;
        gains[top] += x.to_top_W;
        for k in 0..top {
            let fall = t[self.layers[k + 1]] - t[self.layers[k]];
            gains[k] += (x.carried[k] + x.mixed[k]) * fall;
            gains[top] -= x.carried[k] * fall;
            gains[k + 1] -= x.mixed[k] * fall;
        }
    }

    fn power(&self, t: &[f64], f: f64, air: &AirTable) -> f64 {
        self.faces
            .iter()
            .map(|c| c.area.at(f) * c.flux(t[c.surface], t[c.air], air))
            .sum()
    }

    pub(super) fn balance(&self, t: &[f64], f: f64, air: &AirTable, out: &mut Balance) {
        let mut power = 0.0;
        for c in &self.faces {
            let q = c.area.at(f) * c.flux(t[c.surface], t[c.air], air);
            out.give(c.surface, -q);
            power += q;
        }
        let mut gains = [0.0; MAX_LAYERS];
        self.gains(power, t, air, &mut gains);
        for (k, layer) in self.layers.iter().enumerate() {
            out.give(*layer, gains[k]);
        }
    }

    pub(super) fn slopes(
        &self,
        t: &mut [f64],
        f: f64,
        f_rate: f64,
        air: &AirTable,
        out: &mut Slopes,
    ) {
        const STEP_W: f64 = 1e-4;
        const STEP_K: f64 = 1e-4;
        let power = self.power(t, f, air);
        let (mut base, mut moved) = ([0.0; MAX_LAYERS], [0.0; MAX_LAYERS]);
        self.gains(power, t, air, &mut base);
        // How the layers' gains answer to the convective power ...
        self.gains(power + STEP_W, t, air, &mut moved);
        let mut by_power = [0.0; MAX_LAYERS];
        for k in 0..self.layers.len() {
            by_power[k] = (moved[k] - base[k]) / STEP_W;
        }
        debug_assert!(self.faces.len() <= MAX_FACES);
        for c in &self.faces {
            let (q, ds, da) = c.flux_and_slopes(t[c.surface], t[c.air], air);
            let area = c.area.at(f);
            for (point, slope) in [(c.surface, area * ds), (c.air, area * da)] {
                out.give(c.surface, point, -slope);
                for (k, layer) in self.layers.iter().enumerate() {
                    out.give(*layer, point, by_power[k] * slope);
                }
            }
            let rate = q * c.area.grown_m2 * f_rate;
            if rate != 0.0 {
                out.give_rate(c.surface, -rate);
                for (k, layer) in self.layers.iter().enumerate() {
                    out.give_rate(*layer, by_power[k] * rate);
                }
            }
        }
        // ... and, at constant power, to each layer's own temperature.
        for layer in &self.layers {
            let kept = t[*layer];
            t[*layer] = kept + STEP_K;
            self.gains(power, t, air, &mut moved);
            t[*layer] = kept;
            for (k, other) in self.layers.iter().enumerate() {
                let slope = (moved[k] - base[k]) / STEP_K;
                if slope != 0.0 {
                    out.give(*other, *layer, slope);
                }
            }
        }
    }
}
