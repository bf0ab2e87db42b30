//! Which of the values in doubt make a run's margin doubtful, and what is worth measuring.
//!
//! First each value by itself goes up and down; the ones that move the margin most are looked at one by one, the rest as
//! one. Then the shares of Sobol' ([`indices`]). What it would bring to know a value, or to read a thermometer, is
//! computed from whole runs: with that value as described, or by what the samples' readings tell of their margins.

pub mod indices;

use rayon::prelude::*;

use super::band::{Sampling, TAIL, between_in_order};
use super::certainty::{drawn, margin_of, options, points};
use super::many::courses_read;
use crate::chamber::Simulation;
use crate::keys::schema::Spread;
use crate::run::{Doubtful, Inputs, Run};
use indices::{Index, indices};

/// So many values are looked at one by one: with the rest and two sets of samples, sixteen sets.
const SINGLES: u32 = 13;
/// So many sets of runs there are at most: values by themselves, two sets of samples, one for each value looked at and for
/// the rest, and those as if they were known.
pub const MOST_SETS: usize = 3 + SINGLES as usize + 1 + KNOWN;
/// How far each value goes by itself, standard deviations.
const AWAY: f64 = 1.5;
/// So many of the largest are run once more as if they were known.
const KNOWN: usize = 3;
/// How well a thermometer held against something is read, K: one standard deviation (common practice, no source).
pub const READING_K: f64 = 1.0;
/// When thermometers are read, h from the start: after an evening's work; half-way through a shorter run.
const READ_AT_H: f64 = 8.0;

/// What makes a margin doubtful.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// How samples were drawn.
    pub sampling: Sampling,
    /// How many runs it took.
    pub runs: usize,
    /// Samples left out because a run in them came to no result.
    pub left_out: usize,
    /// How many values are in doubt.
    pub doubtful: usize,
    /// Nine runs of ten have margins within this much of each other's middle, K.
    pub half_width_K: f64,
    /// The values that matter most, the largest total share first.
    pub shares: Vec<Share>,
    /// What all others come to together, and how many they are.
    pub others: Option<(usize, Index)>,
    /// Each of the first values as if it were known exactly: the half width then, K.
    pub known: Vec<Known>,
    /// What a thermometer would bring, the narrowest band first.
    pub readings: Vec<Reading>,
    /// When thermometers are read, s from the start.
    pub read_at_s: f64,
}

/// The share of one value.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Its key.
    pub key: String,
    /// How much of the margin's variance is its.
    pub index: Index,
}

/// A value as if it were known.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Its key.
    pub key: String,
    /// Keys whose doubt is counted in it: what one would measure.
    pub stands_for: Vec<String>,
    /// Nine runs of ten then lie within this much of their middle, K.
    pub half_width_K: f64,
}

/// A thermometer, as read once.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What it is held against.
    pub sensor: Sensor,
    /// Nine runs of ten then lie within this much of their middle, K.
    pub half_width_K: f64,
}

/// Where a thermometer can be held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sensor {
    /// The feeder's motor.
    FeederMotor,
    /// The drive gear.
    DriveGear,
    /// The cold end.
    ColdEnd,
    /// The motion motors.
    MotionMotors,
    /// The air under the lid.
    TopAir,
    /// The air over the floor.
    BottomAir,
}

impl Sensor {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::FeederMotor,
        Self::DriveGear,
        Self::ColdEnd,
        Self::MotionMotors,
        Self::TopAir,
        Self::BottomAir,
    ];

    /// As the tables of `check` call it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::FeederMotor => "feeder motor",
            Self::DriveGear => "drive gear",
            Self::ColdEnd => "cold end",
            Self::MotionMotors => "motion motors",
            Self::TopAir => "air top",
            Self::BottomAir => "air bottom",
        }
    }

    fn read_K(self, s: &Simulation, at_s: f64) -> f64 {
        let points = &s.chamber.points;
        let point = match self {
            Self::FeederMotor => Some(points.feeder),
            Self::DriveGear => Some(points.gear),
            Self::ColdEnd => Some(points.cold_end),
            Self::MotionMotors => Some(points.motion),
            Self::TopAir => points.air.last().copied(),
            Self::BottomAir => points.air.first().copied(),
        };
        point.map_or(f64::NAN, |point| s.temperature_K(point, at_s))
    }
}

