//! What a start remembers of how it began.
//!
//! A run begins in a cold chamber; the shared runs are warm by then. What is left of that after some hours is much the
//! same in all runs, and the more, the warmer the others are than what the run begins in: at each age a line,
//! drawn through what was measured on runs that were made for comparison.

use super::field::{Field, SAMPLE_S, STATIONS, Scheme, Weights, parabola};
use super::witness::Witness;

/// Through fewer runs no line is drawn.
const FEWEST: usize = 8;
/// So often what shared runs remember themselves is taken off them and what others remember measured anew: less is
/// left each time.
const ROUNDS: usize = 3;

/// By how much a run is warmer than what is read of it where it remembers nothing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Line {
    /// Where the others are as warm as what it begins in, K.
    even_K: f64,
    /// And more for each kelvin that they are warmer, K/K.
    per_K: f64,
}

impl Line {
    /// The line through points: by how much the others are warmer at a start, and by how much its run is warmer
    /// than what is read of it, K.
    fn through(points: &[(f64, f64)]) -> Self {
        if points.len() < FEWEST {
            return Self::default();
        }
        let (middle, usual, square) = centre(points);
        let product: f64 = points.iter().map(|(x, y)| (x - middle) * (y - usual)).sum();
        let per_K = if square > 0.0 { product / square } else { 0.0 };
        Self {
            even_K: usual - per_K * middle,
            per_K,
        }
    }

    /// The largest distance of a point from the line through all the others, K, where this is the one through all.
    fn farthest_K(&self, points: &[(f64, f64)]) -> f64 {
        let largest = |each: &mut dyn Iterator<Item = f64>| each.fold(0.0, |a, b| b.abs().max(a));
        if points.len() < FEWEST {
            return largest(&mut points.iter().map(|(_, y)| *y));
        }
        let (middle, _, square) = centre(points);
        let of = |(x, y): &(f64, f64)| {
            let aside = if square > 0.0 {
                (x - middle).powi(2) / square
            } else {
                0.0
            };
            let pull = 1.0 / points.len() as f64 + aside;
            // One that holds the line by itself says nothing of how good the line is.
            (y - self.at(*x)) / (1.0 - pull).max(1e-3)
        };
        largest(&mut points.iter().map(of))
    }

    fn at(self, warmer_K: f64) -> f64 {
        self.even_K + self.per_K * warmer_K
    }
}

/// Means of both, and how far the first spread.
fn centre(points: &[(f64, f64)]) -> (f64, f64, f64) {
    let n = points.len() as f64;
    let middle = points.iter().map(|(x, _)| x).sum::<f64>() / n;
    let usual = points.iter().map(|(_, y)| y).sum::<f64>() / n;
    let square = points.iter().map(|(x, _)| (x - middle).powi(2)).sum();
    (middle, usual, square)
}

/// How starts are read.
#[derive(Debug)]
pub(super) struct Reading<'a> {
    field: &'a Field,
    scheme: Scheme,
    /// What runs remember at ages of whole samples: nothing beyond the last.
    lines: Vec<[Line; STATIONS]>,
    /// By how much the others are warmer at the start of each shared run than what it begins in, K.
    warmer_K: Vec<[f64; STATIONS]>,
}

impl<'a> Reading<'a> {
    /// Measures what runs remember to an age, s, on some that were made for comparison; none where one of them lies
    /// too near the season's begin or end.
    pub fn new(field: &'a Field, scheme: Scheme, witnesses: &[Witness], to_s: f64) -> Option<Self> {
        let mut reading = Self {
            field,
            scheme,
            lines: Vec::new(),
            warmer_K: Vec::new(),
        };
        let last = (to_s / SAMPLE_S) as usize;
        for _ in 0..ROUNDS {
            reading.warmer_K = reading.runs_warmer_K();
            let compared = reading.compared(witnesses)?;
            let lines = (0..=last).map(|sample| {
                let points = points(&compared, sample)?;
                Some(std::array::from_fn(|s| Line::through(&points[s])))
            });
            reading.lines = lines.collect::<Option<_>>()?;
        }
        Some(reading)
    }

    fn runs_warmer_K(&self) -> Vec<[f64; STATIONS]> {
        let starts = (0..self.field.runs.len()).map(|run| run as f64 * self.field.every_s);
        let known: Vec<Option<[f64; STATIONS]>> = starts
            .zip(&self.field.outside_K)
            .map(|(start_s, outside_K)| Some(self.own(start_s, *outside_K)?.warmer_K))
            .collect();
        // The first ones have none before them.
        let first = known.iter().flatten().next().copied().unwrap_or_default();
        known.into_iter().map(|k| k.unwrap_or(first)).collect()
    }

