//! How sure the result of a run is: the run many times over, with every value in doubt somewhere within its spread.
//!
//! Nobody knows leakage, mixing of air or a motor's heat exactly, and a forecast is one. Each such value has a
//! distribution ([`Inputs::doubtful`]); points that fill the space of all of them evenly ([`points`]) are as many runs,
//! and what they come to is the band. The best estimate is not among them: it is the run as described, and the verdict
//! is its own.

pub mod points;

use rayon::prelude::*;

use super::many::{FeedCourse, feed_courses};
use crate::chamber::StationKind;
use crate::integrate::Options;
use crate::run::{Doubtful, Inputs, Run};

/// What is drawn from the values in doubt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sampling {
    /// How many runs.
    pub samples: u32,
    /// Which of the sequences of points.
    pub seed: u32,
}

impl Default for Sampling {
    fn default() -> Self {
        Self {
            samples: 256,
            seed: 1,
        }
    }
}

/// Steps of samples are longer than those of a run that is looked at for itself: what they leave is a hundredth of
/// any band's width.
const TOLERANCE_K: f64 = 0.02;

/// Most moments of a band over time.
const MOMENTS: u32 = 240;

/// The share of samples that lies below the band, and above it.
pub const TAIL: f64 = 0.05;

/// What came of one sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// The hottest filament that has stood at each of [`StationKind::ALL`], K.
    pub hottest_K: [f64; StationKind::ALL.len()],
    /// Least margin to the softening limit at any station, K.
    pub margin_K: f64,
    /// Whether a heater could not hold its setpoint.
    pub cannot_run: bool,
}

/// How sure a result is.
#[derive(Debug, Clone, PartialEq)]
pub struct Certainty {
    /// What was drawn.
    pub sampling: Sampling,
    /// How many values were in doubt.
    pub doubtful: usize,
    /// Samples that ended in a result, in their order.
    pub samples: Vec<Sample>,
    /// Those that did not, and why: what was drawn does not go together, or could not be integrated.
    pub failed: Vec<String>,
    /// The station at which the filament's band over time was taken.
    pub station: StationKind,
    /// That band.
    pub over_time: Band,
}

/// A band over time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Band {
    /// Moments, s from the start.
    pub at_s: Vec<f64>,
    /// The twentieth part of samples lies below, K.
    pub low_K: Vec<f64>,
    /// The twentieth part of samples lies above, K.
    pub high_K: Vec<f64>,
}

/// The 5th, 50th and 95th percentile of something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Percentiles {
    /// 5th.
    pub p05: f64,
    /// 50th.
    pub p50: f64,
    /// 95th.
    pub p95: f64,
}

impl Certainty {
    /// The hottest filament at a station, K; none where no sample ended in a result.
    #[must_use]
    pub fn hottest_K(&self, station: StationKind) -> Option<Percentiles> {
        let at = StationKind::ALL.iter().position(|s| *s == station)?;
        percentiles(self.samples.iter().map(|s| s.hottest_K[at]).collect())
    }

    /// The least margin, K; none where no sample ended in a result.
    #[must_use]
    pub fn margin_K(&self) -> Option<Percentiles> {
        percentiles(self.samples.iter().map(|s| s.margin_K).collect())
    }

    /// The share of samples that soften. One that came to no result counts as one: nobody knows that it would hold.
    #[must_use]
    pub fn chance_softens(&self) -> f64 {
        let softens = self.samples.iter().filter(|s| s.margin_K < 0.0).count();
        self.share(softens + self.failed.len())
    }

    /// The share of samples in which a heater can't hold its setpoint.
    #[must_use]
    pub fn chance_cannot_run(&self) -> f64 {
        self.share(self.samples.iter().filter(|s| s.cannot_run).count())
    }

    fn share(&self, count: usize) -> f64 {
        let all = self.samples.len() + self.failed.len();
        #[expect(clippy::cast_precision_loss, reason = "some thousands")]
        let share = count as f64 / all.max(1) as f64;
        share
    }
}

/// Percentiles by linear interpolation between the values in order; none of nothing.
fn percentiles(mut values: Vec<f64>) -> Option<Percentiles> {
    values.sort_unstable_by(f64::total_cmp);
    let at = |share| between_in_order(&values, share);
    Some(Percentiles {
        p05: at(TAIL)?,
        p50: at(0.5)?,
        p95: at(1.0 - TAIL)?,
    })
}

