//! LU factors of several matrices at once, which share one pattern: see [`sparse_lu`](super::super::sparse_lu).
//!
//! Only places that fill are stored, in the order in which a solution reads them: the columns below the diagonal,
//! the rows right of it from the last one up and each from its right end, then the diagonal. Rows are divided by their
//! pivots. So what a row waits for, the unknown that has just been found, comes last in it, and takes one product.
//!
//! Seven digits are kept: a solution is what unknowns move by in a step, a kelvin or so, and what it misses is a part of
//! what the rates at the step's end correct.

use super::abreast::Slopes;
use crate::integrate::sparse_lu::Pattern;
use crate::remembered::Remembered;
use crate::wide::Narrow;
use std::cell::RefCell;
use std::sync::Arc;

/// A pivot has to be so much of the shift at least: what is left of it below that is not known to seven digits.
const LEAST: f32 = 1e-6;

/// Where the factors of matrices with entries in the same places have theirs.
#[derive(Debug)]
struct Shape {
    /// The place of each unknown in the order of elimination.
    place: Vec<u8>,
    /// See [`Pattern`]; rows below and columns right one unknown after the other, the last unknown's columns first and
    /// each of these from the right; and how many there are of each unknown.
    below: Vec<u8>,
    columns: Vec<u8>,
    right: Vec<u8>,
    rows: Vec<u8>,
    /// Where each entry of the matrices stands, and where the diagonal begins.
    places: Vec<u32>,
    diagonal: usize,
    /// Places without an entry, which fill.
    filling: Vec<u32>,
    /// For each unknown in the order of elimination, each row below and each column right of it: the place that
    /// their product is taken from.
    products: Vec<u32>,
}

/// Factors in lanes.
#[derive(Debug, Clone)]
pub(super) struct Factors {
    shape: Arc<Shape>,
    lu: Vec<Narrow>,
    inverse_pivots: Vec<Narrow>,
    /// Room for a row.
    work: Box<Solution>,
}

/// A number for every unknown, in the order of elimination. There is one for every byte: looking one up needs no check.
pub(super) type Solution = [Narrow; MOST_UNKNOWNS];

/// Unknowns that lanes can follow: so many a byte can count.
pub const MOST_UNKNOWNS: usize = 256;

impl Shape {
    /// That of matrices of `n` rows with entries in these places.
    fn new(n: usize, places: &[(u32, u32)]) -> Self {
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
            let from_the_right = columns.iter().rev();
            from_the_right.for_each(|j| take(k, *j as usize));
        }
        (0..n).for_each(|k| take(k, k));
        let filled = filled as usize;
        let mut place = vec![0; n];
        for (k, unknown) in pattern.order.iter().enumerate() {
            place[*unknown] = k;
        }
        let counts = |sets: &[Vec<u32>]| sets.iter().map(|set| set.len() as u8).collect();
        let products = (0..n).flat_map(|k| below[k].iter().map(move |i| (k, *i as usize)));
        let products =
            products.flat_map(|(k, i)| right[k].iter().rev().map(move |j| i * n + *j as usize));
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
            place: place.iter().map(|k| *k as u8).collect(),
            below: below.iter().flatten().map(|i| *i as u8).collect(),
            columns: counts(below),
            right: right
                .iter()
                .rev()
                .flat_map(|row| row.iter().rev().map(|j| *j as u8))
                .collect(),
            rows: counts(right),
            places,
            diagonal: filled - n,
            products: products.map(|at| slot[at]).collect(),
        }
    }
}

/// So many shapes a thread remembers: a question has one or two, each asked for in every part of its runs.
const MOST_SHAPES: usize = 16;

/// Rows, and the places of entries.
type Key = (usize, Vec<(u32, u32)>);

thread_local! {
    static KNOWN: RefCell<Remembered<Key, Arc<Shape>>> =
        RefCell::new(Remembered::at_most(MOST_SHAPES));
}

impl Factors {
    /// For matrices with entries in these places, of [`MOST_UNKNOWNS`] rows at most.
    pub fn new(n: usize, places: &[(u32, u32)]) -> Self {
        // A byte would count the rest wrongly, in silence.
        assert!(
            n <= MOST_UNKNOWNS,
            "lanes follow {MOST_UNKNOWNS} unknowns at most"
        );
        let shape = KNOWN.with_borrow_mut(|known| {
            known.or_else((n, places.to_vec()), || Arc::new(Shape::new(n, places)))
        });
        Self {
            lu: vec![Narrow::ZERO; shape.diagonal + n],
            inverse_pivots: vec![Narrow::ZERO; n],
            work: Box::new([Narrow::ZERO; MOST_UNKNOWNS]),
            shape,
        }
    }

