//! Radiation between grey, diffuse faces: view factors of axis-parallel rectangles in closed form,
//! and the exchange in an enclosure by radiosity.
//!
//! View factors come as exchange areas A1 F12 (m2), which are symmetric, so that reciprocity can't
//! be lost. Nothing here is called inside a time step: a run builds its exchange areas once.

use nalgebra::{DMatrix, DVector};
use std::f64::consts::PI;

/// Stefan-Boltzmann constant, W/(m2 K4) (CODATA 2018, exact in the SI since 2019).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// A rectangle in a plane, by its bounds along the plane's two axes, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Lower and upper bound along the first axis, m.
    pub x_m: [f64; 2],
    /// Lower and upper bound along the second axis, m.
    pub y_m: [f64; 2],
}

/// Sum over the 16 pairs of corners, each with the sign of its bounds.
fn corners(a: Rect, b: Rect, term: impl Fn(f64, f64, f64, f64) -> f64) -> f64 {
    let mut sum = 0.0;
    for i in 0..2 {
        for j in 0..2 {
            for k in 0..2 {
                for l in 0..2 {
                    let sign = if (i + j + k + l) % 2 == 0 { 1.0 } else { -1.0 };
                    sum += sign * term(a.x_m[i], a.y_m[j], b.x_m[k], b.y_m[l]);
                }
            }
        }
    }
    sum / (2.0 * PI)
}

/// r^2 ln r^2 and its kin at a shared corner: the factor vanishes faster than the logarithm grows.
fn times_log(factor: f64, square: f64) -> f64 {
    if square > 0.0 {
        factor * square.ln()
    } else {
        0.0
    }
}

/// u v atan(u/v) with the limit 0 at v = 0.
fn times_atan(u: f64, v: f64) -> f64 {
    if v > 0.0 { u * v * (u / v).atan() } else { 0.0 }
}

/// Exchange area A1 F12 of two rectangles in parallel planes that face each other, m2.
///
/// The sum over the 16 pairs of corners of
/// (1/2 pi) { v (u^2 + z^2)^(1/2) atan[v/(u^2 + z^2)^(1/2)] + u (v^2 + z^2)^(1/2)
/// atan[u/(v^2 + z^2)^(1/2)] - (z^2/2) ln(u^2 + v^2 + z^2) }, u and v the distances of the corners
/// along the two axes.
///
/// * `a`, `b`: bounds along the same two axes, anywhere in their planes.
/// * `distance_m`: distance z of the planes, above zero; 0 gives 0.
///
/// Worked example: two squares of side 1 m, 1 m apart: 0.19982 m2 (Howell, A Catalog of Radiation
/// Configuration Factors, C-11, table).
///
/// Reference: Howell C-13; Ehlert & Smith 1993, J. Thermophys. Heat Transfer 7, 173-175.
#[must_use]
pub fn rectangles_parallel(a: Rect, b: Rect, distance_m: f64) -> f64 {
    let z2 = distance_m * distance_m;
    if z2 == 0.0 {
        return 0.0;
    }
    corners(a, b, |x1, y1, x2, y2| {
        let (u, v) = (x1 - x2, y1 - y2);
        times_atan(v, (u * u + z2).sqrt()) + times_atan(u, (v * v + z2).sqrt())
            - times_log(0.5 * z2, u * u + v * v + z2)
    })
    .max(0.0)
}

/// Exchange area A1 F12 of two rectangles in perpendicular planes, m2.
///
/// The sum over the 16 pairs of corners of
/// (1/2 pi) { v s atan(v/s) - (1/4) (s^2 - v^2) ln(s^2 + v^2) }, v the distance of the corners along
/// the line in which the planes meet, and s^2 the sum of the squares of their distances from it.
///
/// * `a`, `b`: bounds as distance from the line of meeting (`x_m`, not negative: neither rectangle
///   reaches behind the other's plane) and along it (`y_m`, the same axis for both).
///
/// Worked example: two unit squares with a common edge: 0.20004 m2 (Howell C-14, table).
///
/// Reference: Howell C-15; Ehlert & Smith 1993, J. Thermophys. Heat Transfer 7, 173-175.
#[must_use]
pub fn rectangles_perpendicular(a: Rect, b: Rect) -> f64 {
    corners(a, b, |x1, y1, x2, y2| {
        let v = y1 - y2;
        let s2 = x1 * x1 + x2 * x2;
        times_atan(v, s2.sqrt()) - times_log(0.25 * (s2 - v * v), s2 + v * v)
    })
    .max(0.0)
}

