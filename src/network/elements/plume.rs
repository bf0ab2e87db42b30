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

use super::convector::Convector;
use super::law::{Law, Moment, Pair};
use crate::network::balance::Sink;
use crate::network::description::Link;
use crate::network::parts::{BodyId, Index, LedgerId};
use crate::number::Number;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::openings::horizontal_exchange_m3_per_s;
use crate::physics::plume::{plume_flow_m3_per_s, virtual_origin_m};
use crate::physics::smooth;

/// Convective power over which the plume fades in, W: small beside any real bed's.
pub const FADE_W: f64 = 0.5;
/// How much warmer than the top layer a face must be for all its heat to rise there, K.
pub const REACH_K: f64 = 2.0;

/// The plume and the layers it passes.
#[derive(Debug, Clone, PartialEq)]
pub struct Plume {
    /// Warm faces at the bottom; their `air` is the bottom layer.
    pub faces: Vec<Convector>,
    /// Air layers, bottom to top, and the heights at which they meet, m.
    layers: Vec<Index>,
    passes_m: Vec<f64>,
    /// Volume flow of the plume where it passes from a layer to the next, as a multiple of its flow
    /// one metre above a point source.
    spreads: Vec<f64>,
    /// Area of the source, m2.
    source_area_m2: f64,
    /// Multiplies the plume's volume flow.
    pub multiplier: f64,
    /// Horizontal section of the chamber, m2.
    pub section_m2: f64,
    /// Constant exchange between neighbouring layers, m3/s.
    pub stirring_m3_per_s: f64,
}

/// Why layers and heights make no plume.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a plume through {layers} layers passes from one to the next at {} heights, not {passes}", .layers.saturating_sub(1))]
pub struct PlumeError {
    layers: usize,
    passes: usize,
}

impl Plume {
    /// A plume from faces at the bottom, whose source has an area, m2, through layers that meet at
    /// heights, m.
    ///
    /// # Errors
    /// When there are no layers, or not one height less than layers.
    pub fn new(
        faces: Vec<Convector>,
        layers: Vec<Index>,
        passes_m: Vec<f64>,
        source_area_m2: f64,
        section_m2: f64,
    ) -> Result<Self, PlumeError> {
        if layers.is_empty() || passes_m.len() + 1 != layers.len() {
            return Err(PlumeError {
                layers: layers.len(),
                passes: passes_m.len(),
            });
        }
        // Any heat will do: the law's height and heat are independent factors.
        const HEAT_W: f64 = 100.0;
        let origin_m = virtual_origin_m((4.0 * source_area_m2 / std::f64::consts::PI).sqrt());
        let reference = plume_flow_m3_per_s(HEAT_W, 0.0, 1.0);
        let spreads = passes_m
            .iter()
            .map(|z| plume_flow_m3_per_s(HEAT_W, *z, origin_m) / reference)
            .collect();
        Ok(Self {
            faces,
            layers,
            passes_m,
            spreads,
            source_area_m2,
            multiplier: 1.0,
            section_m2,
            stirring_m3_per_s: 0.0,
        })
    }

    fn top(&self) -> Index {
        self.layers[self.layers.len() - 1]
    }
}

impl Law for Plume {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        self.layers.iter().copied().for_each(&mut *f);
        self.faces.iter().for_each(|c| {
            f(c.surface);
            f(c.air);
        });
    }

    fn ledgers(&self, _: &mut dyn FnMut(LedgerId)) {}

    fn bodies(&self, f: &mut dyn FnMut(BodyId)) {
        self.faces.iter().filter_map(Pair::body).for_each(f);
    }

    #[inline(always)]
    fn heat<D: Number>(&self, t: impl Fn(Index) -> D, m: &Moment<'_>, out: &mut impl Sink<D>) {
        let (bottom, top) = (self.layers[0], self.top());
        // What the faces give together, and what of it has the warmth to rise to the top layer.
        let (mut all, mut buoyant) = (D::of(0.0), D::of(0.0));
        for c in &self.faces {
            let q = c.flow(t(c.surface), t(c.air), m);
            out.give(c.surface, -q);
            all = all + q;
            let share = (t(c.surface) - t(top)).through(|x| {
                let (share, slope) = smooth::step_with_slope(x / REACH_K);
                (share, slope / REACH_K)
            });
            buoyant = buoyant + q * share;
        }
        if buoyant.value() < 0.0 {
            buoyant = D::of(0.0);
        }
        let rising = buoyant * buoyant / (buoyant + D::of(FADE_W));
        out.give(bottom, all - rising);
        out.give(top, rising);
        // The law is a product of a power of the heat and a power of the height.
        let at_one_metre = D::of(self.multiplier) * plume_flow_m3_per_s(rising, 0.0, 1.0);
        for (pair, spread) in self.layers.windows(2).zip(&self.spreads) {
            let (low, high) = (t(pair[0]), t(pair[1]));
            let mean = D::of(0.5) * (low + high);
            let density = D::of(m.air.pressure_Pa()) / (D::of(GAS_CONSTANT_J_PER_KGK) * mean);
            let heat = density * D::of(HEAT_CAPACITY_J_PER_KGK);
            let overturn = horizontal_exchange_m3_per_s(self.section_m2, 0.0, low, high);
            let carried = heat * at_one_metre * D::of(*spread) * (high - low);
            let mixed = heat * (D::of(self.stirring_m3_per_s) + overturn) * (high - low);
            out.give(pair[0], carried + mixed);
            out.give(top, -carried);
            out.give(pair[1], -mixed);
        }
    }

    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        let layers: Vec<String> = self.layers.iter().map(|l| name(*l)).collect();
        out.push(Link::Plume {
            faces: self.faces.iter().map(|f| f.description(name)).collect(),
            layers: layers.clone(),
            passes_m: self.passes_m.clone(),
            source_area_m2: self.source_area_m2,
            multiplier: self.multiplier,
        });
        out.push(Link::LayerExchange {
            layers,
            section_m2: self.section_m2,
            stirring_m_per_s: self.stirring_m3_per_s / self.section_m2,
        });
    }
}
