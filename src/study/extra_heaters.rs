//! What a user should know of what some machines have besides: a heater of the chamber's air, a second hotend.

use crate::chamber::Simulation;
use crate::network::Index;
use crate::quantity::{System, format_temperature};
use crate::run::{Phase, Place, Run};

/// A warning that concerns one of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Besides {
    /// The chamber's heater did not bring its air to the setpoint.
    ChamberNotReached {
        /// Setpoint, K.
        setpoint_K: f64,
        /// Highest temperature, K.
        reached_K: f64,
    },
    /// The second hotend did not come to its setpoint.
    SecondHotendNotReached {
        /// Setpoint, K.
        setpoint_K: f64,
        /// Highest temperature, K.
        reached_K: f64,
    },
    /// The second hotend's own filament is not looked at.
    SecondPathNotJudged,
}

impl Besides {
    /// The warning in the reader's units.
    #[must_use]
    pub fn text(self, system: System) -> String {
        let degrees = |K: f64| format_temperature(K, system);
        match self {
            Self::ChamberNotReached {
                setpoint_K,
                reached_K,
            } => format!(
                "the chamber's air never reaches its setpoint of {} (highest {}): check `machine.chamber_heater.max_power`, lower `job.chamber` or close the chamber better",
                degrees(setpoint_K),
                degrees(reached_K)
            ),
            Self::SecondHotendNotReached {
                setpoint_K,
                reached_K,
            } => format!(
                "the second hotend never reaches its setpoint of {} (highest {}): check `machine.second_hotend.max_power` or lower `job.second_nozzle`",
                degrees(setpoint_K),
                degrees(reached_K)
            ),
            Self::SecondPathNotJudged => {
                "the second hotend counts by its heat only: whether its own filament softens is not judged; check it in a run of its own, the two hotends exchanged".to_owned()
            }
        }
    }
}

/// A heater that is so close to its setpoint, K, has reached it.
const CLOSE_K: f64 = 0.5;

/// The warnings of a run's chamber heater and second hotend.
#[must_use]
pub fn besides(run: &Run, simulation: &Simulation) -> Vec<Besides> {
    let points = &simulation.chamber.points;
    let mut found = Vec::new();
    if let Some(heater) = &run.machine.chamber_heater {
        let air = match heater.place {
            Place::ChamberTop => points.top(),
            Place::ChamberBottom | Place::Room => points.air[0],
        };
        if let Some((setpoint_K, reached_K)) = missed(run, simulation, air, |p| p.chamber_K) {
            found.push(Besides::ChamberNotReached {
                setpoint_K,
                reached_K,
            });
        }
    }
    if let Some((block, _)) = points.second_hotend {
        if let Some((setpoint_K, reached_K)) = missed(run, simulation, block, |p| p.second_nozzle_K)
        {
            found.push(Besides::SecondHotendNotReached {
                setpoint_K,
                reached_K,
            });
        }
        if run.phases.iter().any(|p| p.second_nozzle_K.is_some()) {
            found.push(Besides::SecondPathNotJudged);
        }
    }
    found
}

/// The highest setpoint of a run and the highest temperature, K, where the one was not reached.
fn missed(
    run: &Run,
    simulation: &Simulation,
    point: Index,
    setpoint: impl Fn(&Phase) -> Option<f64>,
) -> Option<(f64, f64)> {
    let setpoint_K = run.phases.iter().filter_map(setpoint).reduce(f64::max)?;
    let pieces = simulation.trajectory.pieces.iter();
    let reached_K = pieces
        .map(|piece| simulation.point_at(piece, 1.0, point))
        .fold(f64::NEG_INFINITY, f64::max);
    (reached_K < setpoint_K - CLOSE_K).then_some((setpoint_K, reached_K))
}
