//! The numbers a law can be asked in.
//!
//! A law is written once, over [`Number`]. Asked in plain numbers it gives its value; asked in
//! [`Dual`] numbers, its value with slopes. What a law needs besides sums and products - roots, tables,
//! rounded corners - goes through [`Number::through`], a function that gives its value and slope at a
//! plain number; asked in plain numbers, the compiler leaves the slope out.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// A number of some kind.
pub trait Number:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    /// A number that depends on nothing.
    fn of(x: f64) -> Self;
    /// A number that changes with time by itself, at so much a second.
    fn moving(x: f64, per_s: f64) -> Self;
    /// The plain number.
    fn value(self) -> f64;
    /// `Q` functions of this number, from their values and slopes at the plain one.
    fn through_all<const Q: usize>(self, f: impl FnOnce(f64) -> ([f64; Q], [f64; Q])) -> [Self; Q];
    /// A function of this number, from its value and slope at the plain one.
    #[inline(always)]
    fn through(self, f: impl FnOnce(f64) -> (f64, f64)) -> Self {
        let [y] = self.through_all(|x| {
            let (value, slope) = f(x);
            ([value], [slope])
        });
        y
    }
}

impl Number for f64 {
    #[inline(always)]
    fn of(x: f64) -> Self {
        x
    }
    #[inline(always)]
    fn moving(x: f64, _per_s: f64) -> Self {
        x
    }
    #[inline(always)]
    fn value(self) -> f64 {
        self
    }
    #[inline(always)]
    fn through_all<const Q: usize>(self, f: impl FnOnce(f64) -> ([f64; Q], [f64; Q])) -> [Self; Q] {
        f(self).0
    }
}

/// A number with its slopes by `K` inputs; the last of them is time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dual<const K: usize> {
    /// The plain number.
    pub value: f64,
    /// Its slopes.
    pub slopes: [f64; K],
}

impl<const K: usize> Dual<K> {
    /// Input number `k` itself.
    #[must_use]
    #[inline(always)]
    pub fn input(x: f64, k: usize) -> Self {
        let mut slopes = [0.0; K];
        slopes[k] = 1.0;
        Self { value: x, slopes }
    }

    #[inline(always)]
    fn with(self, value: f64, slope: impl Fn(usize) -> f64) -> Self {
        let mut slopes = self.slopes;
        for (k, s) in slopes.iter_mut().enumerate() {
            *s = slope(k);
        }
        Self { value, slopes }
    }
}

impl<const K: usize> Add for Dual<K> {
    type Output = Self;
    #[inline(always)]
    fn add(self, b: Self) -> Self {
        self.with(self.value + b.value, |k| self.slopes[k] + b.slopes[k])
    }
}

impl<const K: usize> Sub for Dual<K> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, b: Self) -> Self {
        self.with(self.value - b.value, |k| self.slopes[k] - b.slopes[k])
    }
}

impl<const K: usize> Mul for Dual<K> {
    type Output = Self;
    #[expect(
        clippy::suspicious_arithmetic_impl,
        reason = "the rule of products has a sum"
    )]
    #[inline(always)]
    fn mul(self, b: Self) -> Self {
        self.with(self.value * b.value, |k| {
            self.slopes[k] * b.value + self.value * b.slopes[k]
        })
    }
}

impl<const K: usize> Div for Dual<K> {
    type Output = Self;
    #[inline(always)]
    fn div(self, b: Self) -> Self {
        let (value, inverse) = (self.value / b.value, 1.0 / b.value);
        self.with(value, |k| (self.slopes[k] - value * b.slopes[k]) * inverse)
    }
}

impl<const K: usize> Neg for Dual<K> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.with(-self.value, |k| -self.slopes[k])
    }
}

impl<const K: usize> Number for Dual<K> {
    #[inline(always)]
    fn of(x: f64) -> Self {
        Self {
            value: x,
            slopes: [0.0; K],
        }
    }
    #[inline(always)]
    fn moving(x: f64, per_s: f64) -> Self {
        let mut slopes = [0.0; K];
        slopes[K - 1] = per_s;
        Self { value: x, slopes }
    }
    #[inline(always)]
    fn value(self) -> f64 {
        self.value
    }
    #[inline(always)]
    fn through_all<const Q: usize>(self, f: impl FnOnce(f64) -> ([f64; Q], [f64; Q])) -> [Self; Q] {
        let (values, slopes) = f(self.value);
        std::array::from_fn(|q| self.with(values[q], |k| slopes[q] * self.slopes[k]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rules of differentiation, by hand: f = (x y + 3)/(y - x) + e^x at x = 2, y = 5, and y rising by
    /// 0.1 a second: f = 13/3 + e^2, f_x = (5*3 + 13)/9 + e^2, f_y = (2*3 - 13)/9.
    #[test]
    fn slopes_follow_the_rules_of_differentiation() {
        fn f<D: Number>(x: D, y: D) -> D {
            (x * y + D::of(3.0)) / (y - x) + x.through(|x| (x.exp(), x.exp()))
        }
        let e2 = 2f64.exp();
        let (x, y) = (Dual::<3>::input(2.0, 0), Dual::input(5.0, 1));
        let got = f(x, y);
        assert!((got.value - (13.0 / 3.0 + e2)).abs() < 1e-12);
        for (ours, by_hand) in got.slopes.iter().zip([28.0 / 9.0 + e2, -7.0 / 9.0, 0.0]) {
            assert!((ours - by_hand).abs() < 1e-12, "{ours} {by_hand}");
        }
        let moving = f(Dual::<1>::of(2.0), Dual::moving(5.0, 0.1));
        assert!((moving.slopes[0] + 0.1 * 7.0 / 9.0).abs() < 1e-12);
        assert_eq!(f(2.0, 5.0), got.value);
        assert_eq!((-got).slopes.map(|s| -s), got.slopes);
    }

    #[test]
    fn several_functions_of_one_number() {
        let x = Dual::<2>::input(3.0, 0);
        let [square, cube] = x.through_all(|x| ([x * x, x * x * x], [2.0 * x, 3.0 * x * x]));
        assert_eq!((square.value, square.slopes), (9.0, [6.0, 0.0]));
        assert_eq!((cube.value, cube.slopes), (27.0, [27.0, 0.0]));
        assert_eq!(3.0.through_all(|x| ([x, x + 1.0], [1.0; 2])), [3.0, 4.0]);
    }
}
