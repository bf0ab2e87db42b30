//! What if something fails: the run once more with it, and how long it takes until the limit is reached.
//!
//! Each failure asked about is a run of its own, and all of them together one more. Neither stands for the other: a
//! power cut while the fan is off spares heat that the fan would have had to carry away, and a fan that fails the day
//! after the air conditioner finds everything warmer.

use rayon::prelude::*;

use super::hottest::Hottest;
use super::verdict::Verdict;
use crate::chamber::simulation::SimulationError;
use crate::chamber::{IntegratorKind, Simulation, StationKind};
use crate::integrate::{Options, Piece};
use crate::run::{Failure, Run};

/// How long it takes from a failure to the limit of a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TimeLeft {
    /// The limit is not reached.
    Enough,
    /// The filament was above the limit when it failed, though everything had worked.
    None,
    /// So long, s.
    Until(f64),
}

/// What comes of a failure, from its begin to the end of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct FailureFindings {
    /// The failure; several where they are looked at together, in the order in which they begin.
    pub failures: Vec<Failure>,
    /// From the first one's begin to the limit.
    pub time_left: TimeLeft,
    /// The station whose limit is passed first; where none is, the one that comes closest.
    pub station: StationKind,
    /// The moment closest to the limit, or farthest above it.
    pub hottest: Hottest,
    /// By that.
    pub verdict: Verdict,
    /// How much warmer the filament gets there than with everything working, at most, K.
    pub warmer_K: f64,
    /// From its begin to the limit with everything working, s; none: it is not passed from then on.
    pub working_s: Option<f64>,
    /// Filament there over time, from its begin on: s from the start, K.
    pub course: Vec<(f64, f64)>,
}

impl FailureFindings {
    /// When the first of them begins, s from the start.
    #[must_use]
    pub fn begin_s(&self) -> f64 {
        self.failures[0].begin_s
    }
}

/// Looks at the failures that are asked about in a run, beside its course with everything working and the verdict
/// on that.
///
/// # Errors
/// See [`SimulationError`].
pub fn failures(
    run: &Run,
    working: &Simulation,
    verdict: Verdict,
    integrator: IntegratorKind,
    options: &Options,
) -> Result<Vec<FailureFindings>, SimulationError> {
    let options = Options {
        ledgers: false,
        ..*options
    };
    let mut asked: Vec<Vec<Failure>> = run.failures.iter().map(|one| vec![*one]).collect();
    if run.failures.len() > 1 {
        let mut all = run.failures.clone();
        all.sort_by(|a, b| a.begin_s.total_cmp(&b.begin_s));
        asked.push(all);
    }
    let look = |failures: Vec<Failure>| {
        let failing = Simulation::of(&run.failing(&failures), integrator, &options)?;
        Ok(findings(run, working, verdict, &failing, failures))
    };
    asked.into_par_iter().map(look).collect()
}

fn findings(
    run: &Run,
    working: &Simulation,
    verdict: Verdict,
    failing: &Simulation,
    failures: Vec<Failure>,
) -> FailureFindings {
    let begin_s = failures[0].begin_s;
    let hottest = hottest_from(run, working, failing, begin_s);
    let first = first_above(run, failing, begin_s);
    let was_above = StationKind::ALL
        .iter()
        .any(|s| working.filament_K(*s, begin_s) > s.limit_K(run));
    let time_left = match first {
        _ if was_above => TimeLeft::None,
        Some((at_s, _)) => TimeLeft::Until(at_s - begin_s),
        None => TimeLeft::Enough,
    };
    FailureFindings {
        failures,
        time_left,
        station: first.map_or(hottest.station, |(_, station)| station),
        hottest,
        verdict: match verdict {
            Verdict::CannotRun => Verdict::CannotRun,
            Verdict::Holds | Verdict::Tight | Verdict::Softens => {
                Verdict::of(hottest.margin_K(), run.requirements.margin_K)
            }
        },
        warmer_K: warmer_K(working, failing, hottest.station, begin_s),
        course: course(failing, hottest.station, begin_s),
        working_s: first_above(run, working, begin_s).map(|(at_s, _)| at_s - begin_s),
    }
}

/// The pieces of a course that end after a moment.
fn pieces_after(course: &Simulation, from_s: f64) -> impl Iterator<Item = &Piece> {
    // A stretch may begin a rounding error later than what begins it.
    let after = move |piece: &&Piece| piece.end_s() > from_s + 1e-3;
    course.trajectory.pieces.iter().filter(after)
}

/// The moment closest to the limit from a failure on. Filament that stops warms to what is around it, or cools to it:
/// it counts at its warmest, so the moment before counts too.
fn hottest_from(run: &Run, working: &Simulation, failing: &Simulation, begin_s: f64) -> Hottest {
    let at_station = |station: StationKind| {
        let mut found = Hottest {
            station,
            limit_K: station.limit_K(run),
            max_K: working.filament_K(station, begin_s),
            max_at_s: begin_s,
        };
        for piece in pieces_after(failing, begin_s) {
            let (largest_K, x) = failing.filament_over(piece, station).largest();
            if largest_K > found.max_K {
                found.max_K = largest_K;
                found.max_at_s = piece.begin_s + x * piece.length_s;
            }
        }
        found
    };
    let all = StationKind::ALL.map(at_station);
    let [first, rest @ ..] = all;
    rest.into_iter().fold(
        first,
        |a, b| {
            if b.margin_K() < a.margin_K() { b } else { a }
        },
    )
}

/// When a limit is first passed from a moment on, s from the start, and where.
fn first_above(run: &Run, course: &Simulation, from_s: f64) -> Option<(f64, StationKind)> {
    let in_piece = |piece: &Piece| {
        let at_station = |station: StationKind| {
            let above = course.filament_over(piece, station);
            let time_s = |x: f64| piece.begin_s + x * piece.length_s;
            let mut above = above.intervals_above(station.limit_K(run)).into_iter();
            above
                .find(|(_, to)| time_s(*to) > from_s)
                .map(|(from, _)| (time_s(from).max(from_s), station))
        };
        let each = StationKind::ALL.into_iter().filter_map(at_station);
        each.min_by(|a, b| a.0.total_cmp(&b.0))
    };
    pieces_after(course, from_s).find_map(in_piece)
}

/// The filament of a station over time: s, K.
fn course(failing: &Simulation, station: StationKind, from_s: f64) -> Vec<(f64, f64)> {
    const PLACES: [f64; 3] = [0.0, 0.5, 1.0];
    let mut points: Vec<(f64, f64)> = Vec::new();
    for piece in pieces_after(failing, from_s) {
        let filament = failing.filament_over(piece, station);
        points.extend(PLACES.map(|x| (piece.begin_s + x * piece.length_s, filament.at(x))));
    }
    points
}

/// How much warmer the filament of a station gets than with everything working, at most, K.
fn warmer_K(working: &Simulation, failing: &Simulation, station: StationKind, from_s: f64) -> f64 {
    const PLACES: [f64; 2] = [0.5, 1.0];
    let mut most_K = 0.0;
    for piece in pieces_after(failing, from_s) {
        let course = failing.filament_over(piece, station);
        for x in PLACES {
            let at_s = piece.begin_s + x * piece.length_s;
            let more_K = course.at(x) - working.filament_K(station, at_s);
            most_K = f64::max(most_K, more_K);
        }
    }
    most_K
}

#[cfg(test)]
mod tests;
