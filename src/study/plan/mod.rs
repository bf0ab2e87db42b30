//! What to measure next, so that the margin is known better: where, when and doing what, the cheapest first.
//!
//! Nothing is drawn and nothing fitted: the slopes of what thermometers would show, and of the margin, with each value in
//! doubt ([`slopes`]) say how much of the margin's variance a set of readings takes away, whatever they will show
//! ([`belief`]). Two runs a value answer for every place, every moment and every set of them. The model is taken to be
//! right but for its values.

mod begin;
pub mod belief;
mod candidates;
mod error;
mod evening;
pub mod least;
pub mod moments;
mod results;
pub mod slopes;

use super::StudyError;
use super::calibrate::Watched;
use super::calibrate::found::is_the_machines;
use super::calibrate::sensors::{Sensor, UnknownSensor};
use super::certainty::options;
use super::many::courses_read;
use super::sensitivity::Both;
use crate::chamber::simulation::SimulationError;
use crate::chamber::{Chamber, StationKind};
use crate::run::{Doubtful, Inputs, Reading, Run};
use begin::Begin;
use belief::{Belief, Seen};
use candidates::{Field, Job, all_of, of_job, of_test};
use moments::Window;
use nalgebra::{DMatrix, DVector};
use results::Results;
use slopes::Slopes;

pub use candidates::{Candidate, Kind, Place, When};
pub use error::PlanError;
pub use evening::Meanwhile;

/// What is worth the way to the machine, as a share of the margin's width.
const WORTH: f64 = 0.01;
/// The first to do is the cheapest that brings at least this share of what the best brings.
const FIRST: f64 = 0.5;
/// Thermometers that bring so much of what another brings bring about as much.
const ALIKE: f64 = 0.8;
/// So much of what is left is laid at the door of values by name,
const NAMED: f64 = 0.8;
/// and of so many at most.
const MOST_NAMED: usize = 5;

/// What to measure.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The station whose margin is the least in the best estimate.
    pub station: StationKind,
    /// How many values are in doubt.
    pub doubtful: usize,
    /// How many of these could not be looked at: the run comes to nothing when they move.
    pub unknown: usize,
    /// How many readings were taken already,
    pub taken: usize,
    /// and how many rows of thermometers logged.
    pub rows: usize,
    /// How many runs it took; of a fit to logs, its steps.
    pub runs: usize,
    /// Half of what nine of ten lie between, after the readings taken, K: of the hottest filament at the station and of
    /// the least margin.
    pub half_width_before_K: Both<f64>,
    /// What can be measured, cheapest first, and of what costs the same what to do first, then the best. What brings nothing
    /// is not among them.
    pub candidates: Vec<Candidate>,
    /// The place among them of what to do first; none where nothing is worth it.
    pub first: Option<usize>,
    /// What is left with all of them, everywhere and at every moment, K.
    pub half_width_left_K: Both<f64>,
    /// The values that what is left of the margin's lies in, the largest first.
    pub left: Vec<String>,
}