/// What one run comes to: its margin, K, and what thermometers show, K.
type Seen = (f64, [f64; Sensor::ALL.len()]);

/// Runs in which values in doubt lie where someone says.
struct Runs<'a> {
    inputs: &'a Inputs,
    doubtful: &'a [Doubtful],
    read_at_s: f64,
}

impl Runs<'_> {
    /// What runs come to whose values lie so many standard deviations from their middles, in their order; none where
    /// one comes to nothing.
    fn seen(&self, each: &[Vec<f64>]) -> Vec<Option<Seen>> {
        let made: Vec<Option<Run>> = each
            .par_iter()
            .map(|z| drawn(self.inputs, self.doubtful, |d| z[d as usize]).ok())
            .collect();
        let runs: Vec<Run> = made.iter().flatten().cloned().collect();
        let mut found = courses_read(&runs, &options(), |simulation, course| {
            let read = Sensor::ALL.map(|sensor| sensor.read_K(simulation, self.read_at_s));
            (margin_of(course), read)
        })
        .into_iter();
        made.iter()
            .map(|run| run.as_ref().and_then(|_| found.next()?.ok()))
            .collect()
    }
}

/// What makes the margin of the run doubtful that these inputs describe. `told` is called after each set of runs: see
/// [`MOST_SETS`].
#[must_use]
pub fn sensitivity(inputs: &Inputs, sampling: Sampling, told: &dyn Fn()) -> Sensitivity {
    let doubtful = inputs.doubtful();
    let duration_s = inputs.to_run().map_or(0.0, |run| run.duration_s);
    let read_at_s = (READ_AT_H * 3600.0).min(0.5 * duration_s);
    let runs = Runs {
        inputs,
        doubtful: &doubtful,
        read_at_s,
    };
    let (singles, rest) = screened(&runs);
    let groups: Vec<Vec<usize>> = singles
        .iter()
        .map(|k| vec![*k])
        .chain((!rest.is_empty()).then(|| rest.clone()))
        .collect();
    told();
    let dimensions = u32::try_from(doubtful.len()).unwrap_or(u32::MAX);
    let set = |first: u32| -> Vec<Vec<f64>> {
        let point = |k| {
            let each = first..first + dimensions;
            each.map(|d| points::normal(k, d, sampling.seed)).collect()
        };
        (0..sampling.samples).map(point).collect()
    };
    let (a, b) = (set(0), set(dimensions));
    let seen_a = runs.seen(&a);
    told();
    let seen_b = runs.seen(&b);
    told();
    let mixed: Vec<Vec<Option<Seen>>> = groups
        .iter()
        .map(|group| {
            let points: Vec<Vec<f64>> = a.iter().zip(&b).map(|(a, b)| with(a, b, group)).collect();
            let seen = runs.seen(&points);
            told();
            seen
        })
        .collect();
    // Only samples all of whose runs came to something.
    let whole: Vec<usize> = (0..a.len())
        .filter(|k| seen_a[*k].is_some() && seen_b[*k].is_some())
        .filter(|k| mixed.iter().all(|set| set[*k].is_some()))
        .collect();
    let margins = |set: &[Option<Seen>]| -> Vec<f64> {
        let each = whole.iter().filter_map(|k| set[*k]);
        each.map(|(margin_K, _)| margin_K).collect()
    };
    let mixed: Vec<Vec<f64>> = mixed.iter().map(|set| margins(set)).collect();
    let (of_a, of_b) = (margins(&seen_a), margins(&seen_b));
    let mut found = indices(&of_a, &of_b, &mixed, sampling.seed);
    let others = (!rest.is_empty())
        .then(|| found.pop().map(|index| (rest.len(), index)))
        .flatten();
    let key = |k: usize| doubtful[k].input.key().to_owned();
    let mut shares: Vec<(usize, Index)> = singles.into_iter().zip(found).collect();
    shares.sort_by(|a, b| b.1.total.total_cmp(&a.1.total));
    let half_width_K = half_width(of_a.iter().chain(&of_b).copied().collect());
    let known = shares.iter().take(KNOWN).map(|(k, _)| {
        let middle = vec![0.0; doubtful.len()];
        let points: Vec<Vec<f64>> = a.iter().map(|a| with(a, &middle, &[*k])).collect();
        let seen = runs.seen(&points);
        told();
        Known {
            key: key(*k),
            stands_for: stands_for(inputs, doubtful[*k].input.key()),
            half_width_K: half_width(seen.iter().flatten().map(|s| s.0).collect()),
        }
    });
    let known: Vec<Known> = known.collect();
    let seen: Vec<Seen> = seen_a.iter().chain(&seen_b).flatten().copied().collect();
    let mut readings: Vec<Reading> = Sensor::ALL
        .into_iter()
        .enumerate()
        .map(|(at, sensor)| Reading {
            sensor,
            half_width_K: half_width_K * left_by(&seen, at),
        })
        .collect();
    readings.sort_by(|a, b| a.half_width_K.total_cmp(&b.half_width_K));
    Sensitivity {
        sampling,
        runs: 1 + 2 * doubtful.len() + (2 + groups.len()) * a.len() + known.len() * a.len(),
        left_out: a.len() - whole.len(),
        doubtful: doubtful.len(),
        half_width_K,
        shares: shares
            .iter()
            .map(|(k, index)| Share {
                key: key(*k),
                index: *index,
            })
            .collect(),
        others,
        known,
        readings,
        read_at_s,
    }
}

