//! Errors that hang together. Knows no chambers.
//!
//! A row of a log is off by much what the row before was off: what a model leaves out comes and goes with hours, not with
//! rows. Taken for independent, a thousand rows would make anything certain. What they are off is here a process of its
//! own (Ornstein and Uhlenbeck's): so large, forgotten in so long. What is left of a row when the row before is
//! known is independent of it, for rows as far apart as they happen to be.
//!
//! With rows a time `d` apart, `k = exp(-d / lasts)`: what is new in a row is `e - k e_before`, of standard deviation
//! `deviation * sqrt(1 - k^2)`.

use super::fit::{Measured, Model};
use nalgebra::{DMatrix, DVector};
use std::ops::Range;

/// How what rows are off hangs together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drift {
    /// Standard deviation, in the unit of the rows.
    pub deviation: f64,
    /// In what time it is forgotten to a share of 1/e, s.
    pub lasts_s: f64,
}

/// Rows of one thermometer.
#[derive(Debug, Clone, PartialEq)]
struct Group {
    rows: Range<usize>,
    /// What each row keeps of the row before.
    kept: Vec<f64>,
}

/// Takes from each row what the row before it told. Rows outside of all groups stay as they are.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Whitening {
    groups: Vec<Group>,
}

/// So many times are tried between the shortest and the longest.
const TRIED: u32 = 40;

impl Drift {
    /// What a row, so long after the one before, keeps of what that was off.
    fn kept(self, after_s: f64) -> f64 {
        (-after_s / self.lasts_s).exp()
    }

    /// The most likely drift of rows that are off by this at these times, s; it is not less than `least`, and lasts no
    /// longer than half of all rows.
    #[must_use]
    pub fn of(times_s: &[f64], off: &[f64], least: f64) -> Self {
        let (Some(first), Some(last)) = (times_s.first(), times_s.last()) else {
            return Self {
                deviation: least,
                lasts_s: 1.0,
            };
        };
        #[expect(clippy::cast_precision_loss, reason = "a count of rows")]
        let count = off.len() as f64;
        let usual_s = ((last - first) / (count - 1.0).max(1.0)).max(1.0);
        let (short_s, long_s) = (0.25 * usual_s, (0.5 * (last - first)).max(usual_s));
        let mut best = (f64::NEG_INFINITY, least, short_s);
        for k in 0..=TRIED {
            let share = f64::from(k) / f64::from(TRIED);
            let tried = Self {
                deviation: 1.0,
                lasts_s: short_s * (long_s / short_s).powf(share),
            };
            let (mut squares, mut logs) = (0.0, 0.0);
            for (k, e) in off.iter().enumerate() {
                let kept = if k == 0 {
                    0.0
                } else {
                    tried.kept(times_s[k] - times_s[k - 1])
                };
                let new = e - if k == 0 { 0.0 } else { kept * off[k - 1] };
                let variance = 1.0 - kept * kept;
                squares += new * new / variance;
                logs += variance.ln();
            }
            // Not smaller than the least, which bounds how likely it can be.
            let variance = (squares / count).max(least * least);
            let likely = -0.5 * (squares / variance + count * variance.ln() + logs);
            if likely > best.0 {
                best = (likely, variance.sqrt(), tried.lasts_s);
            }
        }
        Self {
            deviation: best.1,
            lasts_s: best.2,
        }
    }
}

impl Whitening {
    /// Adds the rows of one thermometer, at these times, s; gives the standard deviation of what is new in each.
    pub fn add(&mut self, rows: Range<usize>, times_s: &[f64], drift: Drift) -> Vec<f64> {
        let steps = times_s.windows(2).map(|w| drift.kept(w[1] - w[0]));
        let kept: Vec<f64> = std::iter::once(0.0).chain(steps).collect();
        let new = |kept: &f64| drift.deviation * (1.0 - kept * kept).sqrt();
        let deviations = kept.iter().map(new).collect();
        self.groups.push(Group { rows, kept });
        deviations
    }

    /// What is new in each row.
    #[must_use]
    pub fn of(&self, rows: &DVector<f64>) -> DVector<f64> {
        let mut new = rows.clone();
        for group in &self.groups {
            for (k, row) in group.rows.clone().enumerate().skip(1) {
                new[row] -= group.kept[k] * rows[row - 1];
            }
        }
        new
    }

    /// The same of every column.
    #[must_use]
    pub fn of_each(&self, columns: &DMatrix<f64>) -> DMatrix<f64> {
        let mut new = columns.clone();
        for group in &self.groups {
            for (k, row) in group.rows.clone().enumerate().skip(1) {
                let before = columns.row(row - 1) * group.kept[k];
                let mut row = new.row_mut(row);
                row -= before;
            }
        }
        new
    }
}

/// A model of what is new in each row.
#[derive(Debug)]
pub struct Whitened<'a, M> {
    /// The model of the rows.
    pub model: &'a M,
    /// What takes the rest from them.
    pub whitening: &'a Whitening,
}

impl<M: Model> Model for Whitened<'_, M> {
    type Error = M::Error;

    fn predicted(&self, parameters: &DVector<f64>) -> Result<DVector<f64>, M::Error> {
        Ok(self.whitening.of(&self.model.predicted(parameters)?))
    }

    fn each_predicted(&self, parameters: &[DVector<f64>]) -> Vec<Result<DVector<f64>, M::Error>> {
        let each = self.model.each_predicted(parameters).into_iter();
        each.map(|predicted| Ok(self.whitening.of(&predicted?)))
            .collect()
    }

    fn slopes(&self, parameters: &DVector<f64>) -> Result<DMatrix<f64>, M::Error> {
        Ok(self.whitening.of_each(&self.model.slopes(parameters)?))
    }
}

impl Whitening {
    /// What is new in measured rows, of which deviations are those of what is new already.
    #[must_use]
    pub fn of_measured(&self, measured: &Measured) -> Measured {
        Measured {
            values: self.of(&measured.values),
            ..measured.clone()
        }
    }
}

#[cfg(test)]
mod tests;
