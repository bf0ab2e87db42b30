//! Slopes in lanes: how what points gain answers to temperatures.

use crate::wide::{Narrow, Wide};

/// By how much a temperature is moved where a slope is the difference of values, K.
pub(super) const NUDGED_K: f64 = 1e-6;

/// How what each node gains answers to each point's temperature, W/K.
#[derive(Debug, Clone)]
pub(super) struct GainSlopes {
    nodes: usize,
    points: usize,
    /// Where a node and a point stand in `pairs`, plus one; 0: not yet.
    at: Vec<u16>,
    /// What gains, and by what.
    pub pairs: Vec<(u16, u16)>,
    /// To seven digits.
    pub values: Vec<Narrow>,
}

impl GainSlopes {
    pub fn new(nodes: usize, points: usize) -> Self {
        Self {
            nodes,
            points,
            at: vec![0; nodes * points],
            pairs: Vec::new(),
            values: Vec::new(),
        }
    }

    #[inline(always)]
    pub fn add(&mut self, gains: usize, by: usize, slope: Wide) {
        self.add_narrow(gains, by, slope.narrow());
    }

    #[inline(always)]
    pub fn add_narrow(&mut self, gains: usize, by: usize, slope: Narrow) {
        // What is given gains nothing that matters.
        if gains >= self.nodes {
            return;
        }
        let at = self.at[gains * self.points + by] as usize;
        let at = if at == 0 { self.open(gains, by) } else { at };
        let value = &mut self.values[at - 1];
        *value = *value + slope;
    }

    /// Of heat that goes from one point to another.
    #[inline(always)]
    pub fn transfer(&mut self, from: usize, to: usize, by: usize, slope: Wide) {
        self.transfer_narrow(from, to, by, slope.narrow());
    }

    #[inline(always)]
    pub fn transfer_narrow(&mut self, from: usize, to: usize, by: usize, slope: Narrow) {
        self.add_narrow(from, by, -slope);
        self.add_narrow(to, by, slope);
    }

    #[cold]
    #[inline(never)]
    fn open(&mut self, gains: usize, by: usize) -> usize {
        self.pairs.push((gains as u16, by as u16));
        self.values.push(Narrow::ZERO);
        let at = self.pairs.len();
        self.at[gains * self.points + by] = at as u16;
        at
    }
}
