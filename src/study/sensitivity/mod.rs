//! Which of the values in doubt make a run's result doubtful, and what is worth measuring.
//!
//! Two results are looked at: how warm the filament gets where it decides, and the least margin at any station, in which
//! the doubt of every limit stands too. First each value by itself goes up and down; the ones that move either most are
//! looked at one by one, the rest as one. Then the shares of Sobol' ([`mod@indices`]). What it would bring to know a value, or
//! to read a thermometer, is computed from whole runs: with that value as described, or by what the samples' readings tell
//! of what they come to.

pub mod indices;

use rayon::prelude::*;

use super::band::{Sampling, TAIL, between_in_order};
use super::certainty::{drawn, in_their_order, options, points, sample_of};
use super::many::courses_read;
use super::thermometer::Thermometer;
use crate::chamber::StationKind;
use crate::keys::schema::Spread;
use crate::run::{Doubtful, Inputs, Run};
use indices::{Index, indices};

/// So many values are looked at one by one: with the rest and two sets of samples, sixteen sets.
const SINGLES: usize = 13;
/// So many sets of runs there are at most: values by themselves, two sets of samples, one for each value looked at and for
/// the rest, and those as if they were known.
pub const MOST_SETS: usize = 3 + SINGLES + 1 + 2 * KNOWN;
/// How far each value goes by itself, standard deviations.
const AWAY: f64 = 1.5;
/// So many of the largest, by the peak and by the margin, are run once more as if they were known.
const KNOWN: usize = 2;
/// How well a thermometer held against something is read, K: one standard deviation (common practice, no source).
pub const READING_K: f64 = 1.0;
/// When thermometers are read, h from the start: after an evening's work; half-way through a shorter run.
const READ_AT_H: f64 = 8.0;

/// How many results are looked at.
pub const RESULTS: usize = 2;

/// For the hottest filament at the station that decides, and for the least margin at any.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Both<T> {
    /// Of the hottest filament.
    pub peak: T,
    /// Of the least margin.
    pub margin: T,
}

impl<T> Both<T> {
    fn of([peak, margin]: [T; RESULTS]) -> Self {
        Self { peak, margin }
    }
}

/// What makes a result doubtful.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// How samples were drawn.
    pub sampling: Sampling,
    /// The station whose filament is looked at.
    pub station: StationKind,
    /// How many runs it took.
    pub runs: usize,
    /// Samples left out because a run in them came to no result.
    pub left_out: usize,
    /// How many values are in doubt.
    pub doubtful: usize,
    /// Half of what nine runs of ten lie between, K.
    pub half_width_K: Both<f64>,
    /// The values that matter most, the largest total share of the peak first.
    pub shares: Vec<Share>,
    /// What all others come to together, and how many they are.
    pub others: Option<(usize, Both<Index>)>,
    /// Values as if they were known exactly.
    pub known: Vec<Known>,
    /// What a thermometer would bring, the narrowest band of the peak first.
    pub readings: Vec<Reading>,
    /// When thermometers are read, s from the start.
    pub read_at_s: f64,
}

/// The share of one value.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Its key.
    pub key: String,
    /// How much of each variance is its.
    pub index: Both<Index>,
}

/// A value as if it were known.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Its key.
    pub key: String,
    /// Keys whose doubt is counted in it: what one would measure.
    pub stands_for: Vec<String>,
    /// Half of what nine runs of ten then lie between, K.
    pub half_width_K: Both<f64>,
}

/// A thermometer, as read once.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What it is held against.
    pub thermometer: Thermometer,
    /// Half of what nine runs of ten then lie between, K.
    pub half_width_K: Both<f64>,
}

/// What one run comes to.
#[derive(Debug, Clone, Copy)]
struct Seen {
    /// The hottest filament at the station that decides, and the least margin, K.
    comes_to: [f64; RESULTS],
    /// What each of [`Thermometer::ALL`] shows, K.
    shows: [f64; Thermometer::ALL.len()],
}

/// Runs in which values in doubt lie where someone says.
struct Runs<'a> {
    inputs: &'a Inputs,
    doubtful: &'a [Doubtful],
    station: StationKind,
    read_at_s: f64,
}

impl Runs<'_> {
    /// What runs come to whose values lie so many standard deviations from their middles, in their order; none where
    /// one comes to nothing.
    fn seen(&self, each: &[Vec<f64>]) -> Vec<Option<Seen>> {
        let made: Vec<Result<Run, String>> = each
            .par_iter()
            .map(|z| drawn(self.inputs, self.doubtful, |d| z[d as usize]))
            .collect();
        let found = in_their_order(made, |runs| {
            courses_read(runs, &options(), |simulation, course| {
                let sample = sample_of(course);
                let peak_K = sample.at(self.station);
                Seen {
                    comes_to: [peak_K, sample.margin_K],
                    shows: Thermometer::ALL.map(|t| {
                        let point = t.point(simulation);
                        point.map_or(f64::NAN, |p| simulation.temperature_K(p, self.read_at_s))
                    }),
                }
            })
        });
        found.into_iter().map(Result::ok).collect()
    }
}

