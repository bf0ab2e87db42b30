//! What a user should know about a result: values used outside a correlation's range, heaters that
//! do not reach their setpoints, requirements that the run breaks.

use super::beyond::Beyond;
use super::doubt::doubts;
use super::extra_heaters::{Besides, besides};
use super::fan_use::fan_use;
use super::heaters::{Heater, Shortfall, Wait};
use super::spools::spools;
use crate::chamber::{Simulation, StationKind};
use crate::quantity::{
    System, format_count, format_difference, format_duration, format_pressure, format_temperature,
};
use crate::run::PhaseKind;
use crate::run::Run;
use jiff::Unit;
use jiff::civil::DateTime;

/// A warning; its text names what to change.
#[derive(Debug, Clone, PartialEq)]
pub enum Warning {
    /// The result lies outside of what the model has been made for.
    Beyond(Beyond),
    /// A correlation was used outside its published range.
    OutOfRange {
        /// Name of the correlation.
        correlation: &'static str,
        /// The quantity, e.g. "Ra".
        quantity: &'static str,
        /// Published range.
        low: f64,
        /// Published range.
        high: f64,
        /// Smallest value met.
        met_low: f64,
        /// Largest value met.
        met_high: f64,
        /// Where it counts most.
        place: String,
        /// The station with the hottest filament.
        station: StationKind,
        /// How much warmer it could be there, K.
        warmer_K: f64,
    },
    /// A heater brings its node close to the setpoint and never to it.
    NotReached {
        /// Which.
        heater: Heater,
        /// Setpoint, K.
        setpoint_K: f64,
        /// Highest temperature, K.
        reached_K: f64,
    },
    /// A heater is not warm yet when printing should begin or go on.
    Waits(Wait),
    /// What concerns a chamber heater or a second hotend.
    Besides(Besides),
    /// The arrangement opens a machine that must stay closed.
    OpensClosedMachine {
        /// The arrangement's name.
        arrangement: &'static str,
    },
    /// The chamber falls below the material's lowest useful temperature while printing.
    ChamberTooCool {
        /// Lowest, K.
        lowest_K: f64,
        /// Needed, K.
        needed_K: f64,
        /// Hours below while printing.
        hours: f64,
    },
    /// A thermostat starts its fan more often than is good for it.
    RapidThermostat {
        /// Starts over the run, made and spared.
        starts: usize,
        /// Time between two starts while it cycles, s.
        every_s: f64,
        /// Whether it was counted as control of the fan's speed for part of the time.
        throttled: bool,
    },
    /// A spool is used up before it is changed, or without any change in the plan.
    SpoolRunsOut {
        /// Its number, from 1.
        spool: usize,
        /// When.
        at: DateTime,
        /// When it is changed; none: never.
        changed_at: Option<DateTime>,
        /// How many more there are of which this holds.
        more: usize,
    },
    /// A fan works against a shell too tight for it.
    LargePressure {
        /// Pressure inside less outside, Pa.
        pressure_Pa: f64,
    },
}

impl std::fmt::Display for Warning {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text(System::Si))
    }
}

