//! The plume over something warm in the chamber's air.
//!
//! What gives heat to the air of one layer gives its convective heat `P` to a plume. It carries air up
//! through every layer above to the top one and entrains more on the way; the same volume sinks along the
//! cooler shell. With the capacity rate `W_k` of the plume where it passes from layer `k` to `k+1`, layer `k`
//! gains `W_k (T_(k+1) - T_k)` and the top layer gains `P` and loses the sum of the others, so the
//! element keeps heat exactly. A surface cooler than the top layer cannot send a plume into it: its
//! heat stays in its own layer, and so does the cold of surfaces that cool the air. The
//! change-overs are smooth.

use super::conductor::Conductor;
use super::convector::Convector;
use super::law::{Law, Moment, Pair};
use crate::network::balance::Sink;
use crate::network::description::{Link, LossDescription};
use crate::network::parts::{BodyId, Index, LedgerId};
use crate::number::Number;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::plume::{plume_flow_m3_per_s, virtual_origin_m};
use crate::physics::smooth;

/// Convective power over which the plume fades in, W: small beside any real bed's.
pub const FADE_W: f64 = 0.5;
/// How much warmer than the top layer a face must be for all its heat to rise there, K.
pub const REACH_K: f64 = 2.0;

/// A plume, what feeds it, and the layers it passes.
#[derive(Debug, Clone, PartialEq)]
pub struct Plume {
    /// Faces at its source; their `air` is the layer it rises from.
    pub faces: Vec<Convector>,
    /// Conductances from something warm to that layer.
    pub losses: Vec<Conductor>,
    /// Air layers from the source's to the top one.
    layers: Vec<Index>,
    /// Heights above the source at which they meet, m.
    passes_m: Vec<f64>,
    /// Volume flow of the plume where it passes from a layer to the next, as a multiple of its flow
    /// one metre above a point source.
    spreads: Vec<f64>,
    /// Area of the source, m2.
    source_area_m2: f64,
    /// Multiplies the plume's volume flow.
    pub multiplier: f64,
}

/// Why layers and heights make no plume.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a plume through {layers} layers passes from one to the next at {} heights, not {passes}", .layers.saturating_sub(1))]
pub struct PlumeError {
    layers: usize,
    passes: usize,
}

impl Plume {
    /// A plume without anything to feed it yet, whose source has an area, m2, through layers from the source's
    /// to the top one that meet at heights above the source, m.
    ///
    /// # Errors
    /// When there are no layers, or not one height less than layers.
    pub fn new(
        layers: Vec<Index>,
        passes_m: Vec<f64>,
        source_area_m2: f64,
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
            faces: Vec::new(),
            losses: Vec::new(),
            layers,
            passes_m,
            spreads,
            source_area_m2,
            multiplier: 1.0,
        })
    }

    /// Air layers from the source's to the top one.
    #[must_use]
    pub fn layers(&self) -> &[Index] {
        &self.layers
    }

    /// Heights above the source at which they meet, m.
    #[must_use]
    pub fn passes_m(&self) -> &[f64] {
        &self.passes_m
    }

    /// Volume flow where it passes from a layer to the next, over that one metre above a point source.
    #[cfg(feature = "lanes")]
    pub(in crate::network) fn spreads(&self) -> impl Iterator<Item = f64> {
        self.spreads.iter().map(|s| self.multiplier * s)
    }

    fn source(&self) -> Index {
        self.layers[0]
    }

    fn top(&self) -> Index {
        self.layers[self.layers.len() - 1]
    }

    /// Heat from a surface, of which the share that has the warmth to rise to the top layer is added.
    #[inline(always)]
    fn give<D: Number>(
        (surface, surface_K, top_K): (Index, D, D),
        q: D,
        (all, buoyant): (&mut D, &mut D),
        out: &mut impl Sink<D>,
    ) {
        out.give(surface, -q);
        *all = *all + q;
        let share = (surface_K - top_K).through(|x| {
            let (share, slope) = smooth::step_with_slope(x / REACH_K);
            (share, slope / REACH_K)
        });
        *buoyant = *buoyant + q * share;
    }
}

impl Law for Plume {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        self.layers.iter().copied().for_each(&mut *f);
        let faces = self.faces.iter().map(Pair::joins);
        let losses = self.losses.iter().map(Pair::joins);
        faces.chain(losses).for_each(|(surface, air)| {
            f(surface);
            f(air);
        });
    }

    fn ledgers(&self, _: &mut dyn FnMut(LedgerId)) {}

    fn bodies(&self, f: &mut dyn FnMut(BodyId)) {
        self.faces.iter().filter_map(Pair::body).for_each(f);
    }

    #[inline(always)]
    fn heat<D: Number>(&self, t: impl Fn(Index) -> D, m: &Moment<'_>, out: &mut impl Sink<D>) {
        let (source, top) = (self.source(), self.top());
        let (mut all, mut buoyant) = (D::of(0.0), D::of(0.0));
        for c in &self.faces {
            let surface_K = t(c.surface);
            let q = c.flow(surface_K, t(c.air), m);
            Self::give(
                (c.surface, surface_K, t(top)),
                q,
                (&mut all, &mut buoyant),
                out,
            );
        }
        for c in &self.losses {
            let surface_K = t(c.a);
            let q = c.flow(surface_K, t(c.b), m);
            Self::give((c.a, surface_K, t(top)), q, (&mut all, &mut buoyant), out);
        }
        // In the top layer there is nothing above to rise through.
        if self.passes_m.is_empty() {
            out.give(source, all);
            return;
        }
        if buoyant.value() < 0.0 {
            buoyant = D::of(0.0);
        }
        let rising = buoyant * buoyant / (buoyant + D::of(FADE_W));
        out.give(source, all - rising);
        out.give(top, rising);
        // The law is a product of a power of the heat and a power of the height.
        let at_one_metre = D::of(self.multiplier) * plume_flow_m3_per_s(rising, 0.0, 1.0);
        for (pair, spread) in self.layers.windows(2).zip(&self.spreads) {
            let (low, high) = (t(pair[0]), t(pair[1]));
            let mean = D::of(0.5) * (low + high);
            let density = D::of(m.air.pressure_Pa()) / (D::of(GAS_CONSTANT_J_PER_KGK) * mean);
            let heat = density * D::of(HEAT_CAPACITY_J_PER_KGK);
            let carried = heat * at_one_metre * D::of(*spread) * (high - low);
            out.give(pair[0], carried);
            out.give(top, -carried);
        }
    }

    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        let losses = self.losses.iter().map(|c| LossDescription {
            surface: name(c.a),
            air: name(c.b),
            conductance_W_per_K: c.conductance_W_per_K,
        });
        out.push(Link::Plume {
            faces: self.faces.iter().map(|f| f.description(name)).collect(),
            losses: losses.collect(),
            layers: self.layers.iter().map(|l| name(*l)).collect(),
            passes_m: self.passes_m.clone(),
            source_area_m2: self.source_area_m2,
            multiplier: self.multiplier,
        });
    }
}
