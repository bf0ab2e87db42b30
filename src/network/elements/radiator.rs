//! Grey radiation between two surfaces.

use super::law::{Moment, Pair};
use crate::network::description::Link;
use crate::network::parts::{INTERNAL, Index, LedgerId};
use crate::number::Number;
use crate::physics::radiation::STEFAN_BOLTZMANN;

/// Grey radiation between two surfaces: `q = A sigma (T_a^4 - T_b^4)` with the exchange area `A`.
#[derive(Debug, Clone, PartialEq)]
pub struct Radiator {
    /// One surface.
    pub a: Index,
    /// The other.
    pub b: Index,
    /// Exchange area (area times emissivity factor), m2.
    pub exchange_area_m2: f64,
    /// What it follows from.
    pub basis: Basis,
    /// Ledger entry for heat that leaves from `a`.
    pub ledger: LedgerId,
}

/// What an exchange area follows from; exports tell it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Basis {
    /// It is given.
    Given,
    /// A face in large surroundings: area times emissivity.
    Surroundings {
        /// Area, m2.
        area_m2: f64,
        /// Emissivity of `a`.
        emissivity: f64,
    },
    /// Close, large, parallel plates: area over 1/e_a + 1/e_b - 1.
    Plates {
        /// Area, m2.
        area_m2: f64,
        /// Emissivity of `a`.
        emissivity_a: f64,
        /// Emissivity of `b`.
        emissivity_b: f64,
    },
}

impl Radiator {
    /// By an exchange area, m2, between nodes of which none is outside.
    #[must_use]
    pub const fn new(a: Index, b: Index, exchange_area_m2: f64) -> Self {
        Self {
            a,
            b,
            exchange_area_m2,
            basis: Basis::Given,
            ledger: INTERNAL,
        }
    }

    /// A face, m2, in large surroundings.
    #[must_use]
    pub fn to_surroundings(a: Index, b: Index, area_m2: f64, emissivity: f64) -> Self {
        Self {
            basis: Basis::Surroundings {
                area_m2,
                emissivity,
            },
            ..Self::new(a, b, emissivity * area_m2)
        }
    }

    /// Close, large, parallel plates, m2.
    #[must_use]
    pub fn between_plates(
        a: Index,
        b: Index,
        area_m2: f64,
        emissivity_a: f64,
        emissivity_b: f64,
    ) -> Self {
        Self {
            basis: Basis::Plates {
                area_m2,
                emissivity_a,
                emissivity_b,
            },
            ..Self::new(
                a,
                b,
                area_m2 / (1.0 / emissivity_a + 1.0 / emissivity_b - 1.0),
            )
        }
    }

    /// The same, its heat booked as leaving in a ledger.
    #[must_use]
    pub const fn booked(mut self, ledger: LedgerId) -> Self {
        self.ledger = ledger;
        self
    }
}

impl Pair for Radiator {
    fn joins(&self) -> (Index, Index) {
        (self.a, self.b)
    }
    fn ledger(&self) -> LedgerId {
        self.ledger
    }
    #[inline(always)]
    fn flow<D: Number>(&self, a: D, b: D, _: &Moment<'_>) -> D {
        let (a2, b2) = (a * a, b * b);
        D::of(self.exchange_area_m2 * STEFAN_BOLTZMANN) * (a2 * a2 - b2 * b2)
    }
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        let (a, b) = (name(self.a), name(self.b));
        out.push(match self.basis {
            Basis::Given => Link::RadiationByExchangeArea {
                a,
                b,
                exchange_area_m2: self.exchange_area_m2,
            },
            Basis::Surroundings {
                area_m2,
                emissivity,
            } => Link::RadiationToSurroundings {
                a,
                b,
                area_m2,
                emissivity,
            },
            Basis::Plates {
                area_m2,
                emissivity_a,
                emissivity_b,
            } => Link::RadiationParallelPlates {
                a,
                b,
                area_m2,
                emissivity_a,
                emissivity_b,
            },
        });
    }
}
