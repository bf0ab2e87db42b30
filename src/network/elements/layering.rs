//! Air that neighbouring layers exchange: a layer under a cooler one turns over, and the moving gantry stirs.

use super::law::{Law, Moment};
use crate::network::balance::Sink;
use crate::network::description::Link;
use crate::network::parts::{Index, LedgerId};
use crate::number::Number;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::overturning::overturning_m3K_per_s;

/// Layers of air, one on top of the other.
#[derive(Debug, Clone, PartialEq)]
pub struct Layering {
    /// Bottom to top.
    pub layers: Vec<Index>,
    /// Horizontal section, m2.
    pub section_m2: f64,
    /// Height of all layers together, m.
    pub height_m: f64,
    /// Constant exchange between neighbours, m3/s.
    pub stirring_m3_per_s: f64,
}

impl Law for Layering {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        self.layers.iter().copied().for_each(f);
    }

    fn ledgers(&self, _: &mut dyn FnMut(LedgerId)) {}

    #[inline(always)]
    fn heat<D: Number>(&self, t: impl Fn(Index) -> D, m: &Moment<'_>, out: &mut impl Sink<D>) {
        for pair in self.layers.windows(2) {
            let (low, high) = (t(pair[0]), t(pair[1]));
            let mean = D::of(0.5) * (low + high);
            let density = D::of(m.air.pressure_Pa()) / (D::of(GAS_CONSTANT_J_PER_KGK) * mean);
            let heat = density * D::of(HEAT_CAPACITY_J_PER_KGK);
            let turned = overturning_m3K_per_s(self.section_m2, self.height_m, low, high);
            let up = heat * (D::of(self.stirring_m3_per_s) * (low - high) + turned);
            out.give(pair[0], -up);
            out.give(pair[1], up);
        }
    }

    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        out.push(Link::LayerExchange {
            layers: self.layers.iter().map(|l| name(*l)).collect(),
            section_m2: self.section_m2,
            height_m: self.height_m,
            stirring_m_per_s: self.stirring_m3_per_s / self.section_m2,
        });
    }
}
