//! Checks one run: will the filament stay below its softening limit all the way?

use crate::chamber::simulation::HeatAudit;
use crate::chamber::simulation::SimulationError;
use crate::chamber::{IntegratorKind, Simulation, StationKind};
use crate::integrate::trajectory::Cubic;
use crate::integrate::{Effort, Options};
use crate::run::Run;

use super::above::hours_above;
use super::alarm::{Alarm, alarm};
use super::band::Certainty;
use super::beyond::beyond;
use super::cautions::Caution;
use super::electricity::{Electricity, electricity};
use super::failures::{FailureFindings, failures};
use super::fan_use::{FanUse, fan_use};
use super::heaters::{Lacks, Shortfall};
use super::hottest::{Hottest, hottest, hottest_exactly};
use super::log_sheet::{LogSheet, log_sheet};
use super::spools::{Spool, spools};
pub use super::verdict::Verdict;
use super::warnings::{Peak, Warning, warnings};

/// A station of the feed path over the run.
#[derive(Debug, Clone, PartialEq)]
pub struct StationFindings {
    /// Which.
    pub station: StationKind,
    /// The softening limit there, K.
    pub limit_K: f64,
    /// Hottest filament that has stood there, K.
    pub max_K: f64,
    /// When, s from the start.
    pub max_at_s: f64,
    /// Mean, K.
    pub mean_K: f64,
    /// Hottest filament on steady feed, K.
    pub moving_max_K: f64,
}

/// A node over the run.
#[derive(Debug, Clone, PartialEq)]
pub struct NodeFindings {
    /// Name.
    pub name: String,
    /// Lowest, K.
    pub min_K: f64,
    /// Mean, K.
    pub mean_K: f64,
    /// Highest, K.
    pub max_K: f64,
    /// At the end, K.
    pub end_K: f64,
}

/// The hottest moment against the limit, and how long it lasts: all that a study of many runs
/// needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Smallest difference of limit and filament temperature, K.
    pub margin_K: f64,
    /// Verdict.
    pub verdict: Verdict,
    /// Where it is smallest.
    pub station: StationKind,
    /// The limit there, K.
    pub limit_K: f64,
    /// Filament temperature then, K.
    pub peak_K: f64,
    /// When, s from the start.
    pub peak_at_s: f64,
    /// The heaters too weak for the job; none, unless the verdict is that it cannot run.
    pub shortfalls: Vec<Shortfall>,
}

/// How much a run that cannot run lacks at the least when lacks are compared, K. Only its sign means
/// something: whatever is searched for, it is not found there.
const CANNOT_RUN_LACKS_K: f64 = 1.0;

impl Outcome {
    /// How far the margin lies above the required one, K: negative where it does not hold, for whatever
    /// reason.
    #[must_use]
    pub fn excess_K(&self, required_K: f64) -> f64 {
        let excess_K = self.margin_K - required_K;
        match self.verdict {
            Verdict::CannotRun => excess_K.min(-CANNOT_RUN_LACKS_K),
            Verdict::Holds | Verdict::Tight | Verdict::Softens => excess_K,
        }
    }
}

/// All that a check finds.
#[derive(Debug, Clone)]
pub struct Findings {
    /// The hottest moment.
    pub outcome: Outcome,
    /// Softening limit of the filament as it is kept, K; each station has its own, by its allowance.
    pub limit_K: f64,
    /// Time above the limit at any station, h.
    pub hours_above_limit_h: f64,
    /// Time above the limit less the required margin, h.
    pub hours_within_margin_h: f64,
    /// When the limit is first passed, h.
    pub first_above_at_h: Option<f64>,
    /// Stations along the path.
    pub stations: Vec<StationFindings>,
    /// Nodes and boundaries.
    pub nodes: Vec<NodeFindings>,
    /// Where heat came from and went.
    pub heat: HeatAudit,
    /// What the machine takes from the mains.
    pub electricity: Electricity,
    /// What each spool gives; none where the run does not say what they hold.
    pub spools: Vec<Spool>,
    /// What to check before the start and to do during the run.
    pub log_sheet: LogSheet,
    /// What a thermostat's fan did, where one runs.
    pub fan: Option<FanUse>,
    /// What comes of the failures asked about: each by itself, then all together where there are several.
    pub failures: Vec<FailureFindings>,
    /// Name of the integrator.
    pub integrator: IntegratorKind,
    /// What it cost.
    pub effort: Effort,
    /// What the user should know.
    pub warnings: Vec<Warning>,
    /// What the user must mind.
    pub cautions: Vec<Caution>,
    /// The course itself, for tables and plots.
    pub simulation: Simulation,
    /// At which reading to act; none where the run can't be had, or no thermometer in the machine tells.
    pub alarm: Option<Alarm>,
    /// How sure all this is, where that was asked: [`certainty`](super::certainty::certainty) finds it.
    pub certainty: Option<Certainty>,
}

