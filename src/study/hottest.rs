//! The hottest filament of a run, as exactly as `check` would find it.
//!
//! Studies of many runs take long steps. Those are exact enough at their ends, but right after a kink of the
//! weather, a door or a heater that switches, filament can be a tenth of a kelvin from what the cubic
//! between two ends says. So the hours around every moment that may be the hottest are run once more, at
//! the tolerance of `check`.

use crate::chamber::simulation::SimulationError;
use crate::chamber::{Simulation, StationKind};
use crate::integrate::{CHECK_TOLERANCE_K, Options, Piece, Trajectory};
use crate::run::Run;

/// How hot filament gets at a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hottest {
    /// Where.
    pub station: StationKind,
    /// The softening limit there, K.
    pub limit_K: f64,
    /// Filament that has stood there, K.
    pub max_K: f64,
    /// When, s from the start.
    pub max_at_s: f64,
}

impl Hottest {
    /// What is left to the limit, K.
    #[must_use]
    pub fn margin_K(&self) -> f64 {
        self.limit_K - self.max_K
    }

    /// Takes over what is hotter.
    fn look(&mut self, simulation: &Simulation, piece: &Piece) {
        let (largest_K, x) = simulation.filament_over(piece, self.station).largest();
        if largest_K > self.max_K {
            self.max_K = largest_K;
            self.max_at_s = piece.begin_s + x * piece.length_s;
        }
    }
}

/// Moments whose margin comes so close to the smallest, in tolerances of a step, may be the hottest.
const CLOSE: f64 = 4.0;
/// So long before such a moment the course is run anew, s: the errors that long steps have left in air,
/// motors and cold end are gone by then, those in bed and frame are far below a hundredth of a kelvin.
const LEAD_S: f64 = 5400.0;

/// The hottest filament at each station of a course that is there already.
#[must_use]
pub fn hottest(run: &Run, simulation: &Simulation) -> Vec<Hottest> {
    over(run, simulation, simulation.trajectory.pieces.iter())
}

fn over<'p>(
    run: &Run,
    simulation: &Simulation,
    pieces: impl Iterator<Item = &'p Piece>,
) -> Vec<Hottest> {
    let mut found = StationKind::ALL.map(|station| Hottest {
        station,
        limit_K: station.limit_K(run),
        max_K: f64::NEG_INFINITY,
        max_at_s: 0.0,
    });
    for piece in pieces {
        for f in &mut found {
            f.look(simulation, piece);
        }
    }
    found.to_vec()
}

/// The hottest filament at each station of a course that was run at a tolerance, K, for studies: what decides is
/// run once more.
///
/// # Errors
/// See [`SimulationError`].
pub fn hottest_exactly(
    run: &Run,
    simulation: &Simulation,
    options: &Options,
) -> Result<Vec<Hottest>, SimulationError> {
    if options.tolerance <= CHECK_TOLERANCE_K {
        return Ok(hottest(run, simulation));
    }
    let fine = Options {
        ledgers: false,
        tolerance: CHECK_TOLERANCE_K,
        ..*options
    };
    let pieces = &simulation.trajectory.pieces;
    let margins_K: Vec<f64> = pieces
        .iter()
        .map(|piece| margin_K(run, simulation, piece))
        .collect();
    let close_K = CLOSE * options.tolerance;
    let smallest_K = margins_K.iter().copied().fold(f64::INFINITY, f64::min);
    let mut below_K = smallest_K + close_K;
    let mut again: Vec<((usize, usize), Trajectory)> = Vec::new();
    loop {
        let mut now = Vec::new();
        for window in windows(pieces, &margins_K, below_K) {
            let known = again.iter().position(|(w, _)| *w == window);
            let course = match known {
                Some(k) => again.swap_remove(k).1,
                None => {
                    let end_s = pieces[window.1].end_s();
                    simulation.once_more(&pieces[window.0], end_s, &fine)?
                }
            };
            now.push((window, course));
        }
        again = now;
        // What lies outside the windows is cooler by more than it can be off.
        let is_outside = |k: usize| again.iter().all(|((a, b), _)| !(*a..=*b).contains(&k));
        let outside = (0..pieces.len()).filter(|k| is_outside(*k));
        let inside = again.iter().flat_map(|(_, t)| &t.pieces);
        let found = over(run, simulation, outside.map(|k| &pieces[k]).chain(inside));
        // Unless the windows turn out cooler than the long steps had them, by more than that: then the rest is no longer
        // cooler by so much. It is where air overturns, which long steps see late.
        let smallest_K = found.iter().map(Hottest::margin_K);
        let needed_K = smallest_K.fold(f64::INFINITY, f64::min) + close_K;
        let left_K = (0..pieces.len())
            .filter(|k| is_outside(*k))
            .map(|k| margins_K[k]);
        if needed_K <= below_K || left_K.fold(f64::INFINITY, f64::min) > needed_K {
            return Ok(found);
        }
        below_K = needed_K;
    }
}

/// The smallest margin of any station in a piece, K.
fn margin_K(run: &Run, simulation: &Simulation, piece: &Piece) -> f64 {
    let each = StationKind::ALL.iter();
    each.map(|s| s.limit_K(run) - simulation.filament_over(piece, *s).largest().0)
        .fold(f64::INFINITY, f64::min)
}

/// First and last pieces of the stretches of time that are to be run once more, in order and apart: around each
/// margin that is not above `below_K`.
fn windows(pieces: &[Piece], margins_K: &[f64], below_K: f64) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (k, margin_K) in margins_K.iter().enumerate() {
        if *margin_K > below_K {
            continue;
        }
        let from_s = pieces[k].begin_s - LEAD_S;
        let first = pieces.partition_point(|p| p.end_s() <= from_s).min(k);
        // The next one too: a peak near the end of one may lie in the other.
        let last = (k + 1).min(pieces.len() - 1);
        match found.last_mut() {
            Some((_, end)) if first <= *end + 1 => *end = last,
            _ => found.push((first, last)),
        }
    }
    found
}
