//! Eight numbers side by side, for which compilers find vector instructions.
//!
//! Whatever is done to one is done to all, and none knows of the others: a lane comes to the same bits whatever
//! stands in the rest. What works on them is written as loops over the eight that are inlined into one function for
//! each set of instructions ([`side_by_side`]); a closure or a function that is not inlined would lose
//! them in silence.

use pulp::{Arch, Simd, WithSimd};
use std::ops::{Add, Div, Mul, Neg, Sub};
use std::sync::LazyLock;

/// Numbers side by side: two registers of AVX2, one of AVX-512.
pub const LANES: usize = 8;

/// Numbers side by side, to sixteen digits.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C, align(64))]
pub struct Wide(pub [f64; LANES]);

/// The same to seven digits, which half as many instructions do: for what is small, for what is corrected afterwards,
/// and for coefficients that no one knows better.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(C, align(32))]
pub struct Narrow(pub [f32; LANES]);

/// Work on many lanes.
pub trait Work {
    /// Does it. To be marked `#[inline(always)]`, as everything it calls.
    fn work(self);
}

struct Dispatched<W>(W);

impl<W: Work> WithSimd for Dispatched<W> {
    type Output = ();
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        self.0.work();
    }
}

static ARCH: LazyLock<Arch> = LazyLock::new(Arch::new);

/// Does work with the best instructions of this machine.
pub fn side_by_side(work: impl Work) {
    ARCH.dispatch(Dispatched(work));
}

/// Whether this machine has instructions that make lanes worth it: four numbers at a time at least, products and
/// sums in one. Without, the plain way is the faster one.
#[must_use]
pub fn is_worth_it() -> bool {
    struct Count;
    impl WithSimd for Count {
        type Output = usize;
        #[inline(always)]
        fn with_simd<S: Simd>(self, _: S) -> usize {
            S::F64_LANES
        }
    }
    ARCH.dispatch(Count) >= 4
}

macro_rules! each {
    ($of:ident, $number:ty: $($name:ident, $method:ident, $op:tt;)*) => {$(
        impl $name for $of {
            type Output = Self;
            #[inline(always)]
            fn $method(mut self, b: Self) -> Self {
                for l in 0..LANES {
                    self.0[l] $op b.0[l];
                }
                self
            }
        }
        impl $name<$number> for $of {
            type Output = Self;
            #[inline(always)]
            fn $method(mut self, b: $number) -> Self {
                for l in 0..LANES {
                    self.0[l] $op b;
                }
                self
            }
        }
    )*};
}

macro_rules! lanes {
    ($of:ident, $number:ty) => {
        each!($of, $number: Add, add, +=; Sub, sub, -=; Mul, mul, *=; Div, div, /=;);

        impl Neg for $of {
            type Output = Self;
            #[inline(always)]
            fn neg(mut self) -> Self {
                for l in 0..LANES {
                    self.0[l] = -self.0[l];
                }
                self
            }
        }

        impl $of {
            /// Nothing in every lane.
            pub const ZERO: Self = Self([0.0; LANES]);

            /// The same in every lane.
            #[inline(always)]
            #[must_use]
            pub const fn all(x: $number) -> Self {
                Self([x; LANES])
            }

            /// `self + a b`, rounded once.
            #[inline(always)]
            #[must_use]
            pub fn plus(mut self, a: Self, b: Self) -> Self {
                for l in 0..LANES {
                    self.0[l] = a.0[l].mul_add(b.0[l], self.0[l]);
                }
                self
            }

            /// `self - a b`, rounded once.
            #[inline(always)]
            #[must_use]
            pub fn less(mut self, a: Self, b: Self) -> Self {
                for l in 0..LANES {
                    self.0[l] = (-a.0[l]).mul_add(b.0[l], self.0[l]);
                }
                self
            }

            /// Square root.
            #[inline(always)]
            #[must_use]
            pub fn sqrt(mut self) -> Self {
                for l in 0..LANES {
                    self.0[l] = self.0[l].sqrt();
                }
                self
            }

            /// Size.
            #[inline(always)]
            #[must_use]
            pub fn abs(mut self) -> Self {
                for l in 0..LANES {
                    self.0[l] = self.0[l].abs();
                }
                self
            }

            /// The larger of each two; the second where the first is no number.
            #[inline(always)]
            #[must_use]
            pub fn max(mut self, b: Self) -> Self {
                for l in 0..LANES {
                    self.0[l] = if self.0[l] > b.0[l] {
                        self.0[l]
                    } else {
                        b.0[l]
                    };
                }
                self
            }

            /// The smaller of each two; the second where the first is no number.
            #[inline(always)]
            #[must_use]
            pub fn min(mut self, b: Self) -> Self {
                for l in 0..LANES {
                    self.0[l] = if self.0[l] < b.0[l] {
                        self.0[l]
                    } else {
                        b.0[l]
                    };
                }
                self
            }

            /// `yes` where this is above `limit`, else `no`.
            #[inline(always)]
            #[must_use]
            pub fn above(self, limit: Self, yes: Self, mut no: Self) -> Self {
                for l in 0..LANES {
                    no.0[l] = if self.0[l] > limit.0[l] {
                        yes.0[l]
                    } else {
                        no.0[l]
                    };
                }
                no
            }

            /// Whether any lane is above a limit.
            #[inline(always)]
            #[must_use]
            pub fn any_above(self, limit: $number) -> bool {
                let mut any = false;
                for l in 0..LANES {
                    any |= self.0[l] > limit;
                }
                any
            }
        }
    };
}
lanes!(Wide, f64);
lanes!(Narrow, f32);

