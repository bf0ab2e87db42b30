//! From when on, and how, the shared runs of a machine tell what a run by itself would: measured on runs that
//! were made for comparison.

use rayon::prelude::*;

use super::field::{Field, PER_HOUR, SAMPLE_S, STATIONS, Scheme};
use super::remembered::Reading;
use super::witness::Witness;

/// Two courses agree within this, K.
const AGREE_K: f64 = 0.0045;
/// A start whose first hours come so close to deciding is run by itself, K: besides what was measured.
const GUARD_K: f64 = 0.1;
/// And this share of how differently the first hours of the compared runs came out.
const GUARD_SHARE: f64 = 0.25;
/// A station that never comes closer to deciding than this is left out, K.
const FAR_K: f64 = 1.5;

/// After so many hours the shared runs may have forgotten their own start: tried in this order.
const FORGOTTEN_H: [f64; 6] = [4.0, 6.0, 10.0, 16.0, 24.0, 36.0];
/// The last of them, s.
pub(super) const LONGEST_FORGOTTEN_S: f64 = 36.0 * 3600.0;
/// Between how many runs is read, and the bend of the scale on which ages are counted, as a share of the job.
const SCALES: [(usize, f64); 5] = [(2, 0.125), (3, 0.125), (3, 0.3), (3, 0.5), (3, 1.5)];
/// An agreement within so many times what the shared runs had to forget ends the search.
const SOON: f64 = 2.0;

/// What the comparison came to.
#[derive(Debug)]
pub(super) struct Measured<'a> {
    /// How temperatures are read.
    pub reading: Reading<'a>,
    /// From which age on they are, s.
    pub memory_s: f64,
    /// The stations that may decide.
    pub stations: Vec<usize>,
    /// The first hours, which are not read.
    pub before: Vec<Hour>,
    /// The hours after the long stretch, which are not read either.
    pub after: Vec<Hour>,
}

/// An hour of a job that is not read, and how warm it may get.
#[derive(Debug)]
pub(super) struct Hour {
    /// Ages at which it begins and ends, s.
    pub ages_s: (f64, f64),
    /// By how much a run may be warmer in it than the warmer of what would be read at its begin and its end, K.
    pub rises_K: [f64; STATIONS],
}

/// Compares the shared runs with others; none where they do not agree soon enough.
pub(super) fn measure<'a>(
    field: &'a Field,
    witnesses: &[Witness],
    limits_K: &[f64; STATIONS],
    from_s: f64,
    duration_s: f64,
) -> Option<Measured<'a>> {
    // Nothing is known of a machine that was not compared.
    if witnesses.is_empty() {
        return None;
    }
    let stations = deciding(field, limits_K);
    let longest_h = 0.5 * field.to_s / 3600.0;
    let mut best: Option<(usize, Reading<'a>)> = None;
    for hours in FORGOTTEN_H {
        let forgotten_s = from_s + 3600.0 * hours;
        let agree: Vec<(usize, Reading<'a>)> = SCALES
            .into_par_iter()
            .filter_map(|(nodes, bend)| {
                let scheme = Scheme::new(forgotten_s, nodes, bend * field.to_s, field.to_s);
                let reading = Reading::new(field, scheme, witnesses, 0.5 * field.to_s)?;
                let agrees_h = agrees_from_h(&reading, field, witnesses, &stations)?;
                (agrees_h as f64 <= longest_h).then_some((agrees_h, reading))
            })
            .collect();
        // Of several the first: with fewer runs, and those that count sooner.
        best = best
            .into_iter()
            .chain(agree)
            .min_by_key(|(hours, _)| *hours);
        // Those that count later can't tell of one that is younger by much.
        if best
            .as_ref()
            .is_some_and(|(h, _)| *h as f64 <= SOON * hours)
        {
            break;
        }
    }
    let (agrees_h, reading) = best?;
    let hours = |from_s: f64, to_s: f64| {
        let count = ((to_s - from_s) / 3600.0).ceil().max(0.0) as usize;
        (0..count)
            .map(|k| {
                let begin_s = from_s + 3600.0 * k as f64;
                let ages_s = (begin_s, to_s.min(begin_s + 3600.0));
                Hour::of(witnesses, &reading, ages_s)
            })
            .collect::<Option<Vec<Hour>>>()
    };
    let memory_s = 3600.0 * agrees_h as f64;
    let (before, after) = (hours(0.0, memory_s)?, hours(field.to_s, duration_s)?);
    Some(Measured {
        reading,
        memory_s,
        stations,
        before,
        after,
    })
}

/// The stations that come closest to their limits somewhere, or nearly.
fn deciding(field: &Field, limits_K: &[f64; STATIONS]) -> Vec<usize> {
    let mut nearest_K = [f64::INFINITY; STATIONS];
    for samples in &field.runs {
        for temperatures_K in samples {
            let margins_K: [f64; STATIONS] =
                std::array::from_fn(|k| limits_K[k] - temperatures_K[k]);
            let smallest_K = margins_K.iter().copied().fold(f64::INFINITY, f64::min);
            for (nearest_K, margin_K) in nearest_K.iter_mut().zip(margins_K) {
                *nearest_K = nearest_K.min(margin_K - smallest_K);
            }
        }
    }
    (0..STATIONS).filter(|k| nearest_K[*k] < FAR_K).collect()
}

/// The hour from which on all agree, if there is one before the end.
fn agrees_from_h(
    reading: &Reading<'_>,
    field: &Field,
    witnesses: &[Witness],
    stations: &[usize],
) -> Option<usize> {
    let last = (field.to_s / SAMPLE_S + 1e-6) as usize;
    let compared = reading.compared(witnesses)?;
    let mut from = 0;
    // From the end backwards to the first age at which one does not agree.
    for sample in (0..=last).rev().step_by(2) {
        if reading.differs_K(&compared, sample, stations)? > AGREE_K {
            from = sample + 1;
            break;
        }
    }
    let hours = from.div_ceil(PER_HOUR).max(1);
    (hours * PER_HOUR < last).then_some(hours)
}

impl Hour {
    /// How much warmer the compared runs are in it than what is read, and some more.
    fn of(witnesses: &[Witness], reading: &Reading<'_>, ages_s: (f64, f64)) -> Option<Self> {
        let mut largest = [f64::NEG_INFINITY; STATIONS];
        let mut smallest = [f64::INFINITY; STATIONS];
        for witness in witnesses {
            let own = reading.own(witness.start_s, witness.outside_K)?;
            let read = |age_s: f64| {
                let at = own.at(witness.start_s + age_s)?;
                Some(std::array::from_fn::<f64, STATIONS, _>(|s| at.station_K(s)))
            };
            let (at_begin, at_end) = (read(ages_s.0)?, read(ages_s.1)?);
            // With the samples just outside, so that none is between two hours.
            let first = (ages_s.0 / SAMPLE_S).floor() as usize;
            let last = ((ages_s.1 / SAMPLE_S).ceil() as usize).min(witness.samples.len() - 1);
            for s in 0..STATIONS {
                let warmest_K = witness.samples[first.min(last)..=last]
                    .iter()
                    .map(|t| t[s])
                    .fold(f64::NEG_INFINITY, f64::max);
                let rise_K = warmest_K - at_begin[s].max(at_end[s]);
                largest[s] = largest[s].max(rise_K);
                smallest[s] = smallest[s].min(rise_K);
            }
        }
        Some(Self {
            ages_s,
            rises_K: std::array::from_fn(|s| {
                largest[s] + GUARD_K + GUARD_SHARE * (largest[s] - smallest[s])
            }),
        })
    }
}
