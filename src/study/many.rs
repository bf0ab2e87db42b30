//! Many runs at once: the outcomes of all, or their filament's course at every station.
//!
//! Runs are independent of each other, and what comes of one does not depend on how many cores there are.

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::check::{Outcome, outcome_of};
use super::heaters::{Lacks, Shortfall, may_lack};
use super::hottest::{Again, Hottest, Largest, Peaks, Search, fine};
use crate::chamber::enclosure::Enclosures;
use crate::chamber::simulation::SimulationError;
use crate::chamber::{Chamber, IntegratorKind, Simulation, StationKind};
use crate::integrate::trajectory::Cubic;
use crate::integrate::{Begins, Options, Piece};
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
    // What heaters lack is read from a whole course, which few need. Where one does, others of the question will.
    let keeps = AtomicBool::new(false);
    in_parts(runs, options, |runs, common| {
        let runs: Vec<&Run> = runs.iter().collect();
        let kept = keeps.load(Ordering::Relaxed);
        let (mut simulations, skims) = skimmed(&runs, common, kept);
        let lacking = simulations.iter().zip(&skims);
        let is_short = |(s, skim): (&Result<Simulation, _>, &Skim)| {
            skim.may_lack && s.as_ref().is_ok_and(|s| s.trajectory.pieces.is_empty())
        };
        if lacking.into_iter().any(is_short) {
            keeps.store(true, Ordering::Relaxed);
            // All of them: beside the same runs a run takes the same course to the last bit.
            simulations = whole(&runs, None, common);
        }
        outcomes_in(&runs, &simulations, skims, &common.options)
    })
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
        let (simulations, skims) = skimmed(&runs, common, true);
        let outcomes = outcomes_in(&runs, &simulations, skims, &common.options);
        let each = simulations.into_iter().zip(outcomes);
        each.map(|(simulation, outcome)| Ok(read(&simulation?, outcome?)))
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
        let courses = whole(&runs, Some(until_s), common).into_iter();
        courses.map(|course| Ok(read(&course?))).collect()
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
    let read = |found: &mut (Vec<FeedPiece>, bool), chamber: &Chamber, piece: &Piece| {
        found.0.push(FeedPiece::of(chamber, piece));
        found.1 |= may_lack(chamber, piece);
    };
    let mut found: Vec<Option<Result<FeedCourse, SimulationError>>> = Vec::new();
    let mut lacking = Vec::new();
    for (k, course) in courses(runs, None, common, false, &read)
        .into_iter()
        .enumerate()
    {
        let course = course.map(|(_, (pieces, may_lack))| {
            if may_lack {
                lacking.push(k);
                return None;
            }
            Some(FeedCourse::of(runs[k], pieces, Vec::new()))
        });
        found.push(course.transpose());
    }
    let again: Vec<&Run> = lacking.iter().map(|k| runs[*k]).collect();
    let again_read = courses(&again, None, common, true, &FeedPiece::add);
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
        let each = courses(&runs, None, common, true, &FeedPiece::add).into_iter();
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

/// A run's course, and what was read from its pieces.
type Read<T> = (Simulation, T);

/// The courses of runs, in their order: side by side where that is possible. What is to be read from each piece is
/// read when it is made: later it would have to be fetched from memory. It is added to what was read before.
///
/// Where courses are not kept they may have no pieces. Where they are wanted up to a time only, s, they may be longer.
fn courses<T: Default>(
    runs: &[&Run],
    until_s: Option<f64>,
    common: &Common<'_>,
    keeps: bool,
    read: &impl Fn(&mut T, &Chamber, &Piece),
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
    let mut found: Vec<T> = built.iter().map(|_| T::default()).collect();
    let courses = simulate_abreast(&asked, &mut |k, piece| {
        read(&mut found[k], built[k], piece);
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
                let mut found = T::default();
                for piece in &s.trajectory.pieces {
                    read(&mut found, &s.chamber, piece);
                }
                Ok((s, found))
            }
        }
    });
    each.collect()
}

/// The courses of runs, of which nothing is read while they are made.
fn whole(runs: &[&Run], until_s: Option<f64>, common: &Common<'_>) -> Each<Simulation> {
    let nothing = |(): &mut (), _: &Chamber, _: &Piece| ();
    let courses = courses(runs, until_s, common, true, &nothing).into_iter();
    courses.map(|course| Ok(course?.0)).collect()
}

/// What of a course's pieces its outcome needs, unless heaters lack something.
#[derive(Default)]
struct Skim {
    begins: Begins,
    largest: Vec<Largest>,
    may_lack: bool,
}

