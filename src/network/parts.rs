//! What a network is made of: nodes, given points, growing bodies, ledgers, and how they are numbered.

use super::description::Store;
use crate::course::Course;

/// Number of a point: nodes first, then what is given.
pub type Index = usize;

/// A ledger of a network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct LedgerId(pub(crate) usize);

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
pub struct BodyId(pub(crate) usize);

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
