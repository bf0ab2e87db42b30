//! A plain thermal network as a system: nodes, given temperatures, stretches of time.

use dogdays::integrate::{
    Linearisation, Options, System, Trajectory, integrate_explicit, integrate_rosenbrock,
};
use dogdays::network::elements::{Area, INTERNAL};
use dogdays::network::evaluate::Scratch;
use dogdays::network::{
    Conductor, Configuration, Convector, Direction, Ledger, Network, Node, Radiator, Source,
};
use dogdays::physics::air::{AirTable, SEA_LEVEL_PRESSURE_PA};
use dogdays::physics::convection::{ConvectiveFace, Face};
use nalgebra::{DMatrix, DVector};

/// A given temperature (K) and its slope (K/s) at a time.
pub type Given = Box<dyn Fn(f64) -> (f64, f64)>;

/// A temperature that stays.
pub fn constant(t_K: f64) -> Given {
    Box::new(move |_| (t_K, 0.0))
}

/// The network, what holds from when, and the known times.
pub struct Plain {
    pub network: Network,
    pub given: Vec<Given>,
    /// Begin (s) and elements of each stretch, in order.
    pub stretches: Vec<(f64, Configuration)>,
    /// Other known times: kinks of the given temperatures.
    pub kinks_s: Vec<f64>,
    now: usize,
    /// The known time that comes next: a given temperature that jumps there has not jumped yet.
    until_s: f64,
    scratch: Scratch,
    t: Vec<f64>,
}

impl Plain {
    pub fn new(
        capacities_J_per_K: &[f64],
        given: Vec<Given>,
        stretches: Vec<(f64, Configuration)>,
    ) -> Self {
        let network = Network {
            nodes: capacities_J_per_K
                .iter()
                .enumerate()
                .map(|(i, c)| Node {
                    name: format!("node {i}"),
                    capacity_J_per_K: *c,
                    audited: true,
                })
                .collect(),
            boundaries: (0..given.len()).map(|i| format!("given {i}")).collect(),
            ledgers: vec![Ledger {
                name: "inside".to_owned(),
                direction: Direction::In,
            }],
            air: AirTable::new(SEA_LEVEL_PRESSURE_PA),
            reference_K: 273.15,
        };
        Self {
            scratch: Scratch::new(&network),
            t: vec![0.0; network.points()],
            network,
            given,
            stretches,
            kinks_s: vec![],
            now: 0,
            until_s: f64::INFINITY,
        }
    }

    fn temperatures(&mut self, time_s: f64, y: &[f64]) {
        let time_s = time_s.min(self.until_s - 1e-6);
        let n = y.len();
        self.t[..n].copy_from_slice(y);
        for (t, g) in self.t[n..].iter_mut().zip(&self.given) {
            *t = g(time_s).0;
        }
    }

    /// Heat that every node and then every given temperature gains, W.
    pub fn gains(&mut self, time_s: f64, y: &[f64]) -> Vec<f64> {
        self.temperatures(time_s, y);
        let c = &self.stretches[self.now].1;
        c.balance(&self.network, &self.t, 1.0, &[], &mut self.scratch);
        self.scratch.gains.clone()
    }

    /// The temperatures at which nothing changes any more, by Newton's method.
    pub fn steady(&mut self, start: &[f64]) -> Vec<f64> {
        let n = start.len();
        let mut y = start.to_vec();
        for _ in 0..100 {
            let gains = self.gains(0.0, &y);
            let points = self.t.len();
            let c = &self.stretches[self.now].1;
            c.slopes(&self.network, &mut self.t, 1.0, 0.0, &[], &mut self.scratch);
            let slopes = DMatrix::from_fn(n, n, |i, j| self.scratch.gain_slopes[i * points + j]);
            let residual = DVector::from_fn(n, |i, _| -gains[i]);
            let step = slopes
                .lu()
                .solve(&residual)
                .expect("a network joined to something given");
            for (y, s) in y.iter_mut().zip(step.iter()) {
                *y += s;
            }
            if step.amax() < 1e-11 {
                return y;
            }
        }
        panic!("no steady state after 100 steps");
    }

    pub fn run(&mut self, stiff: bool, end_s: f64, start: &[f64], tolerance: f64) -> Trajectory {
        self.now = 0;
        self.until_s = f64::INFINITY;
        let options = Options {
            tolerance,
            ..Options::default()
        };
        if stiff {
            integrate_rosenbrock(self, 0.0, end_s, start, &options)
        } else {
            integrate_explicit(self, 0.0, end_s, start, &options)
        }
        .expect("integrated")
    }
}

impl System for Plain {
    fn unknowns(&self) -> usize {
        self.network.nodes.len()
    }
    fn ledgers(&self) -> usize {
        self.network.ledgers.len()
    }
    fn rates(&mut self, t: f64, y: &[f64], dy: &mut [f64], ledgers: &mut [f64]) {
        let gains = self.gains(t, y);
        for ((d, q), node) in dy.iter_mut().zip(gains).zip(&self.network.nodes) {
            *d = q / node.capacity_J_per_K;
        }
        ledgers.fill(0.0);
    }
    fn linearise(&mut self, t: f64, y: &[f64], out: &mut Linearisation) {
        self.temperatures(t, y);
        let n = y.len();
        let points = self.t.len();
        let c = &self.stretches[self.now].1;
        c.slopes(&self.network, &mut self.t, 1.0, 0.0, &[], &mut self.scratch);
        for i in 0..n {
            let row = &self.scratch.gain_slopes[i * points..(i + 1) * points];
            let capacity = self.network.nodes[i].capacity_J_per_K;
            for j in 0..n {
                out.jacobian[i * n + j] = row[j] / capacity;
            }
            out.with_time[i] = self
                .given
                .iter()
                .zip(&row[n..])
                .map(|(g, s)| g(t).1 * s)
                .sum::<f64>()
                / capacity;
        }
        out.ledger_jacobian.fill(0.0);
        out.ledger_with_time.fill(0.0);
    }
    fn next_break(&self, t: f64) -> f64 {
        self.stretches
            .iter()
            .map(|(begin, _)| *begin)
            .chain(self.kinks_s.iter().copied())
            .filter(|b| *b > t)
            .fold(f64::INFINITY, f64::min)
    }
    fn begin(&mut self, t: f64, _y: &[f64]) -> bool {
        self.now = self
            .stretches
            .iter()
            .rposition(|(b, _)| *b <= t)
            .unwrap_or(0);
        self.until_s = self.next_break(t);
        true
    }
}

/// A conductance, W/K.
pub fn conductor(a: usize, b: usize, conductance_W_per_K: f64) -> Conductor {
    Conductor {
        a,
        b,
        conductance_W_per_K,
        ledger: INTERNAL,
    }
}

/// Radiation by an exchange area, m2.
pub fn radiator(a: usize, b: usize, exchange_area_m2: f64) -> Radiator {
    Radiator {
        a,
        b,
        exchange_area_m2,
        ledger: INTERNAL,
    }
}

/// A constant source, W.
pub fn source(node: usize, power_W: f64) -> Source {
    Source {
        node,
        power_W,
        per_K: 0.0,
        ledger: INTERNAL,
    }
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
