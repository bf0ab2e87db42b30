//! What an element is, and the ways to state one: by a law over numbers, or by a pair of points.

use crate::network::balance::{Balance, Sink, Slopes, Sweep, Workspace};
use crate::network::description::Link;
use crate::network::parts::{BodyId, Index, LedgerId};
use crate::number::{Dual, Number};
use crate::physics::air::AirTable;

/// What a law may know of the moment.
#[derive(Debug, Clone, Copy)]
pub struct Moment<'a> {
    /// Time, s.
    pub t_s: f64,
    /// Temperature of each point, K.
    pub t: &'a [f64],
    /// Of each growing body the share that is there, and its growth, 1/s.
    pub shares: &'a [(f64, f64)],
    /// Air at the pressure of the place.
    pub air: &'a AirTable,
    /// Temperature from which heat carried by material is counted, K.
    pub reference_K: f64,
}

impl Moment<'_> {
    /// The share of a growing body that is there.
    #[inline(always)]
    pub fn share<D: Number>(&self, body: BodyId) -> D {
        let (share, per_s) = self.shares[body.0];
        D::moving(share, per_s)
    }
}

/// An element as a network sees it.
pub trait Element {
    /// Calls `f` for each point whose temperature its law reads or whose balance it changes.
    fn ends(&self, f: &mut dyn FnMut(Index));
    /// Calls `f` for each ledger it books in.
    fn ledgers(&self, f: &mut dyn FnMut(LedgerId));
    /// Calls `f` for each growing body its law depends on.
    fn bodies(&self, f: &mut dyn FnMut(BodyId)) {
        let _ = f;
    }
    /// The heat it moves; `at` is its position among its kind.
    fn balance(&self, at: usize, m: &Moment<'_>, room: &mut Workspace, out: &mut Balance<'_>);
    /// Slopes of [`Element::balance`].
    fn slopes(&self, at: usize, m: &Moment<'_>, room: &mut Workspace, out: &mut Slopes<'_>);
    /// Its law with its parameters, points by name.
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>);
}

/// A law with any number of ends.
pub trait Law {
    /// See [`Element::ends`].
    fn ends(&self, f: &mut dyn FnMut(Index));
    /// See [`Element::ledgers`].
    fn ledgers(&self, f: &mut dyn FnMut(LedgerId));
    /// See [`Element::bodies`].
    fn bodies(&self, f: &mut dyn FnMut(BodyId)) {
        let _ = f;
    }
    /// The law: `t` gives the temperature of a point.
    fn heat<D: Number>(&self, t: impl Fn(Index) -> D, m: &Moment<'_>, out: &mut impl Sink<D>);
    /// Slopes of the law: the law itself in numbers with slopes, a few ends at a time.
    #[inline(always)]
    fn law_slopes(&self, m: &Moment<'_>, room: &mut Workspace, out: &mut Slopes<'_>) {
        /// Slopes at a time: ends, and time.
        const WIDTH: usize = 6;
        let mut ends = std::mem::take(&mut room.ends);
        ends.clear();
        self.ends(&mut |point| {
            if !ends.contains(&point) {
                ends.push(point);
            }
        });
        for (sweep, seeds) in ends.chunks(WIDTH - 1).enumerate() {
            for (k, point) in seeds.iter().enumerate() {
                room.place[*point] = k;
            }
            let place = &room.place;
            let t = |point: Index| match place[point] {
                usize::MAX => Dual::<WIDTH>::of(m.t[point]),
                k => Dual::input(m.t[point], k),
            };
            let mut sink = Sweep {
                out,
                seeds,
                time: sweep == 0,
            };
            self.heat(t, m, &mut sink);
            for point in seeds {
                room.place[*point] = usize::MAX;
            }
        }
        room.ends = ends;
    }
    /// See [`Element::describe`].
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>);
}

impl<L: Law> Element for L {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        Law::ends(self, f);
    }
    fn ledgers(&self, f: &mut dyn FnMut(LedgerId)) {
        Law::ledgers(self, f);
    }
    fn bodies(&self, f: &mut dyn FnMut(BodyId)) {
        Law::bodies(self, f);
    }
    #[inline(always)]
    fn balance(&self, _: usize, m: &Moment<'_>, _: &mut Workspace, out: &mut Balance<'_>) {
        self.heat(|point| m.t[point], m, out);
    }
    #[inline(always)]
    fn slopes(&self, _: usize, m: &Moment<'_>, room: &mut Workspace, out: &mut Slopes<'_>) {
        self.law_slopes(m, room, out);
    }
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        Law::describe(self, name, out);
    }
}

/// The usual law: heat from one point to another by their two temperatures.
pub trait Pair {
    /// Heat flows from the first to the second.
    fn joins(&self) -> (Index, Index);
    /// Ledger entry for heat that leaves from the first.
    fn ledger(&self) -> LedgerId;
    /// The growing body its law depends on.
    fn body(&self) -> Option<BodyId> {
        None
    }
    /// Heat from the first to the second, W, by their temperatures, K.
    fn flow<D: Number>(&self, a: D, b: D, m: &Moment<'_>) -> D;
    /// See [`Element::describe`].
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>);
}

impl<P: Pair> Law for P {
    fn ends(&self, f: &mut dyn FnMut(Index)) {
        let (a, b) = self.joins();
        f(a);
        f(b);
    }
    fn ledgers(&self, f: &mut dyn FnMut(LedgerId)) {
        f(self.ledger());
    }
    fn bodies(&self, f: &mut dyn FnMut(BodyId)) {
        self.body().into_iter().for_each(f);
    }
    #[inline(always)]
    fn heat<D: Number>(&self, t: impl Fn(Index) -> D, m: &Moment<'_>, out: &mut impl Sink<D>) {
        let (a, b) = self.joins();
        out.transfer(a, b, self.ledger(), self.flow(t(a), t(b), m));
    }
    #[inline(always)]
    fn law_slopes(&self, m: &Moment<'_>, _: &mut Workspace, out: &mut Slopes<'_>) {
        let (a, b) = self.joins();
        let (ta, tb, ledger) = (m.t[a], m.t[b], self.ledger());
        let mut sink = Sweep {
            out,
            seeds: &[a, b],
            time: self.body().is_some(),
        };
        // Few depend on time by themselves; the others need not carry that slope.
        if sink.time {
            let q = self.flow(Dual::<3>::input(ta, 0), Dual::input(tb, 1), m);
            sink.transfer(a, b, ledger, q);
        } else {
            let q = self.flow(Dual::<2>::input(ta, 0), Dual::input(tb, 1), m);
            sink.transfer(a, b, ledger, q);
        }
    }
    fn describe(&self, name: &dyn Fn(Index) -> String, out: &mut Vec<Link>) {
        Pair::describe(self, name, out);
    }
}

/// Whoever wants to see every element.
pub trait Visitor {
    /// Shows an element and its position among its kind.
    fn visit<E: Element>(&mut self, at: usize, element: &E);
}
