//! What a fan inside adds to the exchange through an open lid or door.

use super::law::{Moment, Pair};
use crate::network::description::Link;
use crate::network::parts::{Index, LedgerId};
use crate::number::Number;
use crate::physics::air::{GAS_CONSTANT_J_PER_KGK, HEAT_CAPACITY_J_PER_KGK};
use crate::physics::openings::{
    horizontal_exchange_m3_per_s, stirred_excess_m3_per_s, vertical_exchange_m3_per_s,
};

/// An opening with air in motion along it. The exchange by warmth alone is moved elsewhere
/// ([`AirPaths`](super::air_paths::AirPaths)); this is what is exchanged beyond it.
#[derive(Debug, Clone, PartialEq)]
pub struct StirredOpening {
    /// The layer inside.
    pub layer: Index,
    /// The room.
    pub room: Index,
    /// Area of the opening before that layer, m2.
    pub area_m2: f64,
    /// Which way it lies.
    pub shape: Shape,
    /// Air speed inside, m/s.
    pub speed_m_per_s: f64,
    /// Share of that speed at which air is exchanged.
    pub factor: f64,
    /// Ledger entry for the heat that leaves.
    pub ledger: LedgerId,
}

/// Which way an opening lies, and what its exchange by warmth goes by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// In the top.
    Horizontal {
        /// Thickness of its rim, m.
        rim_m: f64,
    },
    /// In a side.
    Vertical {
        /// Height of the whole opening, m.
        height_m: f64,
        /// Discharge coefficient.
        discharge: f64,
    },
}

impl Pair for StirredOpening {
    fn joins(&self) -> (Index, Index) {
        (self.layer, self.room)
    }

    fn ledger(&self) -> LedgerId {
        self.ledger
    }

    #[inline(always)]
    fn flow<D: Number>(&self, inside: D, room: D, m: &Moment<'_>) -> D {
        let by_warmth = match self.shape {
            Shape::Horizontal { rim_m } => {
                horizontal_exchange_m3_per_s(self.area_m2, rim_m, inside, room)
            }
            Shape::Vertical {
                height_m,
                discharge,
            } => vertical_exchange_m3_per_s(self.area_m2, height_m, discharge, inside, room),
        };
        let stirred = self.factor * self.area_m2 * self.speed_m_per_s;
        let flow = stirred_excess_m3_per_s(by_warmth, stirred);
        let per_volume = m.air.pressure_Pa() / GAS_CONSTANT_J_PER_KGK * HEAT_CAPACITY_J_PER_KGK;
        flow * D::of(2.0 * per_volume) / (inside + room) * (inside - room)
    }

    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        let (rim_m, height_m, discharge) = match self.shape {
            Shape::Horizontal { rim_m } => (Some(rim_m), None, None),
            Shape::Vertical {
                height_m,
                discharge,
            } => (None, Some(height_m), Some(discharge)),
        };
        out.push(Link::StirredOpening {
            layer: name(self.layer),
            room: name(self.room),
            area_m2: self.area_m2,
            rim_m,
            height_m,
            discharge,
            speed_m_per_s: self.speed_m_per_s,
            factor: self.factor,
        });
    }
}
