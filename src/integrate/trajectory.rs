//! What an integration returns: a chain of cubics, and tools to look into it.

use super::Effort;

/// One step as a cubic in `x` from 0 to 1:
/// `y = y0 (1-x) + x (y1 + (1-x) (k1 + x k2))`.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Begin, s.
    pub begin_s: f64,
    /// Length, s.
    pub length_s: f64,
    /// Name of the stretch, see [`super::System::stretch`].
    pub stretch: usize,
    /// `y0`, `y1`, `k1`, `k2` one after the other; unknowns first, then ledgers if kept.
    pub coefficients: Vec<f64>,
}

impl Piece {
    /// Number of values.
    #[must_use]
    pub fn width(&self) -> usize {
        self.coefficients.len() / 4
    }

    /// End, s.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.begin_s + self.length_s
    }

    /// The values at `x` (0 to 1) into `out`, which may be shorter than the width.
    pub fn at(&self, x: f64, out: &mut [f64]) {
        let n = self.width();
        if n == 0 {
            return;
        }
        let mut each = self.coefficients.chunks_exact(n);
        let mut next = || each.next().unwrap_or_default().iter();
        let values = next().zip(next()).zip(next().zip(next()));
        for (o, ((y0, y1), (k1, k2))) in out.iter_mut().zip(values) {
            *o = between([*y0, *y1, *k1, *k2], x);
        }
    }

    /// One value at `x` (0 to 1).
    #[must_use]
    pub fn value(&self, i: usize, x: f64) -> f64 {
        let n = self.width();
        let c = &self.coefficients;
        between([c[i], c[n + i], c[2 * n + i], c[3 * n + i]], x)
    }

    /// Shortens the piece to end at `x`, keeping the curve: the cubic is restated on `[0, x]`.
    #[must_use]
    pub fn cut(&self, x: f64) -> Self {
        let n = self.width();
        let mut coefficients = vec![0.0; 4 * n];
        for i in 0..n {
            let (y0, y1) = (self.value(i, 0.0), self.value(i, x));
            let (k1, k2) = (self.coefficients[2 * n + i], self.coefficients[3 * n + i]);
            // Powers of s = x' x in the old cubic: c2 = k2 - k1, c3 = -k2.
            let (c2, c3) = ((k2 - k1) * x * x, -k2 * x * x * x);
            coefficients[i] = y0;
            coefficients[n + i] = y1;
            coefficients[2 * n + i] = -c2 - c3;
            coefficients[3 * n + i] = -c3;
        }
        Self {
            begin_s: self.begin_s,
            length_s: self.length_s * x,
            stretch: self.stretch,
            coefficients,
        }
    }
}

/// A value at `x` from its coefficients.
fn between([y0, y1, k1, k2]: [f64; 4], x: f64) -> f64 {
    let x1 = 1.0 - x;
    y0 * x1 + x * (y1 + x1 * (k1 + x * k2))
}

/// The whole course of an integration.
#[derive(Debug, Clone, PartialEq)]
pub struct Trajectory {
    /// Pieces in order, without gaps.
    pub pieces: Vec<Piece>,
    /// Number of unknowns; ledgers follow them in each piece if kept.
    pub unknowns: usize,
    /// Ledgers over the whole time, each in the unit of its rate times seconds: of heat, J.
    pub totals: Vec<f64>,
    /// What it cost.
    pub effort: Effort,
}

impl Trajectory {
    /// Begin, s.
    #[must_use]
    pub fn begin_s(&self) -> f64 {
        self.pieces.first().map_or(0.0, |p| p.begin_s)
    }

    /// End, s.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.pieces.last().map_or(0.0, Piece::end_s)
    }

    /// The piece that holds `t_s` and the place in it (0 to 1); the ends beyond the ends.
    #[must_use]
    pub fn locate(&self, t_s: f64) -> (&Piece, f64) {
        let k = self
            .pieces
            .partition_point(|p| p.end_s() < t_s)
            .min(self.pieces.len() - 1);
        let p = &self.pieces[k];
        (p, ((t_s - p.begin_s) / p.length_s).clamp(0.0, 1.0))
    }

    /// The values at a time into `out`: unknowns, then ledgers if kept.
    pub fn at(&self, t_s: f64, out: &mut [f64]) {
        let (piece, x) = self.locate(t_s);
        piece.at(x, out);
    }
}