impl Findings {
    /// Whether it holds as surely as a run requires: in the best estimate, and but for as many samples as the run
    /// puts up with. None where nobody asked how sure it is.
    #[must_use]
    pub fn surely_holds(&self, run: &Run) -> Option<bool> {
        let chance = run.requirements.chance;
        self.certainty.as_ref().map(|c| {
            self.outcome.verdict == Verdict::Holds
                && c.chance_softens() <= chance
                && c.chance_cannot_run() <= chance
        })
    }
}

/// Checks a run.
///
/// # Errors
/// See [`SimulationError`].
pub fn check(
    run: &Run,
    integrator: IntegratorKind,
    options: &Options,
) -> Result<Findings, SimulationError> {
    let simulation = Simulation::of(run, integrator, options)?;
    let hottest = match integrator {
        IntegratorKind::Rosenbrock => hottest_exactly(run, &simulation, options)?,
        IntegratorKind::Explicit => hottest(run, &simulation),
    };
    let stations = stations(&simulation, &hottest);
    let Lacks { short, waits } = Lacks::of(&simulation);
    let outcome = outcome_of(run.requirements.margin_K, &hottest, short);
    let peak = Peak {
        station: outcome.station,
        at_s: outcome.peak_at_s,
    };
    let mut cautions = Caution::for_run(run);
    if !outcome.shortfalls.is_empty() {
        cautions.push(Caution::StrongerHeater);
        cautions.sort_unstable();
    }
    let nodes = nodes(&simulation);
    let points = &simulation.chamber.points;
    let span_K = |of: &[usize]| {
        of.iter()
            .map(|point| (nodes[*point].min_K, nodes[*point].max_K))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |a, b| {
                (a.0.min(b.0), a.1.max(b.1))
            })
    };
    let beyond = beyond(span_K(&[points.room]), span_K(&points.air));
    let mut found: Vec<Warning> = beyond.into_iter().map(Warning::Beyond).collect();
    found.extend(warnings(run, &simulation, peak, &outcome.shortfalls, waits));
    let (hours_over, first) = hours_above(run, &simulation, 0.0);
    let (hours_within, _) = hours_above(run, &simulation, run.requirements.margin_K);
    let failures = failures(run, &simulation, outcome.verdict, integrator, options)?;
    let told = match outcome.verdict {
        Verdict::CannotRun => None,
        Verdict::Holds | Verdict::Tight | Verdict::Softens => {
            alarm(run, &simulation, outcome.station, outcome.peak_K)
        }
    };
    let worst = Hottest {
        station: outcome.station,
        limit_K: outcome.limit_K,
        max_K: outcome.peak_K,
        max_at_s: outcome.peak_at_s,
    };
    let spools = spools(run);
    let heat = simulation.heat();
    Ok(Findings {
        electricity: electricity(run, &simulation, &heat),
        log_sheet: log_sheet(run, &simulation, &worst, told.as_ref(), &spools),
        spools,
        limit_K: run.softening_limit_K(),
        hours_above_limit_h: hours_over,
        hours_within_margin_h: (hours_within - hours_over).max(0.0),
        first_above_at_h: first,
        nodes,
        heat,
        fan: fan_use(run, &simulation),
        failures,
        integrator,
        effort: simulation.trajectory.effort,
        warnings: found,
        cautions,
        outcome,
        stations,
        simulation,
        alarm: told,
        certainty: None,
    })
}

