//! What a machine gives off into its room over a run, as others in the room see it.

use super::built::Chamber;
use super::simulation::Simulation;
use crate::course::{Course, Points};
use crate::integrate::Piece;
use std::sync::Arc;

/// A straight line between the ends of a step stands for the heat given off over it if the middle is no farther off, W.
const STRAIGHT_W: f64 = 0.1;
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
        let mut heat = Self::default();
        // The machines stand there cold before.
        heat.add(begins_s - APART_S, 0.0);
        for piece in &simulation.trajectory.pieces {
            let [first, middle, last] = [0.0, 0.5, 1.0].map(|x| heat_W(piece, x));
            let from_s = begins_s + piece.begin_s;
            // Where nothing jumps this is the end of the piece before.
            heat.add(from_s, first);
            if (middle - 0.5 * (first + last)).abs() > STRAIGHT_W {
                heat.add(from_s + 0.5 * piece.length_s, middle);
            }
            heat.add(from_s + piece.length_s, last);
        }
        heat
    }

    /// One more point. What comes within the same second as the last one is later by a second, where it is another
    /// value.
    fn add(&mut self, t_s: f64, heat_W: f64) {
        let mut t_s = t_s.round();
        if let (Some(last_s), Some(last_W)) = (self.times_s.last(), self.values_W.last())
            && t_s < last_s + APART_S
        {
            if (heat_W - last_W).abs() <= STRAIGHT_W {
                return;
            }
            t_s = last_s + APART_S;
        }
        self.times_s.push(t_s);
        self.values_W.push(heat_W);
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
