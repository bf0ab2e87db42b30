//! Heat set free in a point.

use super::law::{Law, Moment};
use crate::course::Course;
use crate::network::balance::Sink;
use crate::network::description::Link;
use crate::network::parts::{Index, LedgerId};
use crate::number::Number;

/// Temperature coefficient of copper's resistance at 20 degC, 1/K (IEC 60028: 3.93e-3).
pub const COPPER_PER_K: f64 = 3.93e-3;

/// Heat set free in a point: `q = P(t) (1 + per_K (T - 293.15 K))`.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// Where.
    pub node: Index,
    /// Power at 20 degC over time, W.
    pub power_W: Course,
    /// Relative rise with temperature, 1/K (copper losses at constant current: 0.0039).
    pub per_K: f64,
    /// Ledger entry.
    pub ledger: LedgerId,
}

impl Source {
    /// A power, W, that does not depend on temperature.
    #[must_use]
    pub const fn new(node: Index, power_W: Course, ledger: LedgerId) -> Self {
        Self {
            node,
            power_W,
            per_K: 0.0,
            ledger,
        }
    }
}

impl Law for Source {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        f(self.node);
    }
    fn ledgers(&self, f: &mut dyn FnMut(LedgerId)) {
        f(self.ledger);
    }
    #[inline(always)]
    fn heat<D: Number>(&self, t: impl Fn(Index) -> D, m: &Moment<'_>, out: &mut impl Sink<D>) {
        let power = match self.power_W {
            Course::Constant(power_W) => D::of(power_W),
            _ => {
                let (power_W, per_s) = self.power_W.at(m.t_s);
                D::moving(power_W, per_s)
            }
        };
        let rise = D::of(self.per_K) * (t(self.node) - D::of(293.15));
        let q = power * (D::of(1.0) + rise);
        out.give(self.node, q);
        out.book(self.ledger, q);
    }
    /// Sources are listed apart from links.
    fn describe(&self, _: &dyn Fn(Index) -> String, _: &mut Vec<Link>) {}
}