/// An axis of space.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Axis {
    /// Left to right.
    X,
    /// Front to back.
    Y,
    /// Up.
    Z,
}

/// An axis-parallel rectangle in space that radiates to one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// Lower corner, m.
    pub low_m: [f64; 3],
    /// Upper corner, m. Along `axis` the lower corner counts.
    pub high_m: [f64; 3],
    /// The axis it is perpendicular to.
    pub axis: Axis,
    /// Whether it looks along the axis (true) or against it.
    pub looks_along: bool,
}

impl Rectangle {
    /// Area, m2.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        let (p, q) = self.plane();
        (self.high_m[p] - self.low_m[p]) * (self.high_m[q] - self.low_m[q])
    }

    /// The six inner faces of a box, in the order left, right, front, back, floor, top.
    #[must_use]
    pub fn box_faces(low_m: [f64; 3], high_m: [f64; 3]) -> [Self; 6] {
        let face = |axis: Axis, looks_along: bool| {
            let (mut low, mut high) = (low_m, high_m);
            let n = axis as usize;
            if looks_along {
                high[n] = low[n];
            } else {
                low[n] = high[n];
            }
            Self {
                low_m: low,
                high_m: high,
                axis,
                looks_along,
            }
        };
        [
            face(Axis::X, true),
            face(Axis::X, false),
            face(Axis::Y, true),
            face(Axis::Y, false),
            face(Axis::Z, true),
            face(Axis::Z, false),
        ]
    }

    const fn normal(&self) -> usize {
        self.axis as usize
    }

    /// The two axes of its plane.
    const fn plane(&self) -> (usize, usize) {
        match self.axis {
            Axis::X => (1, 2),
            Axis::Y => (0, 2),
            Axis::Z => (0, 1),
        }
    }

    fn position_m(&self) -> f64 {
        self.low_m[self.normal()]
    }

    /// Bounds of `other` along this one's normal, as heights in front of it; what lies behind is cut.
    fn heights_of(&self, other: &Self) -> [f64; 2] {
        let n = self.normal();
        let (low, high) = (
            other.low_m[n] - self.position_m(),
            other.high_m[n] - self.position_m(),
        );
        let (low, high) = if self.looks_along {
            (low, high)
        } else {
            (-high, -low)
        };
        [low.max(0.0), high.max(0.0)]
    }
}

/// Exchange area A1 F12 between two axis-parallel rectangles, m2: parallel, perpendicular, or 0 when
/// they lie in one plane or look away from each other.
///
/// Parts that lie behind the other's plane don't count. Nothing between them is seen: a
/// third face that hides part of one must be split off by the caller.
///
/// Reference: see [`rectangles_parallel`] and [`rectangles_perpendicular`].
#[must_use]
pub fn exchange_area_m2(a: &Rectangle, b: &Rectangle) -> f64 {
    if a.axis == b.axis {
        let distance_m = b.position_m() - a.position_m();
        let sees = |r: &Rectangle, toward: f64| r.looks_along == (toward > 0.0);
        if distance_m == 0.0 || !sees(a, distance_m) || !sees(b, -distance_m) {
            return 0.0;
        }
        let (p, q) = a.plane();
        let flat = |r: &Rectangle| Rect {
            x_m: [r.low_m[p], r.high_m[p]],
            y_m: [r.low_m[q], r.high_m[q]],
        };
        return rectangles_parallel(flat(a), flat(b), distance_m.abs());
    }
    // The planes meet in a line along the axis that is normal to neither.
    let along = 3 - a.normal() - b.normal();
    let flat = |r: &Rectangle, other: &Rectangle| Rect {
        x_m: other.heights_of(r),
        y_m: [r.low_m[along], r.high_m[along]],
    };
    rectangles_perpendicular(flat(a, b), flat(b, a))
}

