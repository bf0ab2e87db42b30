//! Runs a network: the whole of its schedule, or a part of it once more.

use super::error::NetworkError;
use super::fixed::Network;
use super::schedule::{Schedule, ScheduleError};
use super::system::NetworkSystem;
use crate::integrate::{IntegrationError, IntegratorKind, Options, Piece, Trajectory};

/// Runs a network over a schedule from 0 to `end_s`, s.
///
/// # Errors
/// When the schedule ends before the run, the network can't be run, or its integration stops early.
pub fn simulate(
    network: &Network,
    schedule: &Schedule,
    end_s: f64,
    integrator: IntegratorKind,
    options: &Options,
) -> Result<Trajectory, NetworkError> {
    let system = NetworkSystem::new(network, schedule)?;
    let start = system.initial();
    run(system, schedule, (0.0, end_s), &start, integrator, options)
}

/// Runs a network again from the begin of a piece of its course to `end_s`, s: more carefully, to look at
/// what lies there. What its thermostat was doing it goes on doing.
///
/// # Errors
/// As for [`simulate`].
pub fn simulate_on(
    network: &Network,
    schedule: &Schedule,
    from: &Piece,
    end_s: f64,
    options: &Options,
) -> Result<Trajectory, NetworkError> {
    let mut system = NetworkSystem::new(network, schedule)?;
    let (_, running) = Schedule::by_number(from.stretch);
    system.resume(running);
    let start = &from.coefficients[..network.nodes().len()];
    let span = (from.begin_s, end_s);
    run(
        system,
        schedule,
        span,
        start,
        IntegratorKind::Rosenbrock,
        options,
    )
}

fn run(
    mut system: NetworkSystem<'_>,
    schedule: &Schedule,
    (begin_s, end_s): (f64, f64),
    start: &[f64],
    integrator: IntegratorKind,
    options: &Options,
) -> Result<Trajectory, NetworkError> {
    let last_s = schedule.end_s();
    if end_s > last_s + 1e-6 {
        return Err(NetworkError::Schedule(ScheduleError::TooShort {
            run_h: end_s / 3600.0,
            end_h: last_s / 3600.0,
        }));
    }
    let course = integrator.integrate(&mut system, begin_s, end_s, start, options);
    match system.stuck {
        // What follows rests on temperatures that balance nothing, whether or not the steps went on.
        Some((node, t_s)) if !matches!(course, Err(IntegrationError::Massless)) => {
            Err(system.massless_error(node, t_s))
        }
        _ => Ok(course?),
    }
}