impl Warning {
    /// The warning in the reader's units.
    #[must_use]
    pub fn text(&self, system: System) -> String {
        let degrees = |K: f64| format_temperature(K, system);
        match self {
            Self::OutOfRange {
                correlation,
                quantity,
                low,
                high,
                met_low,
                met_high,
                place,
                station,
                warmer_K,
            } => format!(
                "{correlation} is used outside its published range, most of all at the {place} ({quantity} from {met_low:.2e} to {met_high:.2e}, published for {low:.0e} to {high:.0e}): the filament at the {} could be up to {} warmer than said",
                station.name(),
                format_difference(*warmer_K, system)
            ),
            Self::NotReached {
                heater,
                setpoint_K,
                reached_K,
            } => format!(
                "the {} never quite reaches its setpoint of {} (highest {}): check `{}` or lower the setpoint",
                heater.name(),
                degrees(*setpoint_K),
                degrees(*reached_K),
                heater.power_key()
            ),
            Self::Beyond(beyond) => beyond.text(system),
            Self::Waits(wait) => wait.text(system),
            Self::Besides(besides) => besides.text(system),
            Self::OpensClosedMachine { arrangement } => format!(
                "the run says the machine must stay closed, but the arrangement \"{arrangement}\" opens it: not allowed for this run (`require.must_stay_closed`)"
            ),
            Self::ChamberTooCool {
                lowest_K,
                needed_K,
                hours,
            } => format!(
                "the chamber is below the lowest useful {} for {hours:.1} h of printing (down to {}): parts may warp or split (`require.chamber_min`)",
                degrees(*needed_K),
                degrees(*lowest_K)
            ),
            Self::RapidThermostat {
                starts,
                every_s,
                throttled,
            } => format!(
                "the thermostat starts its fan {}{} times, every {} or so: widen the band (`arrangement.thermostat.on_above`, `off_below`) or take a fan whose speed is controlled{}",
                if *throttled { "some " } else { "" },
                format_count(*starts),
                format_duration(*every_s),
                if *throttled {
                    "; here it is counted as one, holding the air at the top of the band"
                } else {
                    ""
                }
            ),
            Self::SpoolRunsOut {
                spool,
                at,
                changed_at,
                more,
            } => {
                let clock = |at: &DateTime| {
                    let at = at.round(Unit::Minute).unwrap_or(*at);
                    at.strftime("%a %-d %b %H:%M").to_string()
                };
                let others = match more {
                    0 => String::new(),
                    1 => "; so is another".to_owned(),
                    more => format!("; so are {} others", format_count(*more)),
                };
                let (when, remedy) = match changed_at {
                    Some(then) => (
                        format!("and is changed only on {}", clock(then)),
                        "let the change begin earlier (`job.spool_change`)",
                    ),
                    None => (
                        "and the job has no change then".to_owned(),
                        "add a [[job.spool_change]]",
                    ),
                };
                format!(
                    "spool {spool} is used up on {} {when}{others}: {remedy}, or leave the job's changes away, so that they follow from `spool.mass`",
                    clock(at)
                )
            }
            Self::LargePressure { pressure_Pa } => format!(
                "the fan would have to hold {} across the shell: no small fan does; add a make-up opening (`machine.vent`) or lower the flow",
                format_pressure(pressure_Pa.abs(), system)
            ),
        }
    }
}

/// The hottest moment of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// Where.
    pub station: StationKind,
    /// When, s from the start.
    pub at_s: f64,
}

/// Pressure across the shell that small axial fans cannot hold, Pa (common practice, no source).
const LARGE_PRESSURE_PA: f64 = 60.0;

/// The warnings for a run and its course, besides its verdict: heaters that cannot do their work are known
/// already, and so are those that need more time.
#[must_use]
pub fn warnings(
    run: &Run,
    simulation: &Simulation,
    peak: Peak,
    short: &[Shortfall],
    waits: Vec<Wait>,
) -> Vec<Warning> {
    let mut found = Vec::new();
    opened(run, &mut found);
    heaters(run, simulation, short, &waits, &mut found);
    found.extend(waits.into_iter().map(Warning::Waits));
    too_cool(run, simulation, &mut found);
    let second_is_known = short.iter().any(|s| s.heater == Heater::SecondNozzle)
        || found
            .iter()
            .any(|w| matches!(w, Warning::Waits(w) if w.heater == Heater::SecondNozzle));
    let besides = besides(run, simulation).into_iter().filter(|b| {
        // Told already, and better.
        !(second_is_known && matches!(b, Besides::SecondHotendNotReached { .. }))
    });
    found.extend(besides.map(Warning::Besides));
    ranges(simulation, peak, &mut found);
    pressure(simulation, &mut found);
    found.extend(rapid(run, simulation));
    found.extend(spool(run));
    found
}

fn spool(run: &Run) -> Option<Warning> {
    let all = spools(run);
    let mut short = all.iter().filter(|spool| spool.lacks_change(all.len()));
    let first = short.next()?;
    Some(Warning::SpoolRunsOut {
        spool: first.number,
        at: run.date_time(first.runs_out_s.unwrap_or(first.end_s)),
        changed_at: first.is_changed.then(|| run.date_time(first.end_s)),
        more: short.count(),
    })
}

fn rapid(run: &Run, simulation: &Simulation) -> Option<Warning> {
    let used = fan_use(run, simulation)?;
    used.starts_too_often().then_some(Warning::RapidThermostat {
        starts: used.all_starts(),
        every_s: used.every_s(),
        throttled: used.throttled_h > 0.0,
    })
}

