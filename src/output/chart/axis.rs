//! Axes as plotters asks for them, and how numbers are written.

use plotters::coord::ranged1d::{
    BoldPoints, KeyPointHint, NoDefaultFormatting, Ranged, ValueFormatter,
};
use plotters::coord::types::RangedCoordf64;

/// A labelled tick.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Its place, in the unit of the axis.
    pub at: f64,
    pub text: String,
}

/// A straight axis, its ticks and its grid lines. plotters maps values and draws what is named here.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// Values at the two ends; `low < high`.
    pub low: f64,
    pub high: f64,
    pub ticks: Vec<Label>,
    pub lines: Vec<f64>,
}

impl Axis {
    /// An axis of numbers as long as so many pixels, with round values `apart` pixels or more from
    /// each other and a grid line at each. plotters picks the values, as many as are asked for at
    /// most; here that is the most that have room.
    pub fn of_numbers((low, high): (f64, f64), pixels: f64, apart: f64) -> Axis {
        let per_value = pixels / (high - low);
        let most = (pixels / apart).max(0.0) as usize + 1;
        let lines = (1..=most)
            .rev()
            .map(|count| RangedCoordf64::from(low..high).key_points(BoldPoints(count)))
            .find(|lines| lines.len() < 2 || (lines[1] - lines[0]) * per_value >= apart)
            .unwrap_or_default();
        let step = match lines.as_slice() {
            [first, second, ..] => second - first,
            _ => 1.0,
        };
        // Steps are 1, 2 or 5 times a power of ten; the slack is for its rounding.
        let decimals = (-step.log10() - 1e-6).ceil().max(0.0) as usize;
        let label = |&at: &f64| Label {
            at,
            text: fixed(at, decimals),
        };
        Axis {
            low,
            high,
            ticks: lines.iter().map(label).collect(),
            lines,
        }
    }
}

impl Ranged for Axis {
    type FormatOption = NoDefaultFormatting;
    type ValueType = f64;

    /// A value far outside goes no farther than a length of the axis: whole numbers end somewhere.
    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        let span = self.high - self.low;
        let value = value.clamp(self.low - span, self.high + span);
        RangedCoordf64::from(self.low..self.high).map(&value, limit)
    }

    /// Bold points are the ticks, light ones the grid lines.
    fn key_points<Hint: KeyPointHint>(&self, hint: Hint) -> Vec<f64> {
        if hint.weight().allow_light_points() {
            self.lines.clone()
        } else {
            self.ticks.iter().map(|tick| tick.at).collect()
        }
    }

    fn range(&self) -> std::ops::Range<f64> {
        self.low..self.high
    }
}

impl ValueFormatter<f64> for Axis {
    fn format_ext(&self, value: &f64) -> String {
        let tick = self.ticks.iter().find(|tick| tick.at == *value);
        tick.map_or_else(String::new, |tick| tick.text.clone())
    }
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

    fn texts(range: (f64, f64), apart: f64) -> Vec<String> {
        let axis = Axis::of_numbers(range, 400.0, apart);
        axis.ticks.into_iter().map(|tick| tick.text).collect()
    }

    #[test]
    fn ticks_are_round_and_apart() {
        assert_eq!(
            texts((23.7, 61.2), 40.0),
            ["25", "30", "35", "40", "45", "50", "55", "60"]
        );
        assert_eq!(
            texts((0.0, 1.0), 80.0),
            ["0.0", "0.2", "0.4", "0.6", "0.8", "1.0"]
        );
        assert_eq!(
            texts((-1.0, 1.0), 90.0),
            ["−1.0", "−0.5", "0.0", "0.5", "1.0"]
        );
        for range in [(0.0, 1e-3), (-4e5, 9e6), (59.9, 60.1), (1e9, 1e9 + 5.0)] {
            let axis = Axis::of_numbers(range, 400.0, 40.0);
            assert!(axis.ticks.len() > 2, "{range:?} {axis:?}");
            for pair in axis.ticks.windows(2) {
                let way = axis.map(&pair[1].at, (0, 40_000)) - axis.map(&pair[0].at, (0, 40_000));
                assert!(way > 3_999, "{range:?} {pair:?}");
                assert_ne!(pair[0].text, pair[1].text, "{range:?}");
            }
        }
        // No room for two: one value or none.
        assert!(Axis::of_numbers((0.0, 9.0), 20.0, 28.0).ticks.len() < 2);
    }

    /// Places in hundredths of a pixel, and none beyond what an `i32` holds.
    #[test]
    fn values_are_mapped_straight_and_stay_near() {
        let axis = Axis::of_numbers((20.0, 60.0), 400.0, 40.0);
        assert_eq!(axis.map(&30.0, (40_000, 0)), 30_000);
        assert_eq!(axis.map(&1e12, (40_000, 0)), -40_000);
        assert_eq!(axis.map(&-1e12, (40_000, 0)), 80_000);
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