    /// Whether they have a place for every entry.
    pub fn cover(&self, slopes: &Slopes) -> bool {
        self.shape.places.len() == slopes.places.len()
    }

    /// Factors `shift I - matrix` in every lane. A pivot of no use leaves its lane without numbers.
    #[inline(always)]
    pub fn factor(&mut self, shift: Narrow, entries: &[Narrow]) {
        let (shape, lu) = (&*self.shape, &mut self.lu[..]);
        for at in &shape.filling {
            lu[*at as usize] = Narrow::ZERO;
        }
        for (entry, at) in entries.iter().zip(&shape.places) {
            lu[*at as usize] = -*entry;
        }
        let least = shift * LEAST;
        let (mut column, mut row) = (0, shape.diagonal);
        let mut products = &shape.products[..];
        for (k, (many, across)) in shape.columns.iter().zip(&shape.rows).enumerate() {
            let pivot = lu[shape.diagonal + k] + shift;
            let inverse = Narrow::all(1.0) / pivot;
            let inverse = pivot.abs().above(least, inverse, Narrow::all(f32::NAN));
            self.inverse_pivots[k] = inverse;
            let across = *across as usize;
            row -= across;
            // Apart from what is written: no need to look whether it is the same.
            let us = &mut self.work[..across];
            for (u, kept) in us.iter_mut().zip(&mut lu[row..row + across]) {
                *u = *kept;
                *kept = *u * inverse;
            }
            for _ in 0..*many {
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

    /// The places of unknowns in the order of elimination.
    #[inline(always)]
    pub fn places(&self) -> impl Iterator<Item = u8> + '_ {
        self.shape.place.iter().copied()
    }

    /// Solves for one right-hand side in each lane, which the solution replaces.
    #[inline(always)]
    pub fn solve(&self, x: &mut Solution) {
        let shape = &*self.shape;
        let (mut lower, upper) = self.lu[..shape.diagonal].split_at(shape.below.len());
        let mut below = &shape.below[..];
        for (k, many) in shape.columns.iter().enumerate() {
            let (rows, later) = below.split_at(*many as usize);
            below = later;
            let (entries, later) = lower.split_at(*many as usize);
            lower = later;
            let value = x[k];
            for (i, l) in rows.iter().zip(entries) {
                let target = &mut x[*i as usize];
                *target = target.less(*l, value);
            }
        }
        let (mut upper, mut right) = (upper, &shape.right[..]);
        for (k, (many, inverse)) in shape
            .rows
            .iter()
            .zip(&self.inverse_pivots)
            .enumerate()
            .rev()
        {
            let (columns, later) = right.split_at(*many as usize);
            right = later;
            let (entries, later) = upper.split_at(*many as usize);
            upper = later;
            let mut value = x[k] * *inverse;
            if let (Some((near, far)), Some((j, js))) = (entries.split_last(), columns.split_last())
            {
                // Two sums: one would wait for itself.
                let mut sums = (value, Narrow::ZERO);
                let mut us = far.chunks_exact(2);
                let mut js = js.chunks_exact(2);
                for (u, j) in (&mut us).zip(&mut js) {
                    sums.0 = sums.0.less(u[0], x[j[0] as usize]);
                    sums.1 = sums.1.less(u[1], x[j[1] as usize]);
                }
                for (u, j) in us.remainder().iter().zip(js.remainder()) {
                    sums.0 = sums.0.less(*u, x[*j as usize]);
                }
                value = (sums.0 + sums.1).less(*near, x[*j as usize]);
            }
            x[k] = value;
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
        let mut ordered = [Narrow::ZERO; MOST_UNKNOWNS];
        for (k, place) in factors.places().enumerate() {
            ordered[place as usize] = Narrow::all(right(k) as f32);
        }
        factors.solve(&mut ordered);
        let places = factors.places();
        let x: Vec<Narrow> = places.map(|place| ordered[place as usize]).collect();
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
