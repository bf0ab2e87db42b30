//! What the model chose for a run: how panels are cut, which correlations were at work and over
//! which range, how time was stepped. For readers who want to know what stands behind a number.

use super::Findings;
use crate::network::Convector;
use crate::physics::convection::{Range, forced_range, range};

/// A panel as the model sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelChoice {
    /// Where and what: "lid (polycarbonate-4)".
    pub name: String,
    /// Biot number of the whole panel: surface coefficient times its resistance.
    pub biot: f64,
    /// Nodes from face to face; 1 where it is thin enough to have one temperature.
    pub nodes: usize,
}

/// A correlation at work.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrelationChoice {
    /// Name, quantity, published range and source.
    pub range: &'static Range,
    /// Smallest and largest value of the quantity, dimensionless, met in the run.
    pub met: (f64, f64),
    /// Faces it was used on.
    pub faces: Vec<String>,
}

/// The choices of the model for one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Choices {
    /// Layers of air.
    pub air_layers: usize,
    /// Nodes of the network with a temperature of their own.
    pub nodes: usize,
    /// Panels.
    pub panels: Vec<PanelChoice>,
    /// Correlations.
    pub correlations: Vec<CorrelationChoice>,
}

/// Differences too small to carry heat say nothing about a correlation, K.
const NEGLIGIBLE_K: f64 = 0.5;

/// Reads the choices out of a checked run.
#[must_use]
pub fn choices(f: &Findings) -> Choices {
    let chamber = &f.simulation.chamber;
    let p = &chamber.points;
    let m = &chamber.run().machine;
    let walls = p.walls.first().unwrap_or(&p.lid);
    let panels = [
        ("lid", &m.lid, &p.lid),
        ("walls", &m.walls, walls),
        ("door", &m.door, &p.door),
        ("floor", &m.floor, &p.floor),
    ];
    let panels = panels.map(|(place, panel, chain)| PanelChoice {
        name: format!("{place} ({})", panel.name),
        biot: chain.biot,
        nodes: chain.links.len() + 1,
    });
    Choices {
        air_layers: p.air.len(),
        nodes: chamber.network.nodes().len(),
        panels: panels.to_vec(),
        correlations: correlations(f),
    }
}

fn correlations(f: &Findings) -> Vec<CorrelationChoice> {
    let simulation = &f.simulation;
    let mut found: Vec<CorrelationChoice> = Vec::new();
    let mut t = Vec::new();
    // As for the warnings: every eighth piece shows what a run visits, and at the start there are
    // no differences yet.
    for piece in simulation.trajectory.pieces.iter().skip(4).step_by(8) {
        simulation.points_at(piece, 1.0, &mut t);
        let c = simulation.elements_of(piece);
        for face in c.faces() {
            visit(face, &t, simulation, &mut found);
        }
    }
    found
}

fn visit(
    c: &Convector,
    t: &[f64],
    simulation: &crate::chamber::Simulation,
    found: &mut Vec<CorrelationChoice>,
) {
    let network = &simulation.chamber.network;
    let (surface_K, air_K) = (t[c.surface], t[c.air]);
    let face = network
        .nodes()
        .get(c.surface)
        .map_or("room", |node| node.name.as_str());
    if (surface_K - air_K).abs() >= NEGLIGIBLE_K {
        let ra = c.face.rayleigh(surface_K, air_K, network.air());
        note(found, range(c.face.face, surface_K > air_K), ra, face);
    }
    if c.face.speed_m_per_s > 0.0 {
        let re = c.face.reynolds(surface_K, air_K, network.air());
        note(found, forced_range(c.face.face), re, face);
    }
}

/// Notes a value that a correlation was asked for on a face.
fn note(found: &mut Vec<CorrelationChoice>, range: &'static Range, value: f64, face: &str) {
    let at = found
        .iter()
        .position(|known| known.range.name == range.name)
        .unwrap_or_else(|| {
            found.push(CorrelationChoice {
                range,
                met: (value, value),
                faces: Vec::new(),
            });
            found.len() - 1
        });
    let entry = &mut found[at];
    entry.met = (entry.met.0.min(value), entry.met.1.max(value));
    if !entry.faces.iter().any(|known| known == face) {
        entry.faces.push(face.to_owned());
    }
}