impl Skim {
    fn add(&mut self, chamber: &Chamber, piece: &Piece) {
        let nodes = chamber.network.nodes().len();
        if self.largest.is_empty() {
            // Known times come every hour; a quarter more for what begins.
            let pieces = 32 + (chamber.run().duration_s / 3600.0 * 1.25) as usize;
            self.begins = Begins::with_room(pieces, nodes);
            self.largest.reserve(pieces);
        }
        self.begins.add(piece, nodes);
        self.largest.push(Largest::of(chamber, piece));
        self.may_lack |= may_lack(chamber, piece);
    }
}

/// The courses of runs, whole or without pieces, and what outcomes need of them. Of one that failed that is nothing.
fn skimmed(runs: &[&Run], common: &Common<'_>, keeps: bool) -> (Each<Simulation>, Vec<Skim>) {
    let courses = courses(runs, None, common, keeps, &Skim::add).into_iter();
    courses
        .map(|course| match course {
            Ok((simulation, skim)) => (Ok(simulation), skim),
            Err(e) => (Err(e), Skim::default()),
        })
        .unzip()
}

/// The outcomes of courses, in their order: what decides is run once more, side by side where that is possible. Courses
/// of which heaters may lack something are whole.
fn outcomes_in(
    runs: &[&Run],
    courses: &Each<Simulation>,
    skims: Vec<Skim>,
    options: &Options,
) -> Each<Outcome> {
    let fine = fine(options);
    let mut found: Vec<Option<Result<Outcome, SimulationError>>> = Vec::new();
    let mut searches: Vec<(usize, &Simulation, bool, Search)> = Vec::new();
    for (k, (course, skim)) in courses.iter().zip(skims).enumerate() {
        found.push(course.as_ref().err().map(|e| Err(e.clone())));
        if let Ok(s) = course {
            let search = Search::among(runs[k], skim.begins, skim.largest, options);
            searches.push((k, s, skim.may_lack, search));
        }
    }
    while !searches.is_empty() {
        let asked = searches.iter().flat_map(|(k, s, _, search)| {
            let each = search.asked();
            each.map(|again| (runs[*k], &s.chamber, again))
        });
        let asked: Vec<(&Run, &Chamber, Again<'_>)> = asked.collect();
        let mut again = peaks_of(&asked, &fine).into_iter();
        let mut left = Vec::new();
        for (k, s, may_lack, mut search) in searches {
            // All of them, also after one that fails: what follows are the next run's.
            let known: Vec<_> = again.by_ref().take(search.asked().count()).collect();
            match known.into_iter().collect() {
                Err(e) => found[k] = Some(Err(e)),
                Ok(known) => match search.with(runs[k], known) {
                    Some(hottest) => {
                        let short = if may_lack {
                            Lacks::of(s).short
                        } else {
                            Vec::new()
                        };
                        let required_K = runs[k].requirements.margin_K;
                        found[k] = Some(Ok(outcome_of(required_K, &hottest, short)));
                    }
                    None => left.push((k, s, may_lack, search)),
                },
            }
        }
        searches = left;
    }
    found.into_iter().flatten().collect()
}

/// The hottest filament in parts of runs that are run once more, in their order: side by side where that is possible.
fn peaks_of(parts: &[(&Run, &Chamber, Again<'_>)], options: &Options) -> Each<Peaks> {
    let each = parts.iter().map(|(_, chamber, again)| Asked {
        network: &chamber.network,
        schedule: &chamber.schedule,
        from: Some(again.from),
        end_s: again.end_s,
        options: *options,
        keeps: false,
    });
    let asked: Vec<Asked<'_>> = each.collect();
    let runs = parts.iter().map(|(run, ..)| run);
    let mut peaks: Vec<Peaks> = runs.map(|run| Peaks::none_yet(run)).collect();
    let courses = simulate_abreast(&asked, &mut |k, piece| peaks[k].look(parts[k].1, piece));
    let each = courses.into_iter().zip(peaks).zip(parts);
    each.map(|((course, peaks), (run, chamber, again))| match course {
        Some(_) => Ok(peaks),
        None => again.alone(run, chamber, options),
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
    fn of(chamber: &Chamber, piece: &Piece) -> Self {
        Self {
            begin_s: piece.begin_s,
            length_s: piece.length_s,
            stretch: piece.stretch,
            stations: chamber.filaments_over(piece),
        }
    }

    fn add(before: &mut Vec<Self>, chamber: &Chamber, piece: &Piece) {
        before.push(Self::of(chamber, piece));
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
