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

/// A tabulated function.
#[derive(Debug, Clone)]
pub struct Tabulated {
    /// Cubics in the place within a cell (0 to 1): coefficients of 1, s, s2, s3.
    cells: Vec<[f64; 4]>,
    first_bits: u64,
    /// Below the first cell the function is taken as its value there: no correlation carries heat
    /// at such a Rayleigh number.
    lowest: f64,
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
                [
                    y0,
                    d0,
                    3.0 * (y1 - y0) - 2.0 * d0 - d1,
                    2.0 * (y0 - y1) + d0 + d1,
                ]
            })
            .collect();
        Self {
            cells,
            first_bits,
            lowest,
        }
    }

    /// Value and slope at `x`.
    #[inline]
    #[must_use]
    pub fn at(&self, x: f64) -> (f64, f64) {
        if x.is_nan() || x <= self.lowest {
            return (self.cells[0][0], 0.0);
        }
        let bits = x.to_bits();
        let k = (((bits - self.first_bits) >> REST_BITS) as usize).min(self.cells.len() - 1);
        let start = f64::from_bits(self.first_bits + ((k as u64) << REST_BITS));
        // A cell's width is its octave's start over the cells an octave.
        let octave = f64::from_bits(start.to_bits() & (0x7ff << 52));
        let per_width = f64::from(1 << CELL_BITS) / octave;
        let s = (x - start) * per_width;
        let [a, b, c, d] = self.cells[k];
        (
            a + s * (b + s * (c + s * d)),
            (b + s * (2.0 * c + s * 3.0 * d)) * per_width,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

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

    /// Nothing below the first cell moves; beyond the last its cubic goes on.
    #[test]
    fn holds_at_the_low_end_and_goes_on_at_the_high_one() {
        let t = Tabulated::new(|x| x.powf(0.25));
        let lowest: f64 = 2f64.powi(FIRST_OCTAVE);
        for x in [f64::NAN, -1.0, 0.0, 1e-12, lowest] {
            assert_eq!(t.at(x), (lowest.powf(0.25), 0.0), "{x}");
        }
        let beyond = 2f64.powi(LAST_OCTAVE) * 1.01;
        assert!((t.at(beyond).0 / beyond.powf(0.25) - 1.0).abs() < 1e-6);
    }
}
