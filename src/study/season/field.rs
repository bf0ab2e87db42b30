//! Filament temperatures of runs that start every so often, and what lies between them.
//!
//! All times are seconds after the season's first start. At one moment runs of different starts differ by
//! the size of their parts; between two or three of them the temperature of another start is read along a
//! scale on which a young part's growth counts more than an old one's.

use crate::chamber::StationKind;
use crate::study::many::FeedCourse;

/// Number of stations.
pub(super) const STATIONS: usize = StationKind::ALL.len();
/// Time between the samples that are kept of a course, s. A day's peak lies on a parabola through three of
/// them to a tenth of a millikelvin.
pub(super) const SAMPLE_S: f64 = 600.0;
/// Samples in an hour.
pub(super) const PER_HOUR: usize = 6;

/// Temperatures, K, at even times from the start of a run.
pub(super) type Samples = Vec<[f64; STATIONS]>;

/// A course at even times, to the last that lies in the run.
pub(super) fn samples(course: &FeedCourse) -> Samples {
    let mut pieces = course.pieces.iter().peekable();
    let end_s = course.pieces.last().map_or(0.0, |p| p.end_s());
    let count = (end_s / SAMPLE_S + 1e-6) as usize + 1;
    let mut found = Vec::with_capacity(count);
    let mut piece = pieces.next();
    for k in 0..count {
        let t_s = k as f64 * SAMPLE_S;
        while piece.is_some_and(|p| p.end_s() < t_s - 1e-6) && pieces.peek().is_some() {
            piece = pieces.next();
        }
        if let Some(p) = piece {
            let x = ((t_s - p.begin_s) / p.length_s).clamp(0.0, 1.0);
            found.push(std::array::from_fn(|s| p.stations[s].at(x)));
        }
    }
    found
}

/// What lies between samples: on the parabola through the three around a place, of which `last` is the last there is.
pub(super) fn parabola(place: f64, last: usize, at: impl Fn(usize) -> f64) -> f64 {
    let middle = place.round();
    if (place - middle).abs() < 1e-6 {
        return at(middle as usize);
    }
    let middle = (middle as usize).max(1).min(last.saturating_sub(1));
    let x = place - middle as f64;
    let [a, b, c] = [middle - 1, middle, middle + 1].map(at);
    b + x * (0.5 * (c - a) + x * (0.5 * (a + c) - b))
}

/// How the temperature of a start is read between others.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Scheme {
    /// Runs count from this age on, s: their own beginning is forgotten then.
    pub forgotten_s: f64,
    /// Between how many of them is read: 2 or 3.
    pub nodes: usize,
    /// The scale of ages is the logarithm of age and this, s: small where a young part's growth counts most.
    bend_s: f64,
    /// The scale at ages of whole samples, which are asked for most.
    known: Vec<f64>,
}

impl Scheme {
    pub fn new(forgotten_s: f64, nodes: usize, bend_s: f64, oldest_s: f64) -> Self {
        let count = (oldest_s / SAMPLE_S) as usize + 1;
        Self {
            forgotten_s,
            nodes,
            bend_s,
            known: (0..count)
                .map(|k| (k as f64 * SAMPLE_S + bend_s).ln())
                .collect(),
        }
    }

    fn scale(&self, age_s: f64) -> f64 {
        let samples = age_s.max(0.0) / SAMPLE_S;
        match self.known.get(samples as usize) {
            Some(known) if samples.fract() == 0.0 => *known,
            _ => (age_s.max(0.0) + self.bend_s).ln(),
        }
    }
}

/// Runs that start every so often, from the season's first start on.
#[derive(Debug, Default)]
pub(super) struct Field {
    /// Time between their starts, s: a whole number of samples.
    pub every_s: f64,
    /// Age at which the long stretch of the job ends, s: what comes later is not shared.
    pub to_s: f64,
    /// One a start.
    pub runs: Vec<Samples>,
    /// Temperature outside at each of the starts, K.
    pub outside_K: Vec<f64>,
}

/// The runs between which a temperature is read, and their weights.
#[derive(Debug, Clone, Copy)]
pub(super) struct Weights {
    first: usize,
    nodes: usize,
    weights: [f64; 3],
}

