//! How a value's doubt is distributed: what a [`Spread`] says of its ends, filled in between.

use super::schema::{Range, Spread};

/// So many standard deviations from the middle of a normal distribution one value in forty lies beyond.
pub const ONE_IN_FORTY: f64 = 1.959_963_984_540_054;

/// A value in doubt. The value itself is the middle: as often too high as too low.
///
/// Each side of it is half of a normal distribution of its own width, of the value's logarithm where its doubt is a
/// factor: so both ends lie where the spread says, and the middle where the value says. The limits of the key cut
/// it off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distribution {
    /// The value, in SI.
    pub median: f64,
    /// One in forty lies below this, in SI.
    pub low: f64,
    /// One in forty lies above this, in SI.
    pub high: f64,
    limits: (f64, f64),
    by_factors: bool,
}

impl Distribution {
    /// That of a value in SI whose key has that spread; none where it is what it is said to be, or where its doubt
    /// is another key's.
    #[must_use]
    pub fn of(range: &Range, si: f64, spread: Spread) -> Option<Self> {
        let (low, high) = match spread {
            // A value outside was set by someone who knows better than the range: it is doubted as much as the
            // range is wide.
            Spread::Between(low, high) if !(range.si(low)..=range.si(high)).contains(&si) => {
                let (low, high) = (range.si(low), range.si(high));
                if low > 0.0 && si > 0.0 {
                    let factor = (high / low).sqrt();
                    (si / factor, si * factor)
                } else {
                    (si - 0.5 * (high - low), si + 0.5 * (high - low))
                }
            }
            spread => range.plausible(si, spread),
        };
        let by_factors = !matches!(spread, Spread::PlusMinus(_)) && low > 0.0 && si > 0.0;
        Self::between(range, si, (low, high), by_factors)
    }

    /// That of a value in SI that someone says is known to within so much, in SI.
    ///
    /// Where that is as much as the value itself, of something that can't be less than nothing, it is a factor: its
    /// high end is what was said, and its low end as many times lower.
    #[must_use]
    pub fn within(range: &Range, si: f64, by: f64) -> Option<Self> {
        if by >= si && si > 0.0 && range.si(range.hard.0) >= 0.0 {
            let factor = 1.0 + by / si;
            return Self::between(range, si, (si / factor, si * factor), true);
        }
        Self::between(range, si, (si - by, si + by), false)
    }

    fn between(range: &Range, si: f64, ends: (f64, f64), by_factors: bool) -> Option<Self> {
        let limits = (range.si(range.hard.0), range.si(range.hard.1));
        let cut = |v: f64| v.clamp(limits.0, limits.1);
        let (low, high) = (cut(ends.0).min(si), cut(ends.1).max(si));
        (low < high).then_some(Self {
            median: si,
            low,
            high,
            limits,
            by_factors,
        })
    }

    /// The value so many standard deviations above its middle, in SI: 0 is the value itself, 1.96 its high end.
    #[must_use]
    pub fn at(&self, deviations: f64) -> f64 {
        let end = if deviations < 0.0 {
            self.low
        } else {
            self.high
        };
        let share = deviations.abs() / ONE_IN_FORTY;
        let value = if self.by_factors {
            self.median * (end / self.median).powf(share)
        } else {
            self.median + (end - self.median) * share
        };
        value.clamp(self.limits.0, self.limits.1)
    }

    /// The opposite of [`Distribution::at`]; infinite where the value lies on a side that has no width.
    #[must_use]
    pub fn deviations(&self, si: f64) -> f64 {
        let end = if si < self.median {
            self.low
        } else {
            self.high
        };
        let share = if self.by_factors {
            (si / self.median).ln() / (end / self.median).ln()
        } else {
            (si - self.median) / (end - self.median)
        };
        if si == self.median {
            return 0.0;
        }
        ONE_IN_FORTY * if si < self.median { -share } else { share }
    }
}

#[cfg(test)]
mod tests {
    use super::super::schema::Kind;
    use super::super::schema::quantity;
    use super::*;
    use crate::quantity::Quantity as Q;

    fn range(q: Q, unit: &'static str, hard: (f64, f64)) -> Range {
        match quantity(q, unit, hard, hard) {
            Kind::Quantity(range) => range,
            _ => unreachable!(),
        }
    }

    /// The quantile of 0.975 of a normal distribution: any table of it, 1.95996.
    #[test]
    fn the_ends_are_where_the_spread_says() {
        let power = range(Q::Power, "W", (0.0, 100.0));
        let number = range(Q::Number, "", (0.0, 90.0));
        let speed = range(Q::Speed, "m/s", (0.0, 6.0));
        for (range, si, spread, low, high) in [
            (power, 3.0, Spread::Factor(1.5), 2.0, 4.5),
            (power, 3.0, Spread::PlusMinus(0.5), 2.5, 3.5),
            (number, 1.0, Spread::Between(0.3, 3.0), 0.3, 3.0),
            (number, 1.0, Spread::Between(0.7, 1.4), 0.7, 1.4),
            (speed, 0.05, Spread::Between(0.0, 0.2), 0.0, 0.2),
            // Outside of its plausible range: as wide, around itself.
            (
                number,
                6.0,
                Spread::Between(0.3, 3.0),
                6.0 / 10_f64.sqrt(),
                6.0 * 10_f64.sqrt(),
            ),
        ] {
            let d = Distribution::of(&range, si, spread).expect("it is in doubt");
            assert!(
                (d.at(-1.959_96) - low).abs() < 1e-5 * high,
                "{spread:?}: {}",
                d.at(-1.959_96)
            );
            assert!((d.at(1.959_96) - high).abs() < 1e-5 * high, "{spread:?}");
            assert_eq!(d.at(0.0), si);
            for z in [-1.5, -0.3, 0.0, 0.2, 2.5] {
                assert!((d.deviations(d.at(z)) - z).abs() < 1e-9, "{spread:?}: {z}");
            }
        }
    }

    #[test]
    fn what_is_exact_or_counted_elsewhere_is_not_in_doubt() {
        let power = range(Q::Power, "W", (0.0, 100.0));
        assert_eq!(Distribution::of(&power, 3.0, Spread::Exact), None);
        assert_eq!(Distribution::of(&power, 3.0, Spread::In("another")), None);
        // A factor of nothing is nothing.
        assert_eq!(Distribution::of(&power, 0.0, Spread::Factor(2.0)), None);
    }

    #[test]
    fn nothing_lies_beyond_the_limits_of_a_key() {
        let speed = range(Q::Speed, "m/s", (0.0, 0.25));
        let d = Distribution::of(&speed, 0.05, Spread::Between(0.0, 0.2)).expect("in doubt");
        assert_eq!(d.at(-4.0), 0.0);
        assert_eq!(d.at(6.0), 0.25);
    }

    #[test]
    fn kelvins_are_counted_from_the_value() {
        let warm = range(Q::Temperature, "degC", (-50.0, 400.0));
        let d = Distribution::of(&warm, 308.15, Spread::PlusMinus(2.0)).expect("in doubt");
        assert!((d.low - 306.15).abs() < 1e-9 && (d.high - 310.15).abs() < 1e-9);
        let power = range(Q::Power, "W", (0.0, 100.0));
        let wide = Distribution::within(&power, 2.0, 4.0).expect("in doubt");
        assert!((wide.high - 6.0).abs() < 1e-9 && (wide.low - 2.0 / 3.0).abs() < 1e-9);
        let narrower = Distribution::within(&warm, 308.15, 0.5).expect("in doubt");
        assert!((narrower.high - 308.65).abs() < 1e-9);
    }
}
