//! Material moving past nodes: it takes on their temperatures bit by bit.
//!
//! At each station `T_out = T_in + e (T_surroundings - T_in)` with the exchanged fraction
//! `e = 1 - exp(-length / decay length)`; the heat `m cp (T_out - T_in)` comes from the station.
//! At the end the material is raised to the temperature of `outlet` (the nozzle) and laid down at
//! that temperature in `receiver` (the part).

use super::Index;
use super::evaluate::{Balance, Slopes};

/// A stretch of the path with one surrounding temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Name in results; several stretches may share one.
    pub name: &'static str,
    /// What surrounds the material.
    pub surroundings: Index,
    /// Fraction of the temperature difference exchanged along the stretch, 0 to 1.
    pub fraction: f64,
}

/// The material's way from its store to the receiver.
#[derive(Debug, Clone, PartialEq)]
pub struct Stream {
    /// Capacity rate m cp, W/K (0 while nothing moves).
    pub capacity_rate_W_per_K: f64,
    /// Point whose temperature the material has when it sets out.
    pub store: Index,
    /// The stretches in order.
    pub stations: Vec<Station>,
    /// Heats the material to its own temperature.
    pub outlet: Index,
    /// Where it is laid down.
    pub receiver: Index,
    /// Ledger entry for the heat the material brings with it, relative to the reference.
    pub ledger: usize,
}

impl Stream {
    pub(super) fn balance(&self, t: &[f64], reference_K: f64, out: &mut Balance) {
        let w = self.capacity_rate_W_per_K;
        if w == 0.0 {
            return;
        }
        let mut material = t[self.store];
        out.book(self.ledger, w * (material - reference_K));
        for s in &self.stations {
            let rise = s.fraction * (t[s.surroundings] - material);
            out.give(s.surroundings, -w * rise);
            material += rise;
        }
        out.give(self.outlet, -w * (t[self.outlet] - material));
        out.give(self.receiver, w * (t[self.outlet] - reference_K));
    }

    pub(super) fn slopes(&self, out: &mut Slopes) {
        let w = self.capacity_rate_W_per_K;
        if w == 0.0 {
            return;
        }
        out.book(self.ledger, self.store, w);
        // What remains of each earlier temperature at a station, walking down the path.
        for (k, s) in self.stations.iter().enumerate() {
            out.give(s.surroundings, s.surroundings, -w * s.fraction);
            self.upstream(k, |point, share| {
                out.give(s.surroundings, point, w * s.fraction * share);
            });
        }
        out.give(self.outlet, self.outlet, -w);
        self.upstream(self.stations.len(), |point, share| {
            out.give(self.outlet, point, w * share)
        });
        out.give(self.receiver, self.outlet, w);
    }

    /// Calls `f(point, share)` for each point that the material's temperature before station `k`
    /// is made of.
    fn upstream(&self, k: usize, mut f: impl FnMut(Index, f64)) {
        let mut rest = 1.0;
        for s in self.stations[..k].iter().rev() {
            f(s.surroundings, rest * s.fraction);
            rest *= 1.0 - s.fraction;
        }
        f(self.store, rest);
    }

    /// The material's temperature after station `k` as shares of points: `T = sum share T_point`.
    ///
    /// While nothing moves, the material has the temperature of its surroundings.
    pub fn shares_after(&self, k: usize, mut f: impl FnMut(Index, f64)) {
        if self.capacity_rate_W_per_K == 0.0 {
            f(self.stations[k].surroundings, 1.0);
        } else {
            self.upstream(k + 1, f);
        }
    }
}