impl Wide {
    /// To seven digits.
    #[inline(always)]
    #[must_use]
    pub fn narrow(self) -> Narrow {
        let mut narrow = Narrow::ZERO;
        for l in 0..LANES {
            narrow.0[l] = self.0[l] as f32;
        }
        narrow
    }
}

impl Narrow {
    /// The same numbers.
    #[inline(always)]
    #[must_use]
    pub fn wide(self) -> Wide {
        let mut wide = Wide::ZERO;
        for l in 0..LANES {
            wide.0[l] = f64::from(self.0[l]);
        }
        wide
    }

    /// A polynomial, coefficients from the lowest power up: even and odd powers by themselves, so that less waits for
    /// what comes before.
    #[inline(always)]
    #[must_use]
    pub fn polynomial<const N: usize>(self, c: &[Self; N]) -> Self {
        let square = self * self;
        let (mut first, mut second) = (c[N - 1], c[N - 2]);
        let mut k = N - 2;
        while k >= 2 {
            first = c[k - 1].plus(first, square);
            second = c[k - 2].plus(second, square);
            k -= 2;
        }
        if k == 1 {
            // An odd number of coefficients: the highest power is even.
            first = c[0].plus(first, square);
            first.plus(second, self)
        } else {
            second.plus(first, self)
        }
    }

    /// Logarithm to the base 2 of positive numbers, to 3e-7 and, of large ones, seven digits.
    #[inline(always)]
    #[must_use]
    pub fn log2(self, powers: &Powers) -> Self {
        let (mut exponent, mut mantissa) = (self, self);
        for l in 0..LANES {
            let bits = self.0[l].to_bits();
            // As the last bits of 2^23, an exponent is a number.
            exponent.0[l] = f32::from_bits((bits >> 23) | 0x4b00_0000) - (8_388_608.0 + 127.0);
            mantissa.0[l] = f32::from_bits((bits & 0x007f_ffff) | 0x3f80_0000) - 1.5;
        }
        exponent + mantissa.polynomial(&powers.log2)
    }

    /// Two to this power, to 3e-7 of it.
    #[inline(always)]
    #[must_use]
    pub fn exp2(self, powers: &Powers) -> Self {
        /// To this, whole numbers are added in the last bits.
        const WHOLE: f32 = 12_582_912.0;
        let (mut whole, mut rest) = (self, self);
        for l in 0..LANES {
            whole.0[l] = self.0[l] + WHOLE;
            rest.0[l] = self.0[l] - (whole.0[l] - WHOLE);
        }
        let mut v = rest.polynomial(&powers.exp2);
        for l in 0..LANES {
            v.0[l] = f32::from_bits(v.0[l].to_bits().wrapping_add(whole.0[l].to_bits() << 23));
        }
        v
    }
}

/// Polynomials for powers of two and logarithms.
#[derive(Debug, Clone)]
pub struct Powers {
    log2: [Narrow; 9],
    exp2: [Narrow; 6],
}

impl Powers {
    /// Works them out.
    #[must_use]
    pub fn new() -> Self {
        Self {
            log2: everywhere(fitted(1.0, 2.0, 1.5, f64::log2)),
            exp2: everywhere(fitted(-0.5, 0.5, 0.0, f64::exp2)),
        }
    }
}

