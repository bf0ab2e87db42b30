//! A linear conductance between two points.

use super::law::{Moment, Pair};
use crate::network::description::Link;
use crate::network::parts::{INTERNAL, Index, LedgerId};
use crate::number::Number;

/// A linear conductance between two points: `q = G (T_a - T_b)`.
#[derive(Debug, Clone, PartialEq)]
pub struct Conductor {
    /// Heat flows from here when it is warmer.
    pub a: Index,
    /// The other end.
    pub b: Index,
    /// Conductance, W/K.
    pub conductance_W_per_K: f64,
    /// What it follows from.
    pub basis: Basis,
    /// Ledger entry for heat that leaves from `a`.
    pub ledger: LedgerId,
}

/// What a conductance follows from; exports tell it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Basis {
    /// It is itself what was measured or given.
    Given,
    /// An area over a resistance.
    Resistance {
        /// Area, m2.
        area_m2: f64,
        /// Resistance, m2 K/W.
        resistance_m2K_per_W: f64,
    },
    /// A slice of a panel, which is described as a whole.
    Slice,
}

impl Conductor {
    /// A conductance that was measured or given, W/K, between nodes of which none is outside.
    #[must_use]
    pub const fn new(a: Index, b: Index, conductance_W_per_K: f64) -> Self {
        Self {
            a,
            b,
            conductance_W_per_K,
            basis: Basis::Given,
            ledger: INTERNAL,
        }
    }

    /// An area, m2, over a resistance, m2 K/W.
    #[must_use]
    pub fn of_resistance(a: Index, b: Index, area_m2: f64, resistance_m2K_per_W: f64) -> Self {
        Self {
            basis: Basis::Resistance {
                area_m2,
                resistance_m2K_per_W,
            },
            ..Self::new(a, b, area_m2 / resistance_m2K_per_W)
        }
    }

    /// The same, its heat booked as leaving in a ledger.
    #[must_use]
    pub const fn booked(mut self, ledger: LedgerId) -> Self {
        self.ledger = ledger;
        self
    }
}

impl Pair for Conductor {
    fn joins(&self) -> (Index, Index) {
        (self.a, self.b)
    }
    fn ledger(&self) -> LedgerId {
        self.ledger
    }
    #[inline(always)]
    fn flow<D: Number>(&self, a: D, b: D, _: &Moment<'_>) -> D {
        D::of(self.conductance_W_per_K) * (a - b)
    }
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        let (a, b) = (name(self.a), name(self.b));
        out.extend(match self.basis {
            Basis::Given => Some(Link::GivenConductance {
                a,
                b,
                conductance_W_per_K: self.conductance_W_per_K,
            }),
            Basis::Resistance {
                area_m2,
                resistance_m2K_per_W,
            } => Some(Link::Resistance {
                a,
                b,
                area_m2,
                resistance_m2K_per_W,
            }),
            Basis::Slice => None,
        });
    }
}