/// What to measure next in a run, or on an evening before it, so that its margin is known better. What was measured during
/// it already counts.
///
/// # Errors
/// See [`PlanError`].
pub fn plan(watched: &Watched<'_>) -> Result<Plan, PlanError> {
    let Begin {
        inputs,
        doubtful,
        belief,
        open,
        last_s,
        left_out_K,
        mut runs,
    } = begin::begin(watched)?;
    let run = inputs.to_run().map_err(StudyError::from)?;
    let Look {
        station,
        window,
        warmest_s,
        places,
        turns,
        taken_at,
    } = look(&run, open, last_s)?;
    let heated_s = run.phases.iter().find(|p| p.feed_kg_per_s > 0.0);
    let heated_s = heated_s.map_or(0.0, |phase| phase.begin_s);
    let moments_s = window.moments_s(&[warmest_s, heated_s]);
    let grid = places
        .iter()
        .flat_map(|place| moments_s.iter().map(move |at_s| (place, *at_s)));
    let before = taken_at.iter().zip(open).map(|(at, r)| (at, r.at_s));
    let spots: Vec<_> = grid.chain(before).collect();
    let slopes = Slopes::of(&inputs, &doubtful, &spots)?;
    let on_grid = places.len() * moments_s.len();
    let belief = belief.after(&Seen {
        slopes: slopes.shown.rows(on_grid, open.len()).into_owned(),
        errors: begin::errors_of(open, &taken_at),
    });
    let results = Results::of(&belief, &slopes, station).besides(left_out_K);
    let job = Job {
        belief: &belief,
        results: &results,
        doubtful: &doubtful,
    };
    let field = Field {
        places,
        turns,
        moments_s,
        shown: slopes.shown.rows(0, on_grid).into_owned(),
        private: DMatrix::zeros(on_grid, 0),
    };
    runs += 1 + 2 * doubtful.len();
    let mut candidates = of_job(&job, &field, &window.evening_s());
    let mut after_all = belief.after(&all_of(&field));
    for meanwhile in Meanwhile::ALL {
        let test = meanwhile.test(&inputs, &run);
        // A test that this machine can't be run through is none.
        let Some(Ok((field, more))) = test.map(|test| tested(&test, &doubtful)) else {
            continue;
        };
        runs += more;
        candidates.extend(of_test(&job, &field, meanwhile));
        after_all = after_all.after(&all_of(&field));
    }
    let before_K = results.half_widths_K(&belief, Both::default());
    candidates.retain(|c| c.gain_K.margin > 0.0);
    let first = first(&candidates, before_K.margin).map(|at| put_first(&mut candidates, at));
    let rows = watched.logs.iter().flat_map(|log| &log.columns);
    Ok(Plan {
        station,
        doubtful: doubtful.len(),
        unknown: slopes.unknown.len(),
        taken: watched.readings.len(),
        rows: rows.map(|column| column.rows.len()).sum(),
        runs,
        half_width_before_K: before_K,
        first,
        candidates,
        half_width_left_K: results.half_widths_K(&after_all, Both::default()),
        left: left(&after_all, &results.least.slopes, &doubtful),
    })
}

/// What thermometers would show in a test, and how many runs it took to know that. `jobs` are the job's values in doubt.
fn tested(test: &Inputs, jobs: &[Doubtful]) -> Result<(Field, usize), PlanError> {
    let run = test.to_run().map_err(StudyError::from)?;
    let chamber = Chamber::new(&run).map_err(SimulationError::from)?;
    let (places, turns) = reachable(&chamber);
    let moments_s = evening::rows_s();
    let mut own = test.doubtful();
    // As they are taken for the job: what is known of values that were fitted says how they hang together.
    if jobs.iter().all(|d| d.shares.is_empty()) {
        own = own.into_iter().map(Doubtful::by_itself).collect();
    }
    let spots: Vec<_> = places
        .iter()
        .flat_map(|place| moments_s.iter().map(move |at_s| (place, *at_s)))
        .collect();
    let slopes = Slopes::of(test, &own, &spots)?;
    let (shown, private) = shared(&slopes.shown, &own, jobs);
    let field = Field {
        places,
        turns,
        moments_s,
        shown,
        private,
    };
    Ok((field, 1 + 2 * own.len()))
}

/// Where a thermometer can be held, and whether that turns.
fn reachable(chamber: &Chamber) -> (Vec<Sensor>, Vec<bool>) {
    let places = Sensor::reachable(chamber);
    let gear = chamber.points.gear;
    let turns = places.iter().map(|place| place.is_at(gear)).collect();
    (places, turns)
}

/// What the run in the middle says of what can be read.
struct Look {
    /// The station that decides.
    station: StationKind,
    /// When readings are worth taking.
    window: Window,
    /// The filament's hottest moment there in that time, s.
    warmest_s: f64,
    /// Where a thermometer can be held,
    places: Vec<Sensor>,
    /// and whether it turns.
    turns: Vec<bool>,
    /// Where readings were taken.
    taken_at: Vec<Sensor>,
}

