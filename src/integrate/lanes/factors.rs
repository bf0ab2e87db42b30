//! LU factors of several matrices at once, which share one pattern: see [`sparse_lu`](super::super::sparse_lu).
//!
//! Only places that fill are stored, in the order in which a solution reads them: the columns below the diagonal,
//! the rows right of it from the last one up, then the diagonal.
//!
//! Seven digits are kept: a solution is what unknowns move by in a step, a kelvin or so, and what it misses is a part of
//! what the rates at the step's end correct.

use super::abreast::Slopes;
use crate::integrate::sparse_lu::Pattern;
use crate::wide::Narrow;

/// A pivot has to be so much of the shift at least: what is left of it below that is not known to seven digits.
const LEAST: f32 = 1e-6;

/// Factors in lanes.
#[derive(Debug, Clone)]
pub(super) struct Factors {
    /// See [`Pattern`]; rows below and columns right one unknown after the other, the last unknown's columns first,
    /// and where those of each unknown end.
    order: Vec<u8>,
    below: Vec<u8>,
    columns_end: Vec<u32>,
    right: Vec<u8>,
    rows_end: Vec<u32>,
    /// From this one in the order on, every row and column is full.
    full_from: usize,
    /// Where each entry of the matrices stands, and where the diagonal begins.
    places: Vec<u32>,
    diagonal: usize,
    /// Places without an entry, which fill.
    filling: Vec<u32>,
    /// For each unknown in the order of elimination, each row below and each column right of it: the place that
    /// their product is taken from.
    products: Vec<u32>,
    lu: Vec<Narrow>,
    inverse_pivots: Vec<Narrow>,
    /// One for every byte: looking one up needs no check.
    work: Box<[Narrow; MOST_UNKNOWNS]>,
}

/// Unknowns that lanes can follow: so many a byte can count.
pub const MOST_UNKNOWNS: usize = 256;

impl Factors {
    /// For matrices with entries in these places, of [`MOST_UNKNOWNS`] rows at most.
    pub fn new(n: usize, places: &[(u32, u32)]) -> Self {
        // A byte would count the rest wrongly, in silence.
        assert!(
            n <= MOST_UNKNOWNS,
            "lanes follow {MOST_UNKNOWNS} unknowns at most"
        );
        let mut nonzeros = vec![false; n * n];
        for (i, j) in places {
            nonzeros[*i as usize * n + *j as usize] = true;
        }
        let pattern = Pattern::new(n, &nonzeros);
        let (below, right) = (&pattern.below, &pattern.right);
        let mut slot = vec![u32::MAX; n * n];
        let mut filled: u32 = 0;
        let mut take = |i: usize, j: usize| {
            slot[i * n + j] = filled;
            filled += 1;
        };
        for (k, rows) in below.iter().enumerate() {
            rows.iter().for_each(|i| take(*i as usize, k));
        }
        for (k, columns) in right.iter().enumerate().rev() {
            columns.iter().for_each(|j| take(k, *j as usize));
        }
        (0..n).for_each(|k| take(k, k));
        let filled = filled as usize;
        let mut place = vec![0; n];
        for (k, unknown) in pattern.order.iter().enumerate() {
            place[*unknown] = k;
        }
        let ends = |sets: &mut dyn Iterator<Item = &Vec<u32>>| -> Vec<u32> {
            let mut end = 0;
            sets.map(|set| {
                end += set.len() as u32;
                end
            })
            .collect()
        };
        let mut rows_end = ends(&mut right.iter().rev());
        rows_end.reverse();
        let products = (0..n).flat_map(|k| below[k].iter().map(move |i| (k, *i as usize)));
        let products =
            products.flat_map(|(k, i)| right[k].iter().map(move |j| i * n + *j as usize));
        let places: Vec<u32> = places
            .iter()
            .map(|(i, j)| slot[place[*i as usize] * n + place[*j as usize]])
            .collect();
        let mut is_filling = vec![true; filled];
        for at in &places {
            is_filling[*at as usize] = false;
        }
        let filling = (0..).zip(&is_filling).filter(|(_, f)| **f);
        Self {
            filling: filling.map(|(at, _)| at).collect(),
            order: pattern.order.iter().map(|i| *i as u8).collect(),
            below: below.iter().flatten().map(|i| *i as u8).collect(),
            columns_end: ends(&mut below.iter()),
            right: right.iter().rev().flatten().map(|j| *j as u8).collect(),
            rows_end,
            full_from: pattern.full_from,
            places,
            diagonal: filled - n,
            products: products.map(|at| slot[at]).collect(),
            lu: vec![Narrow::ZERO; filled],
            inverse_pivots: vec![Narrow::ZERO; n],
            work: Box::new([Narrow::ZERO; MOST_UNKNOWNS]),
        }
    }

    /// Whether they have a place for every entry.
    pub fn cover(&self, slopes: &Slopes) -> bool {
        self.places.len() == slopes.places.len()
    }

