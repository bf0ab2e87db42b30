//! When filament is above its limit, or nearer to it than required.

use crate::chamber::{Simulation, StationKind};
use crate::integrate::Piece;
use crate::run::Run;

/// The stretches of a run in which the filament at any station is above its limit less so much, K: begins and ends, s
/// from the start, in order and apart from each other.
#[must_use]
pub fn intervals_above(run: &Run, simulation: &Simulation, less_K: f64) -> Vec<(f64, f64)> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    each_above(run, simulation, less_K, |piece, from, to| {
        let at_s = |x: f64| piece.begin_s + x * piece.length_s;
        match found.last_mut() {
            // Pieces meet to rounding.
            Some((_, end_s)) if at_s(from) - *end_s < 1e-3 => *end_s = at_s(to),
            _ => found.push((at_s(from), at_s(to))),
        }
    });
    found
}

/// How long that is altogether, h, and when it first is, h.
pub(super) fn hours_above(run: &Run, simulation: &Simulation, less_K: f64) -> (f64, Option<f64>) {
    let (mut seconds, mut first) = (0.0, None);
    each_above(run, simulation, less_K, |piece, from, to| {
        first = first.or(Some((piece.begin_s + from * piece.length_s) / 3600.0));
        seconds += (to - from) * piece.length_s;
    });
    (seconds / 3600.0, first)
}

/// Tells of each piece the parts of it, from 0 to 1, in order.
fn each_above(
    run: &Run,
    simulation: &Simulation,
    less_K: f64,
    mut tell: impl FnMut(&Piece, f64, f64),
) {
    for piece in &simulation.trajectory.pieces {
        let mut intervals: Vec<(f64, f64)> = StationKind::ALL
            .iter()
            .flat_map(|s| {
                let level_K = s.limit_K(run) - less_K;
                simulation.filament_over(piece, *s).intervals_above(level_K)
            })
            .collect();
        intervals.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut reached = 0.0;
        for (from, to) in intervals {
            let from = f64::max(from, reached);
            if to > from {
                tell(piece, from, to);
                reached = to;
            }
        }
    }
}