/// The value below which that share of values in order lies: the first is at 0, the last at 1 (Hyndman and Fan 1996,
/// definition 7).
fn between_in_order(values: &[f64], share: f64) -> Option<f64> {
    #[expect(clippy::cast_precision_loss, reason = "some thousands")]
    let place = share * values.len().saturating_sub(1) as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "within the values"
    )]
    let below = place.floor() as usize;
    let low = *values.get(below)?;
    let high = *values.get(below + 1).unwrap_or(&low);
    Some(low + (high - low) * (place - place.floor()))
}

/// How sure the run is that these inputs describe; `station` is where its band over time is taken, the one nearest its
/// limit in the best estimate.
#[must_use]
pub fn certainty(inputs: &Inputs, station: StationKind, sampling: Sampling) -> Certainty {
    let doubtful = inputs.doubtful();
    let drawn: Vec<Result<Run, String>> = (0..sampling.samples)
        .into_par_iter()
        .map(|k| {
            let at = |dimension| points::normal(k, dimension, sampling.seed);
            drawn(inputs, &doubtful, at)
        })
        .collect();
    let mut failed = Vec::new();
    let mut runs = Vec::new();
    for run in drawn {
        match run {
            Ok(run) => runs.push(run),
            Err(why) => failed.push(why),
        }
    }
    let mut courses = Vec::new();
    for course in feed_courses(&runs, &options()) {
        match course {
            Ok(course) => courses.push(course),
            Err(why) => failed.push(why.to_string()),
        }
    }
    Certainty {
        sampling,
        doubtful: doubtful.len(),
        samples: courses.iter().map(sample).collect(),
        failed,
        station,
        over_time: over_time(&courses, station),
    }
}

/// Options of samples.
#[must_use]
pub fn options() -> Options {
    Options {
        tolerance: TOLERANCE_K,
        ledgers: false,
        ..Options::default()
    }
}

/// The run in which each value in doubt lies so many standard deviations from its middle.
///
/// # Errors
/// When its values don't go together; the text is the first problem's.
pub fn drawn(
    inputs: &Inputs,
    doubtful: &[Doubtful],
    deviations: impl Fn(u32) -> f64,
) -> Result<Run, String> {
    let mut inputs = inputs.clone();
    for (d, dimension) in doubtful.iter().zip(0..) {
        let value = d.distribution.at(deviations(dimension));
        inputs.set(&d.input, value).map_err(|e| e.to_string())?;
    }
    inputs.to_run().map_err(|problems| {
        let first = problems.as_slice().first();
        first.map_or_else(|| problems.to_string(), |p| p.message.clone())
    })
}

fn sample(course: &FeedCourse) -> Sample {
    let hottest = course.hottest(f64::NEG_INFINITY, f64::INFINITY);
    let margins_K = hottest.iter().map(|h| h.limit_K - h.max_K);
    Sample {
        hottest_K: hottest.map(|h| h.max_K),
        margin_K: margins_K.fold(f64::INFINITY, f64::min),
        cannot_run: !course.shortfalls.is_empty(),
    }
}

/// The band of the filament at a station, at even moments.
fn over_time(courses: &[FeedCourse], station: StationKind) -> Band {
    let ends_s = courses
        .iter()
        .filter_map(|c| c.pieces.last())
        .map(|p| p.end_s());
    let end_s = ends_s.fold(f64::INFINITY, f64::min);
    let at = StationKind::ALL.iter().position(|s| *s == station);
    let (Some(at), true) = (at, end_s.is_finite()) else {
        return Band::default();
    };
    let at_s: Vec<f64> = (0..=MOMENTS)
        .map(|k| end_s * f64::from(k) / f64::from(MOMENTS))
        .collect();
    let each: Vec<Vec<f64>> = courses.par_iter().map(|c| c.at(at, &at_s)).collect();
    let (low_K, high_K) = (0..at_s.len())
        .filter_map(|k| {
            let mut values: Vec<f64> = each.iter().map(|values| values[k]).collect();
            values.sort_unstable_by(f64::total_cmp);
            let low = between_in_order(&values, TAIL)?;
            Some((low, between_in_order(&values, 1.0 - TAIL)?))
        })
        .unzip();
    Band {
        at_s,
        low_K,
        high_K,
    }
}

#[cfg(test)]
mod tests;
