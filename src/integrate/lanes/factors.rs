//! LU factors of several matrices at once, which share one pattern: see [`sparse_lu`](super::super::sparse_lu).
//!
//! Only places that fill are stored, in the order in which a solution reads them: the rows left of the diagonal, those
//! right of it from the last one up and each from its right end, then the diagonal. Rows on the right are divided by
//! their pivots. So what a row waits for, the unknown that has just been found, comes last in it, and takes one product.
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
    /// See [`Pattern`]: columns left and right one unknown after the other, those on the right from the last unknown on
    /// and each from its right end; and how many there are of each unknown.
    left: Vec<u8>,
    lefts: Vec<u8>,
    right: Vec<u8>,
    rights: Vec<u8>,
    /// How many entries each column has below the diagonal, and where they stand.
    belows: Vec<u8>,
    below: Vec<u16>,
    /// Where each entry of the matrices stands, and where the diagonal begins.
    places: Vec<u16>,
    diagonal: usize,
    /// Places without an entry, which fill.
    filling: Vec<u16>,
    /// For each unknown in the order of elimination, each row below and each column right of it: the place that
    /// their product is taken from.
    products: Vec<u16>,
}

/// Room for factors: that of most chambers, of larger ones, and the most there can be.
const SMALL: usize = 1 << 9;
const MIDDLING: usize = 1 << 11;
const LARGE: usize = MOST_UNKNOWNS * MOST_UNKNOWNS;

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
        let mut left: Vec<Vec<u32>> = vec![Vec::new(); n];
        for (k, rows) in (0..).zip(below) {
            rows.iter().for_each(|i| left[*i as usize].push(k));
        }
        for (i, columns) in left.iter().enumerate() {
            columns.iter().for_each(|k| take(i, *k as usize));
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
        let places: Vec<u16> = places
            .iter()
            .map(|(i, j)| slot[place[*i as usize] * n + place[*j as usize]] as u16)
            .collect();
        let mut is_filling = vec![true; filled];
        for at in &places {
            is_filling[*at as usize] = false;
        }
        let filling = (0..).zip(&is_filling).filter(|(_, f)| **f);
        Self {
            filling: filling.map(|(at, _)| at).collect(),
            place: place.iter().map(|k| *k as u8).collect(),
            left: left.iter().flatten().map(|j| *j as u8).collect(),
            lefts: counts(&left),
            right: right
                .iter()
                .rev()
                .flat_map(|row| row.iter().rev().map(|j| *j as u8))
                .collect(),
            rights: counts(right),
            belows: counts(below),
            below: (0..n)
                .flat_map(|k| below[k].iter().map(move |i| *i as usize * n + k))
                .map(|at| slot[at] as u16)
                .collect(),
            places,
            diagonal: filled - n,
            products: products.map(|at| slot[at] as u16).collect(),
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
        let mut rooms = [SMALL, MIDDLING].into_iter();
        let room = rooms.find(|room| shape.diagonal + n <= *room);
        Self {
            lu: vec![Narrow::ZERO; room.unwrap_or(LARGE)],
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
        match self.lu.len() {
            SMALL => self.factor_in::<SMALL>(shift, entries),
            MIDDLING => self.factor_in::<MIDDLING>(shift, entries),
            _ => self.factor_in::<LARGE>(shift, entries),
        }
    }

    #[inline(always)]
    fn factor_in<const ROOM: usize>(&mut self, shift: Narrow, entries: &[Narrow]) {
        let shape = &*self.shape;
        let Some(lu) = self.lu.first_chunk_mut::<ROOM>() else {
            return;
        };
        for at in &shape.filling {
            lu[*at as usize % ROOM] = Narrow::ZERO;
        }
        for (entry, at) in entries.iter().zip(&shape.places) {
            lu[*at as usize % ROOM] = -*entry;
        }
        let least = shift * LEAST;
        let (mut below, mut row) = (&shape.below[..], shape.diagonal);
        let mut products = &shape.products[..];
        for (k, (many, across)) in shape.belows.iter().zip(&shape.rights).enumerate() {
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
            let (column, later) = below.split_at(*many as usize);
            below = later;
            for at in column {
                let l = &mut lu[*at as usize % ROOM];
                *l = *l * inverse;
                let l = *l;
                let (now, later) = products.split_at(across);
                products = later;
                for (u, at) in us.iter().zip(now) {
                    // Never more than there is: looking it up needs no check.
                    let value = &mut lu[*at as usize % ROOM];
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
        let (mut entries, mut columns) = (&self.lu[..shape.diagonal], &shape.left[..]);
        // What the next one waits for does not go through memory.
        let mut last = Narrow::ZERO;
        for (k, many) in shape.lefts.iter().enumerate() {
            let before = (k as u8).wrapping_sub(1);
            let row = (
                first_of(&mut entries, *many as usize),
                first_of(&mut columns, *many as usize),
            );
            last = less_row(x[k], row, x, (before, last));
            x[k] = last;
        }
        columns = &shape.right[..];
        let each = shape.rights.iter().zip(&self.inverse_pivots).enumerate();
        for (k, (many, inverse)) in each.rev() {
            let after = (k as u8).wrapping_add(1);
            let row = (
                first_of(&mut entries, *many as usize),
                first_of(&mut columns, *many as usize),
            );
            last = less_row(x[k] * *inverse, row, x, (after, last));
            x[k] = last;
        }
    }
}

/// Takes so many from the front.
#[inline(always)]
fn first_of<'a, T>(all: &mut &'a [T], many: usize) -> &'a [T] {
    let (first, later) = all.split_at(many);
    *all = later;
    first
}

/// A value less a row's entries times what stands in their columns; the last column, where it is that of the value just
/// found, is not asked for.
#[inline(always)]
fn less_row(
    value: Narrow,
    (entries, columns): (&[Narrow], &[u8]),
    x: &Solution,
    (newest, last): (u8, Narrow),
) -> Narrow {
    let (Some((near, far)), Some((j, js))) = (entries.split_last(), columns.split_last()) else {
        return value;
    };
    let mut value = value;
    for (u, j) in far.iter().zip(js) {
        value = value.less(*u, x[*j as usize]);
    }
    let nearest = if *j == newest { last } else { x[*j as usize] };
    value.less(*near, nearest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::integrate::sparse_lu;
    use crate::wide::{LANES, Narrow};

    /// Each lane solves its own matrix: the plain factors are the reference. Of as many places as each room there is for
    /// them takes.
    #[test]
    fn lanes_solve_what_the_plain_way_does() {
        let rooms = [7, 50, 100].map(solve_by_both);
        assert_eq!(rooms, [SMALL, MIDDLING, LARGE]);
    }

    /// A chain whose second half is joined all together; returns the room its factors take.
    fn solve_by_both(n: usize) -> usize {
        let matrix = |lane: usize| -> Vec<f64> {
            (0..n * n)
                .map(|k| {
                    let (i, j): (usize, usize) = (k / n, k % n);
                    let joined = i.abs_diff(j) <= 1 || (2 * i > n && 2 * j > n);
                    let x = 1.0 + 0.1 * (k as f64 + 3.0 * lane as f64).sin();
                    if i == j {
                        -4.0 * x
                    } else if joined {
                        4.9 / n as f64 * x
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
        let right = |k: usize| 1.0 + (k % 7) as f64;
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
            let masses = vec![1.0; n];
            assert!(plain.factor(&pattern, f64::from(shift.0[lane]), &masses, &matrix(lane)));
            let mut by_hand: Vec<f64> = (0..n).map(right).collect();
            plain.solve(&pattern, &mut by_hand);
            for k in 0..n {
                assert!((f64::from(x[k].0[lane]) - by_hand[k]).abs() < 1e-6);
            }
        }
        factors.lu.len()
    }
}