    /// Factors `shift I - matrix` in every lane. A pivot of no use leaves its lane without numbers.
    #[inline(always)]
    pub fn factor(&mut self, shift: Narrow, entries: &[Narrow]) {
        let lu = &mut self.lu[..];
        for at in &self.filling {
            lu[*at as usize] = Narrow::ZERO;
        }
        for (entry, at) in entries.iter().zip(&self.places) {
            lu[*at as usize] = -*entry;
        }
        let least = shift * LEAST;
        let mut products = &self.products[..];
        let mut column = 0;
        for (k, (column_end, row_end)) in self.columns_end.iter().zip(&self.rows_end).enumerate() {
            let pivot = lu[self.diagonal + k] + shift;
            let inverse = Narrow::all(1.0) / pivot;
            let inverse = pivot.abs().above(least, inverse, Narrow::all(f32::NAN));
            self.inverse_pivots[k] = inverse;
            let row = self.below.len() + self.rows_end.get(k + 1).map_or(0, |end| *end as usize);
            let across = self.below.len() + *row_end as usize - row;
            // Apart from what is written: no need to look whether it is the same.
            let us = &mut self.work[..across];
            us.copy_from_slice(&lu[row..row + across]);
            while column < *column_end as usize {
                let l = lu[column] * inverse;
                lu[column] = l;
                column += 1;
                let (now, later) = products.split_at(across);
                products = later;
                for (u, at) in us.iter().zip(now) {
                    let value = &mut lu[*at as usize];
                    *value = value.less(l, *u);
                }
            }
        }
    }

    /// Solves for one right-hand side in each lane: that of each unknown is asked for once, in any order.
    #[inline(always)]
    pub fn solve(&mut self, right_side: impl Fn(usize) -> Narrow, x: &mut [Narrow]) {
        let n = self.order.len();
        let w = &mut *self.work;
        for (value, i) in w.iter_mut().zip(&self.order) {
            *value = right_side(*i as usize);
        }
        let (lower, upper) = self.lu[..self.diagonal].split_at(self.below.len());
        let mut done = 0;
        for (k, end) in self.columns_end.iter().enumerate() {
            let end = *end as usize;
            let (below, entries) = (&self.below[done..end], &lower[done..end]);
            done = end;
            let value = w[k];
            if k >= self.full_from {
                // Everything below: no need to look up where.
                for (target, l) in w[k + 1..n].iter_mut().zip(entries) {
                    *target = target.less(*l, value);
                }
            } else {
                for (i, l) in below.iter().zip(entries) {
                    let target = &mut w[*i as usize];
                    *target = target.less(*l, value);
                }
            }
        }
        let mut done = 0;
        for (k, end) in self.rows_end.iter().enumerate().rev() {
            let end = *end as usize;
            let (right, entries) = (&self.right[done..end], &upper[done..end]);
            done = end;
            // Two sums: one would wait for itself.
            let mut sums = (w[k], Narrow::ZERO);
            let mut us = entries.chunks_exact(2);
            if k >= self.full_from {
                let mut values = w[k + 1..n].chunks_exact(2);
                for (u, value) in (&mut us).zip(&mut values) {
                    sums.0 = sums.0.less(u[0], value[0]);
                    sums.1 = sums.1.less(u[1], value[1]);
                }
                for (u, value) in us.remainder().iter().zip(values.remainder()) {
                    sums.0 = sums.0.less(*u, *value);
                }
            } else {
                let mut js = right.chunks_exact(2);
                for (u, j) in (&mut us).zip(&mut js) {
                    sums.0 = sums.0.less(u[0], w[j[0] as usize]);
                    sums.1 = sums.1.less(u[1], w[j[1] as usize]);
                }
                for (u, j) in us.remainder().iter().zip(js.remainder()) {
                    sums.0 = sums.0.less(*u, w[*j as usize]);
                }
            }
            let value = (sums.0 + sums.1) * self.inverse_pivots[k];
            w[k] = value;
            x[self.order[k] as usize] = value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::integrate::sparse_lu;
    use crate::wide::{LANES, Narrow};

    /// Each lane solves its own matrix: the plain factors are the reference.
    #[test]
    fn lanes_solve_what_the_plain_way_does() {
        let n = 7;
        let matrix = |lane: usize| -> Vec<f64> {
            (0..n * n)
                .map(|k| {
                    let (i, j): (usize, usize) = (k / n, k % n);
                    let joined = i.abs_diff(j) <= 1 || (i >= 4 && j >= 4);
                    let x = 1.0 + 0.1 * (k as f64 + 3.0 * lane as f64).sin();
                    if i == j {
                        -4.0 * x
                    } else if joined {
                        0.7 * x
                    } else {
                        0.0
                    }
                })
                .collect()
        };
        let nonzeros: Vec<bool> = matrix(0).iter().map(|v| *v != 0.0).collect();
        let at = (0..n * n).filter(|at| nonzeros[*at]);
        // In any order.
        let places: Vec<(u32, u32)> = at
            .rev()
            .map(|at| ((at / n) as u32, (at % n) as u32))
            .collect();
        let entries = places.iter().map(|(i, j)| {
            Narrow(std::array::from_fn(|lane| {
                matrix(lane)[*i as usize * n + *j as usize] as f32
            }))
        });
        let slopes = Slopes {
            entries: entries.collect(),
            places,
        };
        assert!(!Factors::new(n, &[]).cover(&slopes));
        let mut factors = Factors::new(n, &slopes.places);
        assert!(factors.cover(&slopes));
        let shift = Narrow(std::array::from_fn(|l| 0.5 + l as f32));
        factors.factor(shift, &slopes.entries);
        let right = |k: usize| 1.0 + k as f64;
        let mut x = vec![Narrow::ZERO; n];
        factors.solve(|k| Narrow::all(right(k) as f32), &mut x);
        let pattern = Pattern::new(n, &nonzeros);
        let mut plain = sparse_lu::Factors::new(n);
        for lane in 0..LANES {
            assert!(plain.factor(&pattern, f64::from(shift.0[lane]), &[1.0; 7], &matrix(lane)));
            let mut by_hand: Vec<f64> = (0..n).map(right).collect();
            plain.solve(&pattern, &mut by_hand);
            for k in 0..n {
                assert!((f64::from(x[k].0[lane]) - by_hand[k]).abs() < 1e-6);
            }
        }
    }
}
