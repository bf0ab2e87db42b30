//! Many runs at once: the outcomes of all, or their filament's course at every station.
//!
//! Runs are independent of each other, and what comes of one does not depend on how many cores there are.

use rayon::prelude::*;

use super::check::{Outcome, outcome_of, outcome_with};
use super::heaters::{Lacks, Shortfall, may_lack};
use super::hottest::{Hottest, Largest, Search, fine};
use crate::chamber::enclosure::Enclosures;
use crate::chamber::simulation::SimulationError;
use crate::chamber::{Chamber, IntegratorKind, Simulation, StationKind};
use crate::integrate::trajectory::Cubic;
use crate::integrate::{Options, Piece, Trajectory};
use crate::network::{Asked, simulate_abreast};
use crate::run::Run;

/// So many runs fill the lanes.
const LANES: usize = 8;
/// More than this keep every core busy twice over,
const MANY: usize = 64;
/// and so many of them stand in memory at the same time, for each core: a lane that is done early gets another.
const MOST_TOGETHER: usize = 16;

/// What [`outcome`](super::check::outcome) gives for each run, in their order, within 0.002 K.
///
/// # Errors
/// Of each run by itself: see [`SimulationError`].
#[must_use]
pub fn outcomes(runs: &[Run], options: &Options) -> Vec<Result<Outcome, SimulationError>> {
    readings(runs, options, |_, outcome| outcome)
}

/// What is read from the course of each run and its outcome, in their order. Ledgers are not kept.
///
/// # Errors
/// Of each run by itself: see [`SimulationError`].
pub fn readings<T: Send>(
    runs: &[Run],
    options: &Options,
    read: impl Fn(&Simulation, Outcome) -> T + Sync,
) -> Vec<Result<T, SimulationError>> {
    in_parts(runs, options, |runs, common| {
        let runs: Vec<&Run> = runs.iter().collect();
        let courses = courses(&runs, None, common, true, &|chamber, piece| {
            (Largest::of(chamber, piece), may_lack(chamber, piece))
        });
        let outcomes = outcomes_in(&runs, &courses, &common.options);
        let each = courses.into_iter().zip(outcomes);
        each.map(|(course, outcome)| Ok(read(&course?.0, outcome?)))
            .collect()
    })
}

/// What is read from the course of each run up to a time, s, in their order; nothing is decided, and nothing run once
/// more. Ledgers are not kept.
///
/// # Errors
/// Of each run by itself: see [`SimulationError`].
pub fn up_to<T: Send>(
    runs: &[Run],
    until_s: f64,
    options: &Options,
    read: impl Fn(&Simulation) -> T + Sync,
) -> Vec<Result<T, SimulationError>> {
    in_parts(runs, options, |runs, common| {
        let runs: Vec<&Run> = runs.iter().collect();
        let courses = courses(&runs, Some(until_s), common, true, &|_, _| ());
        courses
            .into_iter()
            .map(|course| Ok(read(&course?.0)))
            .collect()
    })
}

/// The course of each run's filament, in their order. Nothing is run once more: the course is as good throughout
/// as the options ask for.
///
/// # Errors
/// Of each run by itself: see [`SimulationError`].
#[must_use]
pub fn feed_courses(runs: &[Run], options: &Options) -> Vec<Result<FeedCourse, SimulationError>> {
    in_parts(runs, options, |runs, common| {
        let runs: Vec<&Run> = runs.iter().collect();
        feed_courses_of(&runs, common)
    })
}

fn feed_courses_of(runs: &[&Run], common: &Common<'_>) -> Each<FeedCourse> {
    // Only what is read of a course is kept, unless heaters are to be looked at too.
    let read = |chamber: &Chamber, piece: &Piece| {
        (FeedPiece::of(chamber, piece), may_lack(chamber, piece))
    };
    let mut found: Vec<Option<Result<FeedCourse, SimulationError>>> = Vec::new();
    let mut lacking = Vec::new();
    for (k, course) in courses(runs, None, common, false, &read)
        .into_iter()
        .enumerate()
    {
        let course = course.map(|(_, pieces)| {
            if pieces.iter().any(|(_, may_lack)| *may_lack) {
                lacking.push(k);
                return None;
            }
            let pieces = pieces.into_iter().map(|(piece, _)| piece);
            Some(FeedCourse::of(runs[k], pieces.collect(), Vec::new()))
        });
        found.push(course.transpose());
    }
    let again: Vec<&Run> = lacking.iter().map(|k| runs[*k]).collect();
    let again_read = courses(&again, None, common, true, &FeedPiece::of);
    for ((k, run), course) in lacking.into_iter().zip(again).zip(again_read) {
        found[k] =
            Some(course.map(|(simulation, pieces)| {
                FeedCourse::of(run, pieces, Lacks::of(&simulation).short)
            }));
    }
    found.into_iter().flatten().collect()
}

