//! Where heat is added up in lanes.

use crate::wide::Wide;

/// Heat that each point gains, W.
pub(super) struct Gains<'a>(pub &'a mut [Wide]);

impl Gains<'_> {
    #[inline(always)]
    pub fn add(&mut self, point: usize, q: Wide) {
        self.0[point] = self.0[point] + q;
    }

    #[inline(always)]
    pub fn transfer(&mut self, from: usize, to: usize, q: Wide) {
        self.0[from] = self.0[from] - q;
        self.0[to] = self.0[to] + q;
    }
}
