//! What follows in a run in progress, and how surely.

use rayon::prelude::*;

use crate::chamber::StationKind;
use crate::run::{Inputs, Run};
use crate::study::band::{Certainty, Sample, Sampling, TAIL, between_in_order};
use crate::study::calibrate::{Calibration, Posterior};
use crate::study::certainty::{self, in_their_order, points};
use crate::study::many::{FeedCourse, feed_courses};
use nalgebra::{DMatrix, DVector};

/// How sure the rest of a run is.
#[derive(Debug, Clone, PartialEq)]
pub struct Ahead {
    /// Samples of the rest: hottest filament and margins from now on.
    pub certainty: Certainty,
    /// When each sample passes its limit first from now on, s from the start; none where it doesn't.
    pub passes_s: Vec<Option<f64>>,
    /// The same of those that have not passed it before now.
    pub first_s: Vec<Option<f64>>,
    /// The share of samples that passed it before now: if nothing has slipped so far, their limit is too strict.
    pub passed_before: f64,
    /// What the model is still off where it is measured, K: a standard deviation. Every sample's filament is off by its
    /// own share of it throughout.
    pub left_out_K: f64,
}

/// When the limit is passed, of the samples in which it is: s from the start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// In one of twenty earlier than this.
    pub early_s: f64,
    /// In half of them earlier than this.
    pub middle_s: f64,
    /// In one of twenty later than this.
    pub late_s: f64,
}

impl Ahead {
    /// When the limit is passed for the first time; none where no sample passes it that has not before.
    #[must_use]
    pub fn passing(&self) -> Option<Passing> {
        let mut times: Vec<f64> = self.first_s.iter().flatten().copied().collect();
        times.sort_unstable_by(f64::total_cmp);
        let at = |share| between_in_order(&times, share);
        Some(Passing {
            early_s: at(TAIL)?,
            middle_s: at(0.5)?,
            late_s: at(1.0 - TAIL)?,
        })
    }
}

/// The rest of a run from a time on, s: `inputs` are those that the log was held against; what is to come is warmer by
/// `raise_K` than the model says.
pub(super) fn ahead(
    inputs: &Inputs,
    calibration: &Calibration,
    now_s: f64,
    station: StationKind,
    raise_K: f64,
    sampling: Sampling,
) -> Ahead {
    let drawer = Drawer::new(inputs, &calibration.known);
    let left_out_K = calibration.left_out_K();
    let last = drawer.values.len();
    let drawn: Vec<Result<Run, String>> = (0..sampling.samples)
        .into_par_iter()
        .map(|k| {
            drawer.run(inputs, |dimension| {
                points::normal(k, dimension, sampling.seed)
            })
        })
        .collect();
    let found = in_their_order(drawn, |runs| feed_courses(runs, &certainty::options()));
    let (mut courses, mut failed) = (Vec::new(), Vec::new());
    for (k, course) in (0..).zip(found) {
        match course {
            Ok(course) => {
                let own = points::normal(k, u32::try_from(last).unwrap_or(u32::MAX), sampling.seed);
                courses.push(course.raised(raise_K + left_out_K * own));
            }
            Err(why) => failed.push(why),
        }
    }
    let had_passed = |c: &FeedCourse| c.passes(0.0).is_some_and(|t_s| t_s < now_s);
    #[expect(clippy::cast_precision_loss, reason = "some thousands")]
    let share = |count: usize| count as f64 / courses.len().max(1) as f64;
    Ahead {
        passed_before: share(courses.iter().filter(|c| had_passed(c)).count()),
        first_s: courses
            .iter()
            .map(|c| c.passes(now_s).filter(|_| !had_passed(c)))
            .collect(),
        passes_s: courses.iter().map(|c| c.passes(now_s)).collect(),
        certainty: Certainty {
            sampling,
            doubtful: last,
            samples: courses.iter().map(|c| from_now(c, now_s)).collect(),
            failed,
            station,
            over_time: certainty::over_time(&courses, station),
        },
        left_out_K,
    }
}

/// What a course comes to from a time on, s.
fn from_now(course: &FeedCourse, now_s: f64) -> Sample {
    let hottest = course.hottest(now_s, f64::INFINITY);
    Sample {
        hottest_K: hottest.map(|h| h.max_K),
        margin_K: hottest
            .iter()
            .map(|h| h.margin_K())
            .fold(f64::INFINITY, f64::min),
        cannot_run: !course.shortfalls.is_empty(),
    }
}

/// Draws runs from what is known of their values.
struct Drawer<'a> {
    known: &'a Posterior,
    /// The lower triangle whose product with itself is the covariance.
    factor: DMatrix<f64>,
    /// Every value in doubt, and its place among those that the log told of.
    values: Vec<(crate::run::Doubtful, Option<usize>)>,
}

impl<'a> Drawer<'a> {
    fn new(inputs: &Inputs, known: &'a Posterior) -> Self {
        let mut values = Vec::new();
        for doubtful in inputs.doubtful() {
            let key = doubtful.input.key();
            let mut of_log = known.values.iter();
            let place = of_log.position(|placed| placed.doubtful.input.key() == key);
            values.push((doubtful, place));
        }
        let count = known.mean.len();
        // A covariance that rounding has left without a factor: by themselves.
        let factor = known.covariance.clone().cholesky().map_or_else(
            || {
                let each = (0..count).map(|k| known.covariance[(k, k)].max(0.0).sqrt());
                DMatrix::from_diagonal(&DVector::from_iterator(count, each))
            },
            |found| found.l(),
        );
        Self {
            known,
            factor,
            values,
        }
    }

    /// The run with values drawn by these standard normal numbers.
    fn run(&self, inputs: &Inputs, normal: impl Fn(u32) -> f64) -> Result<Run, String> {
        let number = |k: usize| normal(u32::try_from(k).unwrap_or(u32::MAX));
        let count = self.known.mean.len();
        let own = DVector::from_iterator(count, (0..count).map(number));
        let told = &self.known.mean + &self.factor * own;
        let mut inputs = inputs.clone();
        let mut next = count;
        for (doubtful, of_log) in &self.values {
            let value = match of_log {
                Some(k) => doubtful.distribution.at(told[*k]),
                None => {
                    next += 1;
                    doubtful.distribution.at(number(next - 1))
                }
            };
            inputs
                .set(&doubtful.input, value)
                .map_err(|e| e.to_string())?;
        }
        inputs.fit_inside();
        inputs.to_run().map_err(|problems| {
            let first = problems.as_slice().first();
            first.map_or_else(|| problems.to_string(), |p| p.message.clone())
        })
    }
}
