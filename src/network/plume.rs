//! The plume over warm faces at the bottom, and the air that neighbouring layers exchange.
//!
//! Warm faces give their convective heat `P` to a plume. It carries air up through every layer to
//! the top one and entrains more on the way; the same volume sinks along the cooler shell. With
//! the capacity rate `W_k` of the plume where it passes from layer `k` to `k+1`, layer `k` gains
//! `W_k (T_(k+1) - T_k)` and the top layer gains `P` and loses the sum of the others, so the
//! element keeps heat exactly. A face cooler than the top layer cannot send a plume into it: its
//! heat stays in the bottom layer, and so does the cold of faces that cool the air. The
//! change-overs are smooth. A layer under a cooler one overturns: the two-way exchange through a horizontal
//! opening of the chamber's own section. Stirring by the moving gantry is a constant conductance.

use super::evaluate::{Balance, Slopes};
use super::{Convector, Index};
use crate::physics::air::{AirTable, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::openings::horizontal_exchange_m3_per_s;
use crate::physics::plume::plume_flow_m3_per_s;
use crate::physics::smooth;

/// Convective power over which the plume fades in, W: small beside any real bed's.
pub const FADE_W: f64 = 0.5;
/// How much warmer than the top layer a face must be for all its heat to rise there, K.
pub const REACH_K: f64 = 2.0;
/// Most layers a plume can pass.
pub const MAX_LAYERS: usize = 32;

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

/// What the faces give, W.
#[derive(Default)]
struct Given {
    /// Together.
    all_W: f64,
    /// Of it, what has the warmth to rise to the top layer.
    buoyant_W: f64,
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

    fn top(&self) -> Index {
        self.layers[self.layers.len() - 1]
    }

    /// Heat gained by each layer, W, into `gains`.
    fn gains(&self, given: &Given, t: &[f64], air: &AirTable, gains: &mut [f64; MAX_LAYERS]) {
        let top = self.layers.len() - 1;
        let buoyant = given.buoyant_W.max(0.0);
        let rising_W = buoyant * buoyant / (buoyant + FADE_W);
        gains[..=top].fill(0.0);
        gains[0] += given.all_W - rising_W;
        gains[top] += rising_W;
        // The law is a product of a power of the heat and a power of the height.
        let at_one_metre = self.multiplier * plume_flow_m3_per_s(rising_W, 0.0, 1.0);
        for (k, spread) in self.spreads.iter().enumerate() {
            let (low, high) = (t[self.layers[k]], t[self.layers[k + 1]]);
            let heat = air.density(0.5 * (low + high)) * HEAT_CAPACITY_J_PER_KGK;
            let overturn = horizontal_exchange_m3_per_s(self.section_m2, 0.0, low, high);
            let carried = heat * at_one_metre * spread * (high - low);
            let mixed = heat * (self.stirring_m3_per_s + overturn) * (high - low);
            gains[k] += carried + mixed;
            gains[top] -= carried;
            gains[k + 1] -= mixed;
        }
    }

    /// Share of a face's heat that can rise to the top layer, and its slope with the face's excess
    /// over that layer, 1/K.
    fn reach(face_K: f64, top_K: f64) -> (f64, f64) {
        let (share, slope) = smooth::step_with_slope((face_K - top_K) / REACH_K);
        (share, slope / REACH_K)
    }

    pub(super) fn balance(&self, t: &[f64], f: f64, air: &AirTable, out: &mut Balance) {
        let mut given = Given::default();
        for c in &self.faces {
            let q = c.area.at(f) * c.flux(t[c.surface], t[c.air], air);
            out.give(c.surface, -q);
            given.all_W += q;
            given.buoyant_W += q * Self::reach(t[c.surface], t[self.top()]).0;
        }
        let mut gains = [0.0; MAX_LAYERS];
        self.gains(&given, t, air, &mut gains);
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
        let layers = self.layers.len();
        let top = self.top();
        let mut given = Given::default();
        for c in &self.faces {
            let q = c.area.at(f) * c.flux(t[c.surface], t[c.air], air);
            given.all_W += q;
            given.buoyant_W += q * Self::reach(t[c.surface], t[top]).0;
        }
        let (mut base, mut moved) = ([0.0; MAX_LAYERS], [0.0; MAX_LAYERS]);
        self.gains(&given, t, air, &mut base);
        // How the layers' gains answer to buoyant heat; to the sum only the bottom layer does.
        let more = Given {
            buoyant_W: given.buoyant_W + STEP_W,
            ..given
        };
        self.gains(&more, t, air, &mut moved);
        let mut by_buoyant = [0.0; MAX_LAYERS];
        for k in 0..layers {
            by_buoyant[k] = (moved[k] - base[k]) / STEP_W;
        }
        let spread = |out: &mut Slopes, point: Index, by_all: f64, buoyant: f64| {
            out.give(self.layers[0], point, by_all);
            for (k, layer) in self.layers.iter().enumerate() {
                out.give(*layer, point, by_buoyant[k] * buoyant);
            }
        };
        for c in &self.faces {
            let (flux, ds, da) = c.flux_and_slopes(t[c.surface], t[c.air], air);
            let area = c.area.at(f);
            let (share, share_slope) = Self::reach(t[c.surface], t[top]);
            let turn = area * flux * share_slope;
            out.give(c.surface, c.surface, -area * ds);
            out.give(c.surface, c.air, -area * da);
            spread(out, c.surface, area * ds, share * area * ds + turn);
            spread(out, c.air, area * da, share * area * da);
            spread(out, top, 0.0, -turn);
            let rate = flux * c.area.grown_m2 * f_rate;
            if rate != 0.0 {
                out.give_rate(c.surface, -rate);
                out.give_rate(self.layers[0], rate);
                for (k, layer) in self.layers.iter().enumerate() {
                    out.give_rate(*layer, by_buoyant[k] * share * rate);
                }
            }
        }
        // At constant heat, to each layer's own temperature.
        for layer in &self.layers {
            let kept = t[*layer];
            t[*layer] = kept + STEP_K;
            self.gains(&given, t, air, &mut moved);
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