impl Default for Powers {
    fn default() -> Self {
        Self::new()
    }
}

/// To seven digits, the same in every lane: an instruction takes them as they stand.
#[must_use]
pub fn everywhere<const N: usize>(c: [f64; N]) -> [Narrow; N] {
    c.map(|c| Narrow::all(c as f32))
}

/// The polynomial in `x - middle` that follows a function between two places, by Chebyshev's: its largest
/// error is next to the least there can be.
pub fn fitted<const N: usize>(
    low: f64,
    high: f64,
    middle: f64,
    f: impl Fn(f64) -> f64,
) -> [f64; N] {
    let half = 0.5 * (high - low);
    let centre = 0.5 * (high + low);
    let places = 4 * N;
    let mut series = [0.0; N];
    for k in 0..places {
        let angle = std::f64::consts::PI * (k as f64 + 0.5) / places as f64;
        let value = f(centre + half * angle.cos());
        for (j, c) in series.iter_mut().enumerate() {
            let weight = if j == 0 { 1.0 } else { 2.0 } / places as f64;
            *c += weight * value * (j as f64 * angle).cos();
        }
    }
    powers_of(&series, half, middle - centre)
}

/// A series in Chebyshev's polynomials of `(x - centre)/half`, as powers of `x - centre - from`.
pub fn powers_of<const N: usize>(series: &[f64; N], half: f64, from: f64) -> [f64; N] {
    // u = (z + from)/half for z = x - centre - from; T_j(u) by its recurrence in powers of z.
    let times_u = |p: &[f64; N]| -> [f64; N] {
        std::array::from_fn(|k| {
            let below = if k == 0 { 0.0 } else { p[k - 1] };
            (below + from * p[k]) / half
        })
    };
    let (mut before, mut now) = ([0.0; N], [0.0; N]);
    now[0] = 1.0;
    let mut out = [0.0; N];
    for (j, c) in series.iter().enumerate() {
        for k in 0..N {
            out[k] += c * now[k];
        }
        let next = times_u(&now);
        let factor = if j == 0 { 1.0 } else { 2.0 };
        let after = std::array::from_fn(|k| factor * next[k] - before[k]);
        (before, now) = (now, after);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Some<'a>(&'a [Narrow], &'a mut [Narrow], &'a Powers);

    impl Work for Some<'_> {
        #[inline(always)]
        fn work(self) {
            for (x, out) in self.0.iter().zip(self.1) {
                *out = (x.log2(self.2) * (1.0 / 3.0))
                    .exp2(self.2)
                    .less(*x, x.sqrt());
            }
        }
    }

    fn numbers() -> Vec<Narrow> {
        (0..50)
            .map(|k| {
                Narrow(std::array::from_fn(|l| {
                    1e-9 * 1.1_f32.powi(8 * k + l as i32)
                }))
            })
            .collect()
    }

    #[test]
    fn powers_and_logarithms_are_those_of_the_library() {
        let powers = Powers::new();
        for x in numbers() {
            let (log, root) = (x.log2(&powers), (x.log2(&powers) * 0.2).exp2(&powers));
            for l in 0..LANES {
                let exactly = f64::from(x.0[l]);
                let log_is = f64::from(log.0[l]);
                // Seven digits of up to 32, and of the root what they amount to.
                assert!((log_is - exactly.log2()).abs() < 2e-6, "{exactly:?}");
                assert!((f64::from(root.0[l]) / exactly.powf(0.2) - 1.0).abs() < 6e-7);
            }
        }
    }

    /// What is worked out does not depend on the instructions it is worked out with.
    #[test]
    fn every_set_of_instructions_gives_the_same_bits() {
        let (powers, x) = (Powers::new(), numbers());
        let (mut best, mut plain) = (vec![Narrow::ZERO; x.len()], vec![Narrow::ZERO; x.len()]);
        side_by_side(Some(&x, &mut best, &powers));
        Some(&x, &mut plain, &powers).work();
        assert_eq!(best, plain);
    }

    #[test]
    fn a_fitted_polynomial_follows_its_function() {
        let c: [f64; 10] = fitted(220.0, 720.0, 400.0, f64::sqrt);
        for x in [220.0, 300.0, 511.0, 720.0] {
            let v = c.iter().rev().fold(0.0, |v, c| v * (x - 400.0) + c);
            // Ten terms of a series that falls by 3.5 from one to the next.
            assert!((v / f64::sqrt(x) - 1.0).abs() < 1e-6, "{x}: {v}");
        }
    }
}
