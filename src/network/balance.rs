//! Where the heat of one instant is added up: balances of points and ledgers, and their slopes.

use super::air_work::AirWork;
use super::parts::{INTERNAL, Index, LedgerId};
use crate::number::Dual;

/// Where a law puts its heat.
pub trait Sink<D> {
    /// Gives heat to a point, W.
    fn give(&mut self, point: Index, q: D);
    /// Books heat that enters the audited nodes, W (negative: leaves).
    fn book(&mut self, ledger: LedgerId, q: D);
    /// Moves heat from one point to another; booked as leaving.
    fn transfer(&mut self, from: Index, to: Index, ledger: LedgerId, q: D);
}

/// Heat that each point gains, W, and what is booked in each ledger, W.
#[derive(Debug)]
pub struct Balance<'a> {
    pub(super) gains: &'a mut [f64],
    pub(super) ledgers: &'a mut [f64],
}

impl Sink<f64> for Balance<'_> {
    #[inline(always)]
    fn give(&mut self, point: Index, q: f64) {
        self.gains[point] += q;
    }
    #[inline(always)]
    fn book(&mut self, ledger: LedgerId, q: f64) {
        self.ledgers[ledger.0] += q;
    }
    #[inline(always)]
    fn transfer(&mut self, from: Index, to: Index, ledger: LedgerId, q: f64) {
        self.gains[from] -= q;
        self.gains[to] += q;
        self.ledgers[ledger.0] -= q;
    }
}

/// Slopes of the balances with every point's temperature, and their rates at fixed temperatures.
#[derive(Debug)]
pub struct Slopes<'a> {
    pub(super) points: usize,
    pub(super) gains: &'a mut [f64],
    pub(super) ledgers: &'a mut [f64],
    pub(super) gain_rates: &'a mut [f64],
    pub(super) ledger_rates: &'a mut [f64],
}

impl Slopes<'_> {
    /// d(gain of `point`)/dT(`by`), W/K.
    #[inline(always)]
    pub fn give(&mut self, point: Index, by: Index, slope: f64) {
        self.gains[point * self.points + by] += slope;
    }

    /// d(ledger)/dT(`by`), W/K. What moves inside is nobody's entry.
    #[inline(always)]
    pub fn book(&mut self, ledger: LedgerId, by: Index, slope: f64) {
        if ledger != INTERNAL {
            self.ledgers[ledger.0 * self.points + by] += slope;
        }
    }

    /// Explicit change with time of a point's gain, W/s.
    #[inline(always)]
    pub fn give_rate(&mut self, point: Index, rate: f64) {
        self.gain_rates[point] += rate;
    }

    /// Explicit change with time of a ledger, W/s.
    #[inline(always)]
    pub fn book_rate(&mut self, ledger: LedgerId, rate: f64) {
        if ledger != INTERNAL {
            self.ledger_rates[ledger.0] += rate;
        }
    }
}

/// Puts the slopes of a law's heat where they belong: by the points that seed it, and by time.
pub(super) struct Sweep<'a, 'b> {
    pub out: &'a mut Slopes<'b>,
    /// The points that the first slopes are by.
    pub seeds: &'a [Index],
    /// Whether the last slope, the explicit change with time, is wanted.
    pub time: bool,
}

impl<const K: usize> Sink<Dual<K>> for Sweep<'_, '_> {
    #[inline(always)]
    fn give(&mut self, point: Index, q: Dual<K>) {
        for (by, slope) in self.seeds.iter().zip(q.slopes) {
            self.out.give(point, *by, slope);
        }
        if self.time {
            self.out.give_rate(point, q.slopes[K - 1]);
        }
    }
    #[inline(always)]
    fn book(&mut self, ledger: LedgerId, q: Dual<K>) {
        if ledger == INTERNAL {
            return;
        }
        for (by, slope) in self.seeds.iter().zip(q.slopes) {
            self.out.book(ledger, *by, slope);
        }
        if self.time {
            self.out.book_rate(ledger, q.slopes[K - 1]);
        }
    }
    #[inline(always)]
    fn transfer(&mut self, from: Index, to: Index, ledger: LedgerId, q: Dual<K>) {
        let lost = -q;
        self.give(from, lost);
        self.give(to, q);
        self.book(ledger, lost);
    }
}

/// Room that elements work in, kept from one evaluation to the next so that nothing is allocated.
#[derive(Debug, Clone, Default)]
pub struct Workspace {
    /// A law's ends.
    pub(super) ends: Vec<Index>,
    /// Of each point, its place among the seeds of a sweep; the largest number elsewhere.
    pub(super) place: Vec<usize>,
    /// One number for each member of an enclosure.
    pub(super) members: Vec<f64>,
    /// Balances of moving air, by position.
    pub(super) air: Vec<AirWork>,
    /// Temperatures to be moved a little.
    pub(super) moved: Vec<f64>,
}

impl Workspace {
    /// Room for a network of so many points.
    #[must_use]
    pub fn new(points: usize) -> Self {
        Self {
            place: vec![usize::MAX; points],
            moved: vec![0.0; points],
            ..Self::default()
        }
    }

    /// Room for the balance of air at that position.
    pub(super) fn air_work(&mut self, at: usize) -> &mut AirWork {
        if self.air.len() <= at {
            self.air.resize_with(at + 1, AirWork::default);
        }
        &mut self.air[at]
    }
}