/// Only the hottest moment of a run: what studies of many runs need.
///
/// # Errors
/// See [`SimulationError`].
pub fn outcome(run: &Run, options: &Options) -> Result<Outcome, SimulationError> {
    let options = Options {
        ledgers: false,
        ..*options
    };
    let simulation = Simulation::of(run, IntegratorKind::Rosenbrock, &options)?;
    outcome_in(run, &simulation, &options)
}

/// The hottest moment of a course that is there already, and was made with these options.
pub(super) fn outcome_in(
    run: &Run,
    simulation: &Simulation,
    options: &Options,
) -> Result<Outcome, SimulationError> {
    let hottest = hottest_exactly(run, simulation, options)?;
    Ok(outcome_with(run, simulation, &hottest))
}

/// The outcome of a course whose hottest moments are known.
pub(super) fn outcome_with(run: &Run, simulation: &Simulation, hottest: &[Hottest]) -> Outcome {
    let lacks = Lacks::of(simulation);
    outcome_of(run.requirements.margin_K, hottest, lacks.short)
}

fn stations(simulation: &Simulation, hottest: &[Hottest]) -> Vec<StationFindings> {
    let span = simulation.trajectory.end_s() - simulation.trajectory.begin_s();
    let mut found: Vec<StationFindings> = hottest
        .iter()
        .map(|h| StationFindings {
            station: h.station,
            limit_K: h.limit_K,
            max_K: h.max_K,
            max_at_s: h.max_at_s,
            mean_K: 0.0,
            moving_max_K: f64::NEG_INFINITY,
        })
        .collect();
    for piece in &simulation.trajectory.pieces {
        for f in &mut found {
            let mean_K = simulation.filament_over(piece, f.station).mean();
            f.mean_K += mean_K * piece.length_s / span;
            let (largest_K, _) = simulation.moving_over(piece, f.station).largest();
            f.moving_max_K = f.moving_max_K.max(largest_K);
        }
    }
    found
}

pub(super) fn outcome_of(
    required_K: f64,
    hottest: &[Hottest],
    shortfalls: Vec<Shortfall>,
) -> Outcome {
    let worst = hottest
        .iter()
        .min_by(|a, b| a.margin_K().total_cmp(&b.margin_K()))
        .unwrap_or(&hottest[0]);
    let margin_K = worst.margin_K();
    Outcome {
        margin_K,
        verdict: if shortfalls.is_empty() {
            Verdict::of(margin_K, required_K)
        } else {
            Verdict::CannotRun
        },
        station: worst.station,
        limit_K: worst.limit_K,
        peak_K: worst.max_K,
        peak_at_s: worst.max_at_s,
        shortfalls,
    }
}

fn nodes(simulation: &Simulation) -> Vec<NodeFindings> {
    let network = &simulation.chamber.network;
    let pieces = &simulation.trajectory.pieces;
    let span = simulation.trajectory.end_s() - simulation.trajectory.begin_s();
    let reading = simulation.reading();
    network
        .names()
        .enumerate()
        .map(|(point, name)| {
            let mut f = NodeFindings {
                name: name.to_owned(),
                min_K: f64::INFINITY,
                mean_K: 0.0,
                max_K: f64::NEG_INFINITY,
                end_K: simulation.temperature_K(point, simulation.trajectory.end_s()),
            };
            let is_cubic = reading.is_cubic(point);
            for piece in pieces {
                let mut cubic = Cubic::default();
                if !is_cubic {
                    // Look at five places.
                    const PLACES: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];
                    const SIMPSON: [f64; 5] = [
                        7.0 / 90.0,
                        32.0 / 90.0,
                        12.0 / 90.0,
                        32.0 / 90.0,
                        7.0 / 90.0,
                    ];
                    for (x, weight) in PLACES.iter().zip(SIMPSON) {
                        let v = reading.point_at(piece, *x, point);
                        f.min_K = f.min_K.min(v);
                        f.max_K = f.max_K.max(v);
                        f.mean_K += weight * v * piece.length_s / span;
                    }
                    continue;
                }
                reading.point_over(piece, point, 1.0, &mut cubic);
                f.max_K = f.max_K.max(cubic.largest().0);
                let turned = Cubic {
                    c: cubic.c.map(|c| -c),
                };
                f.min_K = f.min_K.min(-turned.largest().0);
                f.mean_K += cubic.mean() * piece.length_s / span;
            }
            f
        })
        .collect()
}
