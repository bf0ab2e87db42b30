//! The moments at which the starts of a season lie.

use super::start::later;
use crate::run::Inputs;
use jiff::civil::DateTime;

/// Moments at even steps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// The first.
    pub first: DateTime,
    /// Time between two, s.
    pub every_s: f64,
    /// How many.
    pub count: usize,
    /// How many more the weather has, after which the job would outlast it.
    pub left_out: usize,
}

impl Moments {
    /// Every moment of the weather of a run at which it may start, from the first full hour on; none where its
    /// weather is no series.
    #[must_use]
    pub fn of(inputs: &Inputs, every_s: f64) -> Option<Self> {
        let (begin, end) = inputs.weather_span()?;
        let duration_s = inputs.duration_s()?;
        let into_hour_s = f64::from(begin.minute()) * 60.0 + f64::from(begin.second());
        let first = if into_hour_s > 0.0 {
            later(begin, 3600.0 - into_hour_s)
        } else {
            begin
        };
        let whole_s = end.duration_since(first).as_secs_f64();
        if inputs.has_typical_year() {
            // Its last midnight is its first, and no job outlasts it.
            return Some(Self {
                first,
                every_s,
                count: (whole_s / every_s - 1e-9).ceil().max(0.0) as usize,
                left_out: 0,
            });
        }
        let fit = |s: f64| {
            if s < 0.0 {
                0
            } else {
                (s / every_s) as usize + 1
            }
        };
        let count = fit(whole_s - duration_s);
        Some(Self {
            first,
            every_s,
            count,
            left_out: fit(whole_s) - count,
        })
    }

    /// The moment of that number.
    #[must_use]
    pub fn at(&self, k: usize) -> DateTime {
        later(self.first, self.every_s * k as f64)
    }
}
