//! Runs a network: the whole of its schedule, or a part of it once more.

use super::error::NetworkError;
use super::fixed::Network;
use super::schedule::{Schedule, ScheduleError};
use super::system::NetworkSystem;
use crate::integrate::{Begin, IntegrationError, IntegratorKind, Options, Trajectory};

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
    from: Begin<'_>,
    end_s: f64,
    options: &Options,
) -> Result<Trajectory, NetworkError> {
    let mut system = NetworkSystem::new(network, schedule)?;
    let (_, running) = Schedule::by_number(from.stretch);
    system.resume(running);
    let span = (from.at_s, end_s);
    run(
        system,
        schedule,
        span,
        from.unknowns,
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::Course;
    use crate::network::{Builder, Conductor, Configuration, Node};

    /// A node of 1000 J/K with 2 W/K to what is given: 300 K for its first 500 s, 280 K from then on. By hand,
    /// T - T_given falls by a factor e in 500 s.
    #[test]
    fn what_is_given_may_change_on_the_way() {
        let mut b = Builder::new(300.0, 101_325.0);
        let node = b.node(Node::new("node", 1000.0));
        let mut network = b.finish();
        let room = network.given("room", Course::Constant(300.0));
        network.start_at(node, 320.0);
        let mut c = Configuration::default();
        c.conductors.push(Conductor::new(node, room, 2.0));
        let schedule = Schedule::in_turn(vec![(1000.0, c)]).expect("a schedule");
        let options = Options {
            tolerance: 1e-5,
            ledgers: false,
            ..Options::default()
        };
        let kind = IntegratorKind::Rosenbrock;
        let first = simulate(&network, &schedule, 500.0, kind, &options).expect("runs");
        let mut state = [0.0];
        first.at(500.0, &mut state);
        let by_hand_K = 20.0 / std::f64::consts::E;
        assert!((state[0] - by_hand_K).abs() < 1e-3, "{state:?}");
        network.give(0, Course::Constant(280.0));
        let from = Begin {
            at_s: 500.0,
            stretch: first.pieces[0].stretch,
            unknowns: &state,
        };
        let then = simulate_on(&network, &schedule, from, 1000.0, &options).expect("runs on");
        then.at(1000.0, &mut state);
        let by_hand_K = -20.0 + (20.0 + by_hand_K) / std::f64::consts::E;
        assert!((state[0] - by_hand_K).abs() < 1e-3, "{state:?}");
    }
}