/// What is read from the course of each run and of its filament, in their order. Nothing is run once more: the course is
/// as good throughout as the options ask for. Ledgers are not kept, and what heaters lack is not looked for.
///
/// # Errors
/// Of each run by itself: see [`SimulationError`].
pub fn courses_read<T: Send>(
    runs: &[Run],
    options: &Options,
    read: impl Fn(&Simulation, &FeedCourse) -> T + Sync,
) -> Vec<Result<T, SimulationError>> {
    in_parts(runs, options, |runs, common| {
        let runs: Vec<&Run> = runs.iter().collect();
        let each = courses(&runs, None, common, true, &FeedPiece::of).into_iter();
        each.zip(runs)
            .map(|(course, run)| {
                let (simulation, pieces) = course?;
                let course = FeedCourse::of(run, pieces, Vec::new());
                Ok(read(&simulation, &course))
            })
            .collect()
    })
}

type Each<T> = Vec<Result<T, SimulationError>>;

/// What all runs of a question have in common.
struct Common<'a> {
    options: Options,
    enclosures: &'a Enclosures,
}

/// Finds what is asked for, a part of the runs at a time on every core. Ledgers are not kept.
///
/// Slopes are worked out for all lanes of a part when one needs them, so that what one run comes to differs by some
/// ten-thousandths of a kelvin with those beside it. Which these are depends on the runs alone, not on the cores.
fn in_parts<T: Send>(
    runs: &[Run],
    options: &Options,
    find: impl Fn(&[Run], &Common<'_>) -> Each<T> + Sync,
) -> Each<T> {
    let enclosures = Enclosures::default();
    let common = Common {
        options: Options {
            ledgers: false,
            ..*options
        },
        enclosures: &enclosures,
    };
    let most = if runs.len() > MANY {
        MOST_TOGETHER
    } else {
        LANES
    };
    let parts = runs.len().div_ceil(most);
    (0..parts)
        .into_par_iter()
        .flat_map_iter(|k| {
            let part = k * runs.len() / parts..(k + 1) * runs.len() / parts;
            find(&runs[part], &common)
        })
        .collect()
}

/// A run's course, and what was read from each of its pieces.
type Read<T> = (Simulation, Vec<T>);

/// The courses of runs, in their order: side by side where that is possible. What is to be read from each piece is
/// read when it is made: later it would have to be fetched from memory.
///
/// Where courses are not kept they may have no pieces. Where they are wanted up to a time only, s, they may be longer.
fn courses<T>(
    runs: &[&Run],
    until_s: Option<f64>,
    common: &Common<'_>,
    keeps: bool,
    read: &impl Fn(&Chamber, &Piece) -> T,
) -> Each<Read<T>> {
    // One that can't be built by itself has a course by itself, or an error, all the same.
    let options = &common.options;
    let chambers: Vec<Option<Chamber>> = runs
        .iter()
        .map(|r| Chamber::with(r, common.enclosures).ok())
        .collect();
    let built: Vec<&Chamber> = chambers.iter().flatten().collect();
    let asked: Vec<Asked<'_>> = built
        .iter()
        .map(|c| Asked {
            network: &c.network,
            schedule: &c.schedule,
            from: None,
            end_s: until_s.map_or(c.run().duration_s, |s| s.min(c.run().duration_s)),
            options: *options,
            keeps,
        })
        .collect();
    let mut found: Vec<Vec<T>> = built.iter().map(|_| Vec::new()).collect();
    let courses = simulate_abreast(&asked, &mut |k, piece| {
        found[k].push(read(built[k], piece));
    });
    let mut courses = courses.into_iter().zip(found);
    let each = runs.iter().zip(chambers).map(|(run, chamber)| {
        let course = chamber.and_then(|chamber| {
            let (trajectory, found) = courses.next()?;
            Some((chamber, trajectory?, found))
        });
        match course {
            Some((chamber, trajectory, found)) => {
                let simulation = Simulation {
                    chamber,
                    trajectory,
                };
                Ok((simulation, found))
            }
            None => {
                let s = Simulation::of(run, IntegratorKind::Rosenbrock, options)?;
                let pieces = s.trajectory.pieces.iter();
                let found = pieces.map(|piece| read(&s.chamber, piece)).collect();
                Ok((s, found))
            }
        }
    });
    each.collect()
}

/// The outcomes of courses, in their order: what decides is run once more, side by side where that is possible.
fn outcomes_in(
    runs: &[&Run],
    courses: &Each<Read<(Largest, bool)>>,
    options: &Options,
) -> Each<Outcome> {
    let fine = fine(options);
    let mut found: Vec<Option<Result<Outcome, SimulationError>>> = Vec::new();
    let mut searches: Vec<(usize, &Simulation, Search)> = Vec::new();
    for (k, course) in courses.iter().enumerate() {
        found.push(course.as_ref().err().map(|e| Err(e.clone())));
        if let Ok((s, largest)) = course {
            let each = largest.iter().map(|(largest, _)| *largest);
            let search = Search::among(runs[k], s, each.collect(), options);
            searches.push((k, s, search));
        }
    }
    while !searches.is_empty() {
        let windows = searches.iter().flat_map(|(_, s, search)| {
            let each = search.asked();
            each.map(|w| (&s.chamber, w.of(s)))
        });
        let asked: Vec<Asked<'_>> = windows
            .map(|(chamber, (from, end_s))| Asked {
                network: &chamber.network,
                schedule: &chamber.schedule,
                from: Some(from),
                end_s,
                options: fine,
                keeps: true,
            })
            .collect();
        let mut again = simulate_abreast(&asked, &mut |_, _| ()).into_iter();
        let mut left = Vec::new();
        for (k, s, mut search) in searches {
            let known = search.asked().map(|w| match again.next().flatten() {
                Some(course) => Ok(course),
                None => {
                    let (from, end_s) = w.of(s);
                    s.once_more(from, end_s, &fine)
                }
            });
            // All of them, also after one that fails: what follows are the next run's.
            let known: Vec<Result<Trajectory, _>> = known.collect();
            match known.into_iter().collect() {
                Err(e) => found[k] = Some(Err(e)),
                Ok(known) => match search.with(runs[k], s, known) {
                    Some(hottest) => {
                        let pieces = courses[k].iter().flat_map(|(_, each)| each);
                        let may_lack = pieces.into_iter().any(|(_, may_lack)| *may_lack);
                        found[k] = Some(Ok(if may_lack {
                            outcome_with(runs[k], s, &hottest)
                        } else {
                            outcome_of(runs[k].requirements.margin_K, &hottest, Vec::new())
                        }));
                    }
                    None => left.push((k, s, search)),
                },
            }
        }
        searches = left;
    }
    found.into_iter().flatten().collect()
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
    fn of(chamber: &Chamber, piece: &Piece) -> Self {
        Self {
            begin_s: piece.begin_s,
            length_s: piece.length_s,
            stretch: piece.stretch,
            stations: StationKind::ALL.map(|s| chamber.filament_over(piece, s)),
        }
    }

    /// End, s.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.begin_s + self.length_s
    }
}

