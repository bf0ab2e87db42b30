//! The hottest filament of a run, as exactly as `check` would find it.
//!
//! Studies of many runs take long steps. Those are exact enough at their ends, but right after a kink of the
//! weather, a door or a heater that switches, filament can be a tenth of a kelvin from what the cubic
//! between two ends says. So the hours around every moment that may be the hottest are run once more, more
//! carefully than `check` does.

use crate::chamber::simulation::SimulationError;
use crate::chamber::{Chamber, Simulation, StationKind};
use crate::integrate::{Begin, Begins, CHECK_TOLERANCE_K, Options, Piece, Span};
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

    /// Takes over what is hotter: a temperature, K, and its place in a piece.
    fn take(&mut self, span: &Span, (largest_K, x): (f64, f64)) {
        if largest_K > self.max_K {
            self.max_K = largest_K;
            self.max_at_s = span.begin_s + x * span.length_s;
        }
    }
}

const STATIONS: usize = StationKind::ALL.len();

/// The hottest filament at each of [`StationKind::ALL`], in a course or a part of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Peaks([Hottest; STATIONS]);

impl Peaks {
    /// Nothing has been looked at.
    pub fn none_yet(run: &Run) -> Self {
        Self(StationKind::ALL.map(|station| Hottest {
            station,
            limit_K: station.limit_K(run),
            max_K: f64::NEG_INFINITY,
            max_at_s: 0.0,
        }))
    }

    fn in_course(run: &Run, chamber: &Chamber, pieces: &[Piece]) -> Self {
        let mut found = Self::none_yet(run);
        for piece in pieces {
            found.look(chamber, piece);
        }
        found
    }

    /// Takes over what is hotter in a piece.
    pub fn look(&mut self, chamber: &Chamber, piece: &Piece) {
        self.take(&Span::of(piece), &Largest::of(chamber, piece));
    }

    fn take(&mut self, span: &Span, largest: &Largest) {
        for (f, at) in self.0.iter_mut().zip(&largest.0) {
            f.take(span, *at);
        }
    }

    /// Takes over what is hotter in a later part.
    fn join(&mut self, later: &Self) {
        for (f, later) in self.0.iter_mut().zip(&later.0) {
            if later.max_K > f.max_K {
                *f = *later;
            }
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
    let pieces = &simulation.trajectory.pieces;
    let Peaks(found) = Peaks::in_course(run, &simulation.chamber, pieces);
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
    let (fine, chamber) = (fine(options), &simulation.chamber);
    let trajectory = &simulation.trajectory;
    let largest = trajectory.pieces.iter().map(|p| Largest::of(chamber, p));
    let mut search = Search::among(run, Begins::of(trajectory), largest.collect(), options);
    loop {
        let asked = search.asked();
        let known: Result<Vec<Peaks>, _> = asked
            .map(|window| window.alone(run, chamber, &fine))
            .collect();
        if let Some(found) = search.with(run, known?) {
            return Ok(found);
        }
    }
}

/// What decides is run once more at this tolerance, K: whichever way it is run then comes to the same within 0.002 K.
const ONCE_MORE_K: f64 = CHECK_TOLERANCE_K / 3.0;

/// How carefully what decides is run once more.
pub(super) fn fine(options: &Options) -> Options {
    Options {
        ledgers: false,
        tolerance: ONCE_MORE_K.min(options.tolerance),
        ..*options
    }
}

/// A stretch of a course that is to be run once more: its first and last pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Window {
    first: usize,
    last: usize,
}

/// What is to be run once more: from where, and to when, s.
#[derive(Debug, Clone, Copy)]
pub(super) struct Again<'a> {
    pub from: Begin<'a>,
    pub end_s: f64,
}

impl Again<'_> {
    /// Runs it by itself.
    pub fn alone(
        self,
        run: &Run,
        chamber: &Chamber,
        options: &Options,
    ) -> Result<Peaks, SimulationError> {
        let course = chamber.once_more(self.from, self.end_s, options)?;
        Ok(Peaks::in_course(run, chamber, &course.pieces))
    }
}

impl Window {
    const fn holds(self, piece: usize) -> bool {
        self.first <= piece && piece <= self.last
    }
}

/// Of a piece the hottest filament at each station, K, and its place there.
#[derive(Debug, Clone, Copy)]
pub(super) struct Largest([(f64, f64); STATIONS]);

impl Largest {
    pub fn of(chamber: &Chamber, piece: &Piece) -> Self {
        Self(chamber.hottest_over(piece))
    }
}

