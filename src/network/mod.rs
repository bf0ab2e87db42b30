//! A general thermal network: nodes that store heat, points whose temperature is given, and elements
//! that move heat between them. It knows nothing of chambers or run files.
//!
//! A [`Builder`] takes nodes, growing bodies and ledgers; the [`Network`] it makes gets the given
//! temperatures. What moves heat are [`elements`], held together in a [`Configuration`]; a [`Schedule`] says which
//! configuration holds when. [`NetworkSystem`] is all of that as a system of differential equations, and
//! [`simulate`] runs it; a [`Reading`] looks temperatures and heat up in what came of it.
//! [`description`] tells what each element is made of.
//!
//! Every element adds the heat it moves to its nodes' balances and, where heat enters or leaves
//! the audited nodes, to a *ledger* entry. Sources, losses and stored heat then have to agree: the
//! integrators carry the ledgers along as extra unknowns, so a link, sign or area that one side
//! forgets shows as unaccounted heat.
//!
//! Points are numbered: nodes first, then what is given. Temperatures are kelvin, flows watts.
//!
//! # A cup that cools
//! ```
//! use dogdays::course::Course;
//! use dogdays::integrate::{IntegratorKind, Options};
//! use dogdays::network::{
//!     Builder, Conductor, Configuration, Direction, Node, Reading, Schedule, simulate,
//! };
//!
//! let mut builder = Builder::new(293.15, 101_325.0);
//! let cup = builder.node(Node::new("cup", 1200.0).starting_at(353.15));
//! let lost = builder.ledger("to the room", Direction::Out);
//! let mut network = builder.finish();
//! let room = network.given("room", Course::Constant(293.15));
//!
//! let mut elements = Configuration::default();
//! elements
//!     .conductors
//!     .push(Conductor::new(cup, room, 2.0).booked(lost));
//! let schedule = Schedule::always(elements);
//! let course = simulate(&network, &schedule, 3600.0, IntegratorKind::Rosenbrock, &Options::fine())?;
//!
//! // 1200 J/K over 2 W/K is a time constant of 600 s.
//! let reading = Reading::new(&network, &schedule, &course);
//! let by_hand = 293.15 + 60.0 * (-1.0_f64).exp();
//! assert!((reading.temperature_K(cup, 600.0) - by_hand).abs() < 0.01);
//! assert!(reading.heat().unaccounted_relative < 1e-9);
//! # Ok::<(), dogdays::network::NetworkError>(())
//! ```

pub mod balance;
pub mod description;
pub mod elements;
mod error;
mod evaluate;
mod reading;
mod schedule;
mod system;

#[cfg(test)]
mod system_tests;
#[cfg(test)]
mod tests;

pub use balance::{Sink, Workspace};
pub use description::Store;
pub use elements::{
    AirPaths, Area, Conductor, Configuration, Contact, Control, Convector, Draught, Element,
    Enclosure, Member, Mode, Moment, Opening, Plume, Radiator, Side, Source, Station, Stream,
    Visitor, Way,
};
pub use error::NetworkError;
pub use evaluate::Scratch;
pub use reading::{HeatAudit, Reading};
pub use schedule::{Schedule, ScheduleError, Stretch, Thermostat};
pub use system::{NetworkSystem, simulate};

use crate::course::Course;
use crate::physics::air::AirTable;

/// Number of a point: nodes first, then what is given.
pub type Index = usize;

/// A ledger of a network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct LedgerId(usize);

impl LedgerId {
    /// Its position among the ledgers of a trajectory.
    #[must_use]
    pub const fn position(self) -> usize {
        self.0
    }
}

/// The ledger of what moves between audited nodes only: nobody's entry.
pub const INTERNAL: LedgerId = LedgerId(0);

/// A growing body of a network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct BodyId(usize);

/// A node: something with one temperature that stores heat, or joins what does.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Name in results.
    pub name: String,
    /// Heat capacity, J/K; of a growing body the capacity when fully grown. Without one, its temperature
    /// is where what comes in goes out.
    pub capacity_J_per_K: f64,
    /// What the capacity is made of.
    pub stores: Store,
    /// Whether the node belongs to the audited system (a room of its own does not).
    pub audited: bool,
    /// Temperature at the start, K; none: the network's reference.
    pub initial_K: Option<f64>,
}

impl Node {
    /// A node of a heat capacity, J/K; 0 for one without mass.
    #[must_use]
    pub fn new(name: impl Into<String>, capacity_J_per_K: f64) -> Self {
        Self::storing(name, capacity_J_per_K, Store::Given)
    }

    /// A node whose heat capacity, J/K, follows from something known.
    #[must_use]
    pub fn storing(name: impl Into<String>, capacity_J_per_K: f64, stores: Store) -> Self {
        Self {
            name: name.into(),
            capacity_J_per_K,
            stores,
            audited: true,
            initial_K: None,
        }
    }

    /// The same, with a temperature of its own at the start, K.
    #[must_use]
    pub fn starting_at(mut self, temperature_K: f64) -> Self {
        self.initial_K = Some(temperature_K);
        self
    }

    /// The same, outside the audited system.
    #[must_use]
    pub fn not_audited(mut self) -> Self {
        self.audited = false;
        self
    }
}

/// A point whose temperature is given.
#[derive(Debug, Clone, PartialEq)]
pub struct Given {
    /// Name in results.
    pub name: String,
    /// Its temperature, K.
    pub course: Course,
}

/// A body that grows: of its node's capacity, the share that is there.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Its node.
    pub node: Index,
    /// The share that is there, above 0.
    pub share: Course,
}