    /// Runs that were made for comparison, each with what is read of it; none where one of them lies too near the
    /// season's begin or end.
    pub fn compared<'w>(&self, witnesses: &'w [Witness]) -> Option<Vec<(&'w Witness, Own<'_>)>> {
        let each = witnesses.iter();
        each.map(|w| Some((w, self.own(w.start_s, w.outside_K)?)))
            .collect()
    }

    /// By how much what is read of compared runs differs from them at most, K, at an age of so many samples, at some
    /// stations: of each by what the others tell.
    pub fn differs_K(
        &self,
        compared: &[(&Witness, Own<'_>)],
        sample: usize,
        stations: &[usize],
    ) -> Option<f64> {
        let points = points(compared, sample)?;
        let of = |s: &usize| match self.lines.get(sample) {
            Some(lines) => lines[*s].farthest_K(&points[*s]),
            None => points[*s].iter().fold(0.0, |a, (_, y)| y.abs().max(a)),
        };
        Some(stations.iter().map(of).fold(0.0, f64::max))
    }

    /// What is read of the start at a time, s after the season's first, with this temperature outside; none
    /// where it lies too near the season's begin or end.
    pub fn own(&self, start_s: f64, outside_K: f64) -> Option<Own<'_>> {
        let mut own = Own {
            reading: self,
            start_s,
            warmer_K: [0.0; STATIONS],
        };
        let at = own.at(start_s)?;
        own.warmer_K = std::array::from_fn(|s| at.without_memory_K(s) - outside_K);
        Some(own)
    }

    /// What a run remembers at an age of so many samples, K.
    fn remembered_K(&self, sample: usize, station: usize, warmer_K: f64) -> f64 {
        let lines = self.lines.get(sample);
        lines.map_or(0.0, |lines| lines[station].at(warmer_K))
    }
}

/// Of each station, what a line goes through at an age of so many samples.
fn points(compared: &[(&Witness, Own<'_>)], sample: usize) -> Option<[Vec<(f64, f64)>; STATIONS]> {
    let mut points: [Vec<(f64, f64)>; STATIONS] = Default::default();
    for (witness, own) in compared {
        let at = own.at(witness.start_s + sample as f64 * SAMPLE_S)?;
        let is_K = witness.samples[sample.min(witness.samples.len() - 1)];
        for (s, points) in points.iter_mut().enumerate() {
            points.push((own.warmer_K[s], is_K[s] - at.without_memory_K(s)));
        }
    }
    Some(points)
}

/// What is read of one start.
#[derive(Debug)]
pub(super) struct Own<'a> {
    reading: &'a Reading<'a>,
    start_s: f64,
    /// By how much the others are warmer then than what it begins in, K.
    warmer_K: [f64; STATIONS],
}

/// And at one moment.
#[derive(Debug)]
pub(super) struct Moment<'a> {
    own: &'a Own<'a>,
    weights: Weights,
    t_s: f64,
}

impl Own<'_> {
    /// At a moment, s after the season's first start.
    pub fn at(&self, t_s: f64) -> Option<Moment<'_>> {
        let Reading { field, scheme, .. } = self.reading;
        Some(Moment {
            own: self,
            weights: field.weights(scheme, self.start_s, t_s)?,
            t_s,
        })
    }
}

impl Moment<'_> {
    /// The temperature at a station, K.
    pub fn station_K(&self, station: usize) -> f64 {
        let Own {
            reading,
            start_s,
            warmer_K,
        } = self.own;
        let age = (self.t_s - start_s).max(0.0) / SAMPLE_S;
        let remembered = |sample| reading.remembered_K(sample, station, warmer_K[station]);
        self.without_memory_K(station) + parabola(age, usize::MAX, remembered)
    }

    /// What it would be if the run remembered nothing.
    fn without_memory_K(&self, station: usize) -> f64 {
        let reading = self.own.reading;
        let forgotten = |run: usize, sample: usize| {
            let warmer_K = reading.warmer_K.get(run).map_or(0.0, |w| w[station]);
            reading.field.runs[run][sample][station]
                - reading.remembered_K(sample, station, warmer_K)
        };
        reading.field.at_moment(&self.weights, self.t_s, forgotten)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// On a line all agree, whoever of them tells of the others; one that is off is noticed by all that it is off, however
    /// far it has pulled the line to itself.
    #[test]
    fn what_is_remembered_lies_on_a_line() {
        let mut points: Vec<(f64, f64)> = (0..12)
            .map(|k| (20.0 + f64::from(k), 0.01 - 0.002 * (20.0 + f64::from(k))))
            .collect();
        let line = Line::through(&points);
        assert!((line.at(25.5) + 0.041).abs() < 1e-12);
        assert!(line.farthest_K(&points) < 1e-12);
        points[11].1 += 0.02;
        let line = Line::through(&points);
        let (x, y) = points[11];
        assert!((y - line.at(x)).abs() < 0.015);
        assert!((line.farthest_K(&points) - 0.02).abs() < 1e-12);
        // Too few say nothing of each other.
        let few = [(20.0, 0.0), (21.0, -0.3), (22.0, 0.1)];
        let line = Line::through(&few);
        assert_eq!((line, line.farthest_K(&few)), (Line::default(), 0.3));
    }
}
