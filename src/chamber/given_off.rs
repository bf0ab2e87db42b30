//! What a machine gives off into its room over a run, as others in the room see it.

use super::built::Chamber;
use super::simulation::Simulation;
use crate::course::{Course, Points};
use crate::integrate::Piece;
use std::sync::Arc;

/// How far a straight line may be from what it stands for, W a machine.
const STRAIGHT_W: f64 = 0.05;
/// Moments closer than this are one, s; what jumps rises over it.
const APART_S: f64 = 1.0;

/// Heat given off over time, W: straight lines between points, nothing before the first.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct GivenOff {
    /// Whole seconds on a clock that all machines of the room share, rising.
    times_s: Vec<f64>,
    values_W: Vec<f64>,
}

impl GivenOff {
    /// What `count` machines give off that each do a run begun at a moment, s, from the course of one. `alone` is its
    /// chamber in a room that gains heat from nothing else.
    pub fn of(simulation: &Simulation, alone: &Chamber, count: f64, begins_s: f64) -> Self {
        let reading = simulation.reading();
        let room = simulation.chamber.points.room;
        let heat_W = |piece: &Piece, x| count * reading.gain_W(&alone.schedule, piece, x, room);
        let within_W = STRAIGHT_W * count;
        let mut heat = Self::default();
        // The machines stand there cold before.
        heat.add(begins_s - APART_S, 0.0, within_W);
        let mut before = None;
        for piece in &simulation.trajectory.pieces {
            let first = match before {
                // Only another phase or arrangement makes it jump.
                Some((stretch, last)) if stretch == piece.stretch => last,
                _ => heat_W(piece, 0.0),
            };
            let [middle, last] = [0.5, 1.0].map(|x| heat_W(piece, x));
            let from_s = begins_s + piece.begin_s;
            heat.add(from_s, first, within_W);
            if (middle - 0.5 * (first + last)).abs() > within_W {
                heat.add(from_s + 0.5 * piece.length_s, middle, within_W);
            }
            heat.add(from_s + piece.length_s, last, within_W);
            before = Some((piece.stretch, last));
        }
        heat.thinned(within_W)
    }

    /// One more point. What comes within the same second as the last one is later by a second, where it is another
    /// value.
    fn add(&mut self, t_s: f64, heat_W: f64, within_W: f64) {
        let mut t_s = t_s.round();
        if let (Some(last_s), Some(last_W)) = (self.times_s.last(), self.values_W.last())
            && t_s < last_s + APART_S
        {
            if (heat_W - last_W).abs() <= within_W {
                return;
            }
            t_s = last_s + APART_S;
        }
        self.times_s.push(t_s);
        self.values_W.push(heat_W);
    }

    /// The same with fewer points: every one left out is within so much of the line between those that stay. Each point
    /// is a stop for whoever has this in its room.
    fn thinned(self, within_W: f64) -> Self {
        let points: Vec<(f64, f64)> = self.times_s.into_iter().zip(self.values_W).collect();
        let Some((first, rest)) = points.split_first() else {
            return Self::default();
        };
        let mut kept = vec![*first];
        // Slopes of lines from the last point kept that pass all since within so much.
        let free = (f64::NEG_INFINITY, f64::INFINITY);
        let (mut from, mut before, mut slopes) = (*first, *first, free);
        for point in rest {
            let slope =
                |from: (f64, f64), by_W: f64| (point.1 + by_W - from.1) / (point.0 - from.0);
            if !(slopes.0..=slopes.1).contains(&slope(from, 0.0)) {
                kept.push(before);
                (from, slopes) = (before, free);
            }
            slopes.0 = slopes.0.max(slope(from, -within_W));
            slopes.1 = slopes.1.min(slope(from, within_W));
            before = *point;
        }
        if before.0 > from.0 {
            kept.push(before);
        }
        let (times_s, values_W) = kept.into_iter().unzip();
        Self { times_s, values_W }
    }