fn opened(run: &Run, found: &mut Vec<Warning>) {
    if run.requirements.must_stay_closed && !run.arrangement.stays_closed() {
        found.push(Warning::OpensClosedMachine {
            arrangement: run.arrangement.name(),
        });
    }
}

fn heaters(
    run: &Run,
    simulation: &Simulation,
    short: &[Shortfall],
    waits: &[Wait],
    found: &mut Vec<Warning>,
) {
    for (heater, point, setpoints) in [
        (
            Heater::Bed,
            simulation.chamber.points.bed,
            run.phases
                .iter()
                .filter_map(|p| p.bed_K)
                .collect::<Vec<_>>(),
        ),
        (
            Heater::Nozzle,
            simulation.chamber.points.hotend,
            run.phases.iter().filter_map(|p| p.nozzle_K).collect(),
        ),
    ] {
        let Some(setpoint_K) = setpoints.into_iter().reduce(f64::max) else {
            continue;
        };
        // Told already, and better.
        if short.iter().any(|s| s.heater == heater) || waits.iter().any(|w| w.heater == heater) {
            continue;
        }
        let reached_K = simulation
            .trajectory
            .pieces
            .iter()
            .map(|p| simulation.point_at(p, 1.0, point))
            .fold(f64::NEG_INFINITY, f64::max);
        if reached_K < setpoint_K - 0.5 {
            found.push(Warning::NotReached {
                heater,
                setpoint_K,
                reached_K,
            });
        }
    }
}

/// Looks at the air around the part, in the later half of each hour of printing: the
/// chamber needs time to warm up, which soaking is for.
fn too_cool(run: &Run, simulation: &Simulation, found: &mut Vec<Warning>) {
    let Some(needed_K) = run.requirements.chamber_min_K else {
        return;
    };
    let around = simulation.chamber.air_at_bed();
    let (mut lowest, mut seconds) = (f64::INFINITY, 0.0);
    for piece in &simulation.trajectory.pieces {
        let stretch = simulation.stretch_of(piece);
        if run.phases[stretch.phase].kind != PhaseKind::Print {
            continue;
        }
        let below = [0.0, 0.25, 0.5, 0.75, 1.0]
            .iter()
            .map(|x| simulation.point_at(piece, *x, around))
            .inspect(|t| lowest = f64::min(lowest, *t))
            .filter(|t| *t < needed_K)
            .count();
        seconds += below as f64 / 5.0 * piece.length_s;
    }
    if lowest < needed_K {
        found.push(Warning::ChamberTooCool {
            lowest_K: lowest,
            needed_K,
            hours: seconds / 3600.0,
        });
    }
}

/// A doubt smaller than this changes no decision, K: a fifteenth of the usual required margin.
const WORTH_TELLING_K: f64 = 0.2;

fn ranges(simulation: &Simulation, peak: Peak, found: &mut Vec<Warning>) {
    let told = doubts(simulation, peak.station, peak.at_s).into_iter();
    found.extend(
        told.filter(|d| d.warmer_K > WORTH_TELLING_K)
            .map(|d| Warning::OutOfRange {
                correlation: d.range.name,
                quantity: d.range.quantity,
                low: d.range.low,
                high: d.range.high,
                met_low: d.met.0,
                met_high: d.met.1,
                place: d.place,
                station: peak.station,
                warmer_K: d.warmer_K,
            }),
    );
}

fn pressure(simulation: &Simulation, found: &mut Vec<Warning>) {
    let mut pressure: f64 = 0.0;
    let mut t = Vec::new();
    // Every eighth piece is enough to know what a run visits; the start is another matter (all
    // differences are zero) and says nothing.
    for piece in simulation.trajectory.pieces.iter().skip(4).step_by(8) {
        simulation.points_at(piece, 1.0, &mut t);
        let c = simulation.elements_of(piece);
        for paths in c.air_paths.iter().filter(|p| !p.draughts.is_empty()) {
            let state = paths.state(&t);
            if state.floor_Pa.abs() > pressure.abs() {
                pressure = state.floor_Pa;
            }
        }
    }
    if pressure.abs() > LARGE_PRESSURE_PA {
        found.push(Warning::LargePressure {
            pressure_Pa: pressure,
        });
    }
}
