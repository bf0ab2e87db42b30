//! The network's fixed part, and how it is put together.

use super::parts::{Body, BodyId, Direction, Given, Index, Ledger, LedgerId, Node};
use crate::course::Course;
use crate::physics::air::AirTable;

/// So many nodes get room at once: most networks have fewer, and nodes are large to move.
const ROOM_FOR: usize = 64;

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
            nodes: Vec::with_capacity(ROOM_FOR),
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

    /// Gives the temperature of a given point, K, another course: the first one's number is 0.
    ///
    /// # Panics
    /// When there is no such point.
    pub fn give(&mut self, which: usize, temperature_K: Course) {
        self.given[which].course = temperature_K;
    }

    /// Lets a node grow: of its capacity, the share is there that the course says.
    pub fn growing(&mut self, node: Index, share: Course) -> BodyId {
        self.bodies.push(Body { node, share });
        BodyId(self.bodies.len() - 1)
    }

    /// Opens a ledger for one way in which heat enters or leaves.
    pub fn ledger(&mut self, name: impl Into<String>, direction: Direction) -> LedgerId {
        let place = u16::try_from(self.ledgers.len()).unwrap_or(u16::MAX);
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

    /// The ledgers, [`INTERNAL`](super::parts::INTERNAL) first.
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
