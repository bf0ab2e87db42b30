//! A general thermal network: nodes that store heat, boundaries whose temperature is given, and
//! elements that move heat between them. It knows nothing of chambers or run files.
//!
//! Every element adds the heat it moves to its nodes' balances and, where heat enters or leaves
//! the audited nodes, to a *ledger* entry. Sources, losses and stored heat then have to agree: the
//! integrators carry the ledgers along as extra unknowns, so a link, sign or area that one side
//! forgets shows as unaccounted heat.
//!
//! Indices: nodes come first (`0..nodes`), then boundaries. Temperatures are kelvin, flows watts.

pub mod air_paths;
pub mod elements;
pub mod evaluate;
pub mod plume;
pub mod stream;

#[cfg(test)]
mod tests;

pub use air_paths::{AirPaths, Opening};
pub use elements::{
    Conductor, Contact, Control, Convector, Enclosure, Growth, Member, Radiator, Source,
};
pub use plume::Plume;
pub use stream::{Station, Stream};

use crate::physics::air::AirTable;

/// Index of a node or boundary: nodes first, then boundaries.
pub type Index = usize;

/// A node: something with one temperature that stores heat.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Name in results.
    pub name: String,
    /// Heat capacity, J/K; of a growing node the capacity when fully grown.
    pub capacity_J_per_K: f64,
    /// Whether the node belongs to the audited system (a room of its own does not).
    pub audited: bool,
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
}

/// What the elements of one stretch of time are.
#[derive(Debug, Clone, Default)]
pub struct Configuration {
    /// Linear conductances.
    pub conductors: Vec<Conductor>,
    /// Radiation between two surfaces.
    pub radiators: Vec<Radiator>,
    /// Convection between a face and air.
    pub convectors: Vec<Convector>,
    /// Contacts through a growing thickness.
    pub contacts: Vec<Contact>,
    /// Radiation among all surfaces of an enclosure.
    pub enclosures: Vec<std::sync::Arc<Enclosure>>,
    /// Air driven through openings by buoyancy and fans.
    pub air_paths: Option<AirPaths>,
    /// The plume over warm faces and the exchange of air between layers.
    pub plume: Option<Plume>,
    /// Material moving past nodes.
    pub stream: Option<Stream>,
    /// Heat sources.
    pub sources: Vec<Source>,
    /// Nodes held at a setpoint by a heater or cooler.
    pub controls: Vec<Control>,
}

/// The network's fixed part.
#[derive(Debug, Clone)]
pub struct Network {
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Names of the boundaries.
    pub boundaries: Vec<String>,
    /// Ledger entries.
    pub ledgers: Vec<Ledger>,
    /// Air properties at the pressure of the place.
    pub air: AirTable,
    /// Reference temperature of stored heat, K.
    pub reference_K: f64,
}

impl Network {
    /// Number of nodes and boundaries together.
    #[must_use]
    pub fn points(&self) -> usize {
        self.nodes.len() + self.boundaries.len()
    }
}
