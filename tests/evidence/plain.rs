//! A plain thermal network: nodes, given temperatures, stretches of time.

use dogdays::course::Course;
use dogdays::integrate::{IntegratorKind, Options, Trajectory};
use dogdays::network::{
    Area, Builder, Conductor, Configuration, Convector, INTERNAL, Network, NetworkSystem, Node,
    Radiator, Schedule, Source, simulate,
};
use dogdays::physics::air::{AirTable, SEA_LEVEL_PRESSURE_PA};
use dogdays::physics::convection::{ConvectiveFace, Face};

/// A temperature that stays, K.
pub fn constant(t_K: f64) -> Course {
    Course::Constant(t_K)
}

/// The network, and what holds when. Unknowns count from 0 K.
pub struct Plain {
    pub network: Network,
    pub schedule: Schedule,
}

impl Plain {
    /// Capacities of the nodes, given temperatures, and elements with their begins, s, in order.
    pub fn new(
        capacities_J_per_K: &[f64],
        given: Vec<Course>,
        stretches: Vec<(f64, Configuration)>,
    ) -> Self {
        let mut builder = Builder::new(0.0, SEA_LEVEL_PRESSURE_PA);
        for (i, c) in capacities_J_per_K.iter().enumerate() {
            builder.node(Node::new(format!("node {i}"), *c));
        }
        let mut network = builder.finish();
        for (i, course) in given.into_iter().enumerate() {
            network.given(format!("given {i}"), course);
        }
        let later = stretches.iter().skip(1).map(|(begin_s, _)| *begin_s);
        let ends_s: Vec<f64> = later.chain([f64::INFINITY]).collect();
        let parts = ends_s.into_iter().zip(stretches);
        let parts = parts.map(|(end_s, (_, elements))| (end_s, elements));
        Self {
            network,
            schedule: Schedule::in_turn(parts.collect()).expect("stretches in order"),
        }
    }

    fn system(&self) -> NetworkSystem<'_> {
        NetworkSystem::new(&self.network, &self.schedule).expect("a network")
    }

    /// Heat that every node and then every given temperature gains, W.
    pub fn gains(&self, time_s: f64, y: &[f64]) -> Vec<f64> {
        self.system().gains_W(time_s, y).to_vec()
    }

    /// The temperatures at which nothing changes any more.
    pub fn steady(&self, start: &[f64]) -> Vec<f64> {
        let steady = self.system().steady(0.0, start);
        steady.expect("a network joined to something given")
    }

    pub fn run(&self, stiff: bool, end_s: f64, start: &[f64], tolerance: f64) -> Trajectory {
        let options = Options {
            tolerance,
            ..Options::default()
        };
        let integrator = if stiff {
            IntegratorKind::Rosenbrock
        } else {
            IntegratorKind::Explicit
        };
        let mut network = self.network.clone();
        for (node, t_K) in start.iter().enumerate() {
            network.start_at(node, *t_K);
        }
        simulate(&network, &self.schedule, end_s, integrator, &options).expect("integrated")
    }
}

/// A conductance, W/K.
pub fn conductor(a: usize, b: usize, conductance_W_per_K: f64) -> Conductor {
    Conductor::new(a, b, conductance_W_per_K)
}

/// Radiation by an exchange area, m2.
pub fn radiator(a: usize, b: usize, exchange_area_m2: f64) -> Radiator {
    Radiator::new(a, b, exchange_area_m2)
}

/// A constant source, W.
pub fn source(node: usize, power_W: f64) -> Source {
    Source::new(node, constant(power_W), INTERNAL)
}

/// A face that looks in a direction, with its length for natural convection.
pub fn face(face: Face, length_m: f64) -> ConvectiveFace {
    ConvectiveFace {
        face,
        length_m,
        speed_m_per_s: 0.0,
        forced_length_m: length_m,
        multiplier: 1.0,
    }
}

/// Natural convection at a vertical face, air at sea level.
pub fn vertical(surface: usize, air: usize, area_m2: f64, height_m: f64) -> Convector {
    Convector::new(
        surface,
        air,
        Area::constant(area_m2),
        face(Face::Vertical, height_m),
        INTERNAL,
        &AirTable::new(SEA_LEVEL_PRESSURE_PA),
    )
}