impl FeedCourse {
    fn of(run: &Run, pieces: Vec<FeedPiece>, shortfalls: Vec<Shortfall>) -> Self {
        Self {
            pieces,
            limits_K: StationKind::ALL.map(|s| s.limit_K(run)),
            shortfalls,
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

    /// The same course, warmer by a constant, K.
    #[must_use]
    pub fn raised(mut self, by_K: f64) -> Self {
        for cubic in self.pieces.iter_mut().flat_map(|p| &mut p.stations) {
            cubic.c[0] += by_K;
        }
        self
    }

    /// When the filament first passes its limit at any station from a time on, s; none where it stays below.
    #[must_use]
    pub fn passes(&self, from_s: f64) -> Option<f64> {
        let first = self.pieces.partition_point(|p| p.end_s() <= from_s);
        self.pieces[first..].iter().find_map(|piece| {
            let from = ((from_s - piece.begin_s) / piece.length_s).clamp(0.0, 1.0);
            let each = piece.stations.iter().zip(self.limits_K);
            let above = each.flat_map(|(cubic, limit_K)| cubic.intervals_above(limit_K));
            let begins = above.filter(|(_, end)| *end >= from);
            let first = begins.map(|(begin, _)| begin.max(from));
            first
                .min_by(f64::total_cmp)
                .map(|x| piece.begin_s + x * piece.length_s)
        })
    }

    /// The filament at one of [`StationKind::ALL`] at these times, s, K.
    #[must_use]
    pub fn at(&self, station: usize, times_s: &[f64]) -> Vec<f64> {
        let each = times_s.iter().filter_map(|t_s| {
            let after = self.pieces.partition_point(|p| p.end_s() < *t_s);
            let piece = self.pieces.get(after).or(self.pieces.last())?;
            let x = (t_s - piece.begin_s) / piece.length_s;
            Some(piece.stations[station].at(x.clamp(0.0, 1.0)))
        });
        each.collect()
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
        // 4 K - (t/100 - 0.6)^2 10 K: above 3 K from 60 s - 31.6 s on, in the first piece still at its end.
        let mut lower = course.clone();
        lower.limits_K = [3.0; 4];
        let top_s = 100.0 * 0.1_f64.sqrt();
        for (from_s, want) in [
            (0.0, Some(60.0 - top_s)),
            (50.0, Some(50.0)),
            (60.0 + top_s + 0.1, None),
        ] {
            let is = lower.passes(from_s);
            let is_near = |want: f64| is.is_some_and(|is| (is - want).abs() < 1e-6);
            assert!(want.map_or(is.is_none(), is_near), "{from_s}: {is:?}");
        }
        assert_eq!(course.passes(0.0), None);
        assert!(course.clone().raised(1.5).passes(0.0).is_some());
        let outcome = course.outcome(2.0);
        assert_eq!(outcome.station, StationKind::DriveGear);
        assert!((outcome.margin_K - 1.0).abs() < 1e-12);
        assert_eq!(outcome.verdict, super::super::Verdict::Tight);
    }
}