/// Restores closure: scales the symmetric matrix S to D S D, D diagonal, so that each row sums to
/// its area. Symmetry, and with it reciprocity, is kept (a rounding difference between the two
/// halves is averaged away).
///
/// Small gaps are left by hidden parts, rounding and split faces. Returns the largest relative
/// error of a row sum: below 1e-12, except where no scaling can close the enclosure (two faces of
/// unequal area that see only each other) and the rounds stop gaining.
///
/// Reference: symmetric matrix balancing; Sinkhorn & Knopp 1967, Pacific J. Math. 21, 343-348.
pub fn close_exchange_areas(s: &mut DMatrix<f64>, areas: &[f64]) -> f64 {
    let n = s.nrows().min(s.ncols()).min(areas.len());
    for i in 0..n {
        for j in 0..i {
            let mean = 0.5 * (s[(i, j)] + s[(j, i)]);
            s[(i, j)] = mean;
            s[(j, i)] = mean;
        }
    }
    let mut scale = vec![1.0; n];
    let mut worst = f64::INFINITY;
    let mut worst_before = f64::INFINITY;
    for round in 0..10_000 {
        let mut next = scale.clone();
        worst = 0.0;
        for i in 0..n {
            let sum = scale[i] * (0..n).map(|j| s[(i, j)] * scale[j]).sum::<f64>();
            if sum > 0.0 && areas[i] > 0.0 {
                worst = f64::max(worst, (sum / areas[i] - 1.0).abs());
                next[i] = scale[i] * (areas[i] / sum).sqrt();
            }
        }
        if worst < 1e-12 || next.iter().any(|d| !(1e-30..1e30).contains(d)) {
            break;
        }
        if round % 100 == 99 {
            if worst > 0.99 * worst_before {
                break;
            }
            worst_before = worst;
        }
        scale = next;
    }
    for i in 0..n {
        for j in 0..=i {
            let scaled = s[(i, j)] * (scale[i] * scale[j]);
            s[(i, j)] = scaled;
            s[(j, i)] = scaled;
        }
    }
    worst
}

/// Total exchange areas G of a grey, diffuse enclosure, m2: face i gives off
/// q_i = sum over j of G_ij sigma (T_i^4 - T_j^4), with every reflection counted.
///
/// G = e S (I - r A^-1 S)^-1 e, with e the emissivities and r = 1 - e, from J = e E + r F J and
/// q = e (E - F J). G is symmetric, and in a closed enclosure its row sums are e A.
///
/// * `s_direct`: symmetric direct exchange areas A_i F_ij, m2, row sums equal to the areas.
/// * `areas`: areas, m2, above zero.
/// * `emissivities`: 0 to 1, both ends allowed. If all are 0 nothing is exchanged.
///
/// Worked example: two large plates of 1 m2 and emissivity 0.8 and 0.5 exchange
/// 1/(1/0.8 + 1/0.5 - 1) = 0.4444 m2 (every handbook).
///
/// Reference: Hottel & Sarofim 1967, Radiative Transfer, chapter 3 (total-exchange areas).
#[must_use]
pub fn radiosity_exchange(
    s_direct: &DMatrix<f64>,
    areas: &[f64],
    emissivities: &[f64],
) -> DMatrix<f64> {
    let n = areas.len();
    let system = DMatrix::from_fn(n, n, |i, j| {
        let diagonal = if i == j { 1.0 } else { 0.0 };
        diagonal - (1.0 - emissivities[i]) * s_direct[(i, j)] / areas[i]
    });
    let emitted = DMatrix::from_diagonal(&DVector::from_column_slice(emissivities));
    // Singular only if a closed group of faces absorbs nothing: then it exchanges nothing.
    let Some(radiosities) = system.lu().solve(&emitted) else {
        return DMatrix::zeros(n, n);
    };
    let g = &emitted * s_direct * radiosities;
    // Equal to its transpose but for rounding; made so exactly, so that energy can't leak.
    (&g + g.transpose()) * 0.5
}

#[cfg(test)]
mod tests;