/// The search for what decides in a course.
#[derive(Debug)]
pub(super) struct Search {
    begins: Begins,
    largest: Vec<Largest>,
    /// Of each piece the smallest margin of any station, K.
    margins_K: Vec<f64>,
    /// By how much a moment has to be cooler than the hottest not to be run once more, K.
    close_K: f64,
    /// Where margins are not above this, the course is run once more, K.
    below_K: f64,
    /// Those stretches of time, in order and apart, and the hottest in their courses once known.
    again: Vec<(Window, Option<Peaks>)>,
}

impl Search {
    /// Among the pieces of a course, where each begins and how hot it gets.
    pub fn among(run: &Run, begins: Begins, largest: Vec<Largest>, options: &Options) -> Self {
        let limits_K = StationKind::ALL.map(|s| s.limit_K(run));
        let smallest = |each: &Largest| {
            let each = limits_K.iter().zip(&each.0);
            each.map(|(limit_K, (max_K, _))| limit_K - max_K)
                .fold(f64::INFINITY, f64::min)
        };
        let margins_K: Vec<f64> = largest.iter().map(smallest).collect();
        let close_K = CLOSE * options.tolerance;
        // A course that is exact enough already has nothing to be run once more.
        let below_K = if options.tolerance <= CHECK_TOLERANCE_K {
            f64::NEG_INFINITY
        } else {
            margins_K.iter().copied().fold(f64::INFINITY, f64::min) + close_K
        };
        Self {
            again: windows(begins.spans(), &margins_K, below_K)
                .map(|w| (w, None))
                .collect(),
            begins,
            largest,
            margins_K,
            close_K,
            below_K,
        }
    }

    /// What is to be run once more.
    pub fn asked(&self) -> impl Iterator<Item = Again<'_>> {
        let unknown = self.again.iter().filter(|(_, known)| known.is_none());
        unknown.map(|(window, _)| Again {
            from: self.begins.at(window.first),
            end_s: self.begins.spans()[window.last].end_s(),
        })
    }

    /// The hottest filament at each station, once that of what was asked for is in its places. None: more has to be run
    /// once more.
    pub fn with(&mut self, run: &Run, known: Vec<Peaks>) -> Option<Vec<Hottest>> {
        let unknown = self.again.iter_mut().filter(|(_, known)| known.is_none());
        for ((_, place), known) in unknown.zip(known) {
            *place = Some(known);
        }
        let spans = self.begins.spans();
        let outside: Vec<usize> = (0..spans.len())
            .filter(|k| !self.again.iter().any(|(w, _)| w.holds(*k)))
            .collect();
        let mut peaks = Peaks::none_yet(run);
        // What lies outside the windows is cooler by more than it can be off.
        for k in &outside {
            peaks.take(&spans[*k], &self.largest[*k]);
        }
        for (_, known) in &self.again {
            known.iter().for_each(|known| peaks.join(known));
        }
        let Peaks(found) = peaks;
        // Unless the windows turn out cooler than the long steps had them, by more than that: then the rest is no longer
        // cooler by so much. It is where air overturns, which long steps see late.
        let smallest_K = found.iter().map(Hottest::margin_K);
        let needed_K = smallest_K.fold(f64::INFINITY, f64::min) + self.close_K;
        let left_K = outside.iter().map(|k| self.margins_K[*k]);
        let is_enough = self.below_K == f64::NEG_INFINITY
            || needed_K <= self.below_K
            || left_K.fold(f64::INFINITY, f64::min) > needed_K;
        if is_enough {
            return Some(found.to_vec());
        }
        self.below_K = needed_K;
        let mut known = std::mem::take(&mut self.again);
        self.again = windows(spans, &self.margins_K, needed_K)
            .map(|window| {
                let same = known.iter().position(|(w, _)| *w == window);
                (window, same.and_then(|k| known.swap_remove(k).1))
            })
            .collect();
        None
    }
}

/// The stretches of time that are to be run once more, in order and apart: around each margin that is not above
/// `below_K`.
fn windows(
    spans: &[Span],
    margins_K: &[f64],
    below_K: f64,
) -> impl Iterator<Item = Window> + use<> {
    let mut found: Vec<Window> = Vec::new();
    for (k, margin_K) in margins_K.iter().enumerate() {
        if *margin_K > below_K {
            continue;
        }
        let from_s = spans[k].begin_s - LEAD_S;
        let first = spans.partition_point(|p| p.end_s() <= from_s).min(k);
        // The next one too: a peak near the end of one may lie in the other.
        let last = (k + 1).min(spans.len() - 1);
        match found.last_mut() {
            Some(window) if first <= window.last + 1 => window.last = last,
            _ => found.push(Window { first, last }),
        }
    }
    found.into_iter()
}