impl Field {
    /// Between which runs, and how, the temperature at a moment of the run that starts at `start_s` is read; none
    /// where there are too few.
    pub fn weights(&self, scheme: &Scheme, start_s: f64, t_s: f64) -> Option<Weights> {
        let nodes = scheme.nodes;
        let until = ((t_s - scheme.forgotten_s) / self.every_s + 1e-9).floor();
        let from = ((t_s - self.to_s) / self.every_s - 1e-9).ceil().max(0.0) as usize;
        if until < 0.0 {
            return None;
        }
        let until = (until as usize).min(self.runs.len().checked_sub(1)?);
        if until + 1 < from + nodes {
            return None;
        }
        let place = start_s / self.every_s;
        // The two around the start, or the nearest three, as far as they count.
        let wanted = match nodes {
            2 => place.floor(),
            _ => place.round() - 1.0,
        };
        let first = (wanted.max(0.0) as usize).clamp(from, until + 1 - nodes);
        // The nearest runs that count may be some way off, but no farther than what they have to forget asks for.
        let farthest = scheme.forgotten_s / self.every_s + (nodes + 1) as f64;
        if (first as f64 - place).abs() > farthest {
            return None;
        }
        let mut at = [0.0; 3];
        for (k, at) in at.iter_mut().enumerate().take(nodes) {
            *at = scheme.scale(t_s - (first + k) as f64 * self.every_s);
        }
        let own = scheme.scale(t_s - start_s);
        let mut weights = [0.0; 3];
        for k in 0..nodes {
            let mut weight = 1.0;
            for other in 0..nodes {
                if other != k {
                    weight *= (own - at[other]) / (at[k] - at[other]);
                }
            }
            weights[k] = weight;
        }
        Some(Weights {
            first,
            nodes,
            weights,
        })
    }

    /// A temperature at a moment, K: `of` gives it for a run at an age of so many samples. Between samples it lies on a
    /// parabola through the three around the moment.
    pub fn at_moment(&self, w: &Weights, t_s: f64, of: impl Fn(usize, usize) -> f64) -> f64 {
        let step = (self.every_s / SAMPLE_S).round() as usize;
        parabola(t_s / SAMPLE_S, self.last_sample(w), |sample| {
            (0..w.nodes)
                .map(|k| {
                    let run = w.first + k;
                    // What lies beyond the last sample of a run by rounding is its last.
                    let place = (sample - run * step).min(self.runs[run].len() - 1);
                    w.weights[k] * of(run, place)
                })
                .sum()
        })
    }

    /// The last sample that all of these runs have.
    fn last_sample(&self, w: &Weights) -> usize {
        let step = (self.every_s / SAMPLE_S).round() as usize;
        w.first * step + self.runs[w.first].len() - 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A made-up machine whose temperature is the weather's and a term of the part's size: between its runs it is
    /// read as it was made.
    #[test]
    fn between_runs_a_temperature_is_read_along_its_scale() {
        let bend_s = 15.0 * 3600.0;
        let made = |t_s: f64, start_s: f64| {
            let age_s = t_s - start_s;
            300.0 + (t_s / 9000.0).sin() + 0.3 * (age_s + bend_s).ln()
        };
        let (every_s, to_s) = (16.0 * 3600.0, 100.0 * 3600.0);
        let runs = (0..12).map(|run| {
            let start_s = f64::from(run) * every_s;
            (0..=600)
                .map(|k| [made(start_s + f64::from(k) * SAMPLE_S, start_s); STATIONS])
                .collect()
        });
        let field = Field {
            every_s,
            to_s,
            runs: runs.collect(),
            outside_K: vec![],
        };
        for nodes in [2, 3] {
            let scheme = Scheme::new(6.0 * 3600.0, nodes, bend_s, to_s);
            for start_h in [48.0, 51.3, 60.0, 63.9] {
                for age_h in [0.0, 6.0, 20.0, 77.0, 100.0] {
                    let (start_s, t_s) = (start_h * 3600.0, (start_h + age_h) * 3600.0);
                    let w = field.weights(&scheme, start_s, t_s).unwrap();
                    let got = field.at_moment(&w, t_s, |run, place| field.runs[run][place][0]);
                    let want = made(t_s, start_s);
                    assert!(
                        (got - want).abs() < 2e-4,
                        "{nodes} nodes, {start_h} h, {age_h} h: {got} {want}"
                    );
                }
            }
            // Before there are runs that have forgotten their own start, nothing is read.
            assert!(field.weights(&scheme, 0.0, 0.0).is_none());
        }
    }
}