/// The values that move the margin most when each goes up and down by itself, and the rest; both in the order of the
/// keys.
fn screened(runs: &Runs<'_>) -> (Vec<usize>, Vec<usize>) {
    let all = runs.doubtful.len();
    let away = |k: usize, by: f64| {
        let mut z = vec![0.0; all];
        z[k] = by;
        z
    };
    let each: Vec<Vec<f64>> = (0..all)
        .flat_map(|k| [away(k, AWAY), away(k, -AWAY)])
        .chain([vec![0.0; all]])
        .collect();
    let seen = runs.seen(&each);
    let middle_K = seen.last().copied().flatten().map_or(0.0, |s| s.0);
    let effect_K = |k: usize| {
        let moved = seen[2 * k..2 * k + 2].iter();
        // One that ends without a result matters.
        moved
            .map(|s| s.map_or(f64::INFINITY, |s| (s.0 - middle_K).abs()))
            .fold(0.0, f64::max)
    };
    let mut order: Vec<usize> = (0..all).collect();
    order.sort_by(|a, b| effect_K(*b).total_cmp(&effect_K(*a)));
    let mut rest = order.split_off(order.len().min(SINGLES as usize));
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

/// The share of the margin's width that a thermometer leaves: what a straight line through the samples' readings does
/// not tell of their margins, the reading's own error counted.
fn left_by(seen: &[Seen], sensor: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "some thousands")]
    let n = seen.len().max(1) as f64;
    let mean = |of: &dyn Fn(&Seen) -> f64| seen.iter().map(of).sum::<f64>() / n;
    let (margin, read) = (mean(&|s| s.0), mean(&|s| s.1[sensor]));
    let variance = mean(&|s| (s.0 - margin).powi(2));
    let of_reading = mean(&|s| (s.1[sensor] - read).powi(2)) + READING_K * READING_K;
    let both = mean(&|s| (s.0 - margin) * (s.1[sensor] - read));
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
