//! Contact of a growing body with what it stands on.

use super::law::{Moment, Pair};
use crate::network::description::Link;
use crate::network::parts::{BodyId, INTERNAL, Index, LedgerId};
use crate::number::Number;

/// Contact of a growing body with what it stands on: a contact coefficient in series with half of the
/// body's present height.
#[derive(Debug, Clone, PartialEq)]
pub struct Contact {
    /// Its node.
    pub body: Index,
    /// What it stands on.
    pub base: Index,
    /// The body that grows.
    pub grows: BodyId,
    /// Footprint, m2.
    pub area_m2: f64,
    /// Contact coefficient, W/(m2 K).
    pub contact_W_per_m2K: f64,
    /// Height when fully grown, m.
    pub height_m: f64,
    /// Conductivity of the body, W/(m K).
    pub conductivity_W_per_mK: f64,
}

impl Pair for Contact {
    fn joins(&self) -> (Index, Index) {
        (self.body, self.base)
    }
    fn ledger(&self) -> LedgerId {
        INTERNAL
    }
    fn body(&self) -> Option<BodyId> {
        Some(self.grows)
    }
    #[inline(always)]
    fn flow<D: Number>(&self, a: D, b: D, m: &Moment<'_>) -> D {
        let half_m = D::of(0.5 * self.height_m) * m.share(self.grows);
        let resistance =
            D::of(1.0 / self.contact_W_per_m2K) + half_m / D::of(self.conductivity_W_per_mK);
        D::of(self.area_m2) / resistance * (a - b)
    }
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        out.push(Link::GrowingContact {
            body: name(self.body),
            base: name(self.base),
            area_m2: self.area_m2,
            contact_W_per_m2K: self.contact_W_per_m2K,
            height_m: self.height_m,
            conductivity_W_per_mK: self.conductivity_W_per_mK,
        });
    }
}
