//! LU factors of matrices that share one pattern.
//!
//! A chamber's network couples every inside surface with every other, but long chains (panels in
//! slices) and outside faces couple only to their neighbours. An order of elimination found once
//! per pattern keeps the work to that; there is no pivoting, since `I/(h gamma) - J` of a thermal
//! network is diagonally dominant but for small terms. A useless pivot is reported and the step
//! is tried shorter.

/// Order of elimination and the places that fill.
#[derive(Debug, Clone)]
pub struct Pattern {
    n: usize,
    /// `order[k]` is the unknown eliminated k-th.
    pub(super) order: Vec<usize>,
    /// For each k, the later rows with an entry in column k, then the later columns in row k.
    pub(super) below: Vec<Vec<u32>>,
    pub(super) right: Vec<Vec<u32>>,
    /// `below` before the full block, one after the other: k and the row.
    lower: Vec<(u32, u32)>,
    nonzeros: Vec<bool>,
    /// At places without an entry all bits but the sign, elsewhere none.
    empty: Vec<u64>,
    /// From this one in the order on, every row and column is full.
    pub(super) full_from: usize,
}

impl Pattern {
    /// Finds an order for a pattern (`nonzeros[i * n + j]`) by least degree.
    #[must_use]
    pub fn new(n: usize, nonzeros: &[bool]) -> Self {
        let mut full: Vec<bool> = nonzeros.to_vec();
        for i in 0..n {
            full[i * n + i] = true;
        }
        let original = full.clone();
        // Entries below each unknown in its column, and right of it in its row, among those that are left.
        let (mut below_count, mut right_count) = (vec![0usize; n], vec![0usize; n]);
        for i in 0..n {
            for j in (0..n).filter(|j| *j != i && full[i * n + j]) {
                below_count[j] += 1;
                right_count[i] += 1;
            }
        }
        let mut left: Vec<usize> = (0..n).collect();
        let mut order = Vec::with_capacity(n);
        let mut rows = Vec::with_capacity(n);
        let mut columns = Vec::with_capacity(n);
        while !left.is_empty() {
            let cost = |k: usize| {
                let (below, right) = (below_count[k], right_count[k]);
                below * right + below + right
            };
            let position = (0..left.len()).min_by_key(|p| cost(left[*p])).unwrap_or(0);
            let k = left.remove(position);
            let below: Vec<usize> = left.iter().copied().filter(|i| full[i * n + k]).collect();
            let right: Vec<usize> = left.iter().copied().filter(|j| full[k * n + j]).collect();
            for j in &right {
                below_count[*j] -= 1;
            }
            for i in &below {
                right_count[*i] -= 1;
                for j in &right {
                    if !std::mem::replace(&mut full[i * n + j], true) {
                        right_count[*i] += 1;
                        below_count[*j] += 1;
                    }
                }
            }
            order.push(k);
            rows.push(below);
            columns.push(right);
        }
        let mut place = vec![0u32; n];
        for (k, unknown) in order.iter().enumerate() {
            place[*unknown] = k as u32;
        }
        let is_full = |k: &usize| rows[*k].len() == n - 1 - k && columns[*k].len() == n - 1 - k;
        let full_from = (0..n).rev().take_while(is_full).last().unwrap_or(n);
        let placed = |sets: Vec<Vec<usize>>| -> Vec<Vec<u32>> {
            sets.into_iter()
                .map(|s| {
                    let mut s: Vec<u32> = s.into_iter().map(|i| place[i]).collect();
                    s.sort_unstable();
                    s
                })
                .collect()
        };
        let below = placed(rows);
        let sparse = (0..).zip(&below[..full_from]);
        Self {
            n,
            order,
            lower: sparse
                .flat_map(|(k, rows)| rows.iter().map(move |i| (k, *i)))
                .collect(),
            below,
            right: placed(columns),
            empty: original
                .iter()
                .map(|e| if *e { 0 } else { u64::MAX >> 1 })
                .collect(),
            nonzeros: original,
            full_from,
        }
    }

    /// Whether a matrix has entries only where this pattern has.
    #[must_use]
    pub fn covers(&self, matrix: &[f64]) -> bool {
        // Bits, because a zero of either sign is one, and because they are combined side by side.
        let entries = matrix.iter().zip(&self.empty);
        entries.fold(0, |found, (m, e)| found | (m.to_bits() & e)) == 0
    }

    /// The union of this pattern's entries and others.
    #[must_use]
    pub fn joined(&self, nonzeros: &[bool]) -> Self {
        let union: Vec<bool> = nonzeros
            .iter()
            .zip(&self.nonzeros)
            .map(|(a, b)| *a || *b)
            .collect();
        Self::new(self.n, &union)
    }
}

