//! How sure the result of a run is: the run many times over, with every value in doubt somewhere within its spread.
//!
//! Nobody knows leakage, mixing of air or a motor's heat exactly, and a forecast is one. Each such value has a
//! distribution ([`Inputs::doubtful`]); points that fill the space of all of them evenly ([`points`]) are as many runs,
//! and what they come to is the band. The best estimate is not among them: it is the run as described, and the verdict
//! is its own.

pub mod points;

use rayon::prelude::*;

use super::band::{Band, Certainty, Sample, Sampling, TAIL, between_in_order};
use super::many::{FeedCourse, feed_courses};
use crate::chamber::StationKind;
use crate::chamber::simulation::SimulationError;
use crate::integrate::Options;
use crate::run::{Doubtful, Inputs, Run};

/// Steps of samples are longer than those of a run that is looked at for itself: where this or a fifth of it is allowed,
/// the demo's percentiles are the same within 0.0003 K.
const TOLERANCE_K: f64 = 0.1;

/// Most moments of a band over time.
const MOMENTS: u32 = 240;

/// How sure the run is that these inputs describe; `station` is where its band over time is taken, the one nearest its
/// limit in the best estimate.
#[must_use]
pub fn certainty(inputs: &Inputs, station: StationKind, sampling: Sampling) -> Certainty {
    let doubtful = inputs.doubtful();
    let (mut courses, mut failed) = (Vec::new(), Vec::new());
    for course in courses_of(inputs, &doubtful, sampling) {
        match course {
            Ok(course) => courses.push(course),
            Err(why) => failed.push(why),
        }
    }
    Certainty {
        sampling,
        doubtful: doubtful.len(),
        samples: courses.iter().map(sample_of).collect(),
        failed,
        station,
        over_time: over_time(&courses, station),
    }
}

/// Of each sample the least margin to the softening limit, K, in their order; that of one without a result is endless on
/// the wrong side.
#[must_use]
pub fn margins_K(inputs: &Inputs, sampling: Sampling) -> Vec<f64> {
    margins_of(courses_of(inputs, &inputs.doubtful(), sampling))
}

/// The same of runs that were drawn already.
pub(super) fn margins_of_drawn_K(drawn: Vec<Result<Run, String>>) -> Vec<f64> {
    margins_of(in_their_order(drawn, |runs| feed_courses(runs, &options())))
}

fn margins_of(courses: Vec<Result<FeedCourse, String>>) -> Vec<f64> {
    let margin = |course: FeedCourse| sample_of(&course).margin_K;
    let each = courses.into_iter();
    each.map(|course| course.map_or(f64::NEG_INFINITY, margin))
        .collect()
}

/// What each sample's filament does, in their order, or why it does nothing.
fn courses_of(
    inputs: &Inputs,
    doubtful: &[Doubtful],
    sampling: Sampling,
) -> Vec<Result<FeedCourse, String>> {
    let drawn: Vec<Result<Run, String>> = (0..sampling.samples)
        .into_par_iter()
        .map(|k| {
            let at = |dimension| points::normal(k, dimension, sampling.seed);
            drawn(inputs, doubtful, at)
        })
        .collect();
    in_their_order(drawn, |runs| feed_courses(runs, &options()))
}

/// What those runs come to that could be drawn, all run together, and why nothing of the others; in their order.
pub(super) fn in_their_order<T>(
    drawn: Vec<Result<Run, String>>,
    come_to: impl FnOnce(&[Run]) -> Vec<Result<T, SimulationError>>,
) -> Vec<Result<T, String>> {
    let mut runs = Vec::new();
    let made: Vec<Result<(), String>> = drawn
        .into_iter()
        .map(|run| run.map(|run| runs.push(run)))
        .collect();
    let mut found = come_to(&runs).into_iter();
    let each = made.into_iter().map(|run| {
        run?;
        // One for each run.
        let found = found.next().ok_or_else(String::new)?;
        found.map_err(|why| why.to_string())
    });
    each.collect()
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
    run_of(&drawn_inputs(inputs, doubtful, deviations)?)
}

/// The inputs of that run.
pub(super) fn drawn_inputs(
    inputs: &Inputs,
    doubtful: &[Doubtful],
    deviations: impl Fn(u32) -> f64,
) -> Result<Inputs, String> {
    let mut inputs = inputs.clone();
    for (place, d) in doubtful.iter().enumerate() {
        let own = |place: usize| deviations(u32::try_from(place).unwrap_or(u32::MAX));
        let value = d.drawn(place, own);
        inputs.set(&d.input, value).map_err(|e| e.to_string())?;
    }
    inputs.fit_inside();
    Ok(inputs)
}

/// The run that inputs describe, or the first problem's text.
pub(super) fn run_of(inputs: &Inputs) -> Result<Run, String> {
    inputs.to_run().map_err(|problems| {
        let first = problems.as_slice().first();
        first.map_or_else(|| problems.to_string(), |p| p.message.clone())
    })
}

/// What a course comes to.
#[must_use]
pub fn sample_of(course: &FeedCourse) -> Sample {
    let hottest = course.hottest(f64::NEG_INFINITY, f64::INFINITY);
    let margins_K = hottest.iter().map(|h| h.limit_K - h.max_K);
    Sample {
        hottest_K: hottest.map(|h| h.max_K),
        margin_K: margins_K.fold(f64::INFINITY, f64::min),
        cannot_run: !course.shortfalls.is_empty(),
    }
}

/// The band of the filament at a station, at even moments.
pub(super) fn over_time(courses: &[FeedCourse], station: StationKind) -> Band {
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
