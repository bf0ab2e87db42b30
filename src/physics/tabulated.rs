//! A smooth function of one positive number, tabulated for speed.
//!
//! Correlations are powers of the Rayleigh number; evaluating them means roots, and an
//! integration asks for them a hundred thousand times. The cells of this table are cut evenly in
//! the logarithm (sixteen an octave), found from the bits of the number, and hold cubics that meet
//! with equal value and slope, so the integrator sees a function with a continuous slope. The
//! slope comes with the value and feeds the Jacobian.

/// Cells an octave, as a power of two.
const CELL_BITS: u32 = 4;
/// Bits of a double's mantissa below the cell.
const REST_BITS: u32 = 52 - CELL_BITS;
/// First and last octave: 2^-26 to 2^46, about 1e-8 to 7e13.
const FIRST_OCTAVE: i32 = -26;
const LAST_OCTAVE: i32 = 46;

/// Bits of a double below the cell, its exponent, and the exponent of one.
const REST: u64 = (1 << REST_BITS) - 1;
const EXPONENT: u64 = 0x7ff << 52;
const ONE: u64 = 0x3ff << 52;

/// The cubic between two knots from values and rises (slopes times the spacing), in the place seen from
/// the middle: -1/2 at the left knot, 1/2 at the right one. Coefficients of 1, x, x2, x3.
pub(crate) fn cubic_between(a: f64, rise_a: f64, b: f64, rise_b: f64) -> [f64; 4] {
    let (step, sum, difference) = (b - a, rise_a + rise_b, rise_b - rise_a);
    [
        0.5 * (a + b) - 0.125 * difference,
        1.5 * step - 0.25 * sum,
        0.5 * difference,
        sum - 2.0 * step,
    ]
}

/// A cubic and its slope, from coefficients of 1, x, x2, x3.
#[inline(always)]
pub(crate) fn cubic_at([a, b, c, d]: [f64; 4], x: f64) -> (f64, f64) {
    // In two halves, which need not wait for each other.
    (
        (a + x * b) + (x * x) * (c + x * d),
        b + x * (2.0 * c + x * 3.0 * d),
    )
}

/// The cell of an even table that holds `x`, counted in cells from its begin, and the place in it seen
/// from its middle. Below zero the cell is a huge number; no number lies in the first cell.
#[inline(always)]
pub(crate) fn cell_and_place(x: f64) -> (usize, f64) {
    // Adding this leaves no bits for fractions: the number is rounded, and its last bits count cells.
    // Conversions to integers would cost more, and here the integrator spends most of its time.
    const ROUNDING: f64 = 1.5 * (1u64 << 52) as f64;
    let from_middle = x - 0.5;
    let rounded = from_middle + ROUNDING;
    (
        rounded.to_bits() as u32 as usize,
        from_middle - (rounded - ROUNDING),
    )
}

/// A tabulated function.
#[derive(Debug, Clone)]
pub struct Tabulated {
    /// Cubics in the place within a cell, in units of its octave's start: coefficients of 1, s, s2, s3.
    cells: Vec<[f64; 4]>,
    first_bits: u64,
    /// Values at both ends, held beyond them: no correlation carries heat at such low Rayleigh numbers,
    /// and none is published for such high ones.
    ends: (f64, f64),
}

impl Tabulated {
    /// Tabulates `f`, which must be positive and smooth.
    #[must_use]
    pub fn new(f: impl Fn(f64) -> f64) -> Self {
        let lowest = 2f64.powi(FIRST_OCTAVE);
        let count = ((LAST_OCTAVE - FIRST_OCTAVE) as usize) << CELL_BITS;
        let first_bits = lowest.to_bits();
        let edge = |k: usize| f64::from_bits(first_bits + ((k as u64) << REST_BITS));
        // Slopes by a central difference: error below 1e-9 of the slope for powers.
        let slope = |x: f64| (f(x * (1.0 + 1e-5)) - f(x * (1.0 - 1e-5))) / (2e-5 * x);
        let cells = (0..count)
            .map(|k| {
                let (x0, x1) = (edge(k), edge(k + 1));
                let (y0, y1) = (f(x0), f(x1));
                let (d0, d1) = (slope(x0) * (x1 - x0), slope(x1) * (x1 - x0));
                let per_octave = f64::from(1 << CELL_BITS);
                [
                    y0,
                    d0 * per_octave,
                    (3.0 * (y1 - y0) - 2.0 * d0 - d1) * per_octave.powi(2),
                    (2.0 * (y0 - y1) + d0 + d1) * per_octave.powi(3),
                ]
            })
            .collect();
        Self {
            cells,
            first_bits,
            ends: (f(lowest), f(edge(count))),
        }
    }