/// A cubic in `x`, as powers.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cubic {
    /// Coefficients of 1, x, x2, x3.
    pub c: [f64; 4],
}

impl Cubic {
    /// The value at `x`.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        let [a, b, c, d] = self.c;
        a + x * (b + x * (c + x * d))
    }

    /// Adds `share` times value `i` of a piece.
    pub fn add(&mut self, piece: &Piece, i: usize, share: f64) {
        let n = piece.width();
        let c = &piece.coefficients;
        let (y0, y1, k1, k2) = (c[i], c[n + i], c[2 * n + i], c[3 * n + i]);
        self.c[0] += share * y0;
        self.c[1] += share * (y1 - y0 + k1);
        self.c[2] += share * (k2 - k1);
        self.c[3] -= share * k2;
    }

    /// Places in (0, 1) where the slope is zero, in order.
    #[must_use]
    pub fn turning_points(&self) -> [Option<f64>; 2] {
        let [_, b, c, d] = self.c;
        let inside = |x: f64| (x > 0.0 && x < 1.0).then_some(x);
        let (qa, qb, qc) = (3.0 * d, 2.0 * c, b);
        if qa.abs() < 1e-14 * (qb.abs() + qc.abs()) {
            return [if qb == 0.0 { None } else { inside(-qc / qb) }, None];
        }
        let disc = qb * qb - 4.0 * qa * qc;
        if disc <= 0.0 {
            return [None, None];
        }
        // The form that loses no digits when one root is small.
        let q = -0.5 * (qb + qb.signum() * disc.sqrt());
        let (x1, x2) = (q / qa, if q == 0.0 { f64::NAN } else { qc / q });
        let (low, high) = if x1 < x2 { (x1, x2) } else { (x2, x1) };
        [inside(low), inside(high)]
    }

    /// See [`is_monotone`].
    #[inline]
    fn is_monotone(&self) -> bool {
        is_monotone(self.c)
    }

    /// Largest value on [0, 1] and where.
    #[must_use]
    pub fn largest(&self) -> (f64, f64) {
        self.largest_between(0.0, 1.0)
    }

    /// Largest value on `[from, to]` within [0, 1], and where.
    #[must_use]
    pub fn largest_between(&self, from: f64, to: f64) -> (f64, f64) {
        let mut best = (self.at(from), from);
        if self.is_monotone() {
            let end = (self.at(to), to);
            return if end.0 > best.0 { end } else { best };
        }
        let turning = self.turning_points().into_iter().flatten();
        for x in turning.filter(|x| from < *x && *x < to).chain([to]) {
            let v = self.at(x);
            if v > best.0 {
                best = (v, x);
            }
        }
        best
    }

    /// Mean over [0, 1].
    #[must_use]
    pub fn mean(&self) -> f64 {
        let [a, b, c, d] = self.c;
        a + b / 2.0 + c / 3.0 + d / 4.0
    }

    /// The parts of [0, 1] on which the cubic lies above `level`, in order.
    #[must_use]
    pub fn intervals_above(&self, level: f64) -> Vec<(f64, f64)> {
        let mut edges = vec![0.0];
        edges.extend(self.turning_points().into_iter().flatten());
        edges.push(1.0);
        let mut found: Vec<(f64, f64)> = Vec::new();
        for w in edges.windows(2) {
            let (x0, x1) = (w[0], w[1]);
            let (above0, above1) = (self.at(x0) > level, self.at(x1) > level);
            let part = match (above0, above1) {
                (true, true) => (x0, x1),
                (false, false) => continue,
                (true, false) => (x0, self.crossing(level, x0, x1)),
                (false, true) => (self.crossing(level, x0, x1), x1),
            };
            match found.last_mut() {
                Some(last) if part.0 <= last.1 => last.1 = part.1,
                _ => found.push(part),
            }
        }
        found
    }

    /// Where the cubic, monotone on `[x0, x1]`, crosses `level`.
    fn crossing(&self, level: f64, x0: f64, x1: f64) -> f64 {
        let (mut low, mut high) = (x0, x1);
        let above0 = self.at(x0) > level;
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if (self.at(middle) > level) == above0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }
}