/// The direction in which a ledger entry is reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Heat brought in counts positive.
    In,
    /// Heat taken out counts positive.
    Out,
}

/// A ledger entry: one way in which heat enters or leaves the audited nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    /// Name in results.
    pub name: String,
    /// How it is reported.
    pub direction: Direction,
    /// Whether it is part of the audit.
    pub audited: bool,
    /// Its place among those of its direction in reports.
    pub place: u16,
}

/// The network's fixed part.
#[derive(Debug, Clone)]
pub struct Network {
    nodes: Vec<Node>,
    given: Vec<Given>,
    bodies: Vec<Body>,
    ledgers: Vec<Ledger>,
    air: AirTable,
    reference_K: f64,
}

/// A network that still gets nodes. Given temperatures are added to it when its nodes are complete, because
/// points are numbered in that order.
#[derive(Debug, Clone)]
pub struct Builder(Network);

impl Builder {
    /// A network without nodes. Stored heat, and heat that material carries, count from the reference, K;
    /// air is that of the pressure of the place, Pa.
    #[must_use]
    pub fn new(reference_K: f64, pressure_Pa: f64) -> Self {
        Self(Network {
            nodes: Vec::new(),
            given: Vec::new(),
            bodies: Vec::new(),
            ledgers: vec![Ledger {
                name: "internal".to_owned(),
                direction: Direction::In,
                audited: false,
                place: 0,
            }],
            air: AirTable::new(pressure_Pa),
            reference_K,
        })
    }

    /// Adds a node and returns its number.
    pub fn node(&mut self, node: Node) -> Index {
        self.0.nodes.push(node);
        self.0.nodes.len() - 1
    }

    /// See [`Network::growing`].
    pub fn growing(&mut self, node: Index, share: Course) -> BodyId {
        self.0.growing(node, share)
    }

    /// See [`Network::ledger`].
    pub fn ledger(&mut self, name: impl Into<String>, direction: Direction) -> LedgerId {
        self.0.ledger(name, direction)
    }

    /// See [`Network::open`].
    pub fn open(&mut self, ledger: Ledger) -> LedgerId {
        self.0.open(ledger)
    }

    /// The network, complete but for what is given.
    #[must_use]
    pub fn finish(self) -> Network {
        self.0
    }
}

impl Network {
    /// Adds a point whose temperature is given, K, and returns its number.
    pub fn given(&mut self, name: impl Into<String>, temperature_K: Course) -> Index {
        self.given.push(Given {
            name: name.into(),
            course: temperature_K,
        });
        self.points() - 1
    }

    /// Lets a node grow: of its capacity, the share is there that the course says.
    pub fn growing(&mut self, node: Index, share: Course) -> BodyId {
        self.bodies.push(Body { node, share });
        BodyId(self.bodies.len() - 1)
    }

    /// Opens a ledger for one way in which heat enters or leaves.
    pub fn ledger(&mut self, name: impl Into<String>, direction: Direction) -> LedgerId {
        let place = self.ledgers.len() as u16;
        self.open(Ledger {
            name: name.into(),
            direction,
            audited: true,
            place,
        })
    }

    /// Opens a ledger that says itself what place it has in reports, and whether it is audited.
    pub fn open(&mut self, ledger: Ledger) -> LedgerId {
        self.ledgers.push(ledger);
        LedgerId(self.ledgers.len() - 1)
    }

    /// The nodes.
    #[must_use]
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// The points whose temperature is given.
    #[must_use]
    pub fn given_points(&self) -> &[Given] {
        &self.given
    }

    /// The growing bodies.
    #[must_use]
    pub fn bodies(&self) -> &[Body] {
        &self.bodies
    }

    /// The ledgers, [`INTERNAL`] first.
    #[must_use]
    pub fn ledgers(&self) -> &[Ledger] {
        &self.ledgers
    }

    /// The audited ledgers in the order of reports: what comes in, then what goes out.
    #[must_use]
    pub fn reported(&self) -> Vec<(LedgerId, &Ledger)> {
        let all = self.ledgers.iter().enumerate();
        let mut list: Vec<_> = all
            .filter(|(_, l)| l.audited)
            .map(|(k, l)| (LedgerId(k), l))
            .collect();
        list.sort_by_key(|(id, l)| (l.direction == Direction::Out, l.place, *id));
        list
    }

    /// Air at the pressure of the place.
    #[must_use]
    pub fn air(&self) -> &AirTable {
        &self.air
    }

    /// Temperature from which stored heat is counted, K.
    #[must_use]
    pub const fn reference_K(&self) -> f64 {
        self.reference_K
    }

    /// Number of nodes and given points together.
    #[must_use]
    pub fn points(&self) -> usize {
        self.nodes.len() + self.given.len()
    }

    /// Name of a point.
    ///
    /// # Panics
    /// When there is no such point.
    #[must_use]
    pub fn name(&self, point: Index) -> &str {
        match self.nodes.get(point) {
            Some(node) => &node.name,
            None => &self.given[point - self.nodes.len()].name,
        }
    }

    /// Names of all points, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        (0..self.points()).map(|point| self.name(point))
    }

    /// Sets the temperature of a node at the start, K.
    ///
    /// # Panics
    /// When there is no such node.
    pub fn start_at(&mut self, node: Index, temperature_K: f64) {
        self.nodes[node].initial_K = Some(temperature_K);
    }

    /// Temperature of a node at the start, K.
    #[must_use]
    pub fn initial_K(&self, node: Index) -> f64 {
        self.nodes[node].initial_K.unwrap_or(self.reference_K)
    }
}
