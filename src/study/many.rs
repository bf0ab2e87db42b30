//! Many runs at once: the outcomes of all, or their filament's course at every station.
//!
//! Runs are independent of each other, and what comes of one does not depend on which others stand beside it.

use rayon::prelude::*;

use super::check::{Outcome, outcome, outcome_of};
use super::heaters::{Lacks, Shortfall};
use super::hottest::Hottest;
use crate::chamber::simulation::SimulationError;
use crate::chamber::{IntegratorKind, Simulation, StationKind};
use crate::integrate::Options;
use crate::integrate::trajectory::Cubic;
use crate::run::Run;

/// What [`outcome`] gives for each run, in their order.
///
/// # Errors
/// Of each run by itself: see [`SimulationError`].
#[must_use]
pub fn outcomes(runs: &[Run], options: &Options) -> Vec<Result<Outcome, SimulationError>> {
    runs.par_iter().map(|run| outcome(run, options)).collect()
}

/// The course of each run's filament, in their order. Nothing is run once more: the course is as good throughout
/// as the options ask for.
///
/// # Errors
/// Of each run by itself: see [`SimulationError`].
#[must_use]
pub fn feed_courses(runs: &[Run], options: &Options) -> Vec<Result<FeedCourse, SimulationError>> {
    let options = Options {
        ledgers: false,
        ..*options
    };
    runs.par_iter()
        .map(|run| {
            let simulation = Simulation::of(run, IntegratorKind::Rosenbrock, &options)?;
            Ok(FeedCourse::of(run, &simulation))
        })
        .collect()
}

/// Filament that has stood at each station, over a whole run.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedCourse {
    /// Pieces in order, without gaps.
    pub pieces: Vec<FeedPiece>,
    /// The softening limit at each of [`StationKind::ALL`], K.
    pub limits_K: [f64; StationKind::ALL.len()],
    /// The heaters too weak for the job.
    pub shortfalls: Vec<Shortfall>,
}

/// A piece of a [`FeedCourse`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedPiece {
    /// Begin, s.
    pub begin_s: f64,
    /// Length, s.
    pub length_s: f64,
    /// Number of the stretch, and of what a thermostat does: see [`crate::integrate::System::stretch`].
    pub stretch: usize,
    /// Temperature over the piece at each of [`StationKind::ALL`], K: see [`Simulation::filament_over`].
    pub stations: [Cubic; StationKind::ALL.len()],
}

impl FeedPiece {
    /// End, s.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.begin_s + self.length_s
    }
}

impl FeedCourse {
    /// Reads it from a course that is there already.
    #[must_use]
    pub fn of(run: &Run, simulation: &Simulation) -> Self {
        let pieces = simulation.trajectory.pieces.iter().map(|piece| FeedPiece {
            begin_s: piece.begin_s,
            length_s: piece.length_s,
            stretch: piece.stretch,
            stations: StationKind::ALL.map(|s| simulation.filament_over(piece, s)),
        });
        Self {
            pieces: pieces.collect(),
            limits_K: StationKind::ALL.map(|s| s.limit_K(run)),
            shortfalls: Lacks::of(simulation).short,
        }
    }

    /// The hottest filament at each of [`StationKind::ALL`] between two times, s, of which one at least lies in
    /// the run.
    #[must_use]
    pub fn hottest(&self, from_s: f64, to_s: f64) -> [Hottest; StationKind::ALL.len()] {
        let mut found = std::array::from_fn(|k| Hottest {
            station: StationKind::ALL[k],
            limit_K: self.limits_K[k],
            max_K: f64::NEG_INFINITY,
            max_at_s: from_s,
        });
        let first = self.pieces.partition_point(|p| p.end_s() <= from_s);
        for piece in &self.pieces[first.min(self.pieces.len().saturating_sub(1))..] {
            if piece.begin_s >= to_s && piece.begin_s > from_s {
                break;
            }
            let place = |t_s: f64| ((t_s - piece.begin_s) / piece.length_s).clamp(0.0, 1.0);
            let (from, to) = (place(from_s), place(to_s));
            for (f, cubic) in found.iter_mut().zip(&piece.stations) {
                let (largest_K, x) = cubic.largest_between(from, to);
                if largest_K > f.max_K {
                    f.max_K = largest_K;
                    f.max_at_s = piece.begin_s + x * piece.length_s;
                }
            }
        }
        found
    }

    /// The hottest moment of the whole run against its limits; what `outcome` gives where the course is as exact
    /// as that.
    #[must_use]
    pub fn outcome(&self, required_K: f64) -> Outcome {
        let hottest = self.hottest(f64::NEG_INFINITY, f64::INFINITY);
        outcome_of(required_K, &hottest, self.shortfalls.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn course() -> FeedCourse {
        // A parabola with its top of 4 K at 60 s over two pieces, on steady ground elsewhere.
        let flat = Cubic::default();
        let piece = |begin_s: f64, c: [f64; 4]| FeedPiece {
            begin_s,
            length_s: 100.0,
            stretch: 0,
            stations: [flat, flat, Cubic { c }, flat],
        };
        FeedCourse {
            pieces: vec![
                piece(0.0, [0.4, 12.0, -10.0, 0.0]),
                piece(100.0, [2.4, -2.0, 0.0, 0.0]),
            ],
            limits_K: [5.0; 4],
            shortfalls: vec![],
        }
    }

    #[test]
    fn the_hottest_moment_is_looked_for_between_two_times() {
        let course = course();
        let gear = |from_s, to_s| {
            let found = course.hottest(from_s, to_s)[2];
            (found.max_K, found.max_at_s)
        };
        for ((from_s, to_s), (max_K, at_s)) in [
            ((0.0, 200.0), (4.0, 60.0)),
            ((0.0, 20.0), (2.4, 20.0)),
            ((80.0, 200.0), (3.6, 80.0)),
            ((150.0, 200.0), (1.4, 150.0)),
            ((200.0, 300.0), (0.4, 200.0)),
        ] {
            let (found_K, found_s) = gear(from_s, to_s);
            assert!((found_K - max_K).abs() < 1e-12, "{from_s}: {found_K}");
            assert!((found_s - at_s).abs() < 1e-9, "{from_s}: {found_s}");
        }
        let outcome = course.outcome(2.0);
        assert_eq!(outcome.station, StationKind::DriveGear);
        assert!((outcome.margin_K - 1.0).abs() < 1e-12);
        assert_eq!(outcome.verdict, super::super::Verdict::Tight);
    }
}