/// Whether a cubic surely only rises or only falls on [0, 1], and by more than rounding could mistake: its slope, a
/// parabola, lies between the largest and the smallest of three numbers.
#[inline(always)]
fn is_monotone([_, b, c, d]: [f64; 4]) -> bool {
    const SURELY: f64 = 1e-9;
    let (low, middle, high) = (b, b + c, b + 2.0 * c + 3.0 * d);
    let least = SURELY * (b.abs() + c.abs() + d.abs());
    // All are looked at: a processor guesses badly which of them decides.
    let rises = (low > least) & (middle > least) & (high > least);
    let falls = (low < -least) & (middle < -least) & (high < -least);
    rises | falls
}

/// Several cubics, coefficient by coefficient: what is asked of all is found side by side.
#[derive(Debug, Clone, Copy)]
pub struct Cubics<const N: usize>([[f64; N]; 4]);

impl<const N: usize> Cubics<N> {
    /// Nothing yet.
    pub const ZERO: Self = Self([[0.0; N]; 4]);

    /// Adds `share` times a cubic to one of them.
    ///
    /// # Panics
    /// When there is no such one.
    #[inline(always)]
    pub fn add(&mut self, which: usize, share: f64, cubic: [f64; 4]) {
        for (all, c) in self.0.iter_mut().zip(cubic) {
            all[which] += share * c;
        }
    }

    /// Of each [`Cubic::largest`].
    #[must_use]
    #[inline]
    pub fn largest(&self) -> [(f64, f64); N] {
        let [a, b, c, d] = &self.0;
        let (mut ends, mut monotone) = ([(0.0, 0.0); N], [false; N]);
        for k in 0..N {
            monotone[k] = is_monotone([a[k], b[k], c[k], d[k]]);
            let end = a[k] + (b[k] + (c[k] + d[k]));
            ends[k] = (a[k].max(end), if end > a[k] { 1.0 } else { 0.0 });
        }
        for k in 0..N {
            if !monotone[k] {
                let cubic = Cubic {
                    c: [a[k], b[k], c[k], d[k]],
                };
                ends[k] = cubic.largest_between(0.0, 1.0);
            }
        }
        ends
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: parabolas that turn inside, at the end and beyond it; `1 - (1 - x)^3`, whose slope ends at zero; one
    /// that falls and comes back to where it began; one that only falls.
    #[test]
    fn the_largest_value_is_inside_or_at_an_end() {
        for (c, want) in [
            ([0.0, 1.0, -1.0, 0.0], (0.25, 0.5)),
            ([0.0, 1.0, -0.5, 0.0], (0.5, 1.0)),
            ([0.0, 1.0, -0.49, 0.0], (0.51, 1.0)),
            ([0.0, 3.0, -3.0, 1.0], (1.0, 1.0)),
            ([1.0, -2.0, 3.0, -1.0], (1.0, 0.0)),
            ([2.0, -1.0, -1.0, -1.0], (2.0, 0.0)),
        ] {
            let cubic = Cubic { c };
            let (largest, x) = cubic.largest();
            assert!((largest - want.0).abs() < 1e-12, "{c:?}: {largest}");
            assert!((x - want.1).abs() < 1e-7, "{c:?}: at {x}");
            let mut beside = Cubics::<3>::ZERO;
            beside.add(1, 2.0, c.map(|c| 0.5 * c));
            assert_eq!(beside.largest()[1], (largest, x));
            let each = (0..=100).map(|k| cubic.at(f64::from(k) / 100.0));
            assert!(each.fold(f64::NEG_INFINITY, f64::max) <= largest + 1e-12);
        }
    }
}