fn look(run: &Run, taken: &[Reading], last_s: f64) -> Result<Look, PlanError> {
    let mut found = courses_read(
        std::slice::from_ref(run),
        &options(),
        |simulation, course| {
            let chamber = &simulation.chamber;
            let hottest = course.hottest(f64::NEG_INFINITY, f64::INFINITY);
            let margin_K = |at: usize| hottest[at].limit_K - hottest[at].max_K;
            let least = (0..hottest.len()).min_by(|a, b| margin_K(*a).total_cmp(&margin_K(*b)));
            let at = least.unwrap_or_default();
            let window = Window::of(run.duration_s, hottest[at].max_at_s, last_s);
            let within = course.hottest(window.from_s, window.until_s.max(window.from_s + 1.0));
            let (places, turns) = reachable(chamber);
            let each = taken.iter().map(|r| Sensor::find(&r.sensor, chamber));
            Ok(Look {
                station: hottest[at].station,
                window,
                warmest_s: within[at].max_at_s,
                places,
                turns,
                taken_at: each.collect::<Result<_, UnknownSensor>>()?,
            })
        },
    );
    found.remove(0)?
}

/// Slopes by values of the job, and by those that are the test's own: its part, its room, its setpoints.
fn shared(
    slopes: &DMatrix<f64>,
    own: &[Doubtful],
    jobs: &[Doubtful],
) -> (DMatrix<f64>, DMatrix<f64>) {
    let mut shown = DMatrix::zeros(slopes.nrows(), jobs.len());
    let mut private = Vec::new();
    for (column, d) in slopes.column_iter().zip(own) {
        let key = d.input.key();
        let at = jobs.iter().position(|job| job.input.key() == key);
        match at.filter(|_| is_the_machines(key)) {
            Some(at) => shown.set_column(at, &column),
            None => private.push(column.into_owned()),
        }
    }
    let private = if private.is_empty() {
        DMatrix::zeros(slopes.nrows(), 0)
    } else {
        DMatrix::from_columns(&private)
    };
    (shown, private)
}

/// The cheapest that brings a good part of what the best brings; among thermometers that bring about as much, one that can
/// stay where it is, and that tells most of the filament.
fn first(candidates: &[Candidate], before_K: f64) -> Option<usize> {
    let gain_K = |c: &Candidate| c.gain_K.margin;
    let most_K = candidates.iter().map(gain_K).fold(0.0, f64::max);
    if most_K < WORTH * before_K {
        return None;
    }
    let found = candidates.iter().find(|c| gain_K(c) >= FIRST * most_K)?;
    let is_alike = |c: &Candidate| c.kind == found.kind && gain_K(c) >= ALIKE * gain_K(found);
    let is_steady = |c: &Candidate| c.places.iter().all(|place| !place.turns);
    let alike = candidates.iter().enumerate().filter(|(_, c)| is_alike(c));
    let best = alike.max_by(|(_, a), (_, b)| {
        let tells = a.gain_K.peak.total_cmp(&b.gain_K.peak);
        is_steady(a).cmp(&is_steady(b)).then(tells)
    });
    best.map(|(k, _)| k)
}

/// Puts one of them before those of its kind; where it then is.
fn put_first(candidates: &mut [Candidate], at: usize) -> usize {
    let kind = candidates[at].kind;
    let to = candidates.iter().position(|c| c.kind == kind).unwrap_or(at);
    candidates[to..=at].rotate_right(1);
    to
}

/// The values in which most of what is left lies.
fn left(belief: &Belief, margin: &DVector<f64>, doubtful: &[Doubtful]) -> Vec<String> {
    let shares = belief.contributions(margin);
    let all: f64 = shares.sum();
    let mut order: Vec<usize> = (0..doubtful.len()).collect();
    order.sort_by(|a, b| shares[*b].total_cmp(&shares[*a]));
    let mut named = 0.0;
    let each = order.into_iter().take(MOST_NAMED).take_while(|k| {
        let is_wanted = named < NAMED * all && shares[*k] > 0.0;
        named += shares[*k];
        is_wanted
    });
    each.map(|k| doubtful[k].input.key().to_owned()).collect()
}

#[cfg(test)]
mod tests;