/// LU factors.
#[derive(Debug, Clone)]
pub struct Factors {
    n: usize,
    /// Factors in the order of elimination, row by row.
    lu: Vec<f64>,
    inverse_pivots: Vec<f64>,
    packed: Vec<f64>,
    work: Vec<f64>,
}

impl Factors {
    /// Room for matrices of `n` rows.
    #[must_use]
    pub fn new(n: usize) -> Self {
        Self {
            n,
            lu: vec![0.0; n * n],
            inverse_pivots: vec![0.0; n],
            packed: Vec::with_capacity(n * n),
            work: vec![0.0; n],
        }
    }

    /// Factors `shift M - matrix` with a diagonal `M`. Returns whether every pivot was usable.
    pub fn factor(
        &mut self,
        pattern: &Pattern,
        shift: f64,
        masses: &[f64],
        matrix: &[f64],
    ) -> bool {
        let n = self.n;
        for (row, i) in self.lu.chunks_exact_mut(n).zip(&pattern.order) {
            let source = &matrix[i * n..(i + 1) * n];
            for (value, j) in row.iter_mut().zip(&pattern.order) {
                *value = -source[*j];
            }
        }
        for (k, unknown) in pattern.order.iter().enumerate() {
            self.lu[k * n + k] += shift * masses[*unknown];
        }
        for k in 0..n {
            let pivot = self.lu[k * n + k];
            if pivot.is_nan() || pivot.abs() <= 1e-12 * shift {
                return false;
            }
            let inverse = 1.0 / pivot;
            self.inverse_pivots[k] = inverse;
            let (upper, lower) = self.lu.split_at_mut((k + 1) * n);
            let row_k = &upper[k * n..];
            if k >= pattern.full_from {
                let row_k = &row_k[k + 1..n];
                for row_i in lower.chunks_exact_mut(n) {
                    let l = row_i[k] * inverse;
                    row_i[k] = l;
                    for (a, b) in row_i[k + 1..].iter_mut().zip(row_k) {
                        *a -= l * b;
                    }
                }
                continue;
            }
            for i in &pattern.below[k] {
                let start = (*i as usize - k - 1) * n;
                let row_i = &mut lower[start..start + n];
                let l = row_i[k] * inverse;
                row_i[k] = l;
                for j in &pattern.right[k] {
                    row_i[*j as usize] -= l * row_k[*j as usize];
                }
            }
        }
        self.pack(pattern);
        true
    }

    /// Lays the sparse entries out in the order in which solving reads them, and the full block's
    /// lower triangle by columns, so that both its halves are read along memory.
    fn pack(&mut self, pattern: &Pattern) {
        let (n, full_from) = (self.n, pattern.full_from);
        self.packed.clear();
        for k in 0..full_from {
            let below = pattern.below[k].iter();
            self.packed
                .extend(below.map(|i| self.lu[*i as usize * n + k]));
        }
        for k in full_from..n {
            self.packed.extend((k + 1..n).map(|i| self.lu[i * n + k]));
        }
        for k in (full_from..n).rev() {
            self.packed
                .extend((full_from..k).map(|i| self.lu[i * n + k]));
        }
        for k in (0..full_from).rev() {
            let row = &self.lu[k * n..(k + 1) * n];
            let right = pattern.right[k].iter();
            self.packed.extend(right.map(|j| row[*j as usize]));
        }
    }

    /// Solves for one right-hand side in place.
    pub fn solve(&mut self, pattern: &Pattern, x: &mut [f64]) {
        let (n, full_from) = (self.n, pattern.full_from);
        let w = &mut self.work[..n];
        for (value, i) in w.iter_mut().zip(&pattern.order) {
            *value = x[*i];
        }
        let mut entries = self.packed.as_slice();
        let mut take = |count: usize| {
            let (now, later) = entries.split_at(count);
            entries = later;
            now
        };
        for ((k, i), l) in pattern.lower.iter().zip(take(pattern.lower.len())) {
            w[*i as usize] -= l * w[*k as usize];
        }
        for k in full_from..n {
            let value = w[k];
            for (a, l) in w[k + 1..].iter_mut().zip(take(n - 1 - k)) {
                *a -= l * value;
            }
        }
        for k in (full_from..n).rev() {
            let value = w[k] * self.inverse_pivots[k];
            w[k] = value;
            for (a, u) in w[full_from..k].iter_mut().zip(take(k - full_from)) {
                *a -= u * value;
            }
        }
        for k in (0..full_from).rev() {
            let columns = &pattern.right[k];
            let mut value = w[k];
            for (j, u) in columns.iter().zip(take(columns.len())) {
                value -= u * w[*j as usize];
            }
            w[k] = value * self.inverse_pivots[k];
        }
        for (value, i) in w.iter().zip(&pattern.order) {
            x[*i] = *value;
        }
    }
}