/// What makes the result of the run doubtful that these inputs describe; `station` is the one that decides in the best
/// estimate. `told` is called after each set of runs: see [`MOST_SETS`].
#[must_use]
pub fn sensitivity(
    inputs: &Inputs,
    station: StationKind,
    sampling: Sampling,
    told: &dyn Fn(),
) -> Sensitivity {
    let doubtful = inputs.doubtful();
    let duration_s = inputs.to_run().map_or(0.0, |run| run.duration_s);
    let runs = Runs {
        inputs,
        doubtful: &doubtful,
        station,
        read_at_s: (READ_AT_H * 3600.0).min(0.5 * duration_s),
    };
    let seen = |points: &[Vec<f64>]| {
        let seen = runs.seen(points);
        told();
        seen
    };
    let (singles, rest) = screened(doubtful.len(), &seen);
    let mut groups: Vec<Vec<usize>> = singles.iter().map(|k| vec![*k]).collect();
    groups.extend((!rest.is_empty()).then(|| rest.clone()));
    let dimensions = u32::try_from(doubtful.len()).unwrap_or(u32::MAX);
    let set = |first: u32| -> Vec<Vec<f64>> {
        let point = |k| {
            let each = first..first + dimensions;
            each.map(|d| points::normal(k, d, sampling.seed)).collect()
        };
        (0..sampling.samples).map(point).collect()
    };
    let (a, b) = (set(0), set(dimensions));
    let (seen_a, seen_b) = (seen(&a), seen(&b));
    let exchanged = |from: &[Vec<f64>], group: &[usize]| -> Vec<Vec<f64>> {
        a.iter().zip(from).map(|(a, b)| with(a, b, group)).collect()
    };
    let mixed: Vec<Vec<Option<Seen>>> = groups
        .iter()
        .map(|group| seen(&exchanged(&b, group)))
        .collect();
    // Only samples all of whose runs came to something.
    let whole: Vec<usize> = (0..a.len())
        .filter(|k| seen_a[*k].is_some() && seen_b[*k].is_some())
        .filter(|k| mixed.iter().all(|set| set[*k].is_some()))
        .collect();
    let values = |set: &[Option<Seen>], result: usize| -> Vec<f64> {
        let each = whole.iter().filter_map(|k| set[*k]);
        each.map(|seen| seen.comes_to[result]).collect()
    };
    let of: [Vec<Index>; RESULTS] = std::array::from_fn(|result| {
        let mixed: Vec<Vec<f64>> = mixed.iter().map(|set| values(set, result)).collect();
        let (a, b) = (values(&seen_a, result), values(&seen_b, result));
        indices(&a, &b, &mixed, sampling.seed)
    });
    let both = |group: usize| Both::of([0, 1].map(|result: usize| of[result][group]));
    let half_widths_K = |seen: &[Seen]| {
        let each = |result: usize| half_width(seen.iter().map(|s| s.comes_to[result]).collect());
        [each(0), each(1)]
    };
    let drawn: Vec<Seen> = seen_a.iter().chain(&seen_b).flatten().copied().collect();
    // Of the same samples in which a value is then known: a difference is no accident of the draw.
    let of_a: Vec<Seen> = seen_a.iter().flatten().copied().collect();
    let half_width_K = half_widths_K(&of_a);
    let mut order: Vec<usize> = (0..singles.len()).collect();
    order.sort_by(|a, b| both(*b).peak.total.total_cmp(&both(*a).peak.total));
    let key = |single: usize| doubtful[singles[single]].input.key().to_owned();
    let middle = vec![vec![0.0; doubtful.len()]; a.len()];
    let known: Vec<Known> = worth_knowing(&order, |single| both(single).margin.total)
        .into_iter()
        .map(|single| {
            let seen: Vec<Seen> = seen(&exchanged(&middle, &groups[single]))
                .into_iter()
                .flatten()
                .collect();
            Known {
                key: key(single),
                stands_for: stands_for(inputs, &key(single)),
                half_width_K: Both::of(half_widths_K(&seen)),
            }
        })
        .collect();
    let mut readings: Vec<Reading> = Thermometer::ALL
        .into_iter()
        .enumerate()
        .map(|(at, thermometer)| Reading {
            thermometer,
            half_width_K: Both::of(
                [0, 1].map(|result| half_width_K[result] * left_by(&drawn, at, result)),
            ),
        })
        .collect();
    readings.sort_by(|a, b| a.half_width_K.peak.total_cmp(&b.half_width_K.peak));
    Sensitivity {
        sampling,
        station,
        runs: 1 + 2 * doubtful.len() + (2 + groups.len() + known.len()) * a.len(),
        left_out: a.len() - whole.len(),
        doubtful: doubtful.len(),
        half_width_K: Both::of(half_width_K),
        shares: order
            .iter()
            .map(|single| Share {
                key: key(*single),
                index: both(*single),
            })
            .collect(),
        others: (!rest.is_empty()).then(|| (rest.len(), both(singles.len()))),
        known,
        readings,
        read_at_s: runs.read_at_s,
    }
}