    /// Value and slope at `x`.
    #[inline(always)]
    #[must_use]
    pub fn at(&self, x: f64) -> (f64, f64) {
        let bits = x.to_bits();
        // What is below, negative or no number wraps to beyond the table.
        let k = (bits.wrapping_sub(self.first_bits) >> REST_BITS) as usize;
        let Some(cubic) = self.cells.get(k) else {
            return self.outside(x);
        };
        let s = f64::from_bits((bits & REST) | ONE) - 1.0;
        // One over the octave's start, by the exponent alone.
        let per_octave = f64::from_bits(2 * ONE - (bits & EXPONENT));
        let (value, slope) = cubic_at(*cubic, s);
        (value, slope * per_octave)
    }

    /// Beyond the table: its ends, which nothing near a chamber comes to. No number counts as low.
    #[cold]
    fn outside(&self, x: f64) -> (f64, f64) {
        (if x > 1.0 { self.ends.1 } else { self.ends.0 }, 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_and_cubics_meet_at_their_knots() {
        for (x, cell, place) in [(0.0, 0, -0.5), (0.25, 0, -0.25), (3.75, 3, 0.25)] {
            assert_eq!(cell_and_place(x), (cell, place));
        }
        assert!(cell_and_place(-0.75).0 > 1_000_000_000);
        assert!(cell_and_place(f64::NAN).1.is_nan());
        // x^3 + 2 x^2 - x + 4 over the cell from 0 to 1, with its slopes at the ends.
        let cubic = cubic_between(4.0, -1.0, 6.0, 6.0);
        for x in [0.0f64, 0.3, 0.8, 1.0] {
            let r = x - 0.5;
            let want = x.powi(3) + 2.0 * x * x - x + 4.0;
            let (value, slope) = cubic_at(cubic, r);
            assert!((value - want).abs() < 1e-14, "{x}");
            assert!((slope - (3.0 * x * x + 4.0 * x - 1.0)).abs() < 1e-14, "{x}");
        }
    }

    /// Against the functions themselves, between the table's edges.
    #[test]
    fn follows_powers_in_value_and_slope() {
        for p in [0.2, 0.25, 1.0 / 3.0, 1.0 / 6.0] {
            let t = Tabulated::new(|x| x.powf(p));
            let mut x = 0.002;
            while x < 6e13 {
                let (v, s) = t.at(x);
                assert!((v / x.powf(p) - 1.0).abs() < 1e-7, "{p} at {x}");
                assert!(
                    (s / (p * x.powf(p - 1.0)) - 1.0).abs() < 2e-5,
                    "slope {p} at {x}"
                );
                x *= 1.37;
            }
        }
    }

    /// Nothing moves below the first cell and beyond the last.
    #[test]
    fn holds_its_ends() {
        let t = Tabulated::new(|x| x.powf(0.25));
        let lowest: f64 = 2f64.powi(FIRST_OCTAVE);
        for x in [f64::NAN, -1.0, 0.0, 1e-12, 0.999 * lowest] {
            assert_eq!(t.at(x), (lowest.powf(0.25), 0.0), "{x}");
        }
        let highest: f64 = 2f64.powi(LAST_OCTAVE);
        for x in [highest, 1e30, f64::INFINITY] {
            assert_eq!(t.at(x), (highest.powf(0.25), 0.0), "{x}");
        }
        let inside = t.at(highest * (1.0 - 1e-12)).0;
        assert!((inside / highest.powf(0.25) - 1.0).abs() < 1e-7);
    }
}