    /// At a time, W; after the last point what it was there.
    fn at(&self, t_s: f64) -> f64 {
        let k = self.times_s.partition_point(|t| *t <= t_s);
        let (Some(before), Some(after)) = (k.checked_sub(1), self.times_s.get(k)) else {
            return if k == 0 { 0.0 } else { self.values_W[k - 1] };
        };
        let (from_s, value_W) = (self.times_s[before], self.values_W[before]);
        value_W + (t_s - from_s) / (after - from_s) * (self.values_W[k] - value_W)
    }

    /// What several give off together, W, on the clock of a run that begins at a moment, s, and lasts so long.
    pub fn together(all: &[&Self], begins_s: f64, lasts_s: f64) -> Course {
        let (from_s, to_s) = (begins_s - APART_S, begins_s + lasts_s + APART_S);
        let within = |t_s: &f64| from_s < *t_s && *t_s < to_s;
        let times = all.iter().flat_map(|heat| &heat.times_s).copied();
        let mut times_s: Vec<f64> = times.filter(within).chain([from_s, to_s]).collect();
        times_s.sort_by(f64::total_cmp);
        times_s.dedup_by(|b, a| *b - *a < 0.5 * APART_S);
        let sum_W = |t_s: &f64| all.iter().map(|heat| heat.at(*t_s)).sum::<f64>();
        let values = times_s.iter().map(sum_W).collect();
        let times_s = times_s.into_iter().map(|t_s| t_s - begins_s).collect();
        // Times that rise and finite values make a course.
        Points::new(times_s, values).map_or(Course::Constant(f64::NAN), |points| {
            Course::series(Arc::new(points))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A line, a jump, a plateau and a parabola: no point left out is farther off than allowed, what bends nowhere
    /// has lost all between its ends, and the ends stay.
    #[test]
    fn what_is_left_out_lies_near_the_lines() {
        let value_W = |k: u32| match k {
            0..100 => 2.0 * f64::from(k),
            100..200 => 50.0,
            _ => 50.0 + 1e-3 * f64::from(k - 200).powi(2),
        };
        let all = GivenOff {
            times_s: (0..400).map(f64::from).collect(),
            values_W: (0..400).map(value_W).collect(),
        };
        let few = all.clone().thinned(0.05);
        for k in 0..400 {
            let apart_W = few.at(f64::from(k)) - value_W(k);
            assert!(apart_W.abs() < 0.05 + 1e-9, "{k}: {apart_W} W");
        }
        let ends = [few.times_s.first(), few.times_s.last()];
        assert_eq!(ends, [Some(&0.0), Some(&399.0)]);
        assert!(
            few.times_s.iter().all(|t| *t == 0.0 || *t > 97.0),
            "a line is its ends"
        );
        // A parabola of slope 2e-3 a step squared strays by 2.5e-4 n2 from a line over n steps: n = 14 or more.
        assert!(few.times_s.len() < 25, "{}", few.times_s.len());
    }

    #[test]
    fn heats_add_up_on_anybodys_clock() {
        let heat = |times_s: [f64; 3]| GivenOff {
            times_s: times_s.to_vec(),
            values_W: vec![0.0, 10.0, 30.0],
        };
        let (a, b) = (heat([-1.0, 0.0, 100.0]), heat([49.0, 50.0, 150.0]));
        let sum_W = GivenOff::together(&[&a, &b], 20.0, 200.0);
        for (t_s, want_W) in [
            (0.0, 14.0),
            (29.0, 19.8),
            (30.0, 30.0),
            (80.0, 50.0),
            (130.0, 60.0),
            (200.0, 60.0),
        ] {
            assert!(
                (sum_W.at(t_s).0 - want_W).abs() < 1e-9,
                "{t_s} s: {}",
                sum_W.at(t_s).0
            );
        }
        // Nobody there, nothing given off.
        assert_eq!(GivenOff::together(&[&b], -100.0, 50.0).at(20.0).0, 0.0);
    }
}