/// The first by the peak, and the first by the margin, each once.
fn worth_knowing(by_peak: &[usize], margin: impl Fn(usize) -> f64) -> Vec<usize> {
    let mut by_margin = by_peak.to_vec();
    by_margin.sort_by(|a, b| margin(*b).total_cmp(&margin(*a)));
    let mut found: Vec<usize> = by_peak.iter().take(KNOWN).copied().collect();
    for single in by_margin.into_iter().take(KNOWN) {
        if !found.contains(&single) {
            found.push(single);
        }
    }
    found
}

/// The values that move either result most, of so many, when each goes up and down by itself; and the rest; both in the
/// order of the keys.
fn screened(
    all: usize,
    seen: &impl Fn(&[Vec<f64>]) -> Vec<Option<Seen>>,
) -> (Vec<usize>, Vec<usize>) {
    let away = |k: usize, by: f64| {
        let mut z = vec![0.0; all];
        z[k] = by;
        z
    };
    let each: Vec<Vec<f64>> = (0..all)
        .flat_map(|k| [away(k, AWAY), away(k, -AWAY)])
        .chain([vec![0.0; all]])
        .collect();
    let found = seen(&each);
    let middle = found.last().copied().flatten();
    let moved_K = |k: usize, result: usize| {
        let ways = found[2 * k..2 * k + 2].iter();
        // One that ends without a result matters.
        let each = ways.map(|way| match (way, middle) {
            (Some(way), Some(middle)) => (way.comes_to[result] - middle.comes_to[result]).abs(),
            _ => f64::INFINITY,
        });
        each.fold(0.0, f64::max)
    };
    // Of what all of them move a result by, as variances add up.
    let all_K2 = [0, 1].map(|result| {
        let each = (0..all)
            .map(|k| moved_K(k, result))
            .filter(|m| m.is_finite());
        each.map(|m| m * m).sum::<f64>().max(f64::MIN_POSITIVE)
    });
    let share = |k: usize| {
        let of = |result: usize| moved_K(k, result).powi(2) / all_K2[result];
        of(0) + of(1)
    };
    let mut order: Vec<usize> = (0..all).collect();
    order.sort_by(|a, b| share(*b).total_cmp(&share(*a)));
    let mut rest = order.split_off(order.len().min(SINGLES));
    order.sort_unstable();
    rest.sort_unstable();
    (order, rest)
}

/// The values of the first, those of a group from the second.
fn with(a: &[f64], b: &[f64], group: &[usize]) -> Vec<f64> {
    let mut z = a.to_vec();
    for k in group {
        z[*k] = b[*k];
    }
    z
}

/// Half of what nine of ten lie between.
fn half_width(mut values: Vec<f64>) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    let at = |share| between_in_order(&values, share).unwrap_or(0.0);
    0.5 * (at(1.0 - TAIL) - at(TAIL))
}

/// The share of a result's width that a thermometer leaves: what a straight line through the samples' readings does
/// not tell of what they come to, the reading's own error counted.
fn left_by(seen: &[Seen], sensor: usize, result: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "some thousands")]
    let n = seen.len().max(1) as f64;
    let mean = |of: &dyn Fn(&Seen) -> f64| seen.iter().map(of).sum::<f64>() / n;
    let comes_to = |s: &Seen| s.comes_to[result];
    let shows = |s: &Seen| s.shows[sensor];
    let (value, read) = (mean(&comes_to), mean(&shows));
    let variance = mean(&|s| (comes_to(s) - value).powi(2));
    let of_reading = mean(&|s| (shows(s) - read).powi(2)) + READING_K * READING_K;
    let both = mean(&|s| (comes_to(s) - value) * (shows(s) - read));
    if variance > 0.0 {
        (1.0 - both * both / (variance * of_reading))
            .max(0.0)
            .sqrt()
    } else {
        1.0
    }
}

/// The keys whose doubt is counted in another: what there is to measure.
fn stands_for(inputs: &Inputs, key: &str) -> Vec<String> {
    let all = inputs.all();
    let is_counted = |spread| matches!(spread, Some(Spread::In(other)) if other == key);
    let each = all.iter().filter(|input| {
        is_counted(input.field().spread) && inputs.get(input).is_some_and(|si| si != 0.0)
    });
    each.map(|input| input.key().to_owned()).collect()
}
