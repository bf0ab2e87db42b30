//! Scales of numbers: where a value lies, and which round values get a tick.

/// Maps values to pixels, straight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Values at the two ends; `low < high`.
    pub low: f64,
    pub high: f64,
    /// Pixels at the two ends; for a y scale `from` lies below `to`.
    pub from: f64,
    pub to: f64,
}

impl Scale {
    pub fn at(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }

    /// Round values within the scale, at least `apart` pixels from each other, and the decimals
    /// they need.
    pub fn ticks(&self, apart: f64) -> (Vec<f64>, usize) {
        let pixels = (self.to - self.from).abs();
        let step = round_step((self.high - self.low) * apart / pixels.max(1.0));
        let decimals = (-step.log10()).ceil().max(0.0) as usize;
        // A hair of slack, so that an end that is a tick but for rounding is one.
        let slack = 1e-9 * (self.high - self.low) / step;
        let first = (self.low / step - slack).ceil() as i64;
        let last = (self.high / step + slack).floor() as i64;
        let ticks = (first..=last).map(|count| count as f64 * step).collect();
        // 0.25 needs two decimals though its power of ten says one.
        let decimals = if step * 10f64.powi(decimals as i32) % 1.0 > 1e-6
            && step * 10f64.powi(decimals as i32) % 1.0 < 1.0 - 1e-6
        {
            decimals + 1
        } else {
            decimals
        };
        (ticks, decimals)
    }
}

/// The smallest of 1, 2, 2.5, 5 times a power of ten that is at least `least`.
fn round_step(least: f64) -> f64 {
    let power = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 2.5, 5.0]
        .into_iter()
        .map(|digit| digit * power)
        .find(|step| *step >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

/// Lowest and highest of the values, widened if they are equal or nearly so.
pub fn range(values: impl Iterator<Item = f64>, least_span: f64) -> Option<(f64, f64)> {
    let (low, high) = values.fold(None, |range: Option<(f64, f64)>, value| {
        let (low, high) = range.unwrap_or((value, value));
        Some((low.min(value), high.max(value)))
    })?;
    // Above 2^40 or so a span of a few units would vanish in rounding.
    let least = least_span.max(1e-6 * low.abs().max(high.abs()));
    if high - low < least {
        let middle = f64::midpoint(low, high);
        Some((middle - least / 2.0, middle + least / 2.0))
    } else {
        Some((low, high))
    }
}

/// A number with at most this many decimals, a true minus sign, and no trailing zeros.
pub fn number(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A number with exactly this many decimals and a true minus sign; no minus before a zero.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(low: f64, high: f64) -> Scale {
        Scale {
            low,
            high,
            from: 400.0,
            to: 0.0,
        }
    }

    #[test]
    fn ticks_are_round_and_apart() {
        assert_eq!(
            scale(23.7, 61.2).ticks(40.0),
            (vec![25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0], 0)
        );
        assert_eq!(
            scale(0.0, 1.0).ticks(95.0),
            (vec![0.0, 0.25, 0.5, 0.75, 1.0], 2)
        );
        assert_eq!(
            scale(-1.0, 1.0).ticks(80.0).0,
            vec![-1.0, -0.5, 0.0, 0.5, 1.0]
        );
        assert_eq!(scale(0.0, 0.5).ticks(60.0).1, 1);
        for (low, high) in [(0.0, 1e-3), (-4e5, 9e6), (59.9, 60.1), (1e9, 1e9 + 5.0)] {
            let scale = scale(low, high);
            let (ticks, _) = scale.ticks(40.0);
            assert!(ticks.len() > 2, "{low} {high} {ticks:?}");
            for pair in ticks.windows(2) {
                assert!((scale.at(pair[0]) - scale.at(pair[1])).abs() > 39.99);
            }
        }
    }

    #[test]
    fn a_flat_line_gets_a_scale() {
        assert_eq!(range([60.0, 60.0].into_iter(), 2.0), Some((59.0, 61.0)));
        assert_eq!(range([1.0, 9.0].into_iter(), 2.0), Some((1.0, 9.0)));
        assert_eq!(range(std::iter::empty(), 2.0), None);
        let (low, high) = range([1e15].into_iter(), 2.0).expect("range");
        assert!(high > low);
    }

    #[test]
    fn numbers_read_well() {
        assert_eq!(number(60.0, 1), "60");
        assert_eq!(number(58.94, 1), "58.9");
        assert_eq!(number(-0.04, 1), "0");
        assert_eq!(number(-12.5, 1), "−12.5");
        assert_eq!(number(100.0, 0), "100");
        assert_eq!(fixed(0.5, 2), "0.50");
    }
}
